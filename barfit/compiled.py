"""Plain loops over numbers and arrays, compiled by numba at first use."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
from platformdirs import user_cache_path

_PACKAGE = Path(__file__).parent


def _cache() -> Path:
    """Where compiled loops are kept: a folder of its own for every state of their source.

    numba looks for changes in the file of a loop alone, and one that was inlined from another
    file would stay as it was.
    """
    source = hashlib.sha256()
    for folder in ("mechanics", "geometry"):
        for path in sorted((_PACKAGE / folder).glob("*.py")):
            source.update(path.read_bytes())
    return user_cache_path("barfit") / f"loops-{source.hexdigest()[:16]}"


numba.config.CACHE_DIR = str(_cache())  # type: ignore[attr-defined]


def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """Compile at first use; kept on disk where there is a place to keep it."""
    return _compiled(function, False)


def inlined(function: Callable[..., Any]) -> Callable[..., Any]:
    """The same, into whatever calls it: for what is so small that handing over arrays is half of
    its cost.
    """
    return _compiled(function, True)


def _compiled(function: Callable[..., Any], inline: bool) -> Callable[..., Any]:
    options: dict[str, Any] = {"nogil": True, "error_model": "numpy", "forceinline": inline}
    try:
        done: Callable[..., Any] = numba.njit(cache=True, **options)(function)
    except RuntimeError:  # no folder numba may write its cache to
        done = numba.njit(**options)(function)
    return done
