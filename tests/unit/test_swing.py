"""The least gap of turning rods to a solid, against places whose distance is plain to see."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barfit.geometry import solids
from barfit.geometry.frames import MIRROR, Array, rotation, steering_axis
from barfit.geometry.swing import TOLERANCE, Distance, Rods, first_below, gap_at, least_gap, turned

UP = np.array([0.0, 0.0, 1.0])


def ball(centre: Array, radius: float) -> Distance:
    return lambda points: solids.capsule(points, centre, centre, radius)


def rod(start: list[float], end: list[float], radius: float = 11.1) -> Rods:
    return Rods.of("rod", np.array([start, end]), radius)


@given(
    gap=st.floats(-8.0, 80.0),
    at=st.floats(-0.55, 0.55),
    rake=st.floats(0.0, 0.6),
    share=st.floats(0.2, 1.0),
)
@settings(max_examples=25)
def test_a_ball_put_in_the_way_is_reported_as_far_as_it_was_put(
    gap: float, at: float, rake: float, share: float
) -> None:
    # above the rod, square to its path: the rod passes under it at the turn `at`
    axis = steering_axis(rake)
    course = np.array([[0.0, 100.0, 20.0], [-40.0, 380.0, 60.0]])
    along = (course[1] - course[0]) / np.linalg.norm(course[1] - course[0])
    place = course[0] + share * (course[1] - course[0])
    swing = np.cross(axis, place)
    off = np.cross(along, swing)
    off = off / np.linalg.norm(off)
    radius, thick = 15.0, 11.1
    centre = rotation(axis, at) @ (place + (gap + radius + thick) * off)
    found = least_gap(Rods.of("rod", course, thick), ball(centre, radius), axis, -0.6, 0.6)
    assert found is not None
    # a rod that turns on a cone may pass nearer before or after, never farther than it was put
    assert found.gap <= gap + TOLERANCE
    brute = min(
        float(
            solids.capsule(
                turned(course[0] + t * (course[1] - course[0]), axis, np.linspace(-0.6, 0.6, 601)),
                centre,
                centre,
                radius,
            ).min()
        )
        for t in np.linspace(0.0, 1.0, 281)[:, None, None]
    )
    assert found.gap == pytest.approx(brute - thick, abs=0.3)


def test_a_flat_side_at_a_known_distance() -> None:
    """A rod of 400 mm that turns about a plumb axis sweeps a disc: a wall 30 mm beyond its end."""
    wall = lambda points: solids.box(points, (0.0, 531.1, 0.0), (900.0, 200.0, 200.0))  # noqa: E731
    found = least_gap(rod([0, 50, 0], [0, 400, 0]), wall, UP, -0.7, 0.7)
    assert found is not None
    assert found.gap == pytest.approx(20.0, abs=TOLERANCE)
    assert found.turn == pytest.approx(0.0, abs=0.02)
    # and 100 mm to the side of where it stands straight ahead, met half way
    post = ball(400.0 * np.array([-math.sin(0.3), math.cos(0.3), 0.0]), 10.0)
    assert gap_at(rod([0, 50, 0], [0, 400, 0]), post, UP, 0.3) == pytest.approx(-21.1, abs=0.05)
    met = first_below(rod([0, 50, 0], [0, 400, 0]), post, UP, 0.0, 0.7)
    # it touches where the post is 21.1 mm to the rod's side
    assert met == pytest.approx(0.3 - math.asin(21.1 / 400.0), abs=math.radians(0.11))


def test_what_is_nearest_at_a_lock_is_reported_at_the_lock() -> None:
    post = ball(np.array([-300.0, 200.0, 0.0]), 20.0)
    found = least_gap(rod([0, 50, 0], [0, 400, 0]), post, UP, -0.6, 0.6)
    assert found is not None
    assert found.turn == 0.6


@given(y=st.floats(60.0, 400.0), z=st.floats(-100.0, 100.0), x=st.floats(-400.0, -50.0))
def test_the_mirrored_machine_gives_mirrored_figures(x: float, y: float, z: float) -> None:
    axis = steering_axis(math.radians(27.0))
    course = np.array([[0.0, 90.0, 30.0], [-60.0, 200.0, 70.0], [-180.0, 380.0, 50.0]])
    centre = np.array([x, y, z])
    left = least_gap(Rods.of("a", course, 11.1), ball(centre, 30.0), axis, -0.5, 0.7)
    right = least_gap(
        Rods.of("b", course * MIRROR, 11.1), ball(centre * MIRROR, 30.0), axis, -0.7, 0.5
    )
    assert left is not None
    assert right is not None
    assert right.gap == pytest.approx(left.gap, abs=TOLERANCE)


def test_what_turns_along_keeps_its_distance() -> None:
    axis = steering_axis(math.radians(30.0))
    course = np.array([[0.0, 90.0, 30.0], [-180.0, 380.0, 50.0]])
    centre = np.array([100.0, 150.0, 60.0])
    for turn in (-0.7, 0.0, 0.35):
        steered = rotation(axis, turn)
        gap = gap_at(Rods.of("a", course @ steered.T, 5.0), ball(steered @ centre, 9.0), axis, 0.0)
        assert gap == pytest.approx(
            gap_at(Rods.of("a", course, 5.0), ball(centre, 9.0), axis, 0.0), abs=TOLERANCE
        )


def test_nothing_nearer_than_asked_for_is_none() -> None:
    post = ball(np.array([-300.0, 200.0, 0.0]), 20.0)
    assert least_gap(rod([0, 50, 0], [0, 400, 0]), post, UP, -0.1, 0.1, below=5.0) is None
