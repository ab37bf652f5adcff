"""Harnesses and leads of whole machines: what they lack, where they may be joined, in words."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from barfit import scenario
from barfit.analysis import LineFinding, Sweep, findings, sweep
from barfit.catalogue import limit
from barfit.model import EXACT, Setup
from barfit.report.remarks import Remark
from barfit.report.trade import remarks
from barfit.report.trade.through import BARE_EDGE, DEBURR
from barfit.report.trade.wires import SPLICE_RULES, wire_remarks
from barfit.trade import trade
from barfit.trade.flex import line_flex
from barfit.trade.judged import Grade
from barfit.trade.lengthened import growths, lengthened
from barfit.trade.splices import NoPlan, flexing
from barfit.trade.wires import WireFigures, wires

CROSSING = ("tall-bar-cruiser", "naked-standard", "hidden-wires")  # plugs on the frame
STEERED = ("old-twin", "touring-hydraulic")  # plugs that turn with the bar
STEP = math.radians(5.0)


@cache
def looked_at(name: str) -> tuple[Sweep, tuple[LineFinding, ...], dict[str, WireFigures]]:
    path = next(path for path in scenario.bundled() if path.stem == name)
    setup = scenario.load(path)
    mine = tuple(replace(line, found_slack=None) for line in setup.lines if line.wires is not None)
    setup = replace(setup, lines=mine, uncertainty=EXACT)
    swept = sweep(setup, step=STEP)
    found = findings(swept)
    figures = wires(swept, sweep(setup, stock=True, step=STEP), found)
    return swept, found, {one.line: one for one in figures}


def figures_of(name: str) -> dict[str, WireFigures]:
    return looked_at(name)[2]


def remark(figures: WireFigures, key: str) -> Remark:
    return next(one for one in wire_remarks(figures, "mm") if one.key == key)


@pytest.mark.parametrize("name", CROSSING + STEERED)
def test_a_line_grown_by_its_extension_has_the_slack_to_aim_for(name: str) -> None:
    swept, found, figures = looked_at(name)
    by = {one.line: growths(one, swept.setup.line(one.line)) for one in found}
    longer = lengthened(swept, {line: by[line] for line in figures})
    assert longer is not None
    for finding in found:
        grown = figures[finding.line].extension.value
        assert grown == sum(by[finding.line]) > 0.0
        slack = float(np.nanmin(longer.line(finding.line).slack))
        # at least what it should keep, or what opens its bends; in whole mm
        assert slack > finding.target - 0.5
        if "heated" not in finding.line:  # which lie taut in more ways than one
            expected = finding.installed + grown - finding.taut_length
            assert slack == pytest.approx(expected, abs=1.5)


@pytest.mark.parametrize("name", STEERED)
def test_lines_that_turn_with_the_bar_hardly_flex_and_can_be_joined(name: str) -> None:
    for figures in figures_of(name).values():
        assert figures.flex.change < 1e-3
        assert figures.flex.strand.grade is Grade.FINE
        assert figures.plan is not None
        assert figures.plan.needed == 2 * figures.wires


@pytest.mark.parametrize("name", CROSSING)
def test_lines_to_the_frame_flex_near_the_head_tube_and_are_joined_nowhere_near(name: str) -> None:
    swept, found, every = looked_at(name)
    by = {one.line: growths(one, swept.setup.line(one.line)) for one in found if one.line in every}
    longer = lengthened(swept, by)
    assert longer is not None
    for line, figures in every.items():
        assert figures.flex.change > 0.01
        flex = line_flex(longer, longer.line(line))
        plan = figures.plan
        assert plan is not None
        if plan.why is not None:
            assert plan.why is not NoPlan.NOT_KNOWN
            assert figures.joint_room is not None
            assert figures.joint_room.grade is Grade.CAUTION
            continue
        moving = flexing(flex.arc, flex.change, 0.008)
        assert moving
        for at in plan.places:
            assert all(at < a - 60.0 or at > b + 60.0 for a, b in moving)


def test_left_and_right_of_a_symmetric_machine_get_the_same_plan() -> None:
    setup = looked_at("naked-standard")[0].setup
    left, right = setup.lines
    assert left.wires is not None
    # two wires, which find room there even with the head tube near
    few = replace(left.wires, circuits=(replace(left.wires.circuits[0], count=2),))
    lines = (replace(left, wires=few), replace(right, wires=few))
    setup = replace(setup, lines=lines, limits=(("splice_clear", 30.0),))
    swept = sweep(setup, step=STEP)
    plans = [one.plan for one in wires(swept, swept, findings(swept))]
    assert plans[0] is not None
    assert plans[1] is not None
    assert plans[0].splices
    assert plans[0].places == plans[1].places
    assert plans[0].together == plans[1].together


def test_no_joint_hides_inside_the_bar() -> None:
    swept, _, every = looked_at("hidden-wires")
    for line, figures in every.items():
        inside = swept.line(line).spans[0].case.start_at
        assert inside > 300.0
        plan = figures.plan
        assert plan is not None
        assert all(at > inside for at in plan.places)


def test_a_ride_by_wire_lead_is_spliced_last() -> None:
    lead = figures_of("touring-hydraulic")["ride-by-wire lead"]
    assert lead.sensor
    grows = remark(lead, "wire_extension")
    assert grows.grade is Grade.CAUTION
    assert math.isnan(lead.plug_in)  # so that what can be done refuses one too
    assert grows.hint.startswith(
        "No plug-in extension with 6 poles usually sold suits: replace it whole by "
        "one made up longer"
    )
    assert "last resort" in grows.caution
    spliced = remark(lead, "splice_strain")
    assert "neither be plugged nor replaced whole" in grows.caution
    assert spliced.sentence.startswith("As the last resort only, where it can neither be plugged")
    assert "Carry the screen across" in remark(lead, "splice_strain").caution


def test_a_plug_too_large_for_its_hole_goes_without_its_housing() -> None:
    left = figures_of("old-twin")["left switch harness"]
    plug = remark(left, "plug_hole")
    assert plug.grade is Grade.CAUTION
    assert plug.judged.value == pytest.approx(math.hypot(28.0, 17.0))
    assert "Its wires do, one after the other" in plug.hint


def test_the_voltage_lost_names_the_gauge_that_cures_it() -> None:
    left = figures_of("tall-bar-cruiser")["left switch harness"]
    worst = left.worst_drop
    assert worst is not None
    # by hand: out and back, 3.8 A, 0.35 mm² of 54.4 mΩ/m (ISO 6722), 645 mm and what it grows by
    grown = 645.0 + left.extension.value
    assert worst.drop.value == pytest.approx(2.0 * grown * 3.8 * 54.4e-6)
    assert worst.drop.grade is Grade.CAUTION
    assert worst.cure == "0.75 mm²"
    hint = remark(left, "voltage_drop_lamp_feed").hint
    assert "made for 0.35 mm² and 0.75 mm²" in hint
    assert "Same gauge or thicker" in SPLICE_RULES


def test_the_words_of_a_plan_say_where_and_how_long() -> None:
    figures = figures_of("tall-bar-cruiser")["left heated-grip lead"]
    plan = figures.plan
    assert plan is not None
    said = remark(figures, "splice_strain").sentence
    for at in plan.places:
        assert f"{at:.0f}" in said
    assert "'tie on the bar, above'" in said
    assert f"all but {plan.extension:.0f} mm" in said


def test_an_extension_that_may_be_too_long_is_not_simply_allowed() -> None:
    lead = figures_of("tall-bar-cruiser")["left heated-grip lead"]
    unsure = replace(lead, plug_in=100.0, unproven=855.0)
    sold = "A plug-in extension of 100 mm with 2 poles is that"
    said = remark(unsure, "wire_extension").hint
    assert said.startswith(f"{sold} if 855 mm is not too long, which is not known;")
    sure = replace(unsure, unproven=math.nan)
    assert remark(sure, "wire_extension").hint.startswith(f"{sold};")


def test_an_extension_is_unproven_where_the_longest_length_is_not_known() -> None:
    swept, found, every = looked_at("tall-bar-cruiser")
    assert all(math.isnan(one.unproven) for one in every.values())
    unknown = tuple(
        replace(one, window=replace(one.window, longest=math.nan)) if one.window else one
        for one in found
    )
    for one in wires(swept, swept, unknown):
        expected = swept.setup.line(one.line).length + one.plug_in
        assert one.unproven == pytest.approx(expected, nan_ok=True)


def test_no_joint_inside_the_bar_is_told_so() -> None:
    lines = figures_of("hidden-wires").values()
    assert all(one.hidden > 300.0 for one in lines)
    never = [one for one in lines if one.joint_room is not None]
    assert never
    for one in never:
        said = remark(one, "splice_room").sentence
        assert said.startswith("No joints inside the bar, and outside it ")


def test_workmanship_is_told_once() -> None:
    swept, found, _ = looked_at("hidden-wires")
    figures = trade(swept, sweep(swept.setup, stock=True, step=STEP), found)
    said = remarks(figures, swept.setup, "mm")
    for text in (SPLICE_RULES, DEBURR, BARE_EDGE):
        assert sum(text in one.words() for one in said) <= 1
    assert sum(DEBURR in one.words() for one in said) == 1
    assert len([one for one in said if one.key == "hole_grommet"]) > 1


def test_no_words_speak_of_nan() -> None:
    for name in CROSSING + STEERED:
        for figures in figures_of(name).values():
            for unit in ("mm", "in"):
                told = [r.words() + r.value_text(unit) for r in wire_remarks(figures, unit)]
                assert not [text for text in told if "nan" in text or "–" in text]


def test_what_a_harness_does_not_say_is_not_known(cruiser: Setup) -> None:
    swept = sweep(cruiser, step=math.radians(10.0), contact=False)
    every = {one.line: one for one in wires(swept, swept, findings(swept))}
    harness, lead = every["left switch harness"], every["left heated-grip lead"]
    assert harness.plan is None
    assert harness.sleeve is None
    assert harness.extension.value > 0.0
    assert [(one.key, one.grade) for one in wire_remarks(harness, "mm")] == [
        ("wire_extension", Grade.NOTE),
        ("wire_bundle", Grade.NOT_KNOWN),
    ]
    assert lead.assumed
    assert "usual for its kind: 2 of 0.75 mm²" in remark(lead, "wire_bundle").sentence
    assert limit(cruiser, "splice_clear") == 70.0
