"""What to check before riding, from the setup as it is when the work is done.

Nothing here is taken as done because it was predicted: the numbers stand beside blanks. What only
the service manual knows (torque, clamp gap, free play) is a blank without a number.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np

from barfit.analysis import LineFinding, Sweep, Verdict
from barfit.analysis.stops import crosses_steering
from barfit.analysis.touching import Touch
from barfit.catalogue import line_kinds, line_wires
from barfit.model import (
    Bar,
    BarPlace,
    ControlKind,
    Job,
    Line,
    OutletPlace,
    PointPlace,
    Setup,
    Tick,
    Use,
)
from barfit.trade.circuits import Circuit, anti_lock_units, circuits
from barfit.workshop.accessories import swapped
from barfit.workshop.tasks import Task

FLUID_YEARS = 2  # after which fluid is changed again: common practice
SAME_SLACK = 3.0  # mm between the locks and straight ahead that nobody can feel: estimate
MOST_SPOTS = 8


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
    THROTTLE_PLAY = "throttle free play"
    CLUTCH_PLAY = "clutch free play"
    BRAKE_PLAY = "front brake free play"
    HOSE = "hose clear"
    RESERVOIR = "reservoir level"
    FIRM = "lever firm and held"
    DRY = "joints dry"
    JOINT_TORQUE = "joint torque"
    FLUID = "fluid filled in"
    CIRCUITS = "switches and lamps"
    FAULTS = "no fault lamp"
    GAP = "bar clamp gap"
    TORQUE = "bar clamp torque"
    SLACK = "slack"
    AGAIN = "looked at again"
    FLUID_CHANGE = "fluid change"


class Trouble(StrEnum):
    """Why a place is to be looked at."""

    TIGHT = "least slack"
    PINCH = "pinched"
    RUB = "rubs"
    TOUCH = "touches"


@dataclass(frozen=True)
class Spot:
    """A place to look at: a line at a turn (rad) and a travel (mm), and what is there; ``mm`` is
    its slack or gap, ``parts`` what it touches or lies between, ``after`` the station before it.
    """

    line: str
    trouble: Trouble
    turn: float
    travel: float
    mm: float = math.nan
    parts: tuple[str, ...] = ()
    after: str = ""


@dataclass(frozen=True)
class Check:
    """One check. ``key`` is its own and the same from one run to the next.

    ``about`` is the line or circuit, "" for the machine; ``at`` which of several ("left lock",
    "front"). ``unit`` is that of a number: mm, N·m. ``predicted`` ± ``two_sigma`` is what the
    number is expected to be, nan where nobody can say: then it is a blank to be filled from the
    service manual or just noted. ``turn`` rad. ``spots`` are places to look at, ``names`` what is
    to be tried one by one.
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


def checks(
    swept: Sweep, findings: Sequence[LineFinding], tasks: Sequence[Task], before: Setup
) -> tuple[Check, ...]:
    """The check list of a job.

    ``swept`` (its slack corrected, see `barfit.analysis.corrected`) and ``findings`` are of the
    setup as it is when the work is done; ``before`` is the setup as it was, ``tasks`` the work.
    """
    setup = swept.setup
    return (
        *_steering(setup, findings),
        *_throttle(setup, findings),
        *_clutch(setup, findings),
        *_brakes(setup, findings, tasks),
        *_wires(setup, tasks),
        *_bars(setup, before),
        *_slack(swept, findings),
        *_later(tasks),
    )


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


def _check(what: What, topic: Topic, about: str = "", at: str = "", **more: Any) -> Check:
    key = f"{what}{f' {about}' if about else ''}{f', {at}' if at else ''}"
    return Check(key, what, topic, more.pop("answer", Answer.TICK), about, at, **more)


def _blank(
    what: What, topic: Topic, unit: str, about: str = "", at: str = "", **more: Any
) -> Check:
    return _check(what, topic, about, at, answer=Answer.NUMBER, unit=unit, **more)


# --- lock to lock --------------------------------------------------------------------------------


def _steering(setup: Setup, findings: Sequence[LineFinding]) -> Iterable[Check]:
    spots = _spots(setup, findings)
    yield _check(What.FREE, Topic.STEERING, spots=spots)
    yield _check(What.HANDS, Topic.STEERING)


def _spots(setup: Setup, findings: Sequence[LineFinding]) -> tuple[Spot, ...]:
    """Where to look while the bars are turned: pinches, rubs, hard touches, and where each line
    that feels the turn has least; the worst first.
    """
    pinched = [
        Spot(one.line, Trouble.PINCH, p.turn, p.travel, p.gap, (p.steered, p.standing), p.after)
        for one in findings
        for p in one.pinches[:1]
    ]
    touching = [
        _touched(one, touch)
        for one in findings
        for touch in one.touches
        if touch.rubs or touch.force >= 1.0
    ]
    rubs = [spot for spot in touching if spot.trouble is Trouble.RUB]
    others = [spot for spot in touching if spot.trouble is Trouble.TOUCH]
    return (*pinched, *rubs, *_tightest(setup, findings), *others)[:MOST_SPOTS]


def _touched(found: LineFinding, touch: Touch) -> Spot:
    return Spot(
        found.line,
        Trouble.RUB if touch.rubs else Trouble.TOUCH,
        touch.worst_turn,
        touch.worst_travel,
        parts=(touch.part,),
        after=touch.after,
    )


def _tightest(setup: Setup, findings: Iterable[LineFinding]) -> list[Spot]:
    """Where lines that feel the turn have least slack, those with the least beyond what they
    should keep first.
    """
    feel = [
        one
        for one in findings
        if math.isfinite(one.slack) and crosses_steering(setup.line(one.line))
    ]
    feel.sort(key=lambda one: one.slack - one.least)
    return [
        Spot(one.line, Trouble.TIGHT, one.worst_turn, one.worst_travel, one.slack) for one in feel
    ]


def _of(findings: Iterable[LineFinding], names: Iterable[str]) -> list[LineFinding]:
    wanted = {*names}
    return [one for one in findings if one.line in wanted]


# --- cables --------------------------------------------------------------------------------------


def _kinds(setup: Setup, start: str) -> list[str]:
    return [line.name for line in setup.lines if line.kind.startswith(start)]


def _throttle(setup: Setup, findings: Sequence[LineFinding]) -> Iterable[Check]:
    cables = _kinds(setup, "throttle_")
    by_wire = any(control.kind is ControlKind.GRIP_SENSOR for control in setup.controls)
    if not cables and not by_wire:
        return
    spots = tuple(_tightest(setup, _of(findings, cables)))
    yield _check(What.SNAPS, Topic.THROTTLE, spots=spots)
    yield _check(What.IDLE, Topic.THROTTLE, spots=spots)
    if cables:
        yield _blank(What.THROTTLE_PLAY, Topic.THROTTLE, "mm")


def _clutch(setup: Setup, findings: Sequence[LineFinding]) -> Iterable[Check]:
    cables = _kinds(setup, "clutch_cable")
    spots = tuple(_tightest(setup, _of(findings, cables)))
    for at in ("straight ahead", "right lock", "left lock") if cables else ():
        yield _blank(What.CLUTCH_PLAY, Topic.CLUTCH, "mm", at=at, spots=spots)


# --- brakes and hydraulics -----------------------------------------------------------------------


def _brakes(
    setup: Setup, findings: Sequence[LineFinding], tasks: Sequence[Task]
) -> Iterable[Check]:
    if drum := _kinds(setup, "front_brake_cable"):
        spots = tuple(_tightest(setup, _of(findings, drum)))
        for at in ("straight ahead", "right lock", "left lock"):
            yield _blank(What.BRAKE_PLAY, Topic.BRAKES, "mm", at=at, spots=spots)
    for line in setup.lines:
        if line_kinds()[line.kind].family == "hose" and _moves(line):
            yield _check(What.HOSE, Topic.BRAKES, line.name, spots=_along_travel(findings, line))
    opened = {task.about for task in tasks if task.row in ("bleed_brake", "bleed_clutch")}
    for circuit in circuits(setup):
        yield from _circuit(circuit, circuit.name in opened)


def _along_travel(findings: Iterable[LineFinding], line: Line) -> tuple[Spot, ...]:
    """Where a hose is tightest, and what it touches."""
    mine = _of(findings, [line.name])
    tight = [
        Spot(line.name, Trouble.TIGHT, one.worst_turn, one.worst_travel, one.slack)
        for one in mine
        if math.isfinite(one.slack)
    ]
    return (*tight, *(_touched(one, touch) for one in mine for touch in one.touches[:2]))


def _circuit(circuit: Circuit, opened: bool) -> Iterable[Check]:
    if circuit.control is not None:
        yield _check(What.RESERVOIR, Topic.BRAKES, circuit.name)
    yield _check(What.FIRM, Topic.BRAKES, circuit.name)
    if opened:
        parts = tuple(dict.fromkeys(end.part for end in circuit.ends))
        yield _check(What.DRY, Topic.BRAKES, circuit.name, names=parts)
        yield _blank(What.JOINT_TORQUE, Topic.BRAKES, "N·m", circuit.name)
        yield _check(What.FLUID, Topic.BRAKES, circuit.name, answer=Answer.TEXT)


# --- wires ---------------------------------------------------------------------------------------


def _wires(setup: Setup, tasks: Sequence[Task]) -> Iterable[Check]:
    """Every circuit of the harnesses and leads that were touched: worked on, or taken off a bar
    that was changed.
    """
    touched = {line for task in tasks if task.row == "electrics" for line in task.lines}
    off = any(task.row == "controls_off" for task in tasks)
    any_wires = False
    for line in setup.lines:
        if line_kinds()[line.kind].family not in ("harness", "lead"):
            continue
        if line.name in touched or (off and _on_bar(line)):
            held = line_wires(line)
            tried = [one.name for one in held.circuits if one.use not in _UNTRIED] if held else []
            names = tuple(dict.fromkeys(tried))
            any_wires = True
            yield _check(What.CIRCUITS, Topic.WIRES, line.name, names=names)
    by_wire = any(control.kind is ControlKind.GRIP_SENSOR for control in setup.controls)
    if any_wires or by_wire or any(anti_lock_units(setup, one) for one in circuits(setup)):
        yield _check(What.FAULTS, Topic.WIRES)


_UNTRIED = (Use.GROUND, Use.SENSOR)  # nobody can switch them


def _on_bar(line: Line) -> bool:
    return any(isinstance(one.place, OutletPlace | BarPlace) for one in line.stations)


# --- bars ----------------------------------------------------------------------------------------


def _bars(setup: Setup, before: Setup) -> Iterable[Check]:
    if isinstance(setup.new.bar, Bar):
        for at in ("front", "rear"):
            yield _blank(What.GAP, Topic.BARS, "mm", at=at)
        yield _blank(What.TORQUE, Topic.BARS, "N·m")
        if setup.new.riser != before.stock.riser or swapped(before.stock, setup.new):
            yield _blank(What.TORQUE, Topic.BARS, "N·m", at="risers")
        return
    for at in ("right", "left"):
        yield _blank(What.TORQUE, Topic.BARS, "N·m", at=at)


# --- slack ---------------------------------------------------------------------------------------


def _slack(swept: Sweep, findings: Sequence[LineFinding]) -> Iterable[Check]:
    """A blank beside the prediction for each line that bars or steering move, at both locks and
    straight ahead, at ride height; one blank where the turn does not matter.
    """
    straight = int(np.argmin(np.abs(swept.angles)))
    ends = (("right lock", 0), ("straight ahead", straight), ("left lock", len(swept.angles) - 1))
    for found in findings:
        line = swept.setup.line(found.line)
        if not _moves(line):
            continue
        lies = swept.line(found.line)
        row = lies.slack[int(np.argmin(np.abs(lies.travels)))]
        values = [float(row[at]) for _, at in ends]
        alike = np.ptp(values) < SAME_SLACK
        for (at, _), value in zip(ends, values, strict=True):
            if alike and at != "straight ahead":
                continue
            known = math.isfinite(value) and found.verdict is not Verdict.NOT_KNOWN
            yield _blank(
                What.SLACK,
                Topic.SLACK,
                "mm",
                found.line,
                at,
                predicted=value if known else math.nan,
                two_sigma=_two_sigma(found),
            )


def _two_sigma(found: LineFinding) -> float:
    """How far the slack may be off; where slack found before contradicts the file, so much wider
    that either may be right.
    """
    sure = found.sure
    wider = sure.two_sigma - 2.0 * sure.sigma
    return 2.0 * sure.slack_sigma + (wider if math.isfinite(wider) else 0.0)


def _moves(line: Line) -> bool:
    """Whether bars, steering or suspension move it."""
    bodies = {one.place.body for one in line.stations if isinstance(one.place, PointPlace)}
    return _on_bar(line) or len(bodies) > 1


# --- later ---------------------------------------------------------------------------------------


def _later(tasks: Sequence[Task]) -> Iterable[Check]:
    yield _check(What.AGAIN, Topic.LATER)
    for task in tasks:
        if task.row in ("bleed_brake", "bleed_clutch"):
            yield _check(What.FLUID_CHANGE, Topic.LATER, task.about, answer=Answer.TEXT)
