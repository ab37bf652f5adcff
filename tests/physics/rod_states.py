"""Batches of rods in arbitrary states, and an independent second variation, for the rod's tests."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from barfit.mechanics import Shape, Span
from barfit.mechanics.guides import spring_pulls
from barfit.mechanics.rod import Rods, State


def unit(vector: object) -> np.ndarray:
    """The vector scaled to length one."""
    v = np.asarray(vector, dtype=float)
    return v / np.linalg.norm(v)


def crooked_batch(nodes: int = 12, guides: int = 0, seed: int = 3) -> tuple[Rods, State]:
    """Three rods far from rest: clamped, pinned at the far end, and free at the far end."""
    rng = np.random.default_rng(seed)
    edge = np.array([9.0, 11.0, 10.0])
    along = np.arange(nodes)[None, :, None] * np.array([0.9, 0.3, 0.2]) * edge[:, None, None]
    x = along + rng.normal(scale=1.0, size=(3, nodes, 3))
    at = np.array([[3.3, 7.6]])[:, :guides].repeat(3, axis=0)
    rings = np.stack(
        [[x[b, int(a)] * (1 - a % 1) + x[b, int(a) + 1] * (a % 1) for a in at[b]] for b in range(3)]
    ).reshape(3, guides, 3)
    rings = rings + rng.normal(scale=0.3, size=rings.shape)
    directions = rng.normal(size=(2, 3, 3))
    directions /= np.linalg.norm(directions, axis=2, keepdims=True)
    rods = Rods(
        ei=np.array([3e4, 5e4, 8e4]),
        ea=np.array([4e5, 3e5, 5e5]),
        weight=np.array([0.02, 0.0, 0.05]),
        start=x[:, 0],
        end=x[:, -1],
        start_direction=directions[0],
        end_direction=directions[1],
        clamp_start=np.ones(3),
        clamp_end=np.array([1.0, 0.0, 0.0]),
        free_end=np.array([False, False, True]),
        end_load=np.array([[0.0, 0, 0], [0, 0, 0], [0.4, -0.7, 0.2]]),
        guides=rings,
        guide_stiffness=np.full((3, guides), 40.0),
    )
    tensions = rng.normal(scale=5.0, size=(3, nodes - 1))
    state = State(x, tensions, edge, at.copy(), np.zeros_like(rings))
    return rods, pulling(rods, state)


def pulling(rods: Rods, state: State) -> State:
    """The state with the guides' pulls that their springs have there."""
    if not rods.guides.shape[1]:
        return state
    return replace(state, guide_pull=spring_pulls(rods, state.copy()))


def least_curvature_of_energy(shape: Shape, span: Span) -> float:
    """The least eigenvalue of the second variation at fixed edge lengths, over EI/l³.

    Written from the energy alone: bending EI/(2 l³)·|x'' differences|² with half vertices at the
    clamps, plus the multipliers that balance it, found by least squares. Without guides.
    Above zero: a stable rest shape.
    """
    x = np.asarray(shape.points)
    n = len(x)
    edge = shape.length / (n - 1)
    rows = []
    for i in range(1, n - 1):
        row = np.zeros(n)
        row[i - 1 : i + 2] = 1.0, -2.0, 1.0
        rows.append(row)
    for clamp, i in ((span.start_direction, 0), (span.end_direction, n - 2)):
        if clamp is not None:
            row = np.zeros(n)
            row[i : i + 2] = -np.sqrt(2), np.sqrt(2)
            rows.append(row)
    second = np.array(rows)
    bending = np.kron(second.T @ second, np.eye(3))  # over EI/l³

    goal = np.zeros((len(rows), 3))
    clamps = [d for d in (span.start_direction, span.end_direction) if d is not None]
    for row, direction in zip(range(n - 2, len(rows)), clamps, strict=True):
        goal[row] = np.sqrt(2) * edge * unit(direction)
    force = (second.T @ (second @ x - goal)).ravel()
    force[2::3] += span.weight * edge**4 / span.bending_stiffness

    e = np.diff(x, axis=0)
    length = np.linalg.norm(e, axis=1)
    tangent = e / length[:, None]
    jacobian = np.zeros((n - 1, 3 * n))
    for i in range(n - 1):
        jacobian[i, 3 * i : 3 * i + 3] = -tangent[i]
        jacobian[i, 3 * i + 3 : 3 * i + 6] = tangent[i]
    free = slice(3, 3 * n if span.end is None else 3 * n - 3)
    multipliers = -np.linalg.lstsq(jacobian[:, free].T, force[free], rcond=None)[0]
    hessian = bending
    for i in range(n - 1):
        across = multipliers[i] / length[i] * (np.eye(3) - np.outer(tangent[i], tangent[i]))
        a, b = slice(3 * i, 3 * i + 3), slice(3 * i + 3, 3 * i + 6)
        hessian[a, a] += across
        hessian[b, b] += across
        hessian[a, b] -= across
        hessian[b, a] -= across
    rank = n - 1
    _, _, basis = np.linalg.svd(jacobian[:, free])
    null = basis[rank:]
    return float(np.linalg.eigvalsh(null @ hessian[free, free] @ null.T)[0])
