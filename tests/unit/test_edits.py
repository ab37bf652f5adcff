"""Edits give setups that can be saved, keep names unique, and leave everything else as it was."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from barfit import edits, scenario
from barfit.analysis import problems
from barfit.geometry.pose import bar_shape, layout
from barfit.model import BarPlace, Body, Capsule, Hold, OutletPlace, PointPlace, Role, Setup, Solid
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
