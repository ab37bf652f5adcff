"""What to check before riding, from the setup as it is when the work is done.

Nothing here is taken as done because it was predicted: the numbers stand beside blanks. What only
the service manual knows (torque, clamp gap, free play) is a blank without a number.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from barfit.analysis import LineFinding, Sweep, Verdict
from barfit.analysis.obstacles import BAR
from barfit.analysis.stops import crosses_steering
from barfit.analysis.touching import Touch
from barfit.catalogue import line_kinds, line_wires
from barfit.model import Bar, BarPlace, Body, Line, OutletPlace, PointPlace, Role, Setup, Use
from barfit.trade import Trade
from barfit.trade.circuits import Circuit, circuits
from barfit.trade.judged import Judged
from barfit.workshop.accessories import swapped
from barfit.workshop.check import Answer, Check, Spot, Topic, Trouble, What
from barfit.workshop.high_spots import high_spots
from barfit.workshop.tasks import Task
from barfit.workshop.traits import Trait, traits

SAME_SLACK = 3.0  # mm between the locks and straight ahead that nobody can feel: estimate
SAME_TRAVEL = 0.5  # mm of the fork that nobody can tell: estimate
MOST_SPOTS = 8
FELT = (
    1.0  # N with which a line presses on what it touches: below that it only lies there (estimate)
)
ALIKE = 1.0  # mm of slack: nobody measures that by hand (estimate)
NEAR = 100.0  # mm to wheel or disc: further off there is nothing to look at (estimate)


def checks(
    swept: Sweep,
    findings: Sequence[LineFinding],
    figures: Trade,
    tasks: Sequence[Task],
    before: Setup,
) -> tuple[Check, ...]:
    """The check list of a job.

    ``swept`` (its slack corrected, see `barfit.analysis.corrected`), ``findings`` and ``figures``
    are of the setup as it is when the work is done; ``before`` is the setup as it was, ``tasks``
    the work.
    """
    setup = swept.setup
    return (
        *_steering(setup, findings, figures),
        *_throttle(setup, findings, figures),
        *_clutch(setup, findings, figures),
        *_brakes(swept, findings, figures, tasks),
        *_wires(setup, tasks),
        *_bars(setup, before),
        *_slack(swept, findings),
        *_later(tasks),
    )


def _check(what: What, topic: Topic, about: str = "", at: str = "", **more: Any) -> Check:
    key = f"{what}{f' {about}' if about else ''}{f', {at}' if at else ''}"
    return Check(key, what, topic, more.pop("answer", Answer.TICK), about, at, **more)


def _blank(
    what: What, topic: Topic, unit: str, about: str = "", at: str = "", **more: Any
) -> Check:
    return _check(what, topic, about, at, answer=Answer.NUMBER, unit=unit, **more)


# --- lock to lock --------------------------------------------------------------------------------


def _steering(setup: Setup, findings: Sequence[LineFinding], figures: Trade) -> Iterable[Check]:
    yield _check(What.FREE, Topic.STEERING, spots=_spots(setup, findings))
    near = figures.on_bar.clearances if figures.on_bar is not None else ()
    hands = [
        _figure(one.part, Trouble.GAP, one.gap, (one.other,))
        for one in sorted(near, key=lambda one: one.gap.value)
        if one.hand
    ]
    stand = {solid.role for solid in setup.machine.solids if solid.body is Body.FRAME}
    names = tuple(str(role) for role in _NEAR_HANDS if role in stand)
    yield _check(What.HANDS, Topic.STEERING, spots=tuple(hands), names=names)


_NEAR_HANDS = (Role.TANK, Role.FAIRING, Role.HEADLAMP, Role.INSTRUMENT)


def _figure(about: str, trouble: Trouble, judged: Judged, parts: tuple[str, ...] = ()) -> Spot:
    """Where a figure of the trade has the value that counts."""
    return Spot(about, trouble, judged.turn, judged.travel, judged.value, parts)


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
        spot
        for one in findings
        for spot in _touched(setup, one, [each for each in one.touches if each.force >= FELT])
    ]
    rubs = [spot for spot in touching if spot.trouble is Trouble.RUB]
    others = [spot for spot in touching if spot.trouble is not Trouble.RUB]
    return (*pinched, *rubs, *_tightest(setup, findings), *others)[:MOST_SPOTS]


def _touched(setup: Setup, found: LineFinding, touching: Iterable[Touch]) -> Iterable[Spot]:
    """What a line touches. A line lies against the bar that it is tied to: that is looked at only
    where it rubs.
    """
    solids = {solid.name for solid in setup.machine.solids}
    for touch in touching:
        if touch.part == BAR and not touch.rubs:
            continue
        other = touch.part != BAR and touch.part not in solids  # a clip or guide of another line
        trouble = Trouble.CLIP if other else Trouble.RUB if touch.rubs else Trouble.TOUCH
        yield Spot(
            found.line,
            trouble,
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
    return [_least(one) for one in feel]


def _least(one: LineFinding) -> Spot:
    """Where a line has least slack."""
    turn, travel = one.worst_turn, one.worst_travel
    return Spot(one.line, Trouble.TIGHT, turn, travel, one.slack, margin=one.margin)


def _of(findings: Iterable[LineFinding], names: Iterable[str]) -> list[LineFinding]:
    wanted = {*names}
    return [one for one in findings if one.line in wanted]


# --- cables --------------------------------------------------------------------------------------


def _kinds(setup: Setup, start: str) -> list[str]:
    return [line.name for line in setup.lines if line.kind.startswith(start)]


def _plays(figures: Trade, names: Iterable[str]) -> tuple[Spot, ...]:
    """How much free play is predicted to change between the locks, where that is known."""
    wanted = {*names}
    return tuple(
        _figure(one.line, Trouble.PLAY, one.play.change)
        for one in figures.cables
        if one.line in wanted and one.play is not None and math.isfinite(one.play.change.value)
    )


def _throttle(setup: Setup, findings: Sequence[LineFinding], figures: Trade) -> Iterable[Check]:
    cables = _kinds(setup, "throttle_")
    if cables:
        spots = tuple(_tightest(setup, _of(findings, cables)))
        yield _check(What.SNAPS, Topic.THROTTLE, spots=spots)
        yield _check(What.IDLE, Topic.THROTTLE, spots=spots)
        yield _blank(What.THROTTLE_PLAY, Topic.THROTTLE, "mm", spots=_plays(figures, cables))
    if Trait.BY_WIRE in traits(setup):
        leads = _kinds(setup, "ride_by_wire_lead")
        yield _check(What.RETURNS, Topic.THROTTLE)
        yield _check(
            What.FOLLOWS, Topic.THROTTLE, spots=tuple(_tightest(setup, _of(findings, leads)))
        )


def _clutch(setup: Setup, findings: Sequence[LineFinding], figures: Trade) -> Iterable[Check]:
    cables = _kinds(setup, "clutch_cable")
    spots = (*_tightest(setup, _of(findings, cables)), *_plays(figures, cables))
    for at in ("straight ahead", "right lock", "left lock") if cables else ():
        yield _blank(What.CLUTCH_PLAY, Topic.CLUTCH, "mm", at=at, spots=spots)


# --- brakes and hydraulics -----------------------------------------------------------------------


def _brakes(
    swept: Sweep, findings: Sequence[LineFinding], figures: Trade, tasks: Sequence[Task]
) -> Iterable[Check]:
    setup = swept.setup
    if drum := _kinds(setup, "front_brake_cable"):
        spots = (*_tightest(setup, _of(findings, drum)), *_plays(figures, drum))
        for at in ("straight ahead", "right lock", "left lock", *_both_ends(setup)):
            yield _blank(What.BRAKE_PLAY, Topic.BRAKES, "mm", at=at, spots=spots)
        yield _check(What.WHEEL, Topic.BRAKES, spots=spots)
    for line in setup.lines:
        if line_kinds()[line.kind].family == "hose" and _moves(line):
            slides = Body.LOWER_FORK in _bodies(line)
            what = What.HOSE if slides else What.HOSE_ABOVE
            spots = (
                *_held_out(swept, findings, line),
                *_to_wheel(figures, line),
            )
            yield _check(what, Topic.BRAKES, line.name, spots=spots)
    bled = ("bleed_brake", "bleed_clutch")
    opened = {task.about: task.opened for task in tasks if task.row in bled}
    for circuit in circuits(setup):
        yield from _circuit(circuit, opened.get(circuit.name, ()), figures)


def _both_ends(setup: Setup) -> Iterable[str]:
    """Both locks at either end of the fork's travel: a brake cable may have its play at ride height
    and none there.
    """
    if setup.machine.travel <= 0.0:
        return
    for lock in ("right lock", "left lock"):
        for fork in ("extended", "compressed"):
            yield f"{lock}, fork {fork}"


def _held_out(swept: Sweep, findings: Iterable[LineFinding], line: Line) -> list[Spot]:
    """How much a hose has to spare at both locks, the fork extended and compressed where it feels
    that; where it has least, if that is at none of these; and what it touches.
    """
    setup, lies = swept.setup, swept.line(line.name)
    slides = Body.LOWER_FORK in _bodies(line) and len(lies.travels) > 1
    rows = (0, len(lies.travels) - 1) if slides else (int(np.argmin(np.abs(lies.travels))),)
    found = [
        Spot(
            line.name,
            Trouble.SLACK,
            float(swept.angles[at]),
            float(lies.travels[row]),
            float(lies.slack[row, at]),
        )
        for at in (0, len(swept.angles) - 1)
        for row in rows
        if math.isfinite(lies.slack[row, at])
    ]
    for one in _of(findings, [line.name]):
        least = min((spot.value for spot in found), default=math.inf)
        if math.isfinite(one.slack) and one.slack < least - ALIKE:
            found.append(_least(one))
        found += [*_touched(setup, one, one.touches)][:2]
    return found


def _to_wheel(figures: Trade, line: Line) -> Iterable[Spot]:
    """Where a hose comes nearest to wheel and disc, where that is near enough to be looked at."""
    for hose in figures.hydraulics.hoses:
        if hose.line != line.name:
            continue
        for judged, part in ((hose.lie.wheel, "wheel"), (hose.lie.disc, "disc")):
            if judged is not None and judged.value < NEAR:
                yield _figure(line.name, Trouble.GAP, judged, (part,))


def _circuit(circuit: Circuit, opened: tuple[str, ...], figures: Trade) -> Iterable[Check]:
    if circuit.control is not None:
        lids = figures.on_bar.reservoirs if figures.on_bar is not None else ()
        spots = [
            spot
            for one in lids
            if one.control == circuit.control.name
            for spot in (
                _figure("lid", Trouble.TILT, one.worst),
                _figure("lid", Trouble.PARKED, one.parked),
            )
        ]
        yield _check(What.RESERVOIR, Topic.BRAKES, circuit.name, spots=tuple(spots))
    yield _check(What.FIRM, Topic.BRAKES, circuit.name)
    if opened:
        high: dict[str, list[Spot]] = {}
        for spot in high_spots(figures.hydraulics, circuit):
            high.setdefault(spot.line, []).append(
                Spot(spot.line, Trouble.HIGH, None, None, spot.along, after=spot.after)
            )
        for name, found in high.items():
            yield _check(What.AIR, Topic.BRAKES, name, spots=tuple(found))
        yield _check(What.DRY, Topic.BRAKES, circuit.name, names=opened)
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
    has = traits(setup)
    # nobody can say whether an engine has lamps for its faults where its fuelling is not known
    lamps = Trait.FAULT_CODES in has or (any_wires and setup.machine.fuelling is None)
    if lamps:
        yield _check(What.FAULTS, Topic.WIRES)
    if Trait.ANTI_LOCK in has:
        yield _check(What.ANTI_LOCK, Topic.WIRES)


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
            yield _slack_blank(found, at, value)
        yield from _least_asked(swept, found)


def _slack_blank(found: LineFinding, at: str, slack: float) -> Check:
    """A blank for the slack of a line there, beside the ``slack`` predicted, mm, where known."""
    known = math.isfinite(slack) and found.verdict is not Verdict.NOT_KNOWN
    return _blank(
        What.SLACK,
        Topic.SLACK,
        "mm",
        found.line,
        at,
        predicted=slack if known else math.nan,
        two_sigma=_two_sigma(found),
    )


def _least_asked(swept: Sweep, found: LineFinding) -> Iterable[Check]:
    """A blank at the pose where a cable that works a brake has least slack, where that is none of
    those at ride height and less than at any of them: the verdict hangs on it.
    """
    line = swept.setup.line(found.line)
    lies = swept.line(found.line)
    row = lies.slack[int(np.argmin(np.abs(lies.travels)))]
    if line.kind != "front_brake_cable" or not found.slack < np.nanmin(row) - ALIKE:
        return
    machine, turn, travel = swept.setup.machine, found.worst_turn, found.worst_travel
    side, lock = ("left", machine.lock_left) if turn > 0.0 else ("right", machine.lock_right)
    at = "straight ahead"
    if abs(turn) > 1e-3:
        there = math.isclose(abs(turn), lock, abs_tol=1e-6)
        at = f"{side} lock" if there else f"{math.degrees(abs(turn)):.0f}° {side}"
    if abs(travel) >= SAME_TRAVEL:
        end = machine.travel - machine.sag if travel > 0.0 else machine.sag
        part = "" if abs(travel) > end - SAME_TRAVEL else "partly "
        at += f", fork {part}{'compressed' if travel > 0.0 else 'extended'}"
    yield _slack_blank(found, at, found.slack)


def _two_sigma(found: LineFinding) -> float:
    """How far the slack may be off; where slack found before contradicts the file, so much wider
    that either may be right.
    """
    sure = found.sure
    wider = sure.two_sigma - 2.0 * sure.sigma
    return 2.0 * sure.slack_sigma + (wider if math.isfinite(wider) else 0.0)


def _moves(line: Line) -> bool:
    """Whether bars, steering or suspension move it."""
    return _on_bar(line) or len(_bodies(line)) > 1


def _bodies(line: Line) -> set[Body]:
    """What its stations off the bar ride on."""
    return {one.place.body for one in line.stations if isinstance(one.place, PointPlace)}


# --- later ---------------------------------------------------------------------------------------


def _later(tasks: Sequence[Task]) -> Iterable[Check]:
    again = next((task.text for task in tasks if task.row == "recheck"), "")
    yield _check(What.AGAIN, Topic.LATER, task=again)
    for task in tasks:
        if task.row in ("bleed_brake", "bleed_clutch"):
            yield _check(What.FLUID_CHANGE, Topic.LATER, task.about, answer=Answer.TEXT)
