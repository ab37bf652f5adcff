"""Wires inside the bar: fill, bends, holes and connectors, from the file to the words."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from barfit import edits
from barfit.catalogue import limits, scenario_dir
from barfit.model import Bar, BarSet, Connector, Hole, Setup, Side, ThroughBar
from barfit.report.doubts import all_doubts
from barfit.report.remarks import Remark
from barfit.report.trade.through import through_remarks
from barfit.scenario import ScenarioError, dumps, load, loads
from barfit.trade import Grade
from barfit.trade.through import (
    ThroughBarFigures,
    bundle_diameter,
    passes,
    passes_bend,
    through_bar,
)

PATH = scenario_dir() / "hidden-wires.toml"
TEXT = PATH.read_text(encoding="utf-8")
HIDDEN = load(PATH)


def hole(name: str, side: Side, from_centre: float, diameter: float = 12.0) -> Hole:
    return Hole(name, side, from_centre, True, math.radians(-90.0), diameter)


def straight(*holes: Hole, wall: float | None = 2.0, tube: float = 24.0) -> Bar:
    """A bar of 800 mm without a bend."""
    return Bar(
        name="straight",
        width=800.0,
        rise=0.0,
        pullback=0.0,
        centre_width=240.0,
        tube_diameter=tube,
        grip_diameter=tube,
        bend_radius=80.0,
        hand_straight=280.0,
        grip_length=120.0,
        sweep=0.0,
        downsweep=0.0,
        wall=wall,
        holes=holes,
    )


def led(
    bar: Bar, ways: dict[str, tuple[str, str]], diameter: float = 9.0, **more: object
) -> ThroughBarFigures:
    """The figures of these lines, by name, led through a bar of the cruiser between these holes."""
    lines = tuple(
        replace(
            HIDDEN.line(name),
            diameter=diameter,
            through_bar=ThroughBar(*ends, **more),  # type: ignore[arg-type]
        )
        for name, ends in ways.items()
    )
    return through_bar(replace(HIDDEN, new=BarSet(bar, HIDDEN.new.riser), lines=lines), stock=False)


LEFT, RIGHT = "left switch harness", "right switch harness"
HEAT = "left heated-grip lead"
IN, OUT = hole("in", Side.LEFT, 210.0), hole("out", Side.LEFT, 100.0)


def test_the_limits_are_the_published_ones() -> None:
    # NFPA 70 (National Electrical Code), chapter 9, table 1: 1 conductor 53 %, 2 31 %, over 2 40 %
    found = [limits()[f"bore_fill_{count}"].value for count in ("one", "two", "more")]
    assert found == [0.53, 0.31, 0.40]


@pytest.mark.parametrize(
    ("count", "diameter", "share", "grade"),
    [
        (1, 10.0, 0.25, Grade.FINE),
        (1, 14.5, 0.525625, Grade.FINE),
        (1, 14.6, 0.532900, Grade.CAUTION),
        (2, 7.8, 0.304200, Grade.FINE),
        (2, 8.0, 0.320000, Grade.CAUTION),
        (3, 7.2, 0.388800, Grade.FINE),
        (3, 7.4, 0.410700, Grade.CAUTION),
        (2, 10.2, 0.520200, Grade.REJECT),  # 20.4 mm side by side in a bore of 20 mm
    ],
)
def test_lines_in_one_bore_add_up(count: int, diameter: float, share: float, grade: Grade) -> None:
    ways = dict.fromkeys([LEFT, HEAT, "right heated-grip lead"][:count], ("in", "out"))
    for line in led(straight(IN, OUT), ways, diameter).lines:
        assert line.fill.value == pytest.approx(share)
        assert line.fill.grade is grade
        assert line.sharing == tuple(ways)


def test_only_lines_that_share_a_stretch_add_up() -> None:
    bar = straight(IN, OUT, hole("other", Side.RIGHT, 210.0), hole("far", Side.LEFT, 150.0))
    apart = led(bar, {LEFT: ("in", "far"), RIGHT: ("other", "out")})
    assert [line.sharing for line in apart.lines] == [(LEFT,), (RIGHT,)]
    both = led(bar, {LEFT: ("in", "out"), RIGHT: ("other", "far")})
    assert [line.sharing for line in both.lines] == [(LEFT, RIGHT), (LEFT, RIGHT)]


def test_a_thinner_grip_has_less_bore_and_an_unknown_wall_is_not_known() -> None:
    near = hole("in", Side.LEFT, 300.0)
    thin = replace(straight(near, OUT), grip_diameter=22.0)
    # the hand straight begins 120 mm from the centre
    assert led(thin, {LEFT: ("in", "out")}).lines[0].fill.value == pytest.approx((9.0 / 18.0) ** 2)
    (unknown,) = led(straight(IN, OUT, wall=None), {LEFT: ("in", "out")}).lines
    assert unknown.fill.grade is Grade.NOT_KNOWN
    assert unknown.come_off.grade is Grade.NOT_KNOWN
    assert unknown.turn.grade is Grade.FINE  # the tube's outside says enough


def test_how_wide_lines_are_together() -> None:
    assert bundle_diameter([9.0]) == 9.0
    assert bundle_diameter([9.0, 4.5]) == 13.5
    # seven equal wires are 3 d wide by geometry; 1.2 d sqrt(7) = 3.17 d (common practice)
    assert bundle_diameter([2.0] * 7) == pytest.approx(3.175 * 2.0, rel=1e-3)


def test_a_plug_passes_a_round_hole_by_its_diagonal_and_an_oval_one_lengthwise() -> None:
    plug = Connector("plug", 9.0, 12.0)  # 15 mm from corner to corner
    assert passes(plug, 15.01, 15.01)
    assert not passes(plug, 14.99, 14.99)
    # in an oval 13 mm wide a corner is sqrt(6.5² - 4.5²) = 4.69 mm beyond the half circle's centre
    assert passes(plug, 13.0, 13.0 + 2.0 * (6.0 - 4.690))
    assert not passes(plug, 13.0, 13.0 + 2.0 * (6.0 - 4.692))


def test_a_long_plug_does_not_pass_a_bend() -> None:
    # 5 mm thick in a bore of 20 mm bent to 80 mm: 90² = 75² + (length / 2)²
    limit = 2.0 * math.sqrt(90.0**2 - 75.0**2)
    assert passes_bend(Connector("plug", 3.0, 4.0, limit - 0.01), 20.0, 80.0)
    assert not passes_bend(Connector("plug", 3.0, 4.0, limit + 0.01), 20.0, 80.0)
    assert not passes_bend(Connector("plug", 16.0, 13.0), 20.0, 80.0)


def test_what_does_not_pass_must_come_off() -> None:
    plugs = Connector("big", 25.0, 16.0, 30.0), Connector("small", 5.0, 6.0, 20.0)
    (line,) = led(straight(IN, OUT), {LEFT: ("in", "out")}, connectors=plugs).lines
    assert [(one.connector.name, one.opening) for one in line.blocked] == [("big", "the hole 'in'")]
    assert line.come_off.value == 1.0
    assert line.come_off.grade is Grade.CAUTION


def said(figures: ThroughBarFigures) -> dict[tuple[str, str], Remark]:
    return {(remark.about, remark.key): remark for remark in through_remarks(figures, "mm")}


@pytest.mark.parametrize(
    ("from_centre", "grade", "words"),
    [
        # clamps 38 mm wide, their middles 89 mm apart: 25.5 to 63.5 mm from the centre
        (90.0, Grade.FINE, ""),
        (78.0, Grade.CAUTION, "The hole 'out' is only 8 mm from the clamp"),
        (60.0, Grade.REJECT, "The hole 'out' is under a clamp"),
        (28.0, Grade.REJECT, "The hole 'out' is under a clamp"),
        (19.0, Grade.CAUTION, "The hole 'out' is between the clamps"),
    ],
)
def test_a_hole_in_the_clamp_zone_is_told(from_centre: float, grade: Grade, words: str) -> None:
    bar = straight(IN, hole("out", Side.LEFT, from_centre))
    remark = said(led(bar, {LEFT: ("in", "out")}))["hole 'out'", "hole_to_clamp"]
    assert remark.grade is grade
    assert remark.sentence.startswith(words)
    assert bool(remark.caution) == (grade is not Grade.FINE)


def test_a_hole_at_the_crown_of_a_bend_is_told() -> None:
    assert isinstance(HIDDEN.new.bar, Bar)
    holes = {one.name: one for one in HIDDEN.new.bar.holes}
    foot = holes["left foot of the bar"]
    # the bend at the foot is from 69.5 to 173.3 mm
    moved = replace(foot, distance=121.4)
    bar = replace(HIDDEN.new.bar, holes=(holes["under the left switches"], moved))
    figures = led(bar, {LEFT: ("under the left switches", foot.name)})
    remark = said(figures)[f"hole '{foot.name}'", "hole_to_crown"]
    assert remark.grade is Grade.CAUTION
    assert remark.judged.value == pytest.approx(-10.0, abs=0.1)
    assert "crown" in remark.sentence


@pytest.mark.parametrize(
    ("wide", "room", "size"),
    [
        (11.9, Grade.CAUTION, Grade.FINE),
        (12.1, Grade.FINE, Grade.FINE),
        (8.9, Grade.REJECT, Grade.FINE),
        (13.1, Grade.FINE, Grade.CAUTION),
    ],
)
def test_a_hole_takes_the_wires_and_a_grommet_but_is_not_too_wide(
    wide: float, room: Grade, size: Grade
) -> None:
    found = said(led(straight(IN, hole("out", Side.LEFT, 100.0, wide)), {LEFT: ("in", "out")}))
    assert found["hole 'out'", "hole_room"].grade is room
    assert found["hole 'out'", "hole_size"].grade is size
    assert "Deburr" in found["hole 'out'", "hole_grommet"].words()


def test_two_lines_may_lie_beside_each_other_in_an_oval_hole() -> None:
    oval = replace(OUT, diameter=13.0, length=25.0)
    figures = led(straight(IN, oval), {LEFT: ("in", "out"), HEAT: ("in", "out")})
    room = {one.hole: one.room.value for one in figures.holes}
    assert room == {"in": pytest.approx(12.0 - 18.0), "out": pytest.approx(4.0)}


def test_the_stock_bars_have_none() -> None:
    assert through_bar(HIDDEN, stock=True) == ThroughBarFigures()


# --- the file ------------------------------------------------------------------------------------


def test_it_reads_back_as_written_and_comments_stay() -> None:
    fresh = replace(HIDDEN, source="")
    assert loads(dumps(fresh)) == HIDDEN
    through = replace(HIDDEN.line(LEFT).through_bar or ThroughBar("", ""), lead_in=31.0)
    changed = tuple(
        replace(line, through_bar=through) if line.name == LEFT else line for line in HIDDEN.lines
    )
    assert isinstance(HIDDEN.new.bar, Bar)
    first, *rest = HIDDEN.new.bar.holes
    bar = replace(HIDDEN.new.bar, holes=(replace(first, slant=0.5, diameter=12.0), *rest))
    setup = replace(HIDDEN, lines=changed, new=replace(HIDDEN.new, bar=bar))
    text = dumps(setup)
    assert loads(text) == setup
    assert "# facing: about the bar" in text


def test_inside_and_outside_are_two_ways_to_go() -> None:
    both = edits.add_routing(HIDDEN, LEFT, "outside")
    both = edits.change_line(both, LEFT, through_bar=None)
    assert loads(dumps(both)) == both
    back = edits.use_routing(both, LEFT, "as it goes now")
    assert back.line(LEFT).through_bar == HIDDEN.line(LEFT).through_bar
    assert loads(dumps(back)) == back
    assert not {one.line for one in through_bar(both, stock=False).lines} & {LEFT}


def test_bars_without_the_holes_may_be_fitted_instead() -> None:
    plain = replace(HIDDEN.stock, name="plain")
    swapped = edits.use_other_bars(edits.add_bars(HIDDEN, "plain", plain), HIDDEN.new.title)
    other = edits.use_other_bars(swapped, "plain")
    assert loads(dumps(other)) == other
    assert through_bar(other, stock=False) == ThroughBarFigures()


def told(before: str, after: str) -> str:
    assert before in TEXT
    with pytest.raises(ScenarioError) as error:
        loads(TEXT.replace(before, after, 1))
    return str(error.value)


@pytest.mark.parametrize(
    ("before", "after", "problem"),
    [
        ("wall = 2.3 ", "wall = 13 ", "bars.new.bar.wall: 13 mm is outside 1 mm to 10 mm"),
        ("from_end = 174, ", "", "holes[1]: needs one distance along the bar"),
        (
            "facing = -90, diameter = 13 ",
            "facing = -90, diameter = 30 ",
            "holes[1].diameter: 30 mm",
        ),
        ("length = 20", "length = 10", "holes[5].length: 10 mm along the bar is less than"),
        ("length = 20", "lenght = 20", "holes[5]: unknown key 'lenght'"),
        ('name = "behind the left grip"', 'name = "under the left switches"', "there twice"),
        (
            'entry = "under the left switches"',
            'entry = "under the left switch"',
            "no bars have a hole 'under the left switch'; did you mean",
        ),
        (
            'entry = "under the left switches"',
            'entry = "left foot of the bar"',
            "goes in and out at the same hole",
        ),
        (
            'name = "9-way plug", width = 28, ',
            'name = "9-way plug", ',
            "connectors[1]: 'width' is missing",
        ),
    ],
)
def test_what_is_wrong_is_told(before: str, after: str, problem: str) -> None:
    assert problem in told(before, after)


def test_a_mistake_elsewhere_hides_no_hole_that_is_not_there() -> None:
    text = TEXT.replace('grip_diameter = "1 in"', 'grip_diametre = "1 in"', 1)  # of the bars
    text = text.replace("facing = -90, diameter = 13 ", "facing = 999, diameter = 30 ", 1)
    text = text.replace("length = 20", "length = 10", 1)
    text = text.replace("length = 645", "lenght = 645")  # of the lines
    text = text.replace('entry = "under the left switches"', 'entry = "under the left switch"', 1)
    with pytest.raises(ScenarioError) as error:
        loads(text)
    for problem in (
        "unknown key 'grip_diametre'",
        "holes[1].facing: ",
        "holes[1].diameter: 30 mm",
        "holes[5].length: 10 mm along the bar is less than",
        "unknown key 'lenght'",
        "no bars have a hole 'under the left switch'",
    ):
        assert problem in str(error.value)


def test_a_plug_that_is_two_sizes_is_doubted() -> None:
    assert not [text for text in all_doubts(HIDDEN, "mm") if "plug" in text]
    line = HIDDEN.line("right switch harness")
    assert line.through_bar is not None
    other = replace(line.through_bar, connectors=(Connector("plug", 25.0, 16.0),))
    lines = tuple(
        replace(one, through_bar=other) if one.name == line.name else one for one in HIDDEN.lines
    )
    told = [text for text in all_doubts(replace(HIDDEN, lines=lines), "mm") if "plug" in text]
    assert told == []  # within what a tape tells
    wide = replace(other, connectors=(Connector("plug", 16.0, 28.5),))
    lines = tuple(
        replace(one, through_bar=wide) if one.name == line.name else one for one in HIDDEN.lines
    )
    told = [text for text in all_doubts(replace(HIDDEN, lines=lines), "mm") if "plug" in text]
    assert told == [
        "The largest plug of the right switch harness is 24.0 mm × 15.0 mm under 'wires' and "
        "28.5 mm × 16.0 mm under 'through_bar': check both in the file."
    ]


def test_a_small_plug_is_told_to_the_tenth() -> None:
    bar = straight(hole("in", Side.LEFT, 300.0), hole("out", Side.LEFT, 150.0, 5.0))
    plug = (Connector("2-way plug", 7.5, 6.0),)
    figures = led(bar, {"left heated-grip lead": ("in", "out")}, connectors=plug)
    said = [one.sentence for one in through_remarks(figures, "mm") if one.key == "bore_connectors"]
    assert "7.5 × 6.0 mm" in said[0]


def test_a_wall_that_leaves_no_bore_is_told() -> None:
    text = TEXT.replace('grip_diameter = "1 in"', "grip_diameter = 18", 1)
    with pytest.raises(ScenarioError, match="9 mm leaves no bore in a tube of 18 mm"):
        loads(text.replace("wall = 2.3 ", "wall = 9 "))


def test_a_hose_is_not_led_inside_a_bar() -> None:
    heading = '[lines."left switch harness"]'
    way = '[lines."front brake hose".through_bar]\nentry = "under the right switches"\n'
    way += 'exit = "right foot of the bar"\n\n'
    found = told(heading, way + heading)
    assert "a line of kind 'brake_hose' is not led inside a bar; wires are" in found


def test_a_setup_keeps_its_own_limits() -> None:
    setup: Setup = loads(TEXT + "\n[limits]\nbore_fill_two = 0.2\n")
    assert {line.fill.grade for line in through_bar(setup, False).lines} == {Grade.CAUTION}
