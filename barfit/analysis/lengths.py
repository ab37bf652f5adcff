"""How long a line must be: taut and bend-limited lengths over the whole sweep."""

from __future__ import annotations

import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from barfit.analysis.probes import Probe, Spans, all_spans, taut_batches, taut_lengths
from barfit.analysis.refine import Box, Top, highest, starts
from barfit.analysis.sweep import LineSweep, Sweep
from barfit.analysis.work import Work
from barfit.mechanics.taut import bend_limited

TICKS = 3  # of progress that `span_needs` makes
_COARSE = math.radians(8.0)  # between the turn angles at which bends are looked at first
LONGEST = 1.35  # times the taut length (and 60 mm): a longer line is no answer to a tight bend
_NEAR = 10.0  # mm: the coarse poses find a bend-limited length at least as well as that
_FELT = 0.05  # mm: what changes by less over the whole sweep is only its weight hanging otherwise
_BEND_ROUNDS = 5
_BEND_GAIN = 0.2  # mm


@dataclass(frozen=True)
class SpanNeed:
    """What one span needs over the sweep, mm: its taut length at ``turn`` and ``travel`` (rad,
    mm) where that is greatest, and the length at which no radius is too small anywhere (0: the
    bend never decides; nan: no length helps, or it is not ``known``) with the turn and travel where
    that is decided.
    Both are refined between the poses of the sweep, in turn and travel; the bend only where it
    comes near to deciding.
    """

    taut: float
    turn: float
    travel: float
    bend: float
    bend_turn: float
    bend_travel: float
    known: bool = True

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
            SpanNeed(
                taut.value,
                taut.turn,
                taut.travel,
                bend.value if math.isfinite(bend.value) else math.nan,
                bend.turn,
                bend.travel,
                known=not math.isnan(bend.value),
            )
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
    mine = [spans[top.span] for top in begin]
    tops = highest(
        lambda probes: taut_lengths(sweep, spans, probes),
        begin,
        [box(sweep, line) for line, _ in mine],
        [first_steps(sweep, line, span.taut_length) for line, span in mine],
    )
    return [_best(k, tops) for k in range(len(spans))]


def _best(span: int, tops: Sequence[Top]) -> Top:
    mine = [top for top in tops if top.span == span]
    return max(mine, key=lambda top: top.value, default=Top(span, np.nan, 0.0, 0.0))


def _bend_tops(sweep: Sweep, spans: Spans, tauts: list[Top], work: Work | None) -> list[Top]:
    """The greatest bend-limited length of each span: at a coarse set of poses, then round the
    worst of them, between the poses of the sweep.

    One that stays well under the greatest taut length decides nothing and is left coarse. A pose
    where no length helps (inf) decides for the whole sweep, and so does one of the coarse ones that
    is not known; between poses that are, one that is not is passed over.
    """
    worst = [Top(k, 0.0, 0.0, 0.0) for k in range(len(spans))]
    refining = False

    def value(probes: list[Probe]) -> np.ndarray:
        found = bend_lengths(sweep, spans, probes)
        for probe, length in zip(probes, found, strict=True):
            if refining and math.isnan(length):
                continue
            top = Top(probe.span, float(length), probe.turn, probe.travel)
            worst[probe.span] = max(worst[probe.span], top, key=_worse)
        return found

    turns = _coarse(sweep.angles)
    value(
        [
            Probe(k, float(turn), float(travel))
            for k, (line, _) in enumerate(spans)
            for travel in line.travels
            for turn in turns
        ]
    )
    _tick(work)
    refining = True
    begin = [
        top
        for top, taut in zip(worst, tauts, strict=True)
        if math.isfinite(top.value) and top.value > max(taut.value - _NEAR, 0.0)
    ]
    lines = [spans[top.span][0] for top in begin]
    steps = [
        first_steps(sweep, line, spans[top.span][1].taut_length)
        for line, top in zip(lines, begin, strict=True)
    ]
    highest(
        value,
        begin,
        [box(sweep, line) for line in lines],
        [(0.5 * float(np.diff(turns).max()) if turn else 0.0, travel) for turn, travel in steps],
        _BEND_ROUNDS,
        _BEND_GAIN,
    )
    _tick(work)
    return worst


def _coarse(angles: np.ndarray) -> np.ndarray:
    """Some of the turn angles, both locks among them, about `_COARSE` apart."""
    count = 1 + math.ceil((angles[-1] - angles[0]) / _COARSE)
    picked = np.linspace(0, len(angles) - 1, min(count, len(angles))).round().astype(int)
    some: np.ndarray = angles[picked]
    return some


def _worse(top: Top) -> float:
    """How bad a bend-limited length is; one that is not known is worse than any that is."""
    return sys.float_info.max if math.isnan(top.value) else top.value


def bend_lengths(sweep: Sweep, spans: Spans, probes: Sequence[Probe]) -> np.ndarray:
    """Bend-limited lengths (P,) mm; 0 where the bend does not decide, inf where no length helps,
    nan where a rest shape was not found.
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
