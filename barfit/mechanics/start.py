"""First shapes: from nothing to a settled batch, by small steps that stay on the stable branch.

A rod given its full length at once often converges to a curled saddle. So a rod begins pulled
softly taut, where there is one answer, and is then let out by a few per cent at a time.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.interpolate import CubicHermiteSpline, CubicSpline

from barfit.geometry.curve import resample
from barfit.mechanics.contact import deepest
from barfit.mechanics.descent import descend
from barfit.mechanics.newton import Outcome, newton
from barfit.mechanics.rod import Rods, State

LET_OUT = 0.03  # share of the length by which a rod is let out or drawn in at once
_SOFT_PULL = 40.0  # times EI / chord^2: bends over about a sixth of the chord
_OVER_WEIGHT = 2.0  # times its own weight: a rod pulled with less would run out without end
_LOAD_STEPS = 20
_GROWTH = 4.0  # mm by which solids grow at once
_LEAST_GROWTH = 0.5  # mm: a step as small as this goes on by descent
RESCUE_STEPS = 80


def first_curve(rods: Rods, row: int, nodes: int) -> np.ndarray:
    """A smooth curve (nodes, 3) from end to end through the guides of one rod, evenly spaced."""
    used = rods.guide_stiffness[row] > 0.0
    points = np.vstack((rods.start[row], rods.guides[row][used], rods.end[row]))
    gaps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    at = np.concatenate(([0.0], np.cumsum(gaps)))
    first = rods.start_direction[row] if rods.clamp_start[row] else points[1] - points[0]
    last = rods.end_direction[row] if rods.clamp_end[row] else points[-1] - points[-2]
    first, last = first / np.linalg.norm(first), last / np.linalg.norm(last)
    fine = np.linspace(0.0, at[-1], 20 * nodes)
    if len(points) == 2:
        curve = CubicHermiteSpline(at, points, np.vstack((first, last)))
    else:
        curve = CubicSpline(at, points, bc_type=((1, first), (1, last)))
    return resample(curve(fine), nodes)


def guides_on(rods: Rods, curve: np.ndarray) -> np.ndarray:
    """Where along each curve (B, N, 3) the guides are, in order, counted in edges (B, K)."""
    gap = np.linalg.norm(curve[:, :, None, :] - rods.guides[:, None, :, :], axis=3)
    return gap.argmin(1).astype(float)


def hanging(rods: Rods, length: np.ndarray, nodes: int) -> tuple[State, Outcome]:
    """Settle rods with a free far end: straight along their clamp, the loads put on in steps."""
    edge = length / (nodes - 1)
    along = edge[:, None, None] * np.arange(nodes)[None, :, None]
    state = State(
        rods.start[:, None, :] + along * rods.start_direction[:, None, :],
        np.zeros((rods.size, nodes - 1)),
        edge,
        np.zeros(rods.guide_stiffness.shape),
        np.zeros(rods.guides.shape),
    )
    alone = rods.free()
    for share in np.linspace(1.0 / _LOAD_STEPS, 1.0, _LOAD_STEPS):
        part = replace(alone, weight=share * rods.weight, end_load=share * rods.end_load)
        outcome = newton(part, state)
    outcome = pushed_out(rods, state, outcome)
    rescue(rods, state, outcome)
    return state, outcome


def pulled(rods: Rods, pull: np.ndarray, nodes: int) -> tuple[State, Outcome]:
    """The taut shapes at ``pull`` (B,) N, from nothing: softly first, then harder step by step."""
    curve = np.stack([first_curve(rods, row, nodes) for row in range(rods.size)])
    length = np.linalg.norm(np.diff(curve, axis=1), axis=2).sum(1)
    soft = np.minimum(soft_pull(rods, length), pull)
    state = State(
        curve,
        np.repeat(soft[:, None], nodes - 1, axis=1),
        length / (nodes - 1),
        guides_on(rods, curve),
        np.zeros(rods.guides.shape),
    )
    alone = rods.free()
    outcome = newton(alone, state, soft)
    rescue(alone, state, outcome, soft)
    outcome = pushed_out(rods, state, outcome, soft)
    now = soft.copy()
    while (now < pull).any():
        harder = np.minimum(2.5 * now, pull)
        outcome = _pull_harder(rods, state, now, harder)
        now = harder
    return state, outcome


def _pull_harder(
    rods: Rods, state: State, now: np.ndarray, harder: np.ndarray, halvings: int = 4
) -> Outcome:
    """Go from one pull (B,) N to a harder one; rods that get lost go there in smaller steps."""
    before = state.copy()
    outcome = newton(rods, state, harder)
    rescue(rods, state, outcome, harder)
    lost = np.flatnonzero(~outcome.converged)
    if len(lost) and halvings:
        some, begun = rods.take(lost), before.take(lost)
        between = np.sqrt(now[lost] * harder[lost])
        first = _pull_harder(some, begun, now[lost], between, halvings - 1)
        again = _pull_harder(some, begun, between, harder[lost], halvings - 1)
        good = np.flatnonzero(first.converged & again.converged)
        state.put(lost[good], begun.take(good))
        outcome.put(lost[good], again, good)
    return outcome


def pushed_out(
    rods: Rods, state: State, outcome: Outcome, pull: np.ndarray | None = None
) -> Outcome:
    """Push rods that settled with nothing in their way out of the solids, in place.

    The solids grow from where they only just do not touch, by a few mm at a time, so that a rod
    gives way to the side it lies on.
    """
    depth = deepest(rods, state)
    for row in np.flatnonzero(depth > 0.0):
        index = np.array([row])
        some, now = rods.take(index), state.take(index)
        found = _grown(some, now, float(depth[row]), None if pull is None else pull[index])
        state.put(index, now)
        outcome.put(index, found, np.array([0]))
    return outcome


def _grown(rods: Rods, state: State, depth: float, pull: np.ndarray | None) -> Outcome:
    """Let the solids round one rod, which is ``depth`` mm inside, grow to their size, in place."""
    left, step = depth, min(depth, _GROWTH)
    while True:
        fewer = max(left - step, 0.0)
        grown = replace(rods, radius=rods.radius - fewer)
        before = state.copy()
        outcome = newton(grown, state, pull)
        if not outcome.converged[0] and step > _LEAST_GROWTH:
            state.put(np.array([0]), before)
            step *= 0.5
            continue
        rescue(grown, state, outcome, pull)
        if fewer == 0.0:
            return outcome
        left = fewer


def soft_pull(rods: Rods, length: np.ndarray) -> np.ndarray:
    """A pull (B,) N that draws rods of about that length (B,) straight, but only just."""
    chord = np.maximum(np.linalg.norm(rods.end - rods.start, axis=1), 0.2 * length)
    return np.maximum(_SOFT_PULL * rods.ei / chord**2, _OVER_WEIGHT * rods.weight * length)


def let_out(
    rods: Rods, state: State, length: np.ndarray, outcome: Outcome | None = None
) -> Outcome:
    """Bring settled rods to another ``length`` (B,) mm in place, by small steps."""
    edges = state.tensions.shape[1]
    target = length / edges
    far = np.abs(np.log(target / state.edge))
    steps = max(1, int(np.ceil(far.max() / LET_OUT)))
    ratio = (target / state.edge) ** (1.0 / steps)
    for step in range(steps):
        state.edge = state.edge * ratio if step < steps - 1 else target.copy()
        outcome = newton(rods, state)
        rescue(rods, state, outcome)
    assert outcome is not None
    return outcome


def rescue(rods: Rods, state: State, outcome: Outcome, pull: np.ndarray | None = None) -> None:
    """Second try, by descent, for the rods of a batch that did not converge.

    Updates state and outcome in place.
    """
    lost = np.flatnonzero(~outcome.converged)
    if not len(lost):
        return
    some, now = rods.take(lost), state.take(lost)
    mine = None if pull is None else pull[lost]
    descend(some, now, mine)
    found = newton(some, now, mine, RESCUE_STEPS)
    good = np.flatnonzero(found.converged)
    state.put(lost[good], now.take(good))
    outcome.put(lost[good], found, good)


def settled(rods: Rods, length: np.ndarray, nodes: int) -> tuple[State, Outcome]:
    """Rest shapes at ``length`` (B,) mm, from nothing."""
    if rods.free_end.all():
        return hanging(rods, length, nodes)
    state, outcome = pulled(rods, soft_pull(rods, length), nodes)
    return state, let_out(rods, state, length, outcome)
