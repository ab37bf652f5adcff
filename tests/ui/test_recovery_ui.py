"""Unsaved changes in the window: kept, offered after a crash, brought back; a file that changes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from made import InstantWorker, StubViewport
from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication, QFileDialog, QMessageBox
from sweeps import path, setup

import barfit
from barfit import scenario
from barfit.model import Setup
from barfit.recovery import About, Store
from barfit.scenario import OnDisk
from barfit.session import Session
from barfit.ui import asking, disk_watch
from barfit.ui.left_behind import MOST, when
from barfit.ui.settings import Settings
from barfit.ui.theme import Choice, Theme
from barfit.ui.window import Window


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "state"


@pytest.fixture
def own_file(tmp_path: Path) -> Path:
    own = tmp_path / "mine.toml"
    own.write_bytes(path().read_bytes())
    return own


@pytest.fixture
def start(qtbot, settings: Settings, folder: Path, own_file: Path) -> Callable[..., Window]:
    """Starts a window that keeps unsaved changes in the folder, at once."""

    def make(file: Path | None = None) -> Window:
        file = file or own_file
        session = Session(scenario.load(file), file)
        theme = Theme(Choice.LIGHT)
        store = Store(folder)
        window = Window(session, StubViewport(), InstantWorker(), theme, settings, store)
        assert window.autosave is not None
        window.autosave._timer.setInterval(0)
        qtbot.addWidget(window)
        with qtbot.waitActive(window):
            window.show()
            window.activateWindow()
        qtbot.waitUntil(lambda: not session.stale(True))
        window.player.pause()
        return window

    return make


def wider(now: Setup, by: float = 10.0) -> Setup:
    """The new bars wider (mm)."""
    return replace(
        now, new=replace(now.new, bar=replace(now.new.bar, width=now.new.bar.width + by))
    )


def edit(window: Window, name: str = "Wider bars") -> Setup:
    window.session.edit(wider(window.session.setup), name)
    return window.session.setup


def copies(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.toml"))


def is_kept(folder: Path, wanted: Setup) -> bool:
    return [scenario.load(at) for at in copies(folder)] == [wanted]


def leave_behind(folder: Path, setup: Setup, file: Path | None, edit: str = "Edit") -> None:
    known = "" if file is None else scenario.digest(file.read_bytes())
    gone = Store(folder)
    gone.keep(setup, file, known, edit)
    gone.close()


def answers(monkeypatch: pytest.MonkeyPatch, answer: str) -> list[str]:
    asked: list[str] = []
    monkeypatch.setattr(asking, "ask", lambda _, title, text, *more: asked.append(text) or answer)
    return asked


def refuse(monkeypatch: pytest.MonkeyPatch, answer: str) -> list[str]:
    """Answer the question about unsaved changes."""
    asked: list[str] = []
    button = getattr(QMessageBox.StandardButton, answer)
    monkeypatch.setattr(QMessageBox, "question", lambda *args: asked.append(args[2]) or button)
    return asked


# keeping


def test_an_edit_is_kept_a_moment_later_and_let_go_once_saved(qtbot, start, folder):
    window = start()
    assert copies(folder) == []
    edited = edit(window)
    qtbot.waitUntil(lambda: is_kept(folder, edited))
    again = edit(window)
    qtbot.waitUntil(lambda: is_kept(folder, again))
    window.do("save")
    qtbot.waitUntil(lambda: copies(folder) == [])


@pytest.mark.parametrize("way", ["undo", "open another", "close"])
def test_what_is_given_up_is_let_go(qtbot, start, folder, way):
    window = start()
    edited = edit(window)
    qtbot.waitUntil(lambda: is_kept(folder, edited))
    if way == "undo":
        window.do("undo")
    elif way == "open another":
        window.open(path("old-twin"))
    else:
        window.close()
    qtbot.waitUntil(lambda: list(folder.iterdir()) == [])


def test_a_drag_is_kept_on_the_way_and_not_put_off(qtbot, start, folder):
    window = start()
    window.autosave._timer.setInterval(50)
    begun = window.session.setup
    steps = iter(range(1, 1000))

    def pull() -> bool:
        window.session.edit(wider(begun, float(next(steps))), "Wider bars", joins="drag")
        return bool(copies(folder))

    qtbot.waitUntil(pull)  # tries every 10 ms
    window.do("undo")


def test_that_copies_cannot_be_kept_is_said_once(qtbot, start, tmp_path, folder):
    folder.write_text("a file where the folder should be")
    window = start()
    edit(window)
    qtbot.waitUntil(lambda: window.message.isVisible())
    assert window.message.text.startswith("Unsaved changes are not kept in case of a crash: ")
    assert str(folder) in window.message.text
    window.message.hide()
    edit(window)
    qtbot.wait(300)
    assert not window.message.isVisible()
    window.do("undo")
    window.do("undo")


def test_nothing_is_kept_after_closing(qtbot, start, folder):
    window = start()
    edit(window)
    window.close()
    window.session.undo()
    edit(window)
    qtbot.wait(100)
    assert list(folder.glob("*")) == []


# bringing back


def test_what_was_left_behind_is_brought_back_unsaved(qtbot, start, folder, own_file, monkeypatch):
    before = own_file.read_bytes()
    edited = wider(scenario.load(own_file))
    leave_behind(folder, edited, own_file, "Move clutch fitting")
    window = start(path("old-twin"))
    bar = window.body.left_behind
    assert bar.isVisible()
    (sentence,) = bar.sentences
    assert sentence.startswith(
        "Unsaved changes to “mine.toml” were left behind. Last edit: Move clutch fitting, today at "
    )
    qtbot.mouseClick(bar.button("Bring back"), Qt.MouseButton.LeftButton)
    session = window.session
    assert session.setup == edited
    assert session.path == own_file
    assert window.isWindowModified()
    assert not bar.isVisible()
    assert own_file.read_bytes() == before
    qtbot.waitUntil(lambda: is_kept(folder, edited))
    assert window.commands.undo.text() == "&Undo: Bring back unsaved changes"
    window.do("undo")
    assert scenario.dumps(session.setup).encode() == before
    qtbot.waitUntil(lambda: copies(folder) == [])
    window.do("redo")
    window.do("save")
    assert scenario.load(own_file) == edited
    assert not window.isWindowModified()


def test_brought_back_to_a_file_that_is_another_by_now_the_change_is_told(start, folder, own_file):
    edited = wider(scenario.load(own_file))
    leave_behind(folder, edited, own_file)
    own_file.write_text("# mine no more\n" + own_file.read_text())
    window = start(path("old-twin"))
    window.body.left_behind.button("Bring back").click()
    assert window.session.setup == edited
    assert window.isWindowModified()
    assert not window.commands.undo.isEnabled()
    assert "changed by another program" in window.body.file_notice.sentences[0]
    window.body.file_notice.button("Read it again").click()
    assert window.session.setup.source == own_file.read_text()
    assert not window.isWindowModified()
    window.do("undo")
    assert window.session.setup == edited
    window.do("redo")


def test_brought_back_without_its_file_it_can_be_saved_there_again(start, folder, own_file):
    edited = wider(scenario.load(own_file))
    leave_behind(folder, edited, own_file)
    own_file.unlink()
    window = start(path("old-twin"))
    window.body.left_behind.button("Bring back").click()
    assert window.isWindowModified()
    notice = window.body.file_notice
    assert "no longer there" in notice.sentences[0]
    notice.button("Save it again").click()
    assert scenario.load(own_file) == edited
    assert not notice.isVisible()
    assert not window.isWindowModified()


def test_left_it_is_offered_at_the_next_start_and_deleted_it_is_not(
    start, folder, own_file, monkeypatch
):
    leave_behind(folder, wider(setup()), own_file)
    window = start()
    bar = window.body.left_behind
    bar.button("Leave").click()
    assert not bar.isVisible()
    window.close()
    window = start()
    bar = window.body.left_behind
    assert bar.isVisible()
    asked = answers(monkeypatch, "")
    bar.button("Delete").click()
    assert asked == ["Delete the unsaved changes to “mine.toml” for good?"]
    assert bar.isVisible()
    answers(monkeypatch, "Delete")
    bar.button("Delete").click()
    assert not bar.isVisible()
    assert list(folder.iterdir()) == []
    window.close()
    assert not start().body.left_behind.isVisible()


def test_what_was_kept_without_an_edit_says_when(start, folder, own_file):
    leave_behind(folder, setup(), own_file, "")
    (sentence,) = start().body.left_behind.sentences
    assert sentence.startswith("Unsaved changes to “mine.toml” were left behind. Kept today at ")


def test_closing_without_a_choice_leaves_it(start, folder, own_file):
    leave_behind(folder, wider(setup()), own_file)
    start().close()
    assert start().body.left_behind.isVisible()


def test_several_are_listed_and_move_up(start, folder, own_file, monkeypatch):
    for number in range(MOST + 2):
        leave_behind(folder, wider(setup(), number + 1), own_file, f"Edit {number}")
    (folder / "broken.toml").write_bytes(b"\x00")
    answers(monkeypatch, "Delete")
    window = start()
    bar = window.body.left_behind
    head, *rows, foot = bar.sentences
    assert head == "Unsaved changes were left behind"
    assert len(rows) == MOST
    assert all(f"“mine.toml” in {own_file.parent}. Last edit: " in row for row in rows)
    assert foot == "and 3 more, shown when these are dealt with"
    for _ in range(MOST + 1):
        bar.button("Delete").click()
    assert len(bar.sentences) == 3
    bar.button("Bring back").click()
    (broken,) = bar.sentences
    assert broken == (
        "A copy of unsaved changes cannot be brought back: it is damaged, or not from barfit."
    )
    bar.button("Delete").click()
    assert not bar.isVisible()
    window.do("undo")


def test_what_is_unsaved_here_is_asked_about_before_it_gives_way(
    qtbot, start, folder, own_file, monkeypatch
):
    left = wider(setup(), 33.0)
    leave_behind(folder, left, own_file)
    window = start(path("old-twin"))
    edited = edit(window)
    qtbot.waitUntil(lambda: len(copies(folder)) == 2)
    refuse(monkeypatch, "Cancel")
    window.body.left_behind.button("Bring back").click()
    assert window.session.setup is edited
    assert window.body.left_behind.isVisible()
    refuse(monkeypatch, "Discard")
    window.body.left_behind.button("Bring back").click()
    assert window.session.setup == left
    qtbot.waitUntil(lambda: is_kept(folder, left))


def test_a_broken_copy_is_told_in_a_sentence(start, folder, own_file):
    leave_behind(folder, wider(setup()), own_file)
    (copy,) = copies(folder)
    copy.write_bytes(copy.read_bytes()[:-100])
    window = start()
    bar = window.body.left_behind
    assert bar.sentences == [
        "Unsaved changes to “mine.toml” cannot be brought back: the copy is damaged."
    ]
    with pytest.raises(IndexError):
        bar.button("Bring back")
    assert window.session.result() is not None


def test_a_copy_that_does_not_load_is_told_and_stays(start, folder, own_file):
    leave_behind(folder, wider(setup()), own_file)
    (copy,) = copies(folder)
    head, text = copy.read_text().split("\n", 1)
    newer = text.replace("format = 1", "format = 99")
    copy.write_text(head.replace(scenario.digest(text), scenario.digest(newer)) + "\n" + newer)
    window = start()
    window.body.left_behind.button("Bring back").click()
    assert window.message.text.startswith("Not brought back: mine.toml: was written by a newer")
    assert window.body.left_behind.isVisible()
    assert copy.exists()


def test_when_a_copy_was_kept_is_told_by_the_local_clock():
    def told(day: int) -> str:
        at = datetime(2026, 3, day, 12, 30).astimezone(UTC)
        return when(About("", None, "", "", "", at, 0), date(2026, 3, 14))

    assert told(14).startswith("today at ")
    assert told(13).startswith("yesterday at ")
    assert told(2).startswith("on 2 March 2026 at ")
    assert "30" in told(14)


# the file


def seen(window: Window, wanted: OnDisk) -> Callable[[], bool]:
    return lambda: window.session.on_disk is wanted


def by_editor(file: Path, text: str, way: str) -> None:
    """Write a file as other programs do."""
    if way == "over it":
        file.write_text(text)
    else:
        beside = file.with_name("4913~")
        beside.write_text(text)
        os.replace(beside, file)


@pytest.mark.parametrize("way", ["over it", "in its place"])
def test_a_file_changed_underneath_is_noticed_time_and_again(qtbot, start, own_file, way):
    window = start()
    notice = window.body.file_notice
    for length in (1.0, 2.0):
        text = own_file.read_text()
        by_editor(own_file, f"# {length}\n{text}", way)
        qtbot.waitUntil(notice.isVisible)
        assert notice.sentences == [
            "“mine.toml” was changed by another program. Reading it again can be undone."
        ]
        assert not window.isWindowModified()
        qtbot.mouseClick(notice.button("Read it again"), Qt.MouseButton.LeftButton)
        assert not notice.isVisible()
        assert window.session.setup.source == own_file.read_text()
        assert not window.isWindowModified()


def test_the_same_again_is_no_change(qtbot, start, own_file):
    window = start()
    by_editor(own_file, own_file.read_text(), "in its place")
    own_file.touch()
    qtbot.wait(disk_watch.PAUSE + 200)
    assert not window.body.file_notice.isVisible()


def test_saving_is_not_noticed_as_a_change(qtbot, start, own_file):
    window = start()
    edit(window)
    window.do("save")
    qtbot.wait(disk_watch.PAUSE + 200)
    assert not window.body.file_notice.isVisible()


def test_what_no_watcher_tells_is_noticed_when_the_window_comes_to_the_front(
    qtbot, start, own_file
):
    window = start()
    window.disk_watch._watcher.blockSignals(True)  # as on some network drives
    own_file.write_text("# another\n" + own_file.read_text())
    qtbot.wait(disk_watch.PAUSE + 100)
    assert not window.body.file_notice.isVisible()
    app = QApplication.instance()
    app.applicationStateChanged.emit(Qt.ApplicationState.ApplicationActive)
    assert window.body.file_notice.isVisible()


def test_a_link_is_followed(qtbot, start, own_file, tmp_path):
    (tmp_path / "links").mkdir()
    link = tmp_path / "links" / "link.toml"
    link.symlink_to(own_file)
    window = start(link)
    by_editor(own_file, "# another\n" + own_file.read_text(), "in its place")
    qtbot.waitUntil(window.body.file_notice.isVisible)


def test_kept_against_the_file_it_is_unsaved_and_kept_safe(qtbot, start, own_file, folder):
    window = start()
    mine = window.session.setup
    theirs = "# theirs\n" + own_file.read_text()
    by_editor(own_file, theirs, "over it")
    qtbot.waitUntil(window.body.file_notice.isVisible)
    window.body.file_notice.button("Keep mine").click()
    assert not window.body.file_notice.isVisible()
    assert window.isWindowModified()
    assert window.commands.save.isEnabled()
    qtbot.waitUntil(lambda: is_kept(folder, mine))
    assert '"edit": ""' in copies(folder)[0].read_text()
    window.do("save")  # asks no more
    assert own_file.read_text() == mine.source != theirs
    assert not window.isWindowModified()


@pytest.mark.parametrize("answer", ["", "Save over it", "Save as…"])
def test_saving_over_a_file_that_has_changed_asks(
    qtbot, start, own_file, monkeypatch, tmp_path, answer
):
    window = start()
    edited = edit(window)
    theirs = "# theirs\n" + own_file.read_text()
    own_file.write_text(theirs)
    other = tmp_path / "other.toml"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args: (str(other), ""))
    asked = answers(monkeypatch, answer)
    window.do("save")  # before the watcher has had time to tell
    assert asked == ["“mine.toml” was changed by another program. Save over it?"]
    assert (own_file.read_text() == theirs) is (answer != "Save over it")
    assert other.exists() is (answer == "Save as…")
    assert window.isWindowModified() is (answer == "")
    assert window.body.file_notice.isVisible() is (answer == "")
    assert window.session.setup is edited


def test_a_file_that_vanishes_is_told_and_asked_about_on_closing(
    qtbot, start, own_file, monkeypatch
):
    window = start()
    own_file.unlink()
    notice = window.body.file_notice
    qtbot.waitUntil(notice.isVisible)
    assert window.isWindowModified()
    asked = refuse(monkeypatch, "Cancel")
    assert not window.close()
    assert len(asked) == 1
    notice.button("Dismiss").click()
    assert not notice.isVisible()
    window.do("save")
    assert own_file.read_bytes() == path().read_bytes()
    assert not window.isWindowModified()


def test_a_file_that_comes_back_is_no_longer_missed(qtbot, start, own_file, tmp_path):
    window = start()
    away = tmp_path / "away.toml"
    own_file.rename(away)
    qtbot.waitUntil(window.body.file_notice.isVisible)
    away.rename(own_file)
    qtbot.waitUntil(lambda: not window.body.file_notice.isVisible())
    assert not window.isWindowModified()


def test_a_file_made_unreadable_is_told(qtbot, start, own_file, monkeypatch):
    window = start()
    if os.geteuid() == 0:  # whom permissions do not stop
        real = Path.open

        def refused(self: Path, *rest: object) -> object:
            if self.name == "mine.toml":
                raise PermissionError(13, "Permission denied")
            return real(self, *rest)

        monkeypatch.setattr(Path, "open", refused)
    own_file.chmod(0)
    notice = window.body.file_notice
    qtbot.waitUntil(notice.isVisible)
    assert "can no longer be read" in notice.sentences[0]
    assert not window.isWindowModified()
    own_file.chmod(0o644)
    monkeypatch.undo()
    notice.button("Look again").click()
    assert not notice.isVisible()


def test_a_file_that_became_nonsense_is_told_and_stays_offered(qtbot, start, own_file):
    window = start()
    before = window.session.setup
    own_file.write_text("title = [")
    qtbot.waitUntil(window.body.file_notice.isVisible)
    window.body.file_notice.button("Read it again").click()
    assert window.message.isVisible()
    assert str(own_file) in window.message.text
    assert window.session.setup is before
    assert window.body.file_notice.isVisible()


# ways out


@pytest.mark.parametrize("way", ["close", "quit", "drop", "open", "recent", "example", "bring"])
def test_every_way_out_asks_about_unsaved_changes(qtbot, start, own_file, folder, monkeypatch, way):
    from test_window import drop

    leave_behind(folder, wider(setup(), 50.0), own_file)
    window = start()
    window.settings.add_recent(path("old-twin"))
    window._fill_recent()
    edited = edit(window)
    asked = refuse(monkeypatch, "Cancel")
    chosen = str(path("old-twin"))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *args: (chosen, ""))
    ways: dict[str, Callable[[], object]] = {
        "close": window.close,
        "quit": lambda: qtbot.keyClick(window, Qt.Key.Key_Q, Qt.KeyboardModifier.ControlModifier),
        "drop": lambda: drop(window, path("old-twin")),
        "open": lambda: window.do("open"),
        "recent": lambda: window.commands.recent.actions()[0].trigger(),
        "example": lambda: window.commands.examples.actions()[0].trigger(),
        "bring": lambda: window.body.left_behind.button("Bring back").click(),
    }
    ways[way]()
    assert asked == [f"Save the changes to “{edited.title}”?"]
    assert window.session.setup is edited
    assert window.isVisible()
    refuse(monkeypatch, "Discard")  # or it would not close


def test_a_name_without_an_ending_does_not_replace_a_file_unasked(
    start, own_file, monkeypatch, tmp_path
):
    window = start()
    edit(window)
    there = tmp_path / "there.toml"
    there.write_text("something else")
    named = str(there.with_suffix(""))
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args: (named, ""))
    asked = answers(monkeypatch, "")
    window.do("save_as")
    assert asked == ["“there.toml” is there already. Save over it?"]
    assert there.read_text() == "something else"
    answers(monkeypatch, "Save over it")
    window.do("save_as")
    assert scenario.load(there) == window.session.setup


def test_no_example_is_written_over_by_name_either(start, monkeypatch):
    window = start()
    edit(window)
    before = path("old-twin").read_bytes()
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args: (str(path("old-twin")), ""))
    window.do("save_as")
    assert path("old-twin").read_bytes() == before
    assert "is an example that comes with barfit" in window.message.text
    window.do("undo")


@pytest.mark.parametrize("press", ["Save over it", "Save as…", "Cancel"])
def test_a_question_is_answered_with_the_word_pressed(qtbot, start, press):
    window = start()

    def answer() -> None:
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        next(b for b in box.buttons() if b.text().replace("&", "") == press).click()

    QTimer.singleShot(50, window, answer)
    got = asking.ask(window, "Save", "Save over it?", "It is lost.", ["Save as…", "Save over it"])
    assert got == ("" if press == "Cancel" else press)


# the real program

DRIVER = """
import json, sys
from dataclasses import replace
from pathlib import Path
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMessageBox
from barfit import scenario
from barfit.ui import app
from barfit.ui.window import Window

def window():
    return next(w for w in QApplication.topLevelWidgets() if isinstance(w, Window))

def say(**what):
    print(json.dumps(what), flush=True)

def edit():
    session = window().session
    bar = session.setup.new.bar
    wider = replace(bar, width=bar.width + 10)
    session.edit(replace(session.setup, new=replace(session.setup.new, bar=wider)), "Wider bars")
    say(edited=wider.width)

def recover():
    bar = window().body.left_behind
    said = bar.sentences
    bar.button("Bring back").click()
    session = window().session
    say(said=said, width=session.setup.new.bar.width, path=str(session.path),
        modified=window().isWindowModified())
    QMessageBox.question = lambda *args: QMessageBox.StandardButton.Discard
    window().close()

if __name__ == "__main__":
    path = Path(sys.argv[2])
    app.application()
    QTimer.singleShot(1500, {"edit": edit, "recover": recover}[sys.argv[1]])
    sys.exit(app.run(path))
"""


@contextmanager
def program(tmp_path: Path, what: str, file: Path) -> Iterator[subprocess.Popen[str]]:
    """The program on a file, with folders of its own, doing something after it has started."""
    script = tmp_path / "driver.py"
    script.write_text(DRIVER)
    here = {"PYTHONPATH": str(Path(barfit.__file__).parents[1])}
    homes = {f"XDG_{kind}_HOME": str(tmp_path / kind.lower()) for kind in ("CONFIG", "STATE")}
    command = [sys.executable, str(script), what, str(file)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env=os.environ | homes | here
    ) as process:
        try:
            yield process
        finally:
            process.kill()


def reply(process: subprocess.Popen[str]) -> dict[str, object]:
    assert process.stdout is not None
    line = process.stdout.readline()
    assert line, "the program ended without a word"
    return json.loads(line)


def until(there: Callable[[], object]) -> None:
    late = time.monotonic() + 60
    while not there():
        assert time.monotonic() < late
        time.sleep(0.05)


@pytest.mark.gl
def test_killed_and_started_again_it_brings_back_the_edit(display, tmp_path, own_file):
    before = own_file.read_bytes()
    unsaved = tmp_path / "state" / "barfit" / "unsaved"
    with program(tmp_path, "edit", own_file) as process:
        edited = reply(process)["edited"]
        until(lambda: copies(unsaved))
        process.send_signal(signal.SIGKILL)
        assert process.wait(60) == -signal.SIGKILL
    assert len(copies(unsaved)) == 1
    assert own_file.read_bytes() == before
    with program(tmp_path, "recover", path("old-twin")) as process:
        said = reply(process)
        assert process.wait(60) == 0
    assert said["width"] == edited
    assert said["path"] == str(own_file)
    assert said["modified"]
    assert "“mine.toml” were left behind. Last edit: Wider bars, " in said["said"][0]
    assert list(unsaved.iterdir()) == []  # discarded, it is gone
    assert own_file.read_bytes() == before


@pytest.mark.gl
def test_told_to_end_it_keeps_at_once_what_is_unsaved(display, tmp_path, own_file):
    with program(tmp_path, "edit", own_file) as process:
        edited = reply(process)["edited"]
        process.send_signal(signal.SIGTERM)
        assert process.wait(60) == 0
    store = Store(tmp_path / "state" / "barfit" / "unsaved")
    (left,) = store.left()
    assert left.setup().new.bar.width == edited
    store.close()
