"""What a scenario file holds now, against what was last read from it or written to it."""

from __future__ import annotations

import hashlib
from enum import StrEnum
from pathlib import Path

from barfit.scenario.reading import LARGEST


class OnDisk(StrEnum):
    """How a file compares with what is known of it. The times of the file do not count."""

    SAME = "same"
    CHANGED = "changed"
    GONE = "gone"
    UNREADABLE = "unreadable"


def digest(content: str | bytes) -> str:
    """The SHA-256 of a file's content, as hexadecimal digits."""
    return hashlib.sha256(content.encode() if isinstance(content, str) else content).hexdigest()


def look(path: Path) -> tuple[OnDisk, str]:
    """What can be said of a file without knowing it: the digest of its content with SAME; else
    GONE or UNREADABLE, and "".
    """
    try:
        if not path.is_file():
            return OnDisk.GONE, ""
        with path.open("rb") as file:
            return OnDisk.SAME, digest(file.read(LARGEST + 1))
    except FileNotFoundError:  # went in between
        return OnDisk.GONE, ""
    except (OSError, ValueError):  # ValueError: a name with a null character
        return OnDisk.UNREADABLE, ""


def compare(path: Path, known: str) -> OnDisk:
    """How the content of a file compares with the one of that digest."""
    state, found = look(path)
    return OnDisk.CHANGED if state is OnDisk.SAME and found != known else state
