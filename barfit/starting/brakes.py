"""A front brake laid out as on another machine, by hoses that end at this machine's own calipers.

The other machine lends which hoses there are, and what lies between: a splitter, a modulator. The
master cylinder with the way down to the clamps, and the way over the fork leg to the caliper, are
this machine's own wherever it has them. All of it is a first guess. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from barfit import edits
from barfit.geometry.frames import MIRROR, steering_axis, steering_frame
from barfit.model import (
    Body,
    Hold,
    Hose,
    HoseEnd,
    Line,
    OutletPlace,
    PointPlace,
    Role,
    Setup,
    Station,
)
from barfit.starting.carry import beside_head, carried_station, rounded
from barfit.starting.modulator import Port, free_place, put
from barfit.starting.traits import lines_of

_ABOVE = 14.0  # mm: a splitter's inlet over its outlets (estimate)
_FROM_ABOVE = (0.44, -0.44, 0.78)  # forward, left, up along the axis: a hose leaves it there


@dataclass(frozen=True)
class _End:
    """The way over a fork leg to the caliper, from the first station on the lower fork on."""

    stations: tuple[Station, ...]
    fitting: HoseEnd


def hoses(bare: Setup, own: Sequence[Line], donor: Setup) -> tuple[Setup, tuple[Line, ...], bool]:
    """The hoses of a front brake laid out as the ``donor``'s, for a machine that is ``bare`` of
    them and had its ``own`` brake lines: that setup with the modulator they need, the hoses, and
    whether they leave its own master cylinder, not the donor's. Own ones among them are as they
    were.
    """
    there = [donor.line(name) for name in lines_of(donor, "brake")]
    hoses_here = [line for line in own if line.kind == "brake_hose"]
    setup, there = _on_this_frame(bare, donor, there)
    legs = {_side(line): line for line in hoses_here if _from_splitter(line)}
    found = []
    for line in there:
        kept = legs.get(_side(line)) if _from_splitter(line) else None
        found.append(kept or _here(setup, donor, line, there, own))
    return setup, tuple(found), _master(hoses_here) is not None


def _master(own: Sequence[Line]) -> Line | None:
    """The hose that leaves the master cylinder."""
    return next((one for one in own if _at_control(one.stations[0])), None)


def _here(
    setup: Setup, donor: Setup, line: Line, there: Sequence[Line], brake: Sequence[Line]
) -> Line:
    """A hose of the donor, its frame's stations placed already, on this machine; ``there`` are all
    of those, ``brake`` the lines this machine had.
    """
    own = [one for one in brake if one.kind == "brake_hose"]
    stations = [carried_station(one, setup.machine, donor.machine) for one in line.stations]
    first, last = _fittings(line)
    master = _master(own)
    if _body(line.stations[-1]) is Body.LOWER_FORK:
        end = _caliper_end(own, _side(line))
        if end is not None:
            stations[_tail(line) :] = end.stations
            last = end.fitting
        stations = [_off_clamp(one, own, _side(line)) for one in stations]
    elif _body(line.stations[-1]) is Body.STEERING:
        stations[-1] = _inlet(setup, donor, line, there, own)
    if _at_control(line.stations[0]):
        stations[: _head(line, donor)] = _own_head(setup, donor, line, brake)
        first = first if master is None else _fittings(master)[0]
    hose = replace(line.hose or Hose(), start=first, end=last)
    return replace(
        line, stations=tuple(stations), hose=hose, routing="", routings=(), found_slack=None
    )


def _own_head(setup: Setup, donor: Setup, line: Line, brake: Sequence[Line]) -> list[Station]:
    """The control and the guides at the top clamp of a hose of the donor: this machine's own, by
    its cable too if it has no hose; but the donor's guides where the way on leads past the head
    tube for the one and to the fork for the other.
    """
    count = _head(line, donor)
    there = [carried_station(one, setup.machine, donor.machine) for one in line.stations[:count]]
    own = next((one for one in brake if _at_control(one.stations[0])), None)
    if own is None:
        return there
    mine = _head(own, setup)
    control = own.stations[0] if own.kind == line.kind else line.stations[0]
    ways = _body(own.stations[mine]), _body(line.stations[count])
    if (ways[0] is Body.FRAME) is not (ways[1] is Body.FRAME):
        return [control, *there[1:]]
    return [control, *own.stations[1:mine]]


def _off_clamp(station: Station, own: Sequence[Line], side: int) -> Station:
    """A clip on the lower clamp where this machine's own hose to that caliper leaves its splitter,
    pointing that way.
    """
    leg = next((one for one in own if _from_splitter(one) and _side(one) == side), None)
    if leg is None or station.hold is not Hold.CLIP or _body(station) is not Body.STEERING:
        return station
    outlet = leg.stations[0]
    return replace(station, place=outlet.place, direction=outlet.direction)


def _inlet(
    setup: Setup, donor: Setup, line: Line, there: Sequence[Line], own: Sequence[Line]
) -> Station:
    """Where a hose ends at the splitter: this machine's own place if a hose from above ends there,
    the donor's if one does there, or else over the outlets.
    """
    master = _master(own)
    if master is not None and _body(master.stations[-1]) is Body.STEERING:
        return master.stations[-1]
    outlets = [one.stations[0] for one in own if _from_splitter(one)]
    if not outlets and _at_control(line.stations[0]):
        return carried_station(line.stations[-1], setup.machine, donor.machine)
    outlets = outlets or [
        carried_station(one.stations[0], setup.machine, donor.machine)
        for one in there
        if _from_splitter(one)
    ]
    frame = steering_frame(setup.machine.rake)
    middle = np.mean([_point(one) for one in outlets], axis=0)
    position = rounded(middle + frame @ (0.0, 0.0, _ABOVE), 1)
    return replace(
        line.stations[-1],
        name=outlets[0].name,
        place=PointPlace(Body.STEERING, position),
        direction=rounded(frame @ np.array(_FROM_ABOVE), 3),
    )


def _on_this_frame(setup: Setup, donor: Setup, lines: list[Line]) -> tuple[Setup, list[Line]]:
    """The setup with the donor's modulator where there is room for it, and the hoses led there: by
    the guides at the head tube; the way back is by the mirror image of the first of them.
    """
    modulator = next((one for one in donor.machine.solids if one.role is Role.MODULATOR), None)
    to = next((one for one in lines if _body(one.stations[-1]) is Body.FRAME), None)
    back = next((one for one in lines if _body(one.stations[0]) is Body.FRAME), None)
    if modulator is None or to is None or back is None:
        return setup, lines
    beside = [beside_head(one, setup.machine, donor.machine) for one in to.stations]
    guides = [one for one in beside if one is not None]
    if not guides:
        return edits.add_solid(setup, modulator), lines
    mirrored = _mirrored(guides[0])
    inlet = to.stations[-1]
    way = inlet.direction or (1.0, 0.0, 0.0)
    # sideways, as on the donor, it would point at the tubes beside it
    outlet = replace(back.stations[0], direction=rounded(np.array(way) * MIRROR, 3))
    ports = inlet, outlet
    moved = free_place(
        setup,
        modulator,
        [Port(_point(one), np.array(way)) for one in ports],
        [_point(guides[-1]), _point(mirrored)],
    )
    inlet, outlet = (_at(one, _point(one) + moved) for one in ports)
    led = {
        to.name: replace(to, stations=(*to.stations[: _head(to, donor)], *guides, inlet)),
        back.name: replace(back, stations=(outlet, mirrored, back.stations[-1])),
    }
    setup = edits.add_solid(setup, put(modulator, moved))
    return setup, [led.get(one.name, one) for one in lines]


def _caliper_end(own: Sequence[Line], side: int) -> _End | None:
    """This machine's own way to the caliper of that side: the mirror image of the other's where it
    has none there.
    """
    ends = {
        _side(line): _End(line.stations[_tail(line) :], _fittings(line)[1])
        for line in own
        if _body(line.stations[-1]) is Body.LOWER_FORK
    }
    if side in ends or -side not in ends:
        return ends.get(side)
    other = ends[-side]
    bolt = other.fitting.bolt
    fitting = replace(other.fitting, bolt=bolt and rounded(np.array(bolt) * MIRROR, 3))
    return _End(tuple(_mirrored(one) for one in other.stations), fitting)


def _mirrored(station: Station) -> Station:
    """A station on the other side of the machine, called so."""
    names = {"left": "right", "right": "left"}
    words = [names.get(word, word) for word in station.name.split()]
    way = station.direction
    return replace(
        _at(station, _point(station) * MIRROR),
        name=" ".join(words),
        direction=way and rounded(np.array(way) * MIRROR, 3),
    )


def _head(line: Line, setup: Setup) -> int:
    """How many stations there are at the top: the control, and guides that turn with it nearer to
    the top clamp than to the lower one.
    """
    axis, low = steering_axis(setup.machine.rake), -0.5 * setup.machine.lower_clamp
    count = 1
    for station in line.stations[1:-1]:
        guide = station.hold is Hold.GUIDE and _body(station) is Body.STEERING
        if not guide or _point(station) @ axis < low:
            break
        count += 1
    return count


def _tail(line: Line) -> int:
    """The number of the first station on the lower fork."""
    return next(k for k, one in enumerate(line.stations) if _body(one) is Body.LOWER_FORK)


def _from_splitter(line: Line) -> bool:
    first, last = line.stations[0], line.stations[-1]
    return _body(first) is Body.STEERING and _body(last) is Body.LOWER_FORK


def _side(line: Line) -> int:
    """The side of the far end: 1 is left, -1 right."""
    return -1 if _point(line.stations[-1])[1] < 0.0 else 1


def _fittings(line: Line) -> tuple[HoseEnd, HoseEnd]:
    hose = line.hose or Hose()
    return hose.start, hose.end


def _at_control(station: Station) -> bool:
    return isinstance(station.place, OutletPlace)


def _body(station: Station) -> Body | None:
    """What a station rides on; None for one at a control or beside the bar."""
    return station.place.body if isinstance(station.place, PointPlace) else None


def _point(station: Station) -> np.ndarray:
    assert isinstance(station.place, PointPlace)
    return np.array(station.place.position)


def _at(station: Station, point: np.ndarray) -> Station:
    assert isinstance(station.place, PointPlace)
    return replace(station, place=replace(station.place, position=rounded(point, 1)))
