"""Looking up a pose in a finished sweep: nothing is solved here.

Between two neighbouring angles of the table the shape is interpolated linearly. A point that
turns with the steering then leaves its circle by at most r (1 - cos(step / 2)): 0.02 mm at 500 mm
and a step of 1 degree, so a line's ends stay on the bars. Travel is looked up the same way; a
slide along the fork is linear in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from barfit.analysis.sweep import LineSweep
from barfit.scene.mesh import tangents, transported_normals

# Angles and travels this far outside the table still count as its edge.
_EDGE = 1e-6


@dataclass(frozen=True, eq=False)
class LinePose:
    """One line in one pose, M points and S stations. Lengths mm, tension N.

    ``known`` is False where the table has no trustworthy answer; then the numbers are NaN and
    ``points`` (M, 3) are only good to show where the line is about. ``normals`` and ``binormals``
    (M, 3) are square to the line and to each other. ``curvature`` (M,) is 1/mm.
    """

    points: np.ndarray
    normals: np.ndarray
    binormals: np.ndarray
    known: bool
    slack: float
    tension: float
    segment_slack: np.ndarray
    stations_at: np.ndarray
    curvature: np.ndarray

    @cached_property
    def ways(self) -> np.ndarray:
        """The way (M, 3) the line runs at each of its points."""
        return tangents(self.points)

    @property
    def radius(self) -> float:
        """The least radius of curvature, mm: large where the line is straight."""
        return 1.0 / max(float(self.curvature.max()), 1e-9)

    def along(self, arc: np.ndarray) -> np.ndarray:
        """The way (S, 3) the line runs at each of its stations; ``arc`` (M,) as in its sweep."""
        nearest = np.abs(arc - self.stations_at[:, None]).argmin(axis=1)
        return self.ways[nearest]


class Track:
    """The table of one line, ready to be looked up at any pose within it."""

    def __init__(self, line: LineSweep, angles: np.ndarray) -> None:
        self.line = line
        self.angles = angles
        self._drawable = np.isfinite(line.shapes).all(axis=(2, 3))
        row, column = np.abs(line.travels).argmin(), np.abs(angles).argmin()
        middle = line.shapes[row, column] if self._drawable[row, column] else None
        self._start = _first_normal(np.zeros((2, 3)) if middle is None else middle)
        self._frames: dict[tuple[int, int], tuple[np.ndarray, np.ndarray]] = {}
        self._last: tuple[float, float, LinePose | None] | None = None

    def at(self, turn: float, travel: float) -> LinePose | None:
        """The line at that pose, or None where the table does not reach or has nothing to draw.

        The pose last looked up is the same thing when it is looked up again.
        """
        if self._last is None or self._last[:2] != (turn, travel):
            self._last = turn, travel, self._look_up(turn, travel)
        return self._last[2]

    def _look_up(self, turn: float, travel: float) -> LinePose | None:
        across = _between(self.angles, turn)
        along = _between(self.line.travels, travel) if len(self.line.travels) > 1 else ((0, 1.0),)
        if across is None or along is None:
            return None
        cells = [(t, a, u * v) for t, u in along for a, v in across]
        if not all(self._drawable[t, a] for t, a, _ in cells):
            return None
        line = self.line
        frames = [self._frame(t, a) for t, a, _ in cells]
        return LinePose(
            points=_mixed(line.shapes, cells),
            normals=_mean([normals for normals, _ in frames], cells),
            binormals=_mean([binormals for _, binormals in frames], cells),
            known=all(bool(line.converged[t, a]) for t, a, _ in cells),
            slack=float(_mixed(line.slack, cells)),
            tension=float(_mixed(line.tension, cells)),
            segment_slack=_mixed(line.segment_slack, cells),
            stations_at=_mixed(line.stations_at, cells),
            curvature=_mean([1.0 / line.radii[t, a] for t, a, _ in cells], cells),
        )

    def _frame(self, t: int, a: int) -> tuple[np.ndarray, np.ndarray]:
        """Normals and binormals (M, 3) in one pose of the table, worked out when first asked for:
        of a table that has just come in, few are.
        """
        if (t, a) not in self._frames:
            shape = self.line.shapes[t, a]
            normals = transported_normals(shape, self._start)
            self._frames[t, a] = normals, np.cross(tangents(shape), normals)
        return self._frames[t, a]


def _first_normal(points: np.ndarray) -> np.ndarray:
    """A direction well away from the line's start and from where the steering may turn it."""
    start = points[1] - points[0]
    axis = np.zeros(3)
    axis[np.argmin(np.abs(start))] = 1.0
    return axis


def _between(grid: np.ndarray, value: float) -> tuple[tuple[int, float], ...] | None:
    """The one or two entries of an ascending grid round ``value``, with their weights."""
    if not grid[0] - _EDGE <= value <= grid[-1] + _EDGE:
        return None
    high = int(np.clip(np.searchsorted(grid, value), 1, max(len(grid) - 1, 1)))
    if len(grid) == 1:
        return ((0, 1.0),)
    part = float(np.clip((value - grid[high - 1]) / (grid[high] - grid[high - 1]), 0.0, 1.0))
    # an entry without weight is left out, so that what is not known there does not spread
    pairs = ((high - 1, 1.0 - part), (high, part))
    return tuple((k, weight) for k, weight in pairs if weight > 1e-9)


def _mixed(table: np.ndarray, cells: list[tuple[int, int, float]]) -> np.ndarray:
    """The weighted mean of the table's entries (T, A, ...)."""
    return _mean([table[t, a] for t, a, _ in cells], cells)


def _mean(values: list[np.ndarray], cells: list[tuple[int, int, float]]) -> np.ndarray:
    """The mean of one value to each cell, with the cells' weights."""
    out = cells[0][2] * values[0]
    for value, (_, _, weight) in zip(values[1:], cells[1:], strict=True):
        out = out + weight * value
    return out


def segment_of(arc: np.ndarray, stations_at: np.ndarray) -> np.ndarray:
    """For each point (M,) along the line, the stretch (0..S-2) between stations it lies on."""
    return np.searchsorted(stations_at[1:-1], arc, side="right")
