"""A check before riding: what it is, how it is answered, and whether the answer fits."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from barfit.model import Job, Tick

FLUID_YEARS = 2  # after which fluid is changed again: common practice


class Answer(StrEnum):
    """How a check is answered."""

    TICK = "tick"
    NUMBER = "number"
    TEXT = "text"


class Topic(StrEnum):
    """What checks are about, in the order in which they are made."""

    STEERING = "lock to lock"
    THROTTLE = "throttle"
    CLUTCH = "clutch"
    BRAKES = "brakes and hydraulics"
    WIRES = "lamps, switches and wires"
    BARS = "bars and clamps"
    SLACK = "slack found"
    LATER = "later"


class What(StrEnum):
    """What is checked; the first word of its key."""

    FREE = "free lock to lock"
    HANDS = "hands clear"
    SNAPS = "throttle snaps shut"
    IDLE = "idle steady"
    RETURNS = "grip springs back"
    FOLLOWS = "engine follows the grip alone"
    THROTTLE_PLAY = "throttle free play"
    CLUTCH_PLAY = "clutch free play"
    BRAKE_PLAY = "front brake free play"
    WHEEL = "front wheel turns freely"
    HOSE = "hose clear"  # one that moves with the fork
    HOSE_ABOVE = "hose free"  # one that does not
    RESERVOIR = "reservoir level"
    FIRM = "lever firm and held"
    AIR = "no air at its high spot"
    DRY = "joints dry"
    JOINT_TORQUE = "joint torque"
    FLUID = "fluid filled in"
    CIRCUITS = "switches and lamps"
    FAULTS = "no fault lamp"
    ANTI_LOCK = "anti-lock lamp"
    GAP = "bar clamp gap"
    TORQUE = "bar clamp torque"
    SLACK = "slack"
    AGAIN = "looked at again"
    FLUID_CHANGE = "fluid change"


class Trouble(StrEnum):
    """Why a place is to be looked at; with what its value is."""

    TIGHT = "least slack"  # mm
    SLACK = "slack"  # mm, there
    PINCH = "pinched"  # mm between the parts
    RUB = "rubs"
    TOUCH = "touches"
    CLIP = "touches a clip of another line"
    HIGH = "high spot"  # mm along the line from the station before it
    GAP = "comes nearest"  # mm to the part
    PLAY = "free play changes"  # mm between the locks
    TILT = "tilts"  # rad from level
    PARKED = "tilts on the side stand"  # rad from level


@dataclass(frozen=True)
class Spot:
    """A place to look at: a line or part of the bar at a turn (rad) and a travel (mm), None where
    they do not matter, and what is there; ``value`` is as its trouble says (nan: none), ``parts``
    what it touches, lies between or comes near, ``after`` the station before it. ``margin`` mm is
    that of a line whose least slack it is, nan for anything else.
    """

    about: str
    trouble: Trouble
    turn: float | None
    travel: float | None
    value: float = math.nan
    parts: tuple[str, ...] = ()
    after: str = ""
    margin: float = math.nan


@dataclass(frozen=True)
class Check:
    """One check. ``key`` is its own and the same from one run to the next.

    ``about`` is the line or circuit, "" for the machine; ``at`` which of several ("left lock",
    "front"). ``unit`` is that of a number: mm, N·m. ``predicted`` ± ``two_sigma`` is what the
    number is expected to be, nan where nobody can say: then it is a blank to be filled from the
    service manual or just noted. ``turn`` rad. ``spots`` are places to look at, ``names`` what is
    to be tried one by one, or kept clear of. ``task`` is what the task says that it belongs to.
    """

    key: str
    what: What
    topic: Topic
    answer: Answer
    about: str = ""
    at: str = ""
    unit: str = ""
    predicted: float = math.nan
    two_sigma: float = math.nan
    spots: tuple[Spot, ...] = ()
    names: tuple[str, ...] = ()
    task: str = ""


def tick_of(job: Job, key: str) -> Tick:
    """What is kept of a check."""
    return next((one for one in job.ticks if one.key == key), Tick(key))


def disagrees(check: Check, tick: Tick) -> bool:
    """Whether what was found lies further from the prediction than that is uncertain."""
    if tick.found is None or math.isnan(check.predicted) or math.isnan(check.two_sigma):
        return False
    return abs(tick.found - check.predicted) > check.two_sigma


def answered(check: Check, tick: Tick) -> bool:
    """Whether a check has its answer: a tick, and the number or the words that it asks for."""
    if check.answer is Answer.NUMBER:
        return tick.done and tick.found is not None
    return tick.done and (check.answer is Answer.TICK or bool(tick.note))


def standing_checks(found: Iterable[Check]) -> tuple[Check, ...]:
    """What of a check list is on it whatever is done about the lines, without where to look and
    what to expect: those hang on what is done.
    """
    return tuple(
        replace(one, spots=())
        for one in found
        if one.what not in (What.SLACK, What.AIR, What.HOSE, What.HOSE_ABOVE)
    )
