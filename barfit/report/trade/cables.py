"""Control cables in words."""

from __future__ import annotations

from dataclasses import replace

from barfit.analysis import Verdict
from barfit.model import Setup
from barfit.report.phrases import at_turn, capital
from barfit.report.quantities import Quantity, quantity_text
from barfit.report.remarks import BADNESS, Remark, Topic
from barfit.report.trade.cable_growth import growth_remark
from barfit.report.trade.free_play import CAUTIONS, play_remarks
from barfit.trade.cables import CableFigures, Friction
from barfit.trade.judged import Grade, Judged
from barfit.units import format_angle, format_length

_GRAVE = (Grade.CAUTION, Grade.REJECT)


def cable_remarks(figures: CableFigures, setup: Setup, unit: str) -> tuple[Remark, ...]:
    """What is to be said of one control cable; its gravest remark says what can hurt."""
    found = [_total_bend(figures, setup), _bend_growth(figures), _radius(figures, setup, unit)]
    if figures.friction is not None:
        found += _friction(figures, figures.friction, setup)
    if figures.play is not None:
        found += play_remarks(figures.line, figures.kind, figures.play, setup, unit)
    if figures.growth is not None:
        found.append(growth_remark(figures.line, figures.growth, unit))
    told = [k for k, one in enumerate(found) if one.grade in _GRAVE and one.sentence]
    if told:
        gravest = max(told, key=lambda k: (BADNESS[found[k].grade], -k))
        found[gravest] = replace(found[gravest], caution=CAUTIONS.get(figures.kind, ""))
    return tuple(found)


def _remark(figures: CableFigures, key: str, term: str, judged: Judged, unit: Quantity) -> Remark:
    return Remark(key, Topic.CABLE, figures.line, term, judged, unit, line=True)


def _total_bend(figures: CableFigures, setup: Setup) -> Remark:
    bend = figures.total_bend
    plain = _remark(figures, "cable_total_bend", "Total bend", bend, Quantity.ANGLE)
    if bend.grade is Grade.NOT_KNOWN and figures.verdict is Verdict.SHORT:
        told = f"{capital(figures.line)} is too short for its bends and friction to be told."
        return replace(plain, sentence=told, hint="Set the length to be ordered, and they are.")
    if bend.grade is not Grade.CAUTION:
        return plain
    where = at_turn(bend.turn or 0.0, setup.machine)
    stock = f", {format_angle(bend.stock)} with the stock bars" if bend.stock == bend.stock else ""
    turns = figures.kind == "speedometer_cable"
    ill = "its core runs unevenly and wears" if turns else "it grows stiff to work"
    return replace(
        plain,
        sentence=f"{capital(figures.line)} bends through {format_angle(bend.value)} in all "
        f"{where}{stock}; beyond {format_angle(bend.limit)} {ill}.",
        hint="Take bends out of its way.",
    )


def _bend_growth(figures: CableFigures) -> Remark:
    more = figures.bend_growth
    sentence = hint = ""
    if more.grade is Grade.CAUTION:
        sentence = (
            f"{capital(figures.line)} bends through {format_angle(more.value)} more than with the "
            "stock bars."
        )
        if figures.total_bend.grade is not Grade.CAUTION:
            hint = "Take bends out of its way."
    plain = _remark(figures, "cable_bend_growth", "Bend added", more, Quantity.ANGLE)
    return replace(plain, sentence=sentence, hint=hint)


def _radius(figures: CableFigures, setup: Setup, unit: str) -> Remark:
    radius, preferred = figures.radius, figures.preferred_radius
    sentence = ""
    bends = f"{capital(figures.line)} bends to a radius of {format_length(radius.value, unit)}"
    # a bend that decides the verdict is told with it; a line that is too short must go anyway
    told = figures.verdict in (Verdict.BEND_TOO_TIGHT, Verdict.SHORT)
    if radius.grade is Grade.CAUTION and not told:
        where = at_turn(radius.turn or 0.0, setup.machine)
        allowed = format_length(radius.limit, unit)
        sentence = f"{bends} {where}, tighter than the {allowed} allowed: it drags and wears there."
    elif radius.grade is Grade.FINE and radius.value < preferred:
        sentence = f"{bends}; {format_length(preferred, unit)} would be kinder to it."
    plain = _remark(figures, "cable_radius", "Tightest bend", radius, Quantity.LENGTH)
    return replace(plain, sentence=sentence)


def _friction(figures: CableFigures, friction: Friction, setup: Setup) -> list[Remark]:
    found = [_hand_force(figures, friction, setup), _return_force(figures, friction, setup)]
    if friction.pull is not None:
        found.append(
            _remark(figures, "cable_pull", "Pull on the wire", friction.pull, Quantity.FORCE)
        )
    for key, term, judged in (
        ("cable_stretch", "Wire stretch", friction.stretch),
        ("cable_backlash", "Backlash", friction.backlash),
    ):
        found.append(_remark(figures, key, term, judged, Quantity.LENGTH))
    return found


def _hand_force(figures: CableFigures, friction: Friction, setup: Setup) -> Remark:
    force = friction.hand_force
    sentence = hint = ""
    if force.grade is Grade.CAUTION:
        low, high = sorted(friction.rise)
        where = at_turn(force.turn or 0.0, setup.machine)
        result = ", so the brake bites less" if figures.kind == "front_brake_cable" else ""
        sentence = (
            f"{capital(figures.line)} takes {_share(force.value / force.stock - 1.0)} more pull "
            f"than with the stock bars {where} ({_share(low)} to {_share(high)}, as smooth or "
            f"rough as its bore may be){result}."
        )
        hint = "Fewer or wider turns, or a lined cable, make it lighter."
    plain = _remark(figures, "cable_hand_force", "Hand force", force, Quantity.RATIO)
    return replace(plain, sentence=sentence, hint=hint)


def _return_force(figures: CableFigures, friction: Friction, setup: Setup) -> Remark:
    force = friction.return_force
    sentence = ""
    if force.grade is Grade.CAUTION:
        where = at_turn(force.turn or 0.0, setup.machine)
        brake = figures.kind == "front_brake_cable"
        ill = "let the brake go" if brake else "close the throttle"
        less = _share(1.0 - force.value / force.stock)
        sentence = (
            f"Friction in the {figures.line} leaves its spring {less} less force to {ill} "
            f"than with the stock bars {where}."
        )
    plain = _remark(figures, "cable_return_force", "Return force", force, Quantity.SHARE)
    return replace(plain, sentence=sentence)


def _share(value: float) -> str:
    return quantity_text(value, Quantity.SHARE, "mm")
