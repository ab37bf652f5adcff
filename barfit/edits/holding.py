"""What holds a line on its way: guides, clips and ties put in, changed in kind and put in order.

A tie is a station beside the bar: a loose one lets the line slide, as a guide does, a tight one
grips it, as a clip does.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from barfit.edits.lines import change_line
from barfit.edits.names import find, fresh_name
from barfit.edits.stations import (
    beside_bar,
    change_station,
    insert_station,
    laid_out,
    put_station_on,
    vec,
)
from barfit.geometry.frames import Array
from barfit.geometry.pose import bar_shape
from barfit.model import (
    BarPlace,
    Body,
    Control,
    Hold,
    How,
    OutletPlace,
    Place,
    PointPlace,
    Setup,
    Side,
    Station,
)

_LEAST = 1.0  # mm between two clips along the line, where there is next to no room for more


def add_station(setup: Setup, line: str, after: int, hold: Hold, on_bar: bool) -> Setup:
    """A guide, a clip or a tie on the bar half way between stations ``after`` and ``after + 1``,
    not measured.

    On the machine it rides on what both ride on, or else on the frame; on the bar it lies against
    the tube. A clip grips the line where it comes to lie. Raises KeyError, and ValueError where the
    line cannot be laid out.
    """
    own = setup.line(line)
    if not 0 <= after < len(own.stations) - 1:
        raise KeyError(after)
    places = laid_out(setup, line)
    point = 0.5 * (places.points[after] + places.points[after + 1])
    first, second = places.bodies[after], places.bodies[after + 1]
    place: Place = PointPlace(first if first is second else Body.FRAME, _rounded(point))
    if on_bar:
        place = _against_bar(setup, line, point)
    name = "tie" if on_bar else str(hold)
    station = Station(name, Hold.GUIDE, place, measured=How.NOT_MEASURED)
    return hold_as(insert_station(setup, line, after, station), line, after + 1, hold)


def duplicate_station(setup: Setup, line: str, index: int) -> Setup:
    """A copy of a guide or clip, half way to the next station and not measured. Raises KeyError,
    and ValueError for a fitting.
    """
    station = _between(setup, line, index)
    on_bar = isinstance(station.place, BarPlace)
    added = add_station(setup, line, index, station.hold, on_bar)
    names = [one.name for one in setup.line(line).stations]
    fields: dict[str, object] = {"name": fresh_name(station.name, names)}
    copy = added.line(line).stations[index + 1]
    if isinstance(station.place, PointPlace) and isinstance(copy.place, PointPlace):
        fields["place"] = replace(copy.place, body=station.place.body)
    return change_station(added, line, index + 1, **fields)


def hold_as(setup: Setup, line: str, index: int, hold: Hold) -> Setup:
    """A guide that becomes a clip, or a clip a guide, at the same place.

    What grips the line does so where it comes to lie: between the places before and behind that
    grip it, in the proportion of the straight ways. Raises ValueError for a fitting and for making
    one.
    """
    station = _between(setup, line, index)
    if hold is Hold.FITTING:
        raise ValueError("A fitting is an end of the line: between them are guides and clips.")
    if hold is station.hold:
        return setup
    if hold is Hold.GUIDE:
        return change_station(setup, line, index, hold=hold, direction=None, at_length=None)
    places = laid_out(setup, line)
    on_bar = isinstance(station.place, BarPlace)
    direction = None if on_bar else _rounded(_course(places.points, index), 2)
    at = _grip(setup, line, index)
    return change_station(setup, line, index, hold=hold, direction=direction, at_length=at)


def move_in_order(setup: Setup, line: str, index: int, by: int) -> Setup:
    """A guide or clip that comes ``by`` places later along the line, negative: earlier.

    Clips keep the lengths at which they grip, in rising order along the line. Raises ValueError for
    a fitting, and where it would pass one.
    """
    _between(setup, line, index)
    own = setup.line(line)
    to = index + by
    if not 0 < to < len(own.stations) - 1:
        raise ValueError("The ends of the line stay its ends: nothing comes before or after them.")
    stations = list(own.stations)
    stations.insert(to, stations.pop(index))
    grips = iter(sorted(one.at_length for one in stations if one.at_length is not None))
    for at, one in enumerate(stations):
        if one.at_length is not None:
            stations[at] = replace(one, at_length=next(grips))
    return change_line(setup, line, stations=tuple(stations))


def put_station_on_bar(setup: Setup, line: str, index: int) -> Setup:
    """A guide or clip that becomes a tie against the bar, as near as it can to where it was. Raises
    ValueError for a fitting.
    """
    station = _between(setup, line, index)
    if isinstance(station.place, BarPlace):
        return setup
    place = _against_bar(setup, line, laid_out(setup, line).points[index])
    return change_station(setup, line, index, place=place, direction=None)


def put_station_at(setup: Setup, line: str, index: int, outlet: OutletPlace) -> Setup:
    """An end of a line at a control's outlet, which then says how it leaves. Raises ValueError for
    what is no end.
    """
    own = setup.line(line)
    if index not in (0, len(own.stations) - 1):
        raise ValueError("Only an end of the line is at an outlet; between them it is held.")
    fields: dict[str, object] = {"direction": None, "stub": 0.0, "measured": How.TAPE}
    return change_station(setup, line, index, place=outlet, **fields)  # the outlet tells the rest


def take_station_off(setup: Setup, line: str, index: int, body: Body) -> Setup:
    """An end of a line that leaves its control's outlet for the same place of a body, not measured.
    Raises ValueError where the line is led through the bar from there.
    """
    station = setup.line(line).stations[index]
    if not isinstance(station.place, OutletPlace):
        return put_station_on(setup, line, index, body)
    own = setup.line(line)
    inside = own.through_bar or any(way.through_bar for way in own.routings)
    if index == 0 and inside:
        raise ValueError(
            "A line that is led through the bar starts at a control: lead it outside first."
        )
    places = laid_out(setup, line)
    way = places.directions[index] if index == 0 else -places.directions[index]
    return change_station(
        setup,
        line,
        index,
        place=PointPlace(body, _rounded(places.points[index])),
        direction=_rounded(way, 2),
        stub=float(places.stubs[index]),
        measured=How.NOT_MEASURED,
    )


def measure_from(setup: Setup, line: str, index: int, centre: bool) -> Setup:
    """A tie whose place along the bar counts from the bar's centre, or from its end; it stays where
    it is on the new bars.
    """
    place = setup.line(line).stations[index].place
    if not isinstance(place, BarPlace) or place.from_centre is centre:
        return setup
    length = bar_shape(setup.machine, setup.new).length
    moved = replace(place, from_centre=centre, distance=length - place.distance)
    return change_station(setup, line, index, place=moved)


def _between(setup: Setup, line: str, index: int) -> Station:
    """A station that is no end. Raises KeyError for a number that is not there."""
    stations = setup.line(line).stations
    if not 0 <= index < len(stations):
        raise KeyError(index)
    if stations[index].hold is Hold.FITTING:
        raise ValueError(f"'{stations[index].name}' is an end of the line: it stays a fitting.")
    return stations[index]


def _against_bar(setup: Setup, line: str, point: Array) -> BarPlace:
    """The place of a tie nearest to a point: the line lies against the tube, on the point's side.

    It counts from the end of the bar or the centre, whichever is nearer, and is on both bars.
    """
    shape, other = (bar_shape(setup.machine, bars) for bars in (setup.new, setup.stock))
    anywhere = BarPlace(_side(setup, line, point), 0.0, True, 0.0, 0.0)
    near = beside_bar(setup, setup.new, anywhere, vec(point))
    off = np.array([near.forward, near.up])
    size = float(np.linalg.norm(off))
    way = off / size if size > 1e-6 else np.array([0.0, -1.0])
    room = 0.5 * (shape.tube_diameter + setup.line(line).diameter)
    forward, up = (round(float(value), 1) for value in room * way)
    inward = near.distance < 0.5 * shape.length
    distance = near.distance if inward else shape.length - near.distance
    distance = round(min(distance, other.length - 1.0), 1)
    return replace(near, distance=distance, from_centre=inward, forward=forward, up=up)


def _side(setup: Setup, line: str, point: Array) -> Side:
    """The side of the control at which the line starts or ends, or else that of the point."""
    for station in setup.line(line).stations:
        if isinstance(station.place, OutletPlace):
            control: Control = find(setup.controls, station.place.control)
            return control.side
    return Side.LEFT if point[1] >= 0.0 else Side.RIGHT


def _grip(setup: Setup, line: str, index: int) -> float:
    """How far along the line a station grips it; of one led inside the bar, out of there."""
    own = setup.line(line)
    places = laid_out(setup, line, inside=True)
    if own.stations[index].name not in places.names:  # where it runs along the bar otherwise
        places = laid_out(setup, line)
    index = places.names.index(own.stations[index].name)
    points, ends = places.points, [0, len(places.points) - 1]
    grips = dict(zip(ends, (0.0, own.length), strict=True))
    grips |= {k: float(at) for k, at in enumerate(places.at_length) if not np.isnan(at)}
    before = max(k for k in grips if k < index)
    behind = min(k for k in grips if k > index)
    steps = np.linalg.norm(np.diff(points[before : behind + 1], axis=0), axis=1)
    share = float(steps[: index - before].sum() / steps.sum())
    low, high = grips[before], grips[behind]
    at = round(low + share * (high - low), 1)
    return at if low < at < high else max(0.5 * (low + high), low + min(_LEAST, high - low))


def _course(points: Array, index: int) -> Array:
    """The way from the station before to the one behind, a unit vector (3,)."""
    course: Array = points[index + 1] - points[index - 1]
    return course / max(float(np.linalg.norm(course)), 1e-9)


def _rounded(values: Array, decimals: int = 1) -> tuple[float, float, float]:
    """As it would be typed; nobody measures finer."""
    return vec(np.round(values, decimals) + 0.0)
