"""Handles in the picture as plain geometry: rays, axes, the way along a bar, what is hit."""

from __future__ import annotations

import math

import numpy as np
import pytest

from barfit.scene.handles import ARROW, GRIPS, SQUARE, Grip, hit, outline, usable
from barfit.scene.pick import from_segment, on_axis, on_path, on_plane

RNG = np.random.default_rng(7)


def sight(start, through) -> tuple[np.ndarray, np.ndarray]:
    start, through = np.asarray(start, float), np.asarray(through, float)
    return start, (through - start) / np.linalg.norm(through - start)


@pytest.mark.parametrize("axis", range(3))
def test_a_line_of_sight_that_meets_an_axis_tells_the_place_where_it_does(axis):
    way, point = np.eye(3)[axis], RNG.uniform(-300.0, 300.0, 3)
    eye = point + np.array((900.0, -700.0, 800.0))
    for along in (-120.0, 0.0, 75.0):
        met = on_axis(sight(eye, point + along * way), point, way)
        np.testing.assert_allclose(met, point + along * way, atol=1e-9)


def test_past_an_axis_the_place_is_where_the_common_normal_meets_it():
    # two skew lines: the axis x through the origin, and one along y at height 50 over x = 30
    met = on_axis(sight((30.0, -400.0, 50.0), (30.0, 0.0, 50.0)), np.zeros(3), np.eye(3)[0])
    np.testing.assert_allclose(met, (30.0, 0.0, 0.0), atol=1e-9)


def test_looked_at_end_on_an_axis_tells_no_place():
    assert on_axis(sight((500.0, 0.0, 0.0), (0.0, 0.0, 0.0)), np.zeros(3), np.eye(3)[0]) is None
    edge = sight((500.0, 10.0, 0.0), (0.0, 10.0, 0.0))
    assert on_plane(edge, np.zeros(3), np.eye(3)[2]) is None


def test_a_plane_is_met_where_its_equation_says():
    normal, point = np.array([2.0, -1.0, 2.0]) / 3.0, np.array([10.0, 20.0, 30.0])
    met = on_plane(sight((400.0, 300.0, 200.0), (0.0, 0.0, 0.0)), point, normal)
    assert float((met - point) @ normal) == pytest.approx(0.0, abs=1e-9)


def test_along_a_bent_bar_the_place_is_told_in_developed_length():
    """A quarter circle between two straights: lengths by hand, R pi / 2 for the arc."""
    radius, count = 100.0, 2000
    angle = np.linspace(0.0, math.pi / 2.0, count)
    arc = np.column_stack((radius * np.sin(angle), radius * (1.0 - np.cos(angle)), np.zeros(count)))
    bar = np.vstack(((-200.0, 0.0, 0.0), arc, (radius, radius + 150.0, 0.0)))
    for at, place in (
        (80.0, (-120.0, 0.0, 0.0)),
        (200.0 + radius * math.pi / 6.0, (radius * 0.5, radius * (1.0 - math.sqrt(0.75)), 0.0)),
        (200.0 + radius * math.pi / 2.0 + 40.0, (radius, radius + 40.0, 0.0)),
    ):
        along, gap = on_path(sight((30.0, -60.0, 700.0), place), bar)
        assert along == pytest.approx(at, abs=0.02)
        assert gap < 0.01
    # past its end it stays at the end
    along, gap = on_path(sight((-300.0, 40.0, 500.0), (-300.0, 40.0, 0.0)), bar)
    assert along == 0.0
    assert gap == pytest.approx(math.hypot(100.0, 40.0))


def test_the_nearest_place_along_a_bar_is_the_nearest_of_many_tried():
    bar = np.cumsum(RNG.uniform(-30.0, 60.0, (12, 3)), axis=0)
    lengths = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(bar, axis=0), axis=1))))
    tried = np.linspace(0.0, lengths[-1], 60001)
    points = np.column_stack([np.interp(tried, lengths, bar[:, k]) for k in range(3)])
    for _ in range(20):
        start, way = sight(RNG.uniform(500.0, 900.0, 3), RNG.uniform(-100.0, 300.0, 3))
        off = points - start
        gaps = np.linalg.norm(off - np.outer(off @ way, way), axis=1)
        along, gap = on_path((start, way), bar)
        assert gaps.min() - 0.01 < gap < gaps.min() + 1e-9  # tried at every 0.01 mm
        assert along == pytest.approx(tried[gaps.argmin()], abs=0.1)


def test_what_points_at_the_eye_is_no_handle():
    assert set(usable(np.array([1.0, 1.0, 1.0]) / math.sqrt(3.0))) == set(GRIPS)
    ahead = usable(np.array([-1.0, 0.0, 0.0]))
    assert set(ahead) == {Grip(1), Grip(2), Grip(0, True)}


@pytest.mark.parametrize("grip", GRIPS)
def test_every_handle_is_hit_where_it_is_drawn_and_no_other(grip):
    """Seen along the diagonal of the axes each is 120 degrees from the next (isometric)."""
    right = np.array([-1.0, 1.0, 0.0]) / math.sqrt(2.0)
    above = np.array([-1.0, -1.0, 2.0]) / math.sqrt(6.0)
    flats = [(one, outline(one) @ np.column_stack((right, above))) for one in GRIPS]
    mine = dict(flats)[grip]
    spot = mine.mean(axis=0) if grip.plane else 0.2 * mine[0] + 0.8 * mine[1]
    assert hit(flats, tuple(spot), 8.0) == grip
    assert hit(flats, (0.0, 0.0), 8.0) is None  # the place itself is its mark's
    assert hit(flats, (200.0, 200.0), 8.0) is None


def test_an_arrow_is_within_its_reach_and_a_square_within_its_corners():
    front = np.eye(3)[:, 1:]  # seen from ahead: left and up
    flats = [(one, outline(one) @ front) for one in usable(np.array([-1.0, 0.0, 0.0]))]
    assert hit(flats, (0.5 * sum(ARROW), 7.9), 8.0) == Grip(1)
    assert hit(flats, (0.5 * sum(ARROW), 8.1), 8.0) is None
    assert hit(flats, (SQUARE[0] + 0.1, SQUARE[1] - 0.1), 8.0) == Grip(0, True)
    assert hit(flats, (SQUARE[1] + 0.1, SQUARE[1] + 0.1), 8.0) is None
    # crossed by an arrow, a square is meant but close to that
    flats.append((Grip(0), np.array([(10.0, 30.0), (60.0, 30.0)])))
    assert hit(flats, (32.0, 30.0 + 3.0), 8.0) == Grip(0)
    assert hit(flats, (32.0, 30.0 + 3.4), 8.0) == Grip(0, True)


def test_a_stroke_is_as_far_as_its_nearest_point():
    start, end = np.array([0.0, 0.0]), np.array([30.0, 40.0])
    assert from_segment(np.array([33.0, 44.0]), start, end) == pytest.approx(5.0)
    assert from_segment(np.array([7.0, 26.0]), start, end) == pytest.approx(10.0)
    assert from_segment(np.array([3.0, 4.0]), start, start) == pytest.approx(5.0)
