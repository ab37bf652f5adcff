"""Everything that was decided done at once: no remedy is lost, none contradicts another unsaid."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from made_orders import bundled, remedies, remedy

from barfit import edits
from barfit.analysis import findings, sweep
from barfit.model import Setup
from barfit.remedies import Means
from barfit.workshop.orders import taken
from barfit.workshop.together import Together, together

NAKED = bundled("naked-standard")


def all_of(setup: Setup, *each: object) -> Together:
    return together(setup, taken(setup, remedies(*each)), ())  # type: ignore[arg-type]


def test_what_is_done_about_each_line_is_done() -> None:
    slid = edits.delete_station(NAKED, "left switch harness", 1)
    one = remedy(NAKED, "left switch harness", Means.REROUTE)
    rolled = edits.change_bar(NAKED, False, roll=0.05)
    other = remedy(NAKED, "clutch cable", Means.ROLL_BAR, by=0.05)
    found = all_of(NAKED, replace(one, setup=slid), replace(other, setup=rolled))
    assert found.setup.line("left switch harness") == slid.line("left switch harness")
    assert found.setup.new == rolled.new
    assert found.clash == ()
    assert found.setup.line("clutch cable") == NAKED.line("clutch cable")


def test_remedies_that_contradict_each_other_are_named_and_the_first_counts() -> None:
    first = replace(
        remedy(NAKED, "clutch cable", Means.ROLL_BAR),
        setup=edits.change_bar(NAKED, False, roll=0.05),
    )
    second = replace(
        remedy(NAKED, "left switch harness", Means.ROLL_BAR),
        setup=edits.change_bar(NAKED, False, roll=-0.05),
    )
    found = all_of(NAKED, first, second)
    assert found.clash == ("left switch harness",)
    assert found.setup.new.bar.roll == 0.05


def test_two_that_move_one_control_differently_contradict_each_other() -> None:
    name = NAKED.controls[0].name
    by_one, by_two = (edits.change_control(NAKED, name, rotation=angle) for angle in (0.1, 0.2))
    first = replace(remedy(NAKED, "clutch cable", Means.TURN_FITTING), setup=by_one)
    second = replace(remedy(NAKED, "left switch harness", Means.TURN_FITTING), setup=by_two)
    same = replace(second, setup=by_one)
    assert all_of(NAKED, first, second).clash == ("left switch harness",)
    assert all_of(NAKED, first, same).clash == ()


def test_with_a_lower_bar_nothing_is_done_yet() -> None:
    lower = remedy(NAKED, "clutch cable", Means.LOWER_BAR, by=40.0)
    assert all_of(NAKED, lower) == Together(NAKED)


def test_what_cannot_be_laid_out_is_told() -> None:
    control = NAKED.controls[0].name
    off = edits.change_control(NAKED, control, inboard=1500.0)
    moved = replace(remedy(NAKED, "clutch cable", Means.MOVE_CONTROL), setup=off)
    assert all_of(NAKED, moved).problems


def test_lines_have_the_length_that_is_bought_the_pair_as_one() -> None:
    names = ("throttle pull cable", "throttle return cable", "left switch harness")
    names = (*names, "brake hose to the splitter")
    setup = replace(NAKED, lines=tuple(NAKED.line(name) for name in names))
    found = findings(sweep(setup, step=math.radians(20.0)))
    decided = taken(
        setup,
        remedies(
            remedy(setup, "throttle pull cable", Means.NEXT_SIZE, 88.0),
            remedy(setup, "left switch harness", Means.EXTENSION, 120.0),
            remedy(setup, "brake hose to the splitter", Means.NEXT_SIZE, 75.0),
        ),
    )
    done = together(setup, decided, found).setup
    for line in done.lines:
        assert line.found_slack is not None  # it still tells of the way the line goes
    grown = {
        line.name: line.length - NAKED.line(line.name).length
        for line in done.lines
        if line != NAKED.line(line.name)
    }
    assert grown == pytest.approx(
        {
            "throttle pull cable": 100.0,
            "throttle return cable": 100.0,
            "left switch harness": 150.0,
            "brake hose to the splitter": 75.0,
        }
    )
