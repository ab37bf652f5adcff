"""A setup to begin with: a machine's figures as a first guess, all of it not measured yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from barfit import edits
from barfit.model import (
    Bar,
    BarSet,
    Control,
    Hold,
    Hose,
    HoseEnd,
    How,
    Job,
    Line,
    OutletPlace,
    PlaceLimits,
    Rider,
    Role,
    Setup,
    Station,
    Uncertainty,
)
from barfit.starting.carry import carried
from barfit.starting.exchange import Exchange, exchanged, fitted
from barfit.starting.lengths import cut_to_length
from barfit.starting.traits import Traits

_KEPT = (Role.FORK_TUBE, Role.HEAD_TUBE, Role.STOP)  # of a bare front end


def fresh_start(setup: Setup, name: str) -> Setup:
    """This machine as a first guess of another one of that name.

    Its figures stay, marked as not measured. What was found on it, or belongs to it alone, goes:
    slack, notes, what is inside its lines, other ways and other bars, the rider, the job, and the
    text of its file.
    """
    same = setup.stock.riser == setup.new.riser
    solids = tuple(replace(one, measured=How.NOT_MEASURED) for one in setup.machine.solids)
    return replace(
        setup,
        title=name,
        note="",
        machine=replace(
            setup.machine, name=name, note="", measured=How.NOT_MEASURED, solids=solids
        ),
        stock=_bars(setup.stock, "stock", same),
        new=_bars(setup.new, "new", same),
        controls=tuple(map(unmeasured_control, setup.controls)),
        lines=tuple(map(_line, setup.lines)),
        uncertainty=Uncertainty(),
        limits=(),
        other_bars=(),
        rider=Rider(),
        place_limits=PlaceLimits(),
        job=Job(),
        source="",
    )


def begin(
    setup: Setup, name: str, wanted: Traits, machines: Sequence[Setup]
) -> tuple[Setup, tuple[Exchange, ...]]:
    """A `fresh_start` with the traits ``wanted`` as far as they are lines and controls, and what
    was exchanged for that out of the other ``machines``, the nearest first. The note of each line
    that came says where from.
    """
    other, exchanges = exchanged(setup, wanted, machines)
    begun = fresh_start(other, name)
    for one in exchanges:
        for line in one.came:
            note = f"A first guess, from the {plain_name(one.donor)}." if one.donor else ""
            begun = edits.change_line(begun, line, note=note)
    return begun, exchanges


def begin_to_fit(setup: Setup, name: str, wanted: Traits, machines: Sequence[Setup]) -> Setup:
    """As `begin`, and brake lines and wires led inside are cut to fit the stock bars, which takes a
    second or so of solving. Lent throttles and clutches have the way, and the slack, of the lines
    they stand for.
    """
    begun, exchanges = begin(setup, name, wanted, machines)
    lent = {
        line
        for one in exchanges
        if one.trait in ("brake", "wiring") and one.donor
        for line in one.came
    }
    return cut_to_length(begun, lent) if lent else begun


def first_lines(machines: Sequence[Setup]) -> dict[str, Setup]:
    """The kinds of line a setup can begin with, each with the machine, the nearest first, that has
    one.
    """
    found: dict[str, Setup] = {}
    for machine in machines:
        for line in machine.lines:
            found.setdefault(line.kind, machine)
    return found


def bare_start(setup: Setup, name: str, kind: str, machines: Sequence[Setup]) -> Setup:
    """Next to nothing: this machine's fork, head tube and bars as a first guess, and one line of
    that ``kind`` straight to its far end, with the control it leaves, from the first of the
    ``machines`` that has one. The rest is to be added. Raises KeyError where none has.
    """
    donor = first_lines(machines)[kind]
    line = next(one for one in donor.lines if one.kind == kind)
    ends = tuple(one for one in line.stations if one.hold is Hold.FITTING)
    line = replace(line, stations=ends, through_bar=None)
    held = {_at(station) for station in ends}
    controls = tuple(one for one in donor.controls if one.name in held)
    bare = replace(
        setup,
        controls=controls or donor.controls[:1],  # a file has at least one
        lines=(carried(setup, donor, line),),
        machine=replace(
            setup.machine,
            disc=None,
            solids=tuple(one for one in setup.machine.solids if one.role in _KEPT),
        ),
    )
    bare = fitted(bare, replace(donor, lines=(line,)), line.name, line)
    return fresh_start(bare, name)


def plain_name(machine: str) -> str:
    """What an invented machine is called within a sentence: its name without that remark."""
    plain = machine.partition(" (")[0]
    return f"{plain[:1].lower()}{plain[1:]}"


def unmeasured_control(control: Control) -> Control:
    """The control as a first guess of one that is like it."""
    outlets = tuple(replace(one, measured=How.NOT_MEASURED) for one in control.outlets)
    return replace(control, outlets=outlets, measured=How.NOT_MEASURED, master=None)


def _at(station: Station) -> str | None:
    """The control a station sits on."""
    return station.place.control if isinstance(station.place, OutletPlace) else None


def _bars(bars: BarSet, which: str, same_riser: bool) -> BarSet:
    bar = replace(bars.bar, name=f"{which} bar", measured=How.NOT_MEASURED)
    if not isinstance(bar, Bar):
        return replace(bars, name="", bar=replace(bar, name=f"{which} clip-ons"))
    riser = replace(
        bars.riser, name="riser" if same_riser else f"{which} riser", measured=How.NOT_MEASURED
    )
    return BarSet(bar, riser)


def _line(line: Line) -> Line:
    return replace(
        line,
        stations=tuple(map(_station, line.stations)),
        note="",
        measured=How.NOT_MEASURED,
        found_slack=None,
        routing="",
        routings=(),
        cable=None,
        wires=None,
        hose=_joined(line.hose) if line.hose else None,
    )


def _station(station: Station) -> Station:
    on_control = isinstance(station.place, OutletPlace)
    return station if on_control else replace(station, measured=How.NOT_MEASURED)


def _joined(hose: Hose) -> Hose | None:
    """Of a hose, how it is bolted on and which others it is joined with, which tells the circuit;
    the rest is its own.
    """
    first, last = (
        HoseEnd(part=end.part, banjo=end.banjo, double=end.double) for end in (hose.start, hose.end)
    )
    bare = Hose(circuit=hose.circuit, start=first, end=last)
    return None if bare == Hose() else bare
