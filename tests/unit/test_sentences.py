"""What is said about a finding, word for word."""

from __future__ import annotations

import io
import json
import math
from dataclasses import replace

import pytest
from made_findings import finding, rad
from rich.console import Console

from barfit.analysis import Cause, OddSlack, Sureness, Verdict
from barfit.analysis.clips import Clipped, Slide, SpanRoom
from barfit.analysis.snaps import Snap
from barfit.analysis.stops import LineStops, SteeringStop, SteeringStops, Stop, steering_stops
from barfit.analysis.window import Limit, Window
from barfit.model import FoundSlack, Line, Setup
from barfit.report.phrases import travel_words, turn_words
from barfit.report.results import Checked, results
from barfit.report.sentences import (
    CAUTION,
    clip_sentence,
    longest_sentence,
    sentence,
    snap_sentence,
    stays_sentence,
    stops_sentence,
    summary,
    tight_words,
    window_sentence,
)
from barfit.report.sureness import found_slack_sentences, order_sentence
from barfit.report.table import check_table, compare_table


def stops(right: float | None = None, left: float | None = None, travel: float = 0.0) -> LineStops:
    return LineStops(*(None if turn is None else Stop(turn, travel) for turn in (right, left)))


def window(needed: float = 838.0, longest: float = 870.0, limit: Limit = Limit.BOW) -> Window:
    ends = ("lever", "carburettor")
    return Window(needed, longest, limit, rad(20.0), 0.0, ends, 100.0, touch_judged=False)


@pytest.fixture
def cable(cruiser: Setup) -> Line:
    """Runs from the bar to the frame."""
    return cruiser.line("throttle pull cable")


@pytest.fixture
def hose(cruiser: Setup) -> Line:
    """Turns as one, but feels the suspension."""
    return cruiser.line("front brake hose")


SURE = Sureness(
    sigma=4.5,
    slack_sigma=4.0,
    before=8.0,
    margin_by=-2.0,
    causes=(
        Cause("clutch perch", "clutch perch, outlet forward", 2.4),
        Cause("clutch perch", "clutch perch, inboard", 2.1),
        Cause("line's length", "line's length", 1.8),
    ),
)
SHORT = {"slack": -31.0, "margin": -43.0, "needed": 838.0}


@pytest.mark.parametrize(
    ("verdict", "changes", "said"),
    [
        (
            Verdict.REACHES,
            {},
            "Throttle pull cable reaches from lock to lock: its least slack, at full right lock, "
            "is 21 mm.",
        ),
        (
            Verdict.REACHES,
            {"worst_turn": rad(12.4)},
            "Throttle pull cable reaches from lock to lock: its least slack, at 12° left, is "
            "21 mm.",
        ),
        (
            Verdict.MARGINAL,
            {"slack": 6.0, "margin": -6.0, "needed": 801.0},
            "Throttle pull cable just reaches: its slack at full right lock is 6 mm, less than the "
            "12 mm it should keep; it needs 6 mm more (801 mm altogether).",
        ),
        (
            Verdict.MARGINAL,
            {"bend_length": 790.0, "needed": 802.0, "margin": -7.0},
            "Throttle pull cable reaches, but has nothing in hand for its bends; it needs 7 mm "
            "more (802 mm altogether) to open the bend.",
        ),
        (
            Verdict.UNCERTAIN,
            {"margin": -6.0, "sure": SURE},
            "Whether the throttle pull cable fits is uncertain: it needs 6 ± 9 mm more; measure "
            "the clutch perch and the line's length again before ordering.",
        ),
        (
            Verdict.UNCERTAIN,
            {"margin": 3.0, "sure": replace(SURE, causes=())},
            "Whether the throttle pull cable fits is uncertain: it has 3 ± 9 mm more than it "
            "needs.",
        ),
        (
            Verdict.UNCERTAIN,
            {"margin": 3.0},
            "Whether the throttle pull cable fits is uncertain: how far its margin of 3 mm may be "
            "off is not known.",
        ),
        (
            Verdict.UNCERTAIN,
            {"sure": replace(SURE, odd=(OddSlack(rad(-40), 60.0, 21.0, 9.0),))},
            "Whether the throttle pull cable fits is uncertain: the slack found on the machine "
            "contradicts what the file says.",
        ),
        (
            Verdict.TOO_LONG,
            {"excess": 92.0},
            "Throttle pull cable is too long: it has up to 92 mm of slack, and more than 70 mm is "
            "a loop that snags.",
        ),
        (
            Verdict.BEND_TOO_TIGHT,
            {"min_radius": 38.0},
            "Throttle pull cable bends to a radius of 38 mm at 12° left, tighter than the 50 mm "
            "allowed.",
        ),
        (
            Verdict.BEND_TOO_TIGHT,
            {"min_radius": 38.0, "margin": -15.0, "needed": 810.0},
            "Throttle pull cable bends to a radius of 38 mm at 12° left, tighter than the 50 mm "
            "allowed; it needs 15 mm more (810 mm altogether) to open the bend.",
        ),
        (
            Verdict.BEND_TOO_TIGHT,
            {"min_radius": 38.0, "margin": math.nan, "why": "no length helps here"},
            "Throttle pull cable bends to a radius of 38 mm at 12° left, tighter than the 50 mm "
            "allowed; no length helps here.",
        ),
        (
            Verdict.SHORT,
            {**SHORT, "stops": stops(rad(-24))},
            "Throttle pull cable needs 43 mm more (838 mm altogether): it goes tight at 24.0° "
            "right, and its slack at full right lock is -31 mm.",
        ),
        (
            Verdict.SHORT,
            {**SHORT, "stops": stops(rad(-24), rad(33))},
            "Throttle pull cable needs 43 mm more (838 mm altogether): it goes tight at 24.0° "
            "right and 33.0° left, and its slack at full right lock is -31 mm.",
        ),
        (
            Verdict.SHORT,
            {**SHORT, "stops": stops(0.0, 0.0), "excess": -10.0},
            "Throttle pull cable needs 43 mm more (838 mm altogether): it is tight even straight "
            "ahead, and its slack at full right lock is -31 mm.",
        ),
        (
            Verdict.SHORT,
            {**SHORT, "slack": -0.3, "stops": stops(rad(-39.5))},
            "Throttle pull cable needs 43 mm more (838 mm altogether): it goes tight at 39.5° "
            "right, and its slack at full right lock is just below 0 mm.",
        ),
        (
            Verdict.SHORT,
            {**SHORT, "excess": -30.8},
            "Throttle pull cable needs 43 mm more (838 mm altogether): its slack at every turn is "
            "-31 mm.",
        ),
        (
            Verdict.NOT_KNOWN,
            {"slack": math.nan, "why": "no rest shape was found at 3 of 81 poses"},
            "Whether the throttle pull cable reaches is not known: no rest shape was found at 3 of "
            "81 poses.",
        ),
    ],
)
def test_each_verdict_in_a_sentence(
    cruiser: Setup, cable: Line, verdict: Verdict, changes: dict[str, object], said: str
) -> None:
    assert sentence(finding(verdict, **changes), cable, "mm", cruiser.machine) == said


def test_a_line_that_only_feels_the_suspension(cruiser: Setup, hose: Line) -> None:
    short = finding(Verdict.SHORT, **SHORT, worst_travel=-45.0, stops=stops(0.0, 0.0))
    assert sentence(short, hose, "mm", cruiser.machine) == (
        "Front brake hose needs 43 mm more (838 mm altogether): its slack with the fork extended "
        "is -31 mm."
    )
    tight = finding(Verdict.BEND_TOO_TIGHT, min_radius=38.0)
    assert "38 mm, tighter" in sentence(tight, hose, "mm", cruiser.machine)


def test_turn_and_suspension_together(cruiser: Setup, cable: Line) -> None:
    short = finding(Verdict.SHORT, **SHORT, worst_travel=-45.0, stops=stops(rad(-24)))
    assert "slack at full right lock with the fork extended is -31 mm" in sentence(
        short, cable, "mm", cruiser.machine
    )


def test_inches(cruiser: Setup, cable: Line) -> None:
    short = finding(Verdict.SHORT, **SHORT, stops=stops(rad(-24)))
    said = sentence(short, cable, "in", cruiser.machine)
    assert "needs 1 11/16 in more (33 in altogether)" in said
    assert "is -1 1/4 in." in said


def test_without_the_machine_an_angle_is_said(cable: Line) -> None:
    assert sentence(finding(Verdict.REACHES), cable, "mm").endswith("at 40° right, is 21 mm.")


def test_words_for_angles_and_travel() -> None:
    assert turn_words(rad(24)) == "24° left"
    assert turn_words(rad(-39.6)) == "40° right"
    assert turn_words(0.0) == turn_words(rad(-0.4)) == "straight ahead"
    assert travel_words(75.0) == "with the fork compressed"
    assert travel_words(-45.0) == "with the fork extended"
    assert travel_words(0.0) == ""


def test_a_line_that_flips_over(cable: Line) -> None:
    assert snap_sentence(finding(Verdict.REACHES), cable) == ""
    flips = finding(Verdict.REACHES, snaps=(Snap(rad(12), rad(20), 0.0),))
    assert snap_sentence(flips, cable) == (
        "Throttle pull cable may snap over between 12° left and 20° left: turning back, it lies "
        "differently from the way out."
    )
    assert "at 12° left:" in snap_sentence(
        replace(flips, snaps=(Snap(rad(12), rad(12), 0.0),)), cable
    )


def test_a_line_that_snaps_at_two_travels(cruiser: Setup, cable: Line) -> None:
    snaps = (
        Snap(rad(-9), rad(-3), -45.0),
        Snap(rad(12), rad(20), -45.0),
        Snap(rad(5), rad(5), 75.0),
    )
    assert snap_sentence(finding(Verdict.REACHES, snaps=snaps), cable, cruiser.machine).startswith(
        "Throttle pull cable may snap over between 9° right and 3° right and between 12° left and "
        "20° left with the fork extended and at 5° left with the fork compressed: "
    )


def test_a_loose_line_names_the_longest_that_is_not(cruiser: Setup, cable: Line) -> None:
    loose = finding(Verdict.TOO_LONG, excess=92.0, window=window(700.0, 760.0))
    assert sentence(loose, cable, "mm", cruiser.machine) == (
        "Throttle pull cable is too long: it has up to 92 mm of slack, and more than 70 mm is "
        "a loop that snags; over 760 mm it hangs more than 100 mm from its path."
    )


def test_where_no_length_is_sensible(cable: Line) -> None:
    assert window_sentence(finding(Verdict.REACHES, window=window()), cable, "mm") == ""
    none = finding(Verdict.REACHES, window=window(838.0, 830.0, Limit.LOOP))
    assert window_sentence(none, cable, "mm") == (
        "No length of the throttle pull cable suits every pose: long enough for the tightest, at "
        "20° left it makes a loop between 'lever' and 'carburettor'. Guide it nearer to the "
        "steering axis there, or clip up its slack."
    )


def test_what_stops_the_steering(cruiser: Setup) -> None:
    right = SteeringStop("clutch cable", rad(-28.02), 0.0)
    left = SteeringStop("front brake hose", rad(24.31), -45.0)
    assert stops_sentence(SteeringStops(None, None)) == ""
    assert stops_sentence(SteeringStops(right, left), cruiser.machine) == (
        "The steering is stopped at 28.0° right by the clutch cable and at 24.3° left by the front "
        "brake hose with the fork extended."
    )
    assert stops_sentence(SteeringStops(right, replace(right, turn=rad(30.0)))) == (
        "The steering is stopped at 28.0° right and 30.0° left by the clutch cable."
    )
    part = replace(left, travel=-20.0)
    assert "with the fork partly extended" in stops_sentence(
        SteeringStops(None, part), cruiser.machine
    )
    doubtful = replace(right, certain=False)
    assert "right by the clutch cable (uncertain)" in stops_sentence(
        SteeringStops(doubtful, left), cruiser.machine
    )
    assert stops_sentence(SteeringStops(replace(doubtful, turn=0.0), left)) == (
        "Whether the steering can be turned is uncertain: the clutch cable may be too short "
        "straight ahead."
    )
    assert stops_sentence(SteeringStops(replace(right, turn=0.0), left)) == (
        "The steering cannot be turned: the clutch cable is too short straight ahead."
    )


def test_a_cable_goes_tight_first_and_stops_nothing(cruiser: Setup) -> None:
    """Its conduit leaves its seat and works the throttle; the bar turns on."""
    pull = SteeringStop("throttle pull cable", rad(-18.7), 0.0, pulled=True)
    hose = SteeringStop("front brake hose", rad(24.31), -45.0)
    assert stops_sentence(SteeringStops(pull, replace(pull, turn=rad(9.6)))) == (
        "The throttle pull cable goes tight first at 18.7° right and 9.6° left."
    )
    assert stops_sentence(SteeringStops(pull, hose), cruiser.machine) == (
        "The throttle pull cable goes tight first at 18.7° right; the steering is stopped at 24.3° "
        "left by the front brake hose with the fork extended."
    )
    assert stops_sentence(SteeringStops(replace(pull, turn=0.0), hose)) == (
        "The throttle pull cable is too short even straight ahead."
    )
    unsure = replace(pull, turn=0.0, certain=False)
    assert "may be too short even straight ahead" in stops_sentence(SteeringStops(unsure, hose))
    short = finding(Verdict.SHORT, stops=stops(None, rad(24.3)))
    assert steering_stops([short], cruiser.lines).left == SteeringStop(
        short.line, rad(24.3), 0.0, pulled=True
    )


def test_found_slack_that_is_off_by_one_amount_is_from_before_a_new_length(cable: Line) -> None:
    found = replace(cable, found_slack=FoundSlack(right=12.0, straight=30.0))
    before = (OddSlack(rad(-40), 12.0, 61.0, 9.0), OddSlack(0.0, 30.0, 81.0, 9.0))
    changed = finding(Verdict.UNCERTAIN, sure=replace(SURE, sigma=8.0, odd=before))
    advice = (
        "the slack found is about 50 mm less than expected wherever it was looked at, so its "
        "length was probably changed since; remove found_slack or give what is found now."
    )
    assert sentence(changed, found, "mm") == (
        f"Whether the throttle pull cable fits is uncertain: {advice}"
    )
    assert found_slack_sentences(changed, found, "mm") == []
    short = replace(changed, verdict=Verdict.SHORT)
    assert found_slack_sentences(short, found, "mm") == [f"Throttle pull cable: {advice}"]
    # not where one lock agrees, where the locks disagree, or where one is not known
    thrice = replace(found, found_slack=FoundSlack(right=12.0, straight=30.0, left=9.0))
    assert len(found_slack_sentences(changed, thrice, "mm")) == 2
    for other in (40.0, math.nan):
        unlike = replace(SURE, sigma=8.0, odd=(before[0], replace(before[1], expected=other)))
        assert len(found_slack_sentences(replace(changed, sure=unlike), found, "mm")) == 2


def test_tight_angles_share_a_fork_position() -> None:
    assert tight_words([Stop(rad(-24), -45.0), Stop(rad(33), -45.0)]) == (
        "24.0° right and 33.0° left with the fork extended"
    )
    assert tight_words([Stop(rad(-24), 0.0), Stop(rad(33), 75.0)]) == (
        "24.0° right and 33.0° left with the fork compressed"
    )


def test_a_clip_that_would_have_to_slide(cable: Line) -> None:
    spans = (
        SpanRoom(("lever", "clip"), 300.0, 312.0),
        SpanRoom(("clip", "carburettor"), 400.0, 380.0),
    )
    assert clip_sentence(finding(Verdict.SHORT), cable, "mm") == ""
    cured = Clipped(spans, (Slide("clip", 12.0, "carburettor"),), 0.0)
    assert clip_sentence(finding(Verdict.SHORT, clipped=cured), cable, "mm") == (
        "Throttle pull cable is short between 'lever' and 'clip' and has enough elsewhere: 'clip' "
        "has to grip it 12 mm nearer to 'carburettor'."
    )
    moved = finding(Verdict.SHORT, clipped=cured, margin=-12.0, slack=-3.0, needed=807.0)
    said = sentence(moved, cable, "mm")
    assert said.startswith(
        "Throttle pull cable needs its clip 'clip' moved by 12 mm, not renewing: it is tight"
    )
    assert "807" not in said  # no length to order where none is needed
    unsure = replace(moved, sure=replace(SURE, sigma=40.0))
    assert order_sentence(unsure, cable, "mm") == ""
    twice = Clipped(spans, (Slide("a", 5.0, "b"), Slide("b", 9.0, "c")), 0.0)
    told = sentence(replace(moved, clipped=twice), cable, "mm")
    assert "needs its clips moved by up to 9 mm, not renewing" in told
    spans = (spans[0], replace(spans[1], needed=395.0))
    short = Clipped(spans, (), 7.0)
    assert clip_sentence(finding(Verdict.SHORT, clipped=short), cable, "mm") == (
        "What the throttle pull cable needs more is missing between 'lever' and 'clip'; sliding "
        "its clips would win only 5 mm of it."
    )
    both = Clipped((spans[0], replace(spans[1], needed=430.0)), (), 42.0)
    assert clip_sentence(finding(Verdict.SHORT, clipped=both), cable, "mm") == (
        "What the throttle pull cable needs more is missing between 'lever' and 'clip' (12 mm) "
        "and between 'clip' and 'carburettor' (30 mm); sliding its clips would win nothing."
    )


def test_a_line_over_its_longest_that_may_stay_says_why(cable: Line) -> None:
    """Two numbers that contradict each other never stand side by side without a word."""
    over = finding(Verdict.REACHES, window=window(700.0, 760.0))
    said = (
        "Throttle pull cable is longer than it need be: over 760 mm it hangs more than 100 mm from "
        "its path at 20° left. It may stay all the same, because the next size down, 50 mm "
        "shorter, would be too short."
    )
    assert stays_sentence(over, cable, "mm") == said
    assert longest_sentence(over, cable, "mm") == ""
    roomy = replace(over, margin=55.0)
    assert "would leave less than the 25 mm to aim for" in stays_sentence(roomy, cable, "mm")
    doubt = replace(over, verdict=Verdict.UNCERTAIN)
    assert "It may still be the right size all the same" in stays_sentence(doubt, cable, "mm")
    loose = replace(over, verdict=Verdict.TOO_LONG)
    inside = finding(Verdict.REACHES, window=window(700.0, 800.0))
    for other in (loose, inside, finding(Verdict.REACHES)):
        assert stays_sentence(other, cable, "mm") == ""
    assert longest_sentence(inside, cable, "mm").startswith("Over 800 mm it hangs")


def test_a_length_to_order_that_is_known_badly_is_said(cable: Line) -> None:
    vague = replace(SURE, sigma=29.0)
    short = finding(Verdict.SHORT, **SHORT, sure=vague)
    assert order_sentence(short, cable, "mm") == (
        "Throttle pull cable is surely too short as it goes now, but what it lacks is only known "
        "to ± 58 mm; measure the clutch perch and the line's length again before ordering."
    )
    unknown = replace(short, sure=replace(SURE, sigma=math.nan))
    assert order_sentence(unknown, cable, "mm") == (
        "Throttle pull cable is surely too short as it goes now, but how far off the 838 mm may be "
        "is not known."
    )
    far = replace(short, margin=-400.0, sure=replace(SURE, sigma=26.0))
    assert "± 52 mm" in order_sentence(far, cable, "mm")  # they are sold in steps of 50 mm
    well = replace(short, sure=SURE)
    reaches = finding(Verdict.REACHES, sure=vague)
    uncertain = finding(Verdict.UNCERTAIN, **SHORT, sure=vague)  # its own sentence says it
    for other in (well, reaches, uncertain):
        assert order_sentence(other, cable, "mm") == ""


def test_the_summary_counts() -> None:
    fits, short = finding(Verdict.REACHES), finding(Verdict.SHORT, **SHORT)
    assert summary([fits, fits]) == "Every line fits."
    assert summary([fits]) == "The line fits."
    assert summary([short]) == "The line does not fit."
    assert summary([short, short]) == "None of 2 lines fits as it is."
    assert summary([fits, short, fits]) == "1 of 3 lines does not fit."
    assert summary([fits, short, short]) == "2 of 3 lines do not fit."


def test_the_caution_names_who_decides() -> None:
    assert "service manual" in CAUTION
    assert "local law" in CAUTION
    assert len(CAUTION) < 250


def test_a_summary_counts_what_is_uncertain_apart() -> None:
    fits, short, doubt = (finding(v) for v in (Verdict.REACHES, Verdict.SHORT, Verdict.UNCERTAIN))
    assert summary([fits, doubt]) == "Whether one line fits is uncertain, the rest do."
    assert summary([doubt, doubt]) == "Whether 2 of 2 lines fit is uncertain."
    assert summary([fits, short, doubt, doubt]) == (
        "1 of 4 lines does not fit, and whether 2 more do is uncertain."
    )


def test_what_found_slack_did_is_told(cable: Line) -> None:
    found = replace(cable, found_slack=FoundSlack(right=12.0))
    (said,) = found_slack_sentences(finding(Verdict.REACHES, sure=SURE), found, "mm")
    assert said == (
        "Throttle pull cable: the slack found on the machine moves its margin by -2 mm and narrows "
        "it from ± 16 mm to ± 9 mm."
    )
    assert found_slack_sentences(finding(Verdict.REACHES, sure=SURE), cable, "mm") == []
    odd = replace(SURE, sigma=8.0, odd=(OddSlack(rad(-40), 60.0, 21.0, 9.0),))
    (said,) = found_slack_sentences(finding(Verdict.UNCERTAIN, sure=odd), found, "mm")
    assert said == (
        "Throttle pull cable: 60 mm of slack was found at full right lock, where 21 ± 18 mm would "
        "be expected. Either that or something the file says of this line is wrong; it corrects "
        "nothing until then."
    )
    unknown = replace(odd, odd=(OddSlack(0.0, 60.0, math.nan, math.nan),))
    (said,) = found_slack_sentences(finding(Verdict.UNCERTAIN, sure=unknown), found, "mm")
    assert "straight ahead cannot be used" in said


def test_a_margin_in_the_table_has_its_band(cruiser: Setup) -> None:
    text = rendered(check_table(cruiser, [finding(Verdict.REACHES, sure=SURE)]))
    assert row(text, "throttle pull cable") == "reaches 795 786 +9 ± 9 40° right 64 / 50"


def rendered(table: object, width: int = 120) -> str:
    page = io.StringIO()
    Console(width=width, file=page).print(table)
    return page.getvalue()


def row(text: str, line: str) -> str:
    """What stands beside a line's name, with single spaces."""
    (found,) = (row for row in text.splitlines() if row.strip().startswith(line))
    return " ".join(found.split()).removeprefix(line).strip()


def test_the_table_has_what_one_asks_for(cruiser: Setup) -> None:
    found = [
        finding(Verdict.SHORT, **SHORT, window=window()),
        finding(Verdict.BEND_TOO_TIGHT, line="clutch cable", needed=math.nan, margin=math.nan),
        finding(Verdict.REACHES, line="front brake hose", worst_travel=-45.0, min_radius=math.inf),
    ]
    text = rendered(check_table(cruiser, found))
    assert row(text, "throttle pull cable") == "short 795 838–870 -43 40° right 64 / 50"
    assert row(text, "clutch cable") == "bend too tight 795 – – 12° left 64 / 50"
    assert row(text, "front brake hose") == "reaches 795 786 +9 fork extended ∞ / 50"


def test_a_narrow_terminal_cuts_no_word_and_no_number(cruiser: Setup) -> None:
    tight = finding(
        Verdict.BEND_TOO_TIGHT, worst_travel=-45.0, installed=1150.0, window=window(1138.0, 1170.0)
    )
    for table in (check_table(cruiser, [tight]), compare_table([tight], [tight], "mm")):
        text = rendered(table, width=80)
        assert "bend too tight" in text
        assert "1150" in text
        assert "…" not in text


def test_inches_in_the_table(cruiser: Setup) -> None:
    text = rendered(check_table(replace(cruiser, unit="in"), [finding(Verdict.REACHES)]))
    assert "31 5/16" in text
    assert "allowed, in" in text


def test_stock_and_new_side_by_side() -> None:
    text = rendered(
        compare_table([finding(Verdict.REACHES)], [finding(Verdict.SHORT, **SHORT)], "mm")
    )
    assert row(text, "throttle pull cable") == "795 reaches +9 short -43 838"


def test_results_are_json_without_gaps_in_meaning(cruiser: Setup) -> None:
    unknown = finding(
        Verdict.NOT_KNOWN,
        slack=math.nan,
        needed=math.nan,
        margin=math.nan,
        min_radius=math.inf,
        why="no rest shape was found",
        snaps=(Snap(rad(12.0), rad(14.0), -45.0),),
        stops=stops(None, rad(33.0), -45.0),
    )
    data = json.loads(json.dumps(results(cruiser, [Checked(True, [unknown], [])]), allow_nan=False))
    (bars,) = data["bars"]
    assert (bars["bars"], bars["bar"], bars["fits"]) == ("stock", "stock cruiser bend", False)
    (line,) = bars["lines"]
    assert line["verdict"] == "not known"
    assert line["slack"] is line["needed"] is line["min_radius"] is line["tight_right"] is None
    assert line["tight_left"] == {"turn": 33.0, "travel": -45.0}
    assert line["snaps"] == [{"from": 12.0, "to": 14.0, "travel": -45.0}]
    assert bars["steering_stops"]["left"] == {"line": line["line"], "turn": 33.0, "travel": -45.0}
    assert bars["steering_stopped"] == (
        "The throttle pull cable goes tight first at 33.0° left with the fork extended."
    )
    assert line["why"] == "no rest shape was found"
    assert line["kind"] == "throttle_pull"


def test_what_decides_a_length_is_named(cable: Line) -> None:
    """Slack of -11 mm and 12 mm to keep make 23 mm: what more is needed is for the bends."""
    bends = finding(
        Verdict.SHORT, slack=-11.0, margin=-30.0, needed=825.0, taut_length=806.0, bend_length=813.0
    )
    assert "needs 30 mm more (825 mm altogether, for its bends)" in sentence(bends, cable, "mm")
    taut = replace(bends, bend_length=0.0)
    assert "needs 30 mm more (825 mm altogether):" in sentence(taut, cable, "mm")


def test_a_line_a_hair_over_its_longest_length_is_not_called_longer_than_it_need_be(
    cable: Line,
) -> None:
    near = finding(Verdict.REACHES, installed=795.0, margin=20.0, window=window(775.0, 794.0))
    assert stays_sentence(near, cable, "mm").startswith(
        "Throttle pull cable is as long as is sensible: over 794 mm it hangs"
    )
    over = replace(near, window=window(775.0, 780.0))
    assert "is longer than it need be" in stays_sentence(over, cable, "mm")
