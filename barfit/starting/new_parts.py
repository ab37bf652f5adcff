"""Controls and lines to be added, as they usually are on the invented machines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from barfit import edits
from barfit.catalogue import line_kinds
from barfit.edits.names import find
from barfit.geometry.pose import control_frame
from barfit.model import (
    Body,
    Control,
    ControlKind,
    Hold,
    How,
    Line,
    OutletPlace,
    PointPlace,
    Setup,
    Station,
    Vec,
)
from barfit.starting.fresh import unmeasured_control
from barfit.starting.nearest import candidates
from barfit.starting.traits import traits_of

_DETOUR = 1.15  # of the straight way, that a line with no length yet is taken to go (estimate)
_STUB = 20.0  # mm, of an end that no machine here has (estimate)
_START = PointPlace(Body.STEERING, (60.0, 0.0, 40.0))  # at the instruments (estimate)
_END = PointPlace(Body.FRAME, (-200.0, 0.0, -150.0))  # under the tank (estimate)


def nearest_first(setup: Setup, machines: Iterable[Setup]) -> tuple[Setup, ...]:
    """The machines, the most like this one first."""
    return tuple(one.setup for one in candidates(traits_of(setup), machines))


def usual_control(setup: Setup, kind: ControlKind, machines: Sequence[Setup]) -> Control:
    """A control of that kind as on the machine most like this one, not measured; on the side that
    has none yet, where there are two. Raises KeyError where no machine has one.
    """
    taken = {(one.kind, one.side) for one in setup.controls}
    found = [one for machine in machines for one in machine.controls if one.kind is kind]
    if not found:
        raise KeyError(kind)
    free = [one for one in found if (one.kind, one.side) not in taken]
    return unmeasured_control((free or found)[0])


def usual_end(kind: str, machines: Sequence[Setup]) -> Station:
    """Where a line of that kind ends on the machine most like this one."""
    for machine in machines:
        for line in machine.lines:
            if line.kind == kind and isinstance(line.stations[-1].place, PointPlace):
                return line.stations[-1]
    return Station("far end", Hold.FITTING, _END, (1.0, 0.0, 0.0), _STUB)


def usual_start(kind: str, machines: Sequence[Setup]) -> Station:
    """Where a line of that kind starts on the machine most like this one that has one which does
    not start at a control.
    """
    for machine in machines:
        for line in machine.lines:
            if line.kind == kind and isinstance(line.stations[0].place, PointPlace):
                return line.stations[0]
    return Station("near end", Hold.FITTING, _START, (1.0, 0.0, 0.0), _STUB)


def usual_outlet(setup: Setup, kind: str, machines: Sequence[Setup]) -> OutletPlace | None:
    """The outlet, free if there is one, from which a line of that kind would leave; None for one
    that starts at no control, as far as the machines tell, or where there is no control.
    """
    starts = [
        (machine, line.stations[0].place)
        for machine in machines
        for line in machine.lines
        if line.kind == kind
    ]
    kinds = {
        find(machine.controls, place.control).kind
        for machine, place in starts
        if isinstance(place, OutletPlace)
    }
    if starts and not kinds:
        return None
    outlets = free_outlets(setup)
    fit = [one for one in outlets if find(setup.controls, one.control).kind in kinds]
    return next(iter((*fit, *outlets)), None)


def add_new_line(
    setup: Setup,
    kind: str,
    name: str,
    start: OutletPlace | Station,
    end: Station,
    length: float | None = None,
) -> Setup:
    """The setup with one more line from an outlet, or from a place of the machine, to ``end``, none
    of it measured.

    Without a ``length`` (mm) it gets a guess: somewhat more than the straight way. Its far fitting
    points to where it comes from unless that of ``end`` says otherwise. Raises ValueError for a
    name that is taken, and where the bars cannot be built.
    """
    if not name.strip() or not name.isprintable():
        raise ValueError("a line needs a name of at least one letter")
    if name.strip() in {one.name for one in setup.lines}:
        raise ValueError(f"there is another line named '{name.strip()}'")
    assert isinstance(end.place, PointPlace)
    far = np.array(end.place.position)
    near = _start_point(setup, start)
    way = near - far
    straight = float(np.linalg.norm(way))
    if length is None:
        length = 5.0 * round(_DETOUR * straight / 5.0)
    direction = end.direction or _rounded(way / max(straight, 1.0))
    if isinstance(start, OutletPlace):
        first = Station(start.control, Hold.FITTING, start)
    else:
        away = start.direction or _rounded(-way / max(straight, 1.0))
        first = replace(start, direction=away, measured=How.NOT_MEASURED)
    last = replace(
        end,
        name=end.name if end.name != first.name else f"{end.name}, far end",
        direction=direction,
        measured=How.NOT_MEASURED,
    )
    diameter = line_kinds()[kind].outside_diameter
    line = Line(name.strip(), kind, diameter, length, (first, last), measured=How.NOT_MEASURED)
    return edits.add_line(setup, line)


def free_outlets(setup: Setup) -> tuple[OutletPlace, ...]:
    """All outlets, those at which no line starts or ends first."""
    used = {
        station.place
        for line in setup.lines
        for way in (line.stations, *(one.stations for one in line.routings))
        for station in way
        if isinstance(station.place, OutletPlace)
    }
    every = [
        OutletPlace(control.name, outlet.name)
        for control in setup.controls
        for outlet in control.outlets
    ]
    return tuple(sorted(every, key=lambda one: one in used))


def _start_point(setup: Setup, place: OutletPlace | Station) -> np.ndarray:
    """Where a line starts, with the stock bars (3,). Raises KeyError, ValueError."""
    if isinstance(place, Station):
        assert isinstance(place.place, PointPlace)
        return np.array(place.place.position)
    control = find(setup.controls, place.control)
    outlet = find(control.outlets, place.outlet)
    spot, outward, forward, up = control_frame(setup, setup.stock, control)
    found: np.ndarray = spot + np.column_stack((outward, forward, up)) @ np.array(outlet.offset)
    return found


def _rounded(way: np.ndarray) -> Vec:
    x, y, z = (round(float(value), 2) for value in way)
    return (x, y, z)
