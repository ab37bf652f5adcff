"""What is said about a finding, word for word."""

from __future__ import annotations

import io
import json
import math
from dataclasses import replace

import pytest
from rich.console import Console

from barfit.analysis import Cause, LineFinding, OddSlack, Sureness, Verdict
from barfit.model import FoundSlack, Line, Setup
from barfit.report.results import results
from barfit.report.sentences import (
    CAUTION,
    sentence,
    snap_sentence,
    summary,
    travel_words,
    turn_words,
)
from barfit.report.sureness import found_slack_sentences
from barfit.report.table import check_table, compare_table


def rad(degrees: float) -> float:
    return math.radians(degrees)


def finding(verdict: Verdict, **changes: object) -> LineFinding:
    """A finding on a throttle cable of 795 mm that reaches with 21 mm, but for the changes."""
    plain = LineFinding(
        line="throttle pull cable",
        verdict=verdict,
        installed=795.0,
        slack=21.0,
        worst_turn=rad(-40),
        worst_travel=0.0,
        excess=48.0,
        taut_length=774.0,
        bend_length=760.0,
        needed=786.0,
        margin=9.0,
        least=12.0,
        target=25.0,
        max_excess=70.0,
        min_radius=64.0,
        radius_turn=rad(12),
        allowed_radius=50.0,
        tight_right=None,
        tight_left=None,
        snaps=(),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


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
            "Throttle pull cable reaches from lock to lock, with 21 mm to spare at full right "
            "lock.",
        ),
        (
            Verdict.REACHES,
            {"worst_turn": rad(12.4)},
            "Throttle pull cable reaches from lock to lock, with 21 mm to spare at 12° left.",
        ),
        (
            Verdict.MARGINAL,
            {"slack": 6.0, "margin": -6.0},
            "Throttle pull cable just reaches: at full right lock it keeps 6 mm to spare, less "
            "than the 12 mm it should.",
        ),
        (
            Verdict.MARGINAL,
            {"bend_length": 790.0, "needed": 802.0, "margin": -7.0},
            "Throttle pull cable reaches, but has nothing in hand for its bends; it takes 802 mm "
            "instead of 795 mm to open the bend.",
        ),
        (
            Verdict.UNCERTAIN,
            {"margin": -6.0, "sure": SURE},
            "Whether the throttle pull cable fits is uncertain: short by 6 ± 9 mm; measure the "
            "clutch perch and the line's length again before ordering.",
        ),
        (
            Verdict.UNCERTAIN,
            {"margin": 3.0, "sure": replace(SURE, causes=())},
            "Whether the throttle pull cable fits is uncertain: 3 ± 9 mm more than it needs.",
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
            "Throttle pull cable is too long: it hangs up to 92 mm slack, and more than 70 mm is a "
            "loop that snags.",
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
            "allowed; it takes 810 mm instead of 795 mm to open the bend.",
        ),
        (
            Verdict.BEND_TOO_TIGHT,
            {"min_radius": 38.0, "margin": math.nan, "why": "no length helps here"},
            "Throttle pull cable bends to a radius of 38 mm at 12° left, tighter than the 50 mm "
            "allowed; no length helps here.",
        ),
        (
            Verdict.SHORT,
            {**SHORT, "tight_right": rad(-24)},
            "Throttle pull cable goes tight at 24° right; at full right lock it is 31 mm short.",
        ),
        (
            Verdict.SHORT,
            {**SHORT, "tight_right": rad(-24), "tight_left": rad(33)},
            "Throttle pull cable goes tight at 24° right and 33° left; at full right lock it is "
            "31 mm short.",
        ),
        (
            Verdict.SHORT,
            {**SHORT, "tight_right": 0.0, "tight_left": 0.0, "excess": -10.0},
            "Throttle pull cable is too short even straight ahead; at full right lock it is 31 mm "
            "short.",
        ),
        (
            Verdict.SHORT,
            {**SHORT, "slack": -0.3, "tight_right": rad(-39.5)},
            "Throttle pull cable goes tight at 40° right; at full right lock it is less than 1 mm "
            "short.",
        ),
        (
            Verdict.SHORT,
            {**SHORT, "excess": -30.8},
            "Throttle pull cable is 31 mm short at every turn.",
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
    short = finding(Verdict.SHORT, **SHORT, worst_travel=-45.0, tight_right=0.0, tight_left=0.0)
    assert sentence(short, hose, "mm", cruiser.machine) == (
        "Front brake hose is 31 mm short with the fork extended."
    )
    tight = finding(Verdict.BEND_TOO_TIGHT, min_radius=38.0)
    assert "38 mm, tighter" in sentence(tight, hose, "mm", cruiser.machine)


def test_turn_and_suspension_together(cruiser: Setup, cable: Line) -> None:
    short = finding(Verdict.SHORT, **SHORT, worst_travel=-45.0, tight_right=rad(-24))
    assert "at full right lock with the fork extended it is 31 mm" in sentence(
        short, cable, "mm", cruiser.machine
    )


def test_inches(cruiser: Setup, cable: Line) -> None:
    short = finding(Verdict.SHORT, **SHORT, tight_right=rad(-24))
    assert "1 1/4 in short" in sentence(short, cable, "in", cruiser.machine)


def test_without_the_machine_an_angle_is_said(cable: Line) -> None:
    assert sentence(finding(Verdict.REACHES), cable, "mm").endswith("at 40° right.")


def test_words_for_angles_and_travel() -> None:
    assert turn_words(rad(24)) == "24° left"
    assert turn_words(rad(-39.6)) == "40° right"
    assert turn_words(0.0) == turn_words(rad(-0.4)) == "straight ahead"
    assert travel_words(75.0) == "with the fork compressed"
    assert travel_words(-45.0) == "with the fork extended"
    assert travel_words(0.0) == ""


def test_a_line_that_flips_over(cable: Line) -> None:
    assert snap_sentence(finding(Verdict.REACHES), cable) == ""
    flips = finding(Verdict.REACHES, snaps=(rad(12), rad(13), rad(20)))
    assert snap_sentence(flips, cable) == (
        "Throttle pull cable may flip over between 12° left and 20° left: turning back, it lies "
        "differently from the way out."
    )
    assert "at 12° left:" in snap_sentence(replace(flips, snaps=(rad(12),)), cable)


def test_the_summary_counts() -> None:
    fits, short = finding(Verdict.REACHES), finding(Verdict.SHORT, **SHORT)
    assert summary([fits, fits]) == "Every line fits."
    assert summary([fits]) == "The line fits."
    assert summary([short]) == "It does not fit."
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
        finding(Verdict.SHORT, **SHORT),
        finding(Verdict.BEND_TOO_TIGHT, line="clutch cable", needed=math.nan, margin=math.nan),
        finding(Verdict.REACHES, line="front brake hose", worst_travel=-45.0, min_radius=math.inf),
    ]
    text = rendered(check_table(cruiser, found))
    assert row(text, "throttle pull cable") == "short 795 838 -43 40° right 64 / 50"
    assert row(text, "clutch cable") == "bend too tight 795 – – 40° right 64 / 50"
    assert row(text, "front brake hose") == "reaches 795 786 +9 fork extended ∞ / 50"


def test_a_narrow_terminal_cuts_no_word_and_no_number(cruiser: Setup) -> None:
    tight = finding(Verdict.BEND_TOO_TIGHT, worst_travel=-45.0, installed=1150.0)
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
        snaps=(rad(12.0),),
        tight_left=rad(33.0),
    )
    data = json.loads(json.dumps(results(cruiser, [(True, [unknown])]), allow_nan=False))
    (bars,) = data["bars"]
    assert (bars["bars"], bars["bar"], bars["fits"]) == ("stock", "stock cruiser bend", False)
    (line,) = bars["lines"]
    assert line["verdict"] == "not known"
    assert line["slack"] is line["needed"] is line["min_radius"] is line["tight_right"] is None
    assert (line["tight_left"], line["flips_at"]) == (33.0, [12.0])
    assert line["why"] == "no rest shape was found"
    assert line["kind"] == "throttle_pull"
