"""The length window of a line: from the length it needs to the longest that is still sensible."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from barfit.analysis.bent import bent_at
from barfit.analysis.blame import Blame
from barfit.analysis.lengths import SpanNeed, box, first_steps
from barfit.analysis.probes import Probe, Spans, all_spans, taut_batches
from barfit.analysis.refine import Top, highest
from barfit.analysis.spans import SpanCase
from barfit.analysis.sweep import LineSweep, SpanSweep, Sweep
from barfit.analysis.work import Cancel, Work
from barfit.catalogue import line_kinds
from barfit.mechanics.bows import bow, self_gap, turning
from barfit.mechanics.contact import places
from barfit.mechanics.outgrown import outgrown
from barfit.mechanics.rod import Rods, State, curvature
from barfit.mechanics.start import let_out

TICKS = 3  # of progress that `windows` makes
_POSES = 9  # turn angles at which the longest length is first sought, lock to lock
_ROUNDS = 2
_BOWS = 3.0  # times the bow that a line may have is as much as it is let out beyond its need
_LOOP = 2.0 * math.pi  # rad of turning beyond the taut path's: one whole loop
_CLEAR = 2.0  # mm that should stay between a line and itself
_TOUCH = 0.5  # mm: nearer than this to the machine it as good as touches
_NEAR = 20.0  # mm: what is further away is not looked at


class Limit(StrEnum):
    """What a line longer than its longest sensible length would do."""

    BOW = "bow"
    LOOP = "loop"
    ITSELF = "touch itself"
    TOUCH = "touch"
    BEND = "bend"
    NONE = ""


@dataclass(frozen=True)
class SpanLongest:
    """The longest sensible length of a span, mm, and what limits it at which pose (rad, mm):
    touching the ``part`` of the machine, or else.

    ``length`` is inf where nothing limits it within reason, nan where it is not known.
    """

    length: float
    limit: Limit
    turn: float
    travel: float
    part: str = ""


@dataclass(frozen=True)
class Window:
    """Which lengths of a line are sensible, mm: ``needed`` to ``longest``.

    ``needed`` is nan where no length helps. ``longest`` is limited by what the line would do at
    ``turn`` (rad) and ``travel`` (mm), between the stations ``between``: bow more than ``max_bow``
    mm from its taut path, loop, touch itself, touch the ``part`` of the machine, or bend tighter
    than it may; inf where nothing limits it, nan where it is not known. ``touch_judged`` tells
    whether touching the machine was looked at. ``blame`` says where no length helps.
    """

    needed: float
    longest: float
    limit: Limit
    turn: float
    travel: float
    between: tuple[str, str]
    max_bow: float
    touch_judged: bool
    part: str = ""
    blame: Blame | None = None

    @property
    def empty(self) -> bool:
        """Whether no length is sensible."""
        return math.isnan(self.needed) or self.longest < self.needed


def span_longest(
    sweep: Sweep,
    needs: dict[str, list[SpanNeed]],
    work: Work | None = None,
    only: Collection[str] | None = None,
) -> dict[str, list[SpanLongest]]:
    """The longest sensible length of every span, by line name, to 1 mm; the pose that limits it
    is refined between those of the sweep. With ``work`` it makes `TICKS` ticks. That of lines not
    in ``only`` is not looked for and stays inf; None looks for all.

    Touching the machine counts in a sweep with contact, and only where the line is clear of it at
    the length it needs: what it touches even then is not for want of a shorter one. Bends count
    beyond the length that it needs and the slack it should keep: a span let out may bow into a
    tighter bend than it had (`barfit.analysis.bent`).
    """
    spans = all_spans(sweep)
    flat = [need for line in sweep.lines for need in needs[line.name]]
    judged = [
        k
        for k, (line, span) in enumerate(spans)
        if (only is None or line.name in only)
        and (span.case.least > 0.0 or all(other.case.least == 0.0 for other in line.spans))
    ]
    limits: dict[Probe, tuple[Limit, str]] = {}
    tight: set[int] = set()

    def shortness(probes: list[Probe]) -> np.ndarray:
        lengths, why, bent = _lengths(sweep, spans, flat, probes)
        tight.update(bent)
        limits.update(zip(probes, why, strict=True))
        return -lengths

    probes = [
        Probe(k, turn, travel)
        for k in judged
        for turn, travel in _poses(sweep, spans[k][0], spans[k][1].taut_length)
    ]
    first = shortness(probes)
    _tick(work)
    tops = []
    for k in judged:
        mine = [n for n, probe in enumerate(probes) if probe.span == k]
        unknown = [n for n in mine if math.isnan(first[n])]
        best = unknown[0] if unknown else max(mine, key=lambda n: first[n])
        probe = probes[best]
        tops.append(Top(k, float(first[best]), probe.turn, probe.travel))
    known = [top for top in tops if math.isfinite(top.value)]
    refined = highest(
        shortness,
        known,
        [box(sweep, spans[top.span][0]) for top in known],
        [_steps(sweep, *spans[top.span]) for top in known],
        _ROUNDS,
    )
    _tick(work)
    best_of = {top.span: top for top in (*tops, *refined)}
    out: dict[str, list[SpanLongest]] = {line.name: [] for line in sweep.lines}
    for k, (line, _) in enumerate(spans):
        top = best_of.get(k)
        if top is None:
            out[line.name].append(SpanLongest(math.inf, Limit.NONE, 0.0, 0.0))
            continue
        limit, part = limits[Probe(k, top.turn, top.travel)]
        out[line.name].append(SpanLongest(-top.value, limit, top.turn, top.travel, part))
    at = [(line.name, n) for line in sweep.lines for n in range(len(line.spans))]
    suspects = [k for k in sorted(tight) if not math.isnan(flat[k].least)]
    cancelled = work.cancelled if work else None
    tighter = _bent(sweep, spans, flat, suspects, out, at, cancelled)
    for k, bent in zip(suspects, tighter, strict=True):
        name, n = at[k]
        if bent.length < out[name][n].length:
            out[name][n] = bent
    _tick(work)
    return out


def _bent(
    sweep: Sweep,
    spans: Spans,
    needs: Sequence[SpanNeed],
    suspects: Sequence[int],
    longest: dict[str, list[SpanLongest]],
    at: Sequence[tuple[str, int]],
    cancelled: Cancel | None,
) -> list[SpanLongest]:
    """The lengths from which on spans bend too tightly, looked for up to what limits them else."""
    cases = [spans[k][1].case for k in suspects]
    least = [needs[k].least + case.least for k, case in zip(suspects, cases, strict=True)]
    most = [
        min(longest[name][n].length, begin + _BOWS * line_kinds()[case.line.kind].max_bow)
        for (name, n), begin, case in zip((at[k] for k in suspects), least, cases, strict=True)
    ]
    return [
        SpanLongest(length, Limit.BEND, turn, travel)
        for length, turn, travel in bent_at(sweep, cases, least, most, cancelled)
    ]


def _poses(sweep: Sweep, line: LineSweep, taut: np.ndarray) -> list[tuple[float, float]]:
    """Where the longest length of a span is first sought: some turns at all travels, and the
    loosest pose."""
    feels_turn, feels_travel = (step > 0.0 for step in first_steps(sweep, line, taut))
    known = np.where(np.isfinite(taut), taut, np.inf)
    turn = int(known.min(0).argmin())
    some = np.unique(np.linspace(0, len(sweep.angles) - 1, _POSES).astype(int))
    middle = int(np.flatnonzero(sweep.angles == 0.0)[0])
    turns = sorted({*map(int, some), turn}) if feels_turn else [middle]
    rows = range(len(line.travels)) if feels_travel else [int(np.argmin(np.abs(line.travels)))]
    return [(float(sweep.angles[k]), float(line.travels[row])) for row in rows for k in turns]


def _steps(sweep: Sweep, line: LineSweep, span: SpanSweep) -> tuple[float, float]:
    turn, travel = first_steps(sweep, line, span.taut_length)
    coarse = float(sweep.angles[-1] - sweep.angles[0]) / (_POSES - 1)
    return (0.5 * coarse if turn else 0.0), travel


def _lengths(
    sweep: Sweep, spans: Spans, needs: Sequence[SpanNeed], probes: Sequence[Probe]
) -> tuple[np.ndarray, list[tuple[Limit, str]], set[int]]:
    """The longest sensible lengths (P,) mm at the probes, what limits them: with the part of
    the machine where that is touching it; and the spans that on the way may bend too tightly."""
    out = np.full(len(probes), np.nan)
    limits = [(Limit.NONE, "")] * len(probes)
    bent: set[int] = set()
    for found in taut_batches(sweep, spans, probes):
        good = np.flatnonzero(found.converged)
        if not len(good):
            continue
        rods, state = found.rods.take(good), found.state.take(good)
        least = np.array([needs[probes[row].span].least for row in found.rows[good]])
        rule = _Rule([found.cases[k] for k in good], rods, state, least)
        lengths, shapes = outgrown(rods, state, rule.over, rule.cap)
        error = found.length[good] - found.state.length[good]
        out[found.rows[good]] = lengths + error
        terms = rule.terms(rods, shapes, np.arange(len(good)))
        for k, row in enumerate(found.rows[good]):
            if math.isfinite(lengths[k]):
                limit = _LIMITS[int(terms[:, k].argmax())]
                limits[row] = limit, rule.part(rods, shapes, k) if limit is Limit.TOUCH else ""
        bent |= {probes[row].span for row in found.rows[good[rule.bent]]}
    return out, limits, bent


_LIMITS = (Limit.BOW, Limit.LOOP, Limit.ITSELF, Limit.TOUCH)  # `Limit.BEND` is found apart


class _Rule:
    """What rods of one batch must not do when they are let out."""

    def __init__(self, cases: list[SpanCase], rods: Rods, taut: State, least: np.ndarray) -> None:
        self.cases, self.taut = cases, taut
        self.max_bow = np.array([line_kinds()[case.line.kind].max_bow for case in cases])
        self.reach = np.array([case.line.diameter + _CLEAR for case in cases])
        self.apart = np.pi * np.array([case.min_radius for case in cases])
        self.turned = turning(taut.nodes)
        self.needed = np.where(np.isfinite(least), np.fmax(least, taut.length), taut.length)
        self.cap = self.needed + _BOWS * self.max_bow
        self.begins = self.needed + np.array([case.least for case in cases])
        self.sharpest = 1.0 / np.array([case.min_radius for case in cases])
        self.bent = np.zeros(len(cases), bool)  # beyond where its lengths begin, in some shape
        self.clear = np.zeros(len(cases), bool)  # of the machine, at the needed length
        if len(rods.solids.kind):
            needed = taut.copy()
            good = let_out(rods, needed, self.needed).converged
            self.clear = good & (self._gaps(rods, needed) > _TOUCH)

    def terms(self, rods: Rods, state: State, rows: np.ndarray) -> np.ndarray:
        """By which share of its limit each rod breaks each rule (4, B); negative: it keeps it."""
        broken = np.full((4, len(rows)), -np.inf)
        broken[0] = bow(state.nodes, self.taut.nodes[rows]) / self.max_bow[rows] - 1.0
        broken[1] = (turning(state.nodes) - self.turned[rows]) / _LOOP - 1.0
        gap = self_gap(state.nodes, state.edge, self.apart[rows])
        broken[2] = 1.0 - gap / self.reach[rows]
        longer = np.flatnonzero(self.clear[rows] & (state.length > self.needed[rows]))
        if len(longer):
            gap = self._gaps(rods.take(longer), state.take(longer))
            broken[3, longer] = (_TOUCH - gap) / self.reach[rows[longer]]
        return broken

    def part(self, rods: Rods, state: State, row: int) -> str:
        """The part of the machine that does harm and that a rod is nearest to."""
        around, found = self.cases[row].around, places(rods, state, row, _NEAR)
        assert around is not None
        gap = np.where(around.harmful[found.solid], found.gap, np.inf)
        return around.names[around.part[found.solid[int(gap.argmin())]]]

    def _gaps(self, rods: Rods, state: State) -> np.ndarray:
        """How far (B,) mm each rod is from touching what does harm, as far as that is of interest.

        Leaning on the rest of the machine is common practice and judged where it rubs.
        """
        around = self.cases[0].around
        assert around is not None
        out = np.full(rods.size, _NEAR)
        for row in range(rods.size):
            found = places(rods, state, row, _NEAR)
            out[row] = found.gap[around.harmful[found.solid]].min(initial=_NEAR)
        return out

    def over(self, rods: Rods, state: State, rows: np.ndarray) -> np.ndarray:
        """By how much each rod breaks the rule it breaks most; notes those that bend tightly."""
        sharp = curvature(rods, state).max(1) > self.sharpest[rows]
        self.bent[rows[sharp & (state.length > self.begins[rows])]] = True
        worst: np.ndarray = self.terms(rods, state, rows).max(0)
        return worst


def window(
    line: LineSweep,
    needs: Sequence[SpanNeed],
    longest: Sequence[SpanLongest],
    needed: float,
    blame: Blame | None,
) -> Window:
    """The window of a line from what its spans need and take; ``needed`` is that of the whole line.

    A line with clips may be longer than needed by what the span with least room takes.
    """
    rooms = np.array(
        [
            most.length - need.least - span.case.least
            for span, need, most in zip(line.spans, needs, longest, strict=True)
        ]
    )
    k = int(np.where(np.isnan(rooms), np.inf, rooms).argmin())
    case, most = line.spans[k].case, longest[k]
    return Window(
        needed=needed,
        longest=needed + (math.nan if np.isnan(rooms).any() else float(rooms[k])),
        limit=most.limit,
        turn=most.turn,
        travel=most.travel,
        between=(case.layout.names[case.first], case.layout.names[case.last]),
        max_bow=line_kinds()[case.line.kind].max_bow,
        touch_judged=case.around is not None,
        part=most.part,
        blame=blame,
    )


def overlong(line: LineSweep, longest: Sequence[SpanLongest]) -> float:
    """How much too long the worst span of a line is, mm; negative: what it could be longer; nan
    where that is not known.
    """
    over = [span.case.length - most.length for span, most in zip(line.spans, longest, strict=True)]
    return float(np.max(over))  # max() would drop a nan


def _tick(work: Work | None) -> None:
    if work is not None:
        work.tick()
