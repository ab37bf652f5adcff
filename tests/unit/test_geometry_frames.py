"""Rotations, steering frame and the attitude of a control."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from barfit.geometry import frames

ANGLES = st.floats(-math.pi, math.pi)
PARTS = st.floats(-1.0, 1.0)
VECTORS = st.tuples(PARTS, PARTS, PARTS).map(np.array)


def test_rotation_is_right_handed():
    turn = frames.rotation([0.0, 0.0, 2.0], math.pi / 2)
    assert turn @ [1.0, 0.0, 0.0] == pytest.approx([0.0, 1.0, 0.0])


def test_rotation_takes_many_angles():
    turns = frames.rotation([1.0, 2.0, 3.0], np.array([[0.1, -0.4, 0.0], [1.0, 2.0, 3.0]]))
    assert turns.shape == (2, 3, 3, 3)
    assert turns[0, 1] == pytest.approx(frames.rotation([1.0, 2.0, 3.0], -0.4))
    assert turns[0, 2] == pytest.approx(np.eye(3))


def test_rotation_refuses_an_axis_of_no_length():
    for axis in ([0.0, 0.0, 0.0], [math.nan, 0.0, 1.0]):
        with pytest.raises(ValueError, match="axis"):
            frames.rotation(axis, 0.1)


def test_steering_axis_points_up_and_back():
    axis = frames.steering_axis(math.radians(30.0))
    assert axis == pytest.approx([-0.5, 0.0, math.sqrt(0.75)])


def test_local_to_machine():
    rake = math.radians(30.0)
    forward = frames.local_to_machine(rake, 10.0, 0.0, 0.0)
    assert forward == pytest.approx([10.0 * math.sqrt(0.75), 0.0, 5.0])
    assert forward @ frames.steering_axis(rake) == pytest.approx(0.0)
    point = frames.local_to_machine(rake, 0.0, -7.0, -100.0)
    assert point == pytest.approx([50.0, -7.0, -100.0 * math.sqrt(0.75)])


@given(st.floats(-0.2, 1.0))
def test_steering_frame_is_right_handed_and_square(rake):
    frame = frames.steering_frame(rake)
    assert frame @ frame.T == pytest.approx(np.eye(3), abs=1e-14)
    assert np.linalg.det(frame) == pytest.approx(1.0)


@given(VECTORS)
def test_attitude_is_square_to_the_tube_and_right_handed(outward):
    assume(np.linalg.norm(outward) > 1e-3)
    forward, up = frames.attitude(outward)
    tube = outward / np.linalg.norm(outward)
    axes = np.column_stack([forward, tube, up])
    assert axes.T @ axes == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(axes) == pytest.approx(1.0)


@given(
    st.floats(math.radians(-20.0), math.radians(60.0)),
    st.floats(math.radians(-40.0), math.radians(40.0)),
)
def test_a_control_under_the_hand_is_level(sweep, downsweep):
    sideways = math.cos(sweep) * math.cos(downsweep)
    outward = [-math.sin(sweep) * math.cos(downsweep), sideways, -math.sin(downsweep)]
    forward, up = frames.attitude(outward)
    assert forward[2] == pytest.approx(0.0, abs=1e-12)
    assert forward[0] > 0.0
    assert up[2] > 0.0


@given(st.floats(-0.14, 0.14), st.floats(-0.6, 0.6))
def test_on_an_upright_forward_is_nearest_to_machine_forward(sideways, backward):
    outward = np.array([backward, sideways, math.sqrt(1.0 - sideways**2 - backward**2)])
    forward, up = frames.attitude(outward)
    # no direction square to the tube lies nearer to x
    assert forward[0] == pytest.approx(math.sqrt(1.0 - backward**2))
    assert up[1] < 0.0  # inboard, on the left


@pytest.mark.parametrize("backward", [-0.85, -0.6, -0.3, 0.4])
def test_attitude_never_jumps_along_a_bend(backward):
    def greatest_change(count):
        # from an upright that leans inboard, over to a hand straight that points down
        angles = np.linspace(-0.3, 2.2, count + 1)
        across = math.sqrt(1.0 - backward**2)
        forwards = np.array(
            [
                frames.attitude([backward, across * math.sin(a), across * math.cos(a)])[0]
                for a in angles
            ]
        )
        return np.linalg.norm(np.diff(forwards, axis=0), axis=1).max()

    coarse, fine = greatest_change(800), greatest_change(1600)
    assert coarse < 0.05
    assert coarse / fine == pytest.approx(2.0, rel=0.05)  # a jump would stay as it is


def test_attitude_of_a_tube_that_runs_fore_and_aft():
    forward, up = frames.attitude([-1.0, 0.0, 0.0])
    assert forward == pytest.approx([0.0, 1.0, 0.0])
    assert up == pytest.approx([0.0, 0.0, 1.0])


def test_attitude_refuses_a_tube_without_direction():
    with pytest.raises(ValueError, match="direction"):
        frames.attitude([0.0, 0.0, 0.0])
