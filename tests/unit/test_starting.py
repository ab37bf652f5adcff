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


def test_an_untouched_start_of_three_traits_can_be_checked(machines: dict[str, Setup]) -> None:
    """Lines with many guides beside lines with few once made telling how sure it is break off."""
    wanted = Traits(clutch=Clutch.HYDRAULIC, brake=Brake.DIRECT)
    near = [one.setup for one in candidates(wanted, machines.values())]
    for machine in (near[0], machines["tall-bar-cruiser"]):
        begun, _ = begin(machine, "Mine", wanted, near)
        found = findings(sweep(begun, step=math.radians(30)), windows=False)
        assert [one.line for one in found] == [line.name for line in begun.lines]


def test_a_hose_ends_at_the_machines_own_caliper(machines: dict[str, Setup]) -> None:
    """By its own clip on the fork leg, mirrored where only the other side has one."""
    naked, cruiser = machines["naked-standard"], machines["tall-bar-cruiser"]
    direct, _ = exchanged(naked, replace(traits_of(naked), brake=Brake.DIRECT), [cruiser])
    hose, own = direct.line("front brake hose"), naked.line("left caliper hose")
    assert [(one.place, one.direction) for one in hose.stations[-2:]] == [
        (one.place, one.direction) for one in own.stations[-2:]
    ]
    assert hose.stations[:2] == naked.line("brake hose to the splitter").stations[:2]
    split, _ = exchanged(cruiser, replace(traits_of(cruiser), brake=Brake.SPLITTER), [naked])
    own = cruiser.line("front brake hose")
    for name, mirror in (("left caliper hose", 1.0), ("right caliper hose", -1.0)):
        for station, before in zip(split.line(name).stations[-2:], own.stations[-2:], strict=True):
            x, y, z = before.place.position
            assert station.place.position == (x, mirror * y, z)
    assert split.line("right caliper hose").stations[-2].name == "clip on the right slider"


def test_what_a_machine_has_of_a_brake_it_keeps(machines: dict[str, Setup]) -> None:
    """Caliper hoses behind a splitter stay when only what is before it changes."""
    naked, touring = machines["naked-standard"], machines["touring-hydraulic"]
    begun, (done,) = exchanged(naked, replace(traits_of(naked), brake=Brake.MODULATOR), [touring])
    assert done.gone == ("brake hose to the splitter",)
    assert done.came == ("brake hose to the modulator", "brake hose to the splitter")
    for name in ("left caliper hose", "right caliper hose"):
        assert begun.line(name) == naked.line(name)
    back, (done,) = exchanged(touring, replace(traits_of(touring), brake=Brake.SPLITTER), [naked])
    assert done.came == ("brake hose to the splitter",)
    assert all(solid.role is not Role.MODULATOR for solid in back.machine.solids)
    master = ControlKind.BRAKE_MASTER
    for setup, own in ((begun, naked), (back, touring)):
        assert [one for one in setup.controls if one.kind is master] == [
            one for one in own.controls if one.kind is master
        ]


def test_a_clip_on_the_fork_is_as_far_off_another_leg(machines: dict[str, Setup]) -> None:
    """On a machine that has no calipers, by hand: over the axle, and from the leg's surface."""
    naked, twin = machines["naked-standard"], machines["old-twin"]
    begun, _ = exchanged(twin, replace(traits_of(twin), brake=Brake.SPLITTER), [naked])
    found = []
    for setup in (naked, begun):
        machine = setup.machine
        x, y, z = setup.line("left caliper hose").stations[-1].place.position
        cos, sin = math.cos(machine.rake), math.sin(machine.rake)
        over = -sin * x + cos * z + machine.fork_length
        ahead, out = cos * x + sin * z - machine.fork_offset, y - 0.5 * machine.fork_spread
        leg = next(one.shape for one in machine.solids if one.name == "left fork slider")
        found.append((over, math.hypot(ahead, out) - leg.radius, math.atan2(out, ahead)))
    assert found[1] == pytest.approx(found[0], abs=0.2)


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
