"""Harnesses and leads in words."""

from __future__ import annotations

import math
from collections.abc import Iterator

from barfit.report.phrases import capital, listed
from barfit.report.quantities import Quantity, quantity_text
from barfit.report.remarks import Remark, Topic
from barfit.trade.bundles import fill_limit
from barfit.trade.judged import Grade, Judged, noted
from barfit.trade.splices import NoPlan, SplicePlan
from barfit.trade.wires import CircuitDrop, PlugFigures, SleeveFigures, WireFigures, drop_limit
from barfit.units import format_length

SPLICE_RULES = (
    "Same gauge or thicker, never thinner, with crimps made for both wires; same colours, fuse "
    "unchanged; crimps under adhesive-lined shrink, none on tinned or solid wire; no solder near a "
    "bend that moves; a tie on either side."
)
SENSOR_RULES = (
    "A splice is the last resort here, where it can neither be plugged nor replaced whole: a "
    "voltage that is off becomes a throttle fault. Keep screen and twist, and clear the fault "
    "codes before riding."
)


def wire_remarks(figures: WireFigures, unit: str) -> tuple[Remark, ...]:
    """What is to be said of one harness or lead."""
    found = [
        *_extension(figures, unit),
        *_splice(figures, unit),
        *_drop(figures),
        *_bundle(figures, unit),
        *_sleeve(figures, unit),
        *_flex(figures, unit),
    ]
    return (*found, *(_plug(figures, plug, unit) for plug in figures.plugs))


def _remark(
    figures: WireFigures,
    key: str,
    term: str,
    judged: Judged,
    quantity: Quantity,
    sentence: str = "",
    hint: str = "",
    caution: str = "",
) -> Remark:
    return Remark(
        key=key,
        topic=Topic.HARNESS,
        about=figures.line,
        term=term,
        judged=judged,
        quantity=quantity,
        sentence=sentence,
        hint=hint,
        caution=caution,
        line=True,
    )


def _extension(figures: WireFigures, unit: str) -> Iterator[Remark]:
    by = figures.extension.value
    if by == 0.0:
        return
    sentence = hint = caution = ""
    if by > 0.0:
        sentence = f"If the {figures.line} is made longer: by {format_length(by, unit)}."
        hint = _plug_in_hint(figures, unit)
        caution = SENSOR_RULES if figures.sensor else ""
    else:
        sentence = f"By how much the {figures.line} would have to grow is not known."
    yield _remark(
        figures,
        "wire_extension",
        "Extension",
        figures.extension,
        Quantity.LENGTH,
        sentence,
        hint,
        caution,
    )


def _plug_in_hint(figures: WireFigures, unit: str) -> str:
    poles = [one.poles for one in figures.inside.connectors if one.poles] if figures.inside else []
    plug = f" with {poles[0]} poles" if len(poles) == 1 else ""
    if math.isfinite(figures.plug_in):
        sold = f"A plug-in extension of {format_length(figures.plug_in, unit)}{plug} is that"
    else:
        sold = (
            f"No plug-in extension{plug} usually sold suits: "
            f"{'replace it whole by' if figures.sensor else 'it takes'} one made up longer"
        )
    if math.isfinite(figures.unproven):
        grown = format_length(figures.unproven, unit)
        sold += f" if {grown} is not too long, which is not known"
    if figures.sensor and math.isfinite(figures.plug_in):
        sold += "; its own wires stay uncut"
    return f"{sold}; keep its plug dry and off any bend that moves."


def _splice(figures: WireFigures, unit: str) -> Iterator[Remark]:
    plan = figures.plan
    if plan is None:
        return
    screen = ""
    if figures.inside is not None and figures.inside.screened:
        screen = " Carry the screen across the joints."
    if figures.joint_strain is not None and figures.joint_bundle is not None:
        yield _remark(
            figures,
            "splice_strain",
            "Joint strain",
            figures.joint_strain,
            Quantity.SHARE,
            f"{_LAST if figures.sensor else 'If spliced'}, "
            f"the {figures.line} has {plan_words(plan, unit)}",
            f"The bundle is {_fine(figures.joint_bundle.value, unit)} thick there; were all joints "
            f"in one place, {_fine(figures.all_joints, unit)}.",
            SPLICE_RULES + screen,
        )
        yield _remark(
            figures,
            "splice_bundle",
            "Joint bundle",
            figures.joint_bundle,
            Quantity.LENGTH,
        )
    elif figures.joint_room is not None:
        yield _remark(
            figures,
            "splice_room",
            "Room for joints",
            figures.joint_room,
            Quantity.COUNT,
            _no_plan_words(figures, plan.why or NoPlan.NOT_KNOWN),
            "Only a plug, or its terminals on a longer branch, then make it longer.",
        )


_LAST = "As the last resort only, where it can neither be plugged nor replaced whole: spliced"
_NO_PLAN = {
    NoPlan.NOT_CALM: "nowhere is the {line} calm enough for a joint: all along it flexes with the "
    "steering, or something holds it.",
    NoPlan.NO_ROOM: "where the {line} is calm enough there is no room for the joints of all its "
    "wires.",
    NoPlan.NOT_KNOWN: "where the {line} could be spliced is not known: some poses are not.",
}


def _no_plan_words(figures: WireFigures, why: NoPlan) -> str:
    """Why it cannot be spliced; inside a bar it lies still, but no joint may be there."""
    told = _NO_PLAN[why].format(line=figures.line)
    return f"No joints inside the bar, and outside it {told}" if figures.hidden else capital(told)


def plan_words(plan: SplicePlan, unit: str) -> str:
    """A splice plan as the end of a sentence: how many joints, where, and how long the pieces."""
    half = len(plan.places) // 2
    runs = []
    for which, places in (("first", plan.places[:half]), ("second", plan.places[half:])):
        at = [splice.first if which == "first" else splice.second for splice in plan.splices]
        begin, end = at[0].between[0], at[-1].between[1]
        listed = ", ".join(format_length(one, unit, with_unit=False) for one in places)
        runs.append(f"the {which} joints at {listed} {unit} between '{begin}' and '{end}'")
    pieces = sorted(splice.piece for splice in plan.splices)
    short, long = (format_length(one, unit, with_unit=False) for one in (pieces[0], pieces[-1]))
    length = f"{short} {unit}" if short == long else f"{short} to {long} {unit}"
    count = len(plan.splices)
    new = "Its piece is" if count == 1 else f"The {count} pieces are"
    grown = format_length(plan.extension, unit)
    return (
        f"{runs[0]} and {runs[1]}, from the first fitting along the longer line"
        f"{_together(plan.together)}. {new} {length} between joints; all but {grown} of "
        f"{'it' if count == 1 else 'each'} replaces old wire."
    )


def _together(together: int) -> str:
    return "" if together == 1 else f", {together} wires at a place"


def _drop(figures: WireFigures) -> Iterator[Remark]:
    worst = figures.worst_drop
    if worst is None:
        return
    sentence = hint = ""
    circuit = worst.circuit
    if worst.drop.grade is Grade.CAUTION:
        both = "out and back" if worst.ways == 2 else "one way"
        lost, most = (
            quantity_text(volts, Quantity.VOLTAGE, "")
            for volts in (worst.drop.value, worst.drop.limit)
        )
        sentence = (
            f"Circuit '{circuit.name}' loses {lost} in the {figures.line}, {both} "
            f"({_percent(worst.share)} of {worst.supply:g} V); {most} is what a {circuit.use} "
            "should lose at most."
        )
        hint = "A thicker piece alone does not cure it."
        if worst.cure:
            hint = f"With {worst.cure} for the new wire{_both(worst)} it keeps to that."
        elif figures.extension.value == 0.0:
            hint = ""
    elif worst.drop.grade is Grade.NOT_KNOWN:
        sentence = f"What circuit '{circuit.name}' loses is not known: give its gauge and current."
    yield _remark(
        figures,
        drop_limit(circuit.use),
        "Voltage lost",
        worst.drop,
        Quantity.VOLTAGE,
        sentence,
        hint,
    )


def _both(worst: CircuitDrop) -> str:
    """What joining a thicker wire to the old one takes."""
    if worst.cure == worst.circuit.gauge:
        return ""
    return f", crimped with joints made for {worst.circuit.gauge} and {worst.cure},"


def _bundle(figures: WireFigures, unit: str) -> Iterator[Remark]:
    bundle, sentence, hint = figures.bundle, "", ""
    if bundle.grade is Grade.NOT_KNOWN:
        what = "which gauge some of its wires have" if figures.wires else "its wires"
        sentence = f"What the {figures.line} holds is not known."
        hint = f"Give {what}: bundle, sleeve, voltage and splices hang on them."
    elif bundle.grade is Grade.CAUTION:
        sentence = (
            f"{figures.wires} wires make a bundle of {_fine(bundle.value, unit)}, thicker than the "
            f"{figures.line} is said to be ({_fine(bundle.limit, unit)})."
        )
        hint = "Check their number and gauges, or its diameter."
    elif figures.assumed and figures.inside is not None:
        what = listed([f"{one.count} of {one.gauge}" for one in figures.inside.circuits])
        sentence = f"The {figures.line} is taken to hold the wires usual for its kind: {what}."
    term = f"Bundle of {figures.wires}" if figures.wires > 1 else "Bundle"
    yield _remark(figures, "wire_bundle", term, bundle, Quantity.LENGTH, sentence, hint)


def _sleeve(figures: WireFigures, unit: str) -> Iterator[Remark]:
    sleeve = figures.sleeve
    if sleeve is None:
        return
    sentence = hint = ""
    if sleeve.jams:
        sentence = f"The three wires of the {figures.line} may wedge side by side in its sleeve."
    elif sleeve.full.grade is Grade.CAUTION:
        sentence = (
            f"The wires of the {figures.line} fill their sleeve of {_fine(sleeve.inside, unit)} "
            f"to {_percent(sleeve.full.value)}."
        )
    if sentence:
        hint = _size_hint(sleeve, unit)
    yield _remark(
        figures,
        fill_limit(sleeve.wires),
        "Sleeve fill",
        sleeve.full,
        Quantity.SHARE,
        sentence,
        hint,
    )
    yield _remark(figures, "sleeve_size", "Sleeve size", noted(sleeve.size), Quantity.LENGTH)


def _size_hint(sleeve: SleeveFigures, unit: str) -> str:
    if math.isnan(sleeve.size):
        return "No sleeve usually sold is wide enough."
    return f"A sleeve of {_fine(sleeve.size, unit)} suits."


def _flex(figures: WireFigures, unit: str) -> Iterator[Remark]:
    flex = figures.flex
    if not figures.wires:
        return
    sentence = hint = ""
    if flex.strand.grade is Grade.CAUTION:
        sentence = (
            f"The wires of the {figures.line} flex most {format_length(flex.at, unit)} from the "
            f"first fitting, between '{flex.between[0]}' and '{flex.between[1]}': in a turn from "
            f"lock to lock a strand is strained by {_percent(flex.strand.value)} where strands "
            f"slide, by {_percent(flex.wire)} where they do not and by {_percent(flex.bundle)} "
            "where the whole bundle is bound."
        )
        hint = "Let the line lie in a wider bow there, and do not bind it tightly."
    yield _remark(
        figures,
        "strand_strain",
        "Strand strain",
        flex.strand,
        Quantity.SHARE,
        sentence,
        hint,
    )
    yield _remark(figures, "bundle_strain", "Bound strain", noted(flex.bundle), Quantity.SHARE)


def _plug(figures: WireFigures, plug: PlugFigures, unit: str) -> Remark:
    name = plug.connector.name
    sentence = hint = ""
    if plug.whole.grade is Grade.CAUTION:
        hole = plug.whole.limit
        sentence = (
            f"The '{name}' of the {figures.line}, {_fine(plug.whole.value, unit)} across, does not "
            f"pass its hole of {_fine(hole, unit)}."
        )
        if math.isnan(plug.bare):
            hint = "Whether its wires pass without it is not known."
        elif plug.bare <= hole:
            hint = (
                f"Its wires do, one after the other, with the terminals taken out "
                f"({_fine(plug.bare, unit)} with the last of them)."
            )
        else:
            hint = f"Nor do its wires with the terminals taken out ({_fine(plug.bare, unit)})."
    return _remark(
        figures,
        "plug_hole",
        "Plug and hole",
        plug.whole,
        Quantity.LENGTH,
        sentence,
        hint,
    )


def _fine(mm: float, unit: str) -> str:
    """A small length with one decimal, or two of an inch."""
    return format_length(mm, unit, decimals=2 if unit == "in" else 1)


def _percent(share: float) -> str:
    return quantity_text(share, Quantity.SHARE, "")
