"""The check list before riding: what is on it, predictions, and what is said of what was found."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from made_findings import finding, rad
from made_orders import bundled, remedies, remedy
from made_sweeps import line_sweep, made_sweep

from barfit import scenario
from barfit.analysis import LineFinding, Sureness, Sweep, Verdict
from barfit.analysis.touching import Pinch, Touch
from barfit.edits import arrived, signed, ticked
from barfit.model import Body, Choice, Job, Setup, Signature, Tick, changed_since_signed
from barfit.remedies import Means
from barfit.report.checklist import (
    check_title,
    check_values,
    disagreement,
    do_text,
    expected_text,
    found_text,
    where_texts,
    why_text,
)
from barfit.report.checklist_text import checklist_lines
from barfit.report.quantities import Quantity
from barfit.report.remarks import Remark
from barfit.report.remarks import Topic as About
from barfit.report.signing import (
    before_riding,
    count_words,
    refusals,
    refused_words,
    released,
    signed_text,
    waiting_words,
)
from barfit.trade import Grade, Judged, Trade
from barfit.workshop.check import Answer, Check, Topic, What, answered, disagrees, tick_of
from barfit.workshop.checks import checks
from barfit.workshop.orders import taken
from barfit.workshop.tasks import tasks

ANGLES = np.array([rad(-40), 0.0, rad(40)])
SLACK = {"clutch cable": (11.0, 30.0, 34.0), "front brake hose": (22.0, 22.5, 22.0)}


def made(setup: Setup) -> tuple[Sweep, list[LineFinding]]:
    """A sweep with slack given, and findings with two standard deviations of 9 mm."""
    lines = [
        line_sweep(line.name, np.full((1, 3), 0.5), np.array([SLACK.get(line.name, (20, 40, 25))]))
        for line in setup.lines
    ]
    found = [
        finding(
            Verdict.REACHES,
            line=line.name,
            slack=min(SLACK.get(line.name, (20, 40, 25))),
            margin=min(SLACK.get(line.name, (20, 40, 25))) - 12.0,  # 12 mm such a line should keep
            sure=Sureness(sigma=5.0, slack_sigma=4.5),
        )
        for line in setup.lines
    ]
    return made_sweep(setup, ANGLES, *lines), found


def listed(name: str, setup: Setup | None = None, *done_to: object) -> dict[str, Check]:
    setup = setup or bundled(name)
    found = remedies(*done_to)  # type: ignore[arg-type]
    swept, after = made(setup)
    work = tasks(setup, taken(setup, found))
    return {one.key: one for one in checks(swept, after, Trade(), work, setup)}


@pytest.fixture(scope="module")
def cruiser_list() -> dict[str, Check]:
    setup = bundled("tall-bar-cruiser")
    return listed("", setup, remedy(setup, "front brake hose", Means.NEXT_SIZE, 150.0))


def test_every_topic_is_there_and_every_key_its_own(cruiser_list: dict[str, Check]) -> None:
    assert {one.topic for one in cruiser_list.values()} == {*Topic}
    rank = [*Topic]
    topics = [rank.index(one.topic) for one in cruiser_list.values()]
    assert topics == sorted(topics)
    for name in ("tall-bar-cruiser", "touring-hydraulic", "old-twin"):
        setup = bundled(name)
        swept, after = made(setup)
        assert len(checks(swept, after, Trade(), tasks(setup, {}), setup)) == len(listed(name))


def test_keys_are_the_same_from_one_run_to_the_next(cruiser_list: dict[str, Check]) -> None:
    assert {
        "free lock to lock",
        "throttle snaps shut",
        "idle steady",
        "clutch free play, left lock",
        "hose clear front brake hose",
        "reservoir level front brake",
        "lever firm and held front brake",
        "switches and lamps left switch harness",
        "bar clamp gap, front",
        "bar clamp torque",
        "slack clutch cable, right lock",
        "fluid change front brake",
    } <= {*cruiser_list}


def test_what_the_manual_rules_is_a_blank_without_a_number(cruiser_list: dict[str, Check]) -> None:
    ruled = (What.GAP, What.TORQUE, What.JOINT_TORQUE, What.CLUTCH_PLAY, What.THROTTLE_PLAY)
    for one in cruiser_list.values():
        if one.what in ruled:
            assert math.isnan(one.predicted)
            assert one.answer is Answer.NUMBER
            assert expected_text(one, "mm") == "from the service manual"
        said = f"{do_text(one)} {expected_text(one, 'mm')}"
        assert not any(text in said for text in (" Nm", "20 N", "28 N", "2 to 4 mm"))


def test_slack_is_predicted_at_both_locks_and_straight_ahead(
    cruiser_list: dict[str, Check],
) -> None:
    cable = [one for one in cruiser_list.values() if one.about == "clutch cable"]
    assert [(one.at, one.predicted, one.two_sigma) for one in cable if one.what is What.SLACK] == [
        ("right lock", 11.0, 9.0),
        ("straight ahead", 30.0, 9.0),
        ("left lock", 34.0, 9.0),
    ]
    hose = [one for one in cruiser_list.values() if one.what is What.SLACK]
    assert [one.at for one in hose if one.about == "front brake hose"] == ["straight ahead"]


def test_slack_found_that_contradicts_is_said(cruiser_list: dict[str, Check]) -> None:
    check = cruiser_list["slack clutch cable, right lock"]
    for found, odd in ((11.0, False), (20.0, False), (2.0, False), (20.1, True), (1.9, True)):
        tick = Tick(check.key, True, found=found)
        assert disagrees(check, tick) is odd
        assert bool(disagreement(check, tick, "mm")) is odd
    assert disagreement(check, Tick(check.key, found=-4.0), "mm") == (
        "Clutch cable, right lock: -4.0 mm was found, 15 mm less than the 11 ± 9 mm predicted. "
        "Either the line is not as long or does not go as the file says: find out which before "
        "riding."
    )
    assert not disagrees(replace(check, two_sigma=math.nan), Tick(check.key, found=99.0))
    assert not disagrees(check, Tick(check.key))
    assert expected_text(check, "in") == "predicted 7/16 ± 3/8 in"
    assert found_text(check, Tick(check.key, found=25.4), "in") == "1 in"


def test_where_to_look_names_line_place_and_turn() -> None:
    setup = bundled("tall-bar-cruiser")
    swept, after = made(setup)
    pinch = Pinch("top clamp", "tank", 8.0, 11.0, rad(-38), 0.0, 400.0, "guide", (0, 0, 0))
    touch = Touch(
        "right fork tube", Body.STEERING, (), 4.0, rad(40), 0.0, 300.0, "plug", (0, 0, 0), 30.0
    )
    after = [
        replace(one, pinches=(pinch,))
        if one.line == "left switch harness"
        else replace(one, touches=(touch,))
        if one.line == "clutch cable"
        else one
        for one in after
    ]
    free = checks(swept, after, Trade(), tasks(setup, {}), setup)[0]
    told = where_texts(free, "mm", setup.machine)
    assert told[0] == (
        "left switch harness at 38° right: between the top clamp and the tank, 8 mm apart, after "
        "'guide'"
    )
    assert told[1] == "clutch cable at full left lock: rubs on the right fork tube, after 'plug'"
    # 11 mm is 1 below what such a line should keep: the tightest of all
    assert told[2] == "clutch cable at full right lock: least slack, 11 mm, 1 mm less than it needs"


def test_margin_is_told_as_a_part_of_slack() -> None:
    """The margin is less than the slack by what is kept for bends and least slack: told one beside
    the other they would read as two answers to one question.
    """
    setup = bundled("old-twin")
    swept, found = made(setup)
    found = [
        replace(one, slack=39.0, margin=16.0) if one.line == "clutch cable" else one
        for one in found
    ]
    free = checks(swept, found, Trade(), tasks(setup, {}), setup)[0]
    (told,) = (one for one in where_texts(free, "mm", setup.machine) if "clutch cable" in one)
    assert told.endswith(": least slack, 39 mm, 16 mm of it margin")


def test_a_line_lies_against_the_bar_that_it_is_tied_to() -> None:
    setup = bundled("tall-bar-cruiser")
    swept, after = made(setup)

    def told(part: str, sliding: float) -> list[str]:
        touch = Touch(part, Body.STEERING, (), 4.0, rad(40), 0.0, 300.0, "tie", (0, 0, 0), sliding)
        found = [
            replace(one, touches=(touch,)) if one.line == "clutch cable" else one for one in after
        ]
        free = checks(swept, found, Trade(), tasks(setup, {}), setup)[0]
        return [one for one in where_texts(free, "mm", setup.machine) if "least slack" not in one]

    assert told("handlebar", 3.0) == []
    assert told("handlebar", 30.0) == [
        "clutch cable at full left lock: rubs on the handlebar, after 'tie'"
    ]
    assert told("'clip' of the throttle pull cable", 3.0) == [
        "clutch cable at full left lock: touches the 'clip' of the throttle pull cable, after "
        "'tie'; turn that clip away from it, or tie the two lines together there"
    ]


def test_a_hose_is_looked_at_at_both_locks_and_both_ends_of_the_travel() -> None:
    setup = bundled("tall-bar-cruiser")
    swept, after = made(setup)
    slack = np.array([[15.0, 30.0, 16.0], [40.0, 50.0, 41.0], [80.0, 90.0, 82.0]])
    lines = [
        line_sweep(one.name, np.full((3, 3), 0.5), slack, travels=np.array([-45.0, 0.0, 75.0]))
        if one.name == "front brake hose"
        else one
        for one in swept.lines
    ]
    swept = made_sweep(setup, ANGLES, *lines)
    found = {one.key: one for one in checks(swept, after, Trade(), tasks(setup, {}), setup)}
    hose = found["hose clear front brake hose"]
    assert where_texts(hose, "mm", setup.machine) == [
        "front brake hose at full right lock: 15 mm to spare with the fork extended and 80 mm to "
        "spare with the fork compressed",
        "front brake hose at full left lock: 16 mm to spare with the fork extended and 82 mm to "
        "spare with the fork compressed",
    ]


def test_only_what_was_opened_is_looked_at_for_leaks_and_new_fluid() -> None:
    left = listed("tall-bar-cruiser")
    assert "lever firm and held front brake" in left
    for key in (
        "joints dry front brake",
        "fluid filled in front brake",
        "fluid change front brake",
    ):
        assert key not in left


def test_of_a_long_circuit_the_opened_joints_are_named() -> None:
    setup = bundled("touring-hydraulic")
    hose = remedy(setup, "left caliper hose", Means.MADE_UP, 60.0)
    found = listed("", setup, hose)
    assert found["joints dry front brake"].names == ("splitter", "left caliper")
    assert "joints dry clutch" not in found


def test_the_list_follows_the_machine() -> None:
    twin, touring = listed("old-twin"), listed("touring-hydraulic")
    assert "front brake free play, left lock" in twin
    assert not any(one.what is What.RESERVOIR for one in twin.values())
    assert not any("throttle snaps" in key or "idle" in key for key in touring)  # no cable
    assert {"grip springs back", "engine follows the grip alone"} <= {*touring}
    assert {"throttle snaps shut", "idle steady"} <= {*twin}
    assert "grip springs back" not in twin
    assert "throttle free play" not in touring
    assert not any(one.what is What.CLUTCH_PLAY for one in touring.values())
    assert {one.about for one in touring.values() if one.what is What.RESERVOIR} == {
        "front brake",
        "clutch",
    }
    assert {"no fault lamp", "anti-lock lamp"} <= {*touring}
    assert not any("lamp" in key.split(" front")[0] for key in twin if "fault" in key)
    assert "cable" not in " ".join(do_text(x) + why_text(x) for x in touring.values())
    assert touring["hands clear"].names == ("tank",)  # the rest turns with the bars
    assert "stay clear of the tank at both locks" in do_text(twin["hands clear"])
    harness = touring["switches and lamps left switch harness"]
    assert harness.names == ("switch signals", "horn")  # nobody can switch a ground


def test_ticks_notes_and_a_signature_are_pure_edits(cruiser_list: dict[str, Check]) -> None:
    key = "slack clutch cable, right lock"
    check = cruiser_list[key]
    empty = Job()
    job = ticked(empty, key, found=12.0)
    assert not answered(check, tick_of(job, key))
    job = ticked(job, key, done=True)
    assert tick_of(job, key) == Tick(key, True, "", 12.0)
    assert answered(check, tick_of(job, key))
    job = ticked(job, "idle steady", note="hot")
    assert [one.key for one in job.ticks] == [key, "idle steady"]
    job = ticked(ticked(job, key, done=False, found=None), "idle steady", note="")
    assert job == empty
    job = arrived(arrived(empty, "hose"), "hose")
    assert job.here == ("hose",)
    assert arrived(job, "hose", here=False) == empty
    assert arrived(empty, "hose", here=False) is empty


def test_who_signs_is_told_what_is_open(cruiser_list: dict[str, Check]) -> None:
    every = [*cruiser_list.values()]
    setup = bundled("tall-bar-cruiser")
    assert signed_text(setup, every) == (
        f"{len(every)} of {len(every)} checks are open, 2 of them for later; nobody has signed."
    )
    job = Job()
    for one in every:
        job = ticked(job, one.key, done=True, found=1.0, note="DOT 4")
    setup = signed(replace(setup, job=job), " A. Fitter ", date(2026, 12, 13))
    assert setup.job.signed is not None
    assert (setup.job.signed.name, setup.job.signed.on) == ("A. Fitter", date(2026, 12, 13))
    assert signed_text(setup, every) == (
        "Signed by A. Fitter on Sunday 13 December 2026; every check has its answer."
    )
    assert signed(setup, "  ").job.signed is None


def test_a_list_with_open_checks_waits_for_its_answers(cruiser_list: dict[str, Check]) -> None:
    every = [*cruiser_list.values()]
    setup = bundled("tall-bar-cruiser")
    assert waiting_words(setup, every) == (
        "To be answered before it can be signed: 'Free lock to lock', 'Hands clear', "
        f"'Throttle snaps shut' and {len(every) - 5} more."
    )
    due = before_riding(every)
    assert [one for one in every if one not in due] == [
        one for one in every if one.topic is Topic.LATER
    ]
    job = Job()
    for one in due[1:]:
        job = ticked(job, one.key, done=True, found=1.0, note="DOT 4")
    setup = replace(setup, job=job)
    assert count_words(setup, every) == f"3 of {len(every)} checks are open, 2 of them for later"
    early = signed(setup, "A. Fitter", date(2026, 12, 13))
    assert not released(early, every, False)
    assert signed_text(early, every) == (
        f"Signed by A. Fitter on Sunday 13 December 2026, but 3 of {len(every)} checks are open, 2 "
        "of them for later: that signature does not count until they have their answers."
    )
    setup = replace(setup, job=ticked(job, due[0].key, done=True))
    assert waiting_words(setup, every) == ""
    setup = signed(setup, "A. Fitter", date(2026, 12, 13))
    assert released(setup, every, False)
    assert signed_text(setup, every).endswith(
        f"2026; 2 of {len(every)} checks are open, both for later."
    )
    # what comes after the first ride takes nothing from the signature
    for one in every:
        if one not in due:
            setup = replace(setup, job=ticked(setup.job, one.key, done=True, note="2028-12-13"))
    assert released(setup, every, False)
    assert count_words(setup, every) == ""


def test_what_is_not_acceptable_is_not_signed_whatever_is_ticked(
    cruiser_list: dict[str, Check],
) -> None:
    every = [*cruiser_list.values()]
    setup = bundled("tall-bar-cruiser")
    job = Job()
    for one in every:
        job = ticked(job, one.key, done=True, found=1.0, note="DOT 4")
    setup = signed(replace(setup, job=job), "A. Fitter")

    def said(grade: Grade) -> Remark:
        judged = Judged(8.0, grade, limit=25.0)
        sentence = "The left hand is caught: 8 mm are left"
        return Remark("gap", About.ON_BAR, "left grip", "Gap", judged, Quantity.LENGTH, sentence)

    fine = finding(Verdict.REACHES, line="clutch cable")
    assert refusals([fine], [said(Grade.CAUTION)]) == []
    for may in (Verdict.UNCERTAIN, Verdict.RUBS):  # a check of the list is about these
        assert refusals([finding(may, line="clutch cable")], []) == []
    caught = refusals([fine], [said(Grade.REJECT)])
    short = refusals([finding(Verdict.SHORT, line="clutch cable")], [])
    assert short == ["Clutch cable: short"]
    assert refused_words(caught) == (
        "Not to be signed as it stands: not acceptable. The left hand is caught."
    )
    assert refused_words(caught + short).endswith("caught, and 1 more.")
    assert released(setup, every, False)
    assert not released(setup, every, True)
    assert "not acceptable as it stands: that signature does not count" in signed_text(
        setup, every, True
    )


def test_a_signature_counts_only_for_what_was_signed(tmp_path: Path) -> None:
    cruiser = bundled("tall-bar-cruiser")
    first = replace(cruiser, job=ticked(Job(), "idle steady", done=True))
    setup = signed(first, "A. Fitter", date(2026, 12, 13))
    assert not changed_since_signed(setup)

    def of(**fields: object) -> Setup:
        return replace(setup, job=replace(setup.job, **fields))  # type: ignore[arg-type]

    # what it costs and when it is done was not signed; neither is the file's place
    assert not changed_since_signed(of(hours=4.0, here=("a hose",)))
    scenario.save(setup, tmp_path / "signed.toml")
    read = scenario.load(tmp_path / "signed.toml")
    assert not changed_since_signed(read)

    ticks = replace(setup, job=ticked(setup.job, "idle steady", done=False))
    longer = [replace(line, length=line.length + 1.0) for line in setup.lines]
    changed = (
        ticks,
        of(choices=(Choice("clutch cable", "made_up"),)),
        replace(setup, lines=tuple(longer)),
    )
    for one in changed:
        assert changed_since_signed(one)
        assert "changed since: that signature no longer counts" in signed_text(one, ())
    back = replace(ticks, job=ticked(ticks.job, "idle steady", done=True))
    assert not changed_since_signed(back)
    by_hand = of(signed=Signature("A. Fitter"))  # nobody can say what that was given for
    assert not changed_since_signed(by_hand)


def test_other_programs_get_the_same(cruiser_list: dict[str, Check]) -> None:
    setup = bundled("tall-bar-cruiser")
    check = cruiser_list["slack clutch cable, right lock"]
    values = check_values(check, Tick(check.key, True, "cold", 40.0), setup)
    assert values["predicted"] == 11.0
    assert values["found"] == 40.0
    assert values["disagrees"].startswith("Clutch cable, right lock: 40 mm was found")
    assert values["title"] == check_title(check) == "Slack of the clutch cable, right lock"


def test_as_text_a_blank_stands_where_nothing_was_found(cruiser_list: dict[str, Check]) -> None:
    setup = bundled("tall-bar-cruiser")
    job = ticked(Job(), "slack clutch cable, right lock", done=True, note="cold", found=40.0)
    job = ticked(job, "fluid filled in front brake", note="DOT 4")
    lines = checklist_lines([*cruiser_list.values()], replace(setup, job=job))
    at = lines.index("  [x] Slack of the clutch cable, right lock: 40 mm (predicted 11 ± 9 mm)")
    assert lines[at + 1] == "      Note: cold"
    assert lines[at + 2].startswith("      Clutch cable, right lock: 40 mm was found, 29 mm more")
    assert "  [ ] Slack of the clutch cable, left lock: ______ mm (predicted 34 ± 9 mm)" in lines
    assert "  [ ] Clamp torque: ______ N·m (from the service manual)" in lines
    assert "  [ ] Fluid filled in, front brake: DOT 4" in lines
    inches = checklist_lines([*cruiser_list.values()], replace(setup, unit="in", job=job))
    assert "  [ ] Bar clamp gap, rear: ______ in (from the service manual)" in inches


def test_a_drum_brake_is_tried_at_both_locks_and_both_ends_of_the_fork() -> None:
    """A cable has its play at ride height and may have none with the fork out: the brake is then on
    without the lever."""
    twin = bundled("old-twin")
    swept, found = made(twin)
    found = [
        replace(one, slack=3.0, worst_turn=-twin.machine.lock_right, worst_travel=-twin.machine.sag)
        if one.line == "front brake cable"
        else one
        for one in found
    ]
    listed = {one.key: one for one in checks(swept, found, Trade(), tasks(twin, {}), twin)}
    for lock in ("right lock", "left lock"):
        for fork in ("extended", "compressed"):
            one = listed[f"front brake free play, {lock}, fork {fork}"]
            assert do_text(one).endswith(f"at full {lock}, the fork {fork}.")
    wheel = listed["front wheel turns freely"]
    assert "off the ground, at both locks" in do_text(wheel)
    assert "puts the brake on by itself" in why_text(wheel)
    slack = listed["slack front brake cable, right lock, fork extended"]
    assert slack.predicted == 3.0
    assert do_text(slack).endswith("at full right lock, the fork extended.")
    assert "slack clutch cable, right lock, fork extended" not in listed
    touring = bundled("touring-hydraulic")
    other = checks(*made(touring), Trade(), tasks(touring, {}), touring)
    assert not any(one.what in (What.WHEEL, What.BRAKE_PLAY) for one in other)
    cable = remedy(twin, "front brake cable", Means.NEXT_SIZE, 100.0)
    work = tasks(twin, taken(twin, remedies(cable)))
    (adjust,) = (one for one in work if one.row == "adjust")
    assert "fork extended and with it compressed" in adjust.text
