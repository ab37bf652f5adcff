"""A setup to begin with: a machine's figures as a first guess, all of it not measured yet."""

from __future__ import annotations

from dataclasses import replace

from barfit.model import (
    Bar,
    BarSet,
    Control,
    ControlKind,
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

_KEPT = (Role.FORK_TUBE, Role.HEAD_TUBE, Role.STOP)  # of a bare front end
_FIRST = (ControlKind.THROTTLE_HOUSING, ControlKind.GRIP_SENSOR)


def fresh_start(setup: Setup, name: str) -> Setup:
    """This machine as a first guess of another one of that name.

    Its figures stay, marked as not measured. What was found on it, or belongs to it alone, goes:
    slack, notes, what is inside its lines, other ways and other bars, the rider, the job, and the
    text of its file.
    """
    same = setup.stock.riser == setup.new.riser
    return replace(
        setup,
        title=name,
        note="",
        machine=replace(setup.machine, name=name, note="", measured=How.NOT_MEASURED),
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


def bare_start(setup: Setup, name: str) -> Setup:
    """Next to nothing: this machine's fork, head tube and bars as a first guess, the throttle and
    the first line that leaves it, straight to its far end. The rest is to be added.
    """
    first = next(one for one in setup.controls if one.kind in _FIRST)
    line = next(one for one in setup.lines if _at(one.stations[0]) == first.name)
    ends = tuple(one for one in line.stations if one.hold is Hold.FITTING)
    bare = replace(
        setup,
        controls=(first,),
        lines=(replace(line, stations=ends),),
        machine=replace(
            setup.machine,
            disc=None,
            solids=tuple(one for one in setup.machine.solids if one.role in _KEPT),
        ),
    )
    return fresh_start(bare, name)


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
