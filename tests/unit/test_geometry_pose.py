"""Bars in their clamps, controls on them, and the stations of the lines."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barfit.geometry import pose
from barfit.geometry.bar import BarError, measure
from barfit.geometry.frames import steering_axis
from barfit.model import (
    Bar,
    BarPlace,
    BarSet,
    Body,
    ClipOn,
    Control,
    ControlKind,
    Hold,
    Line,
    Machine,
    Outlet,
    OutletPlace,
    PointPlace,
    Riser,
    Setup,
    Side,
    Station,
)

DEGREE = math.radians(1.0)
MIRROR = np.array([1.0, -1.0, 1.0])

# All invented.
MACHINE = Machine(
    name="test machine",
    note="invented",
    rake=28.0 * DEGREE,
    fork_offset=40.0,
    fork_length=720.0,
    fork_spread=210.0,
    fork_tube_diameter=43.0,
    head_tube_top=38.0,
    head_tube_bottom=200.0,
    head_tube_diameter=60.0,
    lower_clamp=225.0,
    lock_left=36.0 * DEGREE,
    lock_right=34.0 * DEGREE,
    travel=120.0,
    sag=45.0,
    wheel_radius=310.0,
    wheel_width=110.0,
    riser_foot=-5.0,
    riser_spacing=90.0,
)
LOW = Bar(
    name="low",
    width=760.0,
    rise=95.0,
    pullback=150.0,
    centre_width=220.0,
    tube_diameter=22.2,
    grip_diameter=22.2,
    bend_radius=65.0,
    hand_straight=200.0,
    grip_length=120.0,
    sweep=18.0 * DEGREE,
    downsweep=6.0 * DEGREE,
)
TALL = dataclasses.replace(LOW, name="tall", rise=380.0, pullback=230.0, width=800.0)
CLIP_ON = ClipOn(
    name="clip-ons",
    height=-40.0,
    forward=6.0,
    outward=24.0,
    length=260.0,
    tube_diameter=22.2,
    grip_diameter=22.2,
    grip_length=120.0,
    sweep=14.0 * DEGREE,
    downsweep=10.0 * DEGREE,
)
RISER = Riser("plain", height=45.0)
ON_RISERS = Riser("tall, set back", height=95.0, setback=30.0)
BARSETS = {
    "low": BarSet(LOW, RISER),
    "tall on risers": BarSet(TALL, ON_RISERS),
    "rolled": BarSet(dataclasses.replace(LOW, roll=11.0 * DEGREE), RISER),
    "clip-ons": BarSet(CLIP_ON, RISER),
    "rolled clip-ons": BarSet(dataclasses.replace(CLIP_ON, roll=7.0 * DEGREE), RISER),
}
LEVER = Control(
    name="lever",
    kind=ControlKind.BRAKE_MASTER,
    side=Side.RIGHT,
    inboard=140.0,
    rotation=0.0,
    outlets=(Outlet("hose", offset=(-20.0, 45.0, -5.0), exit=(-3.0, 0.0, -4.0), stub=30.0),),
)
HOSE = Line(
    name="hose",
    kind="brake_hose",
    diameter=10.0,
    length=700.0,
    stations=(
        Station("at the lever", Hold.FITTING, OutletPlace("lever", "hose")),
        Station("on the bar", Hold.CLIP, BarPlace(Side.RIGHT, 90.0, True, 3.0, -16.0)),
        Station("ring", Hold.GUIDE, PointPlace(Body.STEERING, (60.0, -40.0, -20.0))),
        Station(
            "on the leg",
            Hold.CLIP,
            PointPlace(Body.LOWER_FORK, (240.0, -105.0, -400.0)),
            direction=(0.0, 0.0, -2.0),
            at_length=520.0,
        ),
        Station(
            "at the caliper",
            Hold.FITTING,
            PointPlace(Body.LOWER_FORK, (300.0, -90.0, -560.0)),
            direction=(0.0, 3.0, 4.0),
            stub=25.0,
        ),
    ),
)
SETUP = Setup(
    title="test",
    note="",
    unit="mm",
    machine=MACHINE,
    stock=BARSETS["low"],
    new=BARSETS["tall on risers"],
    controls=(LEVER,),
    lines=(HOSE,),
)
EACH_BARSET = pytest.mark.parametrize("barset", BARSETS.values(), ids=BARSETS.keys())


def in_bar_axes(points, clamp):
    """Machine axes to bar axes for an unrolled bar, written out by hand."""
    cos, sin = math.cos(MACHINE.rake), math.sin(MACHINE.rake)
    x, y, z = (points - clamp).T
    return np.column_stack([x * cos + z * sin, y, z * cos - x * sin])


def about(point, axis, angle, centre):
    """Rodrigues' rotation of a point, or of a direction with centre 0."""
    arm, axis = np.asarray(point) - centre, np.asarray(axis)
    turned = (
        arm * math.cos(angle)
        + np.cross(axis, arm) * math.sin(angle)
        + axis * (axis @ arm) * (1.0 - math.cos(angle))
    )
    return centre + turned


# --- bars ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["low", "tall on risers"])
def test_a_bar_in_its_clamp_measures_back(name):
    barset = BARSETS[name]
    shape = pose.bar_shape(MACHINE, barset)
    clamp = shape.left[0]
    cos, sin = math.cos(MACHINE.rake), math.sin(MACHINE.rake)
    ahead, high = -5.0 - barset.riser.setback, barset.riser.height
    assert clamp == pytest.approx([ahead * cos - high * sin, 0.0, ahead * sin + high * cos])
    measured = measure(in_bar_axes(shape.left, clamp))
    for field in ("width", "rise", "pullback", "centre_width", "hand_straight"):
        assert getattr(measured, field) == pytest.approx(getattr(barset.bar, field)), field
    assert measured.sweep == pytest.approx(barset.bar.sweep)
    assert measured.downsweep == pytest.approx(barset.bar.downsweep)
    assert measured.smallest_radius == pytest.approx(65.0, rel=1e-6)


def test_clip_ons_in_their_places_measure_back():
    shape = pose.bar_shape(MACHINE, BARSETS["clip-ons"])
    local = in_bar_axes(shape.left, np.zeros(3))
    assert local[0] == pytest.approx([40.0 + 6.0, 105.0 + 24.0, -40.0])
    measured = measure(local)
    assert measured.hand_straight == pytest.approx(260.0)
    assert measured.sweep == pytest.approx(14.0 * DEGREE)
    assert measured.downsweep == pytest.approx(10.0 * DEGREE)


@EACH_BARSET
def test_the_right_side_mirrors_the_left(barset):
    shape = pose.bar_shape(MACHINE, barset)
    assert np.array_equal(shape.right, shape.left * MIRROR)
    for distance in (0.0, 60.0, 150.0, shape.length):
        for from_centre in (True, False):
            left = shape.at(Side.LEFT, distance, from_centre)
            right = shape.at(Side.RIGHT, distance, from_centre)
            for here, there in zip(left, right, strict=True):
                assert there == pytest.approx(here * MIRROR)


@EACH_BARSET
@pytest.mark.parametrize("side", list(Side))
def test_frames_on_the_bar(barset, side):
    shape = pose.bar_shape(MACHINE, barset)
    points = shape.left if side is Side.LEFT else shape.right
    handed = 1.0 if side is Side.LEFT else -1.0
    for distance in np.linspace(0.0, shape.length, 23):
        point, *axes = shape.at(side, distance, from_centre=True)
        again, *_ = shape.at(side, shape.length - distance, from_centre=False)
        assert point == pytest.approx(again, abs=1e-9)
        outward, forward, up = axes
        frame = np.column_stack([forward, outward, up])
        assert frame.T @ frame == pytest.approx(np.eye(3), abs=1e-12)
        assert np.linalg.det(frame) == pytest.approx(handed)
        assert np.linalg.norm(points - point, axis=1).min() < 6.0
    ahead, *_ = shape.at(side, shape.length - 1.0, from_centre=True)
    point, outward, *_ = shape.at(side, shape.length - 50.0, from_centre=True)
    assert ahead == pytest.approx(point + 49.0 * outward)  # on the hand straight
    assert points[-1] == pytest.approx(shape.at(side, 0.0, from_centre=False)[0])


@pytest.mark.parametrize("name", ["low", "tall on risers", "clip-ons"])
def test_controls_are_level_on_a_bar_that_is_not_rolled(name):
    shape = pose.bar_shape(MACHINE, BARSETS[name])
    for side in Side:
        _, outward, forward, up = shape.at(side, 60.0, from_centre=False)
        assert forward[2] == pytest.approx(0.0, abs=1e-12)
        assert forward[0] > 0.8
        assert up[2] > 0.9
        assert outward[1] * (1.0 if side is Side.LEFT else -1.0) > 0.8


@pytest.mark.parametrize("side", list(Side))
def test_roll_turns_the_whole_bar_about_the_clamp_line(side):
    straight = pose.bar_shape(MACHINE, BARSETS["low"])
    rolled = pose.bar_shape(MACHINE, BARSETS["rolled"])
    clamp = straight.left[0]
    # grips rearward and down: a left-hand turn about "left"
    for distance in (0.0, 100.0, 250.0):
        here = straight.at(side, distance, from_centre=False)
        there = rolled.at(side, distance, from_centre=False)
        assert there[0] == pytest.approx(about(here[0], [0.0, 1.0, 0.0], -11 * DEGREE, clamp))
        for axis, turned in zip(here[1:], there[1:], strict=True):
            expected = about(axis, [0.0, 1.0, 0.0], -11 * DEGREE, np.zeros(3))
            assert turned == pytest.approx(expected)


def test_positive_roll_brings_the_grips_of_a_tall_bar_rearward_and_down():
    for side in Side:
        ends = []
        for roll in (0.0, 8.0 * DEGREE):
            shape = pose.bar_shape(MACHINE, BarSet(dataclasses.replace(TALL, roll=roll), RISER))
            ends.append(shape.at(side, 0.0, from_centre=False)[0])
        assert ends[1][0] < ends[0][0] - 20.0
        assert ends[1][2] < ends[0][2] - 20.0


def test_roll_turns_clip_ons_about_their_fork_tubes():
    straight = pose.bar_shape(MACHINE, BARSETS["clip-ons"])
    rolled = pose.bar_shape(MACHINE, BARSETS["rolled clip-ons"])
    axis = steering_axis(MACHINE.rake)
    tube = np.array([40.0 * math.cos(MACHINE.rake), 105.0, 40.0 * math.sin(MACHINE.rake)])
    for distance in (0.0, 260.0):
        here = straight.at(Side.LEFT, distance, from_centre=True)
        there = rolled.at(Side.LEFT, distance, from_centre=True)
        assert there[0] == pytest.approx(about(here[0], axis, 7 * DEGREE, tube))
        assert there[2] == pytest.approx(about(here[2], axis, 7 * DEGREE, np.zeros(3)))
    for here, there in ((straight.left, rolled.left), (straight.right, rolled.right)):
        assert there[-1][0] < here[-1][0]  # grips rearward on both sides


def test_risers_move_the_bar_as_a_whole():
    low, raised = (
        pose.bar_shape(MACHINE, BarSet(LOW, riser)).left
        for riser in (RISER, dataclasses.replace(RISER, height=95.0, setback=40.0))
    )
    cos, sin = math.cos(MACHINE.rake), math.sin(MACHINE.rake)
    up_axis, rearward = np.array([-sin, 0.0, cos]), -np.array([cos, 0.0, sin])
    assert raised - low == pytest.approx(np.tile(50.0 * up_axis + 40.0 * rearward, (len(low), 1)))


def test_bar_shapes_cannot_be_changed():
    shape = pose.bar_shape(MACHINE, BARSETS["low"])
    with pytest.raises(ValueError, match="read-only"):
        shape.left[0, 0] = 1.0
    with pytest.raises(ValueError, match="read-only"):
        shape.right[0, 0] = 1.0


def test_off_the_bar_is_refused():
    shape = pose.bar_shape(MACHINE, BARSETS["clip-ons"])
    for distance in (-1.0, 261.0, math.nan):
        with pytest.raises(ValueError, match="one side is 260 mm long"):
            shape.at(Side.LEFT, distance, from_centre=False)


def test_impossible_bars_are_refused():
    with pytest.raises(BarError, match="width of 3200 mm"):
        pose.bar_shape(MACHINE, BarSet(dataclasses.replace(LOW, width=3200.0), RISER))
    crossing = dataclasses.replace(CLIP_ON, outward=-110.0)
    with pytest.raises(BarError, match=r"-110 mm outward .* more than -105 mm"):
        pose.bar_shape(MACHINE, BarSet(crossing, RISER))


# --- controls ------------------------------------------------------------------------------------


def outlet_of(control, barset):
    """Place and direction of the control's first outlet, through a layout."""
    station = Station("start", Hold.FITTING, OutletPlace(control.name, control.outlets[0].name))
    end = Station("end", Hold.FITTING, PointPlace(Body.FRAME, (0.0, 0.0, -300.0)), (0.0, 0.0, 1.0))
    line = dataclasses.replace(HOSE, stations=(station, end))
    setup = dataclasses.replace(SETUP, controls=(control,), lines=(line,))
    found = pose.layout(setup, barset)["hose"]
    return found.points[0], found.directions[0]


@EACH_BARSET
@given(inboard=st.floats(20.0, 100.0), moved=st.floats(0.0, 50.0))
def test_moving_a_perch_inboard_moves_the_outlet_along_the_bar(barset, inboard, moved):
    here = dataclasses.replace(LEVER, inboard=inboard)
    there = dataclasses.replace(LEVER, inboard=inboard + moved)
    outward = pose.bar_shape(MACHINE, barset).at(Side.RIGHT, inboard, from_centre=False)[1]
    (point, leaving), (moved_point, moved_leaving) = (outlet_of(c, barset) for c in (here, there))
    assert moved_point - point == pytest.approx(-moved * outward, abs=1e-9)
    assert moved_leaving == pytest.approx(leaving, abs=1e-12)


@given(roll=st.floats(-0.4, 0.4), inboard=st.floats(0.0, 300.0))
def test_rolling_the_bar_moves_and_turns_the_outlet(roll, inboard):
    control = dataclasses.replace(LEVER, inboard=inboard)
    point, leaving = outlet_of(control, BARSETS["low"])
    rolled = BarSet(dataclasses.replace(LOW, roll=roll), RISER)
    clamp = pose.bar_shape(MACHINE, rolled).left[0]
    rolled_point, rolled_leaving = outlet_of(control, rolled)
    left = np.array([0.0, 1.0, 0.0])
    assert rolled_point == pytest.approx(about(point, left, -roll, clamp), abs=1e-9)
    assert rolled_leaving == pytest.approx(about(leaving, left, -roll, np.zeros(3)), abs=1e-12)


@given(rotation=st.floats(-1.0, 1.0), side=st.sampled_from(list(Side)))
def test_rotating_a_control_lifts_its_front_edge(rotation, side):
    level = dataclasses.replace(LEVER, side=side)
    turned = dataclasses.replace(level, rotation=rotation)
    barset = BARSETS["low"]
    point, outward, forward, up = pose.control_frame(SETUP, barset, level)
    same, along, ahead, above = pose.control_frame(SETUP, barset, turned)
    assert same == pytest.approx(point)
    assert along == pytest.approx(outward)
    assert ahead @ forward == pytest.approx(math.cos(rotation))
    assert ahead @ up == pytest.approx(math.sin(rotation))  # positive: front edge up
    handed = 1.0 if side is Side.LEFT else -1.0
    assert np.cross(ahead, along) * handed == pytest.approx(above)


@EACH_BARSET
def test_controls_mirror(barset):
    left = dataclasses.replace(LEVER, side=Side.LEFT, rotation=0.3)
    right = dataclasses.replace(LEVER, side=Side.RIGHT, rotation=0.3)
    for here, there in zip(outlet_of(left, barset), outlet_of(right, barset), strict=True):
        assert there == pytest.approx(here * MIRROR)


def test_an_outlet_stands_off_the_bar_as_given():
    point, outward, forward, up = pose.control_frame(SETUP, SETUP.stock, LEVER)
    place, leaving = outlet_of(LEVER, SETUP.stock)
    assert place == pytest.approx(point - 20.0 * outward + 45.0 * forward - 5.0 * up)
    assert leaving == pytest.approx(-0.6 * outward - 0.8 * up)


# --- layouts -------------------------------------------------------------------------------------


def test_layout_of_a_line():
    found = pose.layout(SETUP, SETUP.stock)["hose"]
    assert found.names == ("at the lever", "on the bar", "ring", "on the leg", "at the caliper")
    assert found.bodies == (
        Body.STEERING, Body.STEERING, Body.STEERING, Body.LOWER_FORK, Body.LOWER_FORK,
    )  # fmt: skip
    assert found.holds == (Hold.FITTING, Hold.CLIP, Hold.GUIDE, Hold.CLIP, Hold.FITTING)
    assert found.stubs == pytest.approx([30.0, 0.0, 0.0, 0.0, 25.0])
    assert found.at_length == pytest.approx([math.nan] * 3 + [520.0, math.nan], nan_ok=True)
    assert found.points[2] == pytest.approx([60.0, -40.0, -20.0])
    assert np.isnan(found.directions[2]).all()
    assert found.directions[3] == pytest.approx([0.0, 0.0, -1.0])
    # the caliper's banjo points up and left out of the fitting; along the line is into it
    assert found.directions[4] == pytest.approx([0.0, -0.6, -0.8])
    others = [0, 1, 3, 4]
    assert np.linalg.norm(found.directions[others], axis=1) == pytest.approx(np.ones(4))
    with pytest.raises(ValueError, match="read-only"):
        found.points[0] = 0.0


def test_a_clip_on_the_bar_runs_along_it_the_way_the_line_goes():
    shape = pose.bar_shape(MACHINE, SETUP.stock)
    point, outward, forward, up = shape.at(Side.RIGHT, 90.0, from_centre=True)
    found = pose.layout(SETUP, SETUP.stock)["hose"]
    assert found.points[1] == pytest.approx(point + 3.0 * forward - 16.0 * up)
    assert found.directions[1] == pytest.approx(-outward)  # from the lever inward
    turned_round = dataclasses.replace(HOSE, stations=HOSE.stations[::-1])
    back = pose.layout(dataclasses.replace(SETUP, lines=(turned_round,)), SETUP.stock)["hose"]
    assert back.directions[3] == pytest.approx(outward)
    assert back.directions[0] == pytest.approx(-found.directions[4])
    assert back.directions[4] == pytest.approx(-found.directions[0])


def test_only_what_is_on_the_bar_moves_with_other_bars():
    stock, new = pose.layout(SETUP, SETUP.stock)["hose"], pose.layout(SETUP, SETUP.new)["hose"]
    assert np.linalg.norm(new.points[0] - stock.points[0]) > 200.0
    assert np.array_equal(new.points[2:], stock.points[2:])


def replace_station(index, **changes):
    stations = list(HOSE.stations)
    stations[index] = dataclasses.replace(stations[index], **changes)
    return dataclasses.replace(HOSE, stations=tuple(stations))


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (replace_station(0, place=OutletPlace("levr", "hose")), "no control 'levr' .* 'lever'"),
        (replace_station(0, place=OutletPlace("lever", "x")), "no outlet 'x' .* 'hose'"),
        (replace_station(4, direction=None), "'at the caliper': a fitting there needs a direction"),
        (replace_station(3, direction=(0.0, 0.0, 0.0)), "'on the leg': its direction has no"),
        (replace_station(3, direction=(math.nan, 0.0, 0.0)), "'on the leg': its direction has no"),
        (
            replace_station(0, place=BarPlace(Side.LEFT, 90.0, True, 0.0, 0.0)),
            "'at the lever': a fitting there needs a direction",
        ),
        (replace_station(3, direction=None), "'on the leg': a clip there needs a direction"),
        (
            replace_station(1, place=BarPlace(Side.LEFT, 900.0, True, 0.0, 0.0)),
            "'on the bar': 900 mm along the bar is off its end: one side is "
            f"{math.floor(pose.bar_shape(MACHINE, SETUP.stock).length)} mm long",
        ),
        (
            replace_station(2, place=HOSE.stations[3].place),
            "stations 'ring' and 'on the leg': they are in one place",
        ),
        (replace_station(4, hold=Hold.GUIDE), "'at the caliper': it is a guide, .* a fitting"),
        (replace_station(2, hold=Hold.FITTING), "'ring': it is a fitting, .* a guide or a clip"),
        (dataclasses.replace(HOSE, stations=HOSE.stations[:1]), "needs at least two stations"),
    ],
)
def test_each_problem_of_a_line_is_said(line, words):
    with pytest.raises(pose.LayoutError, match=words) as caught:
        pose.layout(dataclasses.replace(SETUP, lines=(line,)), SETUP.stock)
    assert len(caught.value.problems) == 1
    assert str(caught.value) == caught.value.problems[0]
    assert caught.value.problems[0].startswith("Line 'hose', ")


def test_all_problems_are_said_at_once():
    far = dataclasses.replace(LEVER, name="far", inboard=2000.0)
    aimless = dataclasses.replace(
        LEVER, name="aimless", outlets=(Outlet("out", (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)),)
    )
    to_far = replace_station(0, place=OutletPlace("far", "hose"))
    wrong = dataclasses.replace(replace_station(4, direction=None), name="other")
    setup = dataclasses.replace(SETUP, controls=(LEVER, far, aimless), lines=(to_far, wrong))
    with pytest.raises(pose.LayoutError) as caught:
        pose.layout(setup, SETUP.stock)
    problems = caught.value.problems
    assert len(problems) == 3
    assert problems[0].startswith("Control 'far': 2000 mm along the bar is off its end")
    assert problems[1].startswith("Control 'aimless': the exit of outlet 'out' has no direction")
    assert problems[2].startswith("Line 'other', station 'at the caliper'")
    assert str(caught.value) == "\n".join(problems)


def test_bars_that_cannot_be_built_are_a_layout_problem():
    bad = BarSet(dataclasses.replace(LOW, bend_radius=400.0), RISER)
    with pytest.raises(pose.LayoutError, match="Bars 'low': the bend radius of 400 mm needs"):
        pose.layout(SETUP, bad)


def test_a_station_may_say_more_than_its_place():
    own = replace_station(0, direction=(0.0, 2.0, 0.0), stub=12.0)
    found = pose.layout(dataclasses.replace(SETUP, lines=(own,)), SETUP.stock)["hose"]
    assert found.directions[0] == pytest.approx([0.0, 1.0, 0.0])
    assert found.stubs[0] == 12.0
    tied = replace_station(1, direction=(0.0, 1.0, 1.0))
    found = pose.layout(dataclasses.replace(SETUP, lines=(tied,)), SETUP.stock)["hose"]
    assert found.directions[1] == pytest.approx(np.array([0.0, 1.0, 1.0]) / math.sqrt(2.0))
