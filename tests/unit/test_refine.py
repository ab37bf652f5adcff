"""Searching between the poses of a sweep, on functions whose tops are known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from barfit.analysis.probes import Probe
from barfit.analysis.refine import Box, Top, highest, starts

BOX = Box((-0.6, 0.6), (-45.0, 75.0))


def hill(turn: float, travel: float) -> float:
    """Highest, 500 mm, at 0.1234 rad and 17 mm."""
    return 500.0 - 80.0 * (math.cosh(2.0 * (turn - 0.1234)) - 1.0) - 0.002 * (travel - 17.0) ** 2


def values(probes: list[Probe]) -> np.ndarray:
    return np.array([hill(probe.turn, probe.travel) for probe in probes])


def test_the_top_between_the_poses_is_found() -> None:
    start = Top(0, hill(0.12, 0.0), 0.12, 0.0)
    (top,) = highest(values, [start], [BOX], [(math.radians(1.0), 22.5)])
    assert top.value == pytest.approx(500.0, abs=0.01)
    assert top.turn == pytest.approx(0.1234, abs=0.01)
    assert top.travel == pytest.approx(17.0, abs=2.0)


def test_it_stays_in_its_box() -> None:
    box = Box((-0.6, 0.1), (-45.0, 10.0))
    (top,) = highest(values, [Top(0, hill(0.1, 0.0), 0.1, 0.0)], [box], [(0.02, 5.0)])
    assert (top.turn, top.travel) == (0.1, 10.0)


def test_an_unknown_value_is_not_climbed_to() -> None:
    def holed(probes: list[Probe]) -> np.ndarray:
        return np.where([p.travel > 0.0 for p in probes], np.nan, values(probes))

    (top,) = highest(holed, [Top(0, hill(0.12, 0.0), 0.12, 0.0)], [BOX], [(0.02, 22.5)])
    assert top.travel <= 0.0
    assert top.value >= hill(0.12, 0.0)


def test_every_top_that_might_be_the_highest_is_a_start() -> None:
    angles = np.linspace(-0.6, 0.6, 13)
    table = np.array([np.cos(12.0 * angles) + 0.01 * angles, np.full(13, np.nan)])
    found = starts(3, table, angles, np.array([-45.0, 0.0]))
    assert {round(top.turn, 3) for top in found} == {-0.5, 0.0, 0.5}
    assert found[0].value == table[0].max()
    assert all((top.span, top.travel) == (3, -45.0) for top in found)
    assert starts(0, np.full((1, 13), np.nan), angles, np.zeros(1)) == []
