"""Alternatives held against each other: each has the numbers of the setup in which it is in use."""

from __future__ import annotations

import math
from dataclasses import MISSING, fields, replace

import pytest

from barfit import compare, edits, scenario
from barfit.analysis import Cancelled, LineFinding, Verdict, findings, sweep
from barfit.compare import BarsNumbers, Trial, Trials, WayNumbers
from barfit.compare.words import (
    ROWS,
    lacking_text,
    least_sentence,
    need_words,
    rank_text,
    stay_text,
    way_text,
)
from barfit.model import Setup
from barfit.trade import trade

CLUTCH = "clutch cable"
OTHER = "straight to the head tube"


@pytest.fixture(scope="module")
def twin() -> Setup:
    """The old twin with three of its lines; the clutch cable has two ways to go."""
    whole = scenario.load(next(p for p in scenario.bundled() if p.stem == "old-twin"))
    wanted = (CLUTCH, "speedometer cable", "front brake cable")
    return replace(whole, lines=tuple(line for line in whole.lines if line.name in wanted))


@pytest.fixture(scope="module")
def trials(twin: Setup) -> dict[str, Trial]:
    """Both ways of the clutch cable, judged."""
    return {name: compare.judge(one) for name, one in compare.ways(twin, CLUTCH)}


def numbers(trials: dict[str, Trial], name: str) -> WayNumbers:
    return compare.way_numbers(trials[name], CLUTCH, name, name != OTHER)


def test_a_way_has_the_numbers_of_the_setup_where_the_line_goes_that_way(
    twin: Setup, trials: dict[str, Trial]
) -> None:
    """From an edit, a sweep and findings of its own, without the module under test."""
    there = edits.use_routing(twin, CLUTCH, OTHER)
    swept = sweep(there)
    found = findings(swept)
    own = next(one for one in found if one.line == CLUTCH)
    way = numbers(trials, OTHER)
    assert (way.verdict, way.needed, way.margin) == (own.verdict, own.needed, own.margin)
    assert (way.slack, way.min_radius) == (own.slack, own.min_radius)
    assert way.two_sigma == own.sure.two_sigma
    assert way.stops == own.stops
    assert way.touches == tuple(touch.part for touch in own.touches)
    figures = trade(swept, sweep(there, stock=True), found)
    bend = next(one for one in figures.cables if one.line == CLUTCH).total_bend.value
    assert way.total_bend == bend
    # and it matters which way it goes
    first = numbers(trials, "behind the top clamp")
    assert way.needed < first.needed - 5.0
    assert way.total_bend < first.total_bend - math.radians(10)


def test_lines_that_go_as_before_keep_their_numbers(trials: dict[str, Trial]) -> None:
    """But for what the solver leaves: lines go through it in batches, and the batch differs."""
    a, b = (trial.finding("speedometer cable") for trial in trials.values())
    assert a.margin == pytest.approx(b.margin, abs=1e-3)


def test_what_no_number_hangs_on_is_not_judged_again(twin: Setup, trials: dict[str, Trial]) -> None:
    kept = Trials()
    for trial in trials.values():
        kept.keep(trial)
    renamed = edits.rename_routing(twin, CLUTCH, "behind the top clamp", "as it came")
    assert kept.get(renamed) is trials["behind the top clamp"]
    named = edits.rename_bars(edits.use_routing(twin, CLUTCH, OTHER), "pulled back", "first")
    assert kept.get(named) is trials[OTHER]
    longer = edits.change_line(twin, CLUTCH, length=930.0)
    assert kept.get(longer) is None
    assert kept.get(edits.use_other_bars(twin, "high and wide")) is None


def test_a_judgement_tells_how_far_it_is_and_can_be_given_up(twin: Setup) -> None:
    told: list[float] = []
    with pytest.raises(Cancelled):
        compare.judge(twin, told.append, lambda: len(told) > 2)
    assert told == sorted(told)
    assert 0.0 < told[-1] < 1.0


def test_the_better_of_two_is_told_number_by_number(trials: dict[str, Trial]) -> None:
    used, other = numbers(trials, "behind the top clamp"), numbers(trials, OTHER)
    winner = compare.better(used, other)
    assert set(winner) == set(ROWS)
    band = compare.doubt(used, other)
    apart = other.margin - used.margin
    assert 0.0 < band < math.hypot(used.two_sigma, other.two_sigma)  # the line is the same
    assert winner["margin"] == winner["slack"] == (2 if apart >= band else 0)
    assert winner["total_bend"] == 2
    assert winner["needed"] == winner["verdict"] == 0  # a length is not good or bad; both uncertain
    sure = replace(used, doubts=()), replace(other, doubts=())
    assert compare.better(*sure)["margin"] == 2
    assert compare.better(*reversed(sure))["margin"] == 1
    near = replace(used, margin=used.margin + 0.4, slack=used.slack + 0.4)
    assert set(compare.better(used, near).values()) == {0}
    lost = replace(other, margin=math.nan, total_bend=math.nan, verdict=Verdict.NOT_KNOWN)
    winner = compare.better(used, lost)
    assert (winner["margin"], winner["total_bend"], winner["verdict"]) == (0, 0, 1)
    long = replace(other, verdict=Verdict.TOO_LONG, margin=90.0, slack=90.0)
    assert compare.better(used, long)["slack"] == 0  # more slack is no gain on what is too long
    deeper = replace(used, rejected=("It runs into the wheel at 16° right.",), depth=12.0)
    less = replace(deeper, depth=3.0)
    assert compare.better(deeper, less)["rejected"] == 2
    assert way_text(deeper, "rejected", "mm") == "1 of its figures, 12 mm deep"
    rubbing = replace(used, rubs=("head tube",))
    assert compare.better(rubbing, used)["rubs"] == 2
    assert way_text(rubbing, "rubs", "mm") == "rubs on the head tube"
    assert way_text(lost, "total_bend", "mm") == "–"


def test_of_two_ways_only_what_they_do_not_share_can_tell_them_apart(
    trials: dict[str, Trial],
) -> None:
    """By hand: the length (50 mm each way) cancels, 6 and 8 mm of places of their own do not."""
    plain = replace(numbers(trials, OTHER), verdict=Verdict.UNCERTAIN, two_sigma=130.0)
    one = replace(plain, margin=43.0, slack=55.0, doubts=(("length", 50.0), ("here", 6.0)))
    other = replace(plain, margin=34.0, slack=46.0, doubts=(("length", 50.0), ("there", 8.0)))
    assert compare.doubt(one, other) == pytest.approx(20.0)
    assert compare.better(one, other)["margin"] == compare.better(one, other)["slack"] == 0
    assert compare.alike(one, other) == {"margin", "slack"}
    far = replace(other, margin=22.0, slack=34.0)
    assert compare.better(one, far)["margin"] == 1
    assert not compare.alike(one, far)
    against = replace(other, doubts=(("length", -50.0),))  # what moves them apart does not cancel
    assert compare.doubt(one, against) == pytest.approx(2.0 * math.hypot(100.0, 6.0))
    lost = replace(other, two_sigma=math.nan)
    assert math.isnan(compare.doubt(one, lost))
    assert compare.better(one, replace(lost, margin=-200.0))["margin"] == 0


def column(name: str, verdicts: list[Verdict], margins: list[float], why: str = "") -> BarsNumbers:
    """Made up: one finding for each verdict."""
    made = compare.bars_numbers(_made(verdicts, margins, why), name, used=name == "a")
    assert made.stay + made.change + made.move + made.unsure == len(verdicts)
    return made


def _made(verdicts: list[Verdict], margins: list[float], why: str) -> Trial:
    needed = [field.name for field in fields(LineFinding) if field.default is MISSING]
    blank = dict.fromkeys(set(needed) - {"line", "verdict", "margin"}, 0.0)
    found = tuple(
        LineFinding(line=f"line {at}", verdict=verdict, margin=margin, **blank)
        for at, (verdict, margin) in enumerate(zip(verdicts, margins, strict=True))
    )
    rejected = (("", why),) if why else ()
    return Trial(None, found, (0.0,) * len(found), rejected)  # type: ignore[arg-type]


def test_the_bars_that_need_least_are_ranked_first() -> None:
    reaches, short, rubs = Verdict.REACHES, Verdict.SHORT, Verdict.RUBS
    a = column("a", [short, short, rubs], [-30.0, -20.0, 5.0])
    b = column("b", [reaches, short, reaches], [10.0, -200.0, 5.0])
    c = column("c", [reaches, short, reaches], [10.0, -40.0, 5.0])
    d = column("d", [reaches, reaches, reaches], [10.0, 40.0, 5.0], "The bars foul the tank.")
    ranks = [one.rank for one in compare.ranked([a, b, c, d])]
    assert ranks == [3, 2, 1, 4]  # fewest lines first, then what they lack; not acceptable last
    assert need_words(a) == "2 change, 1 move"
    assert a.lacking == 50.0
    assert not d.fits
    assert least_sentence(compare.ranked([a, b, c, d])) == (
        "'d' is not acceptable as it is: the bars foul the tank. 'c' needs least: 2 of 3 stay."
    )
    twins = compare.ranked([b, replace(b, name="e"), a])
    assert [one.rank for one in twins] == [1, 1, 3]
    assert least_sentence(twins) == "'b' and 'e' need least: 2 of 3 stay."
    assert least_sentence(twins[:2]) == "All of these bars need as much."
    alone = compare.ranked([d, replace(d, name="f", stay=2, change=1)])
    assert least_sentence(alone).startswith("None of these bars is acceptable as it is. ")


def test_bars_with_a_line_that_strikes_rank_after_those_without() -> None:
    """A hose that ran into the wheel counted for nothing where its length was in doubt."""
    short = column("safe", [Verdict.SHORT, Verdict.SHORT], [-30.0, -20.0])
    strikes = _made([Verdict.UNCERTAIN, Verdict.REACHES], [43.0, 20.0], "")
    why = "Line 0 runs into the wheel at 19° right; it should keep 15 mm from it."
    strikes = replace(strikes, rejected=(("line 0", why),))
    bad = compare.bars_numbers(strikes, "bad", used=False)
    assert not bad.acceptable
    assert [one.rank for one in compare.ranked([bad, short])] == [2, 1]
    told = least_sentence(compare.ranked([bad, short]))
    assert told.startswith("'bad' is not acceptable as it is: the line 0 runs into the wheel at 19")
    assert rank_text(compare.ranked([bad, short])[0]) == "2, not acceptable"


def test_what_is_in_doubt_is_not_said_to_lack_nothing() -> None:
    """ "0 of 1 stay" beside a margin of +43 and "Lacking 0" read as a contradiction."""
    low = column("low", [Verdict.UNCERTAIN], [43.0])
    high = column("high", [Verdict.SHORT], [-43.0])
    assert stay_text(low) == "0–1 of 1"
    assert lacking_text(low, "mm") == "uncertain"
    assert lacking_text(high, "mm") == "43 mm"
    told = least_sentence(compare.ranked([low, high]))
    assert "0 of 1 surely stay, 1 may or may not" in told


def test_what_is_not_known_never_wins() -> None:
    known = column("a", [Verdict.SHORT], [-500.0])
    lost = column("b", [Verdict.SHORT], [math.nan])
    assert [one.rank for one in compare.ranked([lost, known])] == [2, 1]
    assert math.isnan(lost.lacking)


def test_a_bend_that_no_length_opens_is_no_want_of_length() -> None:
    bent = column("a", [Verdict.BEND_TOO_TIGHT, Verdict.BEND_TOO_TIGHT], [math.nan, -20.0])
    assert (bent.move, bent.change, bent.lacking) == (1, 1, 20.0)


def test_a_line_that_reaches_and_is_not_acceptable_does_not_stay() -> None:
    trial = _made([Verdict.REACHES, Verdict.REACHES], [5.0, 5.0], "")
    trial = replace(trial, rejected=(("line 1", "No free play is left."),))
    made = compare.bars_numbers(trial, "a", used=True)
    assert (made.stay, made.change, made.fits) == (1, 1, False)
    assert made.refused == (("line 1", "No free play is left."),)
    assert made.rejected == ()  # another line cures it: the bars are not at fault


def test_every_set_of_bars_is_the_setup_with_those_as_the_new_ones(twin: Setup) -> None:
    found = dict(compare.bars(twin))
    assert list(found) == ["pulled back", "a little higher", "high and wide"]
    assert found["pulled back"] is twin
    for name, one in found.items():
        assert one.new.title == name
        assert one.lines == twin.lines
