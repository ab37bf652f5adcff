"""What replacing hoses of a circuit asks for: joints, washers, fluid, bleeding, lever travel."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from barfit.catalogue import limit
from barfit.model import Fluid, Setup
from barfit.trade import hose_path
from barfit.trade.circuits import Circuit, Section, anti_lock_units
from barfit.trade.hose_data import hose_data
from barfit.trade.hydraulics import bore_area, compressed, lever_travel, pressure
from barfit.trade.judged import Grade, Judged, at_most, noted
from barfit.trade.laid import Laid


@dataclass(frozen=True)
class SectionFigures:
    """One section of a circuit, between two parts. ``length`` mm is the new one where replaced."""

    line: str
    first: str
    second: str
    length: float
    on_bar: bool
    replaced: bool


@dataclass(frozen=True)
class CircuitFigures:
    """One circuit; mm, mm³, MPa, N. Volumes and travel are sums over all its sections.

    ``swell`` is the most the standard lets its hoses grow at each of ``pressures``;
    ``lever_travel`` and ``likely_travel`` at the first of them, ``pull_travel`` is likely with
    ``force`` on the lever; what the pads or the clutch themselves take comes on top. ``unsure``
    are the hoses of which nobody can say how much they are likely to swell. ``fill`` is the fluid
    in the replaced hoses and the reservoir, None where nothing is replaced. ``pressure`` is what
    the fingers make with ``force`` on the lever, ``clamp`` with what the pistons then press.
    ``fluids`` are all kinds that its hoses name and ``kinds`` how many. ``traps`` are the parts
    in which air stays; ``bleeders`` those with a bleed screw, None where not known; ``units`` its
    anti-lock units.
    """

    name: str
    sections: tuple[SectionFigures, ...]
    length: Judged
    joints: Judged
    washers: Judged
    fill: Judged | None
    pressures: tuple[float, ...]
    swell: tuple[Judged, ...]
    lever_travel: Judged
    likely_travel: Judged
    pull_travel: Judged
    unsure: tuple[str, ...]
    force: float
    pressure: Judged
    clamp: Judged
    fluids: tuple[Fluid, ...]
    kinds: Judged
    traps: tuple[str, ...]
    bleeders: tuple[str, ...] | None
    units: tuple[str, ...]

    @property
    def replaced(self) -> tuple[str, ...]:
        """The hoses that have to be replaced."""
        return tuple(one.line for one in self.sections if one.replaced)


def circuit_figures(
    circuit: Circuit, laid: Mapping[str, Laid], replaced: Collection[str], setup: Setup
) -> CircuitFigures:
    """The figures of one circuit, its hoses as they are ``laid``, by line name."""
    sections = circuit.sections
    lengths = {one.line.name: laid[one.line.name].length for one in sections}
    installed = {one.line.name: one.line.length for one in sections}
    opened = circuit.opened(replaced)
    force, master = limit(setup, "hose_lever_force"), circuit.master
    pressed = math.nan if master is None else pressure(force, master.lever_ratio, master.bore)
    pistons = master.piston_area if master is not None else None
    fluids = tuple(dict.fromkeys(one.known.fluid for one in sections if one.known.fluid))
    likely = _travel(circuit, lengths, installed, True)
    return CircuitFigures(
        name=circuit.name,
        sections=tuple(
            SectionFigures(
                one.line.name,
                one.first.part,
                one.second.part,
                lengths[one.line.name],
                one.on_bar,
                one.line.name in replaced,
            )
            for one in sections
        ),
        length=noted(sum(lengths.values()), stock=sum(installed.values())),
        joints=Judged(float(len(opened)), Grade.CAUTION if opened else Grade.NOTE),
        washers=noted(float(sum(joint.washers for joint in opened))),
        fill=noted(
            refill(circuit, {name: long for name, long in lengths.items() if name in replaced})
        )
        if replaced
        else None,
        pressures=hose_data().pressures,
        swell=tuple(
            noted(_swell(sections, lengths, at), stock=_swell(sections, installed, at))
            for at in range(len(hose_data().pressures))
        ),
        lever_travel=_travel(circuit, lengths, installed, False),
        likely_travel=_held(likely, limit(setup, "lever_to_grip")),
        pull_travel=_held(_in_proportion(likely, pressed), limit(setup, "lever_to_grip")),
        unsure=tuple(one.line.name for one in sections if math.isnan(one.known.likely[0])),
        force=force,
        pressure=noted(pressed),
        clamp=noted(math.nan if pistons is None else pressed * pistons),
        fluids=fluids,
        kinds=_kinds(fluids, hose_data().kinds[sections[0].line.kind].usual),
        traps=_traps(circuit, laid, setup),
        bleeders=circuit.bleeders,
        units=anti_lock_units(setup, circuit),
    )


def swell(one: Section, length: float, likely: bool = False) -> tuple[float, ...]:
    """How much a hose grows (mm³) at each pressure of the table, at the most or likely."""
    growth = one.known.likely if likely else one.known.limit
    return tuple(rate * one.free(length) for rate in growth)


def lever(circuit: Circuit, grown: float, fluid: float) -> float:
    """How far the lever moves (mm) at the first pressure of the table on account of a hose that
    grows by ``grown`` mm³ and of what the ``fluid`` mm³ in it is compressed; nan where the master
    cylinder is not known.
    """
    data, master = hose_data(), circuit.master
    if master is None:
        return math.nan
    squeezed = compressed(fluid, data.pressures[0], data.bulk_modulus)
    return lever_travel(grown + squeezed, master.lever_ratio, master.bore)


def _swell(sections: tuple[Section, ...], lengths: Mapping[str, float], at: int) -> float:
    return sum(swell(one, lengths[one.line.name])[at] for one in sections)


def _travel(
    circuit: Circuit, lengths: Mapping[str, float], installed: Mapping[str, float], likely: bool
) -> Judged:
    def whole(by: Mapping[str, float]) -> float:
        return sum(
            lever(
                circuit,
                swell(one, by[one.line.name], likely)[0],
                bore_area(one.known.bore) * by[one.line.name],
            )
            for one in circuit.sections
        )

    return noted(whole(lengths), stock=whole(installed))


def _in_proportion(travel: Judged, pressed: float) -> Judged:
    """A travel at the first pressure of the table, at ``pressed`` MPa: in proportion, as a tube
    that swells elastically (estimate; a new hose swells somewhat more at first).
    """
    share = pressed / hose_data().pressures[0]
    return noted(share * travel.value, stock=share * travel.stock)


def _held(travel: Judged, most: float) -> Judged:
    """A likely travel against all the way that a lever has."""
    return at_most(travel.value, most, stock=travel.stock)


def refill(circuit: Circuit, lengths: Mapping[str, float]) -> float:
    """What the reservoir and the new hoses hold (mm³), bleeding not counted; ``lengths`` (mm) of
    these hoses, by their names.
    """
    first, master = circuit.sections[0], circuit.master
    reservoir = hose_data().kinds[first.line.kind].reservoir
    if master is not None and master.reservoir is not None:
        reservoir = master.reservoir
    held = (
        bore_area(one.known.bore) * lengths[one.line.name]
        for one in circuit.sections
        if one.line.name in lengths
    )
    return reservoir + sum(held)


def _kinds(fluids: tuple[Fluid, ...], usual: frozenset[str]) -> Judged:
    """How many kinds of fluid the file names: more than one base spoils the seals, and one that
    is not usual is asked after.
    """
    if not fluids:
        return noted(math.nan)
    bases = {fluid.base for fluid in fluids}
    odd = bool(usual) and not bases <= usual
    grade = Grade.CAUTION if odd or len(fluids) > 1 else Grade.FINE
    if len(bases) > 1:
        grade = Grade.REJECT
    return Judged(float(len(fluids)), grade, limit=1.0)


def _traps(circuit: Circuit, laid: Mapping[str, Laid], setup: Setup) -> tuple[str, ...]:
    """The parts that join hoses, all of which go down from there, with no bleed screw on them."""
    height = limit(setup, "hose_high_spot")
    found = []
    for part in dict.fromkeys(end.part for end in circuit.ends):
        here = circuit.at(part)
        at_master = circuit.control is not None and part == circuit.control.name
        if len(here) < 2 or at_master or part in (circuit.bleeders or ()):
            continue
        shapes = [(hose_path.as_fitted(laid[end.line].sweep, laid[end.line].line)) for end in here]
        if all(
            shape is not None and hose_path.falls_from(shape, end.last, height)
            for shape, end in zip(shapes, here, strict=True)
        ):
            found.append(part)
    return tuple(found)
