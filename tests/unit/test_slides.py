"""What is shown to a customer."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from made_findings import finding, rad

from barfit import scenario
from barfit.analysis import Verdict
from barfit.analysis.touching import Pinch, Touch
from barfit.analysis.window import Limit, Window
from barfit.model import Body
from barfit.report.quantities import Quantity
from barfit.report.remarks import Remark, Topic
from barfit.report.sentences import CAUTION
from barfit.report.slides import bars_words, slides, takes
from barfit.trade import Grade, Judged


@pytest.fixture(scope="module")
def setup():
    path = next(p for p in scenario.bundled() if p.stem == "tall-bar-cruiser")
    return scenario.load(path)


def found(setup, *verdicts: Verdict, **changes):
    """A finding for each of the first lines of a setup."""
    return [
        finding(verdict, line=line.name, **changes)
        for verdict, line in zip(verdicts, setup.lines, strict=False)
    ]


def remark(grade: Grade, about: str = "", line: bool = False, **changes) -> Remark:
    judged = Judged(10.0, grade, limit=25.0, turn=rad(31), travel=0.0)
    plain = Remark(
        "hand_gap", Topic.RIDER, about, "Room for the hand", judged, Quantity.LENGTH, line=line
    )
    return replace(plain, **changes)


def test_lines_in_trouble_are_named_worst_first_and_the_others_are_not(setup):
    verdicts = (Verdict.MARGINAL, Verdict.REACHES, Verdict.SHORT, Verdict.RUBS)
    made = slides(setup, found(setup, *verdicts), (), "mm")
    names = [line.name for line in setup.lines]
    assert [slide.line for slide in made] == [None, names[2], names[0], names[3]]
    assert [slide.verdict for slide in made[1:]] == [
        Verdict.SHORT,
        Verdict.MARGINAL,
        Verdict.RUBS,
    ]
    assert made[0].heading == "3 of 4 lines do not fit."
    said = " ".join(f"{slide.heading} {slide.sentence} {slide.takes}" for slide in made).lower()
    assert names[1] not in said


def test_of_two_alike_the_one_that_lacks_more_comes_first(setup):
    less, more = found(setup, Verdict.SHORT, Verdict.SHORT, margin=-5.0)
    made = slides(setup, [less, replace(more, margin=-40.0)], (), "mm")
    assert [slide.line for slide in made[1:]] == [more.line, less.line]
    unknown = replace(less, margin=math.nan)
    made = slides(setup, [more, unknown], (), "mm")
    assert made[1].line == unknown.line


def test_the_caution_is_said_once(setup):
    made = slides(setup, found(setup, Verdict.SHORT, Verdict.SHORT), (), "mm")
    assert [slide.caution for slide in made] == [CAUTION, "", ""]


def test_all_well_is_one_slide(setup):
    (only,) = slides(setup, found(setup, Verdict.REACHES, Verdict.REACHES), (), "mm")
    assert only.heading == "Every line fits."
    assert only.takes == ""
    assert only.caution == CAUTION


def test_what_makes_the_bars_unacceptable_is_shown_though_every_line_reaches(setup):
    refused = remark(Grade.REJECT, sentence="The hand meets the tank.", hint="Fewer degrees.")
    mild = remark(Grade.CAUTION)
    made = slides(setup, found(setup, Verdict.REACHES), (mild, refused), "mm")
    assert len(made) == 2
    assert (made[1].heading, made[1].sentence) == ("The bars", "The hand meets the tank.")
    assert (made[1].takes, made[1].turn) == ("Fewer degrees.", rad(31))
    assert made[1].verdict is None
    assert made[0].heading == "The bars trap a hand."
    assert made[0].sentence == "The line fits."
    bare = slides(setup, (), (remark(Grade.REJECT, "left grip"),), "mm")[1]
    assert bare.sentence == "Room for the hand: 10 mm."
    assert bare.heading == "Left grip"


def test_what_is_not_acceptable_of_a_line_comes_before_its_length(setup):
    short, well = found(setup, Verdict.SHORT, Verdict.REACHES)
    said = [remark(Grade.REJECT, name, line=True) for name in (short.line, well.line)]
    made = slides(setup, [short, well], said, "mm")
    assert [(slide.line, slide.verdict) for slide in made[1:]] == [
        (short.line, None),
        (well.line, None),
        (short.line, Verdict.SHORT),
    ]


def worst(setup, verdict, **changes):
    (one,) = found(setup, verdict, **changes)
    slide = slides(setup, [one], (), "mm")[1]
    return slide.turn, slide.travel


def test_each_goes_to_the_pose_that_shows_what_is_wrong(setup):
    assert worst(setup, Verdict.SHORT) == (rad(-40), 0.0)
    assert worst(setup, Verdict.BEND_TOO_TIGHT) == (rad(12), 0.0)
    pinch = Pinch("bar", "tank", 2.0, 9.0, rad(33), -40.0, 60.0, "the perch", (0.0, 0.0, 0.0))
    assert worst(setup, Verdict.PINCHED, pinches=(pinch,)) == (rad(33), -40.0)
    rub = Touch("tank", Body.FRAME, (), 4.0, rad(-20), 0.0, 60.0, "the perch", (0, 0, 0), 50.0)
    assert rub.rubs
    assert worst(setup, Verdict.RUBS, touches=(rub,)) == (rad(-20), 0.0)
    window = Window(786.0, 800.0, Limit.LOOP, rad(5), 30.0, ("a", "b"), 60.0, True)
    assert worst(setup, Verdict.TOO_LONG, window=window) == (rad(5), 30.0)
    assert worst(setup, Verdict.NOT_KNOWN, worst_turn=math.nan) == (None, None)


def test_every_verdict_but_the_good_one_takes_something(setup):
    line = setup.lines[0]
    for verdict in Verdict:
        told = takes(finding(verdict), line, "mm")
        assert bool(told) is (verdict is not Verdict.REACHES), verdict
        assert not told or told.endswith(".")


def test_no_length_is_promised_where_none_helps(setup):
    line = setup.lines[0]
    short = finding(Verdict.SHORT, margin=-30.0, needed=825.0)
    assert "at least 825 mm" in takes(short, line, "mm")
    empty = Window(825.0, 800.0, Limit.LOOP, rad(5), 30.0, ("a", "b"), 60.0, True)
    assert empty.empty
    told = takes(replace(short, window=empty), line, "mm")
    assert "825" not in told
    assert "no one length" in told


def test_the_bars_are_named_with_what_they_stand_in_for(setup):
    told = bars_words(setup)
    assert setup.stock.bar.name in told
    assert setup.new.bar.name.lower() in told.lower()
    assert "in place of" not in bars_words(replace(setup, new=setup.stock))
