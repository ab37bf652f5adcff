"""Copies of unsaved changes, so that a crash costs next to nothing.

A copy is one file in the user's state folder: a comment that says what it is, then the text of the
scenario, which could be opened by hand. Beside it lies a lock that is held by the window the copy
belongs to. The system lets go of the lock however the process ends, so a copy whose lock is free
was left behind; a process number would not do, because it may long be another's. Whoever offers a
copy to the user holds its lock meanwhile, so that no two windows offer the same.
"""

from __future__ import annotations

import json
import os
import secrets
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import platformdirs
from filelock import BaseFileLock, FileLock, Timeout

from barfit import scenario
from barfit.model import Setup

HEAD = "# Unsaved changes kept by barfit: "
LARGEST = 10_000_000  # bytes; a scenario has half as many at most
OLD = 24 * 3600.0  # s, after which a half-written file is nobody's any more


class RecoveryError(Exception):
    """Copies cannot be kept or looked for; its text is a sentence that says why."""


@dataclass(frozen=True)
class About:
    """What unsaved changes belong to.

    ``path`` is the file they were made to, None without one; ``known`` the digest of what it held;
    ``edit`` the name of the last edit, "" without one; ``folder`` where names of mesh files count
    from; ``process`` the number of the process that kept them.
    """

    title: str
    path: Path | None
    known: str
    edit: str
    folder: str
    when: datetime
    process: int

    @property
    def name(self) -> str:
        """What to call the document."""
        return self.title if self.path is None else self.path.name


@dataclass(frozen=True)
class Left:
    """A copy that was left behind. ``problem`` is what is wrong with it, such as "is damaged", and
    "" where nothing is; only with one may ``about`` be None.
    """

    at: Path
    about: About | None
    text: str = ""
    problem: str = ""

    def setup(self) -> Setup:
        """The setup with its unsaved changes. Raises ScenarioError."""
        assert self.about is not None
        return scenario.loads(self.text, self.about.name, self.about.folder)


def default_folder() -> Path:
    """Where copies are kept."""
    return platformdirs.user_state_path("barfit", appauthor=False) / "unsaved"


class Store:
    """The copies in a folder, of which one may be this window's own. Safe to use from threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._own: Path | None = None
        self._held: dict[Path, BaseFileLock] = {}
        self._busy = threading.RLock()

    # this window's own

    def keep(self, setup: Setup, path: Path | None, known: str, edit: str) -> None:
        """Write the copy of this window's unsaved changes, instead of the one before.

        Raises RecoveryError.
        """
        with _told("Unsaved changes are not kept in case of a crash"):
            now = datetime.now(UTC)
            home = None if path is None else path.absolute()
            folder = str(Path(setup.folder).absolute())
            about = About(setup.title, home, known, edit, folder, now, os.getpid())
            content = _written(about, scenario.dumps(setup, folder))
            with self._busy:
                self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
                if self._own is None or not _lock_of(self._own).exists():
                    self._own = self._new()
                scenario.replace_file(self._own, content)

    def drop(self) -> None:
        """Remove this window's copy, if there is one. Raises RecoveryError."""
        with self._busy, _told("The copy of changes that are saved by now was not removed"):
            own, self._own = self._own, None
            if own is not None:
                self._remove(own)

    def close(self) -> None:
        """Let go of everything; copies stay, and are there for others to bring back."""
        with self._busy:
            self._own = None
            for at in tuple(self._held):
                self._release(at)

    # those left behind

    def left(self) -> list[Left]:
        """The copies that belong to no window any more, newest first; this store holds them now.

        Raises RecoveryError.
        """
        with self._busy, _told("Whether unsaved changes were left behind is not known"):
            if not self.folder.is_dir():
                return []
            self._clear_away()
            found = [_read(at) for at in sorted(self.folder.glob("*.toml")) if self._claim(at)]
            return sorted(found, key=_age)

    def leave(self, left: Left) -> None:
        """Let a copy be, for the next start or another window."""
        with self._busy:
            self._release(left.at)

    def delete(self, left: Left) -> None:
        """Remove a copy for good. Raises RecoveryError."""
        with self._busy, _told("The unsaved changes were not deleted"):
            self._remove(left.at)

    def take_over(self, left: Left) -> None:
        """Make a copy this window's own: ``keep`` writes over it, ``drop`` removes it.

        Raises RecoveryError when the one it had before stays; this one is taken over all the same.
        """
        with self._busy, _told("A copy of changes that were given up was not removed"):
            own, self._own = self._own, left.at
            if own is not None:
                self._remove(own)

    # locks

    def _new(self) -> Path:
        at = self.folder / f"{datetime.now():%Y%m%d-%H%M%S}-{secrets.token_hex(4)}.toml"
        self._claim(at)
        return at

    def _claim(self, at: Path) -> bool:
        """Hold the lock of a copy; False where this store or another has it already."""
        if at in self._held:
            return False
        lock = FileLock(_lock_of(at), timeout=0, thread_local=False)
        try:
            lock.acquire()
        except Timeout:
            return False
        self._held[at] = lock
        return True

    def _release(self, at: Path) -> None:
        if lock := self._held.pop(at, None):
            lock.release()

    def _remove(self, at: Path) -> None:
        at.unlink(missing_ok=True)
        if at in self._held and os.name != "nt":  # there the lock takes its file along itself
            # while it is held, when nobody else can have it
            _lock_of(at).unlink(missing_ok=True)
        self._release(at)

    def _clear_away(self) -> None:
        """Remove locks without a copy and what a process that was killed had half written."""
        for lock in self.folder.glob("*.lock"):
            at = lock.with_suffix(".toml")
            if not at.exists() and self._claim(at):
                self._remove(at)
        for half in self.folder.glob(".barfit-*.tmp"):
            if time.time() - half.stat().st_mtime > OLD:
                half.unlink()


def _lock_of(at: Path) -> Path:
    return at.with_suffix(".lock")


def _age(left: Left) -> float:
    """What sorts the newest first; last what cannot be told."""
    return 0.0 if left.about is None else -left.about.when.timestamp()


def _written(about: About, text: str) -> bytes:
    """A copy as the content of its file."""
    said = {
        "title": about.title,
        "path": None if about.path is None else str(about.path),
        "known": about.known,
        "edit": about.edit,
        "folder": about.folder,
        "when": about.when.isoformat(timespec="seconds"),
        "process": about.process,
        "text": scenario.digest(text),
    }
    return f"{HEAD}{json.dumps(said)}\n{text}".encode()


def _read(at: Path) -> Left:
    """A copy from its file, whatever is in that."""
    try:
        with at.open("rb") as file:
            content = file.read(LARGEST)
    except OSError as error:
        return Left(at, None, problem=f"cannot be read ({error.strerror})")
    head, _, content = content.partition(b"\n")
    try:
        if not head.startswith(HEAD.encode()):
            raise ValueError("another file")
        said = json.loads(head[len(HEAD) :])
        about = About(
            title=str(said["title"]),
            path=None if said["path"] is None else Path(said["path"]),
            known=str(said["known"]),
            edit=str(said["edit"]),
            folder=str(said["folder"]),
            when=datetime.fromisoformat(said["when"]).astimezone(UTC),
            process=int(said["process"]),
        )
        whole = said["text"] == scenario.digest(content)
        text = content.decode()
    except (ValueError, KeyError, TypeError, OverflowError, OSError):
        return Left(at, None, problem="is damaged, or not from barfit")
    if not whole:
        return Left(at, about, problem="is damaged")
    return Left(at, about, text)


@contextmanager
def _told(what: str) -> Iterator[None]:
    """Say what did not work, and why, as a sentence."""
    try:
        yield
    except scenario.ScenarioError as error:
        raise RecoveryError(f"{what}: {str(error.problems[0]).rstrip('.')}.") from None
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        raise RecoveryError(f"{what}: {where}{error.strerror or error}.") from None
