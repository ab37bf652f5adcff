"""What is said of remedies, and which of them comes first: on remedies made by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from barfit import scenario
from barfit.analysis import Verdict
from barfit.analysis.obstacles import BAR
from barfit.analysis.touching import Touch
from barfit.analysis.window import Limit, Window
from barfit.model import BarPlace, Body, Line, Role, Setup
from barfit.remedies import Change, Means, Remedies, Remedy, lower_bar
from barfit.remedies.clips import evened
from barfit.remedies.freed import Freed, Near
from barfit.remedies.least import least_change
from barfit.remedies.lengths import exact
from barfit.remedies.ranking import ranked
from barfit.remedies.remedy import Cap, Elsewhere, Moved, Stand
from barfit.remedies.spoilt import Spoilt
from barfit.report.remedies import (
    gone_sentence,
    label,
    nothing_sentence,
    refusals,
    remedy_sentence,
    remedy_values,
)
from barfit.report.remedy_effects import how_text
from barfit.report.remedy_limits import cap_sentence, lower_bar_sentence
from barfit.trade import Grade, Judged
from barfit.trade.holding import lies_on

CLUTCH = "clutch cable"


@cache
def cruiser() -> Setup:
    return scenario.load(Path(__file__).parent.parent / "data" / "cruiser.toml")


def made(means: Means, **more: object) -> Remedy:
    plain = Remedy(
        CLUTCH, means, cruiser(), Verdict.REACHES, 4.0, 2.0, length=1345.0, longer=150.0, gain=60.0
    )
    return replace(plain, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("remedy", "text"),
    [
        (
            made(
                Means.ROLL_BAR,
                by=math.radians(6),
                sigma=4.5,
                worse=("clutch cable",),
                worse_margins=(-3.0,),
            ),
            "Roll the bar back 6°: margin +4 ± 9 mm; the clutch cable then is about 3 mm short.",
        ),
        (
            made(Means.NEXT_SIZE, together=("throttle return cable",)),
            "Next size sold, 150 mm longer, the throttle return cable with it: margin +4 ± 4 mm.",
        ),
        (
            made(Means.MADE_UP, verdict=Verdict.UNCERTAIN),
            "Made up to 1345 mm: margin +4 ± 4 mm, which is not sure enough before it is measured "
            "again.",
        ),
        (
            made(Means.MADE_UP, verdict=Verdict.RUBS),
            "Made up to 1345 mm: margin +4 ± 4 mm, but it rubs, so it needs a sleeve there.",
        ),
        (
            made(
                Means.REROUTE,
                at="guide",
                by=17.0,
                change=Change.SHIFT,
                verdict=Verdict.SHORT,
                margin=-113.0,
                sigma=math.nan,
            ),
            "Move 'guide' by 17 mm: not enough: gains 60 mm, still lacks 113 ± ? mm (that its "
            "slack is too little is sure).",
        ),
        (
            made(
                Means.ROLL_BAR,
                by=math.radians(-10),
                verdict=Verdict.NOT_KNOWN,
                margin=-113.0,
                sigma=math.nan,
                gain=9.0,
                first_look=True,
            ),
            "Roll the bar forward 10°: not enough, by a first look (± 3 mm): gains 9 mm, still "
            "lacks 113 mm.",
        ),
        (
            made(Means.ROLL_BAR, by=0.1, verdict=Verdict.UNCERTAIN, margin=-7.0),
            "Roll the bar back 6°: it then lacks 7 ± 4 mm, so whether it fits is uncertain.",
        ),
        (
            made(Means.LOWER_BAR, by=60.0, verdict=Verdict.UNCERTAIN, sigma=math.nan),
            "Take a bar 60 mm lower: margin +4 ± ? mm, and how far off that may be is not known.",
        ),
        (
            made(
                Means.SPLICE,
                verdict=Verdict.NOT_KNOWN,
                margin=math.nan,
                length=math.nan,
                why_not="a control cable is never lengthened",
            ),
            "Splice: no, a control cable is never lengthened.",
        ),
        (made(Means.LOWER_BAR, by=60.0), "Take a bar 60 mm lower: margin +4 ± 4 mm."),
    ],
)
def test_a_remedy_in_one_sentence(remedy: Remedy, text: str) -> None:
    assert remedy_sentence(remedy, "mm") == text


def test_every_means_has_a_label_in_either_unit() -> None:
    for means in Means:
        for unit, name in (("mm", "mm"), ("in", "in")):
            for one in (
                made(means, by=25.4, at="thing"),
                made(means, length=math.nan, why_not="x"),
            ):
                told = label(one, unit)
                assert told
                assert "nan" not in told
                assert "–" not in told
            if means in (Means.NEXT_SIZE, Means.EXTENSION, Means.SPLICE, Means.LOWER_BAR):
                assert name in label(made(means, by=25.4), unit)


def test_reasons_are_told_once() -> None:
    no = {"verdict": Verdict.NOT_KNOWN, "margin": math.nan, "why_not": "never"}
    found = Remedies(CLUTCH, (made(Means.EXTENSION, **no), made(Means.SPLICE, **no)))
    assert refusals(found, "mm") == ["Not: Plug-in extension and splice: never."]
    short = made(Means.ROLL_BAR, by=0.1, verdict=Verdict.SHORT, margin=-11.0, sigma=5.5, gain=9.0)
    looked = {"verdict": Verdict.NOT_KNOWN, "margin": -44.0, "sigma": math.nan, "first_look": True}
    least = made(Means.MOVE_CONTROL, at="perch", by=4.0, gain=4.0, **looked)
    most = made(Means.TURN_FITTING, at="perch", by=0.1, gain=5.0, **looked)
    long = made(Means.REROUTE, change=Change.DROP, at="guide", verdict=Verdict.TOO_LONG)
    none = Remedies(CLUTCH, (short, least, most, long))
    assert refusals(none, "mm") == [
        "Not enough: Roll the bar back 6°, gains 9 mm, still lacks 11 ± 11 mm.",
        "Not enough, by a first look (± 3 mm): Move the perch 4 mm inward, gains 4 mm, still lacks "
        "44 mm; turn the perch by 6°, front edge up, gains 5 mm, still lacks 44 mm.",
        "Not: Leave out 'guide': it is then too long.",
    ]
    assert none.taken(short.key) is None
    assert none.gone(short.key)
    assert nothing_sentence(found).startswith("Nothing that was tried lets the clutch cable fit")
    assert nothing_sentence(Remedies(CLUTCH)) == ""
    bent = made(Means.MADE_UP, verdict=Verdict.BEND_TOO_TIGHT, margin=9.0, sigma=4.0)
    assert not bent.offered
    as_before = replace(bent, bent_before=True)
    assert remedy_sentence(as_before, "mm").endswith(
        "margin +9 ± 8 mm, but it bends more tightly than it may, as it does with the stock bars."
    )
    assert not replace(as_before, margin=-9.0).offered
    assert "with the stock bars already" in nothing_sentence(Remedies(CLUTCH, (as_before,)))
    # where something else is offered it is that which counts
    assert nothing_sentence(Remedies(CLUTCH, (made(Means.MADE_UP), as_before))) == ""


def test_a_lower_bar_as_the_only_answer() -> None:
    lower = made(Means.LOWER_BAR, by=60.0)
    more = replace(lower, line="other", by=85.0)
    both = (Remedies(CLUTCH, (lower,)), Remedies("other", (more,)), Remedies("fits"))
    assert lower_bar(both) == 85.0
    assert both[0].lower_bar_only
    assert both[0].taken(None) is lower
    assert lower_bar_sentence(both, "mm") == (
        "Nothing else works for the clutch cable and other: take a lower bar. "
        "With a bar 85 mm lower every line could stay as it is."
    )
    unsure = replace(lower, verdict=Verdict.UNCERTAIN)
    doubted = (Remedies(CLUTCH, (unsure,)), both[1])
    told = "every line may be long enough as it is; of the clutch cable that is not sure."
    assert lower_bar_sentence(doubted, "mm").endswith(f"With a bar 85 mm lower {told}")
    stock = replace(more, setup=replace(more.setup, new=more.setup.stock))
    assert lower_bar_sentence((Remedies("other", (stock,)),), "mm").endswith(
        "every line could stay as it is. That is as low as the stock bar."
    )
    # how every line stands with that bar counts for more than how it stood with its own
    then = {CLUTCH: Verdict.RUBS, "other": Verdict.UNCERTAIN, "fits": Verdict.TOO_LONG}
    looked = [replace(one, lowest=Stand(then[one.line], 4.0, 2.0)) for one in both]
    looked.append(Remedies("fits", lowest=Stand(then["fits"], 150.0, 2.0)))
    looked.append(Remedies("fourth", lowest=Stand(Verdict.TOO_LONG, 150.0, 2.0)))
    assert lower_bar_sentence(looked, "mm").endswith(
        "With a bar 85 mm lower the clutch cable would rub and need a sleeve and the fits and the "
        "fourth would be too long; every other line may be long enough as it is; of the other that "
        "is not sure."
    )
    long = replace(lower, too_long=("fits",))
    assert not long.cures
    assert lower_bar((Remedies(CLUTCH, (long,)),)) == 60.0
    assert remedy_sentence(long, "mm") == (
        "Take a bar 60 mm lower: margin +4 ± 4 mm; the fits then is too long."
    )
    other = (*both, Remedies("third", (made(Means.NEXT_SIZE),)))
    assert math.isnan(lower_bar(other))
    assert lower_bar_sentence(other, "mm") == ""


def test_what_cures_surely_and_costs_least_comes_first() -> None:
    sure = made(Means.NEXT_SIZE)
    dearer = made(Means.MADE_UP)
    unsure = made(Means.REROUTE, verdict=Verdict.UNCERTAIN)
    harms = made(Means.ROLL_BAR, worse=("other",), worse_margins=(-1.0,))
    lower = made(Means.LOWER_BAR)
    helps = made(Means.MOVE_CONTROL, verdict=Verdict.UNCERTAIN, margin=-3.0)
    short = made(Means.TURN_FITTING, verdict=Verdict.SHORT, margin=-20.0)
    never = made(Means.SPLICE, why_not="never")
    given = [never, short, helps, lower, unsure, harms, dearer, sure]
    order = ranked(CLUTCH, {CLUTCH: given}, "cable")
    assert order == (sure, dearer, unsure, lower, harms, helps, short, never)
    assert Remedies(CLUTCH, order).taken(None) is sure
    assert Remedies(CLUTCH, order).taken(helps.key) is helps
    assert Remedies(CLUTCH, order).taken(never.key) is sure


def test_wires_are_plugged_before_a_branch_is_made_up_and_that_before_a_splice() -> None:
    given = [made(Means.SPLICE), made(Means.MADE_UP), made(Means.EXTENSION)]
    order = ranked(CLUTCH, {CLUTCH: given}, "harness")
    assert [one.means for one in order] == [Means.EXTENSION, Means.MADE_UP, Means.SPLICE]


def test_a_pair_takes_the_same_remedy() -> None:
    names = ("pull", "return")

    def of(line: str, means: Means, verdict: Verdict) -> Remedy:
        other = tuple(name for name in names if name != line)
        return made(means, line=line, verdict=verdict, together=other)

    found = {
        "pull": [
            of("pull", Means.NEXT_SIZE, Verdict.UNCERTAIN),
            of("pull", Means.MADE_UP, Verdict.REACHES),
        ],
        "return": [
            of("return", Means.NEXT_SIZE, Verdict.REACHES),
            of("return", Means.MADE_UP, Verdict.REACHES),
        ],
    }
    for name in names:
        taken = Remedies(name, ranked(name, found, "cable")).taken(None)
        assert taken is not None
        assert taken.means is Means.MADE_UP


def test_a_brake_line_that_loses_a_guide_is_not_the_first_choice() -> None:
    hose = next(one.name for one in cruiser().lines if one.kind == "brake_hose")
    dropped = made(Means.REROUTE, line=hose, change=Change.DROP, at="guide")
    longer = made(Means.NEXT_SIZE, line=hose)
    assert ranked(hose, {hose: [dropped, longer]}, "hose") == (longer, dropped)


def test_why_no_length_is_sure_is_said_with_what_would_make_one_so() -> None:
    line = cruiser().line(CLUTCH)
    ends = (line.stations[0].name, line.stations[-1].name)
    window = Window(
        1300.0, 1350.0, Limit.TOUCH, math.radians(-12.0), 0.0, ends, 110.0, True, "tank"
    )
    unsure = made(Means.MADE_UP, verdict=Verdict.UNCERTAIN)
    cap = Cap(CLUTCH, window, 18.0, 1350.0, 25.0, ("riser", "clutch perch"), math.radians(40.0))
    found = Remedies(CLUTCH, (unsure,), cap)
    assert cap_sentence(found, "mm") == (
        "No length of the clutch cable is surely long enough: over 1350 mm, 18 mm more than it "
        "needs, it touches the tank at 12° right, and what it needs is only known to ± 25 mm. "
        "Measure the riser and the clutch perch again before ordering: once that is known to "
        "± 18 mm, 1350 mm surely reach."
    )
    unknown = replace(cap, known_to=math.nan, things=())
    assert cap_sentence(replace(found, cap=unknown), "mm").endswith(
        "at 12° right, and how far off what it needs may be is not known. Before ordering lay a "
        "cord the way it will go and look at full left lock (common practice)."
    )
    stretch = replace(cap, line="front brake hose", window=replace(window, between=("a", "b")))
    told = cap_sentence(replace(found, cap=stretch), "mm")
    # the pose is of no account: nothing of it crosses from what steers to what does not
    assert "the front brake hose with it touches the tank between 'a' and 'b', and" in told
    assert cap_sentence(Remedies(CLUTCH, (unsure,)), "mm") == ""


def test_a_longer_line_says_where_it_is_no_longer() -> None:
    other = made(Means.NEXT_SIZE, elsewhere=Elsewhere(("clip", "caliper"), 28.0))
    assert remedy_sentence(other, "mm") == (
        "Next size sold, 150 mm longer: margin +4 ± 4 mm; that is what it has between 'clip' and "
        "'caliper', which it leaves as it is; where it is longer it has 28 mm."
    )


def test_what_is_known_badly_is_not_enough_where_its_slack_surely_is_not() -> None:
    wide = made(Means.ROLL_BAR, by=0.1, verdict=Verdict.SHORT, margin=-35.0, sigma=52.0, gain=3.0)
    assert remedy_sentence(wide, "mm") == (
        "Roll the bar back 6°: not enough: gains 3 mm, still lacks 35 ± 104 mm (that its slack is "
        "too little is sure)."
    )


def test_what_is_moved_says_which_way() -> None:
    moved = Moved("guide", (0.0, 60.0, -90.0), (-27.0, 61.0, -65.0))
    shift = made(Means.REROUTE, change=Change.SHIFT, at="guide", by=37.0, moves=(moved,))
    assert label(shift, "mm") == "Move 'guide' 27 mm back and 25 mm up"
    slide = made(Means.MOVE_CLIP, change=Change.SLIDE, at="clip", by=12.0)
    first = cruiser().line(CLUTCH).stations[0].name
    assert label(slide, "mm") == f"Slide 'clip' 12 mm away from '{first}'"
    assert label(replace(slide, by=-12.0), "mm") == f"Slide 'clip' 12 mm towards '{first}'"
    eye = made(Means.TURN_FITTING, change=Change.EYE, at="caliper", by=math.radians(-20.0))
    assert (
        label(eye, "mm")
        == "Clock the eye at the caliper by 20° clockwise, seen onto the bolt's head"
    )


def test_keys_tell_remedies_apart() -> None:
    dropped = made(Means.REROUTE, change=Change.DROP, at="guide")
    shifted = replace(dropped, change=Change.SHIFT)
    assert (dropped.key, shifted.key) == ("reroute-drop:guide", "reroute-shift:guide")
    assert made(Means.NEXT_SIZE).key == "next_size"


def test_values_for_other_programs_have_no_nan() -> None:
    values = remedy_values(made(Means.SPLICE, margin=math.nan, sigma=math.nan, by=math.nan), "mm")
    assert values["margin"] is None
    assert values["by"] is None


@pytest.mark.parametrize(
    ("tried", "wanted", "by"),
    [
        ([(0.0, -10.0), (10.0, 10.0)], 0.0, 5.0),
        ([(0.0, -10.0), (10.0, 10.0), (-4.0, 10.0)], 0.0, -2.0),  # the nearer of both ways
        ([(0.0, -10.0), (10.0, 5.0)], 8.0, 10.0 * 10.0 / 15.0),  # not wanted, but enough
        ([(0.0, -10.0), (10.0, -3.0), (-10.0, -12.0)], 0.0, 10.0),  # not enough: what helps most
        ([(0.0, -10.0), (10.0, math.nan)], 0.0, 0.0),
    ],
)
def test_the_least_change_that_will_do(
    tried: list[tuple[float, float]], wanted: float, by: float
) -> None:
    assert least_change(tried, wanted) == pytest.approx(by)


def test_what_is_made_up_is_quoted_in_round_numbers_where_they_suit() -> None:
    assert 795.0 + exact(795.0, 40.0, 80.0, 53.0) == 850.0
    assert 795.0 + exact(795.0, 40.0, 54.0, 53.0) == 845.0  # 850 would be too long
    assert exact(795.0, 51.0, 54.0, 53.0) == 53.0  # no round number suits


@pytest.mark.parametrize(
    ("spare", "moves", "wanted", "by"),
    [
        ([-20.0, 60.0], [True, True], 10.0, [40.0]),  # both move: as much for each
        ([-20.0, 60.0], [True, False], 10.0, [30.0]),  # the one at rest gives what is wanted
        ([-20.0, 25.0], [True, False], 10.0, [23.0]),  # or all it has but 2
        ([30.0, -5.0], [True, False], 10.0, [-5.0]),  # and gets what it lacks
        ([-20.0, 0.0, 60.0], [True, True, False], 10.0, [30.0, 40.0]),
        ([4.0, 8.0], [False, False], 10.0, [2.0]),
    ],
)
def test_clips_share_what_there_is(
    spare: list[float], moves: list[bool], wanted: float, by: list[float]
) -> None:
    assert evened(np.array(spare), np.array(moves), wanted).tolist() == by


NEAR = Near("right steering stop", 4.0, 22.0, 10.0, math.radians(38.0))
LOOSE = Freed(310.0, ("perch", "guide low down"), (NEAR,), ("fork tube",))


def test_a_guide_left_out_says_what_then_holds_the_line() -> None:
    off = made(Means.REROUTE, change=Change.DROP, at="guide", freed=LOOSE, longer=0.0)
    assert remedy_sentence(off, "mm") == (
        "Leave out 'guide': margin +4 ± 4 mm; nothing then holds it over 310 mm from 'perch' to "
        "'guide low down'; it comes within 4 mm of the right steering stop at 38° left (22 mm with "
        "it), 10 mm should stay; it touches the fork tube."
    )
    assert not off.cures
    assert not off.may_cure
    clear = replace(off, freed=replace(LOOSE, nears=(replace(NEAR, gap=31.0),), touches=()))
    assert clear.cures
    assert remedy_sentence(clear, "mm").endswith("it keeps 31 mm from the right steering stop.")
    as_near = replace(off, freed=replace(LOOSE, nears=(replace(NEAR, gap=4.0, was=4.5),)))
    assert as_near.cures  # as near to it with its guide


def test_a_longer_cable_comes_before_one_without_its_guide_but_a_tie_before_a_plug() -> None:
    free = made(Means.REROUTE, change=Change.DROP, at="guide", margin=40.0)
    longer, plug = made(Means.MADE_UP), made(Means.EXTENSION)
    assert ranked(CLUTCH, {CLUTCH: [free, longer]}, "cable") == (longer, free)
    assert ranked(CLUTCH, {CLUTCH: [plug, free]}, "harness") == (free, plug)
    moved = made(Means.REROUTE, change=Change.SHIFT, at="guide", by=20.0)
    assert ranked(CLUTCH, {CLUTCH: [longer, moved]}, "cable")[0] is moved


def test_what_leaves_a_line_badly_laid_comes_after_what_lays_it_properly() -> None:
    hangs = replace(LOOSE, unheld=528.0, nears=(), before=416.0)
    assert hangs.hangs
    assert not replace(hangs, before=500.0).hangs  # its maker let as much hang
    assert not replace(hangs, unheld=440.0).hangs
    loose = made(Means.REROUTE, change=Change.DROP, at="guide", freed=hangs)
    hot = made(Means.MOVE_CLIP, lies_on=("engine",))
    both = replace(loose, lies_on=("engine",))
    unsure = made(Means.MADE_UP, verdict=Verdict.UNCERTAIN)
    lower = made(Means.LOWER_BAR)
    given = [both, loose, hot, lower, unsure]
    order = ranked(CLUTCH, {CLUTCH: given}, "cable")
    assert order == (unsure, hot, loose, both, lower)
    # where every way leaves it lying there, that tells none of them apart
    every = [replace(one, lies_on=("engine",)) for one in (unsure, made(Means.NEXT_SIZE))]
    assert [one.means for one in ranked(CLUTCH, {CLUTCH: every}, "cable")] == [
        Means.NEXT_SIZE,
        Means.MADE_UP,
    ]
    assert remedy_sentence(both, "mm").endswith(
        "nothing then holds it over 528 mm from 'perch' to 'guide low down', more than the 450 mm "
        "that are usual (estimate); look that it stays clear of stops and of what is hot; it "
        "touches the fork tube; it lies on the engine, as it does not with the stock bars."
    )


def test_a_line_lies_on_what_is_hot_and_on_what_presses_hard_but_not_as_its_maker_laid_it() -> None:
    machine = cruiser().machine
    hard, hot = machine.solids[0].name, "engine"
    assert machine.solids[0].role is Role.FORK_TUBE
    warm = replace(machine.solids[0], name=hot, role=Role.ENGINE)
    machine = replace(machine, solids=(*machine.solids, warm))

    def pressed(part: str, force: float) -> Touch:
        return Touch(part, Body.FRAME, ((0.0, 0.1),), force, 0.0, 0.0, 9.0, "x", (0, 0, 0), 0.0)

    cable = cruiser().line(CLUTCH)
    tied = next(
        one
        for one in cruiser().lines
        if any(isinstance(station.place, BarPlace) for station in one.stations)
    )

    def on(*now: Touch, was: tuple[Touch, ...] = (), line: Line = cable) -> tuple[str, ...]:
        return lies_on(machine, line, now, was)

    assert on(pressed(hot, 8.0), pressed(hard, 8.0)) == (hot,)
    assert on(pressed(hot, 0.3), pressed(hard, 60.0)) == (hard, hot)
    assert on(pressed(hot, 8.0), was=(pressed(hot, 7.5),)) == ()
    assert on(pressed(hard, 60.0), was=(pressed(hard, 60.0),)) == ()
    assert on(pressed(BAR, 60.0)) == (BAR,)
    assert on(pressed(BAR, 60.0), line=tied) == ()


def test_a_change_of_the_bar_says_what_it_spoils() -> None:
    trap = Judged(8.0, Grade.REJECT, 25.0)
    hand = Spoilt("hand_gap", "left hand", trap, trap, "left grip", "tank")
    lower = made(Means.LOWER_BAR, by=15.0, spoilt=(hand,))
    assert remedy_sentence(lower, "mm") == (
        "Take a bar 15 mm lower: margin +4 ± 4 mm; a hand at the left grip still has only 8 mm to "
        "the tank: the hand is trapped."
    )
    lid = Judged(math.radians(33.0), Grade.CAUTION, math.radians(30.0))
    level = Judged(math.radians(21.0), Grade.FINE, math.radians(30.0))
    tilted = Spoilt("reservoir_tilt", "front master cylinder", lid, level, unit="rad")
    assert tilted.worse
    rolled = made(Means.ROLL_BAR, by=math.radians(6.0), spoilt=(tilted,))
    assert "tilts 33° at its worst turn (21° as it is), 30° at most" in remedy_sentence(
        rolled, "mm"
    )


def test_what_was_chosen_and_is_gone_is_said() -> None:
    left = Remedies(CLUTCH, (made(Means.NEXT_SIZE), made(Means.MADE_UP, why_not="too long")))
    assert gone_sentence(left, None) == gone_sentence(left, "next_size") == ""
    assert gone_sentence(left, "reroute-drop:guide low") == (
        "What was chosen for the clutch cable (leave out 'guide low') cannot be done any more with "
        "the setup as it now is; the best there is stands in its place."
    )
    assert "(made up to length) cannot be done any more: too long;" in gone_sentence(
        left, "made_up"
    )
    none = Remedies(CLUTCH, (made(Means.MADE_UP, why_not="too long"),))
    assert gone_sentence(none, "made_up").endswith("choose anew.")


def test_a_guide_that_moves_says_from_where_to_where() -> None:
    moved = Moved("guide", (-20.0, 60.0, -90.0), (0.0, 60.0, -102.0))
    told = how_text(made(Means.REROUTE, change=Change.SHIFT, at="guide", moves=(moved,)), "mm")
    assert told == (
        "Move 'guide' 20 mm forward and 12 mm down: from 20 mm back, 60 mm to the left, 90 mm down "
        "to 60 mm to the left, 102 mm down, measured from where the steering axis meets the top "
        "clamp."
    )
    assert "13/16 in forward" in how_text(
        made(Means.REROUTE, change=Change.SHIFT, at="guide", moves=(moved,)), "in"
    )
