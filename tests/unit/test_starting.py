"""Which invented machine is nearest, and what is taken over from it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from barfit import edits, scenario
from barfit.analysis import problems
from barfit.measuring import count
from barfit.model import Body, ControlKind, Hold, How, OutletPlace, PointPlace, Setup, Side
from barfit.starting import (
    Brake,
    Clutch,
    Kind,
    Throttle,
    Traits,
    Wiring,
    add_new_line,
    bare_start,
    candidates,
    free_outlets,
    fresh_start,
    nearest_first,
    traits_of,
    usual_control,
    usual_end,
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
    assert first.differs == (
        "Clutch: by cable; yours: hydraulic (its clutch cable has to be laid anew).",
    )
    offs = [one.off for one in candidates(wanted, machines.values())]
    assert offs == sorted(offs)


def test_a_fresh_start_is_not_measured_at_all_and_can_be_kept(machines: dict[str, Setup]) -> None:
    for setup in machines.values():
        for make in (fresh_start, bare_start):
            begun = make(setup, "Mine")
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
    bare = bare_start(machines["touring-hydraulic"], "Mine")
    assert [line.kind for line in bare.lines] == ["ride_by_wire_lead"]
    assert [station.hold for station in bare.lines[0].stations] == [Hold.FITTING] * 2
    assert [one.kind for one in bare.controls] == [ControlKind.GRIP_SENSOR]


@pytest.mark.parametrize("kind", list(ControlKind))
def test_every_kind_of_control_can_be_added(machines: dict[str, Setup], kind: ControlKind) -> None:
    bare = bare_start(machines["naked-standard"], "Mine")
    near = nearest_first(bare, machines.values())
    added = edits.add_control(bare, usual_control(bare, kind, near))
    assert added.controls[-1].kind is kind
    assert added.controls[-1].measured is How.NOT_MEASURED
    assert scenario.refusals(added) == []


def test_of_two_sides_the_free_one_is_taken(machines: dict[str, Setup]) -> None:
    bare = bare_start(machines["naked-standard"], "Mine")
    near = nearest_first(bare, machines.values())
    sides = []
    for _ in range(2):
        bare = edits.add_control(bare, usual_control(bare, ControlKind.SWITCH_HOUSING, near))
        sides.append(bare.controls[-1].side)
    assert set(sides) == {Side.LEFT, Side.RIGHT}


def test_a_new_line_goes_from_its_outlet_to_its_end(machines: dict[str, Setup]) -> None:
    bare = bare_start(machines["naked-standard"], "Mine")
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
