"""Plain loops over numbers and arrays, compiled by numba at first use."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import njit


def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """Compile at first use; kept on disk where there is a place to keep it."""
    try:
        done: Callable[..., Any] = njit(cache=True, nogil=True, error_model="numpy")(function)
    except RuntimeError:  # no folder numba may write its cache to
        done = njit(nogil=True, error_model="numpy")(function)
    return done
