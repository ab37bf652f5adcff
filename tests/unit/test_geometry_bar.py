"""Bars from trade dimensions, and back from the built centreline alone."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from barfit.geometry import bar
from barfit.geometry.bar import BarError
from barfit.geometry.curve import arc_length

DEGREE = math.radians(1.0)


def dimensions(**changes):
    """A plain, ordinary bar, with changes; all invented."""
    plain = {
        "width": 780.0,
        "rise": 110.0,
        "pullback": 200.0,
        "centre_width": 220.0,
        "tube_diameter": 22.2,
        "grip_diameter": 22.2,
        "bend_radius": 65.0,
        "hand_straight": 200.0,
        "grip_length": 120.0,
        "sweep": 20.0 * DEGREE,
        "downsweep": 7.0 * DEGREE,
    }
    return plain | changes


def upright(sweep, downsweep, hand_straight, width, **changes):
    """A bar whose uprights rise square to the top clamp from the lower corners."""
    inner = 0.5 * width - hand_straight * math.cos(sweep) * math.cos(downsweep)
    pullback = hand_straight * math.sin(sweep) * math.cos(downsweep)
    return dimensions(
        sweep=sweep,
        downsweep=downsweep,
        hand_straight=hand_straight,
        width=width,
        pullback=pullback,
        centre_width=2.0 * inner,
        **changes,
    )


FAMILIES = {
    "flat": dimensions(
        width=720.0, rise=15.0, pullback=80.0, centre_width=300.0, bend_radius=38.0,
        sweep=10 * DEGREE, downsweep=2 * DEGREE, hand_straight=195.0,
    ),
    "low": dimensions(rise=60.0, pullback=110.0, width=700.0, bend_radius=60.0),
    "tall": dimensions(
        width=840.0, rise=355.0, pullback=265.0, centre_width=250.0, bend_radius=80.0,
        tube_diameter=31.75, grip_diameter=25.4, hand_straight=215.0, sweep=26 * DEGREE,
    ),
    "tall and narrow": dimensions(
        width=620.0, rise=420.0, pullback=180.0, centre_width=230.0, bend_radius=70.0
    ),
    "swept back": dimensions(
        width=860.0, rise=190.0, pullback=390.0, centre_width=240.0, bend_radius=70.0,
        hand_straight=215.0, sweep=38 * DEGREE, downsweep=10 * DEGREE,
    ),
    "Z-shaped": dimensions(
        width=760.0, rise=280.0, pullback=20.0, centre_width=260.0, bend_radius=32.0,
        hand_straight=210.0, sweep=30 * DEGREE, downsweep=4 * DEGREE,
    ),
    "T-shaped": upright(12 * DEGREE, 0.0, 210.0, 720.0, rise=230.0, bend_radius=30.0),
    "with a shoulder": dimensions(
        width=760.0, rise=170.0, pullback=210.0, centre_width=200.0, bend_radius=40.0,
        hand_straight=190.0, sweep=48 * DEGREE, downsweep=16 * DEGREE,
        shoulder=(225.0, 120.0, 60.0),
    ),
    "grips below the clamp": dimensions(
        rise=-90.0, pullback=60.0, downsweep=12 * DEGREE, bend_radius=45.0
    ),
}  # fmt: skip


def assert_measures_back(given_dimensions, measured):
    for name in ("width", "rise", "pullback", "centre_width", "hand_straight"):
        assert getattr(measured, name) == pytest.approx(given_dimensions[name], abs=1e-6), name
    for name in ("sweep", "downsweep"):
        assert getattr(measured, name) == pytest.approx(given_dimensions[name], abs=1e-9), name
    assert measured.smallest_radius == pytest.approx(given_dimensions["bend_radius"], rel=1e-6)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_built_bar_measures_back(family):
    wanted = FAMILIES[family]
    measured = bar.measure(bar.one_piece(**wanted).points)
    assert_measures_back(wanted, measured)
    assert measured.corners == (3 if "shoulder" in wanted else 2)


def test_a_straight_bar_with_one_bend_measures_back():
    wanted = upright(14 * DEGREE, 0.0, 230.0, 760.0, rise=0.0, bend_radius=120.0)
    measured = bar.measure(bar.one_piece(**wanted).points)
    assert_measures_back(wanted, measured)
    assert measured.corners == 1


def test_a_bar_without_any_bend():
    wanted = dimensions(rise=0.0, pullback=0.0, sweep=0.0, downsweep=0.0)
    line = bar.one_piece(**wanted)
    measured = bar.measure(line.points)
    assert measured.corners == 0
    assert math.isnan(measured.centre_width)
    assert measured.smallest_radius == math.inf
    assert measured.width == pytest.approx(780.0)
    assert line.length == pytest.approx(390.0)


def test_a_clip_on_measures_back():
    line = bar.clip_on(
        length=270.0,
        tube_diameter=22.2,
        grip_diameter=22.2,
        grip_length=120.0,
        sweep=12 * DEGREE,
        downsweep=9 * DEGREE,
    )
    measured = bar.measure(line.points)
    assert measured.hand_straight == pytest.approx(270.0)
    assert measured.sweep == pytest.approx(12 * DEGREE)
    assert measured.downsweep == pytest.approx(9 * DEGREE)
    assert measured.corners == 0
    assert line.length == pytest.approx(270.0)


@given(
    width=st.floats(500.0, 1100.0),
    rise=st.floats(-150.0, 550.0),
    pullback=st.floats(-50.0, 450.0),
    centre_width=st.floats(120.0, 400.0),
    bend_radius=st.floats(20.0, 120.0),
    hand_straight=st.floats(130.0, 300.0),
    sweep=st.floats(-10 * DEGREE, 70 * DEGREE),
    downsweep=st.floats(-20 * DEGREE, 40 * DEGREE),
)
def test_every_bar_that_can_be_built_measures_back(**changes):
    wanted = dimensions(**changes)
    try:
        line = bar.one_piece(**wanted)
    except BarError:
        assume(False)
    # bends that touch, or hardly turn, leave no corner to put a square to
    assume(len(line.pieces) == 5 and all(piece.length > 1.0 for piece in line.pieces))
    measured = bar.measure(line.points)
    assert_measures_back(wanted, measured)


@pytest.mark.parametrize("family", FAMILIES)
def test_the_centreline_is_smooth_and_as_fine_as_promised(family):
    line = bar.one_piece(**FAMILIES[family])
    for before, after in zip(line.pieces[:-1], line.pieces[1:], strict=True):
        point, tangent = before.at(np.array([before.length]))
        assert after.start == pytest.approx(point[0], abs=1e-9)
        assert after.direction == pytest.approx(tangent[0], abs=1e-12)
    steps = np.diff(line.points, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    assert lengths.max() <= 10.0 + 1e-9
    units = steps / lengths[:, None]
    turns = np.arccos(np.clip(np.sum(units[:-1] * units[1:], axis=1), -1.0, 1.0))
    assert turns.max() <= 3.0 * DEGREE + 1e-6
    # chords are shorter than their arcs, by no more than 3 degree chords can be
    assert arc_length(line.points) <= line.length
    assert arc_length(line.points) == pytest.approx(line.length, rel=1.2e-4)


def test_developed_length_of_a_quarter_bend():
    line = bar.one_piece(**upright(0.0, 0.0, 200.0, 700.0, rise=200.0, bend_radius=40.0))
    # 150 out, 200 up and 200 out, with two quarter turns instead of two square corners
    assert line.length == pytest.approx(550.0 - 4 * 40.0 + 2 * 40.0 * math.pi / 2)


@given(st.sampled_from(sorted(FAMILIES)), st.floats(0.0, 1.0))
def test_place_along_the_bar(family, part):
    line = bar.one_piece(**FAMILIES[family])
    point, tangent = line.at(part * line.length)
    assert np.linalg.norm(tangent) == pytest.approx(1.0)
    # within the sagitta of a 3 degree chord of the drawn polyline
    ends = line.points[:-1], np.diff(line.points, axis=0)
    along = np.sum((point - ends[0]) * ends[1], axis=1) / np.sum(ends[1] ** 2, axis=1)
    nearest = ends[0] + np.clip(along, 0.0, 1.0)[:, None] * ends[1]
    radius = FAMILIES[family]["bend_radius"]
    sagitta = radius * (1.0 - math.cos(1.5 * DEGREE)) + 1e-9
    assert np.linalg.norm(point - nearest, axis=1).min() <= sagitta


def test_place_off_the_bar_is_refused():
    line = bar.one_piece(**dimensions())
    for distance in (-0.1, line.length + 0.1, math.nan):
        with pytest.raises(ValueError, match="outside"):
            line.at(distance)


IMPOSSIBLE = [
    ({"width": 3200.0}, ("width", "3200 mm", "at most 3000 mm")),
    ({"width": -5.0}, ("width", "-5 mm", "more than 0")),
    ({"grip_length": 0.0}, ("grip length", "0 mm", "more than 0")),
    ({"tube_diameter": math.nan}, ("tube diameter", "nan", "more than 0")),
    ({"grip_diameter": math.inf}, ("grip diameter", "inf", "more than 0")),
    ({"rise": math.inf}, ("rise", "inf", "finite")),
    ({"rise": 1600.0}, ("rise", "1600 mm", "-1500 mm to 1500 mm")),
    ({"pullback": -1501.0}, ("pullback", "-1501 mm", "-1500 mm to 1500 mm")),
    ({"sweep": math.pi / 2}, ("sweep", "90°", "between -90° and 90°")),
    ({"downsweep": math.nan}, ("downsweep", "nan", "between -90° and 90°")),
    ({"centre_width": 780.0}, ("centre width", "780 mm", "must be less")),
    ({"bend_radius": 11.1}, ("bend radius", "11.1 mm", "more than 11.1 mm")),
    ({"grip_length": 210.0}, ("grip length", "210 mm", "200 mm")),
    ({"hand_straight": 480.0}, ("hand straight", "480 mm", "less than 418 mm")),
    ({"bend_radius": 300.0}, ("bend radius", "300 mm", "at most")),
    ({"grip_length": 195.0}, ("bend radius", "65 mm", "and the grip", "only 5 mm")),
    ({"shoulder": (0.0, 50.0, 0.0)}, ("half width of the shoulder", "0 mm", "more than 0")),
    ({"shoulder": (150.0, 5000.0, 0.0)}, ("height of the shoulder", "5000 mm", "at most 1500 mm")),
    ({"shoulder": (150.0, math.nan, 0.0)}, ("height of the shoulder", "nan", "finite")),
]


@pytest.mark.parametrize(("changes", "words"), IMPOSSIBLE)
def test_impossible_dimensions_are_refused_with_the_reason(changes, words):
    with pytest.raises(BarError) as caught:
        bar.one_piece(**dimensions(**changes))
    message = str(caught.value)
    for word in words:
        assert word in message
    assert "\n" not in message


def test_a_hairpin_that_no_radius_can_bend_is_refused():
    doubled = dimensions(rise=0.0, pullback=60.0, centre_width=500.0, downsweep=0.0, bend_radius=30)
    with pytest.raises(BarError, match="no bend of this tube fits"):
        bar.one_piece(**doubled)


@given(
    rise=st.floats(0.0, 400.0),
    centre_width=st.floats(120.0, 500.0),
    pullback=st.floats(0.0, 300.0),
    bend_radius=st.floats(40.0, 400.0),
)
def test_the_radius_said_to_fit_does_fit_and_more_does_not(**changes):
    wanted = dimensions(**changes, grip_length=10.0)
    try:
        bar.one_piece(**wanted)
    except BarError as error:
        offered = re.search(r"bend radius of .* at most ([\d.]+) mm fits", str(error))
    else:
        offered = None
    assume(offered is not None)
    largest = float(offered.group(1))
    assume(largest > 11.2)
    bar.one_piece(**(wanted | {"bend_radius": largest}))
    with pytest.raises(BarError, match="bend radius"):
        bar.one_piece(**(wanted | {"bend_radius": largest + 1.1}))


def test_the_hand_straight_said_to_fit_does_not_cross():
    wide = dimensions(width=500.0, centre_width=30.0, rise=300.0, bend_radius=14.0)
    with pytest.raises(BarError, match="less than 268 mm fits"):
        bar.one_piece(**(wide | {"hand_straight": 300.0}))
    with pytest.raises(BarError, match="less than 268 mm fits"):
        bar.one_piece(**(wide | {"hand_straight": 268.1}))
    assert bar.one_piece(**(wide | {"hand_straight": 267.9})).length > 0.0


def test_impossible_clip_ons_are_refused():
    possible = {
        "length": 270.0,
        "tube_diameter": 22.2,
        "grip_diameter": 22.2,
        "grip_length": 120.0,
        "sweep": 0.2,
        "downsweep": 0.1,
    }
    for change, words in [
        ({"length": 100.0}, "grip length of 120 mm is longer than the length of 100 mm"),
        ({"length": 1600.0}, "length of 1600 mm is more .* at most 1500 mm"),
        ({"sweep": 2.0}, "sweep of 114.6°"),
        ({"tube_diameter": -1.0}, "tube diameter of -1 mm"),
    ]:
        with pytest.raises(BarError, match=words):
            bar.clip_on(**(possible | change))


def test_measuring_needs_a_curve():
    with pytest.raises(ValueError, match="three points"):
        bar.measure([[0.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    angle = np.linspace(0.0, 1.0, 20)
    arc = np.column_stack([0 * angle, 50 * np.sin(angle), 50 * np.cos(angle)])
    with pytest.raises(ValueError, match="straight at its centre"):
        bar.measure(arc)
    straight, bend = bar.one_piece(**dimensions()).points[:10], arc
    with pytest.raises(ValueError, match="at its end"):
        bar.measure(np.concatenate([straight, bend + straight[-1]]))


def test_measuring_refuses_bends_that_run_into_each_other():
    # out, up round one quarter and at once back round another: the straights miss each other
    quarter = np.linspace(0.0, math.pi / 2, 31)[1:]
    out = np.column_stack([0.0 * quarter, 60.0 * quarter, 0.0 * quarter])
    out = np.concatenate([np.zeros((1, 3)), out])
    up = out[-1] + 40.0 * np.column_stack([0 * quarter, np.sin(quarter), 1.0 - np.cos(quarter)])
    back = up[-1] + 40.0 * np.column_stack([np.cos(quarter) - 1.0, 0 * quarter, np.sin(quarter)])
    end = back[-1] - np.column_stack([60.0 * quarter, 0 * quarter, 0 * quarter])
    with pytest.raises(ValueError, match="straight between them"):
        bar.measure(np.concatenate([out, up, back, end]))
