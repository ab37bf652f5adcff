"""Newton's method on a batch of rods, guarded, with an honest status for each.

The linear algebra is a Cholesky factorisation of a symmetric band. Where it fails the rod is not at
a stable point, and the matrix is shifted (Levenberg 1944) until it holds; a rod is only called
converged when its last step was small, whole and unshifted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import eig_banded

from barfit.mechanics.contact_kernels import DEPTH, STIFFNESS
from barfit.mechanics.cores import shared
from barfit.mechanics.newton_loop import newton_rods
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.system import assemble

TOLERANCE = 1e-4  # edges: the largest last step, after which Newton's error is far smaller
TENSION_TOLERANCE = 1e-3  # of the tensions: so that the stability seen is that of the final state
MOST_STEPS = 40
STEP_CAP = 1.5  # no node moves further than this many edges in one step


@dataclass
class Outcome:
    """Status of a batch: converged, stable (B,) bool; residual (B,) N, before the last step."""

    converged: np.ndarray
    stable: np.ndarray
    residual: np.ndarray
    steps: np.ndarray

    def put(self, index: np.ndarray, other: Outcome, rows: np.ndarray) -> None:
        """Take over the status of some rows of another batch."""
        for name in ("converged", "stable", "residual"):
            getattr(self, name)[index] = getattr(other, name)[rows]


def newton(
    rods: Rods, state: State, pull: np.ndarray | None = None, most_steps: int = MOST_STEPS
) -> Outcome:
    """Settle a batch in place. Rods that run away are stopped and not called converged.

    With ``pull`` (B,) N the lengths are unknowns too (a bordered band): each rod takes the length
    at which it pulls so hard, which makes bending energy + pull * length least.
    """
    # with a free length or things to slip off, what a lost rod reached may be far from anywhere
    wanders = pull is not None or len(rods.solids.kind) > 0
    before = state.copy() if wanders else None
    out = _settle(rods, state, pull, most_steps, warm=True)
    lost = np.flatnonzero(~out.converged)
    if before is None or not len(lost):
        return out
    state.put(lost, before.take(lost))
    # rods that pressed hard began raised, and perhaps by the forces of quite another shape
    lost = lost[before.touch_force[lost].max(1) >= DEPTH * STIFFNESS]
    if len(lost):
        now, mine = before.take(lost), None if pull is None else pull[lost]
        again = _settle(rods.take(lost), now, mine, most_steps, warm=False)
        out.put(lost, again, np.arange(len(lost)))
        good = np.flatnonzero(again.converged)
        state.put(lost[good], now.take(good))
    return out


def _settle(
    rods: Rods, state: State, pull: np.ndarray | None, most_steps: int, warm: bool
) -> Outcome:
    """Newton's iteration in place, and again for what came to rest at a saddle."""
    out = Outcome(
        np.zeros(rods.size, bool),
        np.zeros(rods.size, bool),
        np.full(rods.size, np.inf),
        np.zeros(rods.size, int),
    )
    stuck = _iterate(rods, state, pull, out, most_steps, warm)
    while stuck.any():
        rows = np.flatnonzero(stuck)
        some, now = rods.take(rows), state.take(rows)
        for row in range(len(rows)):
            leave_saddle(some, now, row)
        again = Outcome(*(value[rows] for value in vars(out).values()))
        left = most_steps - int(again.steps.max())
        stuck = np.zeros(rods.size, bool)
        if left > 0:
            stuck[rows] = _iterate(
                some, now, None if pull is None else pull[rows], again, left, warm
            )
        state.put(rows, now)
        for name, value in vars(again).items():
            getattr(out, name)[rows] = value
    return out


def _iterate(
    rods: Rods,
    state: State,
    pull: np.ndarray | None,
    out: Outcome,
    most_steps: int,
    warm: bool,
) -> np.ndarray:
    """Newton's iteration in place; returns which rods (B,) came to rest where it is not stable."""
    stuck = np.zeros(rods.size, bool)
    pulls = np.zeros(rods.size) if pull is None else pull

    def run(part: slice) -> None:
        newton_rods(
            *(value[part] for value in vars(state).values()),
            rods.ei[part],
            rods.ea[part],
            rods.weight[part],
            rods.start_direction[part],
            rods.end_direction[part],
            rods.clamp_start[part],
            rods.clamp_end[part],
            rods.free_end[part],
            rods.end_load[part],
            rods.guides[part],
            rods.guide_stiffness[part],
            rods.solids,
            rods.radius[part],
            rods.turns[part],
            rods.shifts[part],
            rods.blind[part],
            warm,
            rods.twisting[part],
            rods.start_frame[part],
            rods.end_frame[part],
            pulls[part],
            pull is not None,
            most_steps,
            TOLERANCE,
            TENSION_TOLERANCE,
            STEP_CAP,
            out.converged[part],
            out.stable[part],
            stuck[part],
            out.residual[part],
            out.steps[part],
        )

    shared(run, rods.size)
    return stuck


def leave_saddle(rods: Rods, state: State, row: int) -> None:
    """Push one rod off a saddle, along its most unstable direction, towards lower load energy."""
    one = np.array([row])
    linear = assemble(rods.take(one), state.take(one))
    stop = state.nodes.shape[1] - (0 if rods.free_end[row] else 1)
    width = linear.band.shape[-1]
    band = linear.band[0, 1:stop].reshape(-1, width).T
    _, vector = eig_banded(band, select="i", select_range=(0, 0))
    push = vector[:, 0].reshape(-1, 3)
    push *= 0.3 * state.edge[row] / np.abs(push).max()
    if push[:, 2].sum() > 0.0:
        push = -push
    state.nodes[row, 1:stop] += push
