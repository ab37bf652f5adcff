"""How much line a pose needs: taut at a given pull, and long enough not to bend too sharply."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from barfit.mechanics.newton import newton
from barfit.mechanics.rod import Rods, State, curvature
from barfit.mechanics.settle import Shape, Span, batch_of_one, shape_of
from barfit.mechanics.start import LET_OUT, pulled, rescue

# A pulled rod bends within sqrt(EI / pull) of its holds; edges of an eighth of that keep the error
# of the taut length under 0.06 % (measured against a boundary-value solution, turns up to 120°).
_EDGES_PER_BEND = 8.0
_MOST_NODES = 401
_REFINE_STEPS = 8
_CLOSE = 0.05  # mm
_CLOSER = 3.0  # times smaller is the next step where a shape was lost
_LEAST_STEP = 1e-3


def taut(span: Span, pull: float = 20.0) -> Shape:
    """The shape a span takes when drawn through until it pulls with ``pull`` N; its length is free.

    It makes bending energy + weight + pull * length least; ``span.length`` is not used. Solved on
    a mesh fine enough for the bends and returned at ``span.nodes`` points of equal arc length.
    Raises ValueError for a pull that is not positive or a free end.
    """
    if not (np.isfinite(pull) and pull > 0.0):
        raise ValueError(f"pull is {pull}; it must be above zero")
    if span.end is None:
        raise ValueError("a span with a free end cannot be drawn taut")
    rods = batch_of_one(span, pull)
    pulls = np.array([float(pull)])
    state, outcome = pulled(rods, pulls, span.nodes)
    fine = fine_nodes(rods, state, pulls)
    if fine > span.nodes:
        state = refined(state, fine)
        outcome = newton(rods, state, pulls)
        rescue(rods, state, outcome, pulls)
    shape = shape_of(rods, state, outcome)
    return shape if fine <= span.nodes else _thinned(shape, span.nodes)


def fine_nodes(
    rods: Rods, state: State, pull: np.ndarray, edges_per_bend: float = _EDGES_PER_BEND
) -> int:
    """How many nodes make the edges short against the bends that the pull leaves."""
    bend = np.sqrt(rods.ei / pull)
    return int(min(_MOST_NODES, 1 + np.ceil((edges_per_bend * state.length / bend).max())))


def refined(state: State, nodes: int) -> State:
    """The same shapes on another number of nodes, as a start for Newton."""
    old = state.nodes.shape[1] - 1
    at = np.linspace(0.0, old, nodes)
    low = np.minimum(at.astype(int), old - 1)
    part = (at - low)[None, :, None]
    points = (1.0 - part) * state.nodes[:, low] + part * state.nodes[:, low + 1]
    middle = np.minimum(0.5 * (at[1:] + at[:-1]), old - 1e-9).astype(int)
    ratio = (nodes - 1) / old
    return State(
        points,
        state.tensions[:, middle],
        state.edge / ratio,
        state.guide_at * ratio,
        state.guide_pull.copy(),
        np.round(state.touch_place * ratio).astype(int),
        state.touch_solid.copy(),
        state.touch_force.copy(),
    )


def _thinned(shape: Shape, nodes: int) -> Shape:
    """A fine shape at fewer points of equal arc length; its numbers stay those of the fine one."""
    fine = np.linspace(0.0, 1.0, len(shape.points))
    at = np.linspace(0.0, 1.0, nodes)
    points = np.stack([np.interp(at, fine, axis) for axis in shape.points.T], 1)
    with np.errstate(divide="ignore"):
        radii = 1.0 / np.interp(at, fine, 1.0 / shape.radii)
    radii[shape.radii[np.round(at * (len(fine) - 1)).astype(int)].argmin()] = shape.min_radius
    middle = 0.5 * (at[1:] + at[:-1])
    tensions = np.interp(middle, 0.5 * (fine[1:] + fine[:-1]), shape.tensions)
    tensions[tensions.argmax()] = shape.tension
    for array in (points, radii, tensions):
        array.setflags(write=False)
    return replace(shape, points=points, radii=radii, tensions=tensions)


def bend_limited(
    rods: Rods, taut_state: State, radius: np.ndarray, longest: np.ndarray
) -> np.ndarray:
    """The shortest length (B,) mm at which no radius is below ``radius`` (B,) mm.

    From the taut shapes the rods are let out by 3 % at a time until the sharpest bend is wide
    enough or ``longest`` (B,) mm is reached; where it was wider for a moment in between, that
    stretch is searched again more finely. The crossing is closed in on by false position (Illinois
    rule). 0 where the taut shape is wide enough already, inf where no length is, nan where a rest
    shape was not found on the way.
    """
    out = np.full(rods.size, np.nan)
    limit = 1.0 / radius
    sharp = curvature(rods, taut_state).max(1) > limit
    out[~sharp] = 0.0
    rows = np.flatnonzero(sharp)
    brackets, never = _first_wide(
        rods.take(rows), taut_state.take(rows), limit[rows], longest[rows]
    )
    out[rows[never]] = np.inf
    if brackets:
        found = rows[[bracket.row for bracket in brackets]]
        low = _joined([bracket.low for bracket in brackets])
        over_low = np.array([bracket.over_low for bracket in brackets])
        over_high = np.array([bracket.over_high for bracket in brackets])
        high = np.array([bracket.high for bracket in brackets])
        out[found] = _close_in(rods.take(found), low, over_low, over_high, high, limit[found])
    return out


@dataclass(frozen=True)
class _Bracket:
    """A rod (by its row) that bends too sharply in state ``low``, and no more at length ``high``.

    ``over_low`` and ``over_high`` are the curvatures there above the limit, 1/mm.
    """

    row: int
    low: State
    over_low: float
    over_high: float
    high: float


def _first_wide(
    rods: Rods, state: State, limit: np.ndarray, longest: np.ndarray, step: float = LET_OUT
) -> tuple[list[_Bracket], np.ndarray]:
    """Let rods out by ``step`` (share of the length) until each is wide enough, if it ever is; by
    less where a shape is lost.

    Returns where each begins to be, and which of them (B,) bool never are.
    """
    found = []
    never = np.zeros(rods.size, bool)
    rows = np.arange(rods.size)
    over = curvature(rods, state).max(1) - limit
    older, over_older = state, over
    steps = np.full(rods.size, step)
    while len(rows):
        here = rods.take(rows)
        before, over_before = state.copy(), over
        state.edge = state.edge * (1.0 + steps)
        outcome = newton(here, state)
        rescue(here, state, outcome)
        over = curvature(here, state).max(1) - limit[rows]
        done = outcome.converged & (over <= 0.0)
        for k in np.flatnonzero(done):
            low = before.take(np.array([k]))
            found.append(_Bracket(rows[k], low, over_before[k], over[k], state.length[k]))
        dipped = ~done & (over > over_before) & (over_before < over_older) & (step == LET_OUT)
        for k in np.flatnonzero(dipped & outcome.converged):
            one = np.array([k])
            within, _ = _first_wide(
                here.take(one), older.take(one), limit[rows[one]], state.length[one], 0.1 * step
            )
            found += [replace(bracket, row=rows[k]) for bracket in within]
            done[k] = bool(within)
        ends = outcome.converged & ~done & (state.length >= longest[rows])
        never[rows[ends]] = True
        lost = np.flatnonzero(~outcome.converged)
        state.put(lost, before.take(lost))
        over[lost], steps[lost] = over_before[lost], steps[lost] / _CLOSER
        good = outcome.converged & ~done & ~ends
        stay = np.flatnonzero(good | (~outcome.converged & (steps > _LEAST_STEP)))
        older, over_older = before.take(stay), over_before[stay]
        rows, state, over, steps = rows[stay], state.take(stay), over[stay], steps[stay]
    return found, never


def _joined(states: list[State]) -> State:
    names = vars(states[0])
    return State(**{n: np.concatenate([getattr(state, n) for state in states]) for n in names})


def _close_in(
    rods: Rods,
    state: State,
    over_low: np.ndarray,
    over_high: np.ndarray,
    high: np.ndarray,
    limit: np.ndarray,
) -> np.ndarray:
    """False position between a length that bends too sharply and one that does not (B,).

    A length at which the shape is lost counts as one that does not. Where all that is known of it
    is a shape that bends too sharply, it would be tried again and lost again: the search ends.
    """
    low, edges = state.length, state.tensions.shape[1]
    rows = np.arange(rods.size)
    for _ in range(_REFINE_STEPS):
        some, now = rods.take(rows), state.take(rows)
        fall = np.maximum(over_low[rows] - over_high[rows], 1e-300)
        length = low[rows] + (high - low)[rows] * np.clip(over_low[rows] / fall, 0.0, 1.0)
        now.edge = length / edges
        outcome = newton(some, now)
        over = curvature(some, now).max(1) - limit[rows]
        state.put(rows, now)
        lost = ~outcome.converged
        wide = lost | (over <= 0.0)
        # the end that stays twice is given half its weight, or it would never move
        over_low[rows] = np.where(wide, 0.5 * over_low[rows], over)
        over_high[rows] = np.where(wide, over, 0.5 * over_high[rows])
        low[rows] = np.where(wide, low[rows], length)
        high[rows] = np.where(wide, length, high[rows])
        rows = rows[~(lost & (over > 0.0)) & ((high - low)[rows] >= _CLOSE)]
        if not len(rows):
            break
    return high
