"""Where a line may snap over: turning back, it lies differently from the way out."""

from __future__ import annotations

from dataclasses import dataclass

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
    return tuple(
        Snap(start, end, float(travel))
        for travel, same in zip(line.travels, line.same_way_back, strict=True)
        for start, end in sweep.stretches(~same)
    )
