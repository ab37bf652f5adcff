"""The rods of a finished sweep at rest, with the twist they carry: one batch per span.

The sweep settles rods that are free to twist. A span whose two ends hold it against turning was
fitted without twist straight ahead at ride height (common practice), and carries what turning the
bar and working the fork put into it; it lies where bending, weight and that twist together let it
rest, and is settled once more for that, from the shape the sweep gave it. Only where it presses on
a part of the machine it is left as it is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis.spans import SpanCase, batch, held
from barfit.analysis.sweep import LineSweep, SpanSweep, Sweep
from barfit.catalogue import swivels, twisting_stiffness
from barfit.geometry.pose import motions
from barfit.mechanics.guides import spring_pulls
from barfit.mechanics.reactions import edge_tensions
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.twist import (
    TwistHold,
    across,
    carried_frame,
    settle_twisted,
    twist_of,
)
from barfit.model import Setup

_TOUCH = 1e-6  # mm, what two places along a line may differ by and be the same


@dataclass(frozen=True, eq=False)
class Rest:
    """One span at every pose, suspension positions first, then turn angles: P = T·A rods.

    ``good`` (P,) says which are at rest. Not so are those that did not converge, with or without
    twist, and those laid along their taut path because the line is too short there.
    ``twists``: both ends hold the span against turning, and something moves it. Then ``twist`` (P,)
    rad is its total twist, ``moment`` (P,) N·mm the twisting moment it lies under (0 where it
    presses on something: that is not settled with its twist), and ``moved`` (P,) mm how far twist
    moves it at most; nan where not at rest. Otherwise all three are 0. ``hold`` is what holds
    it so; None where the span does not twist, or is not at rest in the pose in which it is fitted.
    """

    span: SpanSweep
    rods: Rods
    state: State
    good: np.ndarray
    twists: bool
    twist: np.ndarray
    moment: np.ndarray
    moved: np.ndarray
    hold: TwistHold | None


def line_rests(sweep: Sweep, swept: LineSweep) -> tuple[Rest, ...]:
    """Every span of a line at rest at every pose of its sweep."""
    return tuple(_rest(sweep, swept, span) for span in swept.spans)


def _rest(sweep: Sweep, swept: LineSweep, span: SpanSweep) -> Rest:
    rods, state, good = _as_swept(sweep, swept, span)
    zero = np.zeros(len(good))
    if not _twists(span.case):
        return Rest(span, rods, state, good, False, zero, zero, zero, None)
    nan = np.full(len(good), np.nan)
    twist, moment, moved = nan.copy(), nan.copy(), nan.copy()
    hold = None
    if good[_straight(sweep, swept)]:
        hold = _hold(sweep, swept, span.case, rods, state, good)
        pressed = good & (state.touch_force > 0.0).any(1)
        rows = np.flatnonzero(pressed)
        twist[rows] = twist_of(rods.take(rows), state.nodes[rows], hold.take(rows))
        moment[rows] = moved[rows] = 0.0
        rows = np.flatnonzero(good & ~pressed)
        now, some = state.take(rows), rods.take(rows).free()
        out = settle_twisted(some, now, hold.take(rows))
        apart = np.linalg.norm(now.nodes - state.nodes[rows], axis=2).max(1)
        done = rows[out.converged]
        state.put(done, now.take(np.flatnonzero(out.converged)))
        for into, values in ((twist, out.twist), (moment, out.moment), (moved, apart)):
            into[done] = values[out.converged]
    return Rest(span, rods, state, good & np.isfinite(twist), True, twist, moment, moved, hold)


def _twists(case: SpanCase) -> bool:
    """Whether both ends hold a span against turning, and something moves it."""
    last = len(case.layout.holds) - 1
    free = swivels(case.line) and (case.first == 0 or case.last == last)
    return not free and len(set(case.layout.bodies[case.first : case.last + 1])) > 1


def _straight(sweep: Sweep, swept: LineSweep) -> int:
    """The pose in which lines are fitted: straight ahead, at ride height or nearest to it."""
    middle = int(np.flatnonzero(sweep.angles == 0.0)[0])
    return int(np.argmin(np.abs(swept.travels))) * len(sweep.angles) + middle


def _hold(
    sweep: Sweep,
    swept: LineSweep,
    case: SpanCase,
    rods: Rods,
    state: State,
    good: np.ndarray,
) -> TwistHold:
    """What holds a span against turning at every pose: frames that ride with its two ends.

    The end's frame is the start's carried along the line as it was fitted, so that it has no twist
    there; and whole turns are counted by following the twist from that pose, along the suspension
    positions and from each to both locks.
    """
    straight = np.array([_straight(sweep, swept)])
    fitted = across(rods.start_direction[straight])
    carried = carried_frame(rods.take(straight), state.nodes[straight], fitted)
    start = _turns(sweep.setup, case, case.first, sweep, swept) @ fitted[0]
    end = _turns(sweep.setup, case, case.last, sweep, swept) @ carried[0]
    size = len(good)
    hold = TwistHold(np.full(size, twisting_stiffness(case.line)), start, end, np.zeros(size))
    rows = np.flatnonzero(good)
    twist = np.full(size, np.nan)
    twist[rows] = twist_of(rods.take(rows), state.nodes[rows], hold.take(rows))
    return replace(hold, near=followed(twist.reshape(swept.converged.shape), int(straight[0])))


def _turns(
    setup: Setup, case: SpanCase, station: int, sweep: Sweep, swept: LineSweep
) -> np.ndarray:
    """Rotations (P, 3, 3) of the body of a station."""
    body = case.layout.bodies[station]
    turned, _ = motions(setup.machine, body, sweep.angles, swept.travels)
    return turned.reshape(-1, 3, 3)


def followed(twist: np.ndarray, start: int) -> np.ndarray:
    """Twist (T, A) rad known but for whole turns, followed from the pose ``start``; flat (T·A,).

    Each value becomes the one nearest to its neighbour's on the way; a nan takes its neighbour's.
    """
    out = twist.copy()
    row, column = divmod(start, out.shape[1])

    def follow(line: np.ndarray, first: int) -> None:
        for step in (1, -1):
            before = line[first]
            for k in range(first + step, len(line) if step > 0 else -1, step):
                if np.isnan(line[k]):
                    line[k] = before
                before = line[k] = line[k] + 2.0 * np.pi * np.round(
                    (before - line[k]) / (2.0 * np.pi)
                )

    follow(out[:, column], row)
    for each in out:
        follow(each, column)
    return out.ravel()


def _as_swept(sweep: Sweep, swept: LineSweep, span: SpanSweep) -> tuple[Rods, State, np.ndarray]:
    """The rods of one span at every pose as the sweep left them, and which of them are at rest."""
    case = span.case
    turns, travels = (grid.ravel() for grid in np.meshgrid(sweep.angles, swept.travels))
    one, moving = batch([case], [held(sweep.setup, case, turns, travels)])
    rods = replace(
        one.take(np.zeros(turns.size, int)),
        **{name: value[:, 0] for name, value in vars(moving).items()},
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
    )
    for name in ("touch_place", "touch_solid", "touch_force"):
        noted = getattr(span, name).reshape(turns.size, -1)
        getattr(state, name)[:, : noted.shape[1]] = noted
    state.tensions = edge_tensions(rods, state)
    rows = np.flatnonzero(good)
    if len(rows):
        state.guide_pull[rows] = spring_pulls(rods.take(rows), state.take(rows))
    return rods, state, good
