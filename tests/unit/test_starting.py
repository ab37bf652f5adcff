"""Which invented machine is nearest, and what is taken over from it."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from barfit import edits, scenario
from barfit.analysis import Verdict, findings, problems, sweep
from barfit.geometry.pose import layout
from barfit.measuring import count
from barfit.model import Body, ControlKind, Hold, How, OutletPlace, PointPlace, Role, Setup, Side
from barfit.starting import (
    EXCHANGED,
    Brake,
    Clutch,
    Kind,
    Throttle,
    Traits,
    Wiring,
    add_new_line,
    bare_start,
    begin,
    candidates,
    exchanged,
    first_lines,
    free_outlets,
    fresh_start,
    nearest_first,
    traits_of,
    usual_control,
    usual_end,
    usual_outlet,
    usual_start,
)


@pytest.fixture(scope="module")
def machines() -> dict[str, Setup]:
    return {path.stem: scenario.load(path) for path in scenario.bundled()}


def test_the_traits_are_read_off_the_setup(machines: dict[str, Setup]) -> None:
    cable, along = (Throttle.CABLE, Clutch.CABLE), Wiring.ALONG
    assert {stem: traits_of(setup) for stem, setup in machines.items()} == {
        "naked-standard": Traits(Kind.STANDARD, *cable, Brake.SPLITTER, along),
        "old-twin": Traits(Kind.STANDARD, *cable, Brake.DRUM, along),
        "tall-bar-cruiser": Traits(Kind.CRUISER, *cable, Brake.DIRECT, along),
        "hidden-wires": Traits(Kind.CRUISER, *cable, Brake.DIRECT, Wiring.INSIDE),
        "touring-hydraulic": Traits(
            Kind.TOURING, Throttle.WIRE, Clutch.HYDRAULIC, Brake.MODULATOR, along
        ),
    }


def test_a_machine_changed_has_other_traits(machines: dict[str, Setup]) -> None:
    cruiser = machines["tall-bar-cruiser"]
    gone = edits.delete_line(cruiser, "clutch cable")
    assert traits_of(gone).clutch is Clutch.NONE
    hose = edits.change_station(
        cruiser, "front brake hose", 4, place=PointPlace(Body.FRAME, (0.0, 90.0, -300.0))
    )
    assert traits_of(hose).brake is Brake.MODULATOR


def test_the_nearest_comes_first_and_what_differs_is_told(machines: dict[str, Setup]) -> None:
    for setup in machines.values():
        first = candidates(traits_of(setup), machines.values())[0]
        assert first.off == 0.0
        assert first.differs == ()
        assert traits_of(first.setup) == traits_of(setup)
    wanted = replace(traits_of(machines["tall-bar-cruiser"]), clutch=Clutch.HYDRAULIC)
    first = candidates(wanted, machines.values())[0]
    assert first.setup is machines["tall-bar-cruiser"]
    assert first.other == ("clutch",)
    assert first.keys == ("clutch",)
    assert first.differs == ("Clutch: by cable; yours: hydraulic.",)
    offs = [one.off for one in candidates(wanted, machines.values())]
    assert offs == sorted(offs)


def test_a_fresh_start_is_not_measured_at_all_and_can_be_kept(machines: dict[str, Setup]) -> None:
    for setup in machines.values():
        every = list(machines.values())
        kinds = first_lines(every)
        for begun in (
            fresh_start(setup, "Mine"),
            *(bare_start(setup, "Mine", k, every) for k in kinds),
        ):
            assert count(begun)[0] == 0
            assert begun.title == begun.machine.name == "Mine"
            assert begun.source == ""
            assert scenario.loads(scenario.dumps(begun)) == begun
            assert problems(begun) == []
            assert "nvented" not in scenario.dumps(begun)


def test_what_belongs_to_the_other_machine_alone_is_not_taken_over(
    machines: dict[str, Setup],
) -> None:
    begun = fresh_start(machines["old-twin"], "Mine")
    assert begun.other_bars == ()
    for line in begun.lines:
        assert line.found_slack is None
        assert line.routings == ()
        assert line.wires is None
        assert line.cable is None
        assert line.measured is How.NOT_MEASURED
    touring = fresh_start(machines["touring-hydraulic"], "Mine")
    assert all(line.hose is None or line.hose.fluid is None for line in touring.lines)
    assert all(control.master is None for control in touring.controls)


def test_a_bare_start_is_a_front_end_and_one_line(machines: dict[str, Setup]) -> None:
    bare = bare_start(
        machines["touring-hydraulic"], "Mine", "ride_by_wire_lead", list(machines.values())
    )
    assert [line.kind for line in bare.lines] == ["ride_by_wire_lead"]
    assert [station.hold for station in bare.lines[0].stations] == [Hold.FITTING] * 2
    assert [one.kind for one in bare.controls] == [ControlKind.GRIP_SENSOR]


@pytest.mark.parametrize("kind", list(ControlKind))
def test_every_kind_of_control_can_be_added(machines: dict[str, Setup], kind: ControlKind) -> None:
    bare = bare_start(machines["naked-standard"], "Mine", "throttle_pull", list(machines.values()))
    near = nearest_first(bare, machines.values())
    added = edits.add_control(bare, usual_control(bare, kind, near))
    assert added.controls[-1].kind is kind
    assert added.controls[-1].measured is How.NOT_MEASURED
    assert scenario.refusals(added) == []


def test_of_two_sides_the_free_one_is_taken(machines: dict[str, Setup]) -> None:
    bare = bare_start(machines["naked-standard"], "Mine", "throttle_pull", list(machines.values()))
    near = nearest_first(bare, machines.values())
    sides = []
    for _ in range(2):
        bare = edits.add_control(bare, usual_control(bare, ControlKind.SWITCH_HOUSING, near))
        sides.append(bare.controls[-1].side)
    assert set(sides) == {Side.LEFT, Side.RIGHT}


def test_a_new_line_goes_from_its_outlet_to_its_end(machines: dict[str, Setup]) -> None:
    bare = bare_start(machines["naked-standard"], "Mine", "throttle_pull", list(machines.values()))
    near = nearest_first(bare, machines.values())
    bare = edits.add_control(bare, usual_control(bare, ControlKind.CLUTCH_PERCH, near))
    *free, used = free_outlets(bare)
    assert used == bare.lines[0].stations[0].place  # where a line leaves already comes last
    start = next(place for place in free if place.control == bare.controls[-1].name)
    end = usual_end("clutch_cable", near)
    added = add_new_line(bare, "clutch_cable", "clutch cable", start, end)
    line = added.lines[-1]
    assert line.stations[0].place == start
    assert line.stations[1].place == end.place
    assert line.measured is How.NOT_MEASURED
    assert problems(added) == []
    assert scenario.loads(scenario.dumps(added)) == added
    with pytest.raises(ValueError, match="another line named"):
        add_new_line(added, "clutch_cable", "clutch cable", start, end)
    with pytest.raises(ValueError, match="needs a name"):
        add_new_line(added, "clutch_cable", " ", start, end)


def test_an_outlet_can_be_added_and_deleted_while_no_line_leaves_it(
    machines: dict[str, Setup],
) -> None:
    setup = machines["naked-standard"]
    more = edits.add_outlet(setup, "clutch perch")
    assert free_outlets(more)[0] == OutletPlace("clutch perch", "outlet")
    assert edits.delete_outlet(more, "clutch perch", "outlet") == setup
    with pytest.raises(ValueError, match="'clutch cable' leaves there"):
        edits.delete_outlet(more, "clutch perch", "cable")


EVERY = [Traits(*one) for one in itertools.product(Kind, Throttle, Clutch, Brake, Wiring)]


def test_any_machine_asked_for_can_be_begun(machines: dict[str, Setup]) -> None:
    """Every answer to the questions leads to a setup with those lines and controls, none of it
    measured, that can be saved and laid out.
    """
    for wanted in EVERY:
        near = [one.setup for one in candidates(wanted, machines.values())]
        begun, done = begin(near[0], "Mine", wanted, near)
        assert replace(traits_of(begun), kind=wanted.kind) == wanted
        assert scenario.refusals(begun) == []
        assert problems(begun) == []
        assert count(begun)[0] == 0
        assert "nvented" not in scenario.dumps(begun)
        first = traits_of(near[0])
        off = {key for key in EXCHANGED if getattr(first, key) != getattr(wanted, key)}
        assert {one.trait for one in done} == off
    assert scenario.loads(scenario.dumps(begun)) == begun


def test_what_is_exchanged_comes_with_its_control_and_says_from_where(
    machines: dict[str, Setup],
) -> None:
    cruiser, touring = machines["tall-bar-cruiser"], machines["touring-hydraulic"]
    wanted = replace(traits_of(cruiser), clutch=Clutch.HYDRAULIC, brake=Brake.MODULATOR)
    begun, done = begin(cruiser, "Mine", wanted, list(machines.values()))
    clutch, brake = done
    assert (clutch.gone, clutch.came) == (("clutch cable",), ("clutch hose",))
    assert clutch.donor == touring.machine.name
    assert brake.gone == ("front brake hose",)
    assert len(brake.came) == 4
    kinds = {control.kind for control in begun.controls}
    assert ControlKind.CLUTCH_MASTER in kinds
    assert ControlKind.CLUTCH_PERCH not in kinds
    assert sum(control.kind is ControlKind.BRAKE_MASTER for control in begun.controls) == 1
    assert any(solid.role is Role.MODULATOR for solid in begun.machine.solids)
    assert begun.line("clutch hose").note == "A first guess, from the touring machine."
    # by the guides of the cable it stands for, to where that ended, with as much to spare
    line, other = begun.line("clutch hose"), cruiser.line("clutch cable")
    assert [one.place for one in line.stations[1:]] == [one.place for one in other.stations[1:]]
    assert line.stations[-1].name == "slave cylinder"
    assert all(one.measured is How.NOT_MEASURED for one in line.stations[1:])
    ways = [
        np.linalg.norm(np.diff(layout(one, one.stock)[name].points, axis=0), axis=1).sum()
        for one, name in ((begun, line.name), (cruiser, other.name))
    ]
    assert line.length - other.length == pytest.approx(ways[0] - ways[1], abs=2.5)


def test_the_same_kind_of_machine_comes_before_all_others(machines: dict[str, Setup]) -> None:
    for kind, throttle, clutch, brake, wiring in itertools.product(
        Kind, Throttle, Clutch, Brake, Wiring
    ):
        wanted = Traits(kind, throttle, clutch, brake, wiring)
        assert traits_of(candidates(wanted, machines.values())[0].setup).kind is kind


def test_every_combination_of_answers_can_be_laid_out(machines: dict[str, Setup]) -> None:
    for kind, throttle, clutch, brake, wiring in itertools.product(
        Kind, Throttle, Clutch, Brake, Wiring
    ):
        wanted = Traits(kind, throttle, clutch, brake, wiring)
        near = [one.setup for one in candidates(wanted, machines.values())]
        begun, _ = begin(near[0], "Mine", wanted, near)
        assert problems(begun) == [], wanted
        assert scenario.refusals(begun) == [], wanted


@pytest.mark.parametrize(
    ("stem", "trait", "value"),
    [
        ("naked-standard", "clutch", Clutch.HYDRAULIC),
        ("naked-standard", "throttle", Throttle.WIRE),
        ("old-twin", "clutch", Clutch.HYDRAULIC),
        ("old-twin", "throttle", Throttle.WIRE),
        ("tall-bar-cruiser", "clutch", Clutch.HYDRAULIC),
        ("tall-bar-cruiser", "throttle", Throttle.WIRE),
        ("touring-hydraulic", "clutch", Clutch.CABLE),
        ("touring-hydraulic", "throttle", Throttle.CABLE),
    ],
)
def test_what_is_lent_fits_with_the_stock_bars(
    machines: dict[str, Setup], stem: str, trait: str, value: object
) -> None:
    """Nothing lent lacks length, bends too tightly, stops the steering or is in the wheel."""
    own = machines[stem]
    near = [own, *(one for one in machines.values() if one is not own)]
    begun, (done,) = begin(own, "Mine", replace(traits_of(own), **{trait: value}), near)
    came = set(done.came)
    turned = sweep(begun, stock=True, step=math.radians(20), only=came)
    found = [one for one in findings(turned, windows=False) if one.line in came]
    assert {one.line for one in found} == came
    for one in found:
        assert one.verdict in (Verdict.REACHES, Verdict.UNCERTAIN), (one.line, one.why)
        assert one.margin > 0.0
        assert one.stops.right is None
        assert one.stops.left is None
        assert not any("wheel" in touch.part for touch in one.touches)


def test_an_untouched_start_of_three_traits_can_be_checked(machines: dict[str, Setup]) -> None:
    """Lines with many guides beside lines with few once made telling how sure it is break off."""
    wanted = Traits(clutch=Clutch.HYDRAULIC, brake=Brake.DIRECT)
    near = [one.setup for one in candidates(wanted, machines.values())]
    for machine in (near[0], machines["tall-bar-cruiser"]):
        begun, _ = begin(machine, "Mine", wanted, near)
        found = findings(sweep(begun, step=math.radians(30)), windows=False)
        assert [one.line for one in found] == [line.name for line in begun.lines]


def test_a_place_on_the_fork_is_at_the_same_place_of_another_fork(
    machines: dict[str, Setup],
) -> None:
    """A caliper hose of the naked machine on the cruiser: by hand, from the axle."""
    naked, cruiser = machines["naked-standard"], machines["tall-bar-cruiser"]
    wanted = replace(traits_of(cruiser), brake=Brake.SPLITTER)
    begun, _ = exchanged(cruiser, wanted, [naked])
    for station, own in zip(
        naked.line("left caliper hose").stations,
        begun.line("left caliper hose").stations,
        strict=True,
    ):
        assert isinstance(station.place, PointPlace)
        assert isinstance(own.place, PointPlace)
        if station.place.body is not Body.LOWER_FORK:
            continue
        gaps = []
        for setup, place in ((naked, station.place), (begun, own.place)):
            machine = setup.machine
            x, _, z = place.position
            cos, sin = math.cos(machine.rake), math.sin(machine.rake)
            along, square = -sin * x + cos * z, cos * x + sin * z  # up the axis, forward of it
            gaps.append((along + machine.fork_length, square - machine.fork_offset))
        assert gaps[1] == pytest.approx(gaps[0], abs=0.2)


def test_a_drum_brake_has_no_disc_and_no_clutch_no_lever(machines: dict[str, Setup]) -> None:
    naked = machines["naked-standard"]
    wanted = replace(traits_of(naked), brake=Brake.DRUM, clutch=Clutch.NONE)
    begun, done = begin(naked, "Mine", wanted, list(machines.values()))
    assert begun.machine.disc is None
    assert [one.donor != "" for one in done] == [False, True]
    assert ControlKind.CLUTCH_PERCH not in {one.kind for one in begun.controls}


def test_wires_go_inside_bars_that_get_the_holes_and_outside_again(
    machines: dict[str, Setup],
) -> None:
    naked, hidden = machines["naked-standard"], machines["hidden-wires"]
    inside, _ = exchanged(naked, replace(traits_of(naked), wiring=Wiring.INSIDE), [hidden])
    assert {hole.name for hole in inside.new.bar.holes} == {
        name
        for line in inside.lines
        if line.through_bar
        for name in (line.through_bar.entry, line.through_bar.exit)
    }
    outside, done = exchanged(hidden, replace(traits_of(hidden), wiring=Wiring.ALONG), [naked])
    assert not any(line.through_bar for line in outside.lines)
    assert outside.new.bar.holes == ()
    assert done[0].donor == ""


def test_what_no_machine_has_stays_as_it_is(machines: dict[str, Setup]) -> None:
    naked = machines["naked-standard"]
    wanted = replace(traits_of(naked), clutch=Clutch.HYDRAULIC)
    assert exchanged(naked, wanted, [naked, machines["old-twin"]]) == (naked, ())


def test_a_line_begins_where_lines_of_its_kind_do(machines: dict[str, Setup]) -> None:
    twin = machines["old-twin"]
    near = nearest_first(twin, machines.values())
    assert usual_outlet(twin, "speedometer_cable", near) is None
    start = usual_start("speedometer_cable", near)
    assert start == twin.line("speedometer cable").stations[0]
    bare = bare_start(twin, "Mine", "throttle_single", near)
    more = edits.add_control(bare, usual_control(bare, ControlKind.CLUTCH_PERCH, near))
    assert usual_outlet(more, "clutch_cable", near).control == more.controls[-1].name
    added = add_new_line(
        more, "speedometer_cable", "speedo", start, usual_end("speedometer_cable", near)
    )
    assert added.lines[-1].stations[0].place == start.place
    assert added.lines[-1].stations[0].measured is How.NOT_MEASURED
    assert problems(added) == []


def test_what_is_begun_has_an_answer_with_both_bars(machines: dict[str, Setup]) -> None:
    """One that once had none: lines with and without many guides share a batch of its sureness."""
    wanted = Traits(Kind.CRUISER, Throttle.WIRE, Clutch.HYDRAULIC, Brake.DIRECT, Wiring.INSIDE)
    near = [one.setup for one in candidates(wanted, machines.values())]
    begun, _ = begin(near[0], "Mine", wanted, near)
    for stock in (True, False):
        found = findings(sweep(begun, stock=stock, step=math.radians(8.0)))
        assert [one.line for one in found] == [line.name for line in begun.lines]
        assert all(one.verdict is not Verdict.NOT_KNOWN for one in found)
