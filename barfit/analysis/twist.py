"""Twist: how far each line that cannot turn in its fittings is twisted over the sweep."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from barfit.analysis.rest import Rest
from barfit.analysis.sweep import LineSweep, Sweep
from barfit.catalogue import line_kinds


@dataclass(frozen=True)
class Twist:
    """The twist of the span of one line that is twisted most for its length.

    Angles rad, signed right-handed from the first fitting to the last, 0 as fitted: straight ahead
    at ride height. ``greatest`` is the largest twist either way, over ``length`` mm, at ``turn``
    and ``travel``; ``least`` and ``most`` are its ends over the sweep. ``allowed`` rad/mm is the
    kind's. ``stations`` are the names of the two that hold the span. ``moment`` N·mm is the largest
    twisting moment. ``unknown`` is how many of the ``poses`` it is not known at: the line is too
    short there, or not at rest. All nan where it is known at none.
    """

    greatest: float
    least: float
    most: float
    length: float
    turn: float
    travel: float
    allowed: float
    stations: tuple[str, str]
    moment: float
    unknown: int
    poses: int

    @property
    def rate(self) -> float:
        """The largest twist per length, rad/mm."""
        return abs(self.greatest) / self.length

    @property
    def too_much(self) -> bool:
        """Whether it exceeds what the line's kind allows; no where it is not known."""
        return self.rate > self.allowed

    @property
    def evened(self) -> float:
        """The largest twist per length if the line were fitted midway between the extremes."""
        return 0.5 * (self.most - self.least) / self.length


def line_twist(sweep: Sweep, swept: LineSweep, rests: Sequence[Rest]) -> Twist | None:
    """The twist of one line; None where no span of it is both held against turning and moved."""
    found = [_span_twist(sweep, swept, rest) for rest in rests if rest.span.case.twisting > 0.0]
    return max(found, key=lambda twist: (math.isfinite(twist.rate), twist.rate), default=None)


def _span_twist(sweep: Sweep, swept: LineSweep, rest: Rest) -> Twist:
    case = rest.span.case
    known = np.isfinite(rest.twist)
    worst = int(np.nanargmax(np.abs(rest.twist))) if known.any() else 0
    row, column = divmod(worst, len(sweep.angles))
    names = case.layout.names

    def end(values: np.ndarray, largest: bool) -> float:
        if not known.any():
            return math.nan
        return float(np.nanmax(values) if largest else np.nanmin(values))

    return Twist(
        greatest=float(rest.twist[worst]),
        least=end(rest.twist, False),
        most=end(rest.twist, True),
        length=float(case.length),
        turn=float(sweep.angles[column]) if known.any() else math.nan,
        travel=float(swept.travels[row]) if known.any() else math.nan,
        allowed=line_kinds()[case.line.kind].max_twist,
        stations=(names[case.first], names[case.last]),
        moment=case.twisting * float(np.abs(rest.twist[worst])) / case.length,
        unknown=int((~known).sum()),
        poses=known.size,
    )
