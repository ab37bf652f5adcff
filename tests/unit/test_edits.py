"""Edits give setups that can be saved, keep names unique, and leave everything else as it was."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from barfit import edits, scenario
from barfit.analysis import problems
from barfit.geometry.pose import bar_shape, layout
from barfit.model import (
    BarPlace,
    Body,
    Capsule,
    Hold,
    How,
    OutletPlace,
    PointPlace,
    Role,
    Setup,
    Solid,
)
from barfit.scenario import dumps, loads


@pytest.fixture(scope="module")
def naked() -> Setup:
    return scenario.load(next(p for p in scenario.bundled() if p.stem == "naked-standard"))


def kept(setup: Setup) -> Setup:
    """The setup after saving and reading it."""
    return loads(dumps(setup), folder=setup.folder)


def test_a_renamed_line_keeps_everything_else(naked: Setup) -> None:
    changed = edits.rename_line(naked, "clutch cable", "  long clutch cable ")
    assert changed.line("long clutch cable") == replace(
        naked.line("clutch cable"), name="long clutch cable"
    )
    assert kept(changed) == changed
    assert edits.rename_line(changed, "long clutch cable", "clutch cable") == naked


@pytest.mark.parametrize("name", ["", "  ", "two\nlines", "left caliper hose"])
def test_names_are_names_and_used_once(naked: Setup, name: str) -> None:
    with pytest.raises(ValueError, match="name"):
        edits.rename_line(naked, "clutch cable", name)


def test_copies_come_right_behind_under_a_fresh_name(naked: Setup) -> None:
    twice = edits.duplicate_line(edits.duplicate_line(naked, "clutch cable"), "clutch cable 2")
    names = [line.name for line in twice.lines]
    at = names.index("clutch cable")
    assert names[at : at + 3] == ["clutch cable", "clutch cable 2", "clutch cable 3"]
    assert twice.line("clutch cable 3").found_slack is None
    assert kept(twice) == twice


def test_the_last_line_stays(naked: Setup) -> None:
    alone = replace(naked, lines=naked.lines[:1])
    with pytest.raises(ValueError, match="at least one line"):
        edits.delete_line(alone, alone.lines[0].name)


def test_lines_follow_a_renamed_control_and_hold_one_that_is_in_use(naked: Setup) -> None:
    changed = edits.rename_control(naked, "clutch perch", "left perch")
    place = changed.line("clutch cable").stations[0].place
    assert isinstance(place, OutletPlace)
    assert place.control == "left perch"
    assert kept(changed) == changed
    assert not problems(changed)
    with pytest.raises(ValueError, match="'clutch cable'"):
        edits.delete_control(changed, "left perch")
    free = edits.delete_line(changed, "clutch cable")
    assert "left perch" not in [
        one.name for one in edits.delete_control(free, "left perch").controls
    ]


def test_a_guide_is_put_in_and_taken_out(naked: Setup) -> None:
    more = edits.insert_guide(naked, "clutch cable", 1, (80.0, 0.0, -60.0), Body.FRAME)
    stations = more.line("clutch cable").stations
    assert stations[2].hold is Hold.GUIDE
    assert stations[2].place == PointPlace(Body.FRAME, (80.0, 0.0, -60.0))
    assert kept(more) == more
    assert edits.delete_station(more, "clutch cable", 2) == naked
    with pytest.raises(ValueError, match="both its fittings"):
        edits.delete_station(naked, "clutch cable", 0)
    with pytest.raises(KeyError):
        edits.insert_guide(naked, "clutch cable", 99, (0.0, 0.0, 0.0), Body.FRAME)


def test_a_station_on_the_machine_goes_where_it_is_put(naked: Setup) -> None:
    moved = edits.move_station(naked, "clutch cable", 2, (60.0, -61.0, -131.0))
    assert layout(moved, moved.new)["clutch cable"].points[2] == pytest.approx((60, -61, -131))
    with pytest.raises(ValueError, match="move the control"):
        edits.move_station(naked, "clutch cable", 0, (0.0, 0.0, 0.0))


@pytest.mark.parametrize("from_centre", [True, False])
@pytest.mark.parametrize(("distance", "forward", "up"), [(150.0, 12.0, -9.0), (300.0, -20.0, 5.0)])
def test_a_place_beside_the_bar_is_found_from_its_point(
    naked: Setup, from_centre: bool, distance: float, forward: float, up: float
) -> None:
    line = naked.line("left switch harness")
    shape = bar_shape(naked.machine, naked.new)
    start = line.stations[1].place
    assert isinstance(start, BarPlace)
    place = replace(start, from_centre=from_centre)
    spot, _, along, above = shape.at(place.side, distance, from_centre)
    goal = spot + forward * along + up * above
    found = edits.move_station(
        edits.change_station(naked, line.name, 1, place=place),
        line.name,
        1,
        (float(goal[0]), float(goal[1]), float(goal[2])),
    )
    moved = layout(found, found.new)[line.name].points[1]
    assert np.linalg.norm(moved - goal) < 0.01
    assert kept(found) == found


def test_what_a_station_rides_on_changes_without_moving_it(naked: Setup) -> None:
    for index in (1, 3):
        changed = edits.put_station_on(naked, "left switch harness", index, Body.FRAME)
        places = layout(changed, changed.new)["left switch harness"]
        assert places.bodies[index] is Body.FRAME
        before = layout(naked, naked.new)["left switch harness"].points[index]
        assert places.points[index] == pytest.approx(before)
        assert not problems(changed)


def test_solids_come_and_go(naked: Setup) -> None:
    box = Solid("tank", Role.OTHER, Body.FRAME, Capsule((0, 0, 0), (10, 0, 0), 5.0))
    more = edits.add_solid(naked, box)
    assert more.machine.solids[-1].name == "tank 2"
    wider = edits.change_shape(more, "tank 2", radius=6.0)
    assert kept(wider) == wider
    assert edits.delete_solid(wider, "tank 2") == naked
    assert edits.delete_solid(edits.duplicate_solid(naked, "engine"), "engine 2") == naked
    with pytest.raises(KeyError):
        edits.delete_solid(naked, "no such")


def test_dimensions_change_one_at_a_time(naked: Setup) -> None:
    changed = edits.change_machine(naked, rake=math.radians(26))
    changed = edits.change_bar(changed, False, rise=140.0)
    changed = edits.change_riser(changed, False, height=62.0)
    changed = edits.change_control(changed, "clutch perch", inboard=170.0)
    changed = edits.change_outlet(changed, "clutch perch", "cable", stub=27.0)
    assert changed.stock == naked.stock
    assert kept(changed) == changed


def laid(setup: Setup, line: str) -> np.ndarray:
    """Where the stations of a line are with the new bars."""
    return layout(setup, setup.new)[line].points


@pytest.mark.parametrize("stem", ["naked-standard", "hidden-wires", "touring-hydraulic"])
@pytest.mark.parametrize("hold", [Hold.GUIDE, Hold.CLIP])
@pytest.mark.parametrize("on_bar", [False, True])
def test_every_kind_of_station_can_be_put_in_anywhere(stem: str, hold: Hold, on_bar: bool) -> None:
    setup = scenario.load(next(p for p in scenario.bundled() if p.stem == stem))
    for line in setup.lines:
        for after in range(len(line.stations) - 1):
            added = edits.add_station(setup, line.name, after, hold, on_bar)
            station = added.line(line.name).stations[after + 1]
            assert (station.hold, station.measured) == (hold, How.NOT_MEASURED)
            assert isinstance(station.place, BarPlace if on_bar else PointPlace)
            assert scenario.refusals(added) == []
            assert problems(added) == [], (line.name, after)
    assert kept(added) == added


def test_a_tie_lies_against_the_bar(naked: Setup) -> None:
    added = edits.add_station(naked, "clutch cable", 0, Hold.CLIP, True)
    place = added.line("clutch cable").stations[1].place
    assert isinstance(place, BarPlace)
    shape = bar_shape(naked.machine, naked.new)
    middle = shape.at(place.side, place.distance, place.from_centre)[0]
    off = np.linalg.norm(laid(added, "clutch cable")[1] - middle)
    line = naked.line("clutch cable")
    assert off == pytest.approx(0.5 * (shape.tube_diameter + line.diameter), abs=0.2)


def test_a_clip_grips_the_line_where_it_comes_to_lie(naked: Setup) -> None:
    line = replace(naked.line("clutch cable"), length=1000.0)
    ends = (line.stations[0], line.stations[-1])
    alone = replace(naked, lines=(replace(line, stations=ends),))
    added = edits.add_station(alone, "clutch cable", 0, Hold.CLIP, False)
    assert added.line("clutch cable").stations[1].at_length == pytest.approx(500.0, abs=0.2)
    again = edits.add_station(added, "clutch cable", 1, Hold.CLIP, False)
    assert again.line("clutch cable").stations[2].at_length == pytest.approx(750.0, abs=0.3)


def test_what_holds_a_line_changes_to_and_fro(naked: Setup) -> None:
    line = naked.line("clutch cable")
    at = next(k for k, one in enumerate(line.stations) if one.hold is Hold.GUIDE)
    clip = edits.hold_as(naked, line.name, at, Hold.CLIP)
    station = clip.line(line.name).stations[at]
    assert 0.0 < station.at_length < line.length
    assert problems(clip) == []
    assert edits.hold_as(clip, line.name, at, Hold.GUIDE) == naked
    with pytest.raises(ValueError, match="end of the line"):
        edits.hold_as(naked, line.name, 0, Hold.GUIDE)
    with pytest.raises(ValueError, match="guides and clips"):
        edits.hold_as(naked, line.name, at, Hold.FITTING)


def test_stations_are_put_in_another_order(naked: Setup) -> None:
    line = "clutch cable"
    setup = edits.add_station(naked, line, 0, Hold.CLIP, False)
    setup = edits.add_station(setup, line, 1, Hold.CLIP, False)
    before = setup.line(line).stations
    moved = edits.move_in_order(setup, line, 1, 1)
    after = moved.line(line).stations
    assert [one.name for one in after[1:3]] == [before[2].name, before[1].name]
    assert [one.at_length for one in after] == [one.at_length for one in before]
    assert scenario.refusals(moved) == []
    assert edits.move_in_order(moved, line, 2, -1) == setup
    for index, by in ((1, -1), (len(before) - 2, 1)):
        with pytest.raises(ValueError, match="stay its ends"):
            edits.move_in_order(setup, line, index, by)
    with pytest.raises(ValueError, match="end of the line"):
        edits.move_in_order(setup, line, 0, 1)


def test_an_end_goes_to_the_machine_and_to_a_control_without_moving(naked: Setup) -> None:
    line = "clutch cable"
    off = edits.take_station_off(naked, line, 0, Body.STEERING)
    assert laid(off, line) == pytest.approx(laid(naked, line), abs=0.06)
    was, now = (layout(one, one.new)[line].directions[0] for one in (naked, off))
    assert now == pytest.approx(was, abs=0.01)
    place = naked.line(line).stations[0].place
    assert isinstance(place, OutletPlace)
    back = edits.put_station_at(off, line, 0, place)
    assert back == naked
    last = len(naked.line(line).stations) - 1
    ended = edits.put_station_at(naked, line, last, place)
    assert ended.line(line).stations[last].place == place
    with pytest.raises(ValueError, match="Only an end"):
        edits.put_station_at(naked, line, 1, place)


def test_a_place_along_the_bar_counts_from_either_end_of_it(naked: Setup) -> None:
    setup = edits.add_station(naked, "clutch cable", 0, Hold.GUIDE, True)
    place = setup.line("clutch cable").stations[1].place
    assert isinstance(place, BarPlace)
    other = edits.measure_from(setup, "clutch cable", 1, not place.from_centre)
    assert other.line("clutch cable").stations[1].place != place
    assert laid(other, "clutch cable") == pytest.approx(laid(setup, "clutch cable"))


def test_holes_come_and_go_and_lines_follow_their_names(naked: Setup) -> None:
    line = next(one.name for one in naked.lines if one.kind == "switch_harness")
    with pytest.raises(ValueError, match="no two holes"):
        edits.lead_inside(naked, line)
    setup = edits.add_hole(edits.add_hole(naked, False), False)
    assert scenario.refusals(setup) == []
    first, second = (hole.name for hole in setup.new.bar.holes)
    inside = edits.lead_inside(setup, line)
    assert inside.line(line).through_bar is not None
    renamed = edits.rename_hole(inside, first, "in")
    assert "in" in (renamed.line(line).through_bar.entry, renamed.line(line).through_bar.exit)
    assert scenario.refusals(renamed) == []
    with pytest.raises(ValueError, match="another hole"):
        edits.rename_hole(inside, first, second)
    with pytest.raises(ValueError, match="lead it outside"):
        edits.delete_hole(inside, False, first)
    outside = edits.lead_outside(inside, line)
    gone = edits.delete_hole(edits.delete_hole(outside, False, first), False, second)
    assert gone == naked
    from_centre = edits.hole_from(setup, False, first, True)
    length = bar_shape(naked.machine, naked.new).length
    was, now = setup.new.bar.holes[0], from_centre.new.bar.holes[0]
    assert was.distance + now.distance == pytest.approx(length)


def test_a_line_through_the_bar_stays_at_its_control() -> None:
    setup = scenario.load(next(p for p in scenario.bundled() if p.stem == "hidden-wires"))
    line = next(one.name for one in setup.lines if one.through_bar)
    with pytest.raises(ValueError, match="lead it outside first"):
        edits.take_station_off(setup, line, 0, Body.FRAME)
