"""How long a line must be: taut and bend-limited lengths over the whole sweep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from barfit.analysis.probes import Probe, Spans, all_spans, taut_batches, taut_lengths
from barfit.analysis.refine import ROUNDS, Box, Top, Values, highest, starts
from barfit.analysis.sweep import LineSweep, Sweep
from barfit.analysis.work import Work
from barfit.mechanics.taut import bend_limited

TICKS = 4  # of progress that `span_needs` makes
_COARSE = 5  # bend-limited lengths are first found at every fifth turn angle
LONGEST = 1.35  # times the taut length (and 60 mm): a longer line is no answer to a tight bend
_NEAR = 10.0  # mm: the coarse poses find a bend-limited length at least as well as that
_FELT = 0.05  # mm: what changes by less over the whole sweep is only its weight hanging otherwise
_BEND_ROUNDS = 3


@dataclass(frozen=True)
class SpanNeed:
    """What one span needs over the sweep, mm: its taut length at ``turn`` and ``travel`` (rad,
    mm) where that is greatest, and the length at which no radius is too small anywhere (0: the
    bend never decides; nan: no length helps) with the turn and travel where that is decided.
    Both are refined between the poses of the sweep, in turn and travel; the bend only where it
    comes near to deciding.
    """

    taut: float
    turn: float
    travel: float
    bend: float
    bend_turn: float
    bend_travel: float

    @property
    def least(self) -> float:
        """The larger of the two, mm; nan where no length helps."""
        return float(np.maximum(self.taut, self.bend))  # max() would drop a nan


def span_needs(sweep: Sweep, work: Work | None = None) -> dict[str, list[SpanNeed]]:
    """What every span needs, by line name; nan for a span of which no pose was solved.

    With ``work`` it makes `TICKS` ticks.
    """
    spans = all_spans(sweep)
    tauts = _taut_tops(sweep, spans)
    _tick(work)
    bends = _bend_tops(sweep, spans, tauts, work)
    needs: dict[str, list[SpanNeed]] = {line.name: [] for line in sweep.lines}
    for (line, _), taut, bend in zip(spans, tauts, bends, strict=True):
        needs[line.name].append(
            SpanNeed(taut.value, taut.turn, taut.travel, bend.value, bend.turn, bend.travel)
        )
    return needs


def box(sweep: Sweep, line: LineSweep) -> Box:
    """All poses of a line: lock to lock, extended to compressed."""
    return Box(
        (float(sweep.angles[0]), float(sweep.angles[-1])),
        (float(line.travels[0]), float(line.travels[-1])),
    )


def first_steps(sweep: Sweep, line: LineSweep, values: np.ndarray) -> tuple[float, float]:
    """The steps to refine a table (T, A) with: one between turns, half of one between travels;
    none along an axis that the values do not feel.
    """
    feels = [np.nanmax(np.ptp(values, axis=axis), initial=0.0) > _FELT for axis in (1, 0)]
    turn = float(np.diff(sweep.angles).max()) if feels[0] else 0.0
    travel = 0.5 * float(np.diff(line.travels).min()) if feels[1] else 0.0
    return turn, travel


def _taut_tops(sweep: Sweep, spans: Spans) -> list[Top]:
    """The greatest taut length of each span."""
    begin = [
        top
        for k, (line, span) in enumerate(spans)
        for top in starts(k, span.taut_length, sweep.angles, line.travels)
    ]
    tops = _climbed(sweep, spans, begin, lambda probes: taut_lengths(sweep, spans, probes))
    return [_best(k, tops) for k in range(len(spans))]


def _climbed(
    sweep: Sweep, spans: Spans, begin: list[Top], value: Values, rounds: int = ROUNDS
) -> list[Top]:
    mine = [spans[top.span] for top in begin]
    boxes = [box(sweep, line) for line, _ in mine]
    steps = [first_steps(sweep, line, span.taut_length) for line, span in mine]
    return highest(value, begin, boxes, steps, rounds)


def _best(span: int, tops: Sequence[Top]) -> Top:
    mine = [top for top in tops if top.span == span]
    return max(mine, key=lambda top: top.value, default=Top(span, np.nan, 0.0, 0.0))


def _bend_tops(sweep: Sweep, spans: Spans, tauts: list[Top], work: Work | None) -> list[Top]:
    """The greatest bend-limited length of each span: at a coarse set of poses, then at every
    angle round the worst, then between them.

    One that stays well under the greatest taut length decides nothing and is left coarse. A pose
    where no length helps (nan) decides for the whole sweep.
    """
    deciding = [max(top.value - _NEAR, 0.0) for top in tauts]
    turns = len(sweep.angles)
    coarse = np.unique(np.append(np.arange(0, turns, _COARSE), turns - 1))
    probes = [
        Probe(k, float(sweep.angles[turn]), float(travel))
        for k, (line, _) in enumerate(spans)
        for travel in line.travels
        for turn in coarse
    ]
    tops = _worst_bends(len(spans), probes, bend_lengths(sweep, spans, probes))
    _tick(work)
    near = []
    for top in tops:
        if top.value > deciding[top.span]:
            turn = int(np.argmin(np.abs(sweep.angles - top.turn)))
            beside = range(max(turn - _COARSE + 1, 0), min(turn + _COARSE, turns))
            near += [
                Probe(top.span, float(sweep.angles[k]), top.travel) for k in beside if k != turn
            ]
    close = _worst_bends(len(spans), near, bend_lengths(sweep, spans, near))
    tops = [max(pair, key=_worse) for pair in zip(tops, close, strict=True)]
    _tick(work)
    begin = [top for top in tops if top.value > deciding[top.span]]
    refined = _climbed(
        sweep,
        spans,
        begin,
        lambda probes: bend_lengths(sweep, spans, probes),
        rounds=_BEND_ROUNDS,
    )
    _tick(work)
    return [max((top, *(r for r in refined if r.span == top.span)), key=_worse) for top in tops]


def _worse(top: Top) -> float:
    return np.inf if np.isnan(top.value) else top.value


def _worst_bends(count: int, probes: list[Probe], lengths: np.ndarray) -> list[Top]:
    """The worst of the probes of each span; 0 where it has none."""
    out = [Top(k, 0.0, 0.0, 0.0) for k in range(count)]
    for probe, length in zip(probes, lengths, strict=True):
        top = Top(probe.span, float(length), probe.turn, probe.travel)
        out[probe.span] = max(out[probe.span], top, key=_worse)
    return out


def bend_lengths(sweep: Sweep, spans: Spans, probes: Sequence[Probe]) -> np.ndarray:
    """Bend-limited lengths (P,) mm; 0 where the bend does not decide, nan where no length helps
    or no taut shape was found.
    """
    out = np.full(len(probes), np.nan)
    for found in taut_batches(sweep, spans, probes):
        good = np.flatnonzero(found.converged)
        if len(good):
            rods, state = found.rods.take(good), found.state.take(good)
            radius = np.array([found.cases[k].min_radius for k in good])
            longest = LONGEST * state.length + 60.0
            out[found.rows[good]] = bend_limited(rods, state, radius, longest)
    return out


def _tick(work: Work | None) -> None:
    if work is not None:
        work.tick()
