"""What a sweep means for each line: a verdict with its numbers, as plain data."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from barfit.analysis.lengths import SpanNeed, span_needs
from barfit.analysis.rest import line_rests
from barfit.analysis.sweep import LineSweep, Sweep
from barfit.analysis.torque import LineTorque, line_torque
from barfit.analysis.twist import Twist, line_twist
from barfit.analysis.uncertainty import NOT_KNOWN, Sureness, sureness
from barfit.analysis.verdicts import Verdict, judged, lost, margin
from barfit.analysis.work import Cancel, Progress, Work
from barfit.catalogue import line_kinds, line_property


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
    why a verdict is not known or no length helps. ``torque`` is what the line does to the bar;
    ``twist`` how far it is twisted, None where it can turn in its fittings or nothing moves it.
    ``sure`` says how sure margin and slack are. Slack found on the machine has corrected slack,
    excess, needed and margin, each on its own (a part of it may be the installed length's).
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
    torque: LineTorque | None = None
    sure: Sureness = NOT_KNOWN
    twist: Twist | None = None

    @property
    def fits(self) -> bool:
        """Whether the line may stay as it is (a marginal one may not)."""
        return self.verdict is Verdict.REACHES


def findings(
    sweep: Sweep, progress: Progress | None = None, cancelled: Cancel | None = None
) -> tuple[LineFinding, ...]:
    """The verdict on every line of a sweep, in the lines' order. Raises Cancelled.

    Each part computes what it has to say about all lines at once, so that their rods go through
    the solver as one batch, and gives it by line name; here it is put together.
    """
    work = Work(2, progress, cancelled)
    work.stage(2 * len({span.case.nodes for line in sweep.lines for span in line.spans}))
    needs = span_needs(sweep, work)
    sure = sureness(sweep, needs, work, cancelled)
    return tuple(_finding(sweep, line, needs[line.name], sure[line.name]) for line in sweep.lines)


def _finding(sweep: Sweep, swept: LineSweep, needs: list[SpanNeed], sure: Sureness) -> LineFinding:
    line = sweep.setup.line(swept.name)
    kind = line_kinds()[line.kind]
    allowed = line_property(line, "min_radius")
    plain = math.nan if lost(sweep, swept) else margin(swept, needs)
    left = plain + sure.margin_by
    slacks = swept.slack + sure.slack_by  # the correction is that of the worst pose
    at, turn = _place(slacks, np.nanargmin)
    radius_at, radius_turn = _place(swept.min_radius, np.nanargmin)
    slack = float(slacks[at, turn])
    excess = float(np.nanmax(slacks)) if np.isfinite(slacks).any() else float("nan")
    radius = float(swept.min_radius[radius_at, radius_turn])
    # a line of the next size above its target length is never too long, however much it swings
    loosest = max(kind.max_excess, kind.target_slack + (excess - slack) + kind.increment)
    verdict, why = judged(
        sweep,
        swept,
        needs,
        slack=slack,
        margin=left,
        certain=sure.certain(left),
        excess=excess,
        loosest=loosest,
        radius=radius,
    )
    rests = line_rests(sweep, swept)
    tight = _tight_angles(sweep.angles, slacks)
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
        needed=line.length - plain + sure.needed_by,
        margin=left,
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
        torque=line_torque(sweep, swept, rests),
        sure=sure,
        twist=line_twist(sweep, swept, rests),
    )


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
