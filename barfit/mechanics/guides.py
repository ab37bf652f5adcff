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

from barfit.mechanics import kernels
from barfit.mechanics.rod import Rods, State

_NEAREST_STEPS = 6
_NEAR_ENOUGH = 1e-9  # edges


@dataclass(frozen=True)
class Nearest:
    """Where a batch of rods is nearest to its guides.

    first (B, K): the first of the four nodes that carry the rod there; weights, slopes (B, K, 4):
    the nodes' shares in its place, and their derivative by the place along the rod; offset
    (B, K, 3) mm from guide to rod; slope, bend (B, K, 3): first and second derivative of the
    offset by the place along the rod, counted in edges.
    """

    first: np.ndarray
    weights: np.ndarray
    slopes: np.ndarray
    offset: np.ndarray
    slope: np.ndarray
    bend: np.ndarray


def nearest(rods: Rods, state: State) -> Nearest:
    """Where the rods are nearest to their guides, looked for from ``state.guide_at``, which is
    moved there.
    """
    shape = rods.guide_stiffness.shape
    found = Nearest(
        np.zeros(shape, np.int64),
        np.zeros((*shape, 4)),
        np.zeros((*shape, 4)),
        np.zeros((*shape, 3)),
        np.zeros((*shape, 3)),
        np.zeros((*shape, 3)),
    )
    kernels.nearest_points(
        state.nodes,
        rods.guides,
        rods.guide_stiffness,
        state.guide_at,
        *vars(found).values(),
        _NEAREST_STEPS,
        _NEAR_ENOUGH,
    )
    return found


def guide_energy(rods: Rods, state: State) -> np.ndarray:
    """Energy of the guide springs (B,), N mm."""
    if not rods.guides.shape[1]:
        return np.zeros(rods.size)
    offset = nearest(rods, state).offset
    return 0.5 * np.einsum("bk,bki,bki->b", rods.guide_stiffness, offset, offset)


@dataclass(frozen=True)
class GuideTerms:
    """What one Newton step needs of the guides again once the nodes' step is known.

    ``at``: where they are; coupling (B, K, 4, 3) between the place along the rod and the nodes,
    steep (B, K) the second derivative by that place.
    """

    at: Nearest
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
    at = nearest(rods, state)
    shape = rods.guide_stiffness.shape
    terms = GuideTerms(at, np.zeros((*shape, 4, 3)), np.empty(shape))
    kernels.add_guides(
        rods.guide_stiffness,
        state.guide_pull,
        *vars(at).values(),
        force,
        right,
        band,
        terms.coupling,
        terms.steep,
    )
    return terms


def pull_step(rods: Rods, state: State, terms: GuideTerms, step: np.ndarray) -> np.ndarray:
    """The change of the guides' pulls (B, K, 3) that belongs to a step of the nodes (B, N, 3)."""
    rows = np.arange(rods.size)[:, None, None]
    four = step[rows, terms.at.first[:, :, None] + np.arange(4)]
    along = -np.einsum("bkai,bkai->bk", terms.coupling, four) / terms.steep
    moved = np.einsum("bka,bkai->bki", terms.at.weights, four) + along[:, :, None] * terms.at.slope
    return rods.guide_stiffness[:, :, None] * (terms.at.offset + moved) - state.guide_pull


def spring_pulls(rods: Rods, state: State) -> np.ndarray:
    """The pulls (B, K, 3) that the offsets of a state amount to, N."""
    if not rods.guides.shape[1]:
        return np.zeros_like(state.guide_pull)
    offset = nearest(rods, state).offset
    return rods.guide_stiffness[:, :, None] * offset
