"""Clearances, reservoirs, clamps and controls of the bars, and what is said of them."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barfit import scenario
from barfit.analysis import Sweep, sweep
from barfit.geometry.frames import rotation, steering_axis
from barfit.geometry.parts import shape_distance
from barfit.geometry.pose import bar_shape, held_frame
from barfit.model import (
    Bar,
    BarSet,
    Body,
    Box,
    Capsule,
    ControlSize,
    OutletPlace,
    Role,
    Setup,
    Side,
    Solid,
)
from barfit.report.trade.on_bar import on_bar_remarks, parked_hint
from barfit.scenario import ScenarioError, dumps, loads
from barfit.trade.clearances import Clearance, clearances
from barfit.trade.judged import Grade
from barfit.trade.on_bar import (
    EXIT_LENGTH,
    OnBarFigures,
    exit_gap,
    fit_figures,
    leaning_vertical,
    middle_straight,
    on_bar,
    reservoir_figures,
    worst_tilt,
)
from barfit.trade.sizes import room

NAMES = [path.stem for path in scenario.bundled()]


def bundled(name: str) -> Setup:
    return scenario.load(scenario.bundled()[NAMES.index(name)])


@pytest.fixture(scope="module")
def naked() -> Setup:
    return bundled("naked-standard")


@pytest.fixture(scope="module")
def swept(naked: Setup) -> Sweep:
    """Only the hose of its master cylinder, at a few angles."""
    hose = naked.line("brake hose to the splitter")
    return sweep(replace(naked, lines=(hose,)), stock=True, step=math.radians(11.0))


def one_piece(bars: BarSet) -> Bar:
    assert isinstance(bars.bar, Bar)
    return bars.bar


def with_bar(setup: Setup, **changes: object) -> BarSet:
    return replace(setup.stock, bar=replace(one_piece(setup.stock), **changes))  # type: ignore[arg-type]


def hand(found: tuple[Clearance, ...], side: Side = Side.LEFT) -> Clearance:
    return next(one for one in found if one.hand and one.side is side)


# --- clearances ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_no_bundled_machine_traps_a_hand_with_its_stock_bars(name: str) -> None:
    setup = bundled(name)
    found = clearances(setup, setup.stock, setup.stock)
    assert len(found) == 4
    assert {one.gap.grade for one in found} == {Grade.FINE}
    assert hand(found).gap.value == pytest.approx(hand(found, Side.RIGHT).gap.value, abs=0.1)


def test_a_pulled_back_bar_is_a_hand_trap_on_the_old_twin() -> None:
    setup = bundled("old-twin")
    trap = hand(clearances(setup, setup.new, setup.stock))
    assert trap.gap.grade is Grade.REJECT
    assert trap.part == "left grip"
    assert trap.other.startswith("tank")
    assert trap.gap.turn == setup.machine.lock_left
    assert trap.first is not None
    assert 0.5 * setup.machine.lock_left < trap.first < setup.machine.lock_left


@given(gap=st.floats(3.0, 60.0), turn=st.floats(-0.5, 0.5))
@settings(max_examples=30)
def test_a_box_put_before_the_grip_is_reported_as_far_as_it_was_put(
    naked: Setup, gap: float, turn: float
) -> None:
    """Square to the grip's end, so that nothing else of the bar is nearer to it."""
    machine = replace(naked.machine, solids=())
    shape = bar_shape(machine, naked.stock)
    end, outward, *_ = shape.at(Side.LEFT, 0.0, from_centre=False)
    axis = steering_axis(machine.rake)
    grip = 0.5 * shape.grip_diameter + 5.0
    wanted = grip + gap + 8.0
    there = rotation(axis, turn) @ (end + wanted * outward)
    post = Solid("post", Role.OTHER, Body.FRAME, Capsule(tuple(there), tuple(there), 8.0))
    # of all turns: how near the grip's end and its whole length come to the post
    turns = rotation(axis, -np.linspace(-machine.lock_right, machine.lock_left, 2001))
    seen = turns @ there
    inner = shape.at(Side.LEFT, shape.grip_length, from_centre=False)[0]
    line = Capsule(tuple(inner), tuple(end), grip)
    brute = float(shape_distance(line, seen).min()) - 8.0
    setup = replace(naked, machine=replace(machine, solids=(post,)), controls=())
    found = hand(clearances(setup, setup.stock, setup.stock))
    assert found.gap.value == pytest.approx(brute, abs=0.1)
    assert found.gap.value <= gap + 0.1
    assert found.other == "post"


def test_what_steers_along_is_met_at_no_particular_turn(naked: Setup) -> None:
    shape = bar_shape(naked.machine, naked.stock)
    end, outward, *_ = shape.at(Side.LEFT, 0.0, from_centre=False)
    centre = end + (16.1 + 10.0 + 12.0) * outward
    screen = Solid("screen", Role.FAIRING, Body.STEERING, Capsule(tuple(centre), tuple(centre), 12))
    setup = replace(naked, machine=replace(naked.machine, solids=(screen,)), controls=())
    found = hand(clearances(setup, setup.stock, setup.stock))
    assert found.steered
    assert found.gap.turn is None
    assert found.gap.value == pytest.approx(10.0, abs=0.05)
    assert found.gap.grade is Grade.REJECT
    said = on_bar_remarks(replace(_all(setup), clearances=(found,)), setup, "mm")
    assert said[0].sentence == (
        "Only 10 mm remain between the left grip and the screen at every turn; a hand needs 25 mm."
    )


def test_hard_parts_may_come_nearer_than_hands_but_not_touch(naked: Setup) -> None:
    frame = held_frame(bar_shape(naked.machine, naked.stock), naked.controls[0])
    control = replace(naked.controls[0], size=ControlSize(mirror=(0.0, 0.0, 300.0)))
    top = frame[0] + (300.0 + 60.0 + 30.0 + 6.0) * frame[3]
    for lower, grade in ((0.0, Grade.CAUTION), (10.0, Grade.REJECT)):
        place = tuple(top - lower * frame[3])
        roof = Solid("roof", Role.OTHER, Body.FRAME, Capsule(place, place, 30.0))
        machine = replace(naked.machine, solids=(roof,), lock_left=1e-3, lock_right=1e-3)
        setup = replace(naked, machine=machine, controls=(control,))
        found = clearances(setup, setup.stock, setup.stock)
        mirror = next(one for one in found if not one.hand and one.side is control.side)
        assert mirror.part == f"mirror on the {control.name}"
        assert mirror.gap.value == pytest.approx(6.0 - lower, abs=0.5)
        assert mirror.gap.grade is grade


def test_a_machine_without_solids_has_no_clearances(naked: Setup) -> None:
    setup = replace(naked, machine=replace(naked.machine, solids=()))
    assert clearances(setup, setup.stock, setup.stock) == ()


def test_a_file_without_sizes_gets_them_by_kind(naked: Setup) -> None:
    perch = replace(next(c for c in naked.controls if c.name == "clutch perch"), size=None)
    usual = room(perch)
    assert usual.lever[-1] == (perch.inboard - 32.0, 78.0, -9.0)
    assert usual.reservoir is None
    assert usual.mirror is None
    own = room(replace(perch, size=ControlSize(lever_tip=(120.0, 70.0, 0.0), width=20.0)))
    assert own.lever[-1] == (120.0, 70.0, 0.0)
    assert own.width == 20.0


# --- reservoirs ----------------------------------------------------------------------------------


@given(
    rake=st.floats(0.0, 0.6),
    low=st.floats(-0.8, 0.0),
    high=st.floats(0.0, 0.8),
    x=st.floats(-0.5, 0.5),
    y=st.floats(-0.5, 0.5),
    lean=st.floats(0.0, 0.4),
)
def test_the_worst_tilt_is_worst(
    rake: float, low: float, high: float, x: float, y: float, lean: float
) -> None:
    lid = np.array([x, y, 1.0]) / math.sqrt(1.0 + x * x + y * y)
    vertical = leaning_vertical(lean)
    tilt, turn = worst_tilt(lid, rake, vertical, low, high)
    turns = np.append(np.linspace(low, high, 301), turn)
    facing = rotation(steering_axis(rake), turns) @ lid
    all_tilts = np.arccos(np.clip(facing @ vertical, -1.0, 1.0))
    assert tilt == pytest.approx(all_tilts.max(), abs=1e-6)
    assert low <= turn <= high


@pytest.mark.parametrize("degrees", [20.0, 33.0, 42.0])
def test_a_level_lid_turned_about_a_raked_axis(degrees: float) -> None:
    """A direction at the angle r from an axis turns by d to 2 asin(sin r sin d/2) from itself."""
    rake, lock = math.radians(27.0), math.radians(degrees)
    tilt, turn = worst_tilt(np.array([0.0, 0.0, 1.0]), rake, leaning_vertical(0.0), -lock, lock)
    assert tilt == pytest.approx(2.0 * math.asin(math.sin(rake) * math.sin(0.5 * lock)))
    assert abs(turn) == pytest.approx(lock)


def test_the_lid_follows_roll_rotation_and_what_the_file_says(naked: Setup) -> None:
    master = next(c for c in naked.controls if room(c).reservoir is not None)
    level = reservoir_figures(naked, naked.stock, naked.stock, master)
    assert level.assumed
    assert level.straight.value == pytest.approx(0.0, abs=1e-9)
    rolled = with_bar(naked, roll=math.radians(15.0))
    tilted = reservoir_figures(naked, rolled, naked.stock, master)
    assert tilted.straight.value == pytest.approx(math.radians(15.0))
    assert tilted.straight.grade is Grade.CAUTION
    # turned back about its own tube, which is not the roll's axis, it is nearly level again
    back = replace(master, rotation=math.radians(-15.0))
    there = replace(naked, controls=(back,))
    lid = held_frame(bar_shape(naked.machine, naked.stock), master)
    own = np.array([lid[1][2], lid[2][2], lid[3][2]])
    said = replace(back, size=ControlSize(lid_up=tuple(own)))
    again = reservoir_figures(there, rolled, naked.stock, said)
    assert not again.assumed
    assert again.straight.value < math.radians(6.0)


def test_the_side_stand_counts_to_the_left(naked: Setup) -> None:
    master = next(c for c in naked.controls if room(c).reservoir is not None)
    leaning = replace(naked, machine=replace(naked.machine, stand_lean=math.radians(12.0)))
    found = reservoir_figures(leaning, naked.stock, naked.stock, master)
    assert found.lean == pytest.approx(math.radians(12.0))
    # turned left, the lid leans left too: the machine's lean comes on top
    assert found.parked.turn == pytest.approx(naked.machine.lock_left)
    assert found.parked.value > found.worst.value + math.radians(9.0)
    assert reservoir_figures(
        replace(naked, machine=replace(naked.machine, stand_lean=None)), *[naked.stock] * 2, master
    ).lean == pytest.approx(math.radians(11.0))


# --- clamps and controls -------------------------------------------------------------------------


def test_the_clamps_must_lie_on_what_is_straight_and_knurled(naked: Setup) -> None:
    """Spacing 100 and two halves of a 34 mm clamp: 134 mm."""
    bars = naked.stock
    straight = middle_straight(bar_shape(naked.machine, bars))
    fits = {
        None: straight - 134.0,
        140.0: 6.0,
        134.0: 0.0,
        130.0: -4.0,
        200.0: straight - 134.0,  # a bend in it cannot be clamped, whatever is knurled
    }
    for zone, spare in fits.items():
        found = fit_figures(naked, with_bar(naked, clamp_zone=zone), bars).clamp_spare
        assert found is not None
        assert found.value == pytest.approx(spare)
        assert found.grade is (Grade.REJECT if spare < 0.0 else Grade.FINE)


def test_tube_and_bore(naked: Setup) -> None:
    """22.2 in a bore of 22.225 (7/8 in) is one size; 25.4 is not."""
    stock = naked.stock
    for bore, grade in ((22.225, Grade.FINE), (22.0, Grade.REJECT), (25.4, Grade.REJECT)):
        bars = replace(stock, riser=replace(stock.riser, bore=bore))
        held = fit_figures(naked, bars, stock).riser_bore
        assert held is not None
        assert held.grade is grade
    unknown = replace(stock, riser=replace(stock.riser, name="other", height=60.0, bore=None))
    held = fit_figures(naked, unknown, stock).riser_bore
    assert held is not None
    assert held.grade is Grade.NOT_KNOWN
    same = replace(stock, riser=replace(stock.riser, bore=None))
    held = fit_figures(naked, same, same).riser_bore
    assert held is not None
    assert held.grade is Grade.FINE


def test_controls_for_one_grip_zone_do_not_fit_another(naked: Setup) -> None:
    inch = with_bar(naked, grip_diameter=25.4, tube_diameter=25.4)
    found = fit_figures(naked, inch, naked.stock)
    assert found.control_bore.grade is Grade.REJECT
    assert found.control_bore.value == pytest.approx(3.2)
    made = fit_figures(naked, with_bar(naked, grip_diameter=22.1), naked.stock)
    assert made.control_bore.grade is Grade.FINE  # +0/-0.1 mm


def test_no_less_straight_than_the_stock_bar_has(swept: Sweep) -> None:
    left, right = on_bar(swept, swept).straights
    assert (left.side, right.side) == (Side.LEFT, Side.RIGHT)
    assert right.outermost == "front brake master cylinder"
    assert right.need == pytest.approx(170.0 + 13.0)
    assert right.straight.grade is Grade.FINE  # the stock bar's own bend, as it has always been
    bent = replace(one_piece(swept.setup.stock), bend_radius=80.0)
    tighter = replace(
        swept, setup=replace(swept.setup, new=replace(swept.setup.stock, bar=bent)), stock=False
    )
    figures = on_bar(tighter, swept)
    found = figures.straights[0]
    assert found.straight.grade is Grade.CAUTION
    said = next(
        one
        for one in on_bar_remarks(figures, tighter.setup, "mm")
        if one.key == "hand_straight" and one.sentence
    )
    assert said.limit_text("mm") in said.sentence
    assert said.value_text("mm") in said.sentence
    if found.straight.stock < found.need:
        assert f"where the stock bar has {said.stock_text('mm')};" in said.sentence


@pytest.mark.parametrize(
    ("turn", "words"), [(0.5, "most steering locks engage at the left"), (-0.5, "to the left")]
)
def test_a_parked_lid_is_levelled_first(turn: float, words: str) -> None:
    hint = parked_hint(turn)
    assert hint.startswith("Set its lid level straight ahead.")
    assert words in hint


def test_a_bar_thinner_than_the_bore_is_told_without_a_minus(naked: Setup) -> None:
    thin = replace(with_bar(naked, tube_diameter=22.2), riser=replace(naked.stock.riser, bore=28.6))
    setup = replace(naked, new=thin, lines=(), machine=replace(naked.machine, solids=()))
    empty = Sweep(setup, False, np.zeros(1), ())
    said = {
        r.key: r for r in on_bar_remarks(on_bar(empty, replace(empty, stock=True)), setup, "mm")
    }
    assert said["riser_bore"].label == "Bar thinner than the risers' bore by"
    assert said["riser_bore"].value_text("mm") == "6.4 mm"


# --- hoses ---------------------------------------------------------------------------------------


def test_a_hose_is_looked_at_for_its_first_sixty_millimetres(swept: Sweep) -> None:
    setup, line = swept.setup, swept.setup.lines[0]
    place = line.stations[0].place
    assert isinstance(place, OutletPlace)
    control = next(c for c in setup.controls if c.name == place.control)
    gap, other, turn, travel = exit_gap(swept, line, control, last=False)
    assert other
    assert turn in swept.angles
    assert travel == 0.0
    # against the bar alone, point by point, straight ahead
    own = swept.line(line.name)
    ahead = int(np.argmin(abs(swept.angles)))
    near = own.arc <= EXIT_LENGTH
    shape = bar_shape(setup.machine, setup.stock)
    run = shape.right
    points = own.shapes[0, ahead][near]
    least = min(
        float(shape_distance(Capsule(tuple(a), tuple(b), 11.1), points).min())
        for a, b in pairwise(run)
    )
    assert gap <= least - 0.5 * line.diameter + 1e-6
    assert gap > -1.0  # the hose rests on the bar at most


def test_a_hose_whose_shape_is_not_known_says_so(swept: Sweep) -> None:
    line = swept.lines[0]
    lost = replace(swept, lines=(replace(line, converged=np.zeros_like(line.converged)),))
    found = on_bar(lost, lost).exits[0]
    assert found.gap.grade is Grade.NOT_KNOWN
    said = on_bar_remarks(on_bar(lost, lost), swept.setup, "mm")
    assert next(r for r in said if r.key == "hose_exit_gap").value_text("mm") == "not known"


# --- files ---------------------------------------------------------------------------------------


def test_sizes_go_to_the_file_and_back(naked: Setup) -> None:
    size = ControlSize(
        width=25.0,
        radius=21.0,
        lever_tip=(130.0, 70.0, -5.0),
        reservoir=(-5.0, 40.0, 28.0),
        reservoir_size=(55.0, 40.0, 30.0),
        lid_up=(0.1, 0.0, 1.0),
        mirror=(20.0, 40.0, 190.0),
        mirror_radius=61.0,
    )
    controls = (replace(naked.controls[0], size=size), *naked.controls[1:])
    machine = replace(naked.machine, stand_lean=math.radians(9.0))
    bars = replace(with_bar(naked, clamp_zone=141.0), riser=replace(naked.stock.riser, bore=None))
    setup = replace(naked, controls=controls, machine=machine, stock=bars)
    assert loads(dumps(setup)) == setup
    assert loads(dumps(replace(setup, source=""))) == setup
    assert "# A standard machine without fairing" in dumps(setup)


def test_what_is_wrong_with_a_size_is_told_all_at_once(naked: Setup) -> None:
    text = naked.source.replace("mirror_radius = 60", "mirror_radius = 900\nlevr_tip = 3", 1)
    with pytest.raises(ScenarioError) as told:
        loads(text)
    assert 'controls."clutch perch".size.mirror_radius: 900 mm is outside' in str(told.value)
    assert "lever_tip" in str(told.value)


def _all(setup: Setup) -> OnBarFigures:
    bare = replace(setup, lines=())
    empty = Sweep(bare, True, np.zeros(1), ())
    return on_bar(empty, empty)


def test_sentences_of_what_does_not_fit(naked: Setup) -> None:
    wrong = replace(
        with_bar(naked, grip_diameter=25.4, tube_diameter=31.75, clamp_zone=120.0),
        riser=replace(naked.stock.riser, bore=22.2),
    )
    setup = replace(naked, new=wrong, lines=(), machine=replace(naked.machine, solids=()))
    empty = Sweep(setup, False, np.zeros(1), ())
    before = replace(empty, stock=True)
    said = {r.key: r for r in on_bar_remarks(on_bar(empty, before), setup, "mm")}
    assert said["clamp_spare"].sentence == (
        "The bar's knurled zone is 14 mm too narrow for its risers: they clamp on a bend or on "
        "bare tube."
    )
    assert said["riser_bore"].sentence == (
        "The bar is 31.75 mm thick where it is clamped, the risers are bored 22.2 mm: "
        "it does not fit."
    )
    assert said["control_bore"].sentence == (
        "The bar's grip zone, 25.4 mm, is thicker than the stock bar's 22.2 mm: "
        "the controls do not fit it."
    )
    assert all(said[key].grade is Grade.REJECT for key in ("clamp_spare", "riser_bore"))
    assert not any(remark.line for remark in said.values())


def test_a_rounded_box_is_a_solid_like_any_other(naked: Setup) -> None:
    shape = bar_shape(naked.machine, naked.stock)
    end = shape.left[-1]
    wall = Box((float(end[0]), float(end[1]) + 500.0, float(end[2])), (2000.0, 200.0, 2000.0))
    setup = replace(
        naked,
        machine=replace(naked.machine, solids=(Solid("wall", Role.OTHER, Body.FRAME, wall),)),
        controls=(),
    )
    found = hand(clearances(setup, setup.stock, setup.stock))
    axis = steering_axis(setup.machine.rake)
    turns = rotation(axis, np.linspace(-setup.machine.lock_right, setup.machine.lock_left, 2001))
    reach = float((turns @ end)[:, 1].max())
    assert found.gap.value == pytest.approx(end[1] + 400.0 - reach - 16.1, abs=0.1)
