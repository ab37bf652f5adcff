"""What moves each stretch of a line: other bars, the steering or fork alone, or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from barfit.geometry.pose import Layout
from barfit.model import BarPlace, Hold, OutletPlace


class Mover(StrEnum):
    """What a stretch of a line follows."""

    BARS = "bars"  # other bars change it
    STEERING = "steering"  # steering or fork move it, whatever bars are fitted
    NOTHING = "nothing"


@dataclass(frozen=True)
class Stretch:
    """A line between two stations that fix it, by their numbers in its layout."""

    first: int
    last: int
    mover: Mover


def stretches(places: Layout) -> tuple[Stretch, ...]:
    """The stretches of a line between what fixes it, fitting to fitting.

    A fixed clip keeps what is on one side of it from what is on the other: other bars reach no
    further than the first clip that is not on the bar. Rings let a line slide, so a stretch goes
    on through them. What lies inside the bar goes with it.
    """
    fixed = [k for k, hold in enumerate(places.holds) if hold is not Hold.GUIDE]
    return tuple(Stretch(a, b, _mover(places, a, b)) for a, b in pairwise(fixed))


def on_bar(places: Layout, first: int, last: int) -> bool:
    """Whether any station from ``first`` to ``last`` sits on the bar or a control."""
    return any(
        isinstance(station.place, OutletPlace | BarPlace)
        for station in places.stations[first : last + 1]
    )


def moving(places: Layout, first: int, last: int) -> bool:
    """Whether stations from ``first`` to ``last`` ride on more than one body."""
    return len(set(places.bodies[first : last + 1])) > 1


def _mover(places: Layout, first: int, last: int) -> Mover:
    if on_bar(places, first, last):
        return Mover.BARS
    return Mover.STEERING if moving(places, first, last) else Mover.NOTHING
