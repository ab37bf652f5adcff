"""The rider's reach, hands and heights, the steering's lever arm and trail."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barfit import scenario
from barfit.analysis import Sweep
from barfit.geometry.frames import rotation, steering_axis, trail
from barfit.geometry.pose import bar_shape
from barfit.model import Bar, Body, Box, Build, PlaceLimits, Rider, Role, Setup, Side, Solid
from barfit.report.trade.rider import rider_remarks
from barfit.scenario import ScenarioError, dumps, loads
from barfit.trade.judged import Grade
from barfit.trade.rider import (
    RiderFigures,
    grip_angles,
    grip_middle,
    hand_displacement,
    hand_distance,
    hand_travel,
    height_figures,
    highest_of_grip,
    lean_to_reach,
    lever_arm,
    rider,
    seat_point,
)
from barfit.trade.sizes import Figure, figure

NAKED = next(path for path in scenario.bundled() if path.stem == "naked-standard")


@pytest.fixture(scope="module")
def naked() -> Setup:
    return scenario.load(NAKED)


def figures(setup: Setup, stock: bool = False) -> RiderFigures:
    return rider(Sweep(setup, stock, np.radians(np.linspace(-33.0, 33.0, 67)), ()))


def bar(setup: Setup) -> Bar:
    assert isinstance(setup.stock.bar, Bar)
    return setup.stock.bar


# Arithmetic, to the hundredth: a = (R sin e - d) / cos e and R sin e - d, the formula of chassis
# handbooks (Cossalter, Motorcycle Dynamics; Foale, Motorcycle Handling and Chassis Design).
@pytest.mark.parametrize(
    ("radius", "rake", "offset", "ground", "normal"),
    [
        (300.0, 25.0, 35.0, 101.27, 91.79),
        (305.0, 24.0, 30.0, 102.96, 94.05),
        (320.0, 30.0, 50.0, 127.02, 110.00),
        (335.0, 27.0, 45.0, 120.19, 107.09),
    ],
)
def test_trail(radius: float, rake: float, offset: float, ground: float, normal: float) -> None:
    assert trail(radius, math.radians(rake), offset) == pytest.approx((ground, normal), abs=0.005)


def test_trail_is_the_machines_and_no_bars_change_it(naked: Setup) -> None:
    machine = replace(naked.machine, wheel_radius=320.0, rake=math.radians(30.0), fork_offset=50.0)
    steering = figures(replace(naked, machine=machine)).steering
    assert steering.trail.value == pytest.approx(127.02, abs=0.005)
    assert steering.trail.stock == steering.trail.value


def test_how_far_a_hand_goes() -> None:
    """2 r sin(d/2): 0.382 m turned by 35 degrees moves 0.230 m (arithmetic)."""
    assert hand_displacement(382.0, math.radians(35.0)) == pytest.approx(229.7, abs=0.1)


def test_a_hand_goes_along_its_arc() -> None:
    # a circle's circumference, and its diameter across: arithmetic
    assert hand_travel(100.0, 2.0 * math.pi) == pytest.approx(628.3, abs=0.05)
    assert hand_displacement(100.0, math.pi) == pytest.approx(200.0)


def test_hand_travel_is_what_turning_the_grip_gives(naked: Setup) -> None:
    machine = naked.machine
    shape = bar_shape(machine, naked.stock)
    axis = steering_axis(machine.rake)
    point = shape.at(Side.LEFT, 60.0, from_centre=False)[0]
    ends = [rotation(axis, turn) @ point for turn in (-machine.lock_right, machine.lock_left)]
    steering = figures(naked, True).steering
    assert steering.across.value == pytest.approx(float(np.linalg.norm(ends[1] - ends[0])))
    turns = np.linspace(-machine.lock_right, machine.lock_left, 2001)
    path = rotation(axis, turns) @ point
    went = float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())
    assert steering.travel.value == pytest.approx(went, rel=1e-5)


def test_hands_that_move_the_other_way_are_told_so(naked: Setup) -> None:
    wide = replace(naked.stock, bar=replace(bar(naked), width=bar(naked).width + 48.0))
    setup = replace(naked, new=wide)
    said = {r.key: r for r in rider_remarks(figures(setup), setup, "mm")}
    out = said["hand_moved_in"]
    assert (out.label, out.value_text("mm")) == ("Hands moved out, each", "24 mm")
    assert out.judged.value == pytest.approx(-24.0)  # programs get it as its key says
    back = replace(out, judged=replace(out.judged, value=24.0))
    assert (back.label, back.value_text("mm")) == ("Hands moved in, each", "24 mm")


@given(more=st.floats(1.0, 200.0))
def test_a_wider_bar_moves_the_hands_further(naked: Setup, more: float) -> None:
    wide = replace(naked.stock, bar=replace(bar(naked), width=bar(naked).width + more))
    found = figures(replace(naked, new=wide))
    assert found.steering.travel.value > found.steering.travel.stock
    assert found.steering.arm_ratio.value > 1.0
    assert found.hand.moved_in.value == pytest.approx(-0.5 * more)
    assert found.hand.moved_up.value == pytest.approx(0.0, abs=1e-9)
    assert found.heights.width.value == pytest.approx(bar(naked).width + more)


def test_a_taller_riser_moves_hands_along_the_axis(naked: Setup) -> None:
    up = replace(
        naked.stock, riser=replace(naked.stock.riser, height=naked.stock.riser.height + 50)
    )
    hand = figures(replace(naked, new=up)).hand
    rake = naked.machine.rake
    assert hand.moved_up.value == pytest.approx(50.0 * math.cos(rake))
    assert hand.moved_back.value == pytest.approx(50.0 * math.sin(rake))
    assert hand.moved_in.value == pytest.approx(0.0, abs=1e-9)
    assert hand.wrist.value == pytest.approx(0.0, abs=1e-7)


def test_rolling_the_bar_turns_the_grips_as_a_hand_feels_it(naked: Setup) -> None:
    rolled = replace(naked.stock, bar=replace(bar(naked), roll=math.radians(10.0)))
    hand = figures(replace(naked, new=rolled)).hand
    assert hand.sweep.value < hand.sweep.stock
    assert hand.downsweep.value > hand.downsweep.stock
    # the angle between a direction and itself turned by d about an axis at the angle r from it
    along = grip_middle(bar_shape(naked.machine, naked.stock), Side.LEFT)[1]
    off = math.acos(float(along[1]))
    expected = 2.0 * math.asin(math.sin(off) * math.sin(math.radians(5.0)))
    assert hand.wrist.value == pytest.approx(expected)
    assert grip_angles(np.array([0.0, 1.0, 0.0])) == (0.0, 0.0)


def test_bars_beside_themselves_have_moved_nothing(naked: Setup) -> None:
    found = figures(naked, stock=True)
    hand = (found.hand.moved_up, found.hand.moved_back, found.hand.moved_in, found.hand.wrist)
    assert [one.value for one in hand] == [0.0] * 4
    assert found.steering.arm_ratio.value == 1.0


# --- reach ---------------------------------------------------------------------------------------

BODY = Figure(shoulder_height=575.0, reach=665.0, shoulder_width=400.0)
SEAT = np.array([-600.0, 0.0, -150.0])


def hands(forward: float, up: float, half: float) -> np.ndarray:
    return SEAT + np.array([[forward, half, up], [forward, -half, up]])


def test_reach_upright_is_the_root_of_three_squares() -> None:
    """√(400² + (575 - 275)² + (380 - 200)²) mm."""
    found = hand_distance(hands(400.0, 275.0, 380.0)[:, None], SEAT, BODY, 0.0)
    assert found == pytest.approx(math.sqrt(400.0**2 + 300.0**2 + 180.0**2))


@given(forward=st.floats(300.0, 800.0), up=st.floats(0.0, 500.0), half=st.floats(250.0, 450.0))
def test_the_lean_is_the_least_that_reaches(forward: float, up: float, half: float) -> None:
    there, most = hands(forward, up, half), math.radians(60.0)
    lean = lean_to_reach(there, SEAT, BODY, 620.0, most)
    leans = np.linspace(0.0, most, 601)
    far = [float(hand_distance(there[:, None], SEAT, BODY, float(one)).max()) for one in leans]
    if min(far) > 620.0 + 0.1:
        assert lean == most
    elif far[0] <= 620.0:
        assert lean == 0.0
    elif min(far) < 620.0 - 0.5:
        assert hand_distance(there[:, None], SEAT, BODY, lean).max() == pytest.approx(620.0)
        assert all(one > 620.0 - 0.5 for one, at in zip(far, leans, strict=True) if at < lean)


def test_who_cannot_follow_the_bar_is_told(naked: Setup) -> None:
    short = replace(naked, rider=Rider(seat=(-900.0, 0.0, -150.0), reach=400.0))
    found = figures(short)
    assert found.reach is not None
    assert found.reach.lean_turned.grade is Grade.CAUTION
    said = {r.key: r for r in rider_remarks(found, short, "mm")}
    assert said["rider_lean"].sentence.startswith("This rider's far hand does not reach its grip")
    near = figures(replace(naked, rider=Rider(seat=(-560.0, 0.0, -150.0), build=Build.MAN_95)))
    assert near.reach is not None
    assert near.reach.lean_turned.grade is Grade.FINE


def test_builds_come_from_the_table_and_own_sizes_count_before_them() -> None:
    """Men of Great Britain, 50th percentile: 595, 665, 400 mm (after Pheasant's tables)."""
    assert figure(Rider(slump=0.0)) == Figure(595.0, 665.0, 400.0)
    assert figure(Rider(build=Build.WOMAN_5)) == Figure(505.0 - 20.0, 555.0, 325.0)
    own = Rider(shoulder_height=610.0, reach=700.0, shoulder_width=380.0, slump=40.0)
    assert figure(own) == Figure(570.0, 700.0, 380.0)
    for build in Build:
        assert figure(Rider(build=build)).reach > figure(Rider(build=build)).shoulder_width


def test_fifteen_inches_are_64_percent_of_a_mans_shoulder_height() -> None:
    """381 / 595: a height limit over the seat is stricter than one by the shoulders."""
    assert 15.0 * 25.4 / figure(Rider(slump=0.0)).shoulder_height == pytest.approx(0.64, abs=0.001)


# --- the seat, heights and the law ---------------------------------------------------------------


def test_the_seat_is_said_or_estimated_or_not_known(naked: Setup) -> None:
    said, estimated = seat_point(naked)
    assert not estimated
    assert said == pytest.approx(np.array(naked.rider.seat))
    box = Box((-640.0, 0.0, -155.0), (340.0, 250.0, 70.0), rounding=33.0)
    seat = Solid("seat", Role.SEAT, Body.FRAME, box)
    guessed = replace(naked, rider=Rider(), machine=replace(naked.machine, solids=(seat,)))
    point, estimated = seat_point(guessed)
    assert estimated
    # 150 mm behind the front at -470, 25 mm below the top at -120
    assert point == pytest.approx(np.array([-620.0, 0.0, -145.0]), abs=0.02)
    none = replace(guessed, machine=replace(naked.machine, solids=()))
    assert seat_point(none)[0] is None
    found = figures(none)
    assert found.reach is None
    assert found.heights.over_seat.grade is Grade.NOT_KNOWN
    assert found.heights.over_fastening.grade is Grade.NOTE
    assert "(seat estimated)" in rider_remarks(figures(guessed), guessed, "mm")[-3].term


def test_a_pitched_seat_is_met_from_above(naked: Setup) -> None:
    box = Box((-640.0, 0.0, -155.0), (340.0, 250.0, 70.0), pitch=math.radians(10.0))
    seat = Solid("seat", Role.SEAT, Body.FRAME, box)
    setup = replace(naked, rider=Rider(), machine=replace(naked.machine, solids=(seat,)))
    point, _ = seat_point(setup)
    assert point is not None
    # the top face: 35 mm square to it from the middle, rising forward by tan 10°
    rise = 35.0 / math.cos(math.radians(10.0)) + 20.0 * math.tan(math.radians(10.0))
    assert point[2] == pytest.approx(-155.0 + rise - 25.0, abs=0.05)


def test_the_law_is_what_the_user_enters(naked: Setup) -> None:
    seat = np.array([-600.0, 0.0, -150.0])
    top = highest_of_grip(bar_shape(naked.machine, naked.stock))
    height = top + 150.0
    limits = PlaceLimits(
        over_seat=height - 1.0,
        over_fastening=500.0,
        over_shoulders=height - figure(naked.rider).shoulder_height + 1.0,
        width=759.0,
    )
    found = height_figures(replace(naked, place_limits=limits), True, seat)
    assert found.over_seat.grade is Grade.REJECT
    assert found.over_seat.value == pytest.approx(height)
    assert found.over_fastening.grade is Grade.FINE
    assert found.over_shoulders.grade is Grade.FINE
    assert found.width.grade is Grade.REJECT
    free = height_figures(replace(naked, place_limits=PlaceLimits()), True, seat)
    grades = {free.over_seat.grade, free.over_fastening.grade, free.width.grade}
    assert grades == {Grade.NOTE}


@pytest.mark.parametrize(
    ("most", "least", "grade", "limit"),
    [
        (None, 800.0, Grade.REJECT, 800.0),
        (800.0, 700.0, Grade.FINE, 800.0),
        (None, 700.0, Grade.FINE, 700.0),
        (750.0, 700.0, Grade.REJECT, 750.0),
        (900.0, 800.0, Grade.REJECT, 800.0),
    ],
)
def test_width_has_two_limits(
    naked: Setup, most: float | None, least: float, grade: Grade, limit: float
) -> None:
    limits = PlaceLimits(width=most, least_width=least)
    found = height_figures(replace(naked, place_limits=limits), True, None).width
    assert found.value == pytest.approx(760.0)
    assert found.grade is grade
    assert found.limit == limit


def test_what_the_law_forbids_is_said_with_the_usual_warning(naked: Setup) -> None:
    setup = replace(naked, place_limits=PlaceLimits(over_seat=100.0, least_width=900.0))
    said = {r.key: r for r in rider_remarks(figures(setup), setup, "mm")}
    over = said["height_over_seat"]
    assert over.grade is Grade.REJECT
    assert over.sentence.endswith("at most 100 mm is entered for this place.")
    assert "check local law" in over.caution
    assert "at least 900 mm" in said["overall_width"].sentence
    assert all(remark.about == "" and not remark.line for remark in said.values())


def test_lever_arm_is_square_to_the_axis(naked: Setup) -> None:
    upright = replace(naked.machine, rake=0.0)
    shape = bar_shape(upright, naked.stock)
    point = grip_middle(shape, Side.LEFT)[0]
    assert lever_arm(upright, shape) == pytest.approx(math.hypot(point[0], point[1]))


# --- files ---------------------------------------------------------------------------------------


def test_rider_and_place_go_to_the_file_and_back(naked: Setup) -> None:
    person = Rider(Build.WOMAN_95, (-600.0, 0.0, -151.5), 601.0, 640.0, 371.0, 12.0)
    place = PlaceLimits(381.0, 380.0, 0.0, 900.0, 500.0)
    setup = replace(naked, rider=person, place_limits=place)
    assert loads(dumps(setup)) == setup
    assert loads(dumps(replace(setup, source=""))) == setup
    bare = replace(naked, rider=Rider(), place_limits=PlaceLimits())
    assert loads(dumps(bare)) == bare
    assert "[rider]" not in dumps(replace(bare, source=""))


def test_what_is_wrong_is_told_all_at_once(naked: Setup) -> None:
    text = naked.source.replace('build = "man, 50th percentile"', 'build = "man, 50 percentile"')
    text = text.replace("width = 900\n", "width = 900\nleast_width = 950\n")
    with pytest.raises(ScenarioError) as told:
        loads(text)
    assert "rider.build: 'man, 50 percentile' is not one of the words known here" in str(told.value)
    assert "place_limits.least_width: 950 mm is more than the width allowed, 900 mm" in str(
        told.value
    )
