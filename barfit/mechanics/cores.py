"""The rods of a batch shared between two cores: compiled loops hold no interpreter lock.

Each rod is solved by itself, so that it makes no difference to the numbers which core does it.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from threading import Lock

_WORTH_IT = 16  # rods that Newton's method solves in far more time than handing them over takes
_busy = Lock()


def shared(work: Callable[[slice], None], size: int, least: int | None = None) -> None:
    """Do ``work`` on the rows of a batch of that ``size``: one half beside the other where there
    are ``least`` of them (None: as many as pay in Newton's method) and a second core. Raises what
    ``work`` raises.
    """
    least = _WORTH_IT if least is None else least
    # where the other core is at work for another thread, waiting for it would take longer
    if size < least or _cores() < 2 or not _busy.acquire(blocking=False):
        work(slice(0, size))
        return
    try:
        half = size // 2
        beside = _second().submit(work, slice(half, size))
        try:
            work(slice(0, half))
        finally:
            beside.result()  # nothing is left running on arrays that the caller goes on with
    finally:
        _busy.release()


@cache
def _cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@cache
def _second() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(1, thread_name_prefix="barfit rods")
