"""The verdict on one line, and why: which of its numbers decides."""

from __future__ import annotations

import math
from enum import StrEnum

import numpy as np

from barfit.analysis.lengths import SpanNeed
from barfit.analysis.spans import SpanCase
from barfit.analysis.sweep import LineSweep, Sweep


class Verdict(StrEnum):
    """In order of how bad it is."""

    REACHES = "reaches"
    MARGINAL = "marginal"
    TOO_LONG = "too long"
    BEND_TOO_TIGHT = "bend too tight"
    SHORT = "short"
    NOT_KNOWN = "not known"


def judged(
    sweep: Sweep,
    swept: LineSweep,
    needs: list[SpanNeed],
    *,
    slack: float,
    excess: float,
    loosest: float,
    radius: float,
) -> tuple[Verdict, str]:
    """The verdict on a line and why, from its least and greatest slack (mm), the slack at which
    it counts as too long, and its smallest radius."""
    why = lost(sweep, swept)
    if why:
        return Verdict.NOT_KNOWN, why
    if slack < 0.0:
        return Verdict.SHORT, ""
    if radius < swept.spans[0].case.min_radius:
        return Verdict.BEND_TOO_TIGHT, no_length_helps(sweep, swept, needs)
    moving = any(span.case.least > 0.0 for span in swept.spans)
    if moving and excess > loosest:
        return Verdict.TOO_LONG, ""
    if not margin(swept, needs) >= 0.0:
        return Verdict.MARGINAL, no_length_helps(sweep, swept, needs)
    return Verdict.REACHES, ""


def margin(swept: LineSweep, needs: list[SpanNeed]) -> float:
    """Installed less needed length, mm: what all short spans lack together, or else the least
    that any span has to spare. Spans that nothing moves count only where they are too short.
    """
    spare = [
        span.case.length - need.least - span.case.least
        for span, need in zip(swept.spans, needs, strict=True)
    ]
    if any(map(math.isnan, spare)):
        return math.nan
    short = sum(value for value in spare if value < 0.0)
    moving = [
        value for value, span in zip(spare, swept.spans, strict=True) if span.case.least > 0.0
    ]
    return short or min(moving or spare)


def lost(sweep: Sweep, swept: LineSweep) -> str:
    """Why a line's verdict cannot be known, or nothing."""
    bad = ~swept.converged
    if not bad.any():
        return ""
    turns = np.degrees(sweep.angles[bad.any(0)])
    return (
        f"no rest shape was found at {int(bad.sum())} of {bad.size} poses "
        f"(turn {turns.min():.0f}° to {turns.max():.0f}°)"
    )


def no_length_helps(sweep: Sweep, swept: LineSweep, needs: list[SpanNeed]) -> str:
    """Where a bend stays too sharp whatever the length, or nothing."""
    for span, need in zip(swept.spans, needs, strict=True):
        if math.isnan(need.bend):
            at = int(np.argmin(np.abs(sweep.angles - need.bend_turn)))
            row = int(np.argmin(np.abs(swept.travels - need.bend_travel)))
            station = nearest_station(swept, span.case, row, at)
            return (
                f"no length makes the bend near '{station}' wide enough: "
                "turn that fitting or move the guide"
            )
    return ""


def nearest_station(swept: LineSweep, case: SpanCase, travel: int, turn: int) -> str:
    """Name of the station of a span that its sharpest bend at a pose is nearest to."""
    stations = np.arange(case.first, case.last + 1)
    inside = (swept.arc >= case.start_at) & (swept.arc <= case.end_at)
    radii = np.where(inside, swept.radii[travel, turn], np.inf)
    sharpest = swept.arc[int(np.argmin(radii))]
    gaps = np.abs(swept.stations_at[travel, turn, stations] - sharpest)
    return case.layout.names[int(stations[np.argmin(gaps)])]
