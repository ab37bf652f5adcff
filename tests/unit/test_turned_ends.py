"""Ends of lines turned: which way they point afterwards, and how that is told."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barfit import edits, scenario
from barfit.analysis.banjos import ends_bolt
from barfit.geometry.frames import rotation
from barfit.geometry.pose import layout
from barfit.scene.rings import Ring, axes, towards

NAKED = scenario.load(Path("scenarios/naked-standard.toml"))
ways = st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda way: np.linalg.norm(way) > 0.1)


@given(ways, st.booleans())
def test_an_end_points_where_it_is_led(way, stock):
    goal = np.array(way) / np.linalg.norm(way)
    for line in NAKED.lines:
        last = len(line.stations) - 1
        for index in (0, last):
            edited = edits.lead_along(NAKED, line.name, index, way, NAKED.bars(stock))
            places = layout(edited, NAKED.bars(stock))[line.name]
            points = -places.directions[last] if index else places.directions[0]
            np.testing.assert_allclose(points, goal, atol=1e-12)
            np.testing.assert_allclose(
                places.points, layout(NAKED, NAKED.bars(stock))[line.name].points
            )


def test_a_guide_has_no_direction_to_be_led_along():
    line = NAKED.line("clutch cable")
    with pytest.raises(ValueError, match="has no direction of its own"):
        edits.lead_along(NAKED, line.name, 1, (1.0, 0.0, 0.0))


def test_a_turned_banjo_keeps_its_angle_to_the_bolt():
    line = NAKED.line("brake hose to the splitter")
    for last in (False, True):
        bolt = ends_bolt(NAKED, NAKED.new, line, last)
        places = layout(NAKED, NAKED.new)[line.name]
        was = -places.directions[-1] if last else places.directions[0]
        way = rotation(axes(was, bolt)[Ring.BOLT], 0.7) @ was
        index = len(line.stations) - 1 if last else 0
        edited = edits.lead_along(NAKED, line.name, index, tuple(way))
        again = ends_bolt(edited, edited.new, edited.line(line.name), last)
        np.testing.assert_allclose(again, bolt)
        assert way @ bolt == pytest.approx(was @ bolt)


def test_a_cable_is_on_no_bolt():
    assert ends_bolt(NAKED, NAKED.new, NAKED.line("clutch cable"), True) is None


@given(ways)
def test_axes_are_square_to_the_line_and_a_positive_turn_goes_up(way):
    leaving = np.array(way) / np.linalg.norm(way)
    found = axes(leaving)
    level, upright = found[Ring.LEVEL], found[Ring.UPRIGHT]
    np.testing.assert_allclose(
        np.array((leaving, level, upright)) @ np.array((leaving, level, upright)).T,
        np.eye(3),
        atol=1e-9,
    )
    if abs(leaving[2]) < 0.96:
        assert level[2] == pytest.approx(0.0, abs=1e-12)
        step = math.radians(1.0)
        assert (rotation(level, step) @ leaving)[2] > leaving[2]


@pytest.mark.parametrize(
    ("leaving", "axis", "words"),
    [
        ((1, 0, 0), (0, -1, 0), ("up", "down")),
        ((1, 0, 0), (0, 0, 1), ("left", "right")),
        ((-1, 0, 0), (0, 0, 1), ("right", "left")),
        ((0, 0, 1), (0, 1, 0), ("forward", "back")),
    ],
)
def test_a_turn_is_told_by_where_it_takes_the_line(leaving, axis, words):
    # right-hand rule; x forward, y left, z up (ISO 8855)
    assert towards(np.array(leaving, float), np.array(axis, float)) == words
