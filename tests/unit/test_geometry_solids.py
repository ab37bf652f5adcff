"""Signed distances against closed forms, sampled surfaces and finite differences."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from barfit.geometry import solids

RANDOM = np.random.default_rng(20240607)
CENTRE = np.array([120.0, -30.0, 55.0])
PITCH = math.radians(25.0)
CLOUD = CENTRE + RANDOM.uniform(-120.0, 120.0, (400, 3))

CAPSULE = (np.array([100.0, -60.0, 20.0]), np.array([150.0, 10.0, 110.0]), 22.0)
BOX = (CENTRE, np.array([180.0, 90.0, 60.0]), PITCH, 18.0)
ELLIPSOID = (CENTRE, np.array([120.0, 70.0, 40.0]), PITCH)

SOLIDS = {
    "capsule": (solids.capsule, solids.capsule_with_gradient, CAPSULE),
    "box": (solids.box, solids.box_with_gradient, BOX),
    "sharp box": (solids.box, solids.box_with_gradient, (*BOX[:3], 0.0)),
    "ellipsoid": (solids.ellipsoid, solids.ellipsoid_with_gradient, ELLIPSOID),
    "flat ellipsoid": (
        solids.ellipsoid,
        solids.ellipsoid_with_gradient,
        (CENTRE, np.array([120.0, 4.0, 90.0]), PITCH),
    ),
    "round ellipsoid": (
        solids.ellipsoid,
        solids.ellipsoid_with_gradient,
        (CENTRE, np.array([50.0, 110.0, 50.0]), PITCH),
    ),
    "ball": (
        solids.ellipsoid,
        solids.ellipsoid_with_gradient,
        (CENTRE, np.array([60.0, 60.0, 60.0]), PITCH),
    ),
}


@pytest.mark.parametrize("name", SOLIDS)
def test_the_nearest_surface_point_lies_a_distance_down_the_gradient(name):
    distance, with_gradient, shape = SOLIDS[name]
    values, gradients = with_gradient(CLOUD, *shape)
    assert distance(CLOUD, *shape) == pytest.approx(values)
    assert np.linalg.norm(gradients, axis=1) == pytest.approx(np.ones(len(CLOUD)))
    feet = CLOUD - values[:, None] * gradients
    assert distance(feet, *shape) == pytest.approx(np.zeros(len(CLOUD)), abs=1e-9)


@pytest.mark.parametrize("name", SOLIDS)
def test_gradient_by_finite_difference(name):
    distance, with_gradient, shape = SOLIDS[name]
    values, gradients = with_gradient(CLOUD, *shape)
    step = 1e-4
    numeric = np.stack(
        [
            (distance(CLOUD + move, *shape) - distance(CLOUD - move, *shape)) / (2.0 * step)
            for move in step * np.eye(3)
        ],
        axis=1,
    )
    outside = values > 1.0
    assert np.count_nonzero(outside) > 100
    assert numeric[outside] == pytest.approx(gradients[outside], abs=1e-5)
    assert np.linalg.norm(numeric[outside], axis=1) == pytest.approx(
        np.ones(np.count_nonzero(outside)), abs=1e-6
    )


@pytest.mark.parametrize("name", SOLIDS)
def test_no_distance_changes_faster_than_the_way_gone(name):
    distance, _, shape = SOLIDS[name]
    values = distance(CLOUD, *shape)
    gaps = np.linalg.norm(CLOUD[:, None] - CLOUD[None], axis=-1)
    assert np.all(np.abs(values[:, None] - values[None]) <= gaps + 1e-9)


def unit_directions(count):
    """Points on the unit ball, evenly spread along a spiral."""
    index = np.arange(count) + 0.5
    angle = math.pi * (1.0 + math.sqrt(5.0)) * index
    height = 1.0 - 2.0 * index / count
    ring = np.sqrt(1.0 - height**2)
    return np.column_stack([ring * np.cos(angle), ring * np.sin(angle), height])


def nose_up(points):
    """Rotated by PITCH so that +x goes toward +z, about the origin."""
    x, y, z = points.T
    cos, sin = math.cos(PITCH), math.sin(PITCH)
    return np.column_stack([x * cos - z * sin, y, x * sin + z * cos])


def assert_matches_surface(values, points, surface, spacing):
    gaps = np.min(np.linalg.norm(points[:, None] - surface[None], axis=-1), axis=1)
    assert np.all(np.abs(values) <= gaps + 1e-9)
    assert np.all(np.abs(values) >= gaps - spacing)


def test_ellipsoid_against_a_sampled_surface():
    surface = CENTRE + nose_up(unit_directions(30000) * ELLIPSOID[1])
    points = CLOUD[:150]
    assert_matches_surface(solids.ellipsoid(points, *ELLIPSOID), points, surface, spacing=1.2)
    local = nose_up((points - CENTRE) * [1.0, 1.0, -1.0]) * [1.0, 1.0, -1.0]  # turned back
    inside = np.sum((local / ELLIPSOID[1]) ** 2, axis=1) < 1.0
    assert np.array_equal(solids.ellipsoid(points, *ELLIPSOID) < 0.0, inside)
    assert 5 < np.count_nonzero(inside) < 145


def test_ellipsoid_against_a_general_minimiser():
    centre, axes = np.zeros(3), np.array([120.0, 70.0, 40.0])
    for point in RANDOM.uniform(5.0, 150.0, (12, 3)):

        def gap(angles, point=point):
            around, up = angles
            cos = math.cos(up)
            on = axes * [cos * math.cos(around), cos * math.sin(around), math.sin(up)]
            return float(np.sum((on - point) ** 2))

        starts = [(a, u) for a in (0.2, 0.8, 1.4) for u in (0.2, 0.8, 1.4)]
        best = min(minimize(gap, start, method="BFGS", tol=1e-10).fun for start in starts)
        value = abs(solids.ellipsoid(point[None], centre, axes)[0])
        assert value == pytest.approx(math.sqrt(best), rel=1e-7)


@settings(max_examples=300)
@given(
    st.tuples(*[st.floats(0.5, 500.0)] * 3),
    st.tuples(*[st.one_of(st.floats(-600.0, 600.0), st.just(0.0), st.floats(-1e-9, 1e-9))] * 3),
)
def test_ellipsoid_everywhere(axes, point):
    axes, point = np.array(axes), np.array(point)
    values, gradients = solids.ellipsoid_with_gradient(point[None], np.zeros(3), axes)
    foot = point - values[0] * gradients[0]
    scale = 1e-9 * max(axes.max(), np.linalg.norm(point))
    assert np.sum((foot / axes) ** 2) == pytest.approx(1.0, abs=1e-7)
    # nearest: no point of the surface is nearer, and the sampled ones come close to it
    surface = unit_directions(2000) * axes
    assert abs(values[0]) <= np.linalg.norm(surface - point, axis=1).min() + scale
    assert (values[0] < 0.0) == (np.sum((point / axes) ** 2) < 1.0) or abs(values[0]) < scale


def test_ellipsoid_from_its_middle():
    axes = np.array([120.0, 70.0, 40.0])
    on_planes = np.array(
        [[0, 0, 0], [30, 0, 0], [0, 20, 0], [119, 0, 0], [0, 0, 39], [30, 20, 0], [5, 0, -3]], float
    )
    values, gradients = solids.ellipsoid_with_gradient(on_planes, np.zeros(3), axes)
    assert values[0] == pytest.approx(-40.0)
    # closed form on the long axis, where the nearest point leaves it: in the x-z ellipse the
    # normal through (30, 0) meets the curve at x = 30 a² / (a² - c²)
    x = 30.0 * 120.0**2 / (120.0**2 - 40.0**2)
    z = 40.0 * math.sqrt(1.0 - (x / 120.0) ** 2)
    assert values[1] == pytest.approx(-math.hypot(x - 30.0, z))
    assert values[3] == pytest.approx(-1.0)  # near the tip the tip is nearest
    assert values[4] == pytest.approx(-1.0)
    feet = on_planes - values[:, None] * gradients
    assert np.sum((feet / axes) ** 2, axis=1) == pytest.approx(np.ones(len(feet)))


def test_box_against_a_sampled_surface():
    sharp = 0.5 * BOX[1] - BOX[3]
    # a rounded box is a sharp one rolled over by a ball: from a fine grid all round it, step
    # to the sharp box and come back by the ball's radius
    grid = np.stack(np.meshgrid(*[np.linspace(-1.0, 1.0, 61)] * 3), axis=-1).reshape(-1, 3)
    around = grid[np.abs(grid).max(axis=1) == 1.0] * (0.5 * BOX[1] + 20.0)
    on_sharp = np.clip(around, -sharp, sharp)
    away = around - on_sharp
    away *= BOX[3] / np.linalg.norm(away, axis=1, keepdims=True)
    surface = CENTRE + nose_up(on_sharp + away)
    points = CLOUD[:150]
    assert_matches_surface(solids.box(points, *BOX), points, surface, spacing=2.0)


def test_capsule_by_hand():
    start, end = [0.0, 0.0, 0.0], [100.0, 0.0, 0.0]
    points = [[50.0, 30.0, 0.0], [-40.0, 0.0, 30.0], [103.0, 0.0, 4.0], [50.0, 0.0, 0.0]]
    values, gradients = solids.capsule_with_gradient(points, start, end, 10.0)
    assert values == pytest.approx([20.0, 40.0, -5.0, -10.0])
    assert gradients[1] == pytest.approx([-0.8, 0.0, 0.6])
    assert gradients[3] @ [1.0, 0.0, 0.0] == 0.0
    assert solids.capsule(points, start, start, 10.0)[2] == pytest.approx(math.hypot(103, 4) - 10)


def test_box_by_hand():
    values = solids.box(
        [[60.0, 0.0, 0.0], [53.0, 24.0, 0.0], [0.0, 0.0, 3.0], [40.0, 0.0, 0.0]],
        [0.0, 0.0, 0.0],
        [100.0, 40.0, 20.0],
    )
    assert values == pytest.approx([10.0, 5.0, -7.0, -10.0])
    corner = solids.box([[50.0, 20.0, 10.0]], [0.0, 0.0, 0.0], [100.0, 40.0, 20.0], 0.0, 10.0)
    assert corner == pytest.approx([10.0 * math.sqrt(3.0) - 10.0])


def test_pitch_puts_the_nose_up():
    above = np.array([[80.0 * math.cos(PITCH), 0.0, 80.0 * math.sin(PITCH)]])
    assert solids.box(above, np.zeros(3), [100.0, 10.0, 10.0], PITCH) == pytest.approx([30.0])
    assert solids.ellipsoid(above, np.zeros(3), [50.0, 5.0, 5.0], PITCH) == pytest.approx([30.0])


def test_mirror_image_solids():
    mirror = np.array([1.0, -1.0, 1.0])
    for distance, _, (centre, *rest) in (SOLIDS["box"], SOLIDS["ellipsoid"]):
        there = distance(CLOUD * mirror, centre * mirror, *rest)
        assert there == pytest.approx(distance(CLOUD, centre, *rest))


def test_bad_solids_are_refused():
    with pytest.raises(ValueError, match="half its shortest side"):
        solids.box(CLOUD, CENTRE, [100.0, 20.0, 40.0], 0.0, 10.5)
    with pytest.raises(ValueError, match="more than 0"):
        solids.ellipsoid(CLOUD, CENTRE, [100.0, 0.0, 40.0])
    with pytest.raises(ValueError, match="shape"):
        solids.capsule([1.0, 2.0, 3.0], *CAPSULE)
    assert solids.ellipsoid(np.empty((0, 3)), *ELLIPSOID).shape == (0,)
