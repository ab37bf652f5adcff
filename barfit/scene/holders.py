"""What holds the lines, drawn: most of it stays as it is while one line is being changed."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import numpy as np

from barfit.geometry.pose import Layout
from barfit.model import Body, Setup
from barfit.scene.colours import Theme
from barfit.scene.fittings import holder_parts
from barfit.scene.groups import Group


class Holders:
    """The holders of all lines on a plotter, those of lines being changed in a group of their own:
    making a mesh of all of them takes longer than a frame may.
    """

    def __init__(self, plotter: Any, theme: Theme) -> None:
        self._still = Group(plotter, "holders", theme)
        self._moved = Group(plotter, "moved holders", theme)
        self._drawn: dict[str, Hashable] = {}
        self._apart: set[str] = set()

    @property
    def groups(self) -> tuple[Group, Group]:
        """Their groups."""
        return self._still, self._moved

    def replace(
        self, setup: Setup, stock: bool, layouts: dict[str, Layout], runs: dict[str, np.ndarray]
    ) -> None:
        """Draw all of them anew; ``runs`` as in `holder_parts`."""
        names = [line.name for line in setup.lines]
        self._still.replace(holder_parts(setup, setup.bars(stock), layouts, runs, names))
        self._moved.replace([])
        self._drawn = {name: _look(setup, stock, name, layouts[name]) for name in names}
        self._apart = set()

    def change(
        self, setup: Setup, stock: bool, layouts: dict[str, Layout], runs: dict[str, np.ndarray]
    ) -> None:
        """Draw those anew that are not as they were when all were drawn."""
        names = {line.name for line in setup.lines}
        same = {
            name
            for name, look in self._drawn.items()
            if name in names and look == _look(setup, stock, name, layouts[name])
        }
        gone = set(self._drawn) - same
        bars = setup.bars(stock)
        if gone != self._apart:
            self._still.replace(holder_parts(setup, bars, layouts, runs, same))
            self._apart = gone
        self._moved.replace(holder_parts(setup, bars, layouts, runs, names - same))


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


def turned_back(way: np.ndarray, bodies: tuple[Body, ...], turns: dict[Body, np.ndarray]) -> Any:
    """The ways (S, 3) a line runs at its stations in a pose, as they are straight ahead."""
    return np.stack([turns[body].T @ one for body, one in zip(bodies, way, strict=True)])
