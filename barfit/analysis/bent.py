"""Up to which length a span that is let out keeps its bends, by the shapes that a sweep finds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from barfit.analysis.spans import SpanCase
from barfit.analysis.sweep import Sweep
from barfit.analysis.tables import sweep_all
from barfit.analysis.work import Cancel
from barfit.geometry.pose import sweep_angles

_STEP = math.radians(3.0)  # between the turn angles looked at; at 8° one fell into another shape
_LENGTHS = 6


def bent_at(
    sweep: Sweep,
    cases: Sequence[SpanCase],
    least: Sequence[float],
    most: Sequence[float],
    cancelled: Cancel | None = None,
) -> list[tuple[float, float, float]]:
    """The length, mm, between ``least`` and ``most``, from which on each span bends tighter than
    it may somewhere in the sweep, and the turn (rad) and travel (mm) where it does; inf where none
    is, or where no rest shape was found.

    The spans are turned from lock to lock at some lengths, each pose led to from the one before
    it, as in the sweep that a verdict comes from: a span that is let out from its taut shape may
    come to lie in another. Raises Cancelled once ``cancelled()`` is true.
    """
    angles = sweep_angles(sweep.setup.machine, _STEP)
    grids = [np.linspace(a, b, _LENGTHS) for a, b in zip(least, most, strict=True)]
    tried = [
        (k, replace(case, end_at=case.start_at + float(length)))
        for k, (case, grid) in enumerate(zip(cases, grids, strict=True))
        for length in grid
    ]
    radii: list[list[tuple[float, float, float]]] = [[] for _ in cases]
    tables = sweep_all(sweep.setup, [case for _, case in tried], angles, cancelled=cancelled)
    for (k, _), table in zip(tried, tables, strict=True):
        narrow = np.where(table.converged, table.radii.min(-1), np.inf)
        row, turn = np.unravel_index(int(narrow.argmin()), narrow.shape)
        place = float(angles[turn]), float(table.travels[row])
        radii[k].append((float(narrow[row, turn]), *place))
    return [
        _crossing(grid, found, case.min_radius)
        for grid, found, case in zip(grids, radii, cases, strict=True)
    ]


def _crossing(
    grid: np.ndarray, found: Sequence[tuple[float, float, float]], allowed: float
) -> tuple[float, float, float]:
    """Where the radius falls below what is allowed once it has been wide enough, linear between
    lengths; the first length where it never is.
    """
    wide = next((k for k, (radius, _, _) in enumerate(found) if radius >= allowed), None)
    if wide is None:
        return float(grid[0]), *found[0][1:]
    for k in range(wide + 1, len(grid)):
        radius, turn, travel = found[k]
        before = found[k - 1][0]
        if radius < allowed:
            share = (before - allowed) / (before - radius) if math.isfinite(before) else 0.0
            return float(grid[k - 1] + share * (grid[k] - grid[k - 1])), turn, travel
    return math.inf, 0.0, 0.0
