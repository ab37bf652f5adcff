"""Guides: rings through which a rod slides freely.

A ring is a stiff spring between its centre and the nearest point of the rod. The rod between its
nodes is the Catmull-Rom curve through them, so that neither force nor stiffness jumps by more
than the discretisation error as a node passes through the ring. The nearest point is eliminated
(it is where the spring is shortest), which leaves sliding free: no force along the rod.

The spring's force is an unknown of its own, as the tensions are: a step that moves the rod along
itself by a little leaves the ring's centre by much on the scale of a stiff spring, and a stiffness
taken from that false force sends Newton's method astray (seen: no convergence beyond 8 N of pull
on a 0.06 N m2 cable through three rings; with the force as an unknown, four steps).

With f the pull on a guide, k its stiffness, w the weights of the four nodes around it, s the slope
and b the bend of the rod there, the Lagrangian f.(p - guide) - f.f/2k, stationary in the place
along the rod too, gives k w w' I - c c'/D for the Hessian, c_a = k w_a s + w_a' f and
D = k s.s + f.b. The compiled form is `barfit.mechanics.kernels.add_guides`.
"""

from __future__ import annotations

import numpy as np

from barfit.mechanics.kernels import nearest_points, ring_buffers
from barfit.mechanics.rod import Rods, State


def guide_offsets(rods: Rods, state: State) -> np.ndarray:
    """The way (B, K, 3) mm from each guide to its rod; ``state.guide_at`` is moved there."""
    out = np.zeros(rods.guides.shape)
    for b in range(rods.size):
        rings = ring_buffers(rods.guides.shape[1])
        nearest_points(
            state.nodes[b], rods.guides[b], rods.guide_stiffness[b], state.guide_at[b], rings
        )
        out[b] = rings.offset
    return out


def guide_energy(rods: Rods, state: State) -> np.ndarray:
    """Energy of the guide springs (B,), N mm."""
    offset = guide_offsets(rods, state)
    return 0.5 * np.einsum("bk,bki,bki->b", rods.guide_stiffness, offset, offset)


def spring_pulls(rods: Rods, state: State) -> np.ndarray:
    """The pulls (B, K, 3) N that the offsets of a state amount to."""
    return rods.guide_stiffness[:, :, None] * guide_offsets(rods, state)
