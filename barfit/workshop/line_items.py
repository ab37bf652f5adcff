"""The lines to order: replaced whole, extended by plug, or spliced, as was decided about each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from barfit.analysis import LineFinding
from barfit.catalogue import line_kinds, line_wires
from barfit.model import Line, Plug, Setup
from barfit.remedies import Means, Remedy
from barfit.trade import Hydraulics
from barfit.trade.bundles import passing_size
from barfit.trade.cable_growth import PAIR
from barfit.trade.circuits import Circuit, Section, anti_lock_units, circuits
from barfit.trade.hoses import HoseFigures
from barfit.trade.splices import Splice
from barfit.workshop import sizes
from barfit.workshop.orders import Group, HoseEnd, HoseEnds, LookUp, OrderItem, Why

SAME = 0.5  # mm by which a line may differ and still be the one that is there
_JOINED = (Means.EXTENSION, Means.SPLICE)


@dataclass(frozen=True)
class Replacement:
    """A line that is replaced whole, by one ``longer`` by so many mm (negative: shorter)."""

    line: Line
    longer: float
    made_up: bool
    why: Why

    @property
    def length(self) -> float:
        """What the new one has, mm."""
        return self.line.length + self.longer


def replacements(setup: Setup, taken: Mapping[str, Remedy | None]) -> tuple[Replacement, ...]:
    """The lines that are replaced whole, in the setup's order; a throttle pair as one."""
    wanted = {
        name: remedy
        for name, remedy in taken.items()
        if remedy is not None and remedy.means not in _JOINED and abs(remedy.longer) > SAME
    }
    found = []
    for line in setup.lines:
        remedy = wanted.get(line.name)
        partners = [
            wanted[other.name]
            for other in setup.lines
            if line.kind in PAIR and other.kind in PAIR and other.name in wanted
        ]
        if partners:  # both by as much, whoever asked for it: common practice
            most = max(partners, key=lambda one: one.longer)
            new = _sized(line, most, Why.PAIR if remedy is None else _why(remedy))
            if new.made_up:  # quoting each length to a round number would make two growths of it
                new = replace(new, longer=float(math.ceil(most.longer - 1e-6)))
            found.append(new)
        elif remedy is not None:
            found.append(_sized(line, remedy, _why(remedy)))
    return tuple(found)


def line_items(
    setup: Setup,
    taken: Mapping[str, Remedy | None],
    findings: Sequence[LineFinding],
    hydraulics: Hydraulics,
) -> list[OrderItem]:
    """Everything that is ordered for one line each, in the setup's order, without its price."""
    whole = {one.line.name: one for one in replacements(setup, taken)}
    longest = {
        one.line: one.window.longest if one.window is not None else math.nan for one in findings
    }
    made = circuits(setup)
    figures = {one.line: one for one in hydraulics.hoses}
    found: list[OrderItem] = []
    for line in setup.lines:
        remedy = taken.get(line.name)
        if line.name in whole:
            found.append(_whole(setup, whole[line.name], longest, made, figures))
        elif remedy is not None and remedy.means is Means.EXTENSION:
            found.append(_extension(line, remedy, longest))
        elif remedy is not None and remedy.means is Means.SPLICE:
            found += _spliced(line, remedy)
    return found


def _why(remedy: Remedy) -> Why:
    if remedy.means is Means.THROUGH_BAR:
        return Why.THROUGH
    return Why.TOO_SHORT if remedy.longer > 0.0 else Why.TOO_LONG


def _sized(line: Line, remedy: Remedy, why: Why) -> Replacement:
    """A replacement of a size that can be bought: as sold, or else as a maker quotes it."""
    wires = line_kinds()[line.kind].family in ("harness", "lead")
    size = sizes.next_size(line.kind, remedy.longer)
    if not wires and math.isfinite(size):
        if remedy.means is Means.NEXT_SIZE:
            return Replacement(line, size, False, why)
        if remedy.means is Means.SHORTER and sizes.is_size(line.kind, remedy.longer):
            return Replacement(line, remedy.longer, False, why)
    return Replacement(line, sizes.quoted(line.length + remedy.longer) - line.length, True, why)


def _whole(
    setup: Setup,
    new: Replacement,
    longest: Mapping[str, float],
    made: Sequence[Circuit],
    figures: Mapping[str, HoseFigures],
) -> OrderItem:
    line, family = new.line, line_kinds()[new.line.kind].family
    item, hose, look_up = line.kind, None, [LookUp.ENDS]
    if family == "cable":
        look_up = [LookUp.INNER, LookUp.ENDS]
    elif family == "hose":
        circuit = next(one for one in made if one.has(line.name))
        section = next(one for one in circuit.sections if one.line.name == line.name)
        hose, look_up = _ends(section, new, figures.get(line.name))
        units = anti_lock_units(setup, circuit)
        if section.first.part in units or section.second.part in units:
            item = "modulator_hose"
    else:
        look_up = [LookUp.WIRES, LookUp.PLUG]
    if new.made_up and item == line.kind:
        item += "_made_up"
    return OrderItem(
        key=f"{line.name}: {new.length:.0f} mm",
        group=Group.LINES,
        item=item,
        what="",
        why=new.why,
        lines=(line.name,),
        length=new.length,
        longer=new.longer,
        made_up=new.made_up,
        outside_window=new.length > longest.get(line.name, math.nan) + SAME,
        hose=hose,
        look_up=tuple(look_up),
    )


def _ends(
    section: Section, new: Replacement, figures: HoseFigures | None
) -> tuple[HoseEnds, list[LookUp]]:
    """The ends of a hose, and what of them is to be looked up.

    Clocking is told only of a hose of about the length that it was laid out at.
    """
    step = line_kinds()[new.line.kind].increment
    judged = figures is not None and abs(figures.length.value - new.length) <= step
    eyes = {eye.part: eye.angle.value for eye in figures.twists.eyes} if figures else {}
    ends = []
    for end in (section.first, section.second):
        given = end.fitted.eye_angle
        angle = given if given is not None else eyes.get(end.part, math.nan)
        if not end.fitted.banjo:
            angle = math.nan
        ends.append(HoseEnd(end.part, end.fitted.banjo, angle, sizes.eye(angle)))
    clocking = math.nan
    if figures is not None and judged and figures.twists.clocking is not None:
        clocking = figures.twists.clocking.value
    look_up = []
    banjos = [one for one in ends if one.banjo]
    if len(banjos) < 2:
        look_up.append(LookUp.ENDS)
    if any(math.isnan(one.angle) for one in banjos):
        look_up.append(LookUp.EYES)
    if len(banjos) == 2 and math.isnan(clocking):
        look_up.append(LookUp.CLOCKING)
    known = section.known
    construction = str(known.construction) if known.construction is not None else ""
    return HoseEnds(ends[0], ends[1], clocking, known.bore, construction), look_up


def _extension(line: Line, remedy: Remedy, longest: Mapping[str, float]) -> OrderItem:
    by, plug = added(remedy)
    return OrderItem(
        key=f"{line.name}: {by:.0f} mm on a plug",
        group=Group.LINES,
        item=f"{line.kind}_extension" if plug else f"{line.kind}_made_up",
        what="",
        why=Why.TOO_SHORT,
        lines=(line.name,),
        length=by,
        longer=by,
        made_up=not plug,
        outside_window=line.length + by > longest.get(line.name, math.nan) + SAME,
        look_up=(LookUp.PLUG, LookUp.HOLE) if stuck_plugs(line) else (LookUp.PLUG,),
    )


def added(remedy: Remedy) -> tuple[float, bool]:
    """How long the extension is that is bought, mm, and whether one on a plug is sold that long."""
    by = sizes.extension(remedy.longer)
    return (by, True) if math.isfinite(by) else (sizes.quoted(remedy.longer), False)


def stuck_plugs(line: Line) -> tuple[Plug, ...]:
    """The plugs of a line that do not pass the hole that they have to."""
    wires = line_wires(line)
    return tuple(
        one
        for one in (wires.connectors if wires is not None else ())
        if one.hole is not None and passing_size(one.width, one.height, one.diameter) > one.hole
    )


def _spliced(line: Line, remedy: Remedy) -> list[OrderItem]:
    """Wire, joints, shrink and sleeve. Where no plan says of how many wires, how much of each is
    not known; what is, is that all of them are needed.
    """
    splices = remedy.splice.splices if remedy.splice is not None else ()
    table, found = sizes.size_table(), []
    by_gauge: dict[str, list[Splice]] = {}
    for one in splices:
        by_gauge.setdefault(one.gauge, []).append(one)
    for gauge, pieces in by_gauge.items():
        total = sum(one.piece + table.wire_spare for one in pieces) / 1000.0
        metres = math.ceil(total / table.wire_step - 1e-9) * table.wire_step
        found.append(
            _material(
                line,
                "wire",
                metres,
                detail=gauge,
                wires=tuple(dict.fromkeys(one.wire for one in pieces)),
                look_up=() if gauge else (LookUp.WIRES,),
            )
        )
    if not splices:
        found.append(_material(line, "wire", math.nan, look_up=(LookUp.WIRES,)))
    joints = 2.0 * len(splices) if splices else math.nan
    found += [_material(line, item, joints) for item in ("joint", "shrink")]
    ends = [joint for one in splices for joint in (one.first, one.second)]
    covered = math.nan
    if ends:
        covered = (max(e.end for e in ends) - min(e.begin for e in ends)) / 1000.0
        covered = math.ceil(covered / table.wire_step - 1e-9) * table.wire_step
    found.append(_material(line, "sleeve", covered))
    return found


def _material(
    line: Line,
    item: str,
    quantity: float,
    detail: str = "",
    wires: tuple[str, ...] = (),
    look_up: tuple[LookUp, ...] = (),
) -> OrderItem:
    amount = "" if math.isnan(quantity) else f", {quantity:g}"
    return OrderItem(
        key=f"{line.name}: {' '.join(filter(None, (item, detail)))}{amount}",
        group=Group.LINES,
        item=item,
        what="",
        why=Why.SPLICED,
        lines=(line.name,),
        quantity=quantity,
        detail=detail,
        wires=wires,
        look_up=look_up,
    )
