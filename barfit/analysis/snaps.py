"""Where a line may snap over: turning back, it lies differently from the way out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.analysis.sweep import LineSweep, Sweep


@dataclass(frozen=True)
class Snap:
    """Between the turn angles ``start`` and ``end`` (rad, ascending; to a few poses of the sweep),
    with the suspension at ``travel`` (mm), a line has two shapes and may snap from one to the
    other.
    """

    start: float
    end: float
    travel: float


def snaps(sweep: Sweep, line: LineSweep) -> tuple[Snap, ...]:
    """Every stretch of turn angles over which the way out and the way back differ."""
    found = []
    for travel, same in zip(line.travels, line.same_way_back, strict=True):
        steps = np.diff(np.concatenate(([0], (~same).astype(int), [0])))
        for first, after in zip(np.flatnonzero(steps > 0), np.flatnonzero(steps < 0), strict=True):
            start, end = sweep.angles[first], sweep.angles[after - 1]
            found.append(Snap(float(start), float(end), float(travel)))
    return tuple(found)
