"""What is written down of each span as it is solved, pose by pose."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.analysis.spans import SpanCase
from barfit.mechanics.contact import Touches, touches
from barfit.mechanics.newton import Outcome
from barfit.mechanics.rod import MOST_TOUCHES, Rods, State, axial_force, curvature
from barfit.mechanics.track import Holds


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
    ahead: State | None = None


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
