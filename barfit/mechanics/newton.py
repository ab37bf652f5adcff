"""Newton's method on a batch of rods, guarded, with an honest status for each.

The linear algebra is a Cholesky factorisation of a symmetric band. Where it fails the rod is not at
a stable point, and the matrix is shifted (Levenberg 1944) until it holds; a rod is only called
converged when its last step was small, whole and unshifted.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import eig_banded
from scipy.linalg.lapack import dpbsv

from barfit.mechanics import kernels
from barfit.mechanics.guides import guide_energy, pull_step, spring_pulls
from barfit.mechanics.rod import (
    Rods,
    State,
    along_edges,
    bending_energy,
    bending_force,
    edges,
    end_offsets,
    load_energy,
    second_differences,
)
from barfit.mechanics.system import Linear, assemble

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


def newton(
    rods: Rods, state: State, pull: np.ndarray | None = None, most_steps: int = MOST_STEPS
) -> Outcome:
    """Settle a batch in place; rods that run away are stopped and not called converged.

    With ``pull`` (B,) N the lengths are unknowns too: each rod takes
    the length at which it pulls so hard, which makes bending energy + pull * length least.
    """
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        return _newton(rods, state, pull, most_steps)


def _newton(rods: Rods, state: State, pull: np.ndarray | None, most_steps: int) -> Outcome:
    size = rods.size
    out = Outcome(
        np.zeros(size, bool), np.zeros(size, bool), np.full(size, np.inf), np.zeros(size, int)
    )
    active = np.arange(size)
    now_rods, now = rods, state.copy()
    for _ in range(most_steps):
        linear = assemble(now_rods, now)
        if pull is None:
            step, _, stable = solve(now_rods, linear)
            edge_step = np.zeros(len(active))
        else:
            step, edge_step, stable = _solve_with_length(now_rods, now, linear, pull[active])
        tension_step = _tension_step(now_rods, now, linear, step, edge_step)
        moved = np.sqrt(np.einsum("bni,bni->bn", step, step).max(1))
        part = np.minimum(1.0, STEP_CAP * now.edge / np.maximum(moved, 1e-300))
        part = np.minimum(part, 0.2 * now.edge / np.maximum(np.abs(edge_step), 1e-300))
        small = moved < TOLERANCE * now.edge
        now.nodes += part[:, None, None] * step
        now.tensions += part[:, None] * tension_step
        now.edge += part * edge_step
        if linear.guides is not None:
            change = pull_step(now_rods, now, linear.guides, step)
            now.guide_pull += part[:, None, None] * change
        for row in np.flatnonzero(~stable & small):
            leave_saddle(now_rods, now, linear, int(row))
        finite = np.isfinite(moved)
        scale = np.abs(now.tensions).max(1) + 40.0 * now_rods.ei / now.length**2
        small &= np.abs(tension_step).max(1) < TENSION_TOLERANCE * scale
        out.steps[active] += 1
        out.stable[active] = stable
        out.residual[active] = _force_left(now_rods, linear)
        done = stable & (part == 1.0) & small & finite
        out.converged[active] = done
        leave = done | ~finite
        if leave.any():
            state.put(active[leave], now.take(leave))
            if leave.all():
                return out
            stay = ~leave
            active, now_rods, now = active[stay], now_rods.take(stay), now.take(stay)
    state.put(active, now)
    return out


def solve(
    rods: Rods, linear: Linear, extra: np.ndarray | None = None
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Solve each rod's band for ``linear.right`` and, if given, for ``extra`` (B, N, 3).

    Returns both solutions (B, N, 3), zero at held nodes, and whether each band was positive
    definite as it stood (B,); where not, the solutions belong to a shifted band.
    """
    size, nodes = linear.right.shape[:2]
    right = linear.right[None] if extra is None else np.stack((linear.right, extra))
    found = np.zeros(right.shape)
    stable = np.empty(size, bool)
    kernels.solve_bands(linear.band, right, rods.free_end, found, stable)
    for row in np.flatnonzero(~stable):
        stop = nodes if rods.free_end[row] else nodes - 1
        band = linear.band[row, 1:stop].reshape(-1, linear.band.shape[-1]).T
        x = _solve_shifted(band, right[:, row, 1:stop].reshape(len(right), -1))
        found[:, row, 1:stop] = x.T.reshape(len(right), -1, 3)
    return found[0], found[-1], stable


def _solve_shifted(band: np.ndarray, right: np.ndarray) -> np.ndarray:
    """The solution with the smallest shift of a growing row that makes the band positive."""
    if not np.isfinite(band).all():
        return np.full(right.T.shape, np.nan)
    shifted = band.copy()
    shift = 1e-7 * np.abs(band[-1]).max()
    for _ in range(12):
        shifted[-1] = band[-1] + shift
        _, x, failed = dpbsv(shifted, right.T)
        if not failed:
            return x
        shift *= 10.0
    return np.full(right.T.shape, np.nan)


def _tension_step(
    rods: Rods, state: State, linear: Linear, step: np.ndarray, edge_step: np.ndarray
) -> np.ndarray:
    """The tensions' share of a step, from the second row of the mixed system."""
    stretch = np.einsum("bni,bni->bn", linear.tangent, step[:, 1:] - step[:, :-1])
    rest = (1.0 + state.tensions / rods.ea[:, None]) * edge_step[:, None]
    return (rods.ea / state.edge)[:, None] * (stretch + linear.gap - rest)


def _solve_with_length(
    rods: Rods, state: State, linear: Linear, pull: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A Newton step with the rest length of the edges as one more unknown (a bordered band)."""
    edge = state.edge
    stiff = rods.ea / edge
    grown = 1.0 + state.tensions / rods.ea[:, None]
    column = _force_by_edge(rods, state) - along_edges(linear.tangent, stiff[:, None] * grown)
    first, second = _energy_by_edge(rods, state)
    first += pull * grown.shape[1] - (state.tensions * (0.5 + 0.5 * grown)).sum(1)
    corner = second + stiff * (grown**2).sum(1)
    right = -first + stiff * (grown * linear.gap).sum(1)
    step, by_edge, stable = solve(rods, linear, column)
    below = corner - np.einsum("bni,bni->b", column, by_edge)
    edge_step = (right - np.einsum("bni,bni->b", column, step)) / below
    # a negative pivot means the energy has no minimum along the length here: go downhill instead
    downhill = below <= 0.0
    edge_step[downhill] = -0.05 * edge[downhill] * np.sign(first[downhill])
    stable &= ~downhill
    return step - edge_step[:, None, None] * by_edge, edge_step, stable


def _force_by_edge(rods: Rods, state: State) -> np.ndarray:
    """Derivative of the nodes' forces by the rest length of an edge (B, N, 3), N/mm."""
    edge = state.edge
    out = -3.0 / edge[:, None, None] * bending_force(rods, state)
    direct = (2.0 * rods.ei / edge**3)[:, None]
    out[:, 1] -= direct * rods.clamp_start[:, None] * rods.start_direction
    out[:, -2] += direct * rods.clamp_end[:, None] * rods.end_direction
    out[:, -1] -= direct * rods.clamp_end[:, None] * rods.end_direction
    out[:, :, 2] += rods.weight[:, None]
    out[:, -1, 2] -= 0.5 * rods.weight
    return out


def _energy_by_edge(rods: Rods, state: State) -> tuple[np.ndarray, np.ndarray]:
    """First and second derivative of bending and weight energy by an edge's rest length (B,)."""
    edge = state.edge
    d2 = second_differences(state.nodes)
    square = 0.5 * np.einsum("bni,bni->b", d2, d2)
    first = -3.0 * rods.ei / edge**4 * square
    second = 12.0 * rods.ei / edge**5 * square
    for offset, direction, clamp in zip(
        end_offsets(rods, state),
        (rods.start_direction, rods.end_direction),
        (rods.clamp_start, rods.clamp_end),
        strict=True,
    ):
        along = np.einsum("bi,bi->b", offset, direction)
        offset_square = np.einsum("bi,bi->b", offset, offset)
        first += rods.ei * (-2.0 * along / edge**3 - 3.0 * offset_square / edge**4)
        second += rods.ei * (
            2.0 * clamp / edge**3 + 12.0 * (along / edge**4 + offset_square / edge**5)
        )
    # line drawn through is drawn from the height halfway between the ends: there the pull is felt
    z = state.nodes[:, :, 2]
    ends = 0.5 * (z[:, 0] + z[:, -1])
    first += rods.weight * (z.sum(1) - z.shape[1] * ends)
    return first, second


def _force_left(rods: Rods, linear: Linear) -> np.ndarray:
    """Largest unbalanced force on any free node (B,), N."""
    force = np.sqrt(np.einsum("bni,bni->bn", linear.force, linear.force))
    inner = force[:, 1:-1].max(1)
    return np.where(rods.free_end, np.maximum(inner, force[:, -1]), inner)


def leave_saddle(rods: Rods, state: State, linear: Linear, row: int) -> None:
    """Push one rod off a saddle, along its most unstable direction, towards lower load energy."""
    stop = state.nodes.shape[1] - (0 if rods.free_end[row] else 1)
    width = linear.band.shape[-1]
    band = linear.band[row, 1:stop].reshape(-1, width).T
    _, vector = eig_banded(band, select="i", select_range=(0, 0))
    push = vector[:, 0].reshape(-1, 3)
    push *= 0.3 * state.edge[row] / np.abs(push).max()
    if push[:, 2].sum() > 0.0:
        push = -push
    state.nodes[row, 1:stop] += push


def descend(rods: Rods, state: State, most_steps: int = 200) -> None:
    """Bring one rod (a batch of size 1) near a stable rest shape, in place, from anywhere.

    Augmented Lagrangian (Hestenes 1969, Powell 1969) with a soft axial spring, each round a
    Newton descent with Armijo's line search: slower than :func:`newton`, but the energy can only
    fall, so it cannot wander. Meant for the few poses where Newton does not converge.
    """
    soft = replace(rods, ea=np.minimum(rods.ea, 50.0 * rods.ei / state.edge**2))
    held = state.tensions.copy()
    stiff = (soft.ea / state.edge)[:, None]
    steps = 0
    for _ in range(12):
        energy = _augmented(soft, state, held)
        while steps < most_steps:
            steps += 1
            length, _ = edges(state)
            state.tensions = held + stiff * (length - state.edge[:, None])
            state.guide_pull = spring_pulls(soft, state)
            linear = assemble(soft, state)
            linear = replace(linear, right=-linear.force)
            step, _, stable = solve(soft, linear)
            moved = float(np.abs(step).max())
            if not np.isfinite(moved):
                return
            if moved < 10 * TOLERANCE * float(state.edge[0]):
                if stable[0]:
                    break
                leave_saddle(soft, state, linear, 0)
                energy = _augmented(soft, state, held)
                continue
            slope = float((linear.force * step)[:, 1:].sum())
            part = min(1.0, 3.0 * float(state.edge[0]) / moved)
            nodes = state.nodes
            while True:
                state.nodes = nodes + part * step
                tried = _augmented(soft, state, held)
                if tried <= energy + 1e-4 * part * slope or part < 1e-6:
                    break
                part *= 0.5
            energy = tried
        length, _ = edges(state)
        change = stiff * (length - state.edge[:, None])
        held += change
        if np.abs(length / state.edge[:, None] - 1.0).max() < 1e-4 or steps >= most_steps:
            break
    state.tensions = held


def _augmented(rods: Rods, state: State, held: np.ndarray) -> float:
    """Energy plus held tension times gap plus the soft spring's energy, N mm."""
    length, _ = edges(state)
    gap = length - state.edge[:, None]
    springs = (held * gap + 0.5 * (rods.ea / state.edge)[:, None] * gap**2).sum()
    energy = bending_energy(rods, state) + load_energy(rods, state) + guide_energy(rods, state)
    return float(energy[0] + springs)
