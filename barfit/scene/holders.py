"""What holds the lines, drawn: most of it stays as it is while one line is being changed."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import numpy as np

from barfit.geometry.pose import Layout
from barfit.model import Body, Setup
from barfit.scene.colours import Theme
from barfit.scene.fittings import holder_parts
from barfit.scene.groups import Group, Motions
from barfit.scene.parts import Part


class Holders:
    """The holders of all lines on a plotter, made anew for those lines that are not as drawn."""

    def __init__(self, plotter: Any, theme: Theme) -> None:
        self.group = Group(plotter, "holders", theme)
        self._drawn: dict[str, tuple[Hashable, list[Part]]] = {}  # by line, when all were drawn
        self._changed: dict[str, tuple[Hashable, list[Part]]] = {}  # those that are not so now

    def replace(
        self, setup: Setup, stock: bool, layouts: dict[str, Layout], runs: dict[str, np.ndarray]
    ) -> None:
        """Draw all of them anew; ``runs`` as in `holder_parts`."""
        self._drawn = {
            line.name: (
                _look(setup, stock, line.name, layouts[line.name]),
                _parts(setup, stock, layouts, runs, line.name),
            )
            for line in setup.lines
        }
        self._changed = {}
        self._draw(self._drawn)

    def change(
        self, setup: Setup, stock: bool, layouts: dict[str, Layout], runs: dict[str, np.ndarray]
    ) -> None:
        """Draw those anew that are not as they were when all were drawn."""
        before, self._changed = self._changed, {}
        shown = {}
        for line in setup.lines:
            name = line.name
            look = _look(setup, stock, name, layouts[name])
            if name in self._drawn and self._drawn[name][0] == look:
                shown[name] = self._drawn[name]
                continue
            run = runs.get(name)
            now = look, None if run is None else run.tobytes()
            if name not in before or before[name][0] != now:
                before[name] = now, _parts(setup, stock, layouts, runs, name)
            shown[name] = self._changed[name] = before[name]
        self._draw(shown)

    def _draw(self, shown: dict[str, tuple[Hashable, list[Part]]]) -> None:
        self.group.replace([part for _, parts in shown.values() for part in parts])


def _parts(
    setup: Setup,
    stock: bool,
    layouts: dict[str, Layout],
    runs: dict[str, np.ndarray],
    name: str,
) -> list[Part]:
    return holder_parts(setup, setup.bars(stock), layouts, runs, (name,))


def _look(setup: Setup, stock: bool, name: str, layout: Layout) -> Hashable:
    """What the drawing of one line's holders depends on."""
    line = setup.line(name)
    numbers = (layout.points, layout.directions, layout.stubs)
    return (
        setup.machine,
        setup.bars(stock),
        line.kind,
        line.diameter,
        line.stations,
        layout.bodies,
        *(np.asarray(part).tobytes() for part in numbers),
    )


def turned_back(way: np.ndarray, bodies: tuple[Body, ...], motions: Motions) -> np.ndarray:
    """The ways (S, 3) a line runs at its stations in a pose, as they are straight ahead."""
    return np.array([one @ motions[body][0] for body, one in zip(bodies, way, strict=True)])
