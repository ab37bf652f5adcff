"""What differs between the nearest machine and a person's own, exchanged for what another has.

A clutch cable gives way to a clutch hose and its master cylinder, a splitter to a modulator, and so
on: controls and lines of the nearest invented machine that has it, moved over to where they belong
on this one. All of it is a first guess.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from barfit import edits
from barfit.catalogue import line_kinds
from barfit.edits.stations import along
from barfit.geometry.pose import LayoutError, layout
from barfit.model import (
    Body,
    Control,
    ControlKind,
    Line,
    OutletPlace,
    PointPlace,
    Role,
    Setup,
    Side,
    Station,
)
from barfit.starting.brakes import hoses
from barfit.starting.carry import carried, slider_radius
from barfit.starting.traits import Brake, Clutch, Traits, Wiring, leads_inside, lines_of, traits_of

EXCHANGED = ("throttle", "clutch", "brake", "wiring")  # traits that are lines and controls alone
_DETOUR, _ENDS = 1.2, 10.0  # of the straight way, and mm: a length that solving begins with
_CONTROLS = {
    "throttle": (ControlKind.THROTTLE_HOUSING, ControlKind.GRIP_SENSOR),
    "clutch": (ControlKind.CLUTCH_PERCH, ControlKind.CLUTCH_MASTER),
    "brake": (ControlKind.BRAKE_PERCH, ControlKind.BRAKE_MASTER),
    "wiring": (),
}


@dataclass(frozen=True)
class Exchange:
    """Of a trait, the lines that went and those that came instead, by name, and the machine they
    come from ("" where nothing came).
    """

    trait: str
    gone: tuple[str, ...]
    came: tuple[str, ...]
    donor: str


def exchanged(
    setup: Setup, wanted: Traits, machines: Sequence[Setup]
) -> tuple[Setup, tuple[Exchange, ...]]:
    """The setup with every trait of `EXCHANGED` as wanted, as far as one of the ``machines`` (the
    nearest first) has it and its lines can be laid out here; and what was exchanged.
    """
    done = []
    for trait in EXCHANGED:
        if getattr(traits_of(setup), trait) == getattr(wanted, trait):
            continue
        for donor in _donors(trait, wanted, machines):
            found = _with_trait(setup, trait, donor)
            if getattr(traits_of(found), trait) == getattr(wanted, trait) and _can_be_laid(found):
                done.append(_told(trait, setup, found, donor))
                setup = found
                break
    return setup, tuple(done)


def fitted(setup: Setup, donor: Setup, name: str, line: Line) -> Setup:
    """The setup with the length of one of its lines as much longer than that of the ``donor``'s as
    its way with the stock bars is; its clips grip it as much farther on. Raises LayoutError.
    """
    here, there = along(setup, setup.stock, name), along(donor, donor.stock, line.name)
    own = setup.line(name)
    stations = []
    for station in own.stations:
        if station.at_length is not None and station.name in here and station.name in there:
            more = here[station.name] - there[station.name]
            station = replace(station, at_length=round(station.at_length + more, 1))
        stations.append(station)
    more = here[own.stations[-1].name] - there[line.stations[-1].name]
    length = 5.0 * round((line.length + more) / 5.0)
    return edits.change_line(setup, name, length=length, stations=tuple(stations))


def _donors(trait: str, wanted: Traits, machines: Iterable[Setup]) -> list[Setup | None]:
    """The machines that have the trait as wanted; None where it only has to be taken away."""
    asked = getattr(wanted, trait)
    if asked in (Clutch.NONE, Brake.NONE, Wiring.ALONG):
        return [None]
    return [one for one in machines if getattr(traits_of(one), trait) == asked]


def _with_trait(setup: Setup, trait: str, donor: Setup | None) -> Setup:
    """The setup with a trait as the donor has it; without a donor, with nothing of it."""
    if trait == "wiring":
        return _led_along(setup) if donor is None else _led_inside(setup, donor)
    gone = lines_of(setup, trait)
    at = next((k for k, line in enumerate(setup.lines) if line.name in gone), len(setup.lines))
    kept = tuple(line for line in setup.lines if line.name not in gone)
    used = {_control_of(station) for line in kept for station in line.stations}
    controls = tuple(
        one for one in setup.controls if one.kind not in _CONTROLS[trait] or one.name in used
    )
    bare = replace(setup, lines=kept, controls=controls)
    if trait == "brake":
        solids = tuple(one for one in setup.machine.solids if one.role is not Role.MODULATOR)
        bare = replace(bare, machine=replace(setup.machine, solids=solids))
    if donor is None:
        return bare
    if trait == "brake" and traits_of(donor).brake is not Brake.DRUM:
        return _with_hoses(bare, donor, at, setup)
    for k, line in enumerate(donor.line(name) for name in lines_of(donor, trait)):
        models = _models(setup, trait, line)
        model = models[min(k, len(models) - 1)] if models else None
        bare = _added(bare, donor, line, at, setup, model)
        at += 1
    return _with_disc(bare, donor) if trait == "brake" else bare


def _models(setup: Setup, trait: str, line: Line) -> list[Line]:
    """The lines of this machine whose way a line of another is to go here: those it stands for, or,
    for the wires of a throttle, the switch wires of the same grip, whose plug is near (common
    practice). None where those do not lead to the frame: then what it leads to is not here.
    """
    if trait not in ("throttle", "clutch"):
        return []
    if line.kind == "ride_by_wire_lead":
        right = {one.name for one in setup.controls if one.side is Side.RIGHT}
        wires = [one for one in setup.lines if one.kind == "switch_harness"]
        return [one for one in wires if _control_of(one.stations[0]) in right]
    return [one for one in map(setup.line, lines_of(setup, trait)) if _ends_on_frame(one)]


def _ends_on_frame(line: Line) -> bool:
    place = line.stations[-1].place
    return isinstance(place, PointPlace) and place.body is Body.FRAME


def _on_the_way_of(line: Line, model: Line) -> Line:
    """A line from its own control by the guides of another of this machine to where that ends.

    Only wires take its ties on the bar. A hose leaves a master cylinder to the front (common
    practice): a guide behind the stem that turns with the bar would bend it too tightly.
    """
    own, end = line.stations[-1], model.stations[-1]
    name = end.name if end.name.startswith("plug") else own.name
    family = line_kinds()[line.kind].family
    guides = [one for one in model.stations[1:-1] if _guides(one, family)]
    stations = (line.stations[0], *guides, replace(end, name=name))
    return replace(line, stations=stations, routing="", routings=(), found_slack=None)


def _guides(station: Station, family: str) -> bool:
    """Whether what guides another line on its way guides one of that family too."""
    if family in ("harness", "lead"):
        return True
    place = station.place
    if not isinstance(place, PointPlace):
        return False
    return family != "hose" or place.body is Body.FRAME or place.position[0] > 0.0


def _added(
    setup: Setup, donor: Setup, line: Line, at: int, before: Setup, model: Line | None
) -> Setup:
    """One line of the donor more, with the controls it needs; the setup as it is where it cannot be
    laid out. It goes the way of the ``model``, a line of the setup ``before``, with as much slack,
    or without one at the same places as on the donor.
    """
    names: dict[str, str] = {}
    for control in donor.controls:
        if control.name not in {_control_of(station) for station in line.stations}:
            continue
        own = next((one for one in setup.controls if _same_make(one, control)), None)
        if own is None:
            setup = edits.add_control(setup, control)
            own = setup.controls[-1]
        names[control.name] = own.name
    moved = carried(setup, donor, line) if model is None else _on_the_way_of(line, model)
    stations = tuple(_at_control(station, names) for station in moved.stations)
    name = edits.fresh_name(line.name, [one.name for one in setup.lines])
    moved = replace(moved, name=name, stations=stations)
    lines = (*setup.lines[:at], moved, *setup.lines[at:])
    setup = replace(setup, lines=lines)
    try:
        if model is not None:
            return fitted(setup, before, name, model)
        return fitted(setup, donor, name, line)
    except LayoutError:
        return setup  # whoever asked looks whether it can be laid out


def _same_make(own: Control, other: Control) -> bool:
    """Whether a control is that of the other machine as it was put here, or another of its kind."""
    outlets = {outlet.name for outlet in other.outlets}
    has = outlets <= {outlet.name for outlet in own.outlets}
    return own.kind is other.kind and own.side is other.side and has


def _with_hoses(bare: Setup, donor: Setup, at: int, before: Setup) -> Setup:
    """With the hoses of a front brake laid out as the donor's, after ``at`` lines; ``bare`` has
    none, ``before`` what the machine had.
    """
    own = [before.line(name) for name in lines_of(before, "brake")]
    setup, made, own_master = hoses(_with_disc(bare, donor), own, donor)
    used = {_control_of(one) for line in made for one in line.stations}
    names: dict[str, str] = {}
    if own_master:
        kept = (one for one in before.controls if one in bare.controls or one.name in used)
        setup = replace(setup, controls=tuple(kept))
    else:
        for control in donor.controls:
            if control.name in used:
                setup = edits.add_control(setup, control)
                names[control.name] = setup.controls[-1].name
    lines: list[Line] = []
    for line in made:
        if line not in own:
            left = (one for one in made if one in own)
            taken = [one.name for one in (*bare.lines, *left, *lines)]
            stations = tuple(_at_control(one, names) for one in line.stations)
            line = replace(line, name=edits.fresh_name(line.name, taken), stations=stations)
        lines.append(line)
    setup = replace(setup, lines=(*bare.lines[:at], *lines, *bare.lines[at:]))
    for line in lines:
        if line not in own:
            setup = _roughly_long(setup, line.name)
    return setup


def _roughly_long(setup: Setup, name: str) -> Setup:
    """A line of the setup with a length, and places of its clips, that solving can begin with."""
    try:
        way = along(setup, setup.stock, name)
    except LayoutError:
        return setup  # whoever asked looks whether it can be laid out
    long = {station: round(_DETOUR * at + _ENDS, 1) for station, at in way.items()}
    line = setup.line(name)
    stations = tuple(
        one if one.at_length is None else replace(one, at_length=long[one.name])
        for one in line.stations
    )
    length = 5.0 * math.ceil(long[line.stations[-1].name] / 5.0)
    return edits.change_line(setup, name, length=length, stations=stations)


def _with_disc(setup: Setup, donor: Setup) -> Setup:
    """With a disc or without, as the donor has it; as far inside the fork legs."""
    own, other = setup.machine, donor.machine
    disc = own.disc
    if other.disc is None:
        disc = None
    elif disc is None:
        inside = 0.5 * other.fork_spread - slider_radius(other) - other.disc.offset
        offset = 0.5 * own.fork_spread - slider_radius(own) - inside
        disc = replace(other.disc, offset=round(offset, 1))
    return replace(setup, machine=replace(own, disc=disc))


def _led_along(setup: Setup) -> Setup:
    """All wires outside, by their stations; bars without holes."""
    for line in setup.lines:
        if line.through_bar:
            setup = edits.lead_outside(setup, line.name)
    for stock in (True, False):
        setup = edits.change_bar(setup, stock, holes=())
    return setup


def _led_inside(setup: Setup, donor: Setup) -> Setup:
    """The wires that the donor leads inside its bars led so here too, through holes at the same
    places of both bars.
    """
    for kind, side, through in leads_inside(donor):
        for line in setup.lines:
            control = next(
                (one for one in setup.controls if one.name == _control_of(line.stations[0])), None
            )
            if line.kind == kind and control is not None and control.side is side:
                setup = edits.change_line(setup, line.name, through_bar=through)
    used = {
        hole
        for line in setup.lines
        if line.through_bar
        for hole in (line.through_bar.entry, line.through_bar.exit)
    }
    bar = donor.new.bar
    holes = tuple(hole for hole in bar.holes if hole.name in used)
    for stock in (True, False):
        setup = edits.change_bar(setup, stock, holes=holes, wall=bar.wall)
    return _lengthened(setup)


def _lengthened(setup: Setup) -> Setup:
    """Lines led inside the bar, as much longer as their way with the stock bars is by that."""
    for line in setup.lines:
        if line.through_bar is None:
            continue
        try:
            setup = fitted(setup, edits.lead_outside(setup, line.name), line.name, line)
        except LayoutError:
            continue
    return setup


def _can_be_laid(setup: Setup) -> bool:
    try:
        for bars in (setup.stock, setup.new):
            layout(setup, bars)
    except LayoutError:
        return False
    return bool(setup.lines)


def _told(trait: str, before: Setup, after: Setup, donor: Setup | None) -> Exchange:
    gone = tuple(line.name for line in before.lines if line not in after.lines)
    came = tuple(line.name for line in after.lines if line not in before.lines)
    return Exchange(trait, gone, came, "" if donor is None else donor.machine.name)


def _control_of(station: Station) -> str | None:
    return station.place.control if isinstance(station.place, OutletPlace) else None


def _at_control(station: Station, names: dict[str, str]) -> Station:
    place = station.place
    if not isinstance(place, OutletPlace):
        return station
    return replace(station, place=replace(place, control=names.get(place.control, place.control)))
