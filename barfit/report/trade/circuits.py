"""Hydraulic circuits in words: what opening one asks for."""

from __future__ import annotations

import math
from collections.abc import Iterable

from barfit.report.phrases import capital, listed
from barfit.report.quantities import Quantity, quantity_text
from barfit.report.remarks import Remark, Topic
from barfit.report.trade.hoses import AT, CEILING
from barfit.trade.circuit_figures import CircuitFigures
from barfit.trade.hydraulics import MPA_PER_PSI
from barfit.trade.judged import Grade, Judged, noted

COMPETENT = (
    "Hydraulics are for a competent person: the machine's own manual rules torque, fluid and the "
    "order of bleeding, and local law may ask for licensed work and approved hose."
)


def circuit_remarks(figures: CircuitFigures, unit: str, warn: bool = True) -> tuple[Remark, ...]:
    """What is to be said of one circuit; with ``warn`` also what can hurt. Sums over its hoses are
    left out where it has but one.
    """
    rows = [_opened(figures, warn), *_sums(figures)]
    if figures.fill is not None:
        rows.append(
            _remark(figures, "circuit_fill", "Fluid to refill", figures.fill, Quantity.VOLUME)
        )
    single = len(figures.sections) == 1
    for at, grown in list(zip(figures.pressures, figures.swell, strict=True))[single:]:
        psi = f"{at / MPA_PER_PSI:.0f}"
        term = f"Swells at {psi} psi, {CEILING}"
        rows.append(_remark(figures, f"circuit_swell_{psi}", term, grown, Quantity.VOLUME))
    force = f"{figures.force:.0f} N on the lever"
    return (
        *rows,
        *_travels(figures, unit),
        _remark(
            figures, "circuit_pressure", f"Pressure at {force}", figures.pressure, Quantity.PRESSURE
        ),
        _remark(
            figures, "circuit_clamp", f"Pistons press at {force}", figures.clamp, Quantity.FORCE
        ),
        _fluids(figures),
    )


def _remark(
    figures: CircuitFigures,
    key: str,
    term: str,
    judged: Judged,
    quantity: Quantity = Quantity.LENGTH,
    sentence: str = "",
    hint: str = "",
    caution: str = "",
) -> Remark:
    return Remark(
        key=key,
        topic=Topic.HOSE,
        about=f"{figures.name} circuit",
        term=term,
        judged=judged,
        quantity=quantity,
        sentence=sentence,
        hint=hint,
        caution=caution,
    )


def _sums(figures: CircuitFigures) -> tuple[Remark, ...]:
    if len(figures.sections) == 1:
        return ()
    return (
        _remark(figures, "circuit_length", "Hose in all", figures.length),
        _remark(
            figures, "circuit_on_bar", "Hoses that the bars move", _moved(figures), Quantity.COUNT
        ),
        _remark(figures, "circuit_washers", "New sealing washers", figures.washers, Quantity.COUNT),
        _remark(figures, "circuit_travel", f"Lever travel {AT}, {CEILING}", figures.lever_travel),
    )


def _travels(figures: CircuitFigures, unit: str) -> tuple[Remark, Remark]:
    """The likely lever travel with a firm pull and at 1000 psi; what is wrong is said once."""
    pull, full = figures.pull_travel, figures.likely_travel
    force = f"at {figures.force:.0f} N on the lever"
    sentence = hint = ""
    bad = pull if pull.grade is Grade.CAUTION else full
    if bad.grade is Grade.CAUTION:
        moves = quantity_text(bad.value, Quantity.LENGTH, unit)
        way = quantity_text(bad.limit, Quantity.LENGTH, unit)
        sentence = (
            f"{capital(figures.name)}: its hoses alone are likely to take {moves} of lever travel "
            f"{force if bad is pull else AT}, and a lever has {way} to the grip."
        )
        hint = (
            "Check the bore and the lever ratio of the master cylinder in the file; braided hose "
            "swells less."
        )
    elif full.grade is Grade.NOT_KNOWN:
        sentence, hint = _unknown_travel(figures, unit)
    said_of_pull = bad is pull
    return (
        _remark(
            figures,
            "circuit_pull_travel",
            f"Lever travel {force}, likely",
            pull,
            sentence=sentence if said_of_pull else "",
            hint=hint if said_of_pull else "",
        ),
        _remark(
            figures,
            "circuit_likely_travel",
            f"Lever travel {AT}, likely",
            full,
            sentence="" if said_of_pull else sentence,
            hint="" if said_of_pull else hint,
        ),
    )


def _unknown_travel(figures: CircuitFigures, unit: str) -> tuple[str, str]:
    """Why the likely travel is not known, and what would tell."""
    ceiling, way = figures.lever_travel.value, figures.likely_travel.limit
    sentence = f"{capital(figures.name)}: how far its lever is likely to travel is not known."
    if ceiling > way:
        sentence = (
            f"{sentence[:-1]}; {CEILING}, it would be "
            f"{quantity_text(ceiling, Quantity.LENGTH, unit)} {AT}, and a lever has "
            f"{quantity_text(way, Quantity.LENGTH, unit)} to the grip."
        )
    if figures.unsure:
        return sentence, (
            f"How much {_quoted(figures.unsure)} is likely to swell is not known: bore or "
            "construction is not given, or not in the data."
        )
    if math.isnan(figures.pressure.value):
        return sentence, "Give the bore and the lever ratio of its master cylinder."
    return sentence, ""


def _moved(figures: CircuitFigures) -> Judged:
    return noted(float(sum(one.on_bar for one in figures.sections)))


def _opened(figures: CircuitFigures, warn: bool) -> Remark:
    sentence = hint = caution = ""
    if figures.replaced:
        sentence = f"{capital(figures.name)}: {_which(figures)}. {_needs(figures)}"
        hint = " ".join(filter(None, (_bleeding(figures), _traps(figures), _units(figures))))
        caution = COMPETENT if warn else ""
    return _remark(
        figures,
        "circuit_joints",
        "Joints opened",
        figures.joints,
        Quantity.COUNT,
        sentence,
        hint,
        caution,
    )


def _which(figures: CircuitFigures) -> str:
    new = _quoted(figures.replaced)
    stay = [one.line for one in figures.sections if not one.replaced]
    one = len(figures.replaced) == 1
    text = f"if {new} {'is' if one else 'are'} replaced, then whole and never spliced"
    if stay:
        text += f", {_quoted(stay)} {'stays' if len(stay) == 1 else 'stay'} as "
        text += "it is" if len(stay) == 1 else "they are"
    return text


def _quoted(names: Iterable[str]) -> str:
    return listed([f"'{name}'" for name in names])


def _needs(figures: CircuitFigures) -> str:
    joints, washers = int(figures.joints.value), int(figures.washers.value)
    many = "joint is" if joints == 1 else "joints are"
    opened = f"{joints} {many} then opened, {washers} new sealing washers"
    if figures.fill is None:
        return f"{opened}."
    known = not math.isnan(figures.fill.value)
    amount = f"about {figures.fill.value / 1000.0:.0f} cm³" if known else "an amount not known"
    fluid = "the fluid the reservoir names"
    if figures.kinds.grade is Grade.FINE:  # else which of them is right is not known
        fluid = str(figures.fluids[0])
    return f"{opened}, {amount} of {fluid} to refill, and more to bleed."


def _bleeding(figures: CircuitFigures) -> str:
    if figures.bleeders is None:
        return "Where it is bled is not known."
    if not figures.bleeders:
        return "It has no bleed screw: see the service manual for how it is bled."
    return f"Bleed it at {_quoted(figures.bleeders)}."


def _traps(figures: CircuitFigures) -> str:
    if not figures.traps:
        return ""
    return f"Air collects at {_quoted(figures.traps)}."


def _units(figures: CircuitFigures) -> str:
    if not figures.units:
        return ""
    return (
        f"Air that gets into the {listed(list(figures.units))} of the anti-lock brakes may need a "
        "service tool to come out."
    )


def _fluids(figures: CircuitFigures) -> Remark:
    sentence = hint = ""
    if figures.kinds.grade is Grade.REJECT:
        kinds = listed([str(fluid) for fluid in figures.fluids])
        sentence = (
            f"{capital(figures.name)}: {kinds} do not mix; silicone, mineral and glycol fluid "
            "spoil each other and the seals."
        )
        hint = "Every section takes the fluid that the reservoir names."
    elif figures.kinds.grade is Grade.CAUTION and len(figures.fluids) == 1:
        sentence = (
            f"{capital(figures.name)}: its hoses name {figures.fluids[0]}, and most front brakes "
            "take a glycol fluid; the reservoir's cap says which."
        )
        hint = "The wrong one spoils the seals."
    elif figures.kinds.grade is Grade.CAUTION:
        kinds = listed([str(fluid) for fluid in figures.fluids])
        sentence = f"{capital(figures.name)}: its hoses name {kinds}."
        hint = "Glycol fluids of different kinds are mixed only as the service manual says."
    return _remark(
        figures, "circuit_fluids", "Kinds of fluid", figures.kinds, Quantity.COUNT, sentence, hint
    )
