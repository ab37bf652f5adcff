"""Undo and redo, and the steps that edits are joined to."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from barfit import scenario
from barfit.history import History, Step
from barfit.model import Body, PointPlace, Setup
from barfit.scenario import OnDisk
from barfit.session import Session


@pytest.fixture
def session(cruiser: Setup) -> Session:
    return Session(cruiser)


def longer(setup: Setup, by: float) -> Setup:
    """Its first line that much (mm) longer."""
    first, *others = setup.lines
    return replace(setup, lines=(replace(first, length=first.length + by), *others))


def drag(session: Session, *to: float, joins: object = "clutch") -> None:
    start = session.setup
    for by in to:
        session.edit(longer(start, by), "Lengthen clutch cable", joins=joins)


def test_a_drag_is_one_step(session: Session) -> None:
    start = session.setup
    drag(session, 1.0, 2.0, 3.0, 2.5)
    assert session.setup == longer(start, 2.5)
    session.undo()
    assert session.setup is start
    assert session.undo_name is None
    session.redo()
    assert session.setup == longer(start, 2.5)
    assert session.redo_name is None


def test_every_setup_on_the_way_is_told(session: Session) -> None:
    told: list[float] = []
    start = session.setup.lines[0].length
    session.setup_changed.connect(lambda: told.append(session.setup.lines[0].length - start))
    drag(session, 1.0, 2.0)
    assert told == [1.0, 2.0]


def test_a_drag_back_to_where_it_began_is_no_step_and_may_go_on(session: Session) -> None:
    start = session.setup
    drag(session, 1.0, 2.0, 0.0)
    assert session.setup is start
    assert session.undo_name is None
    assert not session.changed
    session.edit(longer(start, 4.0), "Lengthen clutch cable", joins="clutch")
    session.undo()
    assert session.setup is start
    assert session.undo_name is None


@pytest.mark.parametrize("between", ["settle", "save", "undo and redo", "another", "plain"])
def test_what_lies_between_ends_the_step(session: Session, tmp_path: Path, between: str) -> None:
    drag(session, 1.0, 2.0)
    middle = session.setup
    if between == "settle":
        session.settle()
    elif between == "save":
        session.save(tmp_path / "mine.toml")
    elif between == "undo and redo":
        session.undo()
        session.redo()
    elif between == "another":
        drag(session, 1.0, joins="brake")
        middle = session.setup
    else:
        session.edit(longer(middle, 7.0), "Another")
        middle = session.setup
    drag(session, 5.0, 6.0)
    session.undo()
    assert session.setup is middle


def test_a_history_needs_a_step() -> None:
    with pytest.raises(ValueError, match="a step"):
        History([])


def test_a_joined_step_drops_what_was_undone(cruiser: Setup) -> None:
    history = History([Step(cruiser, "Open")])
    history.add(Step(longer(cruiser, 1.0), "a"))
    history.undo()
    history.join(Step(longer(cruiser, 2.0), "b"), "key")
    assert history.redo_name is None
    assert history.undo_name == "b"


def edits(setup: Setup) -> list[Setup]:
    """A row of edits of every kind, each made to the one before."""
    made = []

    def to(changed: Setup) -> Setup:
        made.append(changed)
        return changed

    setup = to(replace(setup, title="Mine", note="tried on Sunday"))
    setup = to(replace(setup, unit="in" if setup.unit == "mm" else "mm"))
    setup = to(replace(setup, new=replace(setup.new, bar=replace(setup.new.bar, name="odd one"))))
    setup = to(replace(setup, machine=replace(setup.machine, rake=setup.machine.rake + 0.01)))
    setup = to(longer(setup, 33.3))
    first = setup.lines[0]
    moved = replace(first.stations[1], place=PointPlace(Body.FRAME, (1.0, 2.0, 3.0)))
    stations = (first.stations[0], moved, *first.stations[2:])
    setup = to(replace(setup, lines=(replace(first, stations=stations), *setup.lines[1:])))
    setup = to(replace(setup, lines=setup.lines[::-1]))
    to(replace(setup, lines=setup.lines[1:]))
    return made


@pytest.mark.parametrize("path", scenario.bundled(), ids=lambda path: path.stem)
def test_undone_to_the_start_it_is_the_file_byte_for_byte(path: Path, tmp_path: Path) -> None:
    session = Session(scenario.load(path), path)
    start = session.setup
    made = edits(start)
    for number, setup in enumerate(made):
        session.edit(setup, f"Edit {number}", joins="typing" if number in (3, 4) else None)
        if number == 5:
            session.save(tmp_path / "halfway.toml")
    steps = 0
    while session.undo_name is not None:
        session.undo()
        steps += 1
    assert steps == len(made) - 1  # two were typed as one
    assert scenario.dumps(session.setup).encode() == path.read_bytes()
    session.save(tmp_path / "again.toml")
    assert (tmp_path / "again.toml").read_bytes() == path.read_bytes()


# its file


@pytest.fixture
def mine(cruiser: Setup, tmp_path: Path) -> Session:
    """A session on a file of its own."""
    path = tmp_path / "mine.toml"
    scenario.save(cruiser, path)
    return Session(scenario.load(path), path)


def heard(session: Session) -> list[OnDisk]:
    states: list[OnDisk] = []
    session.file_changed.connect(lambda: states.append(session.on_disk))
    return states


def test_a_file_that_is_only_touched_has_not_changed(mine: Session) -> None:
    assert mine.path is not None
    states = heard(mine)
    mine.path.write_bytes(mine.path.read_bytes())
    mine.path.touch()
    assert mine.look_at_file() is OnDisk.SAME
    assert states == []


def test_saving_is_no_change_from_outside(mine: Session) -> None:
    assert mine.path is not None
    mine.edit(longer(mine.setup, 5.0), "Longer")
    mine.save(mine.path)
    assert mine.look_at_file() is OnDisk.SAME


def test_a_changed_file_is_read_again_as_a_step(mine: Session) -> None:
    assert mine.path is not None
    theirs = longer(mine.setup, 20.0)
    mine.edit(longer(mine.setup, 5.0), "Longer")
    ours = mine.setup
    states = heard(mine)
    scenario.save(theirs, mine.path)
    assert mine.look_at_file() is OnDisk.CHANGED
    assert mine.read_again()
    assert mine.setup == theirs
    assert not mine.changed
    assert mine.undo_name == "Read the file again"
    assert states == [OnDisk.CHANGED, OnDisk.SAME]
    mine.undo()
    assert mine.setup is ours
    assert mine.changed


def test_read_again_takes_new_comments_along(mine: Session) -> None:
    assert mine.path is not None
    commented = "# measured twice\n" + mine.path.read_text()
    mine.path.write_text(commented)
    assert mine.look_at_file() is OnDisk.CHANGED
    assert mine.read_again()
    mine.save(mine.path)
    assert mine.path.read_text() == commented


def test_a_file_changed_into_nonsense_is_told_and_nothing_lost(mine: Session) -> None:
    assert mine.path is not None
    told: list[str] = []
    mine.message.connect(told.append)
    before = mine.setup
    mine.path.write_text("title = [")
    mine.look_at_file()
    assert not mine.read_again()
    assert mine.setup is before
    assert len(told) == 1
    assert str(mine.path) in told[0]
    assert mine.on_disk is OnDisk.CHANGED


def test_kept_against_a_changed_file_it_is_unsaved_until_saved(mine: Session) -> None:
    assert mine.path is not None
    before = mine.setup
    scenario.save(longer(before, 20.0), mine.path)
    mine.look_at_file()
    assert not mine.changed  # nothing of ours would be lost
    mine.keep_mine()
    assert mine.look_at_file() is OnDisk.SAME
    assert mine.changed
    mine.save(mine.path)
    assert not mine.changed
    assert scenario.load(mine.path) == before
    scenario.save(longer(before, 30.0), mine.path)
    assert mine.look_at_file() is OnDisk.CHANGED


def test_without_its_file_it_is_unsaved_until_that_is_back(mine: Session) -> None:
    assert mine.path is not None
    away = mine.path.with_name("away.toml")
    mine.path.rename(away)
    assert mine.look_at_file() is OnDisk.GONE
    assert mine.changed
    away.rename(mine.path)
    assert mine.look_at_file() is OnDisk.SAME
    assert not mine.changed
    mine.path.unlink()
    mine.look_at_file()
    mine.save(mine.path)
    assert not mine.changed
    assert mine.look_at_file() is OnDisk.SAME


def test_a_file_that_cannot_be_read_any_more(
    mine: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> object:
        raise PermissionError(13, "Permission denied")

    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", refused)  # by permissions would not stop root
        assert mine.look_at_file() is OnDisk.UNREADABLE
    assert not mine.changed
    assert mine.look_at_file() is OnDisk.SAME
