"""The boundary-value reference itself: exact Jacobians, closed forms, conserved quantities."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from reference_values import cases, names, plane_case

from barfit.bench.equations import Problem
from barfit.bench.kirchhoff import Clamped, hermite, settle_bvp, taut_bvp

Case = dict[str, Any]
LENGTH, STIFFNESS = 700.0, 5e4
SPATIAL = Clamped(
    np.zeros(3), np.array([1.0, 0, 0]), np.array([400.0, 200, 150]), np.array([0, 0.6, 0.8]), 5e4
)
RINGS = np.array([[220.0, 30, 80]])


@pytest.mark.parametrize(
    "case", cases("planar_clamped_clamped"), ids=names("planar_clamped_clamped")
)
def test_plane_elastica(case: Case) -> None:
    """From a shape through the table's own quarter points, the same elastica is found."""
    expected = case["expected"]
    span, curve = plane_case(case, LENGTH, STIFFNESS)
    found = settle_bvp(span, LENGTH, curve)
    assert found.converged
    energy = found.energy * LENGTH / STIFFNESS
    assert energy == pytest.approx(expected["bending_energy"], rel=1e-6)
    assert found.min_radius / LENGTH == pytest.approx(expected["min_radius"], rel=1e-5)
    assert found.at(LENGTH * np.array([0.25, 0.5, 0.75]))[:, :2] / LENGTH == pytest.approx(
        np.array(expected["quarter_points"]), abs=1e-6
    )


@pytest.mark.parametrize("case", cases("helix_rod_3d"), ids=names("helix_rod_3d"))
def test_helix(case: Case) -> None:
    given, expected = case["inputs"], case["expected"]
    span = Clamped(
        np.array(given["start"]),
        np.array(given["start_tangent"]),
        np.array(given["end"]),
        np.array(given["end_tangent"]),
        1.0,
    )
    found = settle_bvp(span, given["L"])
    assert found.energy == pytest.approx(expected["bending_energy"], rel=1e-5)
    assert found.min_radius == pytest.approx(expected["min_radius"], rel=1e-5)
    assert found.at(np.array([given["L"] / 2]))[0] == pytest.approx(expected["mid_point"], abs=1e-7)


def test_pulled_rod_keeps_its_energy_integral() -> None:
    """n·t + ½·EI·κ² is the pull all along, on both sides of a ring too (Love, art. 262)."""
    for rings in (None, RINGS):
        span = Clamped(
            SPATIAL.start,
            SPATIAL.start_direction,
            SPATIAL.end,
            SPATIAL.end_direction,
            STIFFNESS,
            0.0,
            rings,
        )
        through = SPATIAL.start if rings is None else rings[0]
        guess = np.vstack(
            [np.linspace(SPATIAL.start, through, 40), np.linspace(through, SPATIAL.end, 40)[1:]]
        )
        found = taut_bvp(span, 20.0, None if rings is None else guess)
        assert found.converged
        integral = found.tensions + 0.5 * STIFFNESS * found.curvatures**2
        assert integral == pytest.approx(20.0, rel=1e-6)
        if rings is not None:
            assert found.at(found.ring_arcs) == pytest.approx(rings, abs=1e-4)


def test_weight_is_carried_by_the_force() -> None:
    """Up the rod, n·t + ½·EI·κ² grows by weight times height."""
    span = Clamped(
        SPATIAL.start,
        SPATIAL.start_direction,
        SPATIAL.end,
        SPATIAL.end_direction,
        STIFFNESS,
        0.004,
    )
    found = settle_bvp(span, 600.0)
    integral = found.tensions + 0.5 * STIFFNESS * found.curvatures**2
    lifted = integral - 0.004 * found.points[:, 2]
    assert np.ptp(lifted) < 1e-5
    assert np.ptp(integral) > 0.5


def test_cubic_has_the_length_asked_for() -> None:
    points = hermite(SPATIAL, 640.0)
    assert np.linalg.norm(np.diff(points, axis=0), axis=1).sum() == pytest.approx(640.0, rel=1e-9)


@pytest.mark.parametrize("length", [None, 1.0], ids=["free length", "given length"])
def test_jacobians(length: float | None) -> None:
    rng = np.random.default_rng(5)
    problem = Problem(
        np.zeros(3),
        np.array([1.0, 0, 0]),
        np.array([0.6, 0.3, 0.2]),
        np.array([0, 0.6, 0.8]),
        np.array([[0.3, 0.1, 0.1]]),
        0.7,
        length,
        3.0,
    )
    u = np.linspace(0, 1, 5)
    y, p = rng.normal(size=(18, 5)), rng.normal(size=8)
    by_state, by_parameter = problem.slope_jacobian(u, y, p)
    step = 1e-6
    for k in range(18):
        move = np.zeros_like(y)
        move[k] = step
        by_difference = (problem.slope(u, y + move, p) - problem.slope(u, y - move, p)) / (2 * step)
        assert by_state[:, k] == pytest.approx(by_difference, abs=1e-7)
    for k in range(8):
        move = np.zeros_like(p)
        move[k] = step
        by_difference = (problem.slope(u, y, p + move) - problem.slope(u, y, p - move)) / (2 * step)
        assert by_parameter[:, k] == pytest.approx(by_difference, abs=1e-7)
    values = [rng.normal(size=18), rng.normal(size=18), p]
    jacobians = problem.mismatch_jacobian(*values)
    for which, jacobian in enumerate(jacobians):
        for k in range(jacobian.shape[1]):
            up = [value.copy() for value in values]
            down = [value.copy() for value in values]
            up[which][k] += step
            down[which][k] -= step
            by_difference = (problem.mismatch(*up) - problem.mismatch(*down)) / (2 * step)
            assert jacobian[:, k] == pytest.approx(by_difference, abs=1e-7)
