"""Solving the spans of one node count over all their poses, as one batch of rods."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from barfit.analysis.drawn import Drawn, Lent, beside, mesh_error
from barfit.analysis.spans import SpanCase, batch, held, line_travels, riding_frames
from barfit.analysis.table import (
    Row,
    Table,
    empty_table,
    note_settled,
    note_taut,
    note_tips,
)
from barfit.analysis.work import Cancel, Progress, Work
from barfit.mechanics.newton import Outcome
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.start import let_out, pulled
from barfit.mechanics.track import Holds, follow
from barfit.mechanics.twist import across, carried_frame, wind
from barfit.model import Setup

PULL = 20.0  # N, at which a line counts as taut
STIFF = 1e6  # N: a line counts as taut at the length it has, not at what a pull stretches it to
_JAM = 60.0  # N: a line that is long enough is not pressed so hard unless it is caught
BACK_STEP = 3  # every third pose is tried again on the way back from a lock
SAME_SHAPE = 2.0  # mm: further apart than this, the way back is another shape


def sweep_all(
    setup: Setup,
    cases: list[SpanCase],
    angles: np.ndarray,
    settle: bool = True,
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
    both_ways: bool = True,
    lent: Lent | None = None,
) -> list[Table]:
    """Sweep spans of any node counts, in their order; those of one count go through the solver
    together (`sweep_group`). How they lie drawn taut may be ``lent``. Raises Cancelled once
    ``cancelled()`` is true.
    """
    known = [lent.taut(case, angles) if lent is not None else None for case in cases]
    groups: dict[tuple[int, bool], list[int]] = {}
    for index, case in enumerate(cases):
        groups.setdefault((case.nodes, known[index] is not None), []).append(index)
    work = Work(len(groups), progress, cancelled)
    tables: dict[int, Table] = {}
    for members in groups.values():
        mine = [cases[i] for i in members]
        drawn = [one for i in members if (one := known[i]) is not None]
        found = sweep_group(setup, mine, angles, work, settle, both_ways, drawn, lent)
        tables |= dict(zip(members, found, strict=True))
    return [tables[i] for i in range(len(cases))]


def sweep_group(
    setup: Setup,
    cases: list[SpanCase],
    angles: np.ndarray,
    work: Work,
    settle: bool = True,
    both_ways: bool = True,
    drawn: Sequence[Drawn] = (),
    lent: Lent | None = None,
) -> list[Table]:
    """Sweep the spans of one node count, both sides and all suspension positions at once.

    Unless they are to ``settle``, they lie drawn taut: enough to say what they need. Unless they
    are to be turned ``both_ways``, the way back from the locks is not tried. How they lie ``drawn``
    taut may be known of all of them, or how they do straight ahead be ``lent``.
    """
    middle = int(np.flatnonzero(angles == 0.0)[0])
    left = np.arange(middle, len(angles))
    right = np.arange(middle, -1, -1)
    poses = max(len(left), len(right))
    sides = [np.pad(side, (0, poses - len(side)), mode="edge") for side in (left, right)]
    tables = [empty_table(case, line_travels(setup, case.layout), len(angles)) for case in cases]
    rows = [
        Row(table, at, side)
        for table in tables
        for at in range(len(table.travels))
        for side in sides
    ]
    holds = [
        held(
            setup,
            row.table.case,
            angles[row.turns],
            np.full(poses, row.table.travels[row.at_travel]),
        )
        for row in rows
    ]
    rods, moving = batch([row.table.case for row in rows], holds)
    for k, row in enumerate(rows):
        note_tips(row, moving, k)
    work.stage(2 * poses + (poses // BACK_STEP if both_ways else 0) + 2)
    if drawn:
        taut, taut_edges = _lent_taut(rods, rows, drawn)
    else:
        ahead = [lent.ahead(setup, case) if lent is not None else None for case in cases]
        taut, taut_edges = _sweep_taut(rods, moving, rows, poses, work, ahead)
    if settle:
        _sweep_settled(rods, moving, rows, taut, taut_edges, work, both_ways)
        return tables
    for table in tables:
        table.converged = np.isfinite(table.taut_edge)
        table.nodes, table.guides = table.taut_nodes, table.taut_guides
    return tables


def _sweep_taut(
    rods: Rods,
    moving: Holds,
    rows: list[Row],
    poses: int,
    work: Work,
    ahead: Sequence[State | None],
) -> tuple[State, np.ndarray]:
    """Fill in the taut tables; returns the taut state straight ahead and all edges (P, B).

    Where it is known of all how they lie straight ``ahead``, they begin so.
    """
    stiff = replace(rods, ea=np.full(rods.size, STIFF))
    pull = np.full(rods.size, PULL)
    nodes = rows[0].table.case.nodes
    # the two sides of a span start from the same pose: solve it once
    once = np.arange(0, rods.size, 2)
    known = [one for one in ahead if one is not None]
    if len(known) == len(ahead):
        half = beside(known, rods.guides.shape[1])
    else:
        half, _ = pulled(stiff.take(once), pull[once], nodes)
    for table in {id(row.table): row.table for row in rows}.values():
        table.ahead = half.take(np.array([row.table is table for row in rows[::2]]))
    first = half.take(np.repeat(np.arange(len(once)), 2))
    work.tick()
    samples = sorted({0, poses // 2, poses - 1})
    errors = np.zeros((len(samples), rods.size))
    edges = np.full((poses, rods.size), np.nan)
    order = list(range(poses))
    for pose, state, outcome in follow(stiff, moving, order, first, pull, before=work.tick):
        edges[pose] = np.where(outcome.converged, state.edge, np.nan)
        note_taut(rows, pose, state, edges[pose])
        if pose in samples:
            errors[samples.index(pose)] = mesh_error(moving.at(stiff, pose), state, pull)
    for k, row in enumerate(rows):
        along = np.interp(np.arange(poses), samples, errors[:, k])
        row.table.taut_error[row.at_travel, row.turns] = along
    return first, edges


def _lent_taut(rods: Rods, rows: list[Row], drawn: Sequence[Drawn]) -> tuple[State, np.ndarray]:
    """As `_sweep_taut`, for spans of which all is known."""
    tables = {id(row.table): row.table for row in rows}.values()
    for table, known in zip(tables, drawn, strict=True):
        table.taut_nodes, table.taut_tensions = known.taut_nodes, known.taut_tensions
        table.taut_guides, table.taut_pulls = known.taut_guides, known.taut_pulls
        table.taut_edge, table.ahead = known.taut_edge, known.ahead
        table.taut_error = known.taut_length - known.taut_edge * (table.case.nodes - 1)
    ahead = [one for known in drawn if (one := known.ahead) is not None]
    half = beside(ahead, rods.guides.shape[1])
    edges = [row.table.taut_edge[row.at_travel, row.turns] for row in rows]
    return half.take(np.arange(rods.size) // 2), np.stack(edges, 1)


def _sweep_settled(
    rods: Rods,
    moving: Holds,
    rows: list[Row],
    taut: State,
    taut_edges: np.ndarray,
    work: Work,
    both_ways: bool,
) -> None:
    """Fill in the settled tables: out to the locks, then, both ways, back at every few poses.

    A line that is too short for a pose is laid along its taut path there, as long as that is: how
    much it lacks is its slack, and stretching it by so much would only make up a shape.
    """
    poses = len(taut_edges)
    once = np.arange(0, rods.size, 2)
    half = taut.take(once)
    count = taut.tensions.shape[1]
    edge = np.fmax(np.array([row.table.case.length for row in rows]) / count, taut_edges)
    let_out(rods.take(once), half, count * edge[0, once])
    work.tick()
    first = half.take(np.repeat(np.arange(len(once)), 2))
    rods, moving = _fitted(rods, moving, rows, first)
    wind(rods, first)
    state = first
    order = list(range(poses))
    for pose, state, outcome in follow(rods, moving, order, first, edge=edge, before=work.tick):
        unjam(moving.at(rods, pose), rows, pose, state, outcome)
        note_settled(moving.at(rods, pose), rows, pose, state, outcome)
    if not both_ways:
        return
    back = list(range(poses - 1, -1, -BACK_STEP))
    last = moving.at(rods, poses - 1)
    there_state = state.copy()
    for pose, state, outcome in follow(
        last, moving, back, there_state, edge=edge, before=work.tick
    ):
        for k, row in enumerate(rows):
            there = row.turns[max(pose - BACK_STEP, 0) : pose + 1]
            out = row.table.nodes[row.at_travel, row.turns[pose]]
            apart = np.sqrt(((state.nodes[k] - out) ** 2).sum(1).max())
            if outcome.converged[k] and apart > SAME_SHAPE:
                row.table.same[row.at_travel, there] = False


def unjam(rods: Rods, rows: list[Row], pose: int, state: State, outcome: Outcome) -> None:
    """Second try, in place, for rods that were not found or are caught behind something.

    A rod can be at rest on the wrong side of a tube, pressed there by hundreds of newtons, where
    the one drawn taut goes by freely. So it is let out again from how it lies when taut.
    """
    # a line that is too short is laid along its taut path, and cannot be caught off it
    spare = np.array(
        [
            row.table.taut_edge[row.at_travel, row.turns[pose]] < edge
            for row, edge in zip(rows, state.edge, strict=True)
        ]
    )
    again = np.flatnonzero(~outcome.converged | (spare & (state.touch_force.max(1) > _JAM)))
    if not len(again):
        return
    some, loose = rods.take(again), state.take(again)
    for j, k in enumerate(again):
        table, here = rows[k].table, (rows[k].at_travel, rows[k].turns[pose])
        guides = table.taut_guides.shape[-1]
        loose.nodes[j], loose.tensions[j] = table.taut_nodes[here], table.taut_tensions[here]
        loose.edge[j] = table.taut_edge[here]
        loose.guide_at[j, :guides] = table.taut_guides[here]
        loose.guide_pull[j, :guides] = table.taut_pulls[here]
    loose.touch_force[:] = 0.0
    known = np.flatnonzero(np.isfinite(loose.edge))
    if not len(known):
        return
    again, some, loose = again[known], some.take(known), loose.take(known)
    found = let_out(some, loose, state.length[again])
    softer = loose.touch_force.max(1) < state.touch_force[again].max(1)
    better = np.flatnonzero(found.converged & (softer | ~outcome.converged[again]))
    state.put(again[better], loose.take(better))
    outcome.put(again[better], found, better)


def _fitted(rods: Rods, moving: Holds, rows: list[Row], first: State) -> tuple[Rods, Holds]:
    """The rods and their holds with what holds some against turning about themselves.

    A line is fitted without twist, straight ahead at ride height (common practice): there the end's
    frame is the start's carried along it. ``first`` are the states straight ahead.
    """
    twisting = np.array([row.table.case.twisting for row in rows])
    frames = np.zeros((2, *moving.start.shape))
    for k in np.flatnonzero(twisting > 0.0):
        table = rows[k].table
        ride = int(np.argmin(np.abs(table.travels)))
        same = [j for j, row in enumerate(rows) if row.table is table and row.at_travel == ride]
        fit = np.array(same[:1])
        start = across(rods.start_direction[fit])
        end = carried_frame(rods.take(fit), first.nodes[fit], start)
        table.start_frame, table.end_frame = start[0], end[0]
        frames[:, :, k] = riding_frames(table.case, start[0], end[0], moving, int(k))
    held = replace(rods, twisting=twisting, start_frame=frames[0, 0], end_frame=frames[1, 0])
    return held, replace(moving, start_frame=frames[0], end_frame=frames[1])
