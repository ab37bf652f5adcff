"""How long a line must be: taut and bend-limited lengths over the whole sweep."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.analysis.spans import batch, held
from barfit.analysis.sweep import LineSweep, SpanSweep, Sweep
from barfit.analysis.work import Work
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.taut import bend_limited

_COARSE = 5  # bend-limited lengths are first found at every fifth turn angle
_LONGEST = 1.35  # times the taut length (and 60 mm): a longer line is no answer to a tight bend


@dataclass(frozen=True)
class SpanNeed:
    """What one span needs over the sweep, mm: its taut length at ``turn`` and ``travel`` (rad,
    mm) where that is greatest, and the length at which no radius is too small anywhere (0: the
    bend never decides; nan: no length helps) with the turn and travel where that is decided.
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
    """What every span needs, by line name. Spans with a pose that did not converge give nan."""
    spans = [(line, span) for line in sweep.lines for span in line.spans]
    bends = _bend_lengths(sweep, spans, work)
    needs: dict[str, list[SpanNeed]] = {line.name: [] for line in sweep.lines}
    for (line, span), bend in zip(spans, bends, strict=True):
        at, turn = np.unravel_index(_greatest(span.taut_length), span.taut_length.shape)
        bend_at, bend_turn = np.unravel_index(_greatest(bend), bend.shape)
        # nan wins: a pose where no length helps decides for the whole sweep
        stuck = np.argwhere(np.isnan(bend))
        if len(stuck):
            bend_at, bend_turn = stuck[0]
        needs[line.name].append(
            SpanNeed(
                taut=float(span.taut_length[at, turn]),
                turn=float(sweep.angles[turn]),
                travel=float(line.travels[at]),
                bend=float(bend[bend_at, bend_turn]),
                bend_turn=float(sweep.angles[bend_turn]),
                bend_travel=float(line.travels[bend_at]),
            )
        )
    return needs


def _greatest(values: np.ndarray) -> int:
    return int(np.where(np.isnan(values), -np.inf, values).argmax())


def _bend_lengths(
    sweep: Sweep, spans: list[tuple[LineSweep, SpanSweep]], work: Work | None
) -> list[np.ndarray]:
    """Bend-limited length (T, A) of each span: at a coarse set of poses, then round the worst.

    Poses that were not looked at hold 0, so that they never decide.
    """
    turns = len(sweep.angles)
    coarse = np.unique(np.append(np.arange(0, turns, _COARSE), turns - 1))
    found = [np.zeros(span.slack.shape) for _, span in spans]
    wanted = [
        [(at, int(turn)) for at in range(len(line.travels)) for turn in coarse] for line, _ in spans
    ]
    _solve_at(sweep, spans, wanted, found, work)
    near: list[list[tuple[int, int]]] = []
    for bend, seen in zip(found, wanted, strict=True):
        if np.isnan(bend).any() or bend.max() == 0.0:
            near.append([])
            continue
        at, turn = (int(k) for k in np.unravel_index(bend.argmax(), bend.shape))
        low, high = max(turn - _COARSE + 1, 0), min(turn + _COARSE, turns)
        near.append([(at, k) for k in range(low, high) if (at, k) not in seen])
    _solve_at(sweep, spans, near, found, work)
    return found


def _solve_at(
    sweep: Sweep,
    spans: list[tuple[LineSweep, SpanSweep]],
    wanted: list[list[tuple[int, int]]],
    found: list[np.ndarray],
    work: Work | None,
) -> None:
    """Fill in bend-limited lengths at the wanted poses, spans of one node count together."""
    for count in sorted({span.case.nodes for _, span in spans}):
        rows = [
            (k, pose)
            for k, (_, span) in enumerate(spans)
            if span.case.nodes == count
            for pose in wanted[k]
        ]
        if work is not None:
            work.tick()
        good = [row for row in rows if np.isfinite(spans[row[0]][1].taut_edge[row[1]])]
        for k, pose in set(rows) - set(good):
            found[k][pose] = np.nan
        if not good:
            continue
        rods, state = _taut_batch(sweep, spans, good)
        radius = np.array([spans[k][1].case.min_radius for k, _ in good])
        longest = _LONGEST * state.length + 60.0
        lengths = bend_limited(rods, state, radius, longest)
        for (k, pose), length in zip(good, lengths, strict=True):
            found[k][pose] = length


def _taut_batch(
    sweep: Sweep, spans: list[tuple[LineSweep, SpanSweep]], rows: list[tuple[int, tuple[int, int]]]
) -> tuple[Rods, State]:
    """The taut rods of (span, pose) pairs as one batch."""
    cases, holds = [], []
    for k, (at, turn) in rows:
        line, span = spans[k]
        cases.append(span.case)
        where = np.array([sweep.angles[turn]]), np.array([line.travels[at]])
        holds.append(held(sweep.setup, span.case, *where))
    rods, _ = batch(cases, holds)
    guides = np.zeros(rods.guide_stiffness.shape)
    pulls = np.zeros(rods.guides.shape)
    for row, (k, pose) in enumerate(rows):
        mine = spans[k][1]
        count = len(mine.case.guides)
        guides[row, :count] = mine.taut_guides[pose]
        pulls[row, :count] = mine.taut_pulls[pose]
    state = State(
        np.stack([spans[k][1].taut_nodes[pose] for k, pose in rows]),
        np.stack([spans[k][1].taut_tensions[pose] for k, pose in rows]),
        np.array([spans[k][1].taut_edge[pose] for k, pose in rows]),
        guides,
        pulls,
    )
    return rods, state
