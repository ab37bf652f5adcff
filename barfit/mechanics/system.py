"""The Newton system of a batch of rods: what guides, loads, bending and tension add up to.

The mixed system in nodes and tensions is reduced to the nodes exactly; see invariant 2 of
:mod:`barfit.mechanics.rod`. The result is a symmetric band of half-width 8 (11 with guides).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.mechanics.contact import places
from barfit.mechanics.contact_kernels import add_contacts
from barfit.mechanics.kernels import ring_buffers
from barfit.mechanics.newton_loop import assemble_rod
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.twist_kernels import add_twist


def bandwidth(rods: Rods) -> int:
    """Half-bandwidth: a node reaches two neighbours in bending; guides and contact tie four."""
    return 11 if rods.guides.shape[1] or len(rods.solids.kind) else 8


@dataclass(frozen=True)
class Linear:
    """One Newton system of a batch, tensions eliminated.

    force (B, N, 3): gradient of the Lagrangian, N; gap (B, N-1): edge length minus what tension
    and rest length make it, mm; tangent (B, N-1, 3); band (B, N, 3, k+1): upper band storage of
    LAPACK, transposed, with node 0 to be sliced off; right (B, N, 3): right-hand side.
    """

    force: np.ndarray
    gap: np.ndarray
    tangent: np.ndarray
    band: np.ndarray
    right: np.ndarray


def assemble(rods: Rods, state: State) -> Linear:
    """The Newton system of a batch at a state; ``state.guide_at`` is brought up to date.

    With K the Hessian of the Lagrangian and G the gradient of the edge lengths, the mixed system
    [K, G'; G, -l/EA] (dx, dT) = -(force, gap) becomes (K + EA/l G'G) dx = -force - EA/l G' gap.
    """
    size, nodes = state.nodes.shape[:2]
    linear = Linear(
        np.zeros((size, nodes, 3)),
        np.empty((size, nodes - 1)),
        np.empty((size, nodes - 1, 3)),
        np.zeros((size, nodes, 3, bandwidth(rods) + 1)),
        np.zeros((size, nodes, 3)),
    )
    for b in range(size):
        force, gap, tangent, band, right = (array[b] for array in vars(linear).values())
        rod = rods.rod(b)
        assemble_rod(
            state.nodes[b],
            state.tensions[b],
            float(state.edge[b]),
            state.guide_at[b],
            state.guide_pull[b],
            rod,
            force,
            right,
            gap,
            tangent,
            band,
            ring_buffers(rods.guides.shape[1]),
        )
        if rods.twisting[b] > 0.0:
            moment, slope = state.twist_moment[b], np.empty_like(force)
            ends = rod.start_direction, rod.end_direction
            add_twist(state.nodes[b], *ends, moment, slope, band)
            force += moment * slope
            right -= moment * slope
        if len(rods.solids.kind):
            near = places(rods, state, b)
            many = len(near.place)
            add_contacts(state.nodes[b], rods.around(b), many, near, force, right, band)
    return linear
