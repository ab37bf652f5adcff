"""What is measured, what to measure next, and where the tape goes."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from barfit import scenario
from barfit.analysis import Sureness, Verdict, findings, sweep
from barfit.analysis.inputs import inputs
from barfit.forms.drawings import view_with
from barfit.measuring import Part, Thing, count, mark, page, settled, things, weighed, worst_known
from barfit.measuring.order import thing_of
from barfit.measuring.things import lain_against, unmeasured_sentence
from barfit.measuring.words import share_words
from barfit.model import EXACT, How, PointPlace, Setup
from barfit.starting import fresh_start


@pytest.fixture(scope="module")
def begun() -> Setup:
    path = next(p for p in scenario.bundled() if p.stem == "old-twin")
    return fresh_start(scenario.load(path), "Mine")


def test_every_thing_can_be_marked_as_measured(begun: Setup) -> None:
    every = things(begun)
    assert len(set(every)) == len(every)
    setup = begun
    for number, thing in enumerate(every):
        assert count(setup) == (number, len(every))
        assert thing.name(setup)
        setup = mark(setup, thing, How.TAPE)
        assert thing.how(setup) is How.TAPE
    assert count(setup) == (len(every), len(every))
    assert unmeasured_sentence(setup) == ""
    for solid in setup.machine.solids:  # of which only those count that a line lies against
        setup = mark(setup, Thing(Part.SOLID, solid.name), How.TAPE)
    assert "not measured" not in scenario.dumps(setup)
    assert "everything" in unmeasured_sentence(begun)


def test_every_uncertain_input_belongs_to_a_thing_but_stiffness(begun: Setup) -> None:
    every = set(things(begun))
    for stock in (True, False):
        for one in inputs(begun, stock):
            if one.key[0] != "stiffness":
                assert thing_of(one.key) in every, one.key


def test_marking_a_thing_makes_each_of_its_inputs_surer(begun: Setup) -> None:
    before = {one.key: one.sd for one in inputs(begun, stock=False)}
    for thing in things(begun):
        after = {one.key: one.sd for one in inputs(mark(begun, thing, How.TAPE), stock=False)}
        for key, sd in before.items():
            if thing_of(key) == thing:
                assert after[key] < sd, key
            else:
                assert after[key] == sd


def test_what_every_line_hangs_on_comes_first_then_what_tells_most(begun: Setup) -> None:
    found = findings(sweep(begun, step=math.radians(8.0)))
    order = weighed(begun, found)
    assert {one.thing for one in order} == set(things(begun, found))
    must = [one.thing for one in order if one.must]
    assert must == [Thing(Part.BAR, "new"), Thing(Part.BAR, "stock"), Thing(Part.RISER, "both"),
                    Thing(Part.MACHINE)]  # fmt: skip
    rest = [one.share for one in order if not one.must and one.thing.part is not Part.SOLID]
    assert rest == sorted(rest, reverse=True)
    worst = worst_known(found)
    assert worst is not None
    first = next(one for one in order if not one.must)
    # measuring the most telling thing leaves about what is foretold: the linear rule says so
    surer = findings(sweep(mark(begun, first.thing, How.TAPE), step=math.radians(8.0)))
    now = next(one for one in surer if one.line == worst.line)
    foretold = settled(worst.sure.sigma, begun, first.thing, first.share)
    assert now.sure.sigma == pytest.approx(foretold, rel=0.15)
    assert now.sure.sigma < worst.sure.sigma


def test_what_is_measured_is_not_in_the_list_any_more(begun: Setup) -> None:
    thing = things(begun)[0]
    assert thing not in {one.thing for one in weighed(mark(begun, thing, How.EYEBALLED), ())}


def test_the_worst_line_is_one_whose_spread_is_known(begun: Setup) -> None:
    found = findings(sweep(replace(begun, uncertainty=EXACT), step=math.radians(20.0)))
    a, b, *_ = found
    vague = replace(a, verdict=Verdict.SHORT, sure=Sureness())
    known = replace(b, sure=Sureness(1.0, parts=((("length", b.line), 1.0),)))
    assert worst_known((vague, known)) is known
    assert worst_known(()) is None


def test_everything_to_enter_has_a_picture_of_where_the_tape_goes(begun: Setup) -> None:
    without = set()
    for thing in things(begun):
        shown = page(begun, thing, "mm")
        assert shown.deed
        assert shown.groups
        for group in shown.groups:
            for field in group.fields:
                if view_with(shown.views.get(group.drawing, ()), field.key) is None:
                    without.add(field.key)
    # what is no distance: a roll, ways a line points, what its end is like, where one counts from
    assert without <= {"roll", "rotation", "stub", "at_length", "along"} | {
        f"{key}_{way}" for key in ("exit", "direction") for way in ("forward", "left", "up")
    }


def test_the_dimension_of_a_place_is_as_long_as_what_is_entered(begun: Setup) -> None:
    for thing in things(begun):
        if thing.part is not Part.STATION:
            continue
        place = begun.line(thing.which).stations[thing.station].place
        if not isinstance(place, PointPlace):
            continue
        shown = page(begun, thing, "mm")
        views = next(iter(shown.views.values()))
        for at, key in enumerate(("position_forward", "position_left", "position_up")):
            view = view_with(views, key)
            assert view is not None
            dim = next(one for one in view.dims if one.key == key)
            axis = 0 if dim.along == "h" else 1
            assert abs(dim.b[axis] - dim.a[axis]) == pytest.approx(abs(place.position[at]))


def test_a_field_of_a_page_changes_the_setup(begun: Setup) -> None:
    riser = page(begun, Thing(Part.RISER, "both"), "mm")
    height = next(f for group in riser.groups for f in group.fields if f.key == "height")
    changed = height.typed("2 in", "mm")
    assert changed is not None
    assert changed.stock.riser.height == changed.new.riser.height == 50.8


def test_a_solid_is_to_be_measured_where_a_line_lies_against_it(begun: Setup) -> None:
    found = findings(sweep(begun, step=math.radians(8.0)))
    against = {touch.part for one in found for touch in one.touches}
    pinches = [pinch for one in found for pinch in one.pinches]
    against |= {part for pinch in pinches for part in (pinch.steered, pinch.standing)}
    solids = {solid.name for solid in begun.machine.solids}
    assert against & solids, "a machine on which no line lies against anything shows nothing here"
    assert all(solid.measured is How.NOT_MEASURED for solid in begun.machine.solids)
    listed = {one.which for one in things(begun, found) if one.part is Part.SOLID}
    assert listed == against & solids
    done, whole = count(begun, found)
    assert (done, whole) == (0, len(things(begun)) + len(listed))
    worst = worst_known(found)
    assert worst is not None
    order = weighed(begun, found)
    thing = next(one for one in order if one.thing.part is Part.SOLID)
    assert math.isnan(thing.share)
    # what lies against the worst line comes before what tells nothing
    behind = order[order.index(thing) + 1 :]
    if thing.thing.which in lain_against(worst):
        assert all(one.share < 0.5 for one in behind if one.thing.part is not Part.SOLID)
        assert "does not count" in share_words(begun, thing, worst, "mm")
    shown = page(begun, thing.thing, "mm")
    place = next(field for group in shown.groups for field in group.fields)
    drawing = next(group.drawing for group in shown.groups)
    assert view_with(shown.views[drawing], place.key) is not None
    known = mark(begun, thing.thing, How.TAPE)
    assert thing.thing not in {one.thing for one in weighed(known, found)}
    assert scenario.loads(scenario.dumps(known)) == known


def test_every_solid_has_a_page_with_a_picture(begun: Setup) -> None:
    for solid in begun.machine.solids:
        shown = page(begun, Thing(Part.SOLID, solid.name), "mm")
        keys = [field.key for group in shown.groups for field in group.fields]
        views = next(iter(shown.views.values()))
        assert sum(view_with(views, key) is not None for key in keys) == 3
