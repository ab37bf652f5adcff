"""What must be right on the bar, in words."""

from __future__ import annotations

import math

from barfit.model import Setup, Side
from barfit.report.phrases import at_turn, capital
from barfit.report.quantities import Quantity, quantity_text
from barfit.report.remarks import Remark, Topic
from barfit.trade.clearances import Clearance
from barfit.trade.judged import Grade, Judged
from barfit.trade.on_bar import (
    ExitFigures,
    FitFigures,
    OnBarFigures,
    ReservoirFigures,
    StraightFigures,
)
from barfit.units import format_angle, format_length

_BAD = (Grade.CAUTION, Grade.REJECT)
_FLUID = "A port that comes clear of the fluid lets air into the brake or clutch."
_TRAP = "A trapped hand can neither steer nor let go: do not ride like this."


def on_bar_remarks(figures: OnBarFigures, setup: Setup, unit: str) -> tuple[Remark, ...]:
    """What is to be said of the bar and what sits on it."""
    found = []
    for straight in figures.straights:
        own = [one for one in figures.clearances if one.side is straight.side]
        found += [_clearance(one, setup, unit) for one in own]
        found.append(_straight(straight, unit))
    for reservoir in figures.reservoirs:
        found += _reservoir(reservoir, setup)
        own_exits = [one for one in figures.exits if one.control == reservoir.control]
        found += [_exit(one, setup, unit) for one in own_exits]
    return (*found, *_fit(figures.fit, unit))


def _remark(
    key: str,
    about: str,
    term: str,
    judged: Judged,
    quantity: Quantity,
    sentence: str = "",
    hint: str = "",
    caution: str = "",
    other_way: str = "",
) -> Remark:
    return Remark(
        key,
        Topic.ON_BAR,
        about,
        term,
        judged,
        quantity,
        sentence,
        hint,
        caution,
        other_way=other_way,
    )


def _clearance(found: Clearance, setup: Setup, unit: str) -> Remark:
    gap, side = found.gap, found.side
    about = f"{side} hand" if found.hand else f"{side} controls and bar"
    told: tuple[str, str, str] = ("", "", "")
    if gap.grade in _BAD:
        told = _too_near(found, setup, unit)
    return _remark(
        "hand_gap" if found.hand else "hard_gap",
        about,
        f"Least gap ({found.part} to {found.other})",
        gap,
        Quantity.LENGTH,
        *told,
    )


def _too_near(found: Clearance, setup: Setup, unit: str) -> tuple[str, str, str]:
    """Sentence, hint and caution where a gap is too small."""
    gap = found.gap
    where = "at every turn" if gap.turn is None else at_turn(gap.turn, setup.machine)
    between = f"the {found.part} and the {found.other}"
    if gap.value < 0.0:
        into = _length(-gap.value, unit)
        sentence = f"{capital(between)} are {into} into each other {where}"
    else:
        need = "a hand needs" if found.hand else "hard parts should keep"
        room = _length(gap.value, unit)
        sentence = (
            f"Only {room} remain between {between} {where}; {need} {_length(gap.limit, unit)}"
        )
    if found.first is not None and gap.turn is not None and abs(found.first - gap.turn) > 0.01:
        kept = _length(gap.limit, unit)
        sentence += f" (less than {kept} from {_turn(found.first)} on)"
    if found.steered:
        hint = "Roll the bar or move what is in its way."
    elif found.hand:
        hint = "Less pullback, more rise or width, or a bar rolled up and forward gives room."
    else:
        hint = "Move the part along the bar, turn it, or roll the bar up and forward."
    if found.hand:
        return sentence + ".", hint, _TRAP
    touch = "What touches before the stops do takes away steering." if gap.value < 0.0 else ""
    return sentence + ".", hint, touch


def _reservoir(found: ReservoirFigures, setup: Setup) -> list[Remark]:
    basis = " (if level on stock bars)" if found.assumed else ""
    names = (
        ("reservoir_tilt_straight", f"Lid tilts straight ahead{basis}", found.straight),
        ("reservoir_tilt", f"Lid tilts at most{basis}", found.worst),
        ("reservoir_tilt_parked", f"Lid tilts on the side stand{basis}", found.parked),
    )
    remarks = []
    for key, term, tilt in names:
        sentence = hint = caution = ""
        if tilt.grade is Grade.CAUTION:
            where = at_turn(tilt.turn or 0.0, setup.machine)
            if tilt is found.parked:
                where = f"on the side stand ({format_angle(found.lean)} of lean), {where}"
            sentence = (
                f"The reservoir of the {found.control} tilts {format_angle(tilt.value)} {where}; "
                f"it should stay within {format_angle(tilt.limit)}."
            )
            hint = "Turn it about the bar until its lid is level straight ahead."
            if tilt is found.parked:
                hint = parked_hint(tilt.turn or 0.0)
            caution = "" if tilt is found.straight else _FLUID
        remarks.append(
            _remark(key, found.control, term, tilt, Quantity.ANGLE, sentence, hint, caution)
        )
    return remarks


def parked_hint(turn: float) -> str:
    """What helps a lid that tilts most at that turn on the side stand."""
    hint = "Set its lid level straight ahead."
    if turn > 0.0:
        return (
            f"{hint} Turned the other way it tilts less, but most steering locks engage at the "
            "left."
        )
    return f"{hint} With the steering turned to the left it tilts less." if turn < 0.0 else hint


def _exit(found: ExitFigures, setup: Setup, unit: str) -> Remark:
    gap = found.gap
    sentence = hint = caution = ""
    if gap.grade is Grade.CAUTION:
        where = at_turn(gap.turn or 0.0, setup.machine)
        room = f"{_length(max(gap.value, 0.0), unit)} of room to"
        sentence = (
            f"{capital(found.line)} leaves its fitting with {room} the {found.other} {where}."
        )
        hint = "Clock the banjo away from it, or turn the master cylinder about the bar."
        caution = "A brake or clutch hose must not rub."
    other = f" (to {found.other})" if found.other else ""
    return _remark(
        "hose_exit_gap",
        found.control,
        f"Hose exit clear{other}",
        gap,
        Quantity.LENGTH,
        sentence,
        hint,
        caution,
    )


def _straight(found: StraightFigures, unit: str) -> Remark:
    straight = found.straight
    sentence = hint = ""
    if straight.grade is Grade.CAUTION:
        had = straight.stock
        than = f", where the stock bar has {_length(had, unit)}" if had < found.need else ""
        sentence = (
            f"The {found.side} end of the bar is straight for {_length(straight.value, unit)}"
            f"{than}; up to the {found.outermost} it takes {_length(found.need, unit)}."
        )
        hint = "Move controls outward, take shorter grips or a bar with more straight."
    side = "left" if found.side is Side.LEFT else "right"
    return _remark(
        "hand_straight",
        f"{side} controls and bar",
        "Straight tube at its end",
        straight,
        Quantity.LENGTH,
        sentence,
        hint,
        "A clamp on a bend does not hold." if sentence else "",
    )


def _fit(fit: FitFigures, unit: str) -> list[Remark]:
    found = []
    if fit.clamp_spare is not None:
        found.append(_clamp(fit, fit.clamp_spare, unit))
    if fit.riser_bore is not None:
        found.append(_bore(fit, fit.riser_bore, unit))
    grip = fit.control_bore
    sentence = hint = ""
    if grip.grade is Grade.REJECT:
        thick = "thicker" if grip.value > 0.0 else "thinner"
        sentence = (
            f"The bar's grip zone, {_fine(fit.grip, unit)}, is {thick} than the stock bar's "
            f"{_fine(fit.stock_grip, unit)}: the controls do not fit it."
        )
        hint = "Take a bar with the stock grip diameter, or controls made for this one."
    found.append(
        _remark(
            "control_bore",
            "",
            "Grip zone thicker than stock by",
            grip,
            Quantity.FINE_LENGTH,
            sentence,
            hint,
            "A control that cannot be clamped tight turns on the bar." if sentence else "",
            other_way="Grip zone thinner than stock by",
        )
    )
    return found


def _clamp(fit: FitFigures, spare: Judged, unit: str) -> Remark:
    zone = "knurled zone" if fit.knurled else "straight middle"
    sentence = hint = caution = ""
    if spare.grade is Grade.REJECT:
        short = _length(spare.limit - spare.value, unit)
        sentence = (
            f"The bar's {zone} is {short} too narrow for its risers: "
            "they clamp on a bend or on bare tube."
        )
        hint = "Take risers that stand closer, or a bar made for this spacing."
        caution = "A bar that turns in its clamps takes the steering with it."
    return _remark(
        "clamp_spare",
        "",
        f"{capital(zone)} beyond the riser clamps",
        spare,
        Quantity.LENGTH,
        sentence,
        hint,
        caution,
    )


def _bore(fit: FitFigures, bore: Judged, unit: str) -> Remark:
    sentence = hint = caution = ""
    if math.isnan(bore.value):
        sentence = "What diameter of bar the risers clamp is not known."
        hint = "Measure their bore before ordering the bar."
    elif bore.grade is Grade.REJECT:
        sentence = (
            f"The bar is {_fine(fit.tube, unit)} thick where it is clamped, the risers are bored "
            f"{_fine(fit.bore, unit)}: it does not fit."
        )
        hint = "Take risers for this bar; a shim only where the makers of bar and risers allow one."
        caution = "A bar that turns in its clamps takes the steering with it."
    return _remark(
        "riser_bore",
        "",
        "Bar thicker than the risers' bore by",
        bore,
        Quantity.FINE_LENGTH,
        sentence,
        hint,
        caution,
        other_way="Bar thinner than the risers' bore by",
    )


def _length(mm: float, unit: str) -> str:
    return format_length(mm, unit)


def _fine(mm: float, unit: str) -> str:
    return quantity_text(mm, Quantity.FINE_LENGTH, unit)


def _turn(turn: float) -> str:
    return (
        f"{format_angle(abs(turn), 1)} {'left' if turn > 0 else 'right'}"
        if turn
        else "straight ahead"
    )
