"""The Newton system of a batch of rods: what guides, loads, bending and tension add up to.

The mixed system in nodes and tensions is reduced to the nodes exactly; see invariant 2 of
:mod:`barfit.mechanics.rod`. The result is a symmetric band of half-width 8 (11 with guides).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.mechanics.guides import GuideTerms, add_guides
from barfit.mechanics.rod import (
    Rods,
    State,
    along_edges,
    bending_force,
    edges,
    load_force,
)

# position of block entry (row c, column d) among the six different ones of a symmetric 3 x 3
_COMPONENT = np.array([[0, 3, 4], [3, 1, 5], [4, 5, 2]])


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


def assemble(rods: Rods, state: State, bending: np.ndarray) -> Linear:
    """The Newton system of a batch at a state.

    ``bending`` is :func:`bending_band` for the same rods and edge. With K the Hessian of the
    Lagrangian and G the gradient of the edge lengths, the mixed system
    [K, G'; G, -l/EA] (dx, dT) = -(force, gap) becomes (K + EA/l G'G) dx = -force - EA/l G' gap.
    """
    length, tangent = edges(state)
    stiff = (rods.ea / state.edge)[:, None]
    gap = length - state.edge[:, None] * (1.0 + state.tensions / rods.ea[:, None])
    force = bending_force(rods, state) + load_force(rods, state)
    force += along_edges(tangent, state.tensions)

    band = bending.copy()
    top = band.shape[-1] - 1
    across = state.tensions / length
    block = np.empty((*length.shape, 6))
    for i, (c, d) in enumerate(((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))):
        block[:, :, i] = (stiff - across) * tangent[:, :, c] * tangent[:, :, d]
    block[:, :, :3] += across[:, :, None]
    for c in range(3):
        for d in range(3):
            part = block[:, :, _COMPONENT[c, d]]
            band[:, 1:, d, top - 3 + c - d] -= part
            if c <= d:
                band[:, 1:, d, top + c - d] += part
                band[:, :-1, d, top + c - d] += part
    right = -force - along_edges(tangent, stiff * gap)
    terms = None
    if rods.guides.shape[1]:
        terms = add_guides(rods, state, force, right, band)
    return Linear(force, gap, tangent, band, right, terms)
