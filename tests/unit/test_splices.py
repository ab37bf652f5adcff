"""Splice plans: where joints may be, whatever the line."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from barfit.trade.splices import (
    ROOM,
    NoPlan,
    Rules,
    SplicePlan,
    Wire,
    flexing,
    sleeve_length,
    splice_plan,
)

RULES = Rules(calm=0.006, clear=70.0, stagger=25.0)
ENDS = [("switches", 0.0, 15.0), ("plug", 785.0, 800.0)]
ARC = np.linspace(0.0, 800.0, 201)


def some_wires(count: int, sleeve: float = 22.0) -> list[Wire]:
    return [Wire(f"wire {number + 1}", "0.5 mm²", sleeve) for number in range(count)]


def bump(*bends: tuple[float, float, float]) -> np.ndarray:
    """A change of curvature with a bend at each (middle, width, height)."""
    return sum(
        (high * np.exp(-(((ARC - at) / wide) ** 2)) for at, wide, high in bends),
        np.full(ARC.shape, 1e-5),
    )


BENDS = st.lists(
    st.tuples(st.floats(0.0, 800.0), st.floats(5.0, 60.0), st.floats(0.0, 0.03)), max_size=4
)
GUIDES = st.lists(st.tuples(st.floats(60.0, 700.0), st.floats(0.0, 40.0)), max_size=4)


def with_guides(guides: list[tuple[float, float]]) -> list[tuple[str, float, float]]:
    ties = [(f"tie {at:.0f}", at, at + wide) for at, wide in sorted(guides)]
    return [ENDS[0], *ties, ENDS[1]]


@settings(max_examples=60)
@given(
    bends=BENDS,
    guides=GUIDES,
    count=st.integers(1, 16),
    sleeve=st.floats(15.0, 34.0),
    extension=st.floats(5.0, 300.0),
)
def test_every_joint_of_any_plan_is_where_it_may_be(
    bends: list[tuple[float, float, float]],
    guides: list[tuple[float, float]],
    count: int,
    sleeve: float,
    extension: float,
) -> None:
    change, stations = bump(*bends), with_guides(guides)
    wires = some_wires(count, sleeve)
    plan = splice_plan("line", wires, ARC, change, stations, extension, RULES)
    if plan.why is not None:
        assert plan.splices == plan.places == ()
        assert plan.room < 2 * count
        return
    # two joints per wire, in the wires' order, and the wire grows by what it should
    assert [splice.wire for splice in plan.splices] == [wire.name for wire in wires]
    assert plan.needed == plan.room == 2 * count
    for splice in plan.splices:
        assert splice.piece - splice.remove == pytest.approx(extension)
        assert splice.remove >= -1e-9
        assert splice.first.end < splice.second.begin
    firsts = [splice.first.at for splice in plan.splices]
    seconds = [splice.second.at for splice in plan.splices]
    assert firsts == sorted(firsts)
    assert seconds == sorted(seconds)
    assert max(firsts) < min(seconds)
    # no two places overlap, none holds more joints than it may
    for before, after in itertools.pairwise(plan.places):
        assert after - before >= max(RULES.stagger, sleeve) - 1e-9
    for at in plan.places:
        assert 1 <= firsts.count(at) + seconds.count(at) <= plan.together
    # never in a flexing zone, never within reach of one, never where something holds the line
    fine = np.arange(0.0, 800.5, 0.5)
    moving = fine[np.interp(fine, ARC, change) > RULES.calm]
    for joint in (one for splice in plan.splices for one in (splice.first, splice.second)):
        assert joint.flex <= RULES.calm
        if len(moving):
            assert np.abs(moving - joint.at).min() > RULES.clear - 1.0
        for _, begin, end in stations:
            assert joint.end < begin - ROOM + 1e-6 or joint.begin > end + ROOM - 1e-6


@settings(max_examples=25)
@given(guides=GUIDES, count=st.integers(1, 12), extension=st.floats(5.0, 200.0))
def test_joints_stand_alone_where_there_is_room(
    guides: list[tuple[float, float]], count: int, extension: float
) -> None:
    plan = splice_plan(
        "line", some_wires(count), ARC, bump(), with_guides(guides), extension, RULES
    )
    assume(plan.splices)
    if plan.together > 1:  # then one by one there was none: a plan for fewer wires has no more
        alone = splice_plan(
            "line", some_wires(count + 1), ARC, bump(), with_guides(guides), extension, RULES
        )
        assert not alone.splices or alone.together > 1


def test_the_calmest_stretch_is_taken() -> None:
    # a little flexing everywhere but from 300 to 560 mm
    change = np.where((ARC > 300.0) & (ARC < 560.0), 2e-4, 3e-3)
    plan = splice_plan("line", some_wires(4), ARC, change, ENDS, 60.0, RULES)
    assert plan.together == 1
    assert 300.0 < plan.places[0] < plan.places[-1] < 560.0
    assert plan.flex == pytest.approx(2e-4)


def test_a_piece_may_reach_across_a_bend_that_moves_with_a_joint_on_either_side() -> None:
    change = bump((400.0, 40.0, 0.02))
    plan = splice_plan("line", some_wires(8), ARC, change, ENDS, 140.0, RULES)
    assert plan.splices
    (begin, end) = flexing(ARC, change, RULES.calm)[0]
    for at in plan.places:
        assert at < begin - 70.0 or at > end + 70.0


def test_where_all_of_it_flexes_there_is_no_plan() -> None:
    change = np.full(ARC.shape, 0.01)
    plan = splice_plan("line", some_wires(3), ARC, change, ENDS, 60.0, RULES)
    assert plan.why is NoPlan.NOT_CALM
    assert plan.room == 0


def test_where_the_calm_places_are_too_short_the_plan_says_for_how_many_there_is_room() -> None:
    change = np.where((ARC > 300.0) & (ARC < 540.0), 2e-4, 0.02)
    many = splice_plan("line", some_wires(30), ARC, change, ENDS, 60.0, RULES)
    assert many.why is NoPlan.NO_ROOM
    assert 0 < many.room < 60
    few = splice_plan("line", some_wires(many.room // 2 // 10), ARC, change, ENDS, 60.0, RULES)
    assert few.splices


def test_a_pose_that_is_not_known_makes_no_plan() -> None:
    change = bump()
    change[40] = np.nan
    plan = splice_plan("line", some_wires(3), ARC, change, ENDS, 60.0, RULES)
    assert plan.why is NoPlan.NOT_KNOWN


def test_a_plan_needs_wires_and_something_to_grow_by() -> None:
    for count, by in ((0, 50.0), (3, 0.0), (3, float("nan"))):
        with pytest.raises(ValueError, match="needs wires and an extension"):
            splice_plan("line", some_wires(count), ARC, bump(), ENDS, by, RULES)


def test_sleeves_lap_the_insulation() -> None:
    # 6 mm or two diameters of the wire on either side
    assert sleeve_length(1.9, 10.0, 6.0, 2.0) == pytest.approx(22.0)
    assert sleeve_length(4.0, 10.0, 6.0, 2.0) == pytest.approx(26.0)


def test_the_joints_name_the_stations_on_either_side() -> None:
    stations = [ENDS[0], ("tie", 400.0, 420.0), ENDS[1]]
    plan: SplicePlan = splice_plan("line", some_wires(1), ARC, bump(), stations, 500.0, RULES)
    (splice,) = plan.splices
    assert splice.first.between == ("switches", "tie")
    assert splice.second.between == ("tie", "plug")
