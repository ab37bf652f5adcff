"""Hydraulic hoses in words."""

from __future__ import annotations

import math

from barfit.model import Setup
from barfit.report.phrases import at_turn, capital, listed, travel_words
from barfit.report.quantities import Quantity, quantity_text
from barfit.report.remarks import Remark, Topic
from barfit.trade.hoses import TWIST_OVER, HoseFigures
from barfit.trade.judged import Grade, Judged
from barfit.units import format_angle, format_length

AT = "at 1000 psi"
# of swelling: what no hose that may be sold exceeds, not what these do
CEILING = "were hoses as soft as is allowed"
NEVER_SPLICED = (
    "A hydraulic hose is never spliced and never crimped at home; what the US brake hose rule "
    "lets owners and repair shops make up is air and vacuum hose only."
)
_NEAR = 3.0  # mm from the fork: so near that it is explained
_BAD = (Grade.CAUTION, Grade.REJECT)


def hose_remarks(figures: HoseFigures, setup: Setup, unit: str) -> tuple[Remark, ...]:
    """What is to be said of one hydraulic hose."""
    return (
        *_order(figures, unit),
        *_volumes(figures, unit),
        *_twists(figures, setup),
        *_lie(figures, setup, unit),
    )


def _remark(
    figures: HoseFigures,
    key: str,
    term: str,
    judged: Judged,
    quantity: Quantity = Quantity.LENGTH,
    sentence: str = "",
    hint: str = "",
    caution: str = "",
    act: bool = False,
) -> Remark:
    return Remark(
        key=key,
        topic=Topic.HOSE,
        about=figures.line,
        term=term,
        judged=judged,
        quantity=quantity,
        sentence=sentence,
        hint=hint if sentence else "",
        caution=caution if sentence else "",
        line=True,
        act=act,
    )


def _as_stock(term: str, judged: Judged) -> str:
    """A term that says so where a figure passes for being no worse than stock."""
    return f"{term}, no worse than stock" if judged.grade is Grade.NOTE else term


def _pose(judged: Judged, setup: Setup) -> str:
    """The pose of a figure as the end of a sentence, with the space before it."""
    turn = at_turn(judged.turn or 0.0, setup.machine)
    return " " + " ".join(filter(None, (turn, travel_words(judged.travel or 0.0, setup.machine))))


# --- what to order, and what it opens ------------------------------------------------------------


def _order(figures: HoseFigures, unit: str) -> tuple[Remark, ...]:
    if not figures.replaced:
        return (_remark(figures, "hose_length", "Length, stays", figures.length),)
    length = figures.length.value
    known = "" if math.isnan(length) else f", by one of {format_length(length, unit)}"
    sentence = f"If the {figures.line} is replaced, then whole{known}."
    hint = (
        "Order it ready-made, or have a hose shop make it up with the same fittings from approved "
        "hose that carries its label."
    )
    return (
        _remark(figures, "hose_length", "Length, if replaced", figures.length),
        _remark(
            figures,
            "hose_joints",
            "Joints that opens",
            figures.joints,
            Quantity.COUNT,
            sentence,
            hint,
            NEVER_SPLICED,
            act=True,
        ),
        _remark(figures, "hose_washers", "New sealing washers", figures.washers, Quantity.COUNT),
    )


def _volumes(figures: HoseFigures, unit: str) -> tuple[Remark, ...]:
    held = figures.volumes
    rows = [
        _remark(figures, "hose_swell", f"Swells {AT}, {CEILING}", held.swell, Quantity.VOLUME),
        _remark(
            figures, "hose_likely_swell", f"Swells {AT}, likely", held.likely_swell, Quantity.VOLUME
        ),
        _remark(figures, "hose_travel", f"Lever travel {AT}, {CEILING}", held.travel),
        _remark(figures, "hose_likely_travel", f"Lever travel {AT}, likely", held.likely_travel),
    ]
    if held.added is not None:
        sentence = ""
        if held.added.grade in _BAD:
            sentence = (
                f"{capital(figures.line)} is likely to add "
                f"{quantity_text(held.added.value, Quantity.LENGTH, unit)} of lever travel {AT}; "
                f"more than {quantity_text(held.added.limit, Quantity.LENGTH, unit)} is felt."
            )
        elif held.added.grade is Grade.NOT_KNOWN:
            sentence = f"What lever travel the new {figures.line} adds is not known."
        hint = "A hose that swells less (low expansion, braided) takes it back."
        if held.added.grade is Grade.NOT_KNOWN:
            hint = ""
        term = "Lever travel added, likely"
        rows.append(
            _remark(figures, "hose_lever_travel", term, held.added, sentence=sentence, hint=hint)
        )
    rows.append(_remark(figures, "hose_holds", "Fluid in it", held.holds, Quantity.VOLUME))
    return tuple(rows)


# --- twist and eyes ------------------------------------------------------------------------------


def _twists(figures: HoseFigures, setup: Setup) -> tuple[Remark, ...]:
    twists, name = figures.twists, capital(figures.line)
    over = f"over {TWIST_OVER:.0f} mm"
    rows = []
    if twists.turning is not None:
        turning, sentence = twists.turning, ""
        if turning.grade in _BAD:
            sentence = (
                f"{name} is twisted by {format_angle(turning.value)} {over}"
                f"{_pose(turning, setup)}, with the stock bars by {format_angle(turning.stock)}."
            )
        hint = "More hose between the fittings that hold it takes the twist more gently."
        rows.append(
            _remark(
                figures,
                "hose_twist",
                _as_stock(f"Twist {over}", turning),
                turning,
                Quantity.ANGLE,
                sentence,
                hint,
            )
        )
    if twists.clocking is not None:
        rows.append(_clocking(figures, twists.clocking, setup))
    if twists.forced is not None and twists.clocking is not None:
        forced, sentence = twists.forced, ""
        if forced.grade in _BAD:
            sentence = (
                f"{name} would be twisted by {format_angle(forced.value)} {over} if it stays: its "
                f"eyes are clocked at {format_angle(twists.clocking.stock)}, the bars ask for "
                f"{format_angle(twists.clocking.value)}."
            )
        hint = "Have one made up to that clocking: a hose must not be fitted with a twist in it."
        rows.append(
            _remark(
                figures,
                "hose_kept_twist",
                f"Twist {over} if it stays",
                forced,
                Quantity.ANGLE,
                sentence,
                hint,
            )
        )
    return (*rows, *_eyes(figures))


def _clocking(figures: HoseFigures, judged: Judged, setup: Setup) -> Remark:
    sentence = ""
    if figures.replaced and not math.isnan(judged.value):
        start = setup.line(figures.line).stations[0].name
        way = "clockwise" if judged.value >= 0.0 else "anticlockwise"
        sentence = (
            f"Seen along it from '{start}', the far eye of the {figures.line} is turned "
            f"{format_angle(abs(judged.value))} {way} against the first, bolt head to bolt head."
        )
    return _remark(
        figures, "hose_clocking", "Clocking of its eyes", judged, Quantity.ANGLE, sentence
    )


def _eyes(figures: HoseFigures) -> tuple[Remark, ...]:
    rows = []
    for eye in figures.twists.eyes:
        judged, sentence = eye.angle, ""
        if eye.off is not None and eye.off.grade in _BAD:
            judged = Judged(judged.value, eye.off.grade, stock=judged.stock)
            sentence = (
                f"{capital(figures.line)} leaves the banjo at '{eye.part}' "
                f"{format_angle(eye.off.value)} away from its eye angle of "
                f"{format_angle(eye.angle.value)}."
            )
        hint = "Check the way it leaves and the bolt's direction, or take another eye angle."
        rows.append(
            _remark(
                figures,
                "hose_eye_angle",
                f"Eye angle at '{eye.part}'",
                judged,
                Quantity.ANGLE,
                sentence,
                hint,
            )
        )
    return tuple(rows)


# --- where it lies -------------------------------------------------------------------------------


def _lie(figures: HoseFigures, setup: Setup, unit: str) -> tuple[Remark, ...]:
    lie = figures.lie
    rows = [_gap(figures, "hose_wheel_gap", "wheel", lie.wheel, setup, unit)]
    if lie.disc is not None:
        rows.append(_gap(figures, "hose_disc_gap", "brake disc", lie.disc, setup, unit))
    bend, sentence = lie.fitting_bend, ""
    if bend.grade in _BAD:
        sentence = (
            f"{capital(figures.line)} bends by {format_angle(bend.value)} within "
            f"{format_length(lie.run, unit)} of a fitting{_pose(bend, setup)}; a hose leaves its "
            f"fitting straight for one to two diameters."
        )
    hint = "Turn the banjo about its bolt, or take another eye angle."
    return (
        *rows,
        _fork(figures, setup, unit),
        _remark(
            figures,
            "hose_fitting_bend",
            _as_stock("Bend at a fitting", bend),
            bend,
            Quantity.ANGLE,
            sentence,
            hint,
        ),
        _high_spots(figures, setup, unit),
    )


def _gap(
    figures: HoseFigures, key: str, part: str, judged: Judged, setup: Setup, unit: str
) -> Remark:
    sentence = ""
    hint = f"Clip it or lead it clear of the {part}."
    if judged.grade in _BAD:
        gap = quantity_text(judged.value, Quantity.LENGTH, unit)
        does = f"comes within {gap} of" if judged.value > 0.0 else "touches"
        if judged.grade is Grade.REJECT:
            does = "runs into"
        sentence = (
            f"{capital(figures.line)} {does} the {part}{_pose(judged, setup)}; it should keep "
            f"{quantity_text(judged.limit, Quantity.LENGTH, unit)} from it."
        )
        if judged.value <= 0.0 and judged.stock <= 0.0:
            hint += " With the stock bars it does so too: check its places in the file."
    caution = "A hose that touches what spins wears through, and bursts when it is needed."
    term = _as_stock(f"Gap to the {part}", judged)
    return _remark(figures, key, term, judged, sentence=sentence, hint=hint, caution=caution)


def _fork(figures: HoseFigures, setup: Setup, unit: str) -> Remark:
    """The gap to the fork: what is said where it touches, or lies so near that one asks why."""
    gap, touch = figures.lie.fork, figures.lie.touches
    sentence = hint = ""
    if touch is not None:
        does = "rubs on" if touch.rubs else "touches"
        slides = format_length(touch.sliding, unit)
        sentence = f"{capital(figures.line)} {does} the {touch.part} and slides {slides} along it."
        hint = "Clip it off the fork there, or sleeve it: a hose that chafes wears through."
    elif gap.value < _NEAR:
        near = quantity_text(max(gap.value, 0.0), Quantity.LENGTH, unit)
        sentence = f"{capital(figures.line)} lies {near} beside the fork leg that it runs along."
        hint = "Make sure that its clips keep it from chafing there."
    return _remark(figures, "hose_fork_gap", "Gap to the fork", gap, sentence=sentence, hint=hint)


def _high_spots(figures: HoseFigures, setup: Setup, unit: str) -> Remark:
    judged, sentence = figures.lie.high_spots, ""
    if judged.grade in _BAD:
        start = setup.line(figures.line).stations[0].name
        places = listed(
            [
                f"{format_length(rise.at, unit)} from '{start}' "
                f"({format_length(rise.height, unit)} above what is beside it)"
                for rise in figures.lie.rises
            ]
        )
        sentence = f"Air collects in the {figures.line} at its high spot {places}."
    hint = "Lead it so that it falls all the way from the reservoir, or turn the bar until it does."
    return _remark(figures, "hose_high_spots", "High spots", judged, Quantity.COUNT, sentence, hint)
