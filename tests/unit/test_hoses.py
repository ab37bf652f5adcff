"""Hydraulic hoses: files, circuits, joints, and the figures of a machine made for it."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache

import pytest
from made_findings import finding

from barfit import scenario
from barfit.analysis import LineFinding, Sweep, Verdict, findings, sweep
from barfit.analysis.clips import Clipped, Slide, SpanRoom
from barfit.analysis.touching import Touch
from barfit.catalogue import line_kinds, scenario_dir
from barfit.model import (
    Body,
    Construction,
    Disc,
    Fluid,
    Hold,
    Hose,
    HoseEnd,
    Line,
    Master,
    PointPlace,
    Setup,
    Station,
)
from barfit.report.remarks import Remark, grave
from barfit.report.trade import remarks
from barfit.report.trade.circuits import circuit_remarks
from barfit.scenario import ScenarioError, dumps, loads
from barfit.scenario.hoses import HoseEndTable, HoseTable, MasterTable
from barfit.scenario.schema import DiscTable
from barfit.trade import Grade, Hydraulics, Trade
from barfit.trade.circuit_figures import CircuitFigures
from barfit.trade.circuits import Circuit, circuits
from barfit.trade.hose_data import hose_data, known
from barfit.trade.hose_order import needs_replacing, order_length
from barfit.trade.hose_path import Spot
from barfit.trade.hoses import INSIDE, HoseFigures, _fork, _held, hydraulics
from barfit.trade.laid import at_length

NAMES = ("hidden-wires", "naked-standard", "tall-bar-cruiser", "touring-hydraulic")
TEXT = (scenario_dir() / "tall-bar-cruiser.toml").read_text(encoding="utf-8")
PAGE = (scenario_dir() / "FORMAT.md").read_text(encoding="utf-8")
STEP = math.radians(12.0)


def bundled(name: str) -> Setup:
    return scenario.load(scenario_dir() / f"{name}.toml")


# --- files ---------------------------------------------------------------------------------------

EVERYTHING = Hose(
    circuit="front brake, left",
    bore=3.4,
    construction=Construction.BRAIDED,
    fluid=Fluid.DOT_5_1,
    clocking=math.radians(-35.0),
    start=HoseEnd(part="splitter", eye_angle=math.radians(20.0), bolt=(0.0, 1.0, 0.5), double=True),
    end=HoseEnd(part="unit", banjo=False, bleeder=True),
)


def test_everything_of_a_hose_comes_back_from_a_file() -> None:
    setup = bundled("tall-bar-cruiser")
    lines = tuple(replace(line, hose=EVERYTHING) if line.hose else line for line in setup.lines)
    disc = Disc(radius=140.0, offset=66.0, thickness=4.5)
    controls = tuple(
        replace(one, master=Master(12.7, 5.5, 1414.5, 25_000.0)) if one.master else one
        for one in setup.controls
    )
    changed = replace(
        setup, lines=lines, controls=controls, machine=replace(setup.machine, disc=disc)
    )
    for source in (setup.source, ""):
        text = dumps(replace(changed, source=source))
        assert loads(text) == changed
        assert dumps(loads(text)) == text
    assert "# mm²: two pistons" in dumps(changed)  # comments survive


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"rubber, low expansion"', '"rubber"', 'hose.construction: "?.?rubber'),
        ("bore = 3.2\nfluid", "bore = 0.32\nfluid", "hose.bore: 0.32 mm is outside 1 mm to 20 mm"),
        ('fluid = "DOT 4"', 'fluid = "DOT 6"', "hose.fluid: 'DOT 6' is not one of"),
        ("eye_angle = 20", "eye_angle = 120", "hose.start.eye_angle: 120° is outside 0° to 90°"),
        ("bleeder = true", "bleder = true", "hose.end: unknown key 'bleder'"),
        ("lever_ratio = 5.5", "lever_ratio = 55", "master.lever_ratio: 55 is outside 1 to 15"),
        (
            "end = { eye_angle = 0,",
            "end = { banjo = false, eye_angle = 5,",
            "hose.end.eye_angle: only a banjo has one",
        ),
        (
            "end = { eye_angle = 0,",
            "end = { banjo = false, eye_angle = 5, part_of = 3,",
            "hose.end.eye_angle: only a banjo has one",
        ),
        ("offset = 68 ", "offset = 680 ", "machine.disc.offset: 680 mm is outside"),
    ],
)
def test_what_is_wrong_with_a_hose_is_told(old: str, new: str, told: str) -> None:
    assert TEXT.count(old) == 1
    with pytest.raises(ScenarioError) as error:
        loads(TEXT.replace(old, new))
    assert re.search(told if "?" in told else re.escape(told), str(error.value))


def test_only_hoses_and_master_cylinders_have_such_a_table() -> None:
    text = TEXT + '\n[lines."clutch cable".hose]\nbore = 3.2\n'
    with pytest.raises(ScenarioError, match="a clutch cable is not a hydraulic hose"):
        loads(text)
    master = '[controls."front brake master cylinder".master]'
    with pytest.raises(ScenarioError, match="a switch housing has no master cylinder"):
        loads(TEXT.replace(master, '[controls."left switches".master]'))


@pytest.mark.parametrize("table", [HoseTable, HoseEndTable, MasterTable, DiscTable])
def test_every_key_is_explained(table: type[HoseTable]) -> None:
    assert not [key for key in table.model_fields if not re.search(rf"`{key}`", PAGE)]


@pytest.mark.parametrize("words", [Construction, Fluid])
def test_every_word_is_listed(words: type[Fluid]) -> None:
    assert not [word for word in words if f"`{word}`" not in PAGE]


def test_what_a_file_leaves_out_is_as_its_kind_has_it_or_not_known() -> None:
    kinds = {name for name, kind in line_kinds().items() if kind.family == "hose"}
    assert kinds == set(hose_data().kinds)
    hose = next(line for line in bundled("tall-bar-cruiser").lines if line.hose)
    bare = known(replace(hose, hose=None))
    assert (bare.circuit, bare.bore) == ("front brake", 3.2)
    assert bare.fluid is None
    # any hose that may be sold swells no more than regular rubber, and what it is likely to do
    # nobody can say
    assert bare.limit == known(replace(hose, hose=Hose(construction=Construction.REGULAR))).limit
    assert all(math.isnan(rate) for rate in bare.likely)


# --- circuits ------------------------------------------------------------------------------------


def circuit(setup: Setup, name: str = "front brake") -> Circuit:
    return next(one for one in circuits(setup) if one.name == name)


def order(found: Circuit) -> list[tuple[str, str, str]]:
    return [(one.line.name, one.first.part, one.second.part) for one in found.sections]


def test_sections_come_in_order_from_the_master_cylinder_whatever_their_order_in_the_file() -> None:
    setup = bundled("touring-hydraulic")
    wanted = [
        ("brake hose to the modulator", "front brake master cylinder", "modulator"),
        ("brake hose to the splitter", "modulator", "splitter"),
        ("left caliper hose", "splitter", "left caliper"),
        ("right caliper hose", "splitter", "right caliper"),
    ]
    assert order(circuit(setup)) == wanted
    backwards = order(circuit(replace(setup, lines=setup.lines[::-1])))
    assert backwards[:2] == wanted[:2]
    assert sorted(backwards[2:]) == wanted[2:]
    assert [one.on_bar for one in circuit(setup).sections] == [True, False, False, False]
    assert [one.name for one in circuits(setup)] == ["front brake", "clutch"]


@pytest.mark.parametrize(
    ("name", "lines", "joints", "washers"),
    [
        # two washers to a banjo; a union at the modulator has none
        ("tall-bar-cruiser", {"front brake hose"}, 2, 4),
        ("naked-standard", {"brake hose to the splitter"}, 2, 4),
        ("touring-hydraulic", {"brake hose to the modulator"}, 2, 2),
        ("touring-hydraulic", {"left caliper hose", "right caliper hose"}, 4, 8),
    ],
)
def test_joints_that_replacing_hoses_opens(
    name: str, lines: set[str], joints: int, washers: int
) -> None:
    opened = circuit(bundled(name)).opened(lines)
    assert len(opened) == joints
    assert sum(joint.washers for joint in opened) == washers


def stacked(setup: Setup) -> Setup:
    """Both caliper hoses on one bolt."""
    return replace(
        setup,
        lines=tuple(
            replace(line, hose=replace(line.hose, start=replace(line.hose.start, double=True)))
            if line.hose and "caliper" in line.name
            else line
            for line in setup.lines
        ),
    )


def test_a_stacked_double_is_one_joint_with_three_washers() -> None:
    found = circuit(stacked(bundled("naked-standard")))
    (one, other) = found.opened({"left caliper hose"})
    assert sorted((one.washers, other.washers)) == [2, 3]
    both = found.opened({"left caliper hose", "right caliper hose"})
    assert sorted(joint.washers for joint in both) == [2, 2, 3]


def test_a_hose_that_nothing_joins_comes_last() -> None:
    setup = bundled("naked-standard")
    lost = next(line for line in setup.lines if line.name == "left caliper hose")
    assert lost.hose is not None
    odd = replace(lost, hose=replace(lost.hose, start=HoseEnd(part="somewhere else")))
    lines = (odd, *(line for line in setup.lines if line is not lost))
    assert order(circuit(replace(setup, lines=lines)))[-1][1] == "somewhere else"


# --- what to order -------------------------------------------------------------------------------


def hose_finding(verdict: Verdict, **changes: object) -> LineFinding:
    plain = {"installed": 1000.0, "needed": 1030.0, "margin": -30.0, "least": 15.0, "target": 25.0}
    return finding(verdict, **{**plain, **changes})


@pytest.mark.parametrize(
    ("verdict", "changes", "goes"),
    [
        (Verdict.SHORT, {}, True),
        (Verdict.MARGINAL, {}, True),
        (Verdict.TOO_LONG, {"margin": 80.0}, True),
        (Verdict.REACHES, {"margin": 5.0}, False),
        (Verdict.BEND_TOO_TIGHT, {"margin": 20.0}, False),  # no length opens that bend
        (Verdict.UNCERTAIN, {"margin": -2.0}, False),  # measure again first
        (Verdict.NOT_KNOWN, {"margin": math.nan}, False),
    ],
)
def test_which_hoses_have_to_go(verdict: Verdict, changes: dict[str, object], goes: bool) -> None:
    assert needs_replacing(hose_finding(verdict, **changes)) is goes


def clipped(*spare: float, cured: bool = False) -> Clipped:
    spans = tuple(SpanRoom(("a", "b"), 300.0, 300.0 - one) for one in spare)
    slides = (Slide("b", 12.0, "c"),) if cured else ()
    return Clipped(spans, slides, 0.0 if cured else max(0.0, -sum(spare)))


def test_a_hose_that_sliding_a_clip_cures_stays_and_its_circuit_stays_shut() -> None:
    assert not needs_replacing(hose_finding(Verdict.SHORT, clipped=clipped(-10, 20, cured=True)))


def test_the_length_to_order_is_the_next_size_with_slack_to_aim_for() -> None:
    hose = next(line for line in bundled("tall-bar-cruiser").lines if line.hose)
    line = replace(hose, length=1000.0)
    # 1030 - 15 + 25 = 1040: two steps of 25 mm
    assert order_length(hose_finding(Verdict.SHORT), line) == 1050.0
    assert order_length(hose_finding(Verdict.SHORT, needed=1015.0), line) == 1025.0
    assert order_length(hose_finding(Verdict.TOO_LONG, needed=900.0), line) == 925.0
    assert math.isnan(order_length(hose_finding(Verdict.SHORT, needed=math.nan), line))


def clip(name: str, at: float) -> Station:
    place = PointPlace(Body.FRAME, (0.0, 0.0, at))
    return Station(name, Hold.CLIP, place, (0.0, 0.0, 1.0), at_length=at)


def test_what_is_added_goes_where_it_lacks_and_clips_move_along() -> None:
    line = Line("hose", "brake_hose", 10.0, 1000.0, (clip("one", 400.0), clip("two", 800.0)))

    def clips(length: float, *spare: float) -> list[float | None]:
        found = hose_finding(Verdict.SHORT, clipped=clipped(*spare))
        return [station.at_length for station in at_length(line, found, length).stations]

    assert clips(1100.0, -60.0, 5.0, -10.0) == [490.0, 890.0]  # 60 + the 30 that are over
    assert clips(1100.0, 10.0, -70.0, 5.0) == [400.0, 900.0]
    assert clips(950.0, 20.0, 90.0, 5.0) == [400.0, 750.0]  # too long: from where there is most


# --- figures -------------------------------------------------------------------------------------


def only_hoses(setup: Setup) -> Setup:
    kinds = line_kinds()
    lines = tuple(line for line in setup.lines if kinds[line.kind].family == "hose")
    return replace(setup, lines=lines)


@cache
def swept() -> tuple[Sweep, Sweep, tuple[LineFinding, ...]]:
    """New bars, stock bars and what was found, of the hoses of one machine."""
    setup = only_hoses(bundled("naked-standard"))
    after = sweep(setup, step=STEP, contact=False)
    return after, sweep(setup, stock=True, step=STEP, contact=False), findings(after)


def figures(setup: Setup) -> Hydraulics:
    """The figures of the same machine with data changed that no line's shape hangs on."""
    after, before, found = swept()
    setup = only_hoses(setup)
    return hydraulics(replace(after, setup=setup), replace(before, setup=setup), found)


@pytest.fixture(scope="module")
def naked() -> Hydraulics:
    return figures(bundled("naked-standard"))


def of(found: Hydraulics, line: str) -> HoseFigures:
    return next(one for one in found.hoses if one.line == line)


def test_the_bars_touch_one_section_and_the_others_stay(naked: Hydraulics) -> None:
    assert [(one.line, one.on_bar, one.replaced) for one in naked.hoses] == [
        ("brake hose to the splitter", True, True),
        ("left caliper hose", False, False),
        ("right caliper hose", False, False),
    ]
    left, right = naked.hoses[1].lie, naked.hoses[2].lie
    assert left.wheel.value == pytest.approx(right.wheel.value, abs=0.3)  # mirror images
    assert left.wheel.turn == pytest.approx(-(right.wheel.turn or 0.0))
    for one in naked.hoses[1:]:
        assert one.joints.value == 0
        assert one.volumes.added is None
        assert one.twists.forced is not None
        assert one.twists.forced.value == pytest.approx(0.0, abs=1e-6)
        assert math.isnan(one.length.stock)  # there is but one


def test_volumes_of_the_replaced_hose_by_hand(naked: Hydraulics) -> None:
    """540 mm less two rigid ends of 32 mm at 0.33 cm³/ft: 476 x 1.0827 = 515 mm³; with 4343 mm³
    of fluid giving 16.6 mm³, over 176.7 mm² of a 15 mm bore times 5.5: 16.6 mm of lever.
    """
    one = of(naked, "brake hose to the splitter")
    assert one.length.value == 540.0
    assert one.volumes.swell.value == pytest.approx(515.4, abs=0.2)
    assert one.volumes.holds.value == pytest.approx(4343.0, abs=1.0)
    assert one.volumes.travel.value == pytest.approx(16.56, abs=0.02)
    # one sample of such a hose took 0.136 / 0.33 of that: 212.4 and 16.6 mm³
    assert one.volumes.likely_travel.value == pytest.approx(7.13, abs=0.02)
    assert one.volumes.added is not None
    assert one.volumes.added.value == pytest.approx(50.0 * (0.4462 + 0.0308) * 0.03112, abs=0.01)
    # 60 N make 1.867 MPa, of the 6.895 of 1000 psi
    (whole,) = naked.circuits
    assert whole.pull_travel.value == pytest.approx(whole.likely_travel.value * 0.2709, rel=1e-3)
    assert whole.fill is not None
    assert whole.fill.value == pytest.approx(30_000.0 + 4343.0, abs=1.0)
    assert whole.pressure.value == pytest.approx(60.0 * 5.5 / 176.71, abs=1e-3)
    assert whole.clamp.value == pytest.approx(2290.0 * 60.0 * 5.5 / 176.71, abs=1.0)
    assert (whole.joints.value, whole.washers.value) == (2, 4)
    assert whole.bleeders == ("left caliper", "right caliper")
    assert whole.lever_travel.value - whole.lever_travel.stock == pytest.approx(
        one.volumes.travel.value - one.volumes.travel.stock
    )


def test_the_new_hose_is_judged_at_its_own_length(naked: Hydraulics) -> None:
    """The old one is drawn taut at every turn; the new one leaves its fittings gently."""
    one = of(naked, "brake hose to the splitter")
    assert one.lie.fitting_bend.grade is Grade.FINE
    assert one.lie.fitting_bend.value < math.radians(12.0)


def said(found: Hydraulics, setup: Setup) -> dict[tuple[str, str], Remark]:
    told = remarks(Trade(hydraulics=found), setup, "mm")
    return {(one.about, one.key): one for one in told}


def test_what_is_said(naked: Hydraulics) -> None:
    told = said(naked, bundled("naked-standard"))
    opened = told["front brake circuit", "circuit_joints"]
    assert opened.grade is Grade.CAUTION
    assert opened.sentence == (
        "Front brake: if 'brake hose to the splitter' is replaced, then whole and never spliced, "
        "'left caliper hose' and 'right caliper hose' stay as they are. 2 joints are then opened, "
        "4 new sealing washers, about 34 cm³ of DOT 4 to refill, and more to bleed."
    )
    assert opened.hint == "Bleed it at 'left caliper' and 'right caliper'."
    assert "competent person" in opened.caution
    new = told["brake hose to the splitter", "hose_joints"]
    assert new.sentence.startswith(
        "If the brake hose to the splitter is replaced, then whole, by one of 540 mm"
    )
    assert "never spliced" in new.caution
    assert ("left caliper hose", "hose_joints") not in told
    assert told["left caliper hose", "hose_length"].term == "Length, stays"
    assert told["front brake circuit", "circuit_fluids"].grade is Grade.FINE


def with_hose(setup: Setup, name: str, **changes: object) -> Setup:
    return replace(
        setup,
        lines=tuple(
            replace(line, hose=replace(line.hose or Hose(), **changes))  # type: ignore[arg-type]
            if line.name == name
            else line
            for line in setup.lines
        ),
    )


def test_fluids_that_do_not_mix_are_not_acceptable() -> None:
    setup = with_hose(bundled("naked-standard"), "left caliper hose", fluid=Fluid.DOT_5)
    found = figures(setup)
    told = said(found, setup)["front brake circuit", "circuit_fluids"]
    assert told.grade is Grade.REJECT
    assert "do not mix" in told.sentence
    glycol = figures(with_hose(setup, "left caliper hose", fluid=Fluid.DOT_5_1))
    assert glycol.circuits[0].kinds.grade is Grade.CAUTION


def test_what_is_not_known_is_not_made_up() -> None:
    setup = bundled("naked-standard")
    bare = replace(
        setup,
        controls=tuple(replace(control, master=None) for control in setup.controls),
        lines=tuple(replace(line, hose=None) for line in setup.lines),
        machine=replace(setup.machine, disc=None),
    )
    found = figures(bare)
    one = of(found, "brake hose to the splitter")
    for judged in (one.volumes.travel, one.volumes.likely_swell, one.twists.clocking):
        assert judged is not None
        assert judged.grade is Grade.NOT_KNOWN
    assert one.lie.disc is None
    assert one.volumes.swell.value == pytest.approx(476.0 * 2.1654, abs=0.2)
    (whole,) = found.circuits
    assert whole.bleeders is None
    assert whole.kinds.grade is whole.pressure.grade is Grade.NOT_KNOWN
    opened = said(found, bare)["front brake circuit", "circuit_joints"]
    assert "the fluid the reservoir names" in opened.sentence
    assert opened.hint == "Where it is bled is not known."


def test_a_kept_hose_clocked_otherwise_is_twisted_by_the_difference() -> None:
    setup = bundled("naked-standard")
    plain = of(figures(setup), "left caliper hose").twists.clocking
    assert plain is not None
    off = plain.value + math.radians(16.0)
    found = of(figures(with_hose(setup, "left caliper hose", clocking=off)), "left caliper hose")
    assert found.twists.forced is not None
    assert found.twists.forced.value == pytest.approx(math.radians(16.0) * 300.0 / 483.0)
    assert found.twists.forced.grade is Grade.CAUTION


def test_a_hose_in_the_wheel_is_not_acceptable_and_with_either_bars_the_file_is_doubted() -> None:
    setup = bundled("naked-standard")
    wide = replace(setup, machine=replace(setup.machine, wheel_width=160.0))
    found = figures(wide)
    one = of(found, "left caliper hose").lie.wheel
    assert one.value < -1.0
    assert one.stock < -1.0
    assert one.grade is Grade.REJECT
    told = said(found, wide)["left caliper hose", "hose_wheel_gap"]
    assert "runs into the wheel" in told.sentence
    assert "check its places in the file" in told.hint


@pytest.mark.parametrize(
    ("value", "stock", "grade"),
    [
        (-26.0, -26.0, Grade.REJECT),
        (-26.0, 30.0, Grade.REJECT),
        (-0.2, -0.2, Grade.CAUTION),  # as near as shapes are known: it touches
        (4.0, 4.0, Grade.NOTE),
        (4.0, 30.0, Grade.CAUTION),
        (16.0, 30.0, Grade.FINE),
        (math.nan, 30.0, Grade.NOT_KNOWN),
    ],
)
def test_a_gap_to_what_spins(value: float, stock: float, grade: Grade) -> None:
    found = _held(Spot(value, 0.1, 0.0), 15.0, stock, "mm", least=True, hits=INSIDE)
    assert found.grade is grade
    assert math.isnan(found.limit) is (grade is Grade.NOTE)  # no number beyond a limit without word


def test_what_is_let_pass_as_it_was_says_so(naked: Hydraulics) -> None:
    told = said(naked, bundled("naked-standard"))["left caliper hose", "hose_twist"]
    assert told.value_text("mm") == told.stock_text("mm") == "35°"
    assert told.term == "Twist over 300 mm, no worse than stock"
    assert told.limit_text("mm") == ""


def fluids(*kinds: Fluid) -> tuple[Remark, Remark]:
    """What is said of a front brake with these fluids: of the kinds and of the refill."""
    setup = bundled("naked-standard")
    for number, line in enumerate(only_hoses(setup).lines):
        setup = with_hose(setup, line.name, fluid=kinds[number % len(kinds)])
    told = said(figures(setup), setup)
    return told["front brake circuit", "circuit_fluids"], told[
        "front brake circuit", "circuit_joints"
    ]


def test_a_circuit_is_refilled_with_a_fluid_that_is_in_no_doubt() -> None:
    assert "cm³ of DOT 4 to refill" in fluids(Fluid.DOT_4)[1].sentence
    for mixed in ((Fluid.DOT_4, Fluid.DOT_5), (Fluid.DOT_3, Fluid.DOT_4)):
        assert "cm³ of the fluid the reservoir names to refill" in fluids(*mixed)[1].sentence


def test_mineral_oil_in_a_front_brake_is_asked_after() -> None:
    kinds, refill = fluids(Fluid.MINERAL)
    assert kinds.grade is Grade.CAUTION
    assert "most front brakes take a glycol fluid" in kinds.sentence
    assert "mineral" not in refill.sentence
    assert fluids(Fluid.DOT_5)[0].grade is Grade.FINE


def travels(setup: Setup) -> tuple[Remark, Remark]:
    """Lever travel with a firm pull and at 1000 psi."""
    told = said(figures(setup), setup)
    return tuple(  # type: ignore[return-value]
        told["front brake circuit", f"circuit_{key}_travel"] for key in ("pull", "likely")
    )


def test_a_lever_that_would_meet_the_grip_is_a_caution_said_once() -> None:
    setup = bundled("naked-standard")
    assert [one.grade for one in travels(setup)] == [Grade.FINE, Grade.FINE]

    def with_bore(bore: float) -> Setup:
        return replace(
            setup,
            controls=tuple(
                replace(one, master=replace(one.master, bore=bore)) if one.master else one
                for one in setup.controls
            ),
        )

    pull, full = travels(with_bore(6.0))
    assert [one.grade for one in (pull, full)] == [Grade.CAUTION, Grade.CAUTION]
    assert "a lever has 50 mm to the grip" in pull.sentence
    assert full.sentence == ""
    pull, full = travels(with_bore(7.5))  # with that one 55 N make 1000 psi
    assert pull.judged.value > full.judged.value
    tighter = replace(with_bore(11.0), limits=(*setup.limits, ("lever_to_grip", 20.0)))
    pull, full = travels(tighter)
    assert [one.grade for one in (pull, full)] == [Grade.FINE, Grade.CAUTION]
    assert "at 1000 psi, and a lever has 20 mm" in full.sentence


def test_a_hose_outside_the_table_leaves_the_lever_travel_not_known_and_says_so() -> None:
    setup = with_hose(bundled("naked-standard"), "brake hose to the splitter", bore=6.0)
    full = travels(setup)[1]
    assert full.grade is Grade.NOT_KNOWN
    assert "how far its lever is likely to travel is not known" in full.sentence
    assert "'brake hose to the splitter'" in full.hint
    added = said(figures(setup), setup)["brake hose to the splitter", "hose_lever_travel"]
    assert added.grade is Grade.NOT_KNOWN
    assert "is not known" in added.sentence


def test_the_limit_of_the_travel_added_is_told_to_a_tenth() -> None:
    setup = bundled("naked-standard")
    strict = replace(setup, limits=(*setup.limits, ("hose_lever_travel", 0.5)))
    told = said(figures(strict), strict)["brake hose to the splitter", "hose_lever_travel"]
    assert "more than 0.5 mm is felt" in told.sentence


def test_a_hose_to_order_is_in_the_short_report(naked: Hydraulics) -> None:
    short = grave(remarks(Trade(hydraulics=naked), bundled("naked-standard"), "mm"))
    (new,) = [one for one in short if one.act]
    assert new.words().startswith(
        "If the brake hose to the splitter is replaced, then whole, by one of 540 mm."
    )
    assert "never crimped at home" in new.words()


def test_a_hose_so_near_the_fork_is_explained(naked: Hydraulics) -> None:
    setup = bundled("naked-standard")
    one = of(naked, "left caliper hose")
    told = said(naked, setup)["left caliper hose", "hose_fork_gap"]
    assert "beside the fork leg that it runs along" in told.sentence

    def touching(force: float, sliding: float) -> Remark:
        touch = Touch("left leg", Body.LOWER_FORK, (), force, 0.2, 0.0, 50.0, "", (0,) * 3, sliding)
        lie = replace(one.lie, touches=touch, fork=_fork(Spot(-0.1, 0.2, 0.0), 1.0, touch))
        changed = Hydraulics((replace(one, lie=lie),))
        return said(changed, setup)["left caliper hose", "hose_fork_gap"]

    lies, rubs = touching(0.5, 3.0), touching(5.0, 30.0)
    assert (lies.grade, rubs.grade) == (Grade.NOTE, Grade.CAUTION)
    assert "touches the left leg" in lies.sentence
    assert "rubs on the left leg" in rubs.sentence


def test_a_circuit_of_one_hose_does_not_repeat_its_rows(naked: Hydraulics) -> None:
    sums = {
        "circuit_length",
        "circuit_on_bar",
        "circuit_washers",
        "circuit_travel",
        "circuit_swell_1000",
    }

    def keys(whole: CircuitFigures) -> set[str]:
        return {one.key for one in circuit_remarks(whole, "mm")}

    (whole,) = naked.circuits
    assert sums <= keys(whole)
    single = replace(whole, sections=whole.sections[:1])
    assert keys(whole) - keys(single) == sums


@pytest.mark.parametrize("name", NAMES)
def test_the_bundled_machines_are_sound_with_their_stock_bars(name: str) -> None:
    setup = only_hoses(bundled(name))
    stock = sweep(setup, stock=True, step=STEP, contact=False)
    fits = tuple(finding(Verdict.REACHES, line=line.name) for line in setup.lines)
    found = hydraulics(stock, stock, fits)
    told = remarks(Trade(hydraulics=found), setup, "mm")
    assert not [one.sentence for one in told if one.grade in (Grade.CAUTION, Grade.REJECT)]
    for one in found.hoses:
        assert one.lie.wheel.grade is Grade.FINE
        assert one.lie.disc is not None
        assert one.lie.disc.grade is Grade.FINE
        assert all(eye.off is None or eye.off.grade is Grade.FINE for eye in one.twists.eyes)
