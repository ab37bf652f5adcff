"""Control cables in words."""

from __future__ import annotations

from dataclasses import replace

from barfit.analysis import Verdict
from barfit.model import Setup
from barfit.report.phrases import at_turn, capital, travel_words
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
    found = [
        *_length(figures),
        _total_bend(figures, setup, unit),
        _bend_growth(figures, unit),
        _radius(figures, setup, unit),
    ]
    if figures.friction is not None:
        found += _friction(figures, figures.friction, setup, unit)
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


def _as_laid(figures: CableFigures, unit: str) -> str:
    """The name of the cable, and how much longer than it is its figures have it; to go on after."""
    if figures.longer == 0.0:
        return figures.line
    return f"{figures.line}, if made {format_length(figures.longer, unit)} longer,"


def _length(figures: CableFigures) -> tuple[Remark, ...]:
    """The length at which a cable to be replaced is looked at; nothing for one that stays."""
    if figures.growth is None:
        return ()
    term = "Length, if replaced" if figures.growth.size else "Length, if replaced, at least"
    return (_remark(figures, "cable_length", term, figures.length, Quantity.LENGTH),)


def _total_bend(figures: CableFigures, setup: Setup, unit: str) -> Remark:
    bend = figures.total_bend
    plain = _remark(figures, "cable_total_bend", "Total bend", bend, Quantity.ANGLE)
    if bend.grade is Grade.NOT_KNOWN:
        if figures.growth is not None:
            how = _as_laid(figures, unit)
            return replace(plain, sentence=f"How the {how} bends and drags is not known.")
        if figures.verdict is Verdict.SHORT:
            told = f"{capital(figures.line)} is too short for its bends and friction to be told."
            return replace(plain, sentence=told)
    if not bend.value > bend.limit:
        return plain
    where = _where(bend, setup)
    turns = figures.kind == "speedometer_cable"
    ill = "its core runs unevenly and wears" if turns else "it grows stiff to work"
    beyond = f"beyond {format_angle(bend.limit)} {ill}"
    told = f"{capital(_as_laid(figures, unit))} bends through {format_angle(bend.value)} in all"
    if bend.grade is not Grade.CAUTION:
        stock = format_angle(bend.stock)
        return replace(
            plain, sentence=f"{told} {where}: {beyond}, but it was {stock} with the stock bars."
        )
    before = f", {format_angle(bend.stock)} with the stock bars" if bend.stock == bend.stock else ""
    return replace(
        plain, sentence=f"{told} {where}{before}; {beyond}.", hint="Take bends out of its way."
    )


def _where(judged: Judged, setup: Setup) -> str:
    """The pose of a figure."""
    travel = travel_words(judged.travel or 0.0, setup.machine)
    return " ".join(filter(None, (at_turn(judged.turn or 0.0, setup.machine), travel)))


def _bend_growth(figures: CableFigures, unit: str) -> Remark:
    more = figures.bend_growth
    sentence = hint = ""
    if more.grade is Grade.CAUTION:
        sentence = (
            f"{capital(_as_laid(figures, unit))} bends through {format_angle(more.value)} more "
            "than with the stock bars."
        )
        if figures.total_bend.grade is not Grade.CAUTION:
            hint = "Take bends out of its way."
    plain = _remark(figures, "cable_bend_growth", "Bend added", more, Quantity.ANGLE)
    return replace(plain, sentence=sentence, hint=hint)


def _radius(figures: CableFigures, setup: Setup, unit: str) -> Remark:
    radius, preferred = figures.radius, figures.preferred_radius
    sentence = ""
    name = capital(_as_laid(figures, unit))
    bends = f"{name} bends to a radius of {format_length(radius.value, unit)}"
    # a bend that decides the verdict is told with it
    told = figures.verdict is Verdict.BEND_TOO_TIGHT and figures.growth is None
    if radius.grade is Grade.CAUTION and not told:
        where = _where(radius, setup)
        allowed = format_length(radius.limit, unit)
        sentence = f"{bends} {where}, tighter than the {allowed} allowed: it drags and wears there."
    elif radius.grade is Grade.FINE and radius.value < preferred:
        sentence = f"{bends}; {format_length(preferred, unit)} would be kinder to it."
    plain = _remark(figures, "cable_radius", "Tightest bend", radius, Quantity.LENGTH)
    return replace(plain, sentence=sentence)


def _friction(figures: CableFigures, friction: Friction, setup: Setup, unit: str) -> list[Remark]:
    found = [
        _hand_force(figures, friction, setup, unit),
        _return_force(figures, friction, setup, unit),
    ]
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


def _hand_force(figures: CableFigures, friction: Friction, setup: Setup, unit: str) -> Remark:
    force = friction.hand_force
    sentence = hint = ""
    if force.grade is Grade.CAUTION:
        low, high = sorted(friction.rise)
        where = _where(force, setup)
        result = ", so the brake bites less" if figures.kind == "front_brake_cable" else ""
        more = _share(force.value / force.stock - 1.0)
        sentence = (
            f"{capital(_as_laid(figures, unit))} takes {more} more pull "
            f"than with the stock bars {where} ({_share(low)} to {_share(high)}, as smooth or "
            f"rough as its bore may be){result}."
        )
        hint = "Fewer or wider turns, or a lined cable, make it lighter."
    plain = _remark(figures, "cable_hand_force", "Hand force", force, Quantity.RATIO)
    return replace(plain, sentence=sentence, hint=hint)


def _return_force(figures: CableFigures, friction: Friction, setup: Setup, unit: str) -> Remark:
    force = friction.return_force
    sentence = ""
    if force.grade is Grade.CAUTION:
        where = _where(force, setup)
        brake = figures.kind == "front_brake_cable"
        ill = "let the brake go" if brake else "close the throttle"
        less = _share(1.0 - force.value / force.stock)
        sentence = (
            f"Friction in the {_as_laid(figures, unit)} leaves its spring {less} less force to "
            f"{ill} than with the stock bars {where}."
        )
    plain = _remark(figures, "cable_return_force", "Return force", force, Quantity.SHARE)
    return replace(plain, sentence=sentence)


def _share(value: float) -> str:
    return quantity_text(value, Quantity.SHARE, "mm")
