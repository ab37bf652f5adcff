from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "ui"))

from sweeps import path, result, setup

from barfit import scenario
from barfit.analysis import Verdict
from barfit.model import Job
from barfit.session import Pose, Session, at_pose


@pytest.fixture
def session() -> Session:
    return Session(setup(), path())


def renamed(session: Session, title: str):
    return replace(session.setup, title=title)


def log(session: Session) -> list[str]:
    """The names of the events that go out, in order."""
    heard: list[str] = []
    for name in (
        "opened",
        "setup_changed",
        "bars_changed",
        "results_changed",
        "pose_changed",
        "selection_changed",
        "unit_changed",
        "message",
    ):
        getattr(session, name).connect(lambda *_, name=name: heard.append(name))
    return heard


def test_a_session_starts_unchanged_straight_ahead_with_new_bars(session):
    assert not session.changed
    assert session.pose == Pose(0.0, 0.0)
    assert not session.stock
    assert session.unit == session.setup.unit
    assert session.result() is None
    assert session.stale()


def test_edits_are_undone_and_redone_by_name(session):
    first = session.setup
    heard = log(session)
    session.edit(renamed(session, "a"), "Name a")
    session.edit(renamed(session, "b"), "Name b")
    assert session.changed
    assert (session.undo_name, session.redo_name) == ("Name b", None)
    session.undo()
    assert session.setup.title == "a"
    assert (session.undo_name, session.redo_name) == ("Name a", "Name b")
    session.undo()
    assert session.setup is first
    assert not session.changed
    session.undo()  # nothing before the first
    assert session.undo_name is None
    session.redo()
    session.redo()
    session.redo()  # nothing after the last
    assert session.setup.title == "b"
    assert heard == ["setup_changed"] * 6


def test_an_edit_after_undo_drops_what_was_undone(session):
    session.edit(renamed(session, "a"), "a")
    session.undo()
    session.edit(renamed(session, "b"), "b")
    assert session.redo_name is None
    session.undo()
    session.redo()
    assert session.setup.title == "b"


def test_an_edit_that_changes_nothing_is_no_step(session):
    session.edit(replace(session.setup), "Nothing")
    assert session.undo_name is None


def test_saving_makes_it_unchanged_until_the_next_edit(session, tmp_path):
    session.edit(renamed(session, "a"), "a")
    session.save(tmp_path / "saved.toml")
    assert not session.changed
    assert session.path == tmp_path / "saved.toml"
    assert scenario.load(session.path) == session.setup
    session.undo()
    assert session.changed


def test_a_result_is_told_and_the_worst_line_selected(session):
    heard = log(session)
    made = result(session.setup)
    session.accept(made)
    assert session.result() is made
    assert not session.stale()
    worst = made.worst()
    assert worst is not None
    assert session.selected == worst.line
    assert worst.margin == min(finding.margin for finding in made.findings)
    assert heard == ["results_changed", "selection_changed"]


def test_not_known_is_worse_than_short(session):
    made = result(session.setup)
    doubtful = replace(made.findings[-1], verdict=Verdict.NOT_KNOWN, margin=math.nan)
    doubted = replace(made, findings=(*made.findings[:-1], doubtful))
    assert doubted.worst() is doubtful


def test_results_for_both_bars_are_kept_apart(session):
    new, stock = result(session.setup), result(session.setup, stock=True)
    session.accept(stock)
    assert session.result() is None
    session.accept(new)
    assert session.result() is new
    session.show_bars(True)
    assert session.result() is stock
    assert session.result(False) is new


def test_after_an_edit_the_old_result_is_kept_as_stale_and_a_late_one_dropped(session):
    old = result(session.setup)
    session.accept(old)
    session.edit(renamed(session, "a"), "a")
    assert session.stale()
    assert session.result() is old
    session.accept(result(old.sweep.setup))  # the worker was a step behind
    assert session.result() is old
    fresh = result(session.setup)
    session.accept(fresh)
    assert session.result() is fresh
    assert not session.stale()


def test_opening_forgets_everything_about_the_document_before(session):
    session.accept(result(session.setup))
    session.turn_to(0.3, 10.0)
    heard = log(session)
    other = path("old-twin")
    assert session.open(other)
    assert session.setup == setup("old-twin")
    assert session.path == other
    assert session.result() is None
    assert session.pose == Pose()
    assert session.selected is None
    assert session.undo_name is None
    assert not session.changed
    assert heard == ["opened", "setup_changed"]


def _all_problems(file: Path) -> list[str]:
    """What is told of a file with more than one problem, line by line."""
    with pytest.raises(scenario.ScenarioError) as caught:
        scenario.load(file)
    return [str(one) for one in caught.value.problems] if len(caught.value.problems) > 1 else []


@pytest.mark.parametrize(
    ("text", "start"),
    [
        (None, " does not exist."),
        ("title = [", " is not a TOML file: "),
        ('format = 1\nunit = "mm"', " has "),
    ],
)
def test_a_failed_open_keeps_the_setup_and_says_why_once(session, tmp_path, text, start):
    before, result_before = session.setup, result(session.setup)
    session.accept(result_before)
    messages: list[str] = []
    session.message.connect(messages.append)
    heard = log(session)
    file = tmp_path / "bad.toml"
    if text is not None:
        file.write_text(text)
    assert not session.open(file)
    assert session.setup is before
    assert session.result() is result_before
    assert heard == ["message"]
    assert len(messages) == 1
    assert messages[0].startswith(f"Not opened: {file}{start}")
    problems = messages[0].splitlines()[1:]
    assert problems == [f"{n}. {one}" for n, one in enumerate(_all_problems(file), start=1)]


def test_a_setup_that_cannot_be_laid_out_is_not_opened(session, tmp_path):
    text = path().read_text()
    broken = scenario.loads(text)
    far = replace(broken.controls[0], inboard=broken.new.bar.width)
    scenario.save(replace(broken, controls=(far, *broken.controls[1:])), tmp_path / "far.toml")
    messages: list[str] = []
    session.message.connect(messages.append)
    assert not session.open(tmp_path / "far.toml")
    assert len(messages) == 1
    first, *told = messages[0].splitlines()
    assert first == f"Not opened: {tmp_path / 'far.toml'} has 2 problems."
    begins = [line.partition(": ")[0] for line in told]  # with the stock bars, with the new ones
    assert begins == [f"1. Control '{far.name}'", f"2. Control '{far.name}'"]


def test_what_is_decided_about_the_job_leaves_results_as_they_are(session):
    session.accept(result(session.setup))
    session.edit(replace(session.setup, job=Job(here=("front brake hose",))), "Here: brake hose")
    assert session.changed
    assert session.undo_name == "Here: brake hose"
    assert not session.stale()


def test_a_result_still_counts_when_the_job_was_decided_upon_meanwhile(session):
    asked = session.setup
    session.edit(replace(asked, job=Job(currency="EUR")), "Currency")
    session.accept(result(asked))
    assert not session.stale()


def test_why_there_is_no_result_stays_said_until_the_question_changes(session):
    session.fail("It cannot be laid out.")
    session.edit(replace(session.setup, job=Job(currency="EUR")), "Currency")
    assert session.failure == "It cannot be laid out."
    session.edit(replace(session.setup, lines=session.setup.lines[1:]), "Delete")
    assert session.failure is None


def test_the_turn_stops_at_the_locks(session):
    machine = session.setup.machine
    session.turn_to(9.0)
    assert session.pose.turn == machine.lock_left
    session.turn_to(-9.0)
    assert session.pose.turn == -machine.lock_right


def test_turning_keeps_the_suspension_and_tells_only_changes(session):
    heard = log(session)
    session.turn_to(0.1, 20.0)
    session.turn_to(0.2)
    session.turn_to(0.2)
    assert session.pose == Pose(0.2, 20.0)
    assert heard == ["pose_changed", "pose_changed"]


def test_a_line_that_an_edit_removes_is_no_longer_selected(session):
    session.select(session.setup.lines[0].name)
    session.edit(replace(session.setup, lines=session.setup.lines[1:]), "Delete")
    assert session.selected is None


def test_unit_and_bars_tell_only_changes(session):
    heard = log(session)
    session.use_unit("in")
    session.use_unit("in")
    session.show_bars(True)
    session.show_bars(True)
    session.select(None)
    assert heard == ["unit_changed", "bars_changed"]


def test_numbers_at_a_pose_lie_between_those_of_the_sweep(session):
    made = result(session.setup)
    line = made.sweep.lines[0]
    angles = made.sweep.angles
    here = at_pose(made.sweep, line.name, Pose(float(angles[3] + angles[4]) / 2, 0.0))
    assert here.slack == pytest.approx(float(line.slack[1, 3:5].mean()))
    extended = at_pose(made.sweep, line.name, Pose(float(angles[3]), -45.0))
    assert extended.slack == pytest.approx(float(line.slack[0, 3]))


def test_numbers_beside_a_pose_that_did_not_converge_are_not_known(session):
    made = result(session.setup)
    line = made.sweep.lines[0]
    slack = line.slack.copy()
    slack[1, 4] = np.nan
    sweep = replace(made.sweep, lines=(replace(line, slack=slack), *made.sweep.lines[1:]))
    angles = sweep.angles
    beside = at_pose(sweep, line.name, Pose(float(angles[3] * 0.9 + angles[4] * 0.1)))
    assert math.isnan(beside.slack)
    assert not math.isnan(at_pose(sweep, line.name, Pose(float(angles[3]))).slack)


def test_a_failure_is_told_and_forgotten_with_the_next_edit(session):
    heard = log(session)
    session.fail("The bar is too short.")
    assert session.failure == "The bar is too short."
    assert heard == ["message", "results_changed"]
    session.edit(renamed(session, "a"), "a")
    assert session.failure is None
    session.fail("Again.")
    assert session.open(path("old-twin"))
    assert session.failure is None
