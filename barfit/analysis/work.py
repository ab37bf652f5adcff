"""Progress and cancelling of long computations."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[float], None]
Cancel = Callable[[], bool]


class Cancelled(Exception):
    """The caller no longer wants the result."""


class Work:
    """Counts the ticks of a computation in stages, reports its share and stops when cancelled."""

    def __init__(
        self, stages: int, progress: Progress | None = None, cancelled: Cancel | None = None
    ) -> None:
        self._stages, self._progress, self._cancelled = stages, progress, cancelled
        self._done, self._size = 0.0, 1.0

    @property
    def cancelled(self) -> Cancel | None:
        """Whether the caller no longer wants the result, for what takes long within one tick."""
        return self._cancelled

    def stage(self, ticks: int) -> None:
        """Begin a stage of that many ticks."""
        self._size = 1.0 / (ticks * self._stages)

    def tick(self) -> None:
        """One tick is done. Raises Cancelled."""
        if self._cancelled is not None and self._cancelled():
            raise Cancelled
        self._done += self._size
        if self._progress is not None:
            self._progress(min(self._done, 1.0))
