"""A descent that cannot wander: slower than Newton's method, for the few poses where that fails.

Augmented Lagrangian (Hestenes 1969, Powell 1969) with a soft axial spring: each round is a Newton
descent with Armijo's line search on an energy that can only fall, guides and contact being plain
springs. What it leaves is near a stable rest shape, and Newton's method finishes it.
"""

from __future__ import annotations

import numpy as np

from barfit.compiled import compiled
from barfit.mechanics.band import substitute
from barfit.mechanics.contact_kernels import (
    STIFFNESS,
    Memory,
    Places,
    add_contacts,
    list_places,
    place_buffers,
    remember,
)
from barfit.mechanics.cores import shared
from barfit.mechanics.kernels import Array, Rings, Rod, nearest_points, ring_buffers
from barfit.mechanics.newton import TOLERANCE
from barfit.mechanics.newton_loop import assemble_rod, by_edge, solve_shifted
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.solid_kernels import Around

MOST_STEPS = 200
_ROUNDS = 12
_SOFT = 50.0  # times EI / edge^2: the axial spring while descending
_ARMIJO = 1e-4
_LEAST_PART = 1e-3
_LOOKS = 2  # at an energy, for each step: a descent that must look more often gets nowhere
_STEP_CAP = 3.0  # edges
_LENGTH_CAP = 0.03  # of the length, in one step
_INVERSE_STEPS = 12


def descend(
    rods: Rods, state: State, pull: np.ndarray | None = None, most_steps: int = MOST_STEPS
) -> None:
    """Bring every rod of a batch near a stable rest shape, in place, from anywhere.

    With ``pull`` (B,) N the lengths follow, each step to where they are best for the nodes as they
    are.
    """

    def run(part: slice) -> None:
        for b in range(part.start, part.stop):
            soft = min(rods.ea[b], _SOFT * rods.ei[b] / state.edge[b] ** 2)
            _descend(
                state.nodes[b],
                state.tensions[b],
                state.edge[b : b + 1],
                state.guide_at[b],
                state.guide_pull[b],
                state.memory(b),
                rods.rod(b)._replace(ea=float(soft)),
                rods.around(b),
                pull is not None,
                0.0 if pull is None else float(pull[b]),
                most_steps,
                TOLERANCE,
            )

    shared(run, rods.size, least=2)


@compiled
def _energy(
    nodes: Array, edge: float, held: Array, rod: Rod, rings: Rings, near: int, places: Places
) -> float:
    """Bending, loads, axial springs with held tensions, guide springs and contact, N mm."""
    count = nodes.shape[0]
    square = first = last = springs = height = 0.0
    for c in range(3):
        for i in range(1, count - 1):
            square += (nodes[i + 1, c] - 2.0 * nodes[i, c] + nodes[i - 1, c]) ** 2
        first += (nodes[1, c] - nodes[0, c] - edge * rod.start_direction[c]) ** 2
        last += (nodes[count - 1, c] - nodes[count - 2, c] - edge * rod.end_direction[c]) ** 2
    whole = rod.ei / edge**3 * (0.5 * square + rod.clamp_start * first + rod.clamp_end * last)
    for i in range(count - 1):
        length = 0.0
        for c in range(3):
            length += (nodes[i + 1, c] - nodes[i, c]) ** 2
        stretch = np.sqrt(length) - edge
        springs += held[i] * stretch + 0.5 * rod.ea / edge * stretch**2
        height += 0.5 * (nodes[i, 2] + nodes[i + 1, 2])
    whole += springs + rod.weight * edge * height
    if rod.free_end:
        for c in range(3):
            whole -= rod.end_load[c] * nodes[count - 1, c]
    for k in range(rod.guides.shape[0]):
        for c in range(3):
            whole += 0.5 * rod.guide_stiffness[k] * rings.offset[k, c] ** 2
    for k in range(near):
        if places.gap[k] < 0.0:
            whole += 0.5 * STIFFNESS * places.gap[k] ** 2
    return whole


@compiled
def _better_edge(
    nodes: Array,
    edge: float,
    held: Array,
    rod: Rod,
    pull: float,
    tangent: Array,
    column: Array,
) -> float:
    """The rest length of an edge at which energy + pull * length is least, nodes kept."""
    count = nodes.shape[0]
    low, high = (1.0 - _LENGTH_CAP) * edge, (1.0 + _LENGTH_CAP) * edge
    for _ in range(6):
        slope, bend = by_edge(nodes, held, edge, rod, tangent, column)
        slope += pull * (count - 1)
        for i in range(count - 1):
            length = 0.0
            for c in range(3):
                length += (nodes[i + 1, c] - nodes[i, c]) ** 2
            ratio = np.sqrt(length) / edge
            slope -= held[i] + 0.5 * rod.ea * (ratio**2 - 1.0)
            bend += rod.ea * ratio**2 / edge
        step = -slope / bend if bend > 0.0 else -np.sign(slope) * _LENGTH_CAP * edge
        found = min(max(edge + step, low), high)
        if abs(found - edge) < 1e-9 * edge:
            break
        edge = found
    return edge


@compiled
def _descend(
    nodes: Array,
    tensions: Array,
    edge_of: Array,
    guide_at: Array,
    guide_pull: Array,
    memory: Memory,
    rod: Rod,
    around: Around,
    draw: bool,
    pull: float,
    most_steps: int,
    tolerance: float,
) -> None:
    """`descend` for one rod; ``edge_of`` (1,) is its edge."""
    count, many_rings = nodes.shape[0], rod.guides.shape[0]
    solids, ea, stiffness = around.solids, rod.ea, rod.guide_stiffness
    crowded = solids.kind.shape[0] > 0
    width = 12 if many_rings or crowded else 9
    force, right = np.empty((count, 3)), np.empty((1, count, 3))
    column, mixed = np.empty((count, 3)), np.empty((count, 3))
    gap, tangent = np.empty(count - 1), np.empty((count - 1, 3))
    band, upper = np.empty((count, 3, width)), np.empty((count, width // 3, 3, 3))
    found = np.empty((1, count, 3))
    places, rings = place_buffers(count, solids.kind.shape[0]), ring_buffers(many_rings)
    held = tensions.copy()
    before = nodes.copy()
    memory.force[:] = 0.0
    steps = looks = 0
    for _ in range(_ROUNDS):
        energy = np.inf  # of the state as it is, not known yet
        part, downhill = 1.0, 0.0
        tries = 0
        while steps < most_steps and looks < _LOOKS * most_steps:
            looks += 1
            # where the rod is now: rings, places, energy
            edge = edge_of[0]
            if many_rings:
                nearest_points(nodes, rod.guides, stiffness, guide_at, rings)
            near = 0
            if crowded:
                near = list_places(nodes, edge, guide_at, rod, around, 0.0, 0.0, memory, places)
            now = _energy(nodes, edge, held, rod, rings, near, places)
            if not np.isfinite(now):
                nodes[:] = before
                return
            if tries > 0 and now > energy + _ARMIJO * part * downhill and part > _LEAST_PART:
                part *= 0.5
                nodes[:] = before + part * found[0]
                continue
            if draw and tries > 0:
                better = _better_edge(nodes, edge, held, rod, pull, tangent, column)
                if abs(better - edge) > 1e-9 * edge:
                    edge_of[0] = better
                    tries = 0  # another energy from here on
                    continue
            energy = now
            # the step from here
            steps += 1
            for i in range(count - 1):
                length = 0.0
                for c in range(3):
                    length += (nodes[i + 1, c] - nodes[i, c]) ** 2
                tensions[i] = held[i] + ea / edge * (np.sqrt(length) - edge)
            for k in range(many_rings):
                for c in range(3):
                    guide_pull[k, c] = stiffness[k] * rings.offset[k, c]
            assemble_rod(
                nodes,
                tensions,
                edge,
                guide_at,
                guide_pull,
                rod,
                force,
                mixed,
                gap,
                tangent,
                band,
                rings,
            )
            if near > 0:
                for k in range(near):
                    places.press[k] = max(-STIFFNESS * places.gap[k], 0.0)
                add_contacts(nodes, around, near, places, force, mixed, band)
            right[0] = -force
            stable = solve_shifted(band, rod.free_end, right, upper, found)
            moved = downhill = 0.0
            for i in range(1, count):
                for c in range(3):
                    moved = max(moved, abs(found[0, i, c]))
                    downhill += force[i, c] * found[0, i, c]
            if not np.isfinite(downhill):
                return
            before[:] = nodes
            if moved < 10.0 * tolerance * edge:
                if stable:
                    break
                # at rest on a saddle: leave it along the direction that the shift only just holds
                found[0] = 1.0
                found[0, 0] = 0.0
                for _ in range(_INVERSE_STEPS):
                    right[0] = found[0] / np.sqrt((found[0] ** 2).sum())
                    substitute(upper, rod.free_end, right[0], found[0])
                found[0] *= 0.3 * edge / np.abs(found[0]).max()
                nodes += found[0]
                tries = 0
                continue
            part = min(1.0, _STEP_CAP * edge / moved)
            nodes += part * found[0]
            tries = 1
        worst = 0.0
        edge = edge_of[0]
        for i in range(count - 1):
            length = 0.0
            for c in range(3):
                length += (nodes[i + 1, c] - nodes[i, c]) ** 2
            stretch = np.sqrt(length) - edge
            held[i] += ea / edge * stretch
            worst = max(worst, abs(stretch) / edge)
        if worst < 1e-4 or steps >= most_steps or looks >= _LOOKS * most_steps:
            break
    tensions[:] = held
    if crowded:
        remember(near, places, memory)
