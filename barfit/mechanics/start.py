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
_LEAST_GROWTH = 0.02  # of the whole
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
    now = soft.copy()
    outcome = pushed_out(rods, state, outcome, soft)
    while (now < pull).any():
        now = np.minimum(2.5 * now, pull)
        outcome = newton(rods, state, now)
        rescue(rods, state, outcome, now)
    return state, outcome


def pushed_out(
    rods: Rods, state: State, outcome: Outcome, pull: np.ndarray | None = None
) -> Outcome:
    """Push rods that settled with nothing in their way out of the solids, in place.

    The solids grow from where they only just do not touch, by a few mm at a time, so that a rod
    gives way to the side it lies on.
    """
    depth = deepest(rods, state)
    if not depth.max(initial=0.0) > 0.0:
        return outcome
    share, step = 0.0, min(1.0, _GROWTH / depth.max())
    while share < 1.0:
        share = min(share + step, 1.0)
        grown = replace(rods, radius=rods.radius - depth * (1.0 - share))
        outcome = newton(grown, state, pull)
        if not outcome.converged.all() and step > _LEAST_GROWTH:
            share, step = share - step, 0.5 * step
            continue
        rescue(grown, state, outcome, pull)
    return outcome


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
    for name in ("converged", "stable", "residual"):
        getattr(outcome, name)[lost[good]] = getattr(found, name)[good]


def settled(rods: Rods, length: np.ndarray, nodes: int) -> tuple[State, Outcome]:
    """Rest shapes at ``length`` (B,) mm, from nothing."""
    if rods.free_end.all():
        return hanging(rods, length, nodes)
    state, outcome = pulled(rods, soft_pull(rods, length), nodes)
    return state, let_out(rods, state, length, outcome)
