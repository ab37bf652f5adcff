"""A place for another machine's modulator on this one's frame. Lengths mm; a first guess."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from barfit.geometry.parts import shape_distance
from barfit.geometry.pose import body_motion, travels
from barfit.model import Body, Box, Machine, PointPlace, Setup, Solid
from barfit.trade.hose_path import wheel_distance

_CLEAR = 5.0  # mm round the modulator (estimate)
_HOSE = (10.0, -12.0)  # mm round a straight way, or by how much it may be pushed aside (estimate)
_LINE = (33.0, 25.0, 6.0)  # mm to other lines' straight ways: slack bows them (estimate)
_ACROSS = (0.0, 30.0, -30.0, 60.0, -60.0)  # mm off the middle plane
_TYRE = 30.0  # mm to the tyre, fork compressed (estimate)
_ROOM, _TURN = 150.0, 0.8  # mm of straight way to a port, cosine of the bend into it (estimate)
_SHARE = np.linspace(0.0, 1.0, 40)[:, None]
_STEP = 15.0  # mm between places tried
_BACK, _DOWN = 420.0, 220.0  # mm from where hoses come past the head tube (estimate)


@dataclass(frozen=True, eq=False)
class Port:
    """Where a hose leaves the modulator (3,), and which way, a unit direction (3,)."""

    point: np.ndarray
    way: np.ndarray


def free_place(
    setup: Setup, modulator: Solid, ports: Sequence[Port], froms: Sequence[np.ndarray]
) -> np.ndarray:
    """How far (3,) the modulator of another machine has to move to be clear of this one's tank,
    engine, frame, wheel and other lines.

    From each of ``froms`` (3,) there is a straight way to the port of the same number that a hose
    can bend into. It does not move where that is so already, or nowhere else. Of several
    places the one with the shortest hoses is taken.
    """
    if not isinstance(modulator.shape, Box):
        return np.zeros(3)
    surface = _surface(modulator.shape)
    head = np.mean(froms, axis=0)
    pairs = list(zip(ports, froms, strict=True))
    places = np.array(
        [
            np.array([head[0] - back, across, head[2] - down]) - np.array(modulator.shape.centre)
            for back in np.arange(0.0, _BACK + 1.0, _STEP)
            for down in np.arange(-0.5 * _DOWN, _DOWN + 1.0, _STEP)
            for across in _ACROSS
        ]
    )
    long = sum(np.linalg.norm(port.point + places - begin, axis=1) for port, begin in pairs)
    places = np.vstack([np.zeros(3), places[np.argsort(long, kind="stable")]])
    bends = [_can_bend(port, begin - port.point - places) for port, begin in pairs]
    free = _with_room(setup.machine, surface, places[np.all(bends, axis=0)])
    lines = _on_frame(setup)
    for round_line, round_hose in itertools.product(_LINE, _HOSE):
        for moved in free:
            box = surface + moved
            ways = [begin + _SHARE * (port.point + moved - begin) for port, begin in pairs]
            if (
                not _within(box, lines, round_line)
                and _is_clear(setup.machine, np.concatenate(ways), round_hose)
                and tyre_gap(setup.machine, np.concatenate([box, *ways])) > _TYRE
            ):
                return np.asarray(moved)
    return np.zeros(3)


def _can_bend(port: Port, ways: np.ndarray) -> np.ndarray:
    """Whether a hose that leaves a port has room to bend into each of the ``ways`` (N, 3)."""
    far = np.linalg.norm(ways, axis=1)
    return (far > _ROOM) & (ways @ port.way > _TURN * far)


def _with_room(machine: Machine, box: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Those of the places (N, 3) to move a ``box`` (K, 3) to that are clear of the frame."""
    frame = [solid for solid in machine.solids if solid.body is Body.FRAME]
    centre = box.mean(axis=0)
    for solid in frame:  # most places are out by their middle alone
        places = places[shape_distance(solid.shape, centre + places) >= _CLEAR]
    for solid in frame:
        if len(places):
            points = (places[:, None] + box).reshape(-1, 3)
            away = shape_distance(solid.shape, points).reshape(len(places), len(box))
            places = places[away.min(axis=1) >= _CLEAR]
    return places


def _is_clear(machine: Machine, points: np.ndarray, room: float) -> bool:
    return all(
        shape_distance(solid.shape, points).min() >= room
        for solid in machine.solids
        if solid.body is Body.FRAME
    )


def _within(box: np.ndarray, points: np.ndarray, room: float) -> bool:
    """Whether any of the points (N, 3) is inside a box, given by points on it, or near it."""
    low, high = box.min(axis=0) - room, box.max(axis=0) + room
    return bool(((points > low) & (points < high)).all(axis=1).any())


def _on_frame(setup: Setup) -> np.ndarray:
    """Points (N, 3) along the straight ways of all lines between their stations on the frame."""
    found = [np.zeros((0, 3))]
    for line in setup.lines:
        for one, other in pairwise(line.stations):
            ends = [
                np.array(station.place.position)
                for station in (one, other)
                if isinstance(station.place, PointPlace) and station.place.body is Body.FRAME
            ]
            if len(ends) == 2:
                found.append(ends[0] + _SHARE * (ends[1] - ends[0]))
            found += [end[None] for end in ends]
    return np.concatenate(found)


def tyre_gap(machine: Machine, points: np.ndarray) -> float:
    """The least distance of points (N, 3) of the frame from the tyre, lock to lock, the fork
    extended to compressed.
    """
    distance = wheel_distance(machine)
    least = np.inf
    turns = np.linspace(-machine.lock_right, machine.lock_left, 5)
    for turn, travel in itertools.product(turns, travels(machine)):
        rotation, shift = body_motion(machine, Body.LOWER_FORK, float(turn), float(travel))
        least = min(least, float(distance((points - shift) @ rotation).min()))
    return least


def put(modulator: Solid, moved: np.ndarray) -> Solid:
    """The modulator moved by so much (3,)."""
    if not isinstance(modulator.shape, Box):
        return modulator
    x, y, z = (float(value) for value in np.round(np.array(modulator.shape.centre) + moved, 1))
    return replace(modulator, shape=replace(modulator.shape, centre=(x, y, z)))


def _surface(box: Box) -> np.ndarray:
    """Points (N, 3) all over a box, upright as it stands."""
    grid = np.linspace(-0.5, 0.5, 6)
    cube = np.array(list(itertools.product(grid, grid, grid)))
    faces = cube[np.abs(cube).max(axis=1) > 0.49]
    cos, sin = np.cos(box.pitch), np.sin(box.pitch)
    turned = np.array([[cos, 0.0, sin], [0.0, 1.0, 0.0], [-sin, 0.0, cos]])
    return np.asarray(faces * np.array(box.size) @ turned.T + np.array(box.centre))
