"""Wires inside the tall bar: how long they must be there, and that this length will do."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from barfit import scenario
from barfit.analysis import LineFinding, Sweep, Verdict, findings, sweep
from barfit.catalogue import scenario_dir
from barfit.geometry.pose import layout
from barfit.model import EXACT, Bar, Setup
from barfit.report.remarks import Topic, grave
from barfit.report.trade import remarks
from barfit.trade import Grade, trade

Judged = tuple[Sweep, dict[str, LineFinding]]


def judged(setup: Setup) -> Judged:
    swept = sweep(setup, step=math.radians(5.0))
    return swept, {found.line: found for found in findings(swept)}


@pytest.fixture(scope="module")
def wires() -> Setup:
    """The wires that are led inside, alone, every number of theirs taken as exact."""
    setup = scenario.load(scenario_dir() / "hidden-wires.toml")
    lines = tuple(replace(line, found_slack=None) for line in setup.lines if line.through_bar)
    return replace(setup, lines=lines, uncertainty=EXACT)


@pytest.fixture(scope="module")
def inside(wires: Setup) -> Judged:
    return judged(wires)


def test_left_and_right_are_alike(inside: Judged) -> None:
    swept, found = inside
    for name in ("switch harness", "heated-grip lead"):
        left, right = (swept.line(f"{side} {name}") for side in ("left", "right"))
        assert left.slack == pytest.approx(right.slack[:, ::-1], abs=0.02)
        mirrored = right.shapes[:, ::-1] * [1.0, -1.0, 1.0]
        settled = left.slack > 0.0
        assert left.shapes[settled] == pytest.approx(mirrored[settled], abs=0.1)
        assert found[left.name].needed == pytest.approx(found[right.name].needed, abs=0.02)


def test_wires_of_the_length_that_is_asked_for_reach(wires: Setup, inside: Judged) -> None:
    _, found = inside
    made = tuple(replace(line, length=found[line.name].needed + 3.0) for line in wires.lines)
    swept, longer = judged(replace(wires, lines=made))
    assert {one.verdict for one in longer.values()} == {Verdict.REACHES}
    for line in swept.lines:
        assert longer[line.name].margin == pytest.approx(3.0, abs=1.0)
        # what lies inside the bar does not move: nothing of it is ever tight, nothing hangs there
        assert line.spans[0].case.layout.inside is not None
        assert line.converged.all()


def test_the_way_inside_is_the_longer_one(wires: Setup, inside: Judged) -> None:
    assert isinstance(wires.new.bar, Bar)
    _, found = inside
    bar = replace(wires.new.bar, holes=())
    _, outside = judged(replace(wires, new=replace(wires.new, bar=bar)))
    for name, one in found.items():
        places = layout(wires, wires.new)[name].inside
        assert places is not None
        more = one.needed - outside[name].needed
        assert 0.0 < more < 60.0
        assert places.length > places.outside


def test_all_but_the_large_plugs_go_through(wires: Setup, inside: Judged) -> None:
    swept, found = inside
    every = remarks(trade(swept, swept, tuple(found.values())), wires, "mm")
    said = [one for one in every if one.topic is Topic.THROUGH_BAR]
    assert [(one.about, one.key) for one in grave(said)] == [
        ("left switch harness", "bore_connectors"),
        ("right switch harness", "bore_connectors"),
    ]
    fills = {one.about: one for one in said if one.key.startswith("bore_fill")}
    for name in ("left switch harness", "left heated-grip lead"):
        assert fills[name].key == "bore_fill_two"
        assert fills[name].grade is Grade.FINE
        # 9 and 4.5 mm in the hand straight's bore: 25.4 mm less two walls of 2.3 mm
        assert fills[name].judged.value == pytest.approx((9.0**2 + 4.5**2) / 20.8**2)
