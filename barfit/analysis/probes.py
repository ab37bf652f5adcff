"""Spans solved at poses between those of the sweep: any turn angle, any suspension position."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis.drawn import drawn_states
from barfit.analysis.spans import Held, SpanCase, batch, held
from barfit.analysis.sweep import LineSweep, SpanSweep, Sweep
from barfit.analysis.tables import PULL, STIFF
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.track import follow

_TURN_STEP = np.radians(2.5)  # a longer way from the nearest pose of the sweep is gone in steps
_TRAVEL_STEP = 15.0  # mm

Spans = Sequence[tuple[LineSweep, SpanSweep]]


@dataclass(frozen=True)
class Probe:
    """A span, by its place in a list of them, at a turn angle (rad) and travel (mm)."""

    span: int
    turn: float
    travel: float


@dataclass(frozen=True, eq=False)
class TautBatch:
    """Taut rods of one node count.

    ``rows`` (B,) says which of the probes asked for they are; ``rods`` are held as those poses
    hold them; ``length`` (B,) mm is free of the mesh's error, nan where ``converged`` is False.
    """

    rows: np.ndarray
    cases: list[SpanCase]
    rods: Rods
    state: State
    converged: np.ndarray
    length: np.ndarray


def all_spans(sweep: Sweep) -> list[tuple[LineSweep, SpanSweep]]:
    """Every span of a sweep beside its line, in order."""
    return [(line, span) for line in sweep.lines for span in line.spans]


def taut_lengths(sweep: Sweep, spans: Spans, probes: Sequence[Probe]) -> np.ndarray:
    """Taut lengths (P,) mm at the probes; nan where no shape was found."""
    out = np.full(len(probes), np.nan)
    for found in taut_batches(sweep, spans, probes):
        out[found.rows] = found.length
    return out


def taut_batches(sweep: Sweep, spans: Spans, probes: Sequence[Probe]) -> Iterator[TautBatch]:
    """The taut rods of the probes, spans of one node count together.

    Each is followed from the nearest pose of the sweep that was solved; a span of which none was
    is left out.
    """
    counts = [spans[probe.span][1].case.nodes for probe in probes]
    for count in sorted(set(counts)):
        rows = [k for k, nodes in enumerate(counts) if nodes == count]
        near = [_nearest(sweep, *spans[probes[k].span], probes[k]) for k in rows]
        rows = [k for k, pose in zip(rows, near, strict=True) if pose is not None]
        if rows:
            poses = [pose for pose in near if pose is not None]
            yield _followed(sweep, spans, [probes[k] for k in rows], poses, np.array(rows))


def _nearest(
    sweep: Sweep, line: LineSweep, span: SpanSweep, probe: Probe
) -> tuple[int, int] | None:
    """The pose (travel, turn) of the sweep to start from; None where none was solved."""
    away = (
        np.abs(line.travels - probe.travel)[:, None] / _TRAVEL_STEP
        + np.abs(sweep.angles - probe.turn)[None, :] / _TURN_STEP
    )
    away = np.where(np.isfinite(span.taut_length), away, np.inf)
    at, turn = np.unravel_index(away.argmin(), away.shape)
    return (int(at), int(turn)) if np.isfinite(away[at, turn]) else None


def _followed(
    sweep: Sweep,
    spans: Spans,
    probes: list[Probe],
    near: list[tuple[int, int]],
    rows: np.ndarray,
) -> TautBatch:
    mine = [spans[probe.span] for probe in probes]
    cases = [span.case for _, span in mine]
    there = np.array([(probe.turn, probe.travel) for probe in probes])
    here = np.array(
        [
            (sweep.angles[turn], line.travels[at])
            for (line, _), (at, turn) in zip(mine, near, strict=True)
        ]
    )
    far = np.abs(there - here) / (_TURN_STEP, _TRAVEL_STEP)
    steps = max(1, int(np.ceil(far.max())))
    shares = np.linspace(0.0, 1.0, steps + 1)
    ways = here[:, None] + shares[None, :, None] * (there - here)[:, None]
    rods, moving = batch(cases, _held(sweep, spans, probes, ways))
    spots = [(span, pose) for (_, span), pose in zip(mine, near, strict=True)]
    start = drawn_states(spots, rods.guides.shape[1])
    stiff = replace(rods, ea=np.full(rods.size, STIFF))
    pull = np.full(rods.size, PULL)
    good = np.ones(rods.size, bool)
    state = start
    for _, now, outcome in follow(stiff, moving, list(range(1, steps + 1)), start, pull):
        state = now
        good &= outcome.converged
    edges = state.tensions.shape[1]
    error = np.array(
        [
            span.taut_length[pose] - span.taut_edge[pose] * edges
            for (_, span), pose in zip(mine, near, strict=True)
        ]
    )
    return TautBatch(
        rows=rows,
        cases=cases,
        rods=moving.at(rods, steps),
        state=state,
        converged=good,
        length=np.where(good, state.length + error, np.nan),
    )


def _held(sweep: Sweep, spans: Spans, probes: list[Probe], ways: np.ndarray) -> list[Held]:
    """How each probe's span is held along its way (P, steps, 2) in turn and travel: all probes of
    a span at once, for the moving of bodies costs little more for many poses than for one."""
    holds: list[Held] = [()] * len(probes)
    for number in {probe.span for probe in probes}:
        mine = [k for k, probe in enumerate(probes) if probe.span == number]
        turns, travels = ways[mine].reshape(-1, 2).T
        together = held(sweep.setup, spans[number][1].case, turns, travels)
        parts = [value.reshape(len(mine), ways.shape[1], *value.shape[1:]) for value in together]
        for row, k in enumerate(mine):
            holds[k] = tuple(part[row] for part in parts)
    return holds
