"""Compiled distances against the plain ones, and contact's forces against differences."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rod_states import crooked_batch

from barfit.geometry import solids as plain
from barfit.mechanics.contact import places
from barfit.mechanics.contact_kernels import STIFFNESS
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.solid_kernels import (
    ARC,
    BOX,
    CAPSULE,
    ELLIPSOID,
    SIZES,
    Solids,
    at_least,
    distance,
)
from barfit.mechanics.system import assemble

PITCH = 0.4
TURN = [np.cos(PITCH), np.sin(PITCH)]


def one_solid(kind: int, numbers: list[float]) -> Solids:
    size = np.zeros((1, SIZES))
    size[0, : len(numbers)] = numbers
    return Solids(np.array([kind]), np.zeros(1, np.int64), size, np.zeros(0))


def felt(solid: Solids, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    gradients = np.empty_like(points)
    found = np.array([distance(solid, 0, *point, gradients[k]) for k, point in enumerate(points)])
    least = np.array([at_least(solid, 0, *point, np.empty(3)) for point in points])
    assert (least <= found + 1e-9).all()
    return found, gradients


@pytest.mark.parametrize("solid", ["capsule", "ball", "box", "ellipsoid", "flat ellipsoid"])
def test_compiled_distances_are_the_plain_ones(solid: str) -> None:
    points = np.random.default_rng(3).uniform(-300, 300, (800, 3))
    match solid:
        case "capsule":
            numbers = [10, 20, 30, -50, 80, 100, 25]
            mine = one_solid(CAPSULE, numbers)
            theirs = plain.capsule_with_gradient(points, numbers[:3], numbers[3:6], 25)
        case "ball":
            mine = one_solid(CAPSULE, [10, 20, 30, 10, 20, 30, 40])
            theirs = plain.capsule_with_gradient(points, [10, 20, 30], [10, 20, 30], 40)
        case "box":
            mine = one_solid(BOX, [10, 20, 30, 90, 60, 40, 10, *TURN])
            theirs = plain.box_with_gradient(points, [10, 20, 30], [200, 140, 100], PITCH, 10)
        case "ellipsoid":
            mine = one_solid(ELLIPSOID, [10, 20, 30, 250, 108, 41, *TURN])
            theirs = plain.ellipsoid_with_gradient(points, [10, 20, 30], [250, 108, 41], PITCH)
        case _:
            mine = one_solid(ELLIPSOID, [10, 20, 30, 24, 142, 42, *TURN])
            theirs = plain.ellipsoid_with_gradient(points, [10, 20, 30], [24, 142, 42], PITCH)
    found, gradients = felt(mine, points)
    np.testing.assert_allclose(found, theirs[0], atol=1e-8)
    np.testing.assert_allclose(gradients, theirs[1], atol=1e-7)


@pytest.mark.parametrize("angle", [0.3, 1.2, 3.0])
def test_a_bend_of_a_tube_is_as_far_as_its_centreline_less_its_radius(angle: float) -> None:
    """Against the nearest of many points of the arc."""
    out = np.array([0.6, 0.0, 0.8])
    along = np.array([0.0, 1.0, 0.0])
    bend = one_solid(ARC, [5, -8, 12, *out, *along, 80, np.cos(angle), np.sin(angle), 11])
    points = np.random.default_rng(4).uniform(-150, 150, (300, 3))
    turns = np.linspace(0, angle, 20001)[:, None]
    arc = np.array([5, -8, 12]) + 80 * (np.cos(turns) * out + np.sin(turns) * along)
    away = np.array([np.linalg.norm(arc - point, axis=1).min() for point in points])
    found, gradients = felt(bend, points)
    np.testing.assert_allclose(found, away - 11, atol=1e-4)
    np.testing.assert_allclose(np.linalg.norm(gradients, axis=1), 1.0)


def crossed() -> tuple[Rods, State]:
    """Three rods that pass through solids that have turned and moved."""
    rods, state = crooked_batch()
    middle = state.nodes[:, 5].mean(0)
    size = np.zeros((3, SIZES))
    size[0, :7] = [-60, 0, 0, 60, 10, 0, 25]
    size[1, :8] = [0, 0, 0, 40, 30, 20, *TURN]
    size[2, :9] = [10, 0, 0, 30, 20, 15, 6, *TURN]
    solids = Solids(np.array([CAPSULE, ELLIPSOID, BOX]), np.array([0, 1, 1]), size, np.zeros(0))
    turns = np.broadcast_to(np.eye(3), (3, 2, 3, 3)).copy()
    turns[:, 1] = [[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]
    beside = np.array([[3.0, 1.0, -9.0], [-4.0, 2.0, 8.0]])
    shifts = np.broadcast_to(middle + beside, (3, 2, 3)).copy()
    crowded = replace(
        rods,
        solids=solids,
        radius=np.full(3, 3.0),
        turns=turns,
        shifts=shifts,
        blind=np.zeros((3, 3), bool),
    )
    rng = np.random.default_rng(8)
    for row in range(3):
        deep = places(crowded, state, row)
        on = np.flatnonzero(deep.gap < -0.5)[::2]
        assert len(on) > 3
        state.touch_place[row, : len(on)] = deep.place[on]
        state.touch_solid[row, : len(on)] = deep.solid[on]
        state.touch_force[row, : len(on)] = rng.uniform(1.0, 9.0, len(on))
    return crowded, state


def test_the_stiffness_of_contact_is_how_its_forces_change() -> None:
    """Band against central differences of the forces, plus the springs of places that press."""
    rods, state = crossed()
    linear = assemble(rods, state)
    count = state.nodes.shape[1]
    row = 0
    whole = dense(linear.band[row])
    step = 1e-5

    def forces_change(of: Rods) -> np.ndarray:
        out = np.empty((3 * count, 3 * count))
        for k in range(3 * count):
            sides = []
            for sign in (1.0, -1.0):
                moved = state.copy()
                moved.nodes[row].reshape(-1)[k] += sign * step
                sides.append(assemble(of, moved).force[row].ravel())
            out[:, k] = (sides[0] - sides[1]) / (2 * step)
        return out

    alone = rods.free()
    contact = whole - dense(padded(assemble(alone, state).band[row], linear.band.shape[-1]))
    roundness = forces_change(rods) - forces_change(alone)
    springs = contact - roundness  # what the elimination of the presses adds
    values = np.linalg.eigvalsh(springs)
    assert values.min() > -1e-3 * values.max()  # springs only ever resist
    found = places(rods, state, row)
    assert np.trace(springs) == pytest.approx(
        sum(
            STIFFNESS * (weights(place, count) ** 2).sum()
            for place, press, gap in zip(found.place, found.press, found.gap, strict=True)
            if press > 0.0 or gap < 0.0
        ),
        rel=1e-3,
    )


def weights(place: int, count: int) -> np.ndarray:
    """Catmull-Rom weights of a place, or the parabola's in the end edges, from their formulas."""
    last = count - 1
    at = place / 4
    if at < 1:
        return np.array([(1 - at) * (2 - at) / 2, at * (2 - at), at * (at - 1) / 2])
    if at > last - 1:
        at = last - at
        return np.array([(1 - at) * (2 - at) / 2, at * (2 - at), at * (at - 1) / 2])
    f = at - min(int(at), last - 2)
    return 0.5 * np.array(
        [
            -f + 2 * f**2 - f**3,
            2 - 5 * f**2 + 3 * f**3,
            f + 4 * f**2 - 3 * f**3,
            -(f**2) + f**3,
        ]
    )


def padded(band: np.ndarray, width: int) -> np.ndarray:
    out = np.zeros((*band.shape[:2], width))
    out[:, :, width - band.shape[2] :] = band
    return out


def dense(band: np.ndarray) -> np.ndarray:
    count, _, width = band.shape
    whole = np.zeros((3 * count, 3 * count))
    columns = band.reshape(3 * count, width)
    for j in range(3 * count):
        for r in range(width):
            i = j - (width - 1 - r)
            if i >= 0:
                whole[i, j] = whole[j, i] = columns[j, r]
    return whole
