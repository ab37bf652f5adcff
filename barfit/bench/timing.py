"""One measured time, what it should be, and what a peer takes for the same."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from time import perf_counter


@dataclass(frozen=True)
class Timing:
    """``seconds`` for ``what``; ``target`` is the most it should be, s; ``peer`` what a peer called
    ``beside`` takes, s; ``times`` how many times faster than the peer it should be.
    """

    what: str
    seconds: float
    target: float | None = None
    beside: str = ""
    peer: float | None = None
    times: float | None = None

    @property
    def ratio(self) -> float | None:
        """How many times longer the peer takes."""
        return None if self.peer is None else self.peer / self.seconds

    @property
    def met(self) -> bool | None:
        """Whether the target is met; None where there is none."""
        if self.target is not None:
            return self.seconds <= self.target
        if self.times is not None and self.ratio is not None:
            return self.ratio >= self.times
        return None


def timed(work: Callable[[], object], repeats: int) -> float:
    """Median seconds of ``repeats`` runs, after one that is not counted."""
    work()
    times = []
    for _ in range(repeats):
        began = perf_counter()
        work()
        times.append(perf_counter() - began)
    return median(times)
