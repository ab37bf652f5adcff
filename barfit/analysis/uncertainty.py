"""How sure a verdict is: the standard deviation of a line's margin and slack, and what makes it.

Linear rule: with J the slopes of a margin by the inputs and S their covariance, its variance is
J S J' (first order; JCGM 100:2008, Guide to the expression of uncertainty in measurement, 5.1).
The slopes are taken at the pose, and for the spans, that decide. Where another pose is about as
bad, the worst of both varies less than either and lies a little lower; the rule does not see that
(but where the taut and the bend-limited length are about alike, the wider of their bands counts),
nor that a span which nothing moves may turn out too short. On the bundled machines Monte Carlo
gives 0.88 to 1.12 of the margin's standard deviation told here, but for bends that hardly open with
more length: there the truth has a long tail, up to "no length helps", that no such rule shows.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from barfit.analysis.calibration import Observations, Posterior, posterior
from barfit.analysis.inputs import STIFFNESS, Input, Key, inputs
from barfit.analysis.lengths import SpanNeed
from barfit.analysis.slopes import Gauge, Slopes, slopes
from barfit.analysis.sweep import LineSweep, Sweep
from barfit.analysis.verdicts import counting, deciding
from barfit.analysis.work import Work

TICKS = 3  # of progress
_CAUSES = 3
_ALIKE = 10.0  # mm: of lengths that are nearer to each other either may decide


@dataclass(frozen=True)
class Cause:
    """One input and how much of the margin's standard deviation comes from it, mm.

    ``thing`` is what to measure again, ``words`` which number of it.
    """

    thing: str
    words: str
    share: float


@dataclass(frozen=True)
class OddSlack:
    """Slack found at ``turn`` (rad) that contradicts the setup: mm; ``spread`` is the standard
    deviation it may be off from ``expected``, which is nan where that is not known.
    """

    turn: float
    found: float
    expected: float
    spread: float


@dataclass(frozen=True)
class Sureness:
    """How sure the numbers of one line are, mm; nan where that is not known.

    ``sigma`` and ``slack_sigma`` are the standard deviations of margin and slack (of the slack an
    upper bound where part of it could not be found); ``before`` is what ``sigma`` was without the
    slack found on the machine. That slack has moved the margin by ``margin_by``, the slack by
    ``slack_by`` and the needed length by ``needed_by``. ``causes`` are the inputs that contribute
    most, the first the most, and ``parts`` all of them by their keys, mm. ``slopes`` is what one
    standard deviation of each input moves the margin by, mm, with its sign, as it was without the
    slack found. ``odd`` is found slack that contradicts the setup; it has corrected nothing.
    """

    sigma: float = math.nan
    slack_sigma: float = math.nan
    before: float = math.nan
    margin_by: float = 0.0
    slack_by: float = 0.0
    needed_by: float = 0.0
    causes: tuple[Cause, ...] = ()
    parts: tuple[tuple[Key, float], ...] = ()
    slopes: tuple[tuple[Key, float], ...] = ()
    odd: tuple[OddSlack, ...] = ()

    @property
    def two_sigma(self) -> float:
        """Half of the band the margin is in, with a chance of 95 %; where slack found on the
        machine contradicts the setup, so much wider that either may be right.
        """
        return 2.0 * self.sigma + max(map(abs, self._off()), default=0.0)

    @property
    def things(self) -> tuple[str, ...]:
        """What can be measured again, the most telling first: how stiff a line is cannot, that is
        taken from a table.
        """
        names = (cause.thing for cause in self.causes)
        return tuple(dict.fromkeys(name for name in names if name != STIFFNESS))

    def certain(self, margin: float, slack_left: float = math.inf) -> bool:
        """Whether this margin (corrected) is surely above or surely below zero.

        ``slack_left`` is the least slack less what it should be (mm, corrected): where that alone
        is surely below zero, so is the margin, which is never more. Where slack found on the
        machine contradicts the setup a line is never surely long enough; it is surely too short
        when it would be with all that was found beyond what was expected.
        """
        more = max(self._off(), default=0.0)
        for value, sigma in ((margin, self.sigma), (slack_left, self.slack_sigma)):
            if value < 0.0 and value + max(more, 0.0) <= -2.0 * sigma:
                return True
        return not self.odd and margin >= 2.0 * self.sigma

    def _off(self) -> list[float]:
        """How far odd slack was found from what was expected, mm, where that is known."""
        return [odd.found - odd.expected for odd in self.odd if not math.isnan(odd.expected)]


NOT_KNOWN = Sureness()
"""Nothing is known about how sure the numbers are."""


def sureness(
    sweep: Sweep,
    needs: dict[str, list[SpanNeed]],
    seen: Observations,
    work: Work | None = None,
    slope: Callable[[Sweep, Sequence[Gauge], Sequence[Input]], Slopes] = slopes,
) -> dict[str, Sureness]:
    """How sure each line's margin and slack are, by name, knowing what was ``seen`` of their slack
    on the machine. ``slope`` finds the slopes, or knows them. Raises Cancelled.
    """
    setup = sweep.setup
    if work is not None:
        work.stage(TICKS)
        work.tick()
    now = inputs(setup, sweep.stock)
    keys = list(dict.fromkeys([*(one.key for one in now), *seen.keys]))
    learnt = posterior(seen, keys)
    if work is not None:
        work.tick()
    plans = {
        line.name: _plan(k, line, needs[line.name])
        for k, line in enumerate(sweep.lines)
        if line.converged.all()
    }
    gauges = list(
        dict.fromkeys(
            gauge
            for plan in plans.values()
            for gauge in (*(one for way in plan.ways for one in way.gauges), plan.slack)
        )
    )
    found = slope(sweep, gauges, now)
    if work is not None:
        work.tick()
    at = {gauge: row for row, gauge in enumerate(gauges)}
    out = {line.name: Sureness(odd=_odd(seen, line.name)) for line in sweep.lines}
    for name, plan in plans.items():
        found_so = []
        for way in plan.ways:
            rows = [at[gauge] for gauge in way.gauges]
            unknown = 0.0 if rows else math.nan
            one = _sureness(
                learnt,
                now,
                found.spare[rows].sum(0) + unknown,
                found.needed[rows].sum(0) + unknown,
                found.spare[at[plan.slack]],
                found.most[at[plan.slack]],
                out[name].odd,
            )
            found_so.append((way.beyond, one))
        out[name] = _least_sure(found_so)
    return out


def _least_sure(ways: Sequence[tuple[float, Sureness]]) -> Sureness:
    """Of several ways in which the margin may be decided, each with what it leaves ``beyond`` that
    of the first, mm: the least corrected margin, and the band that reaches lowest from it.

    Where a taut and a bend-limited length are about alike, a hair's breadth would else pick between
    a narrow band and a wide one. A way of which nothing is known counts only where it is the first.
    """
    first = ways[0][1]
    if math.isnan(first.sigma):
        return first
    known = [(beyond, one) for beyond, one in ways if not math.isnan(one.sigma)]
    beyond, least = min(known, key=lambda way: way[0] + way[1].margin_by)
    margin_by = beyond + least.margin_by
    low, widest = min(known, key=lambda way: way[0] + way[1].margin_by - way[1].two_sigma)
    return replace(
        widest,
        sigma=0.5 * (margin_by - low - widest.margin_by) + widest.sigma,
        before=max(one.before - 0.5 * more for more, one in known),
        margin_by=margin_by,
        needed_by=least.needed_by - beyond,
    )


def corrected(sweep: Sweep, slack_by: Mapping[str, float]) -> Sweep:
    """The sweep with each line's slack at every pose moved by so much (mm, by name), as slack found
    on the machine has it at the worst one; what stretches between stations have to spare shares it.
    Shapes and single spans stay as they were computed. The sweep itself where nothing moves.
    """
    if not any(slack_by.values()):
        return sweep
    lines = []
    for line in sweep.lines:
        by = slack_by.get(line.name, 0.0)
        sharing = int(np.isfinite(line.segment_slack).any((0, 1)).sum())
        numbers: dict[str, Any] = {
            "slack": line.slack + by,
            "taut": line.taut - by,
            "segment_slack": line.segment_slack + by / max(sharing, 1),
        }
        for value in numbers.values():
            value.setflags(write=False)
        lines.append(replace(line, **numbers))
    return replace(sweep, lines=tuple(lines))


@dataclass(frozen=True)
class _Way:
    """Lengths whose sum is what a line needs (none where that is not known), ``beyond`` mm less
    than the most.
    """

    gauges: tuple[Gauge, ...]
    beyond: float = 0.0


@dataclass(frozen=True)
class _Plan:
    """Which lengths decide a line's slack, and in which ways its margin may be decided: first the
    one that does as computed.
    """

    ways: tuple[_Way, ...]
    slack: Gauge


def _plan(number: int, line: LineSweep, needs: list[SpanNeed]) -> _Plan:
    slack = [span.case.length - need.taut for span, need in zip(line.spans, needs, strict=True)]
    least = min(counting(line, slack), key=slack.__getitem__)
    spans = deciding(line, needs)
    own = tuple(_gauge(number, k, needs[k], needs[k].bend > needs[k].taut) for k in spans)
    ways = [_Way(own)]
    for at, k in enumerate(spans):
        beyond = abs(needs[k].bend - needs[k].taut)
        if beyond < _ALIKE:  # nan, or 0 for a bend that never decides, is further off
            other = _gauge(number, k, needs[k], not needs[k].bend > needs[k].taut)
            ways.append(_Way((*own[:at], other, *own[at + 1 :]), beyond))
    return _Plan(tuple(ways), Gauge(number, least, needs[least].turn, needs[least].travel))


def _gauge(number: int, span: int, need: SpanNeed, bend: bool) -> Gauge:
    if bend:
        return Gauge(number, span, need.bend_turn, need.bend_travel, need.bend)
    return Gauge(number, span, need.turn, need.travel)


def _sureness(
    learnt: Posterior,
    now: Sequence[Input],
    margin: np.ndarray,
    needed: np.ndarray,
    slack: np.ndarray,
    most: np.ndarray,
    odd: tuple[OddSlack, ...],
) -> Sureness:
    """From the slopes (n,) of margin, needed length and slack by the inputs there are now.

    Where a slope of the slack was not found, ``most`` of it counts, as if all such errors went the
    same way: a slack hundreds of mm below zero stays surely there. Inputs of
    the old bars alone come after these in ``learnt``; nothing depends on them any more.
    """
    count = len(now)
    mean, covariance = learnt.mean[:count], learnt.covariance[:count, :count]

    lost = np.isnan(slack)
    parts = _parts(margin, covariance)

    def by(slope: np.ndarray) -> float:
        """What is learnt moves this by, mm; nothing where it is not known how."""
        return float(np.nan_to_num(slope @ mean))

    return Sureness(
        sigma=_spread(margin, covariance),
        slack_sigma=_spread(np.where(lost, 0.0, slack), covariance) + float(most[lost].sum()),
        before=float(np.linalg.norm(margin)),
        margin_by=by(margin),
        slack_by=by(slack),
        needed_by=by(needed),
        causes=tuple(Cause(now[k].thing, now[k].words, mm) for k, mm in parts[:_CAUSES]),
        parts=tuple((now[k].key, mm) for k, mm in parts),
        slopes=tuple((one.key, float(mm)) for one, mm in zip(now, margin, strict=True) if mm),
        odd=odd,
    )


def _spread(slope: np.ndarray, covariance: np.ndarray) -> float:
    """Standard deviation of what depends on the inputs by ``slope`` (n,); nan where unknown."""
    variance = float(slope @ covariance @ slope)
    return variance if math.isnan(variance) else math.sqrt(max(variance, 0.0))


def _parts(margin: np.ndarray, covariance: np.ndarray) -> list[tuple[int, float]]:
    """The inputs (their numbers) that the margin hangs on, and what of its spread comes from each
    (mm): those first by whose knowledge alone it would fall most. None where that is not known.
    """
    # what the margin moves by with one standard deviation of each, what hangs together included
    moves = np.abs(covariance @ margin) / np.sqrt(np.maximum(np.diag(covariance), 1e-12))
    if np.isnan(moves).any():
        return []
    most = np.argsort(-moves, kind="stable")
    return [(int(k), float(moves[k])) for k in most if moves[k] > 0.0]


def _odd(seen: Observations, line: str) -> tuple[OddSlack, ...]:
    spread = seen.spread()
    return tuple(
        OddSlack(seen.turns[k], float(seen.found[k]), float(seen.expected[k]), float(spread[k]))
        for k in np.flatnonzero(seen.odd())
        if seen.lines[k] == line
    )
