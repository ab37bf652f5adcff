"""Other ways for a line to go and other bars to fit: kept in the file, swapped without loss."""

from __future__ import annotations

import pytest

from barfit import edits, scenario
from barfit.analysis import problems
from barfit.model import Setup
from barfit.scenario import ScenarioError, dumps, loads

CLUTCH = "clutch cable"


@pytest.fixture(scope="module")
def naked() -> Setup:
    return scenario.load(next(p for p in scenario.bundled() if p.stem == "naked-standard"))


@pytest.fixture(scope="module")
def two_ways(naked: Setup) -> Setup:
    """The naked machine with a second way for its clutch cable, one guide fewer."""
    return edits.delete_station(edits.add_routing(naked, CLUTCH, "without the hanger"), CLUTCH, 3)


def kept(setup: Setup) -> Setup:
    return loads(dumps(setup), folder=setup.folder)


def test_a_second_way_starts_as_the_first_and_leaves_that_alone(
    naked: Setup, two_ways: Setup
) -> None:
    first, now = naked.line(CLUTCH), two_ways.line(CLUTCH)
    assert edits.routing_names(now) == ("without the hanger", "as it goes now")
    assert len(now.stations) == len(first.stations) - 1
    assert now.found_slack is None  # that was found where the cable went then
    back = edits.use_routing(two_ways, CLUTCH, "as it goes now")
    assert back.line(CLUTCH).stations == first.stations
    assert back.line(CLUTCH).found_slack == first.found_slack
    assert edits.use_routing(back, CLUTCH, "without the hanger") == two_ways
    assert edits.keep_routing(two_ways, CLUTCH, "as it goes now") == naked
    assert not problems(two_ways)


def test_ways_to_go_survive_saving(two_ways: Setup) -> None:
    longer = edits.change_line(two_ways, CLUTCH, length=1100.0)
    for setup in (two_ways, longer, edits.use_routing(longer, CLUTCH, "as it goes now")):
        assert kept(setup) == setup
    assert "# Crosses to the right in front of the head tube." in dumps(two_ways)


def test_names_of_ways_are_used_once_and_the_one_in_use_stays(two_ways: Setup) -> None:
    for taken in ("as it goes now", "without the hanger", " "):
        with pytest.raises(ValueError, match="name"):
            edits.add_routing(two_ways, CLUTCH, taken)
    with pytest.raises(ValueError, match="take another way"):
        edits.delete_routing(two_ways, CLUTCH, "without the hanger")
    only = edits.delete_routing(two_ways, CLUTCH, "as it goes now")
    assert edits.routing_names(only.line(CLUTCH)) == ()
    renamed = edits.rename_routing(two_ways, CLUTCH, "as it goes now", "by the hanger")
    assert edits.routing_names(renamed.line(CLUTCH))[1] == "by the hanger"


def test_a_way_put_aside_follows_a_renamed_control(two_ways: Setup) -> None:
    changed = edits.rename_control(two_ways, "clutch perch", "left perch")
    assert not problems(edits.use_routing(changed, CLUTCH, "as it goes now"))
    with pytest.raises(ValueError, match=CLUTCH):
        edits.delete_control(changed, "left perch")


def test_other_bars_are_swapped_with_the_new_ones(naked: Setup) -> None:
    three = edits.add_bars(edits.add_bars(naked, "taller still"), "flat")
    three = edits.change_bar(three, False, rise=40.0)
    first = "taller, pulled back on 15 mm taller riser"
    assert edits.bars_names(three) == ("flat", first, "taller still")
    assert kept(three) == three
    back = edits.use_other_bars(three, first)
    assert back.new.bar == naked.new.bar
    assert kept(back) == back
    assert edits.use_other_bars(back, "flat") == three
    with pytest.raises(ValueError, match="take others"):
        edits.delete_bars(three, "flat")
    with pytest.raises(ValueError, match="used once"):
        edits.add_bars(three, "flat")
    assert len(edits.delete_bars(three, "taller still").other_bars) == 1
    renamed = edits.rename_bars(three, "taller still", "tallest")
    assert kept(renamed) == renamed


def test_a_file_with_ways_that_cannot_be_told_apart_is_refused(two_ways: Setup) -> None:
    text = dumps(two_ways)
    with pytest.raises(ScenarioError, match="is the name of the way the line goes now"):
        loads(text.replace('"as it goes now"', '"without the hanger"'))
    with pytest.raises(ScenarioError, match="'routing' is missing"):
        loads(text.replace('routing = "without the hanger"\n', ""))
