"""What a sweep means for each line: a verdict with its numbers, as plain data."""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from barfit.analysis import lengths, window
from barfit.analysis.blame import Blame, blames
from barfit.analysis.calibration import Observations, observations
from barfit.analysis.clips import Clipped, clipped
from barfit.analysis.lengths import SpanNeed, span_needs
from barfit.analysis.lent import Lender
from barfit.analysis.rest import Rest, line_rests
from barfit.analysis.slopes import slopes
from barfit.analysis.snaps import Snap, snaps
from barfit.analysis.stability import DecidingPose, deciding_poses
from barfit.analysis.stops import NO_STOPS, LineStops, line_stops
from barfit.analysis.sweep import LineSweep, Sweep
from barfit.analysis.torque import LineTorque, line_torque
from barfit.analysis.touching import Pinch, Touch, pinches, touches
from barfit.analysis.twist import Twist, line_twist
from barfit.analysis.uncertainty import NOT_KNOWN, Sureness, sureness
from barfit.analysis.verdicts import Verdict, judged, lost, margin
from barfit.analysis.window import SpanLongest, Window, overlong, span_longest
from barfit.analysis.work import Cancel, Progress, Work
from barfit.catalogue import line_kinds, line_property
from barfit.model import Line


@dataclass(frozen=True)
class LineFinding:
    """The verdict on one line. Lengths mm, angles rad; nan where a number is not known.

    ``slack`` is the least over the sweep, at ``worst_turn`` and ``worst_travel``, refined between
    its poses; ``excess`` the greatest. ``taut_length`` is the greatest taut length over the sweep,
    ``bend_length`` the least length at which no radius falls below ``allowed_radius`` (nan: no
    length helps; 0: the bend never decides). ``needed`` is the larger of the two plus ``least``
    (the least slack the line's kind should keep); ``margin`` = installed - needed. ``target`` is
    the slack to aim for when ordering; ``max_excess`` the slack, where it is greatest, above which
    the line is too long. ``why`` says why a verdict is not known or no length helps.

    ``stops`` are the turn angles at which the line goes tight; ``snaps`` where it may snap over;
    ``window`` the lengths that are sensible; ``clipped`` what its spans between clips need;
    ``deciding`` the shapes that the numbers rest on, each with its stability;
    ``touches`` and ``pinches`` are what it runs into;
    ``torque`` what the line does to the bar; ``twist`` how far it is twisted, None where it can
    turn in its fittings or nothing moves it; ``sure`` how sure margin and slack are. Slack found on
    the machine has corrected slack, excess, needed, margin and stops, each on its own (a part of it
    may be the installed length's).
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
    why: str = ""
    stops: LineStops = NO_STOPS
    snaps: tuple[Snap, ...] = ()
    window: Window | None = None
    clipped: Clipped | None = None
    deciding: tuple[DecidingPose, ...] = ()
    torque: LineTorque | None = None
    sure: Sureness = NOT_KNOWN
    twist: Twist | None = None
    touches: tuple[Touch, ...] = ()
    pinches: tuple[Pinch, ...] = ()

    @property
    def fits(self) -> bool:
        """Whether the line may stay as it is (a marginal one may not)."""
        return self.verdict is Verdict.REACHES

    @property
    def tight_right(self) -> float | None:
        """The turn angle at which it goes tight on the way to the right lock, if it does."""
        return self.stops.right.turn if self.stops.right else None

    @property
    def tight_left(self) -> float | None:
        """The turn angle at which it goes tight on the way to the left lock, if it does."""
        return self.stops.left.turn if self.stops.left else None


def findings(
    sweep: Sweep,
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
    seen: Observations | None = None,
    windows: bool = True,
    lender: Lender | None = None,
) -> tuple[LineFinding, ...]:
    """The verdict on every line of a sweep, in the lines' order. Raises Cancelled.

    ``seen`` is the slack found on the machine where it is at hand already. Without ``windows`` no
    line gets one, and its longest sensible length is looked for only where it may be too long; nor
    is it said what a line does to the bar. The rest is the same. A ``lender`` has what is known of
    the same lines at another length.

    Each part computes what it has to say about all lines at once, so that their rods go through
    the solver as one batch, and gives it by line name; here it is put together.
    """
    work = Work(2, progress, cancelled)
    work.stage(lengths.TICKS + window.TICKS + 3)
    if seen is not None:
        return _findings(sweep, work, lambda: seen, windows, lender)
    # nothing of the rest goes into it, and the solver's loops leave a second core free
    with ThreadPoolExecutor(1) as beside:
        found = beside.submit(observations, sweep.setup, sweep, cancelled)
        return _findings(sweep, work, found.result, windows, lender)


def _findings(
    sweep: Sweep,
    work: Work,
    seen: Callable[[], Observations],
    windows: bool,
    lender: Lender | None,
) -> tuple[LineFinding, ...]:
    slope = lender.slopes if lender else slopes
    needs = lender.needs(sweep, work) if lender else span_needs(sweep, work)
    work.tick()
    if windows:
        longest = span_longest(sweep, needs, work=work)
        sure = None
    else:
        sure = sureness(sweep, needs, seen(), work, slope)
        loose = {line.name for line in sweep.lines if _loose(line, needs[line.name], sure)}
        longest = span_longest(sweep, needs, work=work, only=loose)
    blamed = blames(sweep, needs)
    work.tick()
    rests = {line.name: line_rests(sweep, line) for line in sweep.lines}
    deciding = deciding_poses(sweep, needs, longest, rests)
    work.tick()
    if sure is None:
        sure = sureness(sweep, needs, seen(), work, slope)
    stops = line_stops(sweep, needs, {name: one.slack_by for name, one in sure.items()})
    return tuple(
        _finding(
            sweep,
            line,
            needs[line.name],
            longest[line.name],
            blamed[line.name],
            stops[line.name],
            deciding[line.name],
            rests[line.name],
            sure[line.name],
            windows,
        )
        for line in sweep.lines
    )


def _loose(line: LineSweep, needs: list[SpanNeed], sure: dict[str, Sureness]) -> bool:
    """Whether a line may be too long: never up to the next size above what it should be."""
    slack = _worst(line, needs)[0] + sure[line.name].slack_by
    return slack > _next_size(line.spans[0].case.line)


def _next_size(line: Line) -> float:
    """The slack, mm, of a line of the next size above its target length: that is never too long,
    however much it swings.
    """
    kind = line_kinds()[line.kind]
    return kind.target_slack + kind.increment


def _finding(
    sweep: Sweep,
    swept: LineSweep,
    needs: list[SpanNeed],
    longest: list[SpanLongest],
    blame: Blame | None,
    stops: LineStops,
    deciding: tuple[DecidingPose, ...],
    rests: tuple[Rest, ...],
    sure: Sureness,
    windows: bool,
) -> LineFinding:
    line = sweep.setup.line(swept.name)
    kind = line_kinds()[line.kind]
    plain = math.nan if lost(sweep, swept) else margin(swept, needs)
    left = plain + sure.margin_by
    slack, worst_turn, worst_travel = _worst(swept, needs)
    slack += sure.slack_by  # the correction is that of the worst pose
    least = max(span.case.least for span in swept.spans)
    excess = _greatest(swept.slack) + sure.slack_by
    radius_at, radius_turn = _place(swept.min_radius)
    radius = float(swept.min_radius[radius_at, radius_turn])
    over = overlong(swept, longest) + sure.margin_by
    next_size = _next_size(line)
    needed = line.length - plain + sure.needed_by
    touched, pinched = touches(sweep, swept), pinches(sweep, swept)
    verdict, why = judged(
        sweep,
        swept,
        margin=left,
        certain=sure.certain(left, slack - least),
        slack=slack,
        too_long=over > 0.0 and slack > next_size,
        radius=radius,
        pinched=bool(pinched),
        rubs=any(touch.rubs for touch in touched),
        blame=blame,
        deciding=deciding,
    )
    return LineFinding(
        line=line.name,
        verdict=verdict,
        installed=line.length,
        slack=slack,
        worst_turn=worst_turn,
        worst_travel=worst_travel,
        excess=excess,
        taut_length=_whole(swept, line.length, [need.taut for need in needs]),
        bend_length=_bend_length(swept, line.length, needs),
        needed=needed,
        margin=left,
        least=least,
        target=kind.target_slack,
        max_excess=excess + float(np.maximum(-over, next_size - slack)),
        min_radius=radius,
        radius_turn=float(sweep.angles[radius_turn]),
        allowed_radius=line_property(line, "min_radius"),
        why=why,
        stops=stops,
        snaps=snaps(sweep, swept),
        window=window.window(swept, needs, longest, needed, blame) if windows else None,
        clipped=clipped(swept, needs),
        deciding=deciding,
        torque=line_torque(sweep, swept, rests) if windows else None,
        sure=sure,
        twist=line_twist(sweep, swept, rests),
        touches=touched,
        pinches=pinched,
    )


def _worst(swept: LineSweep, needs: list[SpanNeed]) -> tuple[float, float, float]:
    """The least slack of a line (mm) and the pose (rad, mm) where it has it.

    Spans that neither steering nor bars can move may be cut as snugly as one likes: they count
    only where they are too short.
    """
    moving = any(span.case.least > 0.0 for span in swept.spans)
    worst = [
        (span.case.length - need.taut, need.turn, need.travel)
        for span, need in zip(swept.spans, needs, strict=True)
        if span.case.least > 0.0 or not moving or span.case.length < need.taut
    ]
    known = [one for one in worst if math.isfinite(one[0])]
    return min(known, key=lambda one: one[0], default=(math.nan, 0.0, 0.0))


def _place(values: np.ndarray) -> tuple[int, int]:
    """Where the least value of a (T, A) table is; its middle when nothing is known."""
    if not np.isfinite(values).any():
        return 0, values.shape[1] // 2
    at, turn = np.unravel_index(np.nanargmin(values), values.shape)
    return int(at), int(turn)


def _greatest(values: np.ndarray) -> float:
    return float(np.nanmax(values)) if np.isfinite(values).any() else math.nan


def _whole(swept: LineSweep, installed: float, spans: list[float]) -> float:
    """Length of the whole line if its spans had these lengths, mm."""
    return installed + sum(
        length - span.case.length for span, length in zip(swept.spans, spans, strict=True)
    )


def _bend_length(swept: LineSweep, installed: float, needs: list[SpanNeed]) -> float:
    if all(need.bend == 0.0 for need in needs):
        return 0.0
    return _whole(swept, installed, [need.least for need in needs])
