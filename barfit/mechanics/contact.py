"""Where rods press on solids; `contact_kernels` has the loops."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.mechanics.contact_kernels import (
    PLACES,
    Places,
    list_places,
    place_buffers,
    remembered,
)
from barfit.mechanics.rod import Rods, State


def places(rods: Rods, state: State, row: int, reach: float = 0.0) -> Places:
    """All places of one rod that are within ``reach`` mm of being too near a solid."""
    found = place_buffers(state.nodes.shape[1], len(rods.solids.kind))
    count = list_places(
        state.nodes[row],
        float(state.edge[row]),
        state.guide_at[row],
        rods.rod(row),
        rods.around(row),
        reach,
        reach,
        state.memory(row),
        found,
    )
    return Places(*(array[:count] for array in found))


@dataclass(frozen=True)
class Touches:
    """Where one rod presses on solids: solid (Q,) int, ``at`` (Q,) mm along the rod, point (Q, 3)
    mm, and the force on the rod there (Q, 3) N.
    """

    solid: np.ndarray
    at: np.ndarray
    point: np.ndarray
    force: np.ndarray


def touches(rods: Rods, state: State, row: int) -> Touches:
    """Where one settled rod presses on solids."""
    count = int((state.touch_force[row] > 0.0).sum())  # they come first
    memory = state.memory(row)
    points, normals = np.empty((count, 3)), np.empty((count, 3))
    remembered(state.nodes[row], rods.around(row), memory, points, normals)
    return Touches(
        memory.solid[:count],
        memory.place[:count] / PLACES * state.edge[row],
        points,
        memory.force[:count, None] * normals,
    )


def deepest(rods: Rods, state: State) -> np.ndarray:
    """How far (B,) mm each rod is inside a solid, at its deepest place; 0 for none."""
    out = np.zeros(rods.size)
    if len(rods.solids.kind):
        for row in range(rods.size):
            out[row] = max(0.0, -places(rods, state, row).gap.min(initial=0.0))
    return out
