"""Rods through rings: they meet the ring, and slide through it without friction."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize_scalar

from barfit.bench.space_checks import GUIDED
from barfit.mechanics import Shape, Span, settle, taut

each = pytest.mark.parametrize("case", list(GUIDED))


def nearest(shape: Shape, ring: np.ndarray) -> float:
    """The distance, mm, from a ring to a smooth curve through the rod's nodes."""
    curve = CubicSpline(np.arange(len(shape.points)), shape.points)
    node = int(np.linalg.norm(shape.points - ring, axis=1).argmin())
    found = minimize_scalar(
        lambda at: float(np.linalg.norm(curve(at) - ring)),
        bounds=(max(node - 1, 0), min(node + 1, len(shape.points) - 1)),
        method="bounded",
        options={"xatol": 1e-7},
    )
    return float(found.fun)


def pull_along(shape: Shape, span: Span) -> np.ndarray:
    """n·t + ½·EI·κ² on every edge, N: without weight and friction the same all along."""
    bend = 0.5 * span.bending_stiffness / np.asarray(shape.radii) ** 2
    return np.asarray(shape.tensions + 0.5 * (bend[1:] + bend[:-1]))


@each
@pytest.mark.parametrize("length", [0.98, 1.0, 1.1])
def test_rod_meets_its_rings(case: str, length: float) -> None:
    span = replace(GUIDED[case], length=length * GUIDED[case].length, nodes=161)
    shape = settle(span)
    assert shape.converged
    for ring in span.guides:
        assert nearest(shape, np.array(ring)) < 0.05
    assert len(shape.guides_at) == len(span.guides)
    assert all(np.diff([0.0, *shape.guides_at, shape.length]) > 0)


@each
def test_taut_rod_meets_its_rings(case: str) -> None:
    span = replace(GUIDED[case], nodes=321)  # as fine as the mesh it is solved on
    shape = taut(span)
    assert shape.converged
    for ring in span.guides:
        assert nearest(shape, np.array(ring)) < 0.05


@each
def test_pull_goes_on_through_a_ring(case: str) -> None:
    """Sliding is free: the energy integral does not change at a ring (a jump is friction)."""
    span = replace(GUIDED[case], weight=0.0, nodes=321)
    shape = settle(span)
    assert shape.converged
    pulls = pull_along(shape, span)
    force = span.bending_stiffness / span.length**2
    middles = (np.arange(span.nodes - 1) + 0.5) * span.length / (span.nodes - 1)
    away = np.ones(len(pulls), bool)  # the rings' own edges, where curvature has its corner
    for at in shape.guides_at:
        away &= np.abs(middles - at) > 3 * span.length / (span.nodes - 1)
    away[[0, -1]] = False
    assert np.ptp(pulls[away]) < 0.5 * force


def test_ring_on_the_free_shape_bears_nothing() -> None:
    """A ring put where the rod passes anyway changes neither shape nor energy."""
    free = Span((0, 0, 0), (1, 0, 0), (400, 200, 150), (0, 0.6, 0.8), 600, 5e4, 0.001, nodes=81)
    shape = settle(free)
    ring = shape.points[30]
    held = settle(replace(free, guides=(tuple(ring),)))
    assert held.converged
    assert np.linalg.norm(held.points - shape.points, axis=1).max() < 0.01
    assert held.energy == pytest.approx(shape.energy, rel=1e-4)
    assert held.guides_at[0] == pytest.approx(30 * 600 / 80, abs=0.05)


def test_order_of_rings_is_kept() -> None:
    """Two rings passed in the other order make another, longer way."""
    span = GUIDED["cable through two rings"]
    there = taut(span)
    swapped = taut(replace(span, guides=span.guides[::-1]))
    assert swapped.length > there.length + 100
