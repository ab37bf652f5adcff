"""Other bars of the same setup and their lines, drawn translucent behind the ones on show."""

from __future__ import annotations

from typing import Any

import numpy as np

from barfit.analysis.sweep import Sweep
from barfit.model import Body, Setup
from barfit.scene.bars import bar_parts
from barfit.scene.colours import Theme
from barfit.scene.groups import Group
from barfit.scene.lines import GhostLine
from barfit.scene.track import Track

_OPACITY = 0.26  # of the bars


class Ghost:
    """The bars and lines of one sweep on a plotter, or nothing."""

    def __init__(self, plotter: Any, theme: Theme) -> None:
        self._plotter = plotter
        self._sweep: Sweep | None = None
        self._tracks: dict[str, Track] = {}
        self._lines: dict[str, GhostLine] = {}
        self.bars = Group(plotter, "ghost", theme, opacity=_OPACITY)

    def replace(self, sweep: Sweep | None, theme: Theme) -> None:
        """Draw this sweep in place of the one before; None for nothing."""
        for line in self._lines.values():
            line.remove()
        self._sweep, self._lines, self._tracks = sweep, {}, {}
        if sweep is None:
            self.bars.replace([])
            return
        setup = sweep.setup
        self.bars.replace(bar_parts(setup.machine, setup.bars(sweep.stock)))
        for swept in sweep.lines:
            radius = 0.5 * setup.line(swept.name).diameter
            self._tracks[swept.name] = Track(swept, sweep.angles)
            self._lines[swept.name] = GhostLine(
                self._plotter, swept.name, radius, len(swept.arc), theme
            )

    def keep_for(self, setup: Setup, theme: Theme) -> None:
        """Draw nothing any more where what is drawn is not of this setup."""
        if self._sweep is not None and self._sweep.setup != setup:
            self.replace(None, theme)

    def move(self, turn: float, travel: float, matrices: dict[Body, np.ndarray]) -> None:
        """Go to a pose (rad, mm), to which each body gets by its matrix (4, 4)."""
        self.bars.move(matrices)
        for name, line in self._lines.items():
            line.show(self._tracks[name].at(turn, travel))
