"""Sampled distances against exact ones: of the same solid as a mesh, and in closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from barfit.geometry import solids
from barfit.geometry.grid import grid_distance
from barfit.geometry.meshes import PADDING, DistanceGrid, exact_distance, sample_distance
from barfit.geometry.parts import mesh_grid, mesh_triangles, shape_distance_with_gradient
from barfit.model import FileUnit, Mesh, Triangles

RNG = np.random.default_rng(4)
BOX_SIZE = np.array([120.0, 60.0, 90.0])


@pytest.fixture(scope="module")
def ball() -> DistanceGrid:
    made = trimesh.creation.icosphere(subdivisions=4, radius=50.0)
    return sample_distance(made.vertices, made.faces)


@pytest.fixture(scope="module")
def crate() -> DistanceGrid:
    made = trimesh.creation.box(extents=BOX_SIZE)
    return sample_distance(made.vertices, made.faces)


def shell(count: int, inner: float, outer: float) -> np.ndarray:
    """Points (count, 3) between two spheres."""
    way = RNG.normal(size=(count, 3))
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    return way * RNG.uniform(inner, outer, (count, 1))


def test_the_samples_themselves_are_exact_for_a_box() -> None:
    made = trimesh.creation.box(extents=BOX_SIZE)
    where = shell(500, 0.0, 130.0)
    exact = solids.box(where, np.zeros(3), BOX_SIZE)
    assert exact_distance(made.vertices, made.faces, where) == pytest.approx(exact, abs=1e-4)


def test_a_ball(ball: DistanceGrid) -> None:
    where = shell(2000, 25.0, 80.0)
    values, gradients = ball.distance_with_gradient(where)
    radius = np.linalg.norm(where, axis=1)
    # the mesh itself lies up to 0.08 mm inside the ball
    assert np.abs(values - (radius - 50.0)).max() < 0.15
    assert np.abs(gradients - where / radius[:, None]).max() < 0.06


def test_a_capsule_standing_askew() -> None:
    made = trimesh.creation.capsule(height=120.0, radius=25.0, count=[48, 48])
    shift = np.array([10.0, -20.0, 5.0])
    shape = placed(made, tuple(shift), pitch=0.4, yaw=-0.7)
    where = shell(1000, 0.0, 110.0) + shift
    values, gradients = shape_distance_with_gradient(shape, where)
    c, s = math.cos(0.4), math.sin(0.4)  # nose up: the file's z leans back
    up = np.array([-s * math.cos(-0.7), -s * math.sin(-0.7), c])
    exact, normals = solids.capsule_with_gradient(where, shift - 60.0 * up, shift + 60.0 * up, 25.0)
    out = (exact > -8.0) & (exact < PADDING)  # farther out it is only a lower bound
    assert np.abs(values - exact)[out].max() < 0.25
    assert np.abs(gradients - normals)[out].max() < 0.1


def test_a_box_is_exact_beside_its_faces_and_rounded_off_at_its_edges(crate: DistanceGrid) -> None:
    half = 0.5 * BOX_SIZE
    beside = RNG.uniform(-0.6, 0.6, (400, 3)) * half
    beside[:, 1] = half[1] + RNG.uniform(-5.0, 30.0, 400)
    values, gradients = crate.distance_with_gradient(beside)
    assert values == pytest.approx(beside[:, 1] - half[1], abs=1e-4)
    assert np.abs(gradients - [0.0, 1.0, 0.0]).max() < 1e-5

    where = RNG.uniform(-1.0, 1.0, (100_000, 3)) * (half + 30.0)
    exact, normals = solids.box_with_gradient(where, np.zeros(3), BOX_SIZE)
    values, gradients = crate.distance_with_gradient(where)
    error, tilt = np.abs(values - exact), np.linalg.norm(gradients - normals, axis=1)
    assert crate.spacing == 4.0
    # what DistanceGrid says: so much at the edges, less the farther out
    assert error[np.abs(exact) < 1.0].max() < 0.16 * crate.spacing
    assert error[exact > crate.spacing].max() < 0.09 * crate.spacing
    assert error[exact > 3.0 * crate.spacing].max() < 0.03 * crate.spacing
    assert tilt[exact > crate.spacing].max() < 0.35


@pytest.mark.parametrize("far", [False, True])
def test_the_gradient_is_that_of_the_distance(crate: DistanceGrid, far: bool) -> None:
    where = shell(400, 150.0, 400.0) if far else shell(400, 20.0, 90.0)
    step = 1e-4
    _, gradients = crate.distance_with_gradient(where)
    for axis in range(3):
        there, back = where.copy(), where.copy()
        there[:, axis] += step
        back[:, axis] -= step
        difference = crate.distance_with_gradient(there)[0] - crate.distance_with_gradient(back)[0]
        assert gradients[:, axis] == pytest.approx(difference / (2.0 * step), abs=2e-5)


def test_neither_distance_nor_gradient_jumps_from_cell_to_cell(crate: DistanceGrid) -> None:
    line = np.linspace([-90.0, -47.0, -61.0], [95.0, 44.0, 70.0], 40001)
    values, gradients = crate.distance_with_gradient(line)
    step = float(np.linalg.norm(line[1] - line[0]))
    assert np.abs(np.diff(values)).max() < 1.3 * step
    # the curvature is at most some 2 / spacing, so a step turns the gradient by no more than that
    assert np.abs(np.diff(gradients, axis=0)).max() < 2.0 * step / crate.spacing


def test_far_away_it_is_a_lower_bound_that_grows(crate: DistanceGrid) -> None:
    where = shell(2000, 140.0, 600.0)
    exact = solids.box(where, np.zeros(3), BOX_SIZE)
    values, gradients = crate.distance_with_gradient(where)
    assert (values <= exact + 0.05).all()
    assert (values >= PADDING - 0.1).all()
    assert (np.linalg.norm(gradients, axis=1) <= 1.0 + 1e-3).all()
    outward = np.einsum("ij,ij->i", gradients, where) / np.linalg.norm(where, axis=1)
    assert outward.min() > 0.0
    # at the edge of the samples the two ways of reckoning meet
    last = crate.origin[0] + crate.spacing * (crate.values.shape[0] - 2)
    both = crate.distance_with_gradient(
        np.array([[last - 1e-7, 3.0, 9.0], [last + 1e-7, 3.0, 9.0]])
    )
    assert both[0][0] == pytest.approx(both[0][1], abs=1e-5)


def test_big_meshes_get_fewer_samples_not_more() -> None:
    made = trimesh.creation.box(extents=[900.0, 500.0, 700.0])
    grid = sample_distance(made.vertices, made.faces)
    assert grid.values.size < 1.2 * 60**3
    assert 8.0 < grid.spacing < 14.0
    middle = 0.5 * (np.array(grid.values.shape) - 1)
    assert grid.origin + grid.spacing * middle == pytest.approx(np.zeros(3), abs=1e-9)


def test_one_point_at_a_time_gives_the_same(crate: DistanceGrid) -> None:
    gradient = np.empty(3)
    where = np.array([[70.0, 10.0, 20.0]])
    values, gradients = crate.distance_with_gradient(where)
    one = grid_distance(*where[0], crate.origin, crate.spacing, crate.values, gradient)
    assert one == values[0]
    assert gradient == pytest.approx(gradients[0], abs=0.0)
    with pytest.raises(ValueError, match="shape"):
        crate.distance_with_gradient(np.zeros(3))


def test_moving_a_mesh_samples_nothing_anew() -> None:
    made = trimesh.creation.box(extents=BOX_SIZE)
    here, there = placed(made, (0.0, 0.0, 0.0)), placed(made, (5.0, -3.0, 2.0))
    assert mesh_grid(there).values is mesh_grid(here).values
    assert mesh_grid(there).origin - mesh_grid(here).origin == pytest.approx([5.0, -3.0, 2.0])


def test_pitch_lifts_the_front_and_yaw_turns_left() -> None:
    made = trimesh.creation.box(extents=[100.0, 10.0, 10.0])
    points = mesh_triangles(placed(made, (0.0, 0.0, 0.0), pitch=math.radians(30.0)))[0]
    assert points[points[:, 0].argmax(), 2] > 20.0
    points = mesh_triangles(placed(made, (0.0, 0.0, 0.0), yaw=math.radians(30.0)))[0]
    assert points[points[:, 0].argmax(), 1] > 15.0


def placed(
    made: trimesh.Trimesh,
    position: tuple[float, float, float],
    pitch: float = 0.0,
    yaw: float = 0.0,
) -> Mesh:
    surface = Triangles(
        np.asarray(made.vertices, dtype=float).tobytes(),
        np.asarray(made.faces, dtype=np.int32).tobytes(),
    )
    return Mesh("made.stl", FileUnit.MILLIMETRE, surface, position, pitch, yaw)
