"""Gaps, rises, bends and eyes of hoses on curves whose answers are known."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from barfit import scenario
from barfit.geometry.frames import local_to_machine, rotation
from barfit.model import Disc, Setup
from barfit.trade.hose_path import (
    clocking,
    disc_distance,
    eye_angle,
    falls_from,
    rises,
    turned,
    wheel_distance,
)


def arc(points: np.ndarray) -> np.ndarray:
    return np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))))


def axle(setup: Setup) -> np.ndarray:
    machine = setup.machine
    return local_to_machine(machine.rake, machine.fork_offset, 0.0, -machine.fork_length)


def test_the_wheel_is_a_round_tyre_all_round(cruiser: Setup) -> None:
    """Against the nearest of many points of the tyre's torus, and flat beside the rim."""
    machine, middle = cruiser.machine, axle(cruiser)
    half = 0.5 * machine.wheel_width
    major = machine.wheel_radius - half
    once, half_once = np.radians(np.arange(0.0, 360.0, 0.5)), np.radians(np.arange(-90, 91))
    round_, tube = np.meshgrid(once, half_once)
    out = major + half * np.cos(tube)
    torus = np.stack([out * np.cos(round_), half * np.sin(tube), out * np.sin(round_)], axis=-1)
    torus = torus.reshape(-1, 3) + middle
    rng = np.random.default_rng(5)
    angle, far = rng.uniform(0, 2 * np.pi, 20), rng.uniform(major + 20, major + 300, 20)
    across = rng.uniform(half + 10, 200, 20) * rng.choice((-1, 1), 20)
    points = middle + np.stack([far * np.cos(angle), across, far * np.sin(angle)], axis=-1)
    nearest = np.linalg.norm(points[:, None] - torus[None], axis=-1).min(axis=1)
    assert wheel_distance(machine)(points) == pytest.approx(nearest, abs=0.1)
    beside = middle + np.array([[30.0, half + 25.0, -60.0], [0.0, -half + 5.0, 0.0]])
    assert wheel_distance(machine)(beside) == pytest.approx([25.0, -5.0])


def test_a_disc_is_there_on_the_side_of_its_caliper_only(cruiser: Setup) -> None:
    machine = replace(cruiser.machine, disc=Disc(radius=150.0, offset=70.0, thickness=5.0))
    distance = disc_distance(machine, {1})
    assert distance is not None
    points = axle(cruiser) + np.array([[100.0, 90.0, 0.0], [0.0, 70.0, 190.0], [0.0, -70.0, 0.0]])
    assert distance(points) == pytest.approx([17.5, 40.0, 137.5])
    assert disc_distance(machine, set()) is None
    assert disc_distance(cruiser.machine, {1}) is None


def test_a_rise_is_as_high_as_the_higher_of_the_lows_beside_it() -> None:
    x = np.linspace(0.0, 400.0, 401)
    z = np.interp(x, [0, 100, 200, 250, 400], [0, -30, -10, -22, -300])
    points = np.stack([x, 0.0 * x, z], axis=1)
    (rise,) = rises(points, arc(points), 5.0)
    assert rise.height == pytest.approx(
        20.0
    )  # over the low at 100 on the one side; the other falls
    assert rise.at == pytest.approx(math.hypot(100, 30) + math.hypot(100, 20), abs=1.5)
    assert rises(points, arc(points), 21.0) == ()


def test_a_part_traps_air_only_where_hoses_fall_from_it() -> None:
    x = np.linspace(0.0, 100.0, 101)
    down = np.stack([x, 0 * x, -x], axis=1)
    assert falls_from(down, False, 5.0)
    assert not falls_from(down, True, 5.0)
    dip = np.stack([x, 0 * x, np.interp(x, [0, 3, 100], [0, -3, 50])], axis=1)
    assert not falls_from(dip, False, 5.0)  # falls a little, then rises above where it began
    assert falls_from(dip, False, 2.0)


def test_eye_angles() -> None:
    head = np.array([0.0, 0.0, 1.0])
    assert eye_angle(head, np.array([3.0, 0.0, 0.0])) == pytest.approx(0.0)
    assert eye_angle(head, np.array([1.0, 0.0, 1.0])) == pytest.approx(math.pi / 4)
    assert eye_angle(head, np.array([1.0, 0.0, -1.0])) == pytest.approx(math.pi / 4)


def test_eyes_on_a_flat_curve_are_not_clocked() -> None:
    angle = np.linspace(0.0, 2.2, 200)
    flat = 80.0 * np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    up = np.array([0.0, 0.0, 1.0])
    assert clocking(flat, up, up) == pytest.approx(0.0, abs=1e-9)
    # turned about the far end's direction by 40°, clockwise seen along it
    along = flat[-1] - flat[-2]
    far = rotation(along, math.radians(40.0)) @ up
    assert clocking(flat, up, far) == pytest.approx(math.radians(40.0), abs=1e-9)


def test_three_square_bends_clock_by_the_corner_of_a_cube() -> None:
    """Forward, left, up and forward again: the directions enclose an eighth of a sphere, so that
    what is carried along comes back turned by a quarter (Gauss-Bonnet).
    """
    legs = np.array([[1.0, 0, 0], [0, 1.0, 0], [0, 0, 1.0], [1.0, 0, 0]])
    points = np.concatenate(([[0.0, 0, 0]], np.cumsum(legs, axis=0)))
    eye = np.array([0.0, 0.0, 1.0])
    assert abs(clocking(points, eye, eye)) == pytest.approx(math.pi / 2)


def test_a_helix_clocks_by_its_torsion() -> None:
    """A frame carried along without twist turns against the helix's own by torsion times length:
    p / (r² + p²) per length, for radius r and rise p per radian.
    """
    radius, pitch, angle = 60.0, 35.0, np.linspace(0.0, 2.0, 4001)
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle), pitch * angle], axis=1)
    normal = np.stack([-np.cos(angle), -np.sin(angle), 0 * angle], axis=1)
    length = math.hypot(radius, pitch) * 2.0
    wanted = pitch / (radius**2 + pitch**2) * length
    assert clocking(points, normal[0], normal[-1]) == pytest.approx(wanted, abs=1e-3)


def test_an_eye_along_the_hose_shows_no_way_round() -> None:
    line = np.array([[0.0, 0, 0], [0, 0, 50.0], [0, 0, 100.0]])
    assert math.isnan(clocking(line, np.array([0.0, 0, 1.0]), np.array([1.0, 0, 0])))
    assert turned(math.radians(350.0)) == pytest.approx(math.radians(-10.0))


def test_the_bundled_machines_say_where_their_discs_are() -> None:
    hosed = [setup for setup in map(scenario.load, scenario.bundled()) if setup.machine.disc]
    assert len(hosed) == 4
