"""The short facts of a line, as a panel lists them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from made_findings import finding, rad

from barfit.analysis import Cause, LineFinding, LineTorque, Sureness, Twist, Verdict
from barfit.analysis.blame import Blame
from barfit.analysis.clips import Clipped, SpanRoom
from barfit.analysis.snaps import Snap
from barfit.analysis.stops import LineStops, Stop
from barfit.analysis.sweep import LineSweep
from barfit.analysis.touching import Pinch, Touch
from barfit.analysis.window import Limit, Window
from barfit.model import Body, FoundSlack, Hold, Line, Setup
from barfit.report.facts import Fact, Section, chief_facts, fork_only, further_facts, pose_text
from barfit.report.sentences import longest_sentence, steering_sentence

POINT = (0.0, 0.0, 0.0)


@pytest.fixture
def cable(cruiser: Setup) -> Line:
    return cruiser.lines[0]


@pytest.fixture
def plain(cable: Line) -> LineFinding:
    return replace(finding(Verdict.REACHES, worst_travel=-40.0), line=cable.name)


def window(longest: float = 870.0, blame: Blame | None = None) -> Window:
    needed = math.nan if blame else 786.0
    ends = ("lever", "carburettor")
    return Window(
        needed, longest, Limit.BOW, rad(20.0), 0.0, ends, 100.0, touch_judged=False, blame=blame
    )


def facts(sections: tuple[Section, ...]) -> dict[str, str]:
    return {fact.term: fact.value for section in sections for fact in section.facts}


def fact(sections: tuple[Section, ...], term: str) -> Fact:
    return next(f for section in sections for f in section.facts if f.term == term)


def headings(sections: tuple[Section, ...]) -> list[str]:
    return [section.heading for section in sections]


def test_a_plain_line_has_its_length_and_slack_and_nothing_else(
    cable: Line, plain: LineFinding
) -> None:
    found = chief_facts(plain, cable, "mm")
    assert facts(found) == {
        "Installed": "795 mm",
        "Needed": "786 mm",
        "Margin": "+9 mm",
        "Least slack": "21 mm",
        "Worst at": "40° right, fork extended",
        "Slack here": "–",
        "Smallest radius": "64 mm (50 mm allowed)",
    }
    assert not any(section.notes for section in found)
    assert further_facts(plain, cable, "mm") == ()
    worst = fact(found, "Worst at")
    assert (worst.turn, worst.travel) == (rad(-40), -40.0)


def test_lengths_are_in_the_chosen_unit_throughout(cable: Line, plain: LineFinding) -> None:
    full = replace(
        plain,
        margin=-9.0,
        window=window(),
        sure=Sureness(sigma=3.0, causes=(Cause("riser", "riser, height", 2.0),)),
        touches=(touch(sliding=40.0),),
        pinches=(pinch(),),
    )
    texts = [*facts(chief_facts(full, cable, "in")).values()]
    texts += [*facts(further_facts(full, cable, "in")).values()]
    texts += [note for s in chief_facts(full, cable, "in") for note in s.notes]
    assert not any("mm" in text for text in texts)
    assert sum(" in" in text for text in texts) >= 9


def test_the_margin_has_its_band_and_the_window_its_end(cable: Line, plain: LineFinding) -> None:
    full = replace(plain, margin=-6.0, sure=Sureness(sigma=4.5), window=window())
    found = chief_facts(full, cable, "mm")
    assert facts(found)["Margin"] == "−6 ± 9 mm"
    assert facts(found)["Longest"] == "870 mm"
    assert found[0].notes == ("Over 870 mm it hangs more than 100 mm from its path at 20° left.",)
    unlimited = replace(full, window=window(math.inf))
    assert "Longest" not in facts(chief_facts(unlimited, cable, "mm"))
    unknown = replace(full, window=window(math.nan))
    assert facts(chief_facts(unknown, cable, "mm"))["Longest"] == "not known"
    assert longest_sentence(unknown, cable, "mm") == ""


def test_where_no_length_helps_that_is_the_need(cable: Line, plain: LineFinding) -> None:
    blame = Blame("lever", Hold.FITTING, 30.0, rad(3.0), 0.0)
    full = replace(plain, needed=math.nan, margin=math.nan, window=window(blame=blame))
    found = facts(chief_facts(full, cable, "mm"))
    assert found["Needed"] == "no length helps"
    assert found["Margin"] == "–"


def test_a_clipped_line_says_which_stretch_and_what_to_slide(
    cable: Line, plain: LineFinding
) -> None:
    spans = (SpanRoom(("lever", "clip"), 300.0, 330.0), SpanRoom(("clip", "end"), 300.0, 280.0))
    full = replace(plain, window=window(), clipped=Clipped(spans, (), 10.0))
    notes = chief_facts(full, cable, "mm")[0].notes
    assert notes[0].endswith("at 20° left, between 'lever' and 'carburettor'.")
    assert "is missing between 'lever' and 'clip'" in notes[1]


def test_slack_found_is_a_fact_with_its_sentence_as_explanation(
    cable: Line, plain: LineFinding
) -> None:
    seen = replace(cable, found_slack=FoundSlack(straight=20.0))
    full = replace(plain, sure=Sureness(sigma=4.0, before=9.0, margin_by=-2.0))
    found = chief_facts(full, seen, "mm")
    moved = fact(found, "Without the slack found")
    assert moved.value == "+11 ± 18 mm"
    assert "from ± 18 mm to ± 8 mm" in moved.tip
    assert found[0].notes == ()


def test_each_side_it_goes_tight_at_is_a_pose_of_its_own(cable: Line, plain: LineFinding) -> None:
    both = replace(plain, stops=LineStops(Stop(rad(-12.04), 0.0), Stop(rad(24.3), -40.0)))
    tight = [f for f in chief_facts(both, cable, "mm")[1].facts if f.term in ("Goes tight", "and")]
    assert [f.value for f in tight] == ["12.0° right", "24.3° left, fork extended"]
    assert [(f.turn, f.travel) for f in tight] == [(rad(-12.04), 0.0), (rad(24.3), -40.0)]
    ahead = replace(plain, stops=LineStops(Stop(0.0, 0.0), Stop(0.0, 0.0)))
    assert facts(chief_facts(ahead, cable, "mm"))["Goes tight"] == "straight ahead"


def test_a_line_that_does_not_feel_the_turn_is_worst_at_a_fork_position(
    cruiser: Setup, plain: LineFinding
) -> None:
    line = next(line for line in cruiser.lines if line.name == "front brake hose")
    lower = replace(line, stations=line.stations[-2:])
    assert facts(chief_facts(plain, lower, "mm"))["Worst at"] == "fork extended"
    steady = replace(plain, excess=21.2)
    assert facts(chief_facts(steady, lower, "mm"))["Worst at"] == "every turn"
    unknown = replace(plain, slack=math.nan)
    assert facts(chief_facts(unknown, lower, "mm"))["Worst at"] == "–"


def test_snapping_over_is_noted_under_the_slack(cable: Line, plain: LineFinding) -> None:
    full = replace(plain, snaps=(Snap(rad(10), rad(14), 0.0),))
    (note,) = chief_facts(full, cable, "mm")[1].notes
    assert "may snap over between 10° left and 14° left" in note


def touch(sliding: float = 3.0, force: float = 5.0) -> Touch:
    turns = ((rad(-5), rad(30)),)
    return Touch("tank", Body.FRAME, turns, force, rad(30), 0.0, 200.0, "lever", POINT, sliding)


def pinch() -> Pinch:
    return Pinch("clamp", "tank", 6.0, 8.0, rad(35), 0.0, 200.0, "lever", POINT)


def test_what_it_touches_rubs_on_and_is_pinched_by(cable: Line, plain: LineFinding) -> None:
    full = replace(plain, pinches=(pinch(),), touches=(touch(40.0), replace(touch(), part="yoke")))
    (section,) = further_facts(full, cable, "mm")
    assert facts((section,)) == {
        "Pinched between clamp and tank": "6 mm of 8 mm",
        "Tank": "rubs 40 mm, 5 N",
        "Yoke": "touches, 5 N",
    }
    assert [f.turn for f in section.facts] == [rad(35), rad(30), rad(30)]


def test_twist_is_listed_where_it_applies_and_noted_where_too_much(
    cable: Line, plain: LineFinding
) -> None:
    ends = ("lever", "plug")
    twist = Twist(
        rad(-90), rad(-90), rad(10), 500.0, rad(30), 0.0, rad(200) / 1000, ends, 1.0, 0, 9
    )
    (section,) = further_facts(replace(plain, twist=twist), cable, "mm")
    assert facts((section,)) == {"Greatest": "90° at 30° left", "Per metre": "180° (200° allowed)"}
    assert section.notes == ()
    tight = replace(twist, allowed=rad(100) / 1000)
    (section,) = further_facts(replace(plain, twist=tight), cable, "mm")
    assert "more than the 100°" in section.notes[0]
    unknown = replace(twist, greatest=math.nan, least=math.nan, most=math.nan, turn=math.nan)
    (section,) = further_facts(replace(plain, twist=unknown), cable, "mm")
    assert facts((section,)) == {"Greatest": "not known"}


def torque(right: float, left: float) -> LineTorque:
    return LineTorque((rad(-40), 0.0, rad(40)), (0.0,), ((right, 0.0, left),))


def test_torque_is_told_at_both_locks_or_once(cable: Line, plain: LineFinding) -> None:
    found = further_facts(replace(plain, torque=torque(0.241, -0.5)), cable, "mm")
    assert facts(found) == {
        "At right lock": "0.24 N·m to the left",
        "At left lock": "0.50 N·m to the right",
    }
    assert further_facts(replace(plain, torque=torque(0.001, -0.001)), cable, "mm") == ()
    lost = replace(plain, torque=torque(math.nan, math.nan), verdict=Verdict.SHORT)
    assert facts(further_facts(lost, cable, "mm")) == {"At either lock": "too short to get there"}
    unknown = replace(lost, verdict=Verdict.NOT_KNOWN)
    assert facts(further_facts(unknown, cable, "mm")) == {"At either lock": "not known"}


def test_what_to_measure_again_comes_early_only_where_it_decides(
    cable: Line, plain: LineFinding
) -> None:
    causes = (Cause("riser", "riser, height", 2.0), Cause("perch", "perch, up", 1.0))
    sure = replace(plain, sure=Sureness(sigma=4.5, causes=causes))
    (again,) = further_facts(sure, cable, "mm")
    assert facts((again,)) == {"Riser, height": "± 4 mm", "Perch, up": "± 2 mm"}
    assert again.heading not in headings(chief_facts(sure, cable, "mm"))
    doubt = replace(sure, verdict=Verdict.UNCERTAIN)
    assert headings(chief_facts(doubt, cable, "mm"))[1] == again.heading
    assert further_facts(doubt, cable, "mm") == ()


def test_poses_in_few_words() -> None:
    assert pose_text(rad(33), 0.0) == "33° left"
    assert pose_text(rad(-33), 40.0) == "33° right, fork compressed"
    assert pose_text(0.0, -40.0) == "straight ahead, fork extended"


def swept(cable: Line, *lowest: float) -> LineSweep:
    """A line with that least slack at fork positions from extended to compressed."""
    slack = np.array([[50.0, least, 50.0] for least in lowest])
    ones = np.ones(slack.shape)
    return LineSweep(
        name=cable.name,
        travels=np.array([-40.0, 0.0, 60.0]),
        taut=ones,
        slack=slack,
        min_radius=ones,
        tension=ones,
        converged=ones.astype(bool),
        same_way_back=ones.astype(bool),
        shapes=np.zeros((*slack.shape, 2, 3)),
        arc=np.zeros(2),
        stations_at=np.zeros((*slack.shape, 2)),
        segment_slack=slack[..., None],
        radii=np.ones((*slack.shape, 2)),
    )


@pytest.mark.parametrize(
    ("lowest", "said"),
    [
        ((-5.0, 8.0, 9.0), "with the fork extended"),
        ((8.0, 8.0, -9.0), "with the fork compressed"),
        ((-5.0, 8.0, -9.0), "with the fork extended or with the fork compressed"),
        ((-5.0, -1.0, 9.0), ""),
    ],
)
def test_a_line_that_is_short_away_from_ride_height_only(
    cable: Line, plain: LineFinding, lowest: tuple[float, ...], said: str
) -> None:
    short = replace(plain, verdict=Verdict.SHORT)
    assert fork_only(short, swept(cable, *lowest)) == said
    assert fork_only(plain, swept(cable, *lowest)) == ""


def test_the_steering_is_stopped_or_not_or_nobody_knows(cruiser: Setup, plain: LineFinding) -> None:
    assert steering_sentence([plain], cruiser) == "No line stops the steering."
    lost = replace(plain, verdict=Verdict.NOT_KNOWN)
    assert steering_sentence([lost], cruiser) == "No line is known to stop the steering."
    short = replace(plain, stops=LineStops(None, Stop(rad(24.3), 0.0)))
    assert steering_sentence([short, lost], cruiser) == (
        f"The {plain.line} goes tight first at 24.3° left."
    )


def test_a_margin_that_counts_in_another_length_of_the_line_says_so(
    cable: Line, plain: LineFinding
) -> None:
    """Installed less needed, both shown, is not the margin shown: the reader is told why."""
    moved = Sureness(sigma=4.5, before=8.0, margin_by=3.0, needed_by=-1.0)
    odd = replace(plain, margin=11.0, sure=moved)
    assert chief_facts(odd, cable, "mm")[0].notes[0] == (
        "By the slack found on the machine the line is about 2 mm longer than the file says; its "
        "margin counts that in."
    )
    little = replace(plain, margin=9.6, sure=replace(moved, margin_by=1.4))
    assert "the line is a little longer" in chief_facts(little, cable, "mm")[0].notes[0]
    adds_up = replace(plain, sure=replace(moved, margin_by=1.2))
    assert chief_facts(adds_up, cable, "mm")[0].notes == ()


def test_a_short_line_whose_length_to_order_is_vague_says_early_what_to_measure(
    cable: Line, plain: LineFinding
) -> None:
    cause = (Cause("new bar", "new bar, rise", 20.0),)
    vague = replace(
        plain, verdict=Verdict.SHORT, margin=-38.0, sure=Sureness(sigma=29.0, causes=cause)
    )
    assert headings(chief_facts(vague, cable, "mm"))[1] == "To be surer, measure again"
    assert further_facts(vague, cable, "mm") == ()
