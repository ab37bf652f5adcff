"""The turned and slid front end against the formulas of chassis geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barfit.geometry import frames, pose
from barfit.model import Body, Machine

TURNS = st.floats(math.radians(-50.0), math.radians(50.0))
TRAVELS = st.floats(-60.0, 120.0)
RAKES = st.floats(math.radians(15.0), math.radians(40.0))
COORDINATES = st.floats(-800.0, 800.0)
POINTS = st.tuples(COORDINATES, COORDINATES, COORDINATES).map(np.array)
MIRROR = np.array([1.0, -1.0, 1.0])


def machine(rake=0.49, **changes):
    """An invented machine."""
    values = {
        "name": "test machine",
        "note": "invented",
        "rake": rake,
        "fork_offset": 40.0,
        "fork_length": 720.0,
        "fork_spread": 210.0,
        "fork_tube_diameter": 43.0,
        "head_tube_top": 38.0,
        "head_tube_bottom": 200.0,
        "head_tube_diameter": 60.0,
        "lower_clamp": 225.0,
        "lock_left": math.radians(36.0),
        "lock_right": math.radians(34.0),
        "travel": 120.0,
        "sag": 45.0,
        "wheel_radius": 310.0,
        "wheel_width": 110.0,
        "riser_foot": -5.0,
        "riser_spacing": 90.0,
    }
    return Machine(**(values | changes))


def moved(bike, body, turn, travel, point):
    turned, shift = pose.body_motion(bike, body, turn, travel)
    return turned @ point + shift


# --- trail and kinematic steer: chassis geometry formulas, from memory ---------------------------


@pytest.mark.parametrize(
    ("radius", "rake", "offset", "ground", "normal"),
    [
        (300.0, 25.0, 35.0, 101.27, 91.79),
        (305.0, 24.0, 30.0, 102.96, 94.05),
        (320.0, 30.0, 50.0, 127.02, 110.00),
        (335.0, 27.0, 45.0, 120.19, 107.09),
    ],
)
def test_trail(radius, rake, offset, ground, normal):
    # chassis geometry formula: normal = R sin(rake) - offset, ground = normal / cos(rake)
    assert frames.trail(radius, math.radians(rake), offset) == pytest.approx(
        (ground, normal), abs=0.005
    )


@given(st.floats(200.0, 400.0), RAKES, st.floats(-20.0, 90.0))
def test_trail_from_the_picture(radius, rake, offset):
    axis = frames.steering_axis(rake)
    axle = frames.local_to_machine(rake, offset, 0.0, -700.0)
    contact = axle - [0.0, 0.0, radius]
    # where the steering axis, through the origin, meets the ground
    pierced = axis * contact[2] / axis[2]
    ground, normal = frames.trail(radius, rake, offset)
    assert pierced[0] - contact[0] == pytest.approx(ground)
    # the contact point lies behind the steering axis by the normal trail, square to it
    assert np.linalg.norm(np.cross(contact, axis)) == pytest.approx(abs(normal), abs=1e-6)


@pytest.mark.parametrize(("rake", "steer"), [(24.0, 32.606), (27.0, 31.960), (30.0, 31.233)])
def test_kinematic_steer(rake, steer):
    # chassis geometry formula, from memory: tan(steer) = tan(turn) cos(rake), machine upright
    found = frames.kinematic_steer(math.radians(35.0), math.radians(rake))
    assert math.degrees(found) == pytest.approx(steer, abs=5e-4)


@given(TURNS, RAKES)
def test_kinematic_steer_of_the_turned_wheel(turn, rake):
    bike = machine(rake)
    turned, _ = pose.body_motion(bike, Body.LOWER_FORK, turn, 0.0)
    axle = turned @ [0.0, 1.0, 0.0]
    heading = np.cross(axle, [0.0, 0.0, 1.0])  # the wheel's plane cut by the ground
    assert math.atan2(heading[1], heading[0]) == pytest.approx(frames.kinematic_steer(turn, rake))


# --- distances between bodies --------------------------------------------------------------------


@pytest.mark.parametrize(("turn", "distance"), [(-35.0, 261.00), (0.0, 304.14), (35.0, 357.39)])
def test_distance_from_frame_to_bar(turn, distance):
    # chassis geometry formula, from memory: d² = p² + q² - 2 p q cos(phi + turn) + z²
    p, q, phi, z = 100.0, 300.0, math.radians(60.0), 150.0
    bike = machine()
    on_frame = frames.local_to_machine(bike.rake, p, 0.0, 0.0)
    on_bar = frames.local_to_machine(bike.rake, q * math.cos(phi), q * math.sin(phi), z)
    now = moved(bike, Body.STEERING, math.radians(turn), 0.0, on_bar)
    assert np.linalg.norm(now - on_frame) == pytest.approx(distance, abs=0.005)
    closed = p**2 + q**2 - 2 * p * q * math.cos(phi + math.radians(turn)) + z**2
    assert np.linalg.norm(now - on_frame) == pytest.approx(math.sqrt(closed))


@given(POINTS, TURNS, RAKES)
def test_a_turned_point_moves_by_its_chord(point, turn, rake):
    # chord of a circle: 2 r sin(turn / 2), r the distance from the steering axis
    bike = machine(rake)
    radius = np.linalg.norm(np.cross(point, frames.steering_axis(rake)))
    way = np.linalg.norm(moved(bike, Body.STEERING, turn, 0.0, point) - point)
    assert way == pytest.approx(2.0 * radius * math.sin(abs(turn) / 2.0), abs=1e-9)


@given(st.floats(-700.0, 300.0), TURNS, RAKES)
def test_a_point_on_the_axis_stays(along, turn, rake):
    point = along * frames.steering_axis(rake)
    assert moved(machine(rake), Body.STEERING, turn, 50.0, point) == pytest.approx(point, abs=1e-10)


@given(POINTS, TURNS, TURNS, TRAVELS, TRAVELS)
def test_motions_compose(point, turn, more, travel, further):
    bike = machine()
    for body in Body:
        both = moved(bike, body, turn + more, travel + further, point)
        one_by_one = moved(bike, body, more, further, moved(bike, body, turn, travel, point))
        assert one_by_one == pytest.approx(both, abs=1e-9)
        back = moved(bike, body, -turn, -travel, moved(bike, body, turn, travel, point))
        assert back == pytest.approx(point, abs=1e-9)


@given(POINTS, POINTS, TURNS, TRAVELS)
def test_bodies_are_rigid(point, other, turn, travel):
    bike = machine()
    for body in Body:
        gap = moved(bike, body, turn, travel, point) - moved(bike, body, turn, travel, other)
        assert np.linalg.norm(gap) == pytest.approx(np.linalg.norm(point - other), abs=1e-9)
        turned, _ = pose.body_motion(bike, body, turn, travel)
        assert np.linalg.det(turned) == pytest.approx(1.0)


@given(POINTS, TURNS, TRAVELS)
def test_mirrored_point_at_mirrored_turn(point, turn, travel):
    bike = machine()
    for body in Body:
        here = moved(bike, body, turn, travel, point)
        there = moved(bike, body, -turn, travel, point * MIRROR)
        assert there == pytest.approx(here * MIRROR, abs=1e-9)


def test_a_left_turn_takes_the_front_to_the_left_and_the_left_grip_back():
    bike = machine()
    turn = math.radians(20.0)
    assert moved(bike, Body.STEERING, turn, 0.0, np.array([300.0, 0.0, 0.0]))[1] > 0.0
    assert moved(bike, Body.STEERING, turn, 0.0, np.array([0.0, 300.0, 0.0]))[0] < 0.0


@given(POINTS, TURNS, TRAVELS)
def test_what_each_body_follows(point, turn, travel):
    bike = machine()
    assert np.array_equal(moved(bike, Body.FRAME, turn, travel, point), point)
    assert moved(bike, Body.STEERING, turn, travel, point) == pytest.approx(
        moved(bike, Body.STEERING, turn, 0.0, point), abs=1e-12
    )
    slid = moved(bike, Body.LOWER_FORK, turn, travel, point)
    upper = moved(bike, Body.STEERING, turn, 0.0, point)
    assert slid - upper == pytest.approx(travel * frames.steering_axis(bike.rake), abs=1e-9)


def test_compression_brings_the_wheel_up():
    bike = machine()
    axle = frames.local_to_machine(bike.rake, bike.fork_offset, 0.0, -bike.fork_length)
    assert moved(bike, Body.LOWER_FORK, 0.0, 75.0, axle)[2] > axle[2]


@pytest.mark.parametrize("body", list(Body))
def test_many_motions_at_once_are_the_single_ones(body):
    bike = machine()
    angles, slides = pose.sweep_angles(bike, math.radians(7.0)), pose.travels(bike)
    turns, shifts = pose.motions(bike, body, angles, slides)
    assert turns.shape == (3, len(angles), 3, 3)
    assert shifts.shape == (3, len(angles), 3)
    for i, travel in enumerate(slides):
        for j, turn in enumerate(angles):
            turned, shift = pose.body_motion(bike, body, turn, travel)
            assert turns[i, j] == pytest.approx(turned, abs=1e-15)
            assert shifts[i, j] == pytest.approx(shift, abs=1e-12)


# --- the poses of a sweep ------------------------------------------------------------------------


@given(
    st.floats(0.0, math.radians(60.0)),
    st.floats(0.0, math.radians(60.0)),
    st.floats(math.radians(0.2), math.radians(15.0)),
)
def test_sweep_angles(left, right, step):
    angles = pose.sweep_angles(machine(lock_left=left, lock_right=right), step)
    assert angles[0] == -right
    assert angles[-1] == left
    assert np.count_nonzero(angles == 0.0) == 1
    assert np.all(np.diff(angles) > 0.0)
    assert np.all(np.diff(angles) <= step * (1.0 + 1e-5))
    inner = angles[1:-1] / step
    assert inner == pytest.approx(np.round(inner), abs=1e-9)


def test_sweep_angles_by_the_degree():
    angles = pose.sweep_angles(machine())
    assert np.degrees(angles) == pytest.approx(np.arange(-34.0, 37.0))
    half = pose.sweep_angles(machine(lock_left=math.radians(2.5), lock_right=0.0))
    assert np.degrees(half) == pytest.approx([0.0, 1.0, 2.0, 2.5])


def test_sweep_angles_refuses_nonsense():
    for step in (0.0, -0.1, math.nan):
        with pytest.raises(ValueError, match="step"):
            pose.sweep_angles(machine(), step)
    with pytest.raises(ValueError, match="lock"):
        pose.sweep_angles(machine(lock_left=-0.1))


def test_travels_run_from_extension_to_compression():
    assert pose.travels(machine()) == pytest.approx([-45.0, 0.0, 75.0])
