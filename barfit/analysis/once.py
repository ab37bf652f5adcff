"""Answers that are worked out once, whichever thread asks first."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from concurrent.futures import Future
from threading import Lock
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


class Once(Generic[K, V]):
    """Keeps what was worked out for each key. Another thread that asks meanwhile waits for it."""

    def __init__(self) -> None:
        self._known: dict[K, Future[V]] = {}
        self._lock = Lock()

    def of(self, key: K, made: Callable[[], V]) -> V:
        """The answer for ``key``, ``made`` if it is not known yet. Raises what that raises, and
        raises it again whenever the same is asked.
        """
        with self._lock:
            first = key not in self._known
            answer = self._known.setdefault(key, Future())
        if first:
            try:
                answer.set_result(made())
            except BaseException as error:
                answer.set_exception(error)
        return answer.result()
