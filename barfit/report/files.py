"""What is said where a file cannot be written or read: what, which, why, and what would do."""

from __future__ import annotations

import errno
from pathlib import Path

_HELP = {
    errno.ENOSPC: "make room there or name a place on another disk",
    errno.EDQUOT: "make room there or name a place on another disk",
    errno.EACCES: "name a place that you may write to",
    errno.EPERM: "name a place that you may write to",
    errno.EROFS: "name a place that you may write to",
    errno.ENOENT: "name a folder that is there",
    errno.ENOTDIR: "name a folder that is there",
    errno.EISDIR: "name a file, not a folder",
    errno.ENAMETOOLONG: "give it a shorter name",
}
_OTHERWISE = "name another place"


def not_written(target: Path | str, error: OSError) -> str:
    """That ``target`` cannot be written, why, and what would be accepted: one sentence."""
    return f"{target} cannot be written: {_why(error)}; {_HELP.get(error.errno or 0, _OTHERWISE)}."


def not_used(error: OSError) -> str:
    """The same of a file that nobody said it was read or written; "" where the error names none and
    is not about a full disk.
    """
    if error.filename is not None:
        return f"{error.filename} cannot be read or written: {_why(error)}."
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return f"What was asked for cannot be written: {_why(error)}; {_HELP[error.errno]}."
    return ""


def _why(error: OSError) -> str:
    return error.strerror or " ".join(str(error).split())
