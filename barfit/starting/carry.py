"""Places on one machine as they are on another: of its fork, its clamps and its frame.

All of it is a first guess. Lengths mm, in machine axes straight ahead at ride height.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from barfit.geometry.frames import steering_frame
from barfit.model import Body, Capsule, Hold, Line, Machine, PointPlace, Role, Setup, Station, Vec

_AT_HEAD = (
    75.0  # mm: a frame's guide nearer to the steering axis goes with the head tube (estimate)
)


def carried(setup: Setup, donor: Setup, line: Line) -> Line:
    """A line of another machine at the same places of this one: of its fork and its bars, not of
    the world.
    """
    stations = tuple(carried_station(one, setup.machine, donor.machine) for one in line.stations)
    return replace(line, stations=stations, routing="", routings=(), found_slack=None)


def carried_station(station: Station, own: Machine, other: Machine) -> Station:
    """A station at the same place of its body on another machine, pointing the same way on it."""
    place, way = station.place, station.direction
    if not isinstance(place, PointPlace) or place.body is Body.FRAME:
        return station
    there = np.array(place.position) @ steering_frame(other.rake)
    if place.body is Body.LOWER_FORK:
        there = _on_fork(there, own, other)
        if station.hold is not Hold.FITTING:  # on a longer leg it sits higher over the axle
            over = there[2] + own.fork_length
            longer = (own.fork_length - own.lower_clamp) / (other.fork_length - other.lower_clamp)
            there[2] = over * longer - own.fork_length
    elif there[2] < -0.5 * other.lower_clamp:
        there = _on_clamp(there, own, other)
    position = rounded(steering_frame(own.rake) @ there, 1)
    if way is not None:
        turned = steering_frame(own.rake) @ (np.array(way) @ steering_frame(other.rake))
        way = rounded(turned, 3)
    return replace(station, place=replace(place, position=position), direction=way)


def beside_head(station: Station, own: Machine, other: Machine) -> Station | None:
    """A frame's guide at the same place of the head tube; None for one that is not beside it."""
    place = station.place
    if not isinstance(place, PointPlace) or place.body is not Body.FRAME:
        return None
    there = np.array(place.position) @ steering_frame(other.rake)
    if np.hypot(*there[:2]) > _AT_HEAD or there[2] < -other.lower_clamp:
        return None
    there[2] *= own.head_tube_bottom / other.head_tube_bottom
    position = rounded(steering_frame(own.rake) @ there, 1)
    return replace(station, place=replace(place, position=position))


def rounded(values: np.ndarray, decimals: int) -> Vec:
    """Three numbers (3,) as they are written; no minus before a zero."""
    x, y, z = (float(value) + 0.0 for value in np.round(values, decimals))
    return (x, y, z)


def slider_radius(machine: Machine) -> float:
    """Of a fork leg below, by the machine's solids; of its tube where it has none there."""
    found = [
        solid.shape.radius
        for solid in machine.solids
        if solid.role is Role.FORK_TUBE
        and solid.body is Body.LOWER_FORK
        and isinstance(solid.shape, Capsule)
    ]
    return max(found, default=0.5 * machine.fork_tube_diameter)


def _on_fork(there: np.ndarray, own: Machine, other: Machine) -> np.ndarray:
    """As high over the axle, and as far off the leg of that side in the same direction: a fork that
    is narrower or thicker takes its clips and calipers with it.
    """
    forward, left, up = there
    side = -1.0 if left < 0.0 else 1.0
    off = np.array([forward - other.fork_offset, left - side * 0.5 * other.fork_spread])
    far = float(np.hypot(*off))
    grown = far + slider_radius(own) - slider_radius(other)
    off *= max(grown, slider_radius(own)) / far if far > 0.0 else 1.0
    return np.array(
        [
            own.fork_offset + off[0],
            side * 0.5 * own.fork_spread + off[1],
            up + other.fork_length - own.fork_length,
        ]
    )


def _on_clamp(there: np.ndarray, own: Machine, other: Machine) -> np.ndarray:
    """As far under the lower clamp and ahead of it: clamps sit and reach out differently."""
    ahead = own.fork_offset - other.fork_offset
    return there + np.array([ahead, 0.0, other.lower_clamp - own.lower_clamp])
