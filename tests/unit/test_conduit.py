"""A wire in a conduit: friction, lost motion and free play against published numbers, closed
forms and sums by hand."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from made_sweeps import arc

from barfit.geometry.curve import arc_length, total_bend
from barfit.trade.conduit import backlash, play_gained, pull_ratio, stretch


def helix(radius: float, climb: float, angle: float, points: int = 4001) -> np.ndarray:
    """Points of a helix that climbs ``climb`` for every radian."""
    at = np.linspace(0.0, angle, points)
    return np.column_stack((radius * np.cos(at), radius * np.sin(at), climb * at))


# A cable-pulling manual's table of bend multipliers: coefficient, degrees, times the pull.
@pytest.mark.parametrize(
    ("friction", "degrees", "times"),
    [
        (0.15, 15, 1.04),
        (0.15, 30, 1.08),
        (0.15, 45, 1.13),  # 1.125: the manual rounds up
        (0.15, 60, 1.17),
        (0.15, 90, 1.27),
        (0.3, 45, 1.27),
        (0.3, 90, 1.60),
        (0.5, 90, 2.19),
    ],
)
def test_a_pull_grows_as_the_table_of_a_cable_pulling_manual_says(
    friction: float, degrees: float, times: float
) -> None:
    assert pull_ratio(friction, math.radians(degrees)) == pytest.approx(times, abs=0.0055)


# exp(-mu angle), Euler-Eytelwein's law, to four digits (computed apart from this program).
@pytest.mark.parametrize(
    ("friction", "degrees", "share"),
    [
        (0.04, 90, 0.9391),
        (0.04, 360, 0.7778),
        (0.08, 180, 0.7778),
        (0.1, 270, 0.6242),
        (0.15, 45, 0.8889),
        (0.2, 270, 0.3897),
        (0.3, 360, 0.1518),
    ],
)
def test_what_gets_through_is_the_inverse(friction: float, degrees: float, share: float) -> None:
    assert 1.0 / pull_ratio(friction, math.radians(degrees)) == pytest.approx(share, abs=5e-5)


def test_friction_summed_corner_by_corner_along_a_helix() -> None:
    """Coulomb at each corner of a polygon: the wall takes 2 T sin(turn / 2) of a pull T."""
    points = helix(60.0, 15.0, math.tau)
    steps = np.diff(points, axis=0)
    steps /= np.linalg.norm(steps, axis=1)[:, None]
    pull = 1.0
    for one, other in pairwise(steps):
        turn = math.acos(min(1.0, float(one @ other)))
        pull += 0.12 * 2.0 * pull * math.sin(0.5 * turn)
    assert pull_ratio(0.12, float(total_bend(points))) == pytest.approx(pull, rel=1e-4)


def test_the_bend_of_a_helix_and_of_an_arc_with_rigid_ends() -> None:
    # a helix has the curvature r / (r² + c²) over the length φ √(r² + c²)
    radius, climb, angle = 60.0, 25.0, 1.75 * math.tau
    expected = radius / math.hypot(radius, climb) * angle
    found = float(total_bend(helix(radius, climb, angle)))
    assert found == pytest.approx(expected, rel=5e-4)
    assert float(total_bend(arc(math.radians(236)))) == pytest.approx(math.radians(236), rel=1e-6)


def test_backlash_of_a_published_clearance() -> None:
    """0.5 mm between core and liner, 270° of bends: 2.36 mm (geometry; a design magazine's article
    on mechanical cables names the cause)."""
    assert backlash(0.5, math.radians(270)) == pytest.approx(2.36, abs=0.005)


def test_backlash_is_what_outer_and_inner_path_differ_by() -> None:
    bend, clearance = math.radians(200), 0.7
    inner, outer = (arc_length(arc(bend, 80.0 + side * 0.5 * clearance)) for side in (-1.0, 1.0))
    assert backlash(clearance, bend) == pytest.approx(outer - inner, rel=1e-5)


def test_free_play_is_what_the_inner_path_is_shorter_by() -> None:
    clearance = 0.7
    paths = {}
    for degrees in (180.0, 240.0):
        bend = math.radians(degrees)
        middle = arc_length(arc(bend))
        paths[degrees] = middle - arc_length(arc(bend, 80.0 - 0.5 * clearance))
    gained = play_gained(clearance, math.radians(240), math.radians(180))
    assert gained == pytest.approx(paths[240.0] - paths[180.0], rel=1e-4)
    assert gained == pytest.approx(0.35 * math.pi / 3.0)


def test_free_play_along_a_helix() -> None:
    """Inside a helix a wire runs on a thinner helix: closed form, first order in the clearance."""
    radius, climb, angle, gap = 60.0, 20.0, math.tau, 0.35
    shorter = angle * (math.hypot(radius, climb) - math.hypot(radius - gap, climb))
    bend = radius / math.hypot(radius, climb) * angle
    assert play_gained(2.0 * gap, bend, 0.0) == pytest.approx(shorter, rel=2e-3)


def test_stretch_of_a_steel_wire_by_hand() -> None:
    """1 m of 2 mm round steel (206 000 N/mm²) under 100 N: 100 · 1000 / (π · 206 000) = 0.1545."""
    area = 0.25 * math.pi * 2.0**2
    assert stretch(1000.0, 100.0, 100.0, area, 206_000.0) == pytest.approx(0.1545, abs=5e-5)
    assert stretch(1000.0, 150.0, 50.0, area, 206_000.0) == pytest.approx(0.1545, abs=5e-5)


def test_stretch_by_the_mean_pull_is_close_to_the_pull_that_falls_bend_by_bend() -> None:
    """∫ T ds / (A E) over an even bend of 270°, coefficient 0.12, T falling exponentially."""
    mu_bend, near, length = 0.12 * 1.5 * math.pi, 250.0, 1000.0
    far = near * math.exp(-mu_bend)
    exact = (near - far) / mu_bend * length / (3.0 * 150_000.0)
    assert stretch(length, near, far, 3.0, 150_000.0) == pytest.approx(exact, rel=0.03)
