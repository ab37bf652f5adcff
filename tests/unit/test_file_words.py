"""What is said where a file cannot be written: what, which, why, and what would do."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from barfit.commands.shared import told_fault
from barfit.report.files import not_written


def refused(number: int, name: str | None = None) -> OSError:
    return OSError(number, os.strerror(number), name)


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.ENOSPC, "No space left on device; make room there or name a place on another disk."),
        (errno.EACCES, "Permission denied; name a place that you may write to."),
        (errno.ENOENT, "No such file or directory; name a folder that is there."),
        (errno.EIO, "Input/output error; name another place."),
    ],
)
def test_a_file_that_is_not_written(number: int, said: str) -> None:
    assert not_written("a.pdf", refused(number)) == f"a.pdf cannot be written: {said}"


def test_a_real_folder_that_is_not_there(tmp_path: Path) -> None:
    target = tmp_path / "nowhere" / "a.pdf"
    with pytest.raises(FileNotFoundError) as caught:
        target.write_bytes(b"")
    assert not_written(target, caught.value).endswith("name a folder that is there.")


def test_a_disk_that_fails_is_no_fault_of_the_program() -> None:
    named = told_fault("machine.toml", refused(errno.EACCES, "/there/a.png"))
    assert str(named) == "/there/a.png cannot be read or written: Permission denied."
    assert "cannot be written: No space left" in str(told_fault("", refused(errno.ENOSPC)))
    assert "broke off" in str(told_fault("machine.toml", OSError("a library said so")))
