"""The verdict on one line, and why: which of its numbers decides."""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

import numpy as np

from barfit.analysis.lengths import SpanNeed
from barfit.analysis.spans import SpanCase
from barfit.analysis.sweep import LineSweep, Sweep


class Verdict(StrEnum):
    """In order of how bad it is."""

    REACHES = "reaches"
    UNCERTAIN = "uncertain"
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
    margin: float,
    certain: bool,
    excess: float,
    loosest: float,
    radius: float,
) -> tuple[Verdict, str]:
    """The verdict on a line and why, from its least and greatest slack, its margin and whether
    that is surely on its side of zero, the slack at which it counts as too long, and its smallest
    radius (mm). What hangs on a margin that is not certain is uncertain.
    """
    why = lost(sweep, swept)
    if why:
        return Verdict.NOT_KNOWN, why
    moving = any(span.case.least > 0.0 for span in swept.spans)
    fits = margin >= 0.0
    why = no_length_helps(sweep, swept, needs)
    if slack < 0.0:
        verdict, why = Verdict.SHORT, ""
    elif radius < swept.spans[0].case.min_radius:
        verdict = Verdict.BEND_TOO_TIGHT
    elif moving and excess > loosest:
        verdict, why = Verdict.TOO_LONG, ""
    else:
        verdict = Verdict.REACHES if fits else Verdict.MARGINAL
    by_margin = verdict in (Verdict.REACHES, Verdict.MARGINAL, Verdict.SHORT) or (
        verdict is Verdict.BEND_TOO_TIGHT and not fits
    )
    if by_margin and not math.isnan(margin) and not certain:
        return Verdict.UNCERTAIN, ""
    return verdict, why


def spares(swept: LineSweep, needs: list[SpanNeed]) -> list[float]:
    """What each span has beyond what it needs and should keep, mm; negative where it lacks."""
    return [
        span.case.length - need.least - span.case.least
        for span, need in zip(swept.spans, needs, strict=True)
    ]


def deciding(swept: LineSweep, needs: list[SpanNeed]) -> list[int]:
    """The spans whose spare lengths add up to the margin: all that are short, or else the one
    that has least to spare. Spans that nothing moves count only where they are too short. None
    where one of them is not known.
    """
    spare = spares(swept, needs)
    if any(map(math.isnan, spare)):
        return []
    short = [k for k, value in enumerate(spare) if value < 0.0]
    return short or [min(counting(swept, spare), key=spare.__getitem__)]


def counting(swept: LineSweep, spare: Sequence[float]) -> list[int]:
    """The spans that count, given what each has to spare: those that something moves, and any
    that is too short; all of them where there is no such span.
    """
    spans = range(len(swept.spans))
    counts = [k for k in spans if swept.spans[k].case.least > 0.0 or spare[k] < 0.0]
    return counts or list(spans)


def margin(swept: LineSweep, needs: list[SpanNeed]) -> float:
    """Installed less needed length, mm: what the deciding spans have to spare; nan if not known."""
    spare, spans = spares(swept, needs), deciding(swept, needs)
    return float(sum(spare[k] for k in spans)) if spans else math.nan


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
