"""Who sits on the machine, and what the place where it is ridden asks of its bars."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from barfit.model.bodies import Vec


class Build(StrEnum):
    """A build out of tables of body sizes: this share of that group is smaller."""

    MAN_5 = "man, 5th percentile"
    MAN_50 = "man, 50th percentile"
    MAN_95 = "man, 95th percentile"
    WOMAN_5 = "woman, 5th percentile"
    WOMAN_50 = "woman, 50th percentile"
    WOMAN_95 = "woman, 95th percentile"


@dataclass(frozen=True)
class Rider:
    """The rider, lengths in mm; what is None comes from the ``build``'s row in the catalogue.

    ``seat`` is the point of the loaded seat under the hips (None: taken from the machine's seat).
    ``shoulder_height`` from the seat up, sitting erect, ``reach`` from the shoulder joint to the
    middle of the grip, arm straight; ``shoulder_width`` between the joints. ``slump`` takes off
    the shoulder height what sitting at ease does.
    """

    build: Build = Build.MAN_50
    seat: Vec | None = None
    shoulder_height: float | None = None
    reach: float | None = None
    shoulder_width: float | None = None
    slump: float | None = None


@dataclass(frozen=True)
class PlaceLimits:
    """What the law of a place allows, as the user found it; None is "not judged". Lengths mm.

    Heights are those of the highest part of the grips straight ahead: ``over_seat`` above the
    loaded seat, ``over_fastening`` above the middle of what clamps the bar, ``over_shoulders``
    above the rider's. ``width`` and ``least_width`` are overall, bar end to bar end.
    """

    over_seat: float | None = None
    over_fastening: float | None = None
    over_shoulders: float | None = None
    width: float | None = None
    least_width: float | None = None
