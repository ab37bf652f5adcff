"""The references for rods on obstacles hold together among themselves."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from barfit.bench import contact_forms as forms
from barfit.bench.wrapped import ball, cylinder, wrapped


def test_draped_rod_is_the_elastica_from_lift_off() -> None:
    """Integrated from lift-off, the leg ends where, and as long as, the closed form says."""
    stiffness, pull, radius, slope = 5e4, 20.0, 60.0, np.deg2rad(80)
    found = forms.draped(stiffness, pull, radius, slope)
    leg = found.half - found.on * radius

    def slopes(_: float, y: np.ndarray) -> list[float]:
        bend = pull * np.sin(y[0] - slope) / stiffness  # EI θ'' = F sin(θ - β), θ below the level
        return [y[1], bend, np.cos(y[0]), -np.sin(y[0])]

    start = [found.on, 1 / radius, radius * np.sin(found.on), radius * np.cos(found.on)]
    path = solve_ivp(slopes, (0, leg), start, method="DOP853", rtol=1e-12, atol=1e-12).y[:, -1]
    # the last of the bend, e^-12 of it, grows back to e^12 times a rounding error at most
    assert path[2:] == pytest.approx(found.end, abs=0.2)
    up = 2 * (found.tension * np.sin(found.on) + found.edge * np.cos(found.on))
    assert up == pytest.approx(found.total, rel=1e-12)


def test_draped_rod_must_reach_round() -> None:
    with pytest.raises(ValueError, match="along a line"):
        forms.draped(5e4, 20.0, 60.0, np.deg2rad(30))
    with pytest.raises(ValueError, match="along a line"):
        forms.draped(5e4, 20.0, 20.0, np.deg2rad(80))


def test_lifted_rod_nearly_level_is_the_beam() -> None:
    found = forms.lifted(5e4, 0.003, 1.0)
    assert found.length == pytest.approx((24 * 5e4 * 1.0 / 0.003) ** 0.25, rel=1e-4)
    assert found.force == pytest.approx(0.5 * 0.003 * found.length, rel=1e-3)


def test_free_rod_between_clamps_of_an_arc_is_the_arc() -> None:
    """With nothing in its way the minimiser finds the half circle, whose energy is π²/2·EI/L."""
    length = 300.0
    start = np.array([0.0, 50.0, 0.0])
    end = start + np.array([0.0, 2 * length / np.pi, 0.0])
    guess = np.array([0.0, 0.3, 2.0, np.pi]), np.zeros(4)
    found = wrapped(start, end, guess, length, 1e4, 0.0, ball(1.0))
    assert found.converged
    assert found.energy == pytest.approx(0.5 * np.pi**2 * 1e4 / length, rel=1e-4)
    assert 1 / found.curvatures == pytest.approx(length / np.pi, rel=5e-3)
    assert found.press.max() == 0.0


def test_rod_that_must_wrap_does_not_pass_through() -> None:
    length, radius = 400.0, 80.0
    start, end = np.array([80.0, -60.0, 0.0]), np.array([-80.0, -60.0, 0.0])
    heading = 0.5 * np.pi + np.interp(np.linspace(0, 1, 9), [0, 0.2, 0.8, 1], [0, 0, np.pi, np.pi])
    found = wrapped(start, end, (heading, np.zeros(9)), length, 5e4, 0.0, cylinder(radius))
    assert found.converged
    assert cylinder(radius)(found.points)[0].min() > -0.005
    # what presses is what the energy grows by with the radius
    more, less = (
        wrapped(start, end, (heading, np.zeros(9)), length, 5e4, 0.0, cylinder(radius + step))
        for step in (0.2, -0.2)
    )
    assert found.press.sum() == pytest.approx((more.energy - less.energy) / 0.4, rel=0.02)
