"""The top line: what can hurt people stands before any count and any margin."""

from __future__ import annotations

from dataclasses import replace

import pytest
from made_findings import finding, rad

from barfit import scenario
from barfit.analysis import Verdict
from barfit.analysis.stops import LineStops, Stop
from barfit.model import Body, PointPlace
from barfit.report.headline import gist, headline, refusals, steering_headline
from barfit.report.quantities import Quantity
from barfit.report.remarks import Remark, Topic
from barfit.report.slides import slides
from barfit.trade import Grade, Judged

HITS = (
    "Clutch hose runs into the wheel at 19° right with the fork compressed; it should keep 15 mm "
    "from it."
)
SHORT_HITS = "The clutch hose runs into the wheel at 19° right with the fork compressed"


@pytest.fixture(scope="module")
def setup():
    path = next(p for p in scenario.bundled() if p.stem == "tall-bar-cruiser")
    return scenario.load(path)


def harness(setup):
    """The setup's name of a line that turning the bar can pull tight, and is no cable."""
    return next(line.name for line in setup.lines if line.kind == "switch_harness")


def remark(grade: Grade, about: str = "", words: str = "", key: str = "x") -> Remark:
    judged = Judged(-5.0, grade, limit=15.0, turn=rad(-19), travel=60.0)
    line = bool(about) and "hand" not in about
    return Remark(key, Topic.ON_BAR, about, "Gap", judged, Quantity.LENGTH, words, line=line)


WHEEL = remark(Grade.REJECT, "clutch hose", HITS, "hose_wheel_gap")
TRAP = remark(Grade.REJECT, "left hand", key="hand_gap")
CAUTION = remark(Grade.CAUTION)


@pytest.mark.parametrize("verdict", list(Verdict))
def test_what_a_line_runs_into_is_said_first_whatever_its_verdict(setup, verdict):
    """It was left out where the line's own length was in doubt, or it was too short."""
    found = [finding(verdict, line=setup.lines[0].name)]
    top = headline(found, [CAUTION, WHEEL], setup)
    assert top.words.startswith(SHORT_HITS)
    assert top.words.endswith("One caution beyond length.")
    assert steering_headline(found, [WHEEL], setup).startswith(f"{SHORT_HITS}. ")
    assert slides(setup, found, [WHEEL], "mm")[0].heading == top.dangers
    first = slides(setup, found, [WHEEL], "mm")[1]
    assert (first.line, first.word, first.sentence) == ("clutch hose", "Not acceptable", HITS)


def test_a_steering_stop_comes_after_what_strikes_and_before_how_many_fit(setup):
    name = harness(setup)
    short = finding(Verdict.SHORT, line=name, stops=LineStops(Stop(rad(-18.9), 0.0), None))
    top = headline([short], [WHEEL], setup)
    assert top.dangers == f"{SHORT_HITS}; the steering is stopped at 18.9° right by the {name}."
    assert top.words == f"{top.dangers} The line does not fit."


def test_lines_too_short_at_every_turn_are_named_though_they_stop_no_steering(setup):
    """A hose that turns along is short at every turn and pulls at nothing: it was left out."""
    bar = next(line for line in setup.lines if line.kind == "brake_hose")
    stations = tuple(
        replace(one, place=replace(one.place, body=Body.STEERING))
        if isinstance(one.place, PointPlace)
        else one
        for one in bar.stations
    )
    bar = replace(bar, name="upper hose", stations=stations)
    setup = replace(setup, lines=(*setup.lines, bar))
    name = harness(setup)
    tight = finding(Verdict.SHORT, line=name, stops=LineStops(Stop(rad(-18.9), 0.0), None))
    hose = finding(Verdict.SHORT, line="upper hose", slack=-21.0)
    top = headline([tight, hose], [], setup)
    stopped = f"the steering is stopped at 18.9° right by the {name}"
    assert top.dangers == f"The upper hose is too short even straight ahead; {stopped}."
    assert steering_headline([tight, hose], [], setup) == (
        f"The upper hose is too short even straight ahead. T{stopped[1:]}."
    )
    # with the fork out alone, or not surely, it is not the same
    out = replace(hose, worst_travel=-setup.machine.sag)
    assert headline([out], [], setup).dangers == (
        "The upper hose is too short with the fork extended."
    )
    assert headline([replace(hose, slack=3.0)], [], setup).dangers == ""
    # lines that cross the steering and are too short straight ahead: all of them, or how many
    ahead = LineStops(Stop(0.0, 0.0), Stop(0.0, 0.0))
    short = [
        finding(Verdict.SHORT, line=one.name, slack=-5.0, stops=ahead) for one in setup.lines[:4]
    ]
    assert headline(short[:1], [], setup).dangers == (
        f"The {short[0].line} is too short even straight ahead."
    )
    assert headline(short, [], setup).dangers == "4 lines are too short even straight ahead."
    assert steering_headline(short, [], setup) == "4 lines are too short even straight ahead."


def test_where_two_lines_stop_the_steering_the_turns_stand_first(setup):
    """With both names the list lost three rows to its own headline."""
    names = [line.name for line in setup.lines if line.kind == "switch_harness"][:2]
    right = finding(Verdict.SHORT, line=names[0], stops=LineStops(Stop(rad(-18.9), 0.0), None))
    left = finding(Verdict.SHORT, line=names[1], stops=LineStops(None, Stop(rad(12.0), 0.0)))
    top = headline([right, left], [], setup)
    assert top.dangers == "Lines stop the steering at 18.9° right and 12.0° left."


def test_bars_that_are_not_acceptable_are_named_once_and_of_many_the_rest_is_counted(setup):
    fits = finding(Verdict.REACHES, line=setup.lines[0].name)
    assert headline([fits, fits], [], setup).words == "Every line fits."
    right = replace(TRAP, about="right hand")
    assert headline([fits], [TRAP, right], setup).words == "The bars trap a hand. The line fits."
    assert refusals([TRAP, WHEEL])[0].startswith("the clutch hose")
    many = [replace(WHEEL, sentence=f"It hits part {n}.") for n in range(5)]
    assert headline([fits], many, setup).dangers.endswith("part 2; 2 more not acceptable.")
    assert refusals([remark(Grade.REJECT)]) == ["'gap' is not acceptable"]
    bare = remark(Grade.REJECT, "clutch hose")
    assert refusals([bare]) == ["'gap' of the clutch hose is not acceptable"]


def test_cables_without_free_play_are_named_together_without_their_degrees(setup):
    words = "Throttle pull cable goes tight at 18.7° right and has no free play left at 30°: x."
    pull = remark(Grade.REJECT, "throttle pull cable", words, "cable_free_play")
    back = replace(pull, about="throttle return cable")
    assert refusals([WHEEL, pull]) == [
        "the throttle pull cable has no free play left",
        gist(HITS, "clutch hose"),
    ]
    assert refusals([pull, back]) == [
        "the throttle pull cable and the throttle return cable have no free play left"
    ]


def test_two_cautions_are_counted(setup):
    fits = finding(Verdict.REACHES, line=setup.lines[0].name)
    said = headline([fits], [CAUTION, CAUTION], setup).words
    assert said == "The line fits. 2 cautions beyond length."


def test_a_gist_ends_before_limits_and_keeps_decimals():
    assert gist("Bars touch at 18.9° left: mend it. Then turn.") == "bars touch at 18.9° left"


def test_nobody_is_told_that_no_line_stops_the_steering_while_one_is_in_doubt(setup):
    doubt = finding(Verdict.UNCERTAIN, line=harness(setup))
    assert steering_headline([doubt], [], setup) == "No line is known to stop the steering."
