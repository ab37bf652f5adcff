"""The length that keeps a bend radius: the solver's own search against growing it from outside."""

from __future__ import annotations

import sys

import numpy as np
import pytest

from barfit.bench.dubins import dubins_length
from barfit.bench.space_checks import BEND_CASES, bend_span, shortest_keeping
from barfit.mechanics.newton import Outcome, newton
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.settle import batch_of_one
from barfit.mechanics.start import pulled
from barfit.mechanics.taut import bend_limited


def search(case: str, radius: float, longest: float) -> float:
    span = bend_span(case)
    rods = batch_of_one(span)
    taut, outcome = pulled(rods, np.array([20.0]), span.nodes)
    assert outcome.converged.all()
    return float(bend_limited(rods, taut, np.array([radius]), np.array([longest]))[0])


@pytest.mark.parametrize("case", list(BEND_CASES))
def test_search_finds_the_length_that_growing_finds(case: str) -> None:
    x, y, last, radius = BEND_CASES[case]
    bound = dubins_length((0, 0, 0), (x, y, np.deg2rad(last)), radius)
    found = search(case, radius, 2 * bound)
    assert found >= 0.999 * bound
    assert found == pytest.approx(shortest_keeping(bend_span(case), radius, bound), abs=0.3)


@pytest.mark.parametrize("case", list(BEND_CASES))
def test_radius_kept_already_needs_no_length(case: str) -> None:
    assert search(case, 5.0, 2000.0) == 0.0


def test_narrow_window_of_lengths_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A slack S bend gets rounder, then sharper again: only 437.2 to 440 mm keep 300 mm here."""
    monkeypatch.setitem(BEND_CASES, "window", (420, 110, 0, 300))
    assert search("window", 300.0, 900.0) == pytest.approx(437.2, abs=0.3)


def test_radius_no_length_keeps_takes_an_endless_one() -> None:
    """A U turn between ends 200 mm apart cannot be rounder than a circle through both."""
    assert search("U turn, 75 mm", 400.0, 2500.0) == np.inf


def test_a_shape_that_is_lost_on_the_way_leaves_the_length_unknown(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Not the same as a bend that no length cures."""
    module = sys.modules["barfit.mechanics.taut"]  # the package has a function of that name

    def lost(rods: Rods, state: State) -> Outcome:
        outcome = newton(rods, state)
        outcome.converged[:] = False
        return outcome

    monkeypatch.setattr(module, "newton", lost)
    monkeypatch.setattr(module, "rescue", lambda *_: None)
    assert np.isnan(search("U turn, 75 mm", 75.0, 2500.0))
