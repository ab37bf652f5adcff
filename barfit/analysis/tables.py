"""Solving the spans of one node count over all their poses, as one batch of rods."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis.spans import SpanCase, batch, held, line_travels, riding_frames
from barfit.analysis.work import Cancel, Progress, Work
from barfit.mechanics.contact import Touches, touches
from barfit.mechanics.newton import Outcome, newton
from barfit.mechanics.rod import MOST_TOUCHES, Rods, State, axial_force, curvature
from barfit.mechanics.start import let_out, pulled
from barfit.mechanics.taut import fine_nodes, refined
from barfit.mechanics.track import Holds, follow
from barfit.mechanics.twist import across, carried_frame, wind
from barfit.model import Setup

PULL = 20.0  # N, at which a line counts as taut
STIFF = 1e6  # N: a line counts as taut at the length it has, not at what a pull stretches it to
_JAM = 60.0  # N: a line that is long enough is not pressed so hard unless it is caught
_MESH_ERROR = 0.005  # of the length: more than the meshes used here are ever off
BACK_STEP = 3  # every third pose is tried again on the way back from a lock
SAME_SHAPE = 2.0  # mm: further apart than this, the way back is another shape


@dataclass(eq=False)
class Table:
    """What is found for one span, (T, A) in front of every array.

    ``tips`` (T, A, 2, 3): the outer ends of the rigid stubs, or of the span where it has none.
    For each of the P parts in the way: ``press`` (T, A, P, 3) N, the force on the line, and
    ``press_at`` (T, A, P), ``press_point`` (T, A, P, 3), where that acts, along the line (mm from
    the first fitting) and in space; nan where it does not touch. ``touch_place``, ``touch_solid``
    and ``touch_force`` (T, A, Q) are the settled rod's, as are ``twist`` and ``twist_moment``
    (T, A); see `State`. ``start_frame`` and ``end_frame`` (3,), nan for a span that is free to
    twist, are those of `Rods` straight ahead at ride height.
    """

    case: SpanCase
    travels: np.ndarray
    tips: np.ndarray
    nodes: np.ndarray
    tension: np.ndarray
    radii: np.ndarray
    guides: np.ndarray
    converged: np.ndarray
    same: np.ndarray
    taut_nodes: np.ndarray
    taut_tensions: np.ndarray
    taut_edge: np.ndarray
    taut_guides: np.ndarray
    taut_pulls: np.ndarray
    taut_error: np.ndarray
    press: np.ndarray
    press_at: np.ndarray
    press_point: np.ndarray
    touch_place: np.ndarray
    touch_solid: np.ndarray
    touch_force: np.ndarray
    twist: np.ndarray
    twist_moment: np.ndarray
    start_frame: np.ndarray
    end_frame: np.ndarray


def empty_table(case: SpanCase, travels: np.ndarray, turns: int) -> Table:
    """A table with nothing found yet."""
    front = (len(travels), turns)
    count, guides = case.nodes, len(case.guides)
    nan = np.nan
    parts = len(case.around.names) if case.around else 0
    touches = MOST_TOUCHES if case.around else 0
    return Table(
        case=case,
        travels=travels,
        tips=np.full((*front, 2, 3), nan),
        nodes=np.full((*front, count, 3), nan),
        tension=np.full(front, nan),
        radii=np.full((*front, count), nan),
        guides=np.full((*front, guides), nan),
        converged=np.zeros(front, bool),
        same=np.ones(front, bool),
        taut_nodes=np.full((*front, count, 3), nan),
        taut_tensions=np.full((*front, count - 1), nan),
        taut_edge=np.full(front, nan),
        taut_guides=np.full((*front, guides), nan),
        taut_pulls=np.full((*front, guides, 3), nan),
        taut_error=np.zeros(front),
        press=np.zeros((*front, parts, 3)),
        press_at=np.full((*front, parts), nan),
        press_point=np.full((*front, parts, 3), nan),
        touch_place=np.zeros((*front, touches), np.int64),
        touch_solid=np.zeros((*front, touches), np.int64),
        touch_force=np.zeros((*front, touches)),
        twist=np.zeros(front),
        twist_moment=np.zeros(front),
        start_frame=np.full(3, nan),
        end_frame=np.full(3, nan),
    )


@dataclass(frozen=True, eq=False)
class Row:
    """One rod of a group's batch: a span at one suspension position, turned to one side."""

    table: Table
    at_travel: int
    turns: np.ndarray  # index of the turn angle at each pose, straight ahead first


def sweep_all(
    setup: Setup,
    cases: list[SpanCase],
    angles: np.ndarray,
    settle: bool = True,
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
    both_ways: bool = True,
) -> list[Table]:
    """Sweep spans of any node counts, in their order; those of one count go through the solver
    together (`sweep_group`). Raises Cancelled once ``cancelled()`` is true.
    """
    groups: dict[int, list[int]] = {}
    for index, case in enumerate(cases):
        groups.setdefault(case.nodes, []).append(index)
    work = Work(len(groups), progress, cancelled)
    tables: dict[int, Table] = {}
    for members in groups.values():
        found = sweep_group(setup, [cases[i] for i in members], angles, work, settle, both_ways)
        tables |= dict(zip(members, found, strict=True))
    return [tables[i] for i in range(len(cases))]


def sweep_group(
    setup: Setup,
    cases: list[SpanCase],
    angles: np.ndarray,
    work: Work,
    settle: bool = True,
    both_ways: bool = True,
) -> list[Table]:
    """Sweep the spans of one node count, both sides and all suspension positions at once.

    Unless they are to ``settle``, they lie drawn taut: enough to say what they need. Unless they
    are to be turned ``both_ways``, the way back from the locks is not tried.
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
    taut, taut_edges = _sweep_taut(rods, moving, rows, poses, work)
    if settle:
        _sweep_settled(rods, moving, rows, taut, taut_edges, work, both_ways)
        return tables
    for table in tables:
        table.converged = np.isfinite(table.taut_edge)
        table.nodes, table.guides = table.taut_nodes, table.taut_guides
    return tables


def _sweep_taut(
    rods: Rods, moving: Holds, rows: list[Row], poses: int, work: Work
) -> tuple[State, np.ndarray]:
    """Fill in the taut tables; returns the taut state straight ahead and all edges (P, B)."""
    stiff = replace(rods, ea=np.full(rods.size, STIFF))
    pull = np.full(rods.size, PULL)
    nodes = rows[0].table.case.nodes
    # the two sides of a span start from the same pose: solve it once
    once = np.arange(0, rods.size, 2)
    half, _ = pulled(stiff.take(once), pull[once], nodes)
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


def mesh_error(rods: Rods, state: State, pull: np.ndarray) -> np.ndarray:
    """How much longer the taut lengths (B,) would be on an infinitely fine mesh, mm.

    By Richardson's extrapolation of the second-order error from a mesh at least half as fine
    again; 0 for rods that do not converge on it.
    """
    nodes = state.nodes.shape[1]
    more = max(fine_nodes(rods, state, pull, 4.0), 3 * nodes // 2)
    fine = refined(state, more)
    good = newton(rods, fine, pull).converged
    ratio = (more - 1) / (nodes - 1)
    error: np.ndarray = (fine.length - state.length) * ratio**2 / (ratio**2 - 1.0)
    # a rod that lies another way on the finer mesh says nothing about this one
    good &= np.abs(error) < _MESH_ERROR * state.length
    return np.where(good, error, 0.0)


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


def note_tips(row: Row, moving: Holds, k: int) -> None:
    """Write down where the rigid ends of rod ``k`` reach to, at all poses it is held in."""
    case = row.table.case
    stubs = case.layout.stubs[[case.first, case.last]]
    tips = row.table.tips[row.at_travel]
    tips[row.turns, 0] = moving.start[:, k] - stubs[0] * moving.start_direction[:, k]
    tips[row.turns, 1] = moving.end[:, k] + stubs[1] * moving.end_direction[:, k]


def note_taut(rows: list[Row], pose: int, state: State, edges: np.ndarray) -> None:
    """Write down the taut rods of one pose; ``edges`` (B,) mm are nan where none was found."""
    for k, row in enumerate(rows):
        here = row.at_travel, row.turns[pose]
        table = row.table
        table.taut_nodes[here] = state.nodes[k]
        table.taut_tensions[here] = state.tensions[k]
        table.taut_edge[here] = edges[k]
        count = table.taut_guides.shape[-1]
        table.taut_guides[here] = state.guide_at[k, :count]
        table.taut_pulls[here] = state.guide_pull[k, :count]


def note_settled(rods: Rods, rows: list[Row], pose: int, state: State, outcome: Outcome) -> None:
    """Write down the settled rods of one pose, held as ``rods`` says."""
    count = state.tensions.shape[1]
    bend = curvature(rods, state)
    lacking = count * state.edge - np.array([row.table.case.length for row in rows])
    greatest = axial_force(rods, state).max(1) + rods.ea * lacking / (count * state.edge)
    for k, row in enumerate(rows):
        here = row.at_travel, row.turns[pose]
        table = row.table
        table.nodes[here] = state.nodes[k]
        table.tension[here] = greatest[k]
        with np.errstate(divide="ignore"):
            table.radii[here] = 1.0 / bend[k]
        table.guides[here] = state.guide_at[k][: table.guides.shape[-1]]
        table.converged[here] = outcome.converged[k]
        table.twist[here] = state.twist[k]
        table.twist_moment[here] = state.twist_moment[k]
        if state.touch_force[k, 0] > 0.0:
            _note_touches(table, here, touches(rods, state, k))
            table.touch_place[here] = state.touch_place[k]
            table.touch_solid[here] = state.touch_solid[k]
            table.touch_force[here] = state.touch_force[k]


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


def _note_touches(table: Table, here: tuple[int, int], found: Touches) -> None:
    """Sum up a line's touches part by part; each sum acts at the middle of its forces."""
    assert table.case.around is not None
    parts, number = np.unique(table.case.around.part[found.solid], return_inverse=True)
    mine = number == np.arange(len(parts))[:, None]
    share = mine * np.sqrt((found.force**2).sum(1))
    share /= share.sum(1, keepdims=True)
    table.press[*here, parts] = mine @ found.force
    table.press_at[*here, parts] = table.case.start_at + share @ found.at
    table.press_point[*here, parts] = share @ found.point
