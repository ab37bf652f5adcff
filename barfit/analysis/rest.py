"""The rods of a finished sweep at rest, one batch per span: what holds them and how they lie."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis.spans import batch, held, riding_frames
from barfit.analysis.sweep import LineSweep, SpanSweep, Sweep
from barfit.mechanics.guides import spring_pulls
from barfit.mechanics.reactions import edge_tensions
from barfit.mechanics.rod import Rods, State
from barfit.model import Setup

_TOUCH = 1e-6  # mm, what two places along a line may differ by and be the same


@dataclass(frozen=True, eq=False)
class Rest:
    """One span at every pose, suspension positions first, then turn angles: P = T·A rods.

    ``good`` (P,) says which are at rest. Not so are those that did not converge, and those laid
    along their taut path because the line is too short there; their nodes are nan. ``twist`` (P,)
    rad is the total twist since the span was fitted, nan where it is not known: not at rest, or
    not in the pose in which it is fitted.
    """

    span: SpanSweep
    rods: Rods
    state: State
    good: np.ndarray
    twist: np.ndarray


def line_rests(sweep: Sweep, swept: LineSweep) -> tuple[Rest, ...]:
    """Every span of a line at rest at every pose of its sweep."""
    return tuple(_rest(sweep, swept, span) for span in swept.spans)


def _rest(sweep: Sweep, swept: LineSweep, span: SpanSweep) -> Rest:
    rods, state, good = at_rest(sweep.setup, sweep.angles, swept, span)
    fitted = good[_straight(sweep, swept)]
    return Rest(span, rods, state, good, np.where(good & fitted, state.twist, np.nan))


def at_rest(
    setup: Setup, angles: np.ndarray, swept: LineSweep, span: SpanSweep
) -> tuple[Rods, State, np.ndarray]:
    """The rods, states and ``good`` of a `Rest`, of a sweep over these angles (A,) rad."""
    case = span.case
    turns, travels = (grid.ravel() for grid in np.meshgrid(angles, swept.travels))
    one, moving = batch([case], [held(setup, case, turns, travels)])
    frames = riding_frames(case, span.start_frame, span.end_frame, moving, 0)
    rods = replace(
        one.take(np.zeros(turns.size, int)),
        **{name: value[:, 0] for name, value in vars(moving).items() if value is not None},
        twisting=np.full(turns.size, case.twisting),
        start_frame=frames[0],
        end_frame=frames[1],
    )
    edge = np.full(turns.size, case.length / (case.nodes - 1))
    reaches = (span.taut_edge.ravel() <= edge) & (span.slack.ravel() >= 0.0)
    good = swept.converged.ravel() & reaches
    inside = (swept.arc > case.start_at - _TOUCH) & (swept.arc < case.end_at + _TOUCH)
    nodes = swept.shapes[:, :, inside].reshape(turns.size, case.nodes, 3)
    at = swept.stations_at[:, :, case.first + 1 : case.last].reshape(turns.size, -1)
    state = State(
        np.where(good[:, None, None], nodes, np.nan),
        np.zeros((turns.size, case.nodes - 1)),
        edge,
        (at - case.start_at) / edge[:, None],
        np.zeros(rods.guides.shape),
        twist=span.twist.ravel().copy(),
        twist_moment=span.twist_moment.ravel().copy(),
    )
    for name in ("touch_place", "touch_solid", "touch_force"):
        noted = getattr(span, name).reshape(turns.size, -1)
        getattr(state, name)[:, : noted.shape[1]] = noted
    state.tensions = edge_tensions(rods, state)
    rows = np.flatnonzero(good)
    if len(rows):
        state.guide_pull[rows] = spring_pulls(rods.take(rows), state.take(rows))
    return rods, state, good


def _straight(sweep: Sweep, swept: LineSweep) -> int:
    """The pose in which lines are fitted: straight ahead, at ride height or nearest to it."""
    middle = int(np.flatnonzero(sweep.angles == 0.0)[0])
    return int(np.argmin(np.abs(swept.travels))) * len(sweep.angles) + middle
