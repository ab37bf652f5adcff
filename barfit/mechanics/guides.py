"""Guides: rings through which a rod slides freely.

A ring is a stiff spring between its centre and the nearest point of the rod. The rod between its
nodes is the Catmull-Rom curve through them, so that neither force nor stiffness jumps by more
than the discretisation error as a node passes through the ring. The nearest point is eliminated
(it is where the spring is shortest), which leaves sliding free: no force along the rod.

The spring's force is an unknown of its own, as the tensions are: a step that moves the rod along
itself by a little leaves the ring's centre by much on the scale of a stiff spring, and a stiffness
taken from that false force sends Newton's method astray (seen: no convergence beyond 8 N of pull
on a 0.06 N m2 cable through three rings; with the force as an unknown, five steps).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.mechanics.rod import Rods, State

_NEAREST_STEPS = 6
_NEAR_ENOUGH = 1e-9  # edges

# Catmull-Rom weights of the four nodes as polynomials 1, f, f^2, f^3 in the fraction f, and their
# first and second derivatives: one (4, 12) matrix, so that one product gives all three.
_CUBIC = 0.5 * np.array([[0, -1, 2, -1], [2, 0, -5, 3], [0, 1, 4, -3], [0, 0, -1, 1]], dtype=float)
_SLOPE = np.column_stack((_CUBIC[:, 1], 2 * _CUBIC[:, 2], 3 * _CUBIC[:, 3], np.zeros(4)))
_BEND = np.column_stack((2 * _CUBIC[:, 2], 6 * _CUBIC[:, 3], np.zeros((4, 2))))
_WEIGHTS = np.concatenate((_CUBIC, _SLOPE, _BEND)).T


def _upper_entries() -> tuple[np.ndarray, ...]:
    """Nodes a <= b, coordinates i, j of the upper triangle of the four nodes' 12 x 12 Hessian, and
    the flat position of each entry in a band of half-width 11, counted from the first node.
    """
    found = [
        (a, b, i, j, (3 * b + j) * 12 + 11 - 3 * (b - a) + i - j)
        for a in range(4)
        for b in range(a, 4)
        for i in range(3)
        for j in range(i if a == b else 0, 3)
    ]
    return tuple(np.array(found).T)


_ENTRIES = _upper_entries()


def nearest(
    rods: Rods, state: State
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Where the rod is nearest to each guide, found from ``state.guide_at``, which is updated.

    Returns the first of the four nodes (B, K), their weights and the derivative of the weights
    (B, K, 4), the offset from guide to rod (B, K, 3) mm, and the tangent and second derivative of
    the offset by the edge count stacked as (2, B, K, 3).
    """
    last = state.nodes.shape[1] - 1
    rows = np.arange(rods.size)[:, None, None]
    at = state.guide_at
    for _ in range(_NEAREST_STEPS):
        first = np.clip(at.astype(int), 1, last - 2) - 1
        f = at - (first + 1)
        powers = np.stack((np.ones_like(f), f, f * f, f * f * f), -1)
        weights = (powers @ _WEIGHTS).reshape(*f.shape, 3, 4)
        four = state.nodes[rows, first[:, :, None] + np.arange(4)]
        curve = weights @ four
        offset, slope, bend = curve[:, :, 0] - rods.guides, curve[:, :, 1], curve[:, :, 2]
        square = _dot(slope, slope)
        step = -_dot(slope, offset) / np.maximum(square + _dot(bend, offset), 0.25 * square)
        if np.abs(step).max() < _NEAR_ENOUGH:
            break
        at = np.clip(at + np.clip(step, -0.7, 0.7), 0.0, float(last))
    state.guide_at = at
    return first, weights[:, :, 0], weights[:, :, 1], offset, np.stack((slope, bend))


def _dot(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    dot: np.ndarray = np.einsum("bki,bki->bk", a, b)
    return dot


def guide_energy(rods: Rods, state: State) -> np.ndarray:
    """Energy of the guide springs (B,), N mm."""
    if not rods.guides.shape[1]:
        return np.zeros(rods.size)
    _, _, _, offset, _ = nearest(rods, state)
    return 0.5 * np.einsum("bk,bki,bki->b", rods.guide_stiffness, offset, offset)


@dataclass(frozen=True)
class GuideTerms:
    """What one Newton step needs of the guides again once the nodes' step is known.

    first (B, K), weights (B, K, 4), offset and slope (B, K, 3), coupling (B, K, 4, 3) between the
    place of the guide along the rod and the nodes, steep (B, K) its second derivative.
    """

    first: np.ndarray
    weights: np.ndarray
    offset: np.ndarray
    slope: np.ndarray
    coupling: np.ndarray
    steep: np.ndarray


def add_guides(
    rods: Rods, state: State, force: np.ndarray, right: np.ndarray, band: np.ndarray
) -> GuideTerms:
    """Add the guides to the Lagrangian's gradient, the right-hand side and the band, in place.

    With f the pull on a guide, k its stiffness, w the weights, s the slope and b the bend of the
    rod there, the Lagrangian f.(p - guide) - f.f/2k, stationary in the place along the rod too,
    gives k w w' I - c c'/D for the Hessian, c_a = k w_a s + w_a' f and D = k s.s + f.b.
    """
    first, w, w1, offset, (slope, bend) = nearest(rods, state)
    k = rods.guide_stiffness
    pull = state.guide_pull
    ks = k[:, :, None] * slope
    steep = np.einsum("bki,bki->bk", ks, slope) + np.einsum("bki,bki->bk", pull, bend)
    steep = np.where(k > 0.0, steep, 1.0)
    c = ks[:, :, None, :] * w[..., None] + pull[:, :, None, :] * w1[..., None]
    hessian = -np.einsum("bk,bkai,bkcj->bkacij", 1.0 / steep, c, c)
    hessian[..., [0, 1, 2], [0, 1, 2]] += (k[..., None, None] * w[..., :, None] * w[..., None, :])[
        ..., None
    ]
    a, b, i, j, at = _ENTRIES
    width = band.shape[-1]
    flat = band.reshape(rods.size, -1)
    rows = np.arange(rods.size)[:, None]
    spring = k[:, :, None] * offset
    for guide in range(k.shape[1]):  # one by one: two guides may touch the same nodes
        nodes = first[:, guide, None] + np.arange(4)
        force[rows, nodes] += w[:, guide, :, None] * pull[:, guide, None, :]
        right[rows, nodes] -= w[:, guide, :, None] * spring[:, guide, None, :]
        where = 3 * width * first[:, guide, None] + at
        flat[rows, where] += hessian[:, guide, a, b, i, j]
    return GuideTerms(first, w, offset, slope, c, steep)


def pull_step(rods: Rods, state: State, terms: GuideTerms, step: np.ndarray) -> np.ndarray:
    """The change of the guides' pulls (B, K, 3) that belongs to a step of the nodes (B, N, 3)."""
    rows = np.arange(rods.size)[:, None, None]
    four = step[rows, terms.first[:, :, None] + np.arange(4)]
    along = -np.einsum("bkai,bkai->bk", terms.coupling, four) / terms.steep
    moved = np.einsum("bka,bkai->bki", terms.weights, four) + along[:, :, None] * terms.slope
    return rods.guide_stiffness[:, :, None] * (terms.offset + moved) - state.guide_pull


def spring_pulls(rods: Rods, state: State) -> np.ndarray:
    """The pulls (B, K, 3) that the offsets of a state amount to, N."""
    if not rods.guides.shape[1]:
        return np.zeros_like(state.guide_pull)
    _, _, _, offset, _ = nearest(rods, state)
    return rods.guide_stiffness[:, :, None] * offset
