"""How far controls go along the bar: sums by hand from a setup's own dimensions."""

from __future__ import annotations

from dataclasses import replace

import pytest

from barfit import edits, scenario
from barfit.geometry.pose import bar_shape
from barfit.trade.sizes import clamp_width, room
from barfit.trade.sliding import slide


@pytest.fixture
def setup():
    (path,) = (one for one in scenario.bundled() if one.stem == "naked-standard")
    return scenario.load(path)


def test_a_perch_goes_from_the_grip_to_the_riser(setup):
    perch = next(one for one in setup.controls if one.name == "clutch perch")
    half = 0.5 * room(perch).width
    found = slide(setup, perch)
    grips = [setup.bars(stock).bar.grip_length for stock in (True, False)]
    assert found.least == max(grips) + half
    inner = min(
        bar_shape(setup.machine, bars).length
        - 0.5 * (setup.machine.riser_spacing + clamp_width(setup, bars.riser))
        for bars in (setup.stock, setup.new)
    )
    assert found.most == pytest.approx(inner - half)
    assert found.held(found.least - 1.0) == (found.least, "the grip")
    assert found.held(found.most + 1.0) == (found.most, "the riser's clamp")
    assert found.held(200.0) == (200.0, "")


def test_at_both_ends_of_its_way_it_can_be_laid_out(setup):
    for control in setup.controls:
        found = slide(setup, control)
        assert found.least <= control.inboard <= found.most
        for inboard in (found.least, found.most):
            moved = edits.change_control(setup, control.name, inboard=inboard)
            for bars in (setup.stock, setup.new):
                shape = bar_shape(moved.machine, bars)
                assert shape.length - inboard >= 0.5 * room(control).width


def test_one_that_sits_beyond_may_stay_where_it_is(setup):
    control = next(one for one in setup.controls if one.name == "left switches")
    out = replace(control, inboard=60.0)
    assert slide(setup, out).least == 60.0
