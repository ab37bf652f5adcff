"""Lines led inside the bar: how long they are in there, and where and how they come out."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from barfit.analysis import findings, sweep
from barfit.analysis.inputs import inputs
from barfit.geometry.curve import closest_approach
from barfit.geometry.pose import LayoutError, bar_shape, layout
from barfit.geometry.through import gentlest_radius
from barfit.model import (
    EXACT,
    Bar,
    BarPlace,
    BarSet,
    Body,
    ClipOn,
    Hold,
    Hole,
    Line,
    PointPlace,
    Setup,
    Side,
    Station,
    ThroughBar,
)

SLANT = math.radians(45.0)
# A bar without a bend, and one of one bend: rearward by the angle whose sine is 3/5.
STRAIGHT = Bar(
    name="straight",
    width=800.0,
    rise=0.0,
    pullback=0.0,
    centre_width=240.0,
    tube_diameter=22.0,
    grip_diameter=22.0,
    bend_radius=80.0,
    hand_straight=280.0,
    grip_length=120.0,
    sweep=0.0,
    downsweep=0.0,
    wall=2.0,
)
BENT = replace(
    STRAIGHT, name="bent", width=640.0, pullback=150.0, hand_straight=250.0, sweep=math.asin(0.6)
)


def hole(name: str, side: Side, distance: float, from_centre: bool, facing: float = -90.0) -> Hole:
    return Hole(name, side, distance, from_centre, math.radians(facing), 12.0)


def drilled(bar: Bar, exit_side: Side = Side.LEFT) -> Bar:
    holes = (hole("in", Side.LEFT, 190.0, False), hole("out", exit_side, 70.0, True, -120.0))
    return replace(bar, holes=holes)


@pytest.fixture
def setup(cruiser: Setup) -> Setup:
    """The left switch harness of the test machine alone, led through a straight new bar."""
    line = replace(cruiser.line("left switch harness"), through_bar=ThroughBar("in", "out"))
    return replace(cruiser, new=BarSet(drilled(STRAIGHT), cruiser.new.riser), lines=(line,))


def with_bar(setup: Setup, bar: Bar | ClipOn) -> Setup:
    return replace(setup, new=replace(setup.new, bar=bar))


def the_line(setup: Setup) -> Line:
    (line,) = setup.lines
    return line


def turned(slant: float, radius: float) -> float:
    """How much longer an arc out of a tube is than the stretch of tube it takes, by trigonometry:
    R (slant - sin slant), with R (1 - cos slant) the tube's radius.
    """
    return radius / (1.0 - math.cos(slant)) * (slant - math.sin(slant))


def test_in_a_straight_bar_the_bore_is_what_lies_between_the_holes(setup: Setup) -> None:
    inside = layout(setup, setup.new)[the_line(setup).name].inside
    assert inside is not None
    assert inside.bore == pytest.approx(400.0 - 190.0 - 70.0, abs=1e-9)
    assert inside.turns == pytest.approx(2.0 * turned(SLANT, 11.0), abs=1e-9)
    assert inside.length == inside.lead_in + inside.bore + inside.turns
    # the drawn path is as long, but for the chords of its arcs
    drawn = np.linalg.norm(np.diff(inside.path, axis=0), axis=1).sum()
    assert drawn == pytest.approx(inside.length, rel=1e-3)
    assert inside.arc[-1] == pytest.approx(inside.length, abs=1e-9)


def test_a_bend_counts_along_its_arc(setup: Setup) -> None:
    bent = with_bar(setup, drilled(BENT))
    inside = layout(bent, bent.new)[the_line(bent).name].inside
    assert inside is not None
    angle = math.asin(0.6)
    # a corner of that angle, 120 mm from the centre and 250 mm from the end, rounded by 80 mm
    developed = 120.0 + 250.0 - 2.0 * 80.0 * math.tan(0.5 * angle) + 80.0 * angle
    assert inside.bore == pytest.approx(developed - 190.0 - 70.0, abs=1e-6)


def test_across_the_middle_it_is_the_sum_of_both_sides(setup: Setup) -> None:
    across = with_bar(setup, drilled(STRAIGHT, Side.RIGHT))
    inside = layout(across, across.new)[the_line(across).name].inside
    assert inside is not None
    assert inside.bore == pytest.approx(400.0 - 190.0 + 70.0, abs=1e-9)


def test_it_comes_out_of_the_hole_at_its_slant_and_stays_in_the_tube(setup: Setup) -> None:
    for bar in (drilled(STRAIGHT), drilled(BENT), drilled(replace(BENT, roll=0.2))):
        here = with_bar(setup, bar)
        places = layout(here, here.new)[the_line(here).name]
        inside, shape = places.inside, bar_shape(here.machine, here.new)
        assert inside is not None
        point, outward, forward, up = shape.at(Side.LEFT, 70.0, from_centre=True)
        facing = math.cos(math.radians(-120.0)) * forward + math.sin(math.radians(-120.0)) * up
        assert places.points[1] == pytest.approx(point + 11.0 * facing, abs=1e-9)
        assert inside.path[-1] == pytest.approx(places.points[1], abs=1e-9)
        assert inside.leaving @ facing == pytest.approx(math.sin(SLANT))
        assert inside.leaving @ outward == pytest.approx(-math.cos(SLANT))
        assert places.directions[1] == pytest.approx(inside.leaving)
        between = inside.path[inside.arc > inside.lead_in + 1e-6]
        away = [closest_approach(np.array([p, p + 1e-9]), shape.left).distance for p in between]
        assert max(away) < 11.0 + 0.1


def test_ties_on_the_way_fall_away_and_others_stay(setup: Setup) -> None:
    line = the_line(setup)
    first, *rest = (s for s in line.stations if not isinstance(s.place, BarPlace))
    passed = Station("passed", Hold.GUIDE, BarPlace(Side.LEFT, 200.0, True, 0.0, -17.0))
    kept = Station("kept", Hold.GUIDE, BarPlace(Side.LEFT, 50.0, True, 0.0, -17.0))
    tied = replace(setup, lines=(replace(line, stations=(first, passed, kept, *rest)),))
    names = layout(tied, tied.new)[line.name].names
    assert names[:3] == (first.name, "out", "kept")
    assert "passed" not in names
    # the stock bars have no such holes
    stock = layout(tied, tied.stock)[line.name]
    assert stock.inside is None
    assert stock.names[:3] == (first.name, "passed", "kept")


def test_both_sides_are_mirror_images(setup: Setup, cruiser: Setup) -> None:
    bar = replace(
        BENT,
        holes=tuple(
            hole(f"{side} {name}", side, distance, from_centre, -120.0)
            for side in Side
            for name, distance, from_centre in (("in", 190.0, False), ("out", 70.0, True))
        ),
    )
    lines = tuple(
        replace(
            cruiser.line(f"{side} switch harness"),
            through_bar=ThroughBar(f"{side} in", f"{side} out"),
        )
        for side in Side
    )
    both = replace(setup, new=replace(setup.new, bar=bar), lines=lines)
    left, right = (layout(both, both.new)[line.name].inside for line in lines)
    assert left is not None
    assert right is not None
    assert left.path == pytest.approx(right.path * [1.0, -1.0, 1.0], abs=1e-9)
    assert left.leaving == pytest.approx(right.leaving * [1.0, -1.0, 1.0], abs=1e-9)
    assert left.length == pytest.approx(right.length, abs=1e-9)


def test_it_needs_what_is_inside_and_what_a_line_from_the_hole_needs(setup: Setup) -> None:
    line = replace(the_line(setup), length=900.0, found_slack=None)
    setup = replace(setup, lines=(line,), uncertainty=EXACT)
    places = layout(setup, setup.new)[line.name]
    assert places.inside is not None
    inside = places.inside.length
    x, y, z = places.points[1].tolist()
    a, b, c = places.inside.leaving.tolist()
    start = Station("hole", Hold.FITTING, PointPlace(Body.STEERING, (x, y, z)), (a, b, c))
    outside = replace(
        line, length=900.0 - inside, stations=(start, *places.stations[2:]), through_bar=None
    )
    step = math.radians(10.0)
    through, plain = (
        (swept := sweep(one, step=step), findings(swept)[0])
        for one in (setup, replace(setup, lines=(outside,)))
    )
    assert through[1].needed == pytest.approx(inside + plain[1].needed, abs=0.02)
    assert through[1].slack == pytest.approx(plain[1].slack, abs=0.02)
    assert through[1].verdict is plain[1].verdict
    moved = through[0].lines[0]
    # drawn from the control on, as long as the line is, and what is inside turns with the bar
    chord = np.linalg.norm(np.diff(moved.shapes, axis=2), axis=-1).sum(-1)
    assert chord == pytest.approx(np.full_like(chord, 900.0), rel=2e-3)
    count = len(places.inside.path)
    gaps = np.linalg.norm(np.diff(moved.shapes[:, :, :count], axis=2), axis=-1)
    assert np.ptp(gaps, axis=(0, 1)).max() < 1e-9
    assert np.isinf(moved.segment_slack[..., 0]).all()
    assert moved.segment_slack[..., 1:].sum(-1) == pytest.approx(moved.slack, abs=1e-6)
    np.testing.assert_allclose(moved.stations_at[..., 1], inside)


def test_where_a_hole_is_counts_among_what_may_be_off(setup: Setup) -> None:
    found = {one.key: one for one in inputs(setup, stock=False)}
    place = found["hole", "new", "out", "distance"]
    assert place.lines == {the_line(setup).name}
    before, after = (
        layout(one, one.new)[the_line(setup).name].inside
        for one in (setup, place.moved(setup, -1.0))
    )
    assert before is not None
    assert after is not None
    assert after.length - before.length == pytest.approx(1.0, abs=1e-6)
    assert not [key for key in found if key[0] == "hole" and key[2] not in ("in", "out")]


def test_a_lead_in_may_be_given_but_not_shorter_than_the_straight_way(setup: Setup) -> None:
    def given(mm: float) -> Setup:
        through = replace(the_line(setup).through_bar or ThroughBar("", ""), lead_in=mm)
        return replace(setup, lines=(replace(the_line(setup), through_bar=through),))

    own = given(180.0)
    inside = layout(own, own.new)[the_line(own).name].inside
    assert inside is not None
    assert inside.length == pytest.approx(180.0 + inside.bore + inside.turns)
    with pytest.raises(LayoutError, match="'lead_in' of 2 mm is shorter than the straight way"):
        layout(given(2.0), setup.new)


@pytest.mark.parametrize(
    ("holes", "told"),
    [
        ((hole("in", Side.LEFT, 190.0, False),), "the bars have no hole 'out'"),
        (
            (hole("in", Side.LEFT, 190.0, False), hole("out", Side.LEFT, 200.0, True)),
            "its holes are only 10 mm apart along the bar: to turn into the bore and out again a "
            "line takes 53 mm",
        ),
        (
            (hole("in", Side.LEFT, 190.0, False), hole("out", Side.LEFT, 500.0, True)),
            "500 mm along the bar is off its end",
        ),
    ],
)
def test_holes_that_will_not_do_are_told(setup: Setup, holes: tuple[Hole, ...], told: str) -> None:
    bad = with_bar(setup, replace(STRAIGHT, holes=holes))
    with pytest.raises(LayoutError, match=told):
        layout(bad, bad.new)


def test_a_line_that_does_not_even_come_out_of_the_hole_is_told(setup: Setup) -> None:
    bad = replace(setup, lines=(replace(the_line(setup), length=100.0),))
    with pytest.raises(ValueError, match=r"of its 100 mm, .* mm lie inside the bar"):
        sweep(bad, step=math.radians(20.0))


@pytest.mark.parametrize("angle", [0.3, 1.0, math.pi / 2.0, 2.2])
def test_the_gentlest_way_round_a_bend_just_touches_both_walls(angle: float) -> None:
    radius, play = 80.0, 6.0
    best = gentlest_radius(radius, angle, play, 1e9)
    # the corner at the origin, the bend's middle on the x axis; the straights at +- angle / 2
    half = 0.5 * angle
    straight = np.array([-math.sin(half), math.cos(half)])  # outward along one of them
    square = np.array([math.cos(half), math.sin(half)])  # towards the outside of the bend
    centre = -radius / math.cos(half), 0.0
    # its own corner is moved out by the play; its centre lies on the axis, its radius from there
    mine = play / math.cos(half) - best / math.cos(half)
    offset = square @ (np.array([mine, 0.0]) + best * square)
    assert offset == pytest.approx(play, abs=1e-9)  # along the straight: at the outer wall
    assert mine + best - (centre[0] + radius) == pytest.approx(-play, abs=1e-9)  # inner wall
    assert straight @ square == pytest.approx(0.0)
    assert gentlest_radius(radius, angle, play, 0.0) == pytest.approx(radius + play)
    assert gentlest_radius(radius, angle, 0.0, 50.0) == pytest.approx(radius)


def test_a_clip_on_is_a_tube_of_its_own(setup: Setup) -> None:
    pair = ClipOn(
        name="clip-ons",
        height=-40.0,
        forward=6.0,
        outward=24.0,
        length=300.0,
        tube_diameter=22.0,
        grip_diameter=22.0,
        grip_length=120.0,
        sweep=0.2,
        downsweep=0.1,
        holes=(hole("in", Side.LEFT, 160.0, False), hole("out", Side.LEFT, 40.0, True)),
    )
    here = with_bar(setup, pair)
    inside = layout(here, here.new)[the_line(here).name].inside
    assert inside is not None
    assert inside.bore == pytest.approx(300.0 - 160.0 - 40.0)
    other = replace(pair, holes=(pair.holes[0], hole("out", Side.RIGHT, 40.0, True)))
    apart = with_bar(setup, other)
    with pytest.raises(LayoutError, match="the two bars of a pair of clip-ons are not one tube"):
        layout(apart, apart.new)
