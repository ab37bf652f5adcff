"""Forces and Hessians of the discrete rod against finite differences of its energy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rod_states import crooked_batch, pulling

from barfit.mechanics.guides import guide_energy
from barfit.mechanics.kernels import add_bending, add_loads
from barfit.mechanics.rod import Rods, State, bending_energy, edges, load_energy
from barfit.mechanics.system import assemble, bandwidth

STEP = 1e-5


def moved(state: State, node: int, axis: int, by: float) -> State:
    other = state.copy()
    other.nodes[:, node, axis] += by
    return other


def difference(function: object, state: State, node: int, axis: int) -> np.ndarray:
    up, down = moved(state, node, axis, STEP), moved(state, node, axis, -STEP)
    return (function(up) - function(down)) / (2 * STEP)  # type: ignore[operator]


def held(rods: Rods, nodes: int) -> np.ndarray:
    """Which nodes (B, N) are held in place, where forces mean nothing."""
    out = np.zeros((rods.size, nodes), bool)
    out[:, 0] = True
    out[:, -1] = ~rods.free_end
    return out


def bending_force(rods: Rods, state: State) -> np.ndarray:
    """The compiled gradient of the bending energy (B, N, 3)."""
    force = np.zeros_like(state.nodes)
    band = np.zeros((*state.nodes.shape, bandwidth(rods) + 1))
    for b in range(rods.size):
        add_bending(
            state.nodes[b],
            state.edge[b],
            rods.ei[b],
            rods.clamp_start[b],
            rods.clamp_end[b],
            rods.start_direction[b],
            rods.end_direction[b],
            force[b],
            band[b],
        )
    return force


def load_force(rods: Rods, state: State) -> np.ndarray:
    """The compiled gradient of the load potential (B, N, 3)."""
    force = np.zeros_like(state.nodes)
    for b in range(rods.size):
        add_loads(state.edge[b], rods.weight[b], rods.free_end[b], rods.end_load[b], force[b])
    return force


@pytest.mark.parametrize(
    ("energy", "force"),
    [(bending_energy, bending_force), (load_energy, load_force)],
    ids=["bending", "load"],
)
def test_force_is_the_gradient(energy: object, force: object) -> None:
    rods, state = crooked_batch()
    got = force(rods, state)  # type: ignore[operator]
    skip = held(rods, state.nodes.shape[1])
    for node in range(1, state.nodes.shape[1]):
        for axis in range(3):
            wanted = difference(lambda s: energy(rods, s), state, node, axis)  # type: ignore[operator]
            free = ~skip[:, node]
            assert got[free, node, axis] == pytest.approx(wanted[free], rel=1e-6, abs=1e-4)


@pytest.mark.parametrize("guides", [0, 2])
def test_system_is_the_gradient_of_the_lagrangian(guides: int) -> None:
    """Energy plus tension times edge length, differentiated by every node; and the gaps."""
    rods, state = crooked_batch(guides=guides)
    linear = assemble(rods, state.copy())

    def lagrangian(at: State) -> np.ndarray:
        length, _ = edges(at)
        energy = bending_energy(rods, at) + load_energy(rods, at) + guide_energy(rods, at)
        return np.asarray(energy + (at.tensions * length).sum(1))

    skip = held(rods, state.nodes.shape[1])
    for node in range(1, state.nodes.shape[1]):
        for axis in range(3):
            wanted = difference(lagrangian, state, node, axis)
            free = ~skip[:, node]
            got = linear.force[free, node, axis]
            assert got == pytest.approx(wanted[free], rel=1e-6, abs=1e-3)
    length = np.linalg.norm(np.diff(state.nodes, axis=1), axis=2)
    rest = state.edge[:, None] * (1 + state.tensions / rods.ea[:, None])
    assert linear.gap == pytest.approx(length - rest)


@pytest.mark.parametrize("guides", [0, 2])
def test_band_is_the_hessian(guides: int) -> None:
    """The band against differences of the force, with the tensions following the edges.

    Eliminating the tensions from the mixed system leaves the derivative of the force in which
    each tension grows by EA/l times the lengthening of its edge, and each guide pulls as its
    spring does.
    """
    rods, state = crooked_batch(guides=guides)
    nodes = state.nodes.shape[1]
    band = bandwidth(rods)
    linear = assemble(rods, state.copy())
    reached, _ = edges(state)
    stiff = (rods.ea / state.edge)[:, None]

    def force(at: State) -> np.ndarray:
        length, _ = edges(at)
        other = replace(at, tensions=state.tensions + stiff * (length - reached))
        return assemble(rods, pulling(rods, other)).force

    full = np.zeros((rods.size, 3 * nodes, 3 * nodes))
    columns = linear.band.reshape(rods.size, 3 * nodes, band + 1)
    for column in range(3 * nodes):
        for row in range(max(0, column - band), column + 1):
            entry = columns[:, column, band + row - column]
            full[:, row, column] = full[:, column, row] = entry
    for node in range(1, nodes):
        for axis in range(3):
            wanted = difference(force, state, node, axis)
            for b in range(rods.size):
                last = nodes if rods.free_end[b] else nodes - 1
                if node >= last:
                    continue
                got = full[b, :, 3 * node + axis].reshape(nodes, 3)
                scale = np.abs(full[b]).max()
                assert got[1:last] == pytest.approx(wanted[b, 1:last], abs=2e-6 * scale)


def test_rigid_motion_leaves_the_energy() -> None:
    rods, state = crooked_batch()
    weightless = replace(rods, weight=np.zeros(3), end_load=np.zeros((3, 3)))
    angle = 0.7
    turn = np.array(
        [[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]]
    )
    turned = replace(
        weightless,
        start_direction=rods.start_direction @ turn.T,
        end_direction=rods.end_direction @ turn.T,
    )
    other = replace(state, nodes=state.nodes @ turn.T + [3.0, -8.0, 40.0])
    assert bending_energy(turned, other) == pytest.approx(bending_energy(weightless, state))
