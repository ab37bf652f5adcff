"""The stations that hold a line, by their number along it (0 is the first fitting).

Points are in machine axes, straight ahead at ride height, whatever body they ride on: a point
picked at another pose is first taken back with `barfit.geometry.pose.body_motion`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from barfit.edits.controls import change_outlet
from barfit.edits.lines import change_line
from barfit.edits.names import find, fresh_name
from barfit.geometry.pose import Layout, bar_shape, control_frame, layout
from barfit.model import (
    BarPlace,
    BarSet,
    Body,
    Hold,
    Line,
    OutletPlace,
    PointPlace,
    Setup,
    Station,
    Vec,
)


def change_station(setup: Setup, line: str, index: int, /, **fields: Any) -> Setup:
    """Fields of a station changed. Raises KeyError for a line or a number that is not there.

    A station keeps its name unique within the line.
    """
    own = setup.line(line)
    station = _station(own, index)
    if "name" in fields:
        others = [one.name for k, one in enumerate(own.stations) if k != index]
        if fields["name"] in others:
            raise ValueError(
                f"'{fields['name']}' is there twice in this line; names are used once."
            )
    return _with(setup, own, index, replace(station, **fields))


def move_station(
    setup: Setup, line: str, index: int, point: Vec, bars: BarSet | None = None
) -> Setup:
    """A station at another ``point`` (x, y, z), mm.

    One beside the bar is moved along and off it, as far as that goes: its distance along the
    centreline of ``bars`` (the new ones by default), and its offsets there, come out of the point.
    Raises ValueError for a fitting at a control's outlet: it goes with the control.
    """
    own = setup.line(line)
    station = _station(own, index)
    place = station.place
    if isinstance(place, OutletPlace):
        raise ValueError(
            f"'{station.name}' sits on the control '{place.control}': move the control, or the "
            "place of its outlet."
        )
    if isinstance(place, PointPlace):
        return _with(setup, own, index, replace(station, place=replace(place, position=point)))
    moved = beside_bar(setup, setup.new if bars is None else bars, place, point)
    return _with(setup, own, index, replace(station, place=moved))


def lead_along(setup: Setup, line: str, index: int, way: Vec, bars: BarSet | None = None) -> Setup:
    """A fitting that points, or a clip through which the line runs, along ``way`` (3,), any length
    but zero, straight ahead.

    At a control it is the outlet's exit that turns, for every line that leaves there; its axes are
    those of the control on ``bars`` (the new ones by default). Raises ValueError for what has no
    direction of its own: a guide, a clip beside the bar.
    """
    own = setup.line(line)
    station = _station(own, index)
    place = station.place
    ahead = np.asarray(way, dtype=float)
    ahead = ahead / np.linalg.norm(ahead)
    if isinstance(place, OutletPlace):
        control = find(setup.controls, place.control)
        axes = np.column_stack(control_frame(setup, bars or setup.new, control)[1:])
        return change_outlet(setup, control.name, place.outlet, exit=vec(axes.T @ ahead))
    if station.direction is None:
        raise ValueError(f"'{station.name}' has no direction of its own.")
    return _with(setup, own, index, replace(station, direction=vec(ahead)))


def beside_bar(setup: Setup, bars: BarSet, place: BarPlace, point: Vec) -> BarPlace:
    """A place beside the bar as near to ``point`` as places there can be: on the same side, at the
    nearest cross-section of the bar's centreline, ``forward`` and ``up`` measured within it.
    """
    shape = bar_shape(setup.machine, bars)
    goal = np.asarray(point)

    def miss(distance: float) -> float:
        spot, outward, *_ = shape.at(place.side, distance, True)
        return float((goal - spot) @ outward)

    tries = np.linspace(0.0, shape.length, 200)
    gaps = [float(np.linalg.norm(goal - shape.at(place.side, at, True)[0])) for at in tries]
    best = int(np.argmin(gaps))
    low, high = tries[max(best - 1, 0)], tries[min(best + 1, len(tries) - 1)]
    for _ in range(50):  # outward runs along the tube, so the miss falls as the distance grows
        middle = 0.5 * (low + high)
        low, high = (middle, high) if miss(middle) > 0.0 else (low, middle)
    distance = float(0.5 * (low + high))
    spot, _, forward, up = shape.at(place.side, distance, True)
    off = goal - spot
    return replace(
        place,
        distance=distance if place.from_centre else shape.length - distance,
        forward=float(off @ forward),
        up=float(off @ up),
    )


def put_station_on(setup: Setup, line: str, index: int, body: Body) -> Setup:
    """A station that rides on another body at the same point, straight ahead at ride height.

    One beside the bar becomes a point. Raises ValueError for a fitting at a control's outlet.
    """
    own = setup.line(line)
    station = _station(own, index)
    if isinstance(station.place, OutletPlace):
        raise ValueError(f"'{station.name}' sits on a control: it goes with the bars.")
    places = laid_out(setup, line)
    point = tuple(float(value) for value in places.points[index])
    direction = station.direction
    if direction is None and station.hold is Hold.CLIP:
        direction = vec(places.directions[index])
    changed = replace(station, place=PointPlace(body, vec(point)), direction=direction)
    return _with(setup, own, index, changed)


def insert_guide(
    setup: Setup, line: str, after: int, point: Vec, body: Body, name: str = "guide"
) -> Setup:
    """A guide at ``point`` between stations ``after`` and ``after + 1``."""
    return insert_station(setup, line, after, Station(name, Hold.GUIDE, PointPlace(body, point)))


def insert_station(setup: Setup, line: str, after: int, station: Station) -> Setup:
    """A station between ``after`` and ``after + 1``, under a fresh name where its own is taken."""
    own = setup.line(line)
    if not 0 <= after < len(own.stations) - 1:
        raise KeyError(after)
    station = replace(station, name=fresh_name(station.name, [one.name for one in own.stations]))
    stations = (*own.stations[: after + 1], station, *own.stations[after + 1 :])
    return change_line(setup, line, stations=stations)


def along(setup: Setup, bars: BarSet, line: str) -> dict[str, float]:
    """How far along the straight way of a line, from station to station, each of its stations is,
    mm; of one led inside the bars, out of there. Raises LayoutError.
    """
    places = layout(replace(setup, lines=(setup.line(line),)), bars)[line]
    steps = np.linalg.norm(np.diff(places.points, axis=0), axis=1)
    if places.inside is not None:
        steps[0] = places.inside.length
    return dict(zip(places.names, [0.0, *np.cumsum(steps).tolist()], strict=True))


def laid_out(setup: Setup, line: str, inside: bool = False) -> Layout:
    """A line alone with the new bars: as all its stations lie, or led ``inside`` them where it can
    be. Raises LayoutError.
    """
    own = setup.line(line)
    alone = replace(setup, lines=(own if inside else replace(own, through_bar=None),))
    return layout(alone, setup.new)[line]


def delete_station(setup: Setup, line: str, index: int) -> Setup:
    """The line without that guide or clip. Raises ValueError for a fitting."""
    own = setup.line(line)
    station = _station(own, index)
    if station.hold is Hold.FITTING:
        raise ValueError(f"'{station.name}' is an end of the line: a line needs both its fittings.")
    stations = own.stations[:index] + own.stations[index + 1 :]
    return change_line(setup, line, stations=stations)


def _station(line: Line, index: int) -> Station:
    if not 0 <= index < len(line.stations):
        raise KeyError(index)
    return line.stations[index]


def _with(setup: Setup, line: Line, index: int, station: Station) -> Setup:
    stations = (*line.stations[:index], station, *line.stations[index + 1 :])
    return change_line(setup, line.name, stations=stations)


def vec(values: Any) -> Vec:
    """Three numbers as the model has them."""
    x, y, z = (float(value) for value in values)
    return (x, y, z)
