"""Plain events, called on the thread that made the change."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, ParamSpec

P = ParamSpec("P")


class Event(Generic[P]):
    """A list of callables that are called in the order in which they were connected."""

    def __init__(self) -> None:
        self._calls: list[Callable[P, object]] = []

    def connect(self, call: Callable[P, object]) -> None:
        """Call this from now on."""
        self._calls.append(call)

    def emit(self, *args: P.args, **kwargs: P.kwargs) -> None:
        """Call all that are connected."""
        for call in tuple(self._calls):
            call(*args, **kwargs)
