"""What other bars reach along a line, and in which words it is said."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from barfit import scenario
from barfit.analysis.moved import Mover, Stretch, stretches
from barfit.analysis.spans import span_cases
from barfit.geometry.pose import layout
from barfit.model import BarPlace, Hold, OutletPlace
from barfit.report.movers import movers

BUNDLED = scenario.bundled()


@pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
def test_other_bars_reach_exactly_as_far_as_the_layout_changes(path):
    """A stretch other bars reach has a station that they move; the others have none."""
    setup = scenario.load(path)
    bars = setup.new
    # rolled in its clamps: whatever sits on the bar goes elsewhere, and nothing else does
    rolled = replace(bars, bar=replace(bars.bar, roll=bars.bar.roll + 0.05))
    here, there = layout(setup, bars), layout(setup, rolled)
    for name, places in here.items():
        gone = np.linalg.norm(places.points - there[name].points, axis=1) > 1e-6
        for one in stretches(places):
            moved = bool(gone[one.first : one.last + 1].any())
            assert moved == (one.mover is Mover.BARS), (name, one)


@pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
def test_stretches_cover_each_line_and_part_where_it_is_fixed(path):
    setup = scenario.load(path)
    cases = span_cases(setup, False, contact=False)
    for name, places in layout(setup, setup.new).items():
        parts = stretches(places)
        assert (parts[0].first, parts[-1].last) == (0, len(places.holds) - 1)
        for one, following in pairwise(parts):
            assert one.last == following.first
            assert places.holds[one.last] is not Hold.GUIDE
        for case in cases:
            if case.line.name == name:
                (same,) = (one for one in parts if (one.first, one.last) == (case.first, case.last))
                assert (case.least > 0.0) == (same.mover is not Mover.NOTHING)


def test_a_line_off_the_bars_is_left_alone_by_them():
    for path in BUNDLED:
        setup = scenario.load(path)
        for places in layout(setup, setup.new).values():
            on = [isinstance(one.place, OutletPlace | BarPlace) for one in places.stations]
            if not any(on):
                assert all(one.mover is not Mover.BARS for one in stretches(places))


def test_the_words_join_what_is_alike():
    names = ("perch", "tie", "clamp", "rail", "plug")
    parts = (
        Stretch(0, 1, Mover.BARS),
        Stretch(1, 2, Mover.BARS),
        Stretch(2, 3, Mover.STEERING),
        Stretch(3, 4, Mover.NOTHING),
    )
    assert movers(parts, names) == (
        "From perch to clamp: other bars change it. "
        "From clamp to rail: the steering or fork moves it, other bars leave it alone. "
        "From rail to plug: nothing moves it."
    )
    assert movers(parts[:1], names) == "All the way: other bars change it."
