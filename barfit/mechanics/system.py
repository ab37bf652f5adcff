"""The Newton system of a batch of rods: what guides, loads, bending and tension add up to.

The mixed system in nodes and tensions is reduced to the nodes exactly; see invariant 2 of
:mod:`barfit.mechanics.rod`. The result is a symmetric band of half-width 8 (11 with guides).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.mechanics import kernels
from barfit.mechanics.guides import GuideTerms, add_guides
from barfit.mechanics.rod import Rods, State, load_force


def bandwidth(rods: Rods) -> int:
    """Half-bandwidth: a node reaches two neighbours in bending; a guide ties four nodes."""
    return 11 if rods.guides.shape[1] else 8


@dataclass(frozen=True)
class Linear:
    """One Newton system of a batch, tensions eliminated.

    force (B, N, 3): gradient of the Lagrangian, N; gap (B, N-1): edge length minus what tension
    and rest length make it, mm; tangent (B, N-1, 3); band (B, N, 3, k+1): upper band storage of
    LAPACK, transposed, with node 0 to be sliced off; right (B, N, 3): right-hand side;
    guides: what the guides' own step is computed from, None without guides.
    """

    force: np.ndarray
    gap: np.ndarray
    tangent: np.ndarray
    band: np.ndarray
    right: np.ndarray
    guides: GuideTerms | None


def assemble(rods: Rods, state: State) -> Linear:
    """The Newton system of a batch at a state; ``state.guide_at`` is brought up to date.

    With K the Hessian of the Lagrangian and G the gradient of the edge lengths, the mixed system
    [K, G'; G, -l/EA] (dx, dT) = -(force, gap) becomes (K + EA/l G'G) dx = -force - EA/l G' gap.
    """
    size, nodes = state.nodes.shape[:2]
    gap, tangent = np.empty((size, nodes - 1)), np.empty((size, nodes - 1, 3))
    band = np.zeros((size, nodes, 3, bandwidth(rods) + 1))
    force, right = load_force(rods, state), np.zeros((size, nodes, 3))
    kernels.add_bending(
        state.nodes,
        state.edge,
        rods.ei,
        rods.clamp_start,
        rods.clamp_end,
        rods.start_direction,
        rods.end_direction,
        force,
        band,
    )
    right -= force
    tensile = np.zeros_like(force)
    kernels.add_edges(
        state.nodes, state.tensions, state.edge, rods.ea, tensile, right, gap, tangent, band
    )
    force += tensile
    right -= tensile
    terms = None
    if rods.guides.shape[1]:
        terms = add_guides(rods, state, force, right, band)
    return Linear(force, gap, tangent, band, right, terms)
