"""Curve measures against closed forms of the circle and the helix."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barfit.geometry import curve

COORDINATES = st.floats(-100.0, 100.0)
POINTS = st.tuples(COORDINATES, COORDINATES, COORDINATES)


def helix(count, radius=30.0, pitch=50.0, turns=2.0):
    angle = np.linspace(0.0, 2.0 * math.pi * turns, count)
    return np.column_stack(
        [radius * np.cos(angle), radius * np.sin(angle), pitch * angle / (2.0 * math.pi)]
    )


def circle(count, radius=40.0, part=1.0):
    angle = np.linspace(0.0, 2.0 * math.pi * part, count)
    return np.column_stack([radius * np.cos(angle), 0.0 * angle, radius * np.sin(angle)])


def test_arc_length_of_a_helix():
    # length of a turn: the hypotenuse of circumference and pitch
    assert curve.arc_length(helix(4001)) == pytest.approx(
        2.0 * math.hypot(2.0 * math.pi * 30.0, 50.0), rel=1e-5
    )
    lengths = curve.arc_lengths(helix(4001))
    assert lengths[0] == 0.0
    assert lengths[2000] == pytest.approx(0.5 * lengths[-1])


def test_radius_of_a_helix():
    # closed form: R = a + (pitch / 2 pi)^2 / a
    closed = 30.0 + (50.0 / (2.0 * math.pi)) ** 2 / 30.0
    assert closed == pytest.approx(32.111, abs=5e-4)
    coarse, fine = (abs(curve.curvature_radius(helix(n)) - closed).max() for n in (201, 401))
    assert fine < 1e-3 * closed
    assert coarse / fine == pytest.approx(4.0, rel=0.02)  # second order


def test_radius_of_a_circle_is_exact_at_any_spacing():
    assert curve.curvature_radius(circle(7)) == pytest.approx(np.full(7, 40.0))


def test_radius_of_a_straight_and_of_a_fold():
    straight = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [3.0, 0.0, 0.0]]
    assert np.all(np.isinf(curve.curvature_radius(straight)))
    fold = [[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [1.0, 0.0, 0.0]]
    assert np.all(curve.curvature_radius(fold) == 0.0)


def test_slight_curvature_is_not_lost():
    # a radius of 10 km over 3 mm: the turn of 1.5e-7 rad has a cosine of 1 - 1e-14
    radius = 1e7
    step = np.array([-1.5, 0.0, 1.5])
    points = np.column_stack([step, step**2 / (2.0 * radius), np.zeros(3)])
    assert curve.curvature_radius(points) == pytest.approx(np.full(3, radius), rel=1e-6)


def test_total_bend():
    assert curve.total_bend(circle(721, part=0.5)) == pytest.approx(math.pi, rel=2e-3)
    # a helix turns by its length over its radius of curvature
    turned = 2.0 * math.hypot(2.0 * math.pi * 30.0, 50.0) / 32.111
    assert curve.total_bend(helix(4001)) == pytest.approx(turned, rel=1e-3)
    zigzag = [[0, 0, 0], [1, 0, 0], [1, 1, 0], [2, 1, 0]]
    assert curve.total_bend(zigzag) == pytest.approx(math.pi)


def test_many_curves_at_once():
    stack = np.stack([np.stack([helix(50), circle(50)]), np.stack([circle(50), helix(50)])])
    assert curve.arc_lengths(stack).shape == (2, 2, 50)
    assert curve.arc_lengths(stack)[0, 1] == pytest.approx(curve.arc_lengths(circle(50)))
    assert curve.curvature_radius(stack)[1, 1] == pytest.approx(curve.curvature_radius(helix(50)))
    assert curve.total_bend(stack)[0, 0] == pytest.approx(curve.total_bend(helix(50)))


def test_resample_keeps_ends_and_spacing():
    rough = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [10.0, 20.0, 0.0]])
    even = curve.resample(rough, 7)
    assert even[[0, -1]] == pytest.approx(rough[[0, -1]])
    assert even[1] == pytest.approx([5.0, 0.0, 0.0])
    assert even[4] == pytest.approx([10.0, 10.0, 0.0])
    fine = curve.resample(helix(4001), 33)
    steps = np.linalg.norm(np.diff(fine, axis=0), axis=1)
    assert steps == pytest.approx(np.full(32, steps[0]), rel=1e-5)


def test_points_along_a_curve():
    points = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [10.0, 20.0, 0.0]])
    assert curve.point_at(points, 12.0) == pytest.approx([10.0, 2.0, 0.0])
    assert curve.point_at(points, [0.0, 30.0]) == pytest.approx(points[[0, -1]])
    for outside in (-0.1, 30.1, math.nan):
        with pytest.raises(ValueError, match="between 0 and the length"):
            curve.point_at(points, [1.0, outside])


def test_bad_shapes_are_refused():
    with pytest.raises(ValueError, match="shape"):
        curve.arc_length([1.0, 2.0, 3.0])
    with pytest.raises(ValueError, match="shape"):
        curve.resample(np.zeros((2, 5, 3)), 4)
    with pytest.raises(ValueError, match="at least 3 points"):
        curve.curvature_radius([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    with pytest.raises(ValueError, match="at least 2 points"):
        curve.resample(helix(10), 1)


def test_closest_approach_of_two_circles_in_a_chain():
    # two circles of radius 40 square to each other, centres 100 apart along x
    ring = circle(361)
    other = ring[:, [0, 2, 1]] + [100.0, 0.0, 0.0]
    near = curve.closest_approach(ring, other)
    assert near.distance == pytest.approx(20.0, abs=1e-9)
    assert near.on_a == pytest.approx([40.0, 0.0, 0.0], abs=1e-9)
    assert near.on_b == pytest.approx([60.0, 0.0, 0.0], abs=1e-9)
    assert near.along_b == pytest.approx(math.pi * 40.0, rel=1e-4)


def test_closest_approach_of_special_segments():
    def gap(a, b):
        return curve.closest_approach(a, b).distance

    along = [[0.0, 0.0, 0.0], [10.0, 0.0, 0.0]]
    assert gap(along, [[2.0, 3.0, -5.0], [2.0, 3.0, 5.0]]) == pytest.approx(3.0)  # crossing
    assert gap(along, [[-5.0, 4.0, 0.0], [20.0, 4.0, 0.0]]) == pytest.approx(4.0)  # parallel
    assert gap(along, [[12.0, 0.0, 0.0], [20.0, 0.0, 0.0]]) == pytest.approx(2.0)  # in line
    assert gap(along, [[5.0, 0.0, 0.0], [5.0, 9.0, 0.0]]) == 0.0  # touching
    assert gap(along, [[13.0, 4.0, 0.0], [13.0, 4.0, 0.0]]) == pytest.approx(5.0)  # a point
    assert gap([along[0], along[0]], [[0.0, 1.0, 0.0], [3.0, 1.0, 0.0]]) == pytest.approx(1.0)


@given(st.lists(POINTS, min_size=2, max_size=4), st.lists(POINTS, min_size=2, max_size=4))
def test_closest_approach_is_closer_than_any_sample(points_a, points_b):
    points_a, points_b = np.array(points_a), np.array(points_b)
    near = curve.closest_approach(points_a, points_b)
    assert np.linalg.norm(near.on_a - near.on_b) == pytest.approx(near.distance, abs=1e-9)
    for points, place, along in (
        (points_a, near.on_a, near.along_a),
        (points_b, near.on_b, near.along_b),
    ):
        along = min(along, curve.arc_length(points))
        assert curve.point_at(points, along) == pytest.approx(place, abs=1e-6)
    part = np.linspace(0.0, 1.0, 40)
    samples_a = curve.point_at(points_a, part * curve.arc_length(points_a))
    samples_b = curve.point_at(points_b, part * curve.arc_length(points_b))
    sampled = np.linalg.norm(samples_a[:, None] - samples_b[None], axis=-1).min()
    assert near.distance <= sampled + 1e-9
    finest = curve.arc_length(points_a) / 39 + curve.arc_length(points_b) / 39
    assert near.distance >= sampled - 0.5 * finest - 1e-9
    assert curve.closest_approach(points_b, points_a).distance == pytest.approx(
        near.distance, abs=1e-9
    )
