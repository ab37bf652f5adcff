"""What a sweep means for each line: a verdict with its numbers, as plain data."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from barfit.analysis.lengths import SpanNeed, span_needs
from barfit.analysis.spans import SpanCase
from barfit.analysis.sweep import LineSweep, Sweep
from barfit.analysis.work import Cancel, Progress, Work
from barfit.catalogue import line_kinds, line_property


class Verdict(StrEnum):
    """In order of how bad it is."""

    REACHES = "reaches"
    MARGINAL = "marginal"
    TOO_LONG = "too long"
    BEND_TOO_TIGHT = "bend too tight"
    SHORT = "short"
    NOT_KNOWN = "not known"


@dataclass(frozen=True)
class LineFinding:
    """The verdict on one line. Lengths mm, angles rad; nan where a number is not known.

    ``slack`` is the least over the sweep, at ``worst_turn`` and ``worst_travel``; ``excess`` the
    greatest. ``taut_length`` is the greatest taut length over the sweep, ``bend_length`` the least
    length at which no radius falls below ``allowed_radius`` (nan: no length helps; 0: the bend
    never decides). ``needed`` is the larger of the two plus ``least`` (the least slack the line's
    kind should keep); ``margin`` = installed - needed. ``target`` is the slack to aim for when
    ordering; ``max_excess`` how much excess is not yet too long. ``tight_right`` and ``tight_left``
    are the turn angles (signed) at which the line goes tight on the way to that lock, None where it
    does not. ``snaps`` are turn angles at which the way back differs from the way out. ``why`` says
    why a verdict is not known or no length helps.
    """

    line: str
    verdict: Verdict
    installed: float
    slack: float
    worst_turn: float
    worst_travel: float
    excess: float
    taut_length: float
    bend_length: float
    needed: float
    margin: float
    least: float
    target: float
    max_excess: float
    min_radius: float
    radius_turn: float
    allowed_radius: float
    tight_right: float | None
    tight_left: float | None
    snaps: tuple[float, ...]
    why: str = ""

    @property
    def fits(self) -> bool:
        """Whether the line may stay as it is (a marginal one may not)."""
        return self.verdict is Verdict.REACHES


def findings(
    sweep: Sweep, progress: Progress | None = None, cancelled: Cancel | None = None
) -> tuple[LineFinding, ...]:
    """The verdict on every line of a sweep, in the lines' order. Raises Cancelled."""
    work = Work(1, progress, cancelled)
    work.stage(2 * len({span.case.nodes for line in sweep.lines for span in line.spans}))
    needs = span_needs(sweep, work)
    return tuple(_finding(sweep, line, needs[line.name]) for line in sweep.lines)


def _finding(sweep: Sweep, swept: LineSweep, needs: list[SpanNeed]) -> LineFinding:
    line = sweep.setup.line(swept.name)
    kind = line_kinds()[line.kind]
    allowed = line_property(line, "min_radius")
    lost = _lost(sweep, swept)
    margin = math.nan if lost else _margin(swept, needs)
    at, turn = _place(swept.slack, np.nanargmin)
    radius_at, radius_turn = _place(swept.min_radius, np.nanargmin)
    slack = float(swept.slack[at, turn])
    excess = float(np.nanmax(swept.slack)) if np.isfinite(swept.slack).any() else float("nan")
    radius = float(swept.min_radius[radius_at, radius_turn])
    moving = any(span.case.least > 0.0 for span in swept.spans)
    # a line of the next size above its target length is never too long, however much it swings
    loosest = max(kind.max_excess, kind.target_slack + (excess - slack) + kind.increment)
    if lost:
        verdict, why = Verdict.NOT_KNOWN, lost
    elif slack < 0.0:
        verdict, why = Verdict.SHORT, ""
    elif radius < allowed:
        verdict, why = Verdict.BEND_TOO_TIGHT, _no_length_helps(sweep, swept, needs)
    elif moving and excess > loosest:
        verdict, why = Verdict.TOO_LONG, ""
    elif not margin >= 0.0:
        verdict, why = Verdict.MARGINAL, _no_length_helps(sweep, swept, needs)
    else:
        verdict, why = Verdict.REACHES, ""
    tight = _tight_angles(sweep.angles, swept.slack)
    return LineFinding(
        line=line.name,
        verdict=verdict,
        installed=line.length,
        slack=slack,
        worst_turn=float(sweep.angles[turn]),
        worst_travel=float(swept.travels[at]),
        excess=excess,
        taut_length=_whole(swept, line.length, [need.taut for need in needs]),
        bend_length=_bend_length(swept, line.length, needs),
        needed=line.length - margin,
        margin=margin,
        least=max(span.case.least for span in swept.spans),
        target=kind.target_slack,
        max_excess=loosest,
        min_radius=radius,
        radius_turn=float(sweep.angles[radius_turn]),
        allowed_radius=allowed,
        tight_right=tight[0],
        tight_left=tight[1],
        snaps=tuple(float(a) for a in sweep.angles[~swept.same_way_back.all(0)]),
        why=why,
    )


def _margin(swept: LineSweep, needs: list[SpanNeed]) -> float:
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


def _place(values: np.ndarray, pick: Callable[[np.ndarray], np.intp]) -> tuple[int, int]:
    """Where the extreme value of a (T, A) table is; its middle when nothing is known."""
    if not np.isfinite(values).any():
        return 0, values.shape[1] // 2
    at, turn = np.unravel_index(pick(values), values.shape)
    return int(at), int(turn)


def _whole(swept: LineSweep, installed: float, spans: list[float]) -> float:
    """Length of the whole line if its spans had these lengths, mm."""
    return installed + sum(
        length - span.case.length for span, length in zip(swept.spans, spans, strict=True)
    )


def _bend_length(swept: LineSweep, installed: float, needs: list[SpanNeed]) -> float:
    if all(need.bend == 0.0 for need in needs):
        return 0.0
    return _whole(swept, installed, [need.least for need in needs])


def _lost(sweep: Sweep, swept: LineSweep) -> str:
    """Why a line's verdict cannot be known, or nothing."""
    bad = ~swept.converged
    if not bad.any():
        return ""
    turns = np.degrees(sweep.angles[bad.any(0)])
    return (
        f"no rest shape was found at {int(bad.sum())} of {bad.size} poses "
        f"(turn {turns.min():.0f}° to {turns.max():.0f}°)"
    )


def _no_length_helps(sweep: Sweep, swept: LineSweep, needs: list[SpanNeed]) -> str:
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


def _tight_angles(angles: np.ndarray, slack: np.ndarray) -> tuple[float | None, float | None]:
    """The turn angles at which the slack first falls to zero towards right and left lock."""
    least = np.where(np.isnan(slack), np.inf, slack).min(0)
    middle = int(np.flatnonzero(angles == 0.0)[0])
    return (
        _first_tight(angles[middle::-1], least[middle::-1]),
        _first_tight(angles[middle:], least[middle:]),
    )


def _first_tight(angles: np.ndarray, slack: np.ndarray) -> float | None:
    below = np.flatnonzero(slack < 0.0)
    if not len(below):
        return None
    k = int(below[0])
    if k == 0:
        return float(angles[0])
    if not math.isfinite(slack[k - 1]):  # the pose before it is not known
        return float(angles[k])
    share = slack[k - 1] / (slack[k - 1] - slack[k])
    return float(angles[k - 1] + share * (angles[k] - angles[k - 1]))
