"""Copies of unsaved changes: kept, left behind, brought back, and whose they are."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
import trimesh

import barfit
from barfit import scenario
from barfit.model import Setup
from barfit.recovery import HEAD, OLD, RecoveryError, Store
from barfit.scenario import ScenarioError

KEEPS = """
import sys, time
from pathlib import Path
from barfit import scenario
from barfit.recovery import Store
store = Store(Path(sys.argv[1]))
path = Path(sys.argv[2])
store.keep(scenario.load(path), path, "known", "Made elsewhere")
print("kept", flush=True)
time.sleep(100)
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "state" / "unsaved"


@pytest.fixture
def store(folder: Path) -> Iterator[Store]:
    made = Store(folder)
    yield made
    made.close()


@pytest.fixture
def edited(cruiser: Setup) -> Setup:
    return replace(cruiser, title="Edited", note="# not a comment\r\nü")


@contextmanager
def elsewhere(folder: Path, path: Path) -> Iterator[subprocess.Popen[str]]:
    """Another process that keeps a copy, until it is killed."""
    command = [sys.executable, "-c", KEEPS, str(folder), str(path)]
    here = os.environ | {"PYTHONPATH": str(Path(barfit.__file__).parents[1])}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=here) as process:
        try:
            assert process.stdout is not None
            assert process.stdout.readline() == "kept\n"
            yield process
        finally:
            process.kill()


def leave_behind(folder: Path, setup: Setup, path: Path | None = None, edit: str = "Edit") -> None:
    """What a process that ended badly leaves: a copy that nobody holds."""
    gone = Store(folder)
    gone.keep(setup, path, "known", edit)
    gone.close()


def names(folder: Path) -> list[str]:
    return sorted(at.name for at in folder.iterdir())


def test_a_copy_comes_back_as_it_was(store: Store, edited: Setup, cruiser_path: Path) -> None:
    leave_behind(store.folder, edited, cruiser_path, "Move clutch fitting")
    (left,) = store.left()
    assert left.problem == ""
    assert left.setup() == edited
    about = left.about
    assert about is not None
    assert about.path == cruiser_path
    assert about.name == "cruiser.toml"
    assert (about.known, about.edit) == ("known", "Move clutch fitting")
    assert abs((datetime.now(UTC) - about.when).total_seconds()) < 60
    assert about.process == os.getpid()
    # byte for byte what saving would have written
    assert left.text == scenario.dumps(edited)


def test_a_copy_can_be_opened_by_hand(store: Store, edited: Setup) -> None:
    leave_behind(store.folder, edited)
    (left,) = store.left()
    assert scenario.load(left.at) == edited


def test_what_has_no_file_yet_goes_by_its_title(store: Store, edited: Setup) -> None:
    leave_behind(store.folder, edited)
    (left,) = store.left()
    assert left.about is not None
    assert left.about.path is None
    assert left.about.name == "Edited"


def test_only_the_last_copy_of_a_window_stays_and_goes_when_dropped(
    store: Store, cruiser: Setup, edited: Setup
) -> None:
    store.keep(cruiser, None, "", "a")
    store.keep(edited, None, "", "b")
    (copy,) = store.folder.glob("*.toml")
    assert scenario.load(copy) == edited
    store.drop()
    assert names(store.folder) == []
    store.drop()  # nothing left to drop
    store.keep(cruiser, None, "", "c")
    assert len(list(store.folder.glob("*.toml"))) == 1


def test_the_copies_of_a_running_process_are_its_own(
    store: Store, cruiser: Setup, cruiser_path: Path
) -> None:
    with elsewhere(store.folder, cruiser_path) as process:
        store.keep(cruiser, None, "", "Ours")
        assert store.left() == []
        process.send_signal(signal.SIGKILL)
        process.wait()
        (left,) = store.left()
        assert left.about is not None
        assert left.about.edit == "Made elsewhere"
        assert left.about.process == process.pid


def test_a_number_that_another_process_has_by_now_hides_nothing(
    store: Store, cruiser: Setup
) -> None:
    leave_behind(store.folder, cruiser)
    (copy,) = store.folder.glob("*.toml")
    init = copy.read_text().replace(f'"process": {os.getpid()}', '"process": 1')
    copy.write_text(init)
    (left,) = store.left()
    assert left.about is not None
    assert left.about.process == 1
    assert left.problem == ""


def test_what_one_window_offers_no_other_does_until_it_is_left(
    store: Store, cruiser: Setup
) -> None:
    leave_behind(store.folder, cruiser)
    (left,) = store.left()
    other = Store(store.folder)
    assert other.left() == []
    assert store.left() == []  # told once
    store.leave(left)
    (again,) = other.left()
    assert again == left
    other.close()


def test_deleted_is_gone_for_all(store: Store, cruiser: Setup) -> None:
    leave_behind(store.folder, cruiser)
    (left,) = store.left()
    store.delete(left)
    assert names(store.folder) == []
    assert Store(store.folder).left() == []


def test_what_is_taken_over_is_there_until_this_window_drops_it(
    store: Store, cruiser: Setup, edited: Setup
) -> None:
    leave_behind(store.folder, cruiser)
    store.keep(edited, None, "", "Ours before")
    (left,) = store.left()
    store.take_over(left)
    assert [at.name for at in store.folder.glob("*.toml")] == [left.at.name]
    store.keep(edited, None, "", "Ours now")
    assert [at.name for at in store.folder.glob("*.toml")] == [left.at.name]
    assert scenario.load(left.at) == edited
    store.drop()
    assert names(store.folder) == []


def test_several_are_told_newest_first(store: Store, cruiser: Setup) -> None:
    for number in range(3):
        leave_behind(store.folder, cruiser, edit=str(number))
    for number, copy in enumerate(sorted(store.folder.glob("*.toml"))):
        text = copy.read_text()
        when = text[text.index('"when": "') + 9 :][:25]
        copy.write_text(text.replace(when, f"2026-01-0{1 + number}T10:00:00+00:00"))
    days = [left.about.when.day for left in store.left() if left.about is not None]
    assert days == [3, 2, 1]


@pytest.mark.parametrize(
    ("broken", "told"),
    [
        (b"", "is damaged, or not from barfit"),
        (b"\xff\xfe\x00", "is damaged, or not from barfit"),
        (b"title = 'a scenario'\n", "is damaged, or not from barfit"),
        (HEAD.encode() + b"{}\n", "is damaged, or not from barfit"),
        (HEAD.encode() + b"[1]\n", "is damaged, or not from barfit"),
        (HEAD.encode() + b'{"title": \n', "is damaged, or not from barfit"),
    ],
)
def test_what_is_no_copy_does_no_harm(
    store: Store, cruiser: Setup, broken: bytes, told: str
) -> None:
    leave_behind(store.folder, cruiser)
    (store.folder / "odd.toml").write_bytes(broken)
    whole, odd = store.left()
    assert whole.problem == ""
    assert odd.about is None
    assert told in odd.problem
    store.delete(odd)
    assert not odd.at.exists()


@pytest.mark.parametrize("kept", [0.0, 0.5, 0.999])
def test_a_copy_cut_short_still_says_what_it_was(
    store: Store, cruiser: Setup, cruiser_path: Path, kept: float
) -> None:
    leave_behind(store.folder, cruiser, cruiser_path)
    (copy,) = store.folder.glob("*.toml")
    content = copy.read_bytes()
    head = content.index(b"\n") + 1
    copy.write_bytes(content[: head + int(kept * (len(content) - head))])
    (left,) = store.left()
    assert left.problem == "is damaged"
    assert left.about is not None
    assert left.about.path == cruiser_path


def test_a_copy_that_cannot_be_read_is_told(
    store: Store, cruiser: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    leave_behind(store.folder, cruiser)

    def refused(*_: object) -> object:
        raise PermissionError(13, "Permission denied")

    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", refused)
        (left,) = store.left()
    assert left.problem == "cannot be read (Permission denied)"


def test_a_copy_whose_meshes_are_gone_says_so(store: Store, tmp_path: Path) -> None:
    mesh = tmp_path / "lamp.stl"
    trimesh.creation.box(extents=[60.0, 60.0, 90.0]).export(mesh)
    solid = "[machine.solids.lamp]\nrole = 'headlamp'\non = 'steering'\n"
    text = scenario.bundled()[0].read_text()
    text += f"\n{solid}mesh = {{ file = 'lamp.stl', unit = 'mm', position = [300, 0, -40] }}\n"
    path = tmp_path / "mine.toml"
    path.write_text(text)
    setup = scenario.load(path)
    leave_behind(store.folder, setup, path)
    (left,) = store.left()
    assert left.setup() == setup  # found from where the copy lies
    mesh.unlink()
    with pytest.raises(ScenarioError, match=r"lamp\.stl"):
        left.setup()


def test_a_full_disk_is_told_in_a_sentence_and_the_copy_before_stays(
    store: Store, cruiser: Setup, edited: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.keep(cruiser, None, "", "a")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(RecoveryError, match=r"not kept in case of a crash: No space left.*\.$"):
            store.keep(edited, None, "", "b")
    (copy,) = store.folder.glob("*.toml")
    assert scenario.load(copy) == cruiser
    assert not list(store.folder.glob(".*"))
    store.keep(edited, None, "", "b")
    assert scenario.load(copy) == edited


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path, cruiser: Setup) -> None:
    (tmp_path / "state").write_text("a file where the folder should be")
    store = Store(tmp_path / "state" / "unsaved")
    with pytest.raises(RecoveryError, match=r"not kept in case of a crash: .*state.*: Not a dir"):
        store.keep(cruiser, None, "", "a")
    assert store.left() == []


def test_a_folder_nothing_may_be_written_to_is_told(
    store: Store, cruiser: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    leave_behind(store.folder, cruiser)
    if os.geteuid() == 0:  # root may write anywhere: say no in the system's place
        real = os.open

        def refused(path: str, flags: int, *rest: int, **more: int) -> int:
            if flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
                raise PermissionError(13, "Permission denied", str(path))
            return real(path, flags, *rest, **more)

        monkeypatch.setattr(os, "open", refused)
    else:
        store.folder.chmod(0o500)
    with pytest.raises(RecoveryError, match=r"not kept in case of a crash: .*Permission denied"):
        store.keep(cruiser, None, "", "a")
    with pytest.raises(RecoveryError, match=r"left behind is not known: .*Permission denied\.$"):
        store.left()
    store.folder.chmod(0o700)


def test_a_setup_no_file_can_hold_is_told(store: Store, cruiser: Setup) -> None:
    nan = replace(cruiser, machine=replace(cruiser.machine, rake=float("nan")))
    with pytest.raises(RecoveryError, match="not kept in case of a crash: cannot be written"):
        store.keep(nan, None, "", "a")


def test_a_folder_swept_clean_meanwhile_is_made_again(store: Store, cruiser: Setup) -> None:
    store.keep(cruiser, None, "", "a")
    for at in store.folder.iterdir():
        at.unlink()
    store.folder.rmdir()
    store.keep(cruiser, None, "", "b")
    assert Store(store.folder).left() == []  # and is held again


def test_only_the_owner_may_look_into_the_folder(store: Store, cruiser: Setup) -> None:
    store.keep(cruiser, None, "", "a")
    if os.name != "nt":
        assert store.folder.stat().st_mode & 0o077 == 0


def test_what_a_killed_process_had_half_done_is_cleared_away(store: Store, cruiser: Setup) -> None:
    store.folder.mkdir(parents=True)
    half, old = (store.folder / f".barfit-1-{name}.tmp" for name in ("half", "old"))
    for at in (half, old, store.folder / "orphan.lock"):
        at.write_text("")
    past = time.time() - OLD - 60
    os.utime(old, (past, past))
    assert store.left() == []
    assert names(store.folder) == [half.name]  # it may just be being written
