"""Another way for a line to go: without a guide, with one moved, past the other side of the head
tube, or one of the other ways that the file has.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from barfit import edits
from barfit.analysis import Sweep, Verdict
from barfit.geometry.frames import MIRROR, Array, local_to_machine
from barfit.geometry.parts import shape_distance
from barfit.geometry.pose import body_motion, motions
from barfit.model import Body, Hold, Line, Machine, PointPlace, Setup, Station, Vec
from barfit.remedies.judging import Plan, refused, solved
from barfit.remedies.least import least_change
from barfit.remedies.remedy import Change, Means, Moved, Remedy
from barfit.remedies.trials import (
    STRAIGHT,
    TELLING,
    Spare,
    Trials,
    hopeful,
    with_lines,
    without_station,
)

_FARTHEST = 60.0  # mm a guide is moved: further it is another route; estimate
_ROOM = 2.0  # mm between a guide's ring and the machine; estimate
_HEADSTOCK = 150.0  # mm from the head tube: what holds a line there leads it past; estimate
_BEST = 2  # of many guides the most promising are solved in full


@dataclass(frozen=True, eq=False)
class _Without:
    """A line without guide number ``index``: the setup, and what it then has to spare."""

    index: int
    setup: Setup
    spare: Spare


def rerouted(trials: Trials, line: Line) -> Iterator[Remedy]:
    """Every other way for a line to go."""
    if trials.found[line.name].verdict is Verdict.TOO_LONG:  # none of its guides shortens it
        yield from _other_ways(trials, line)
        return
    too_short = []
    for index, station in enumerate(line.stations):
        if station.hold is not Hold.GUIDE:
            continue
        if trials.hopeless(without_station(trials.setup, line.name, index), line.name):
            too_short.append(index)
            no = refused(line.name, Means.REROUTE, trials.setup, STRAIGHT, station.name)
            yield replace(no, change=Change.DROP)
    bare = sorted(_without_guides(trials, line, too_short), key=lambda one: _most(one.spare))
    for one in bare[:_BEST]:
        helps = one.spare.margin - trials.margin(line.name, False)
        if helps > TELLING or not trials.lacks(line.name):
            plan = Plan(Means.REROUTE, one.setup, line.stations[one.index].name, change=Change.DROP)
            yield solved(trials, line.name, plan, one.spare)
            if hopeful(one.spare, trials.found[line.name]):
                yield from _shifted(trials, line, one)
    yield from _other_side(trials, line)
    yield from _other_ways(trials, line)


def _without_guides(trials: Trials, line: Line, but: Sequence[int]) -> Iterator[_Without]:
    for index, station in enumerate(line.stations):
        if station.hold is Hold.GUIDE and index not in but:
            setup = without_station(trials.setup, line.name, index)
            yield _Without(index, setup, trials.spare(setup, (line.name,))[line.name])


def _most(spare: Spare) -> float:
    return math.inf if math.isnan(spare.margin) else -spare.margin


# --- a guide moved -------------------------------------------------------------------------------


def _shifted(trials: Trials, line: Line, without: _Without) -> Iterator[Remedy]:
    """A guide moved towards where the line would go without it at its worst pose, no further than
    it takes, and only where the machine leaves it room.
    """
    station = line.stations[without.index]
    place = station.place
    if not isinstance(place, PointPlace):
        return
    machine = trials.setup.machine
    goal = _nearest(machine, trials.at_rest(without.setup, line.name), line.name, place)
    here = np.array(place.position)
    way = goal - here
    far = float(np.linalg.norm(way))
    if far < 1.0:
        return
    along = way / far

    def moved(by: float) -> Setup:
        return _moved(trials.setup, line, without.index, here + by * along)

    ways = np.linspace(min(far, _FARTHEST), 0.0, 9)[:-1]
    free = ways[_clear(machine, line, place, here + ways[:, None] * along)]
    if not len(free):
        why = "the machine leaves no room to move that guide"
        one = refused(line.name, Means.REROUTE, trials.setup, why, station.name)
        yield replace(one, change=Change.SHIFT)
        return
    far = float(free[0])
    tried = [(0.0, trials.margin(line.name, False))]
    for by in (0.5 * far, far):
        tried.append((by, trials.spare(moved(by), (line.name,))[line.name].margin))
    by = math.ceil(min(least_change(tried, trials.band(line.name)), far))
    if by <= 0:
        return
    point = here + min(by, far) * along
    setup = moved(min(by, far))
    plan = Plan(
        Means.REROUTE,
        setup,
        station.name,
        float(by),
        Change.SHIFT,
        touches=trials.passing(point[None], line.name),
        moves=moves(line, setup.line(line.name)),
    )
    yield solved(trials, line.name, plan, trials.spare(setup, (line.name,))[line.name])


def moves(before: Line, after: Line) -> tuple[Moved, ...]:
    """The guides and clips of a line that are held elsewhere."""
    pairs = zip(before.stations, after.stations, strict=True)
    return tuple(
        Moved(one.name, one.place.position, other.place.position)
        for one, other in pairs
        if isinstance(one.place, PointPlace)
        and isinstance(other.place, PointPlace)
        and one.place != other.place
    )


def _moved(setup: Setup, line: Line, index: int, point: Array) -> Setup:
    x, y, z = (round(float(value), 1) for value in point)
    setup = edits.move_station(setup, line.name, index, (x, y, z))
    return edits.change_line(setup, line.name, found_slack=None)


def _nearest(machine: Machine, sweep: Sweep, name: str, place: PointPlace) -> Array:
    """Where (3,) the line passes a place most closely at the pose where it has least slack, taken
    back to straight ahead.
    """
    line = sweep.line(name)
    row, column = np.unravel_index(np.nanargmin(line.slack), line.slack.shape)
    turn, travel = float(sweep.angles[column]), float(line.travels[row])
    turned, shift = body_motion(machine, place.body, turn, travel)
    here = turned @ np.array(place.position) + shift
    path = line.shapes[row, column]
    point = path[int(np.linalg.norm(path - here, axis=1).argmin())]
    return np.array(edits.taken_back(machine, place.body, point, turn, travel))


def _clear(machine: Machine, line: Line, place: PointPlace, points: Array) -> Array:
    """Whether (K,) a ring at each of these points (K, 3) stays clear of the machine over the whole
    turn, or as clear as it is where it is now.
    """
    room = 0.5 * line.diameter + _ROOM
    turns = np.linspace(-machine.lock_right, machine.lock_left, 9)
    own, shift = motions(machine, place.body, turns, [0.0])
    # one row per turn: where it is now, then the points
    every = np.vstack((np.array(place.position), points)) @ own[0].swapaxes(-1, -2)
    every += shift[0][:, None, :]
    clear = np.ones(len(points), bool)
    for solid in machine.solids:
        turned, back = motions(machine, solid.body, turns, [0.0])
        seen = (every - back[0][:, None, :]) @ turned[0]
        away = shape_distance(solid.shape, seen.reshape(-1, 3)).reshape(seen.shape[:2])
        clear &= (away[:, 1:] >= np.minimum(room, away[:, :1])).all(0)
    return clear


# --- the other side ------------------------------------------------------------------------------


def _other_side(trials: Trials, line: Line) -> Iterator[Remedy]:
    """What leads the line past the head tube, put on its other side."""
    setup = trials.setup
    mirrored = tuple(
        _mirrored(one) if _leads_past(setup.machine, one) else one for one in line.stations
    )
    changed = [(a, b) for a, b in zip(line.stations, mirrored, strict=True) if a != b]
    if not changed:
        return
    means = Means.REROUTE
    for _, station in changed:
        place = station.place
        assert isinstance(place, PointPlace)
        room = _clear(setup.machine, line, place, np.array([place.position])).all()
        if not room or _inside(setup.machine, place):
            why = "the machine leaves no room on the other side of the head tube"
            yield replace(refused(line.name, means, setup, why, ""), change=Change.OTHER_SIDE)
            return
    setup = with_lines(setup, replace(line, stations=mirrored, found_slack=None))
    if trials.straight(setup, line.name) > trials.found[line.name].taut_length:
        yield replace(
            refused(line.name, means, setup, "it takes more line that way"),
            change=Change.OTHER_SIDE,
        )
        return
    points = np.array([b.place.position for _, b in changed if isinstance(b.place, PointPlace)])
    plan = Plan(
        means,
        setup,
        change=Change.OTHER_SIDE,
        touches=trials.passing(points, line.name),
        moves=moves(line, setup.line(line.name)),
    )
    spare = trials.spare(setup, (line.name,))[line.name]
    yield solved(trials, line.name, plan, spare)


def _inside(machine: Machine, place: PointPlace) -> bool:
    """Whether a place is inside a solid on its own body."""
    return any(
        float(shape_distance(solid.shape, [place.position])[0]) < 0.0
        for solid in machine.solids
        if solid.body is place.body
    )


def _leads_past(machine: Machine, station: Station) -> bool:
    place = station.place
    if station.hold is Hold.FITTING or not isinstance(place, PointPlace):
        return False
    if place.body is Body.LOWER_FORK or abs(place.position[1]) < 1.0:
        return False
    ends = np.array(
        [
            local_to_machine(machine.rake, 0.0, 0.0, -down)
            for down in (machine.head_tube_top, machine.head_tube_bottom)
        ]
    )
    along = ends[1] - ends[0]
    share = float((np.array(place.position) - ends[0]) @ along / (along @ along))
    nearest = ends[0] + min(max(share, 0.0), 1.0) * along
    return float(np.linalg.norm(np.array(place.position) - nearest)) < _HEADSTOCK


def _mirrored(station: Station) -> Station:
    place = station.place
    assert isinstance(place, PointPlace)
    direction = None if station.direction is None else _image(station.direction)
    return replace(
        station, place=replace(place, position=_image(place.position)), direction=direction
    )


def _image(vector: Vec) -> Vec:
    x, y, z = (float(value) for value in np.array(vector) * MIRROR)
    return x, y, z


# --- the file's other ways -----------------------------------------------------------------------


def _other_ways(trials: Trials, line: Line) -> Iterator[Remedy]:
    """The other ways to go that the file has, each at the length it has there."""
    for routing in line.routings:
        setup = edits.use_routing(trials.setup, line.name, routing.name)
        inside = routing.through_bar is not None and routing.through_bar != line.through_bar
        means = Means.THROUGH_BAR if inside else Means.REROUTE
        points = np.array(
            [one.place.position for one in routing.stations if isinstance(one.place, PointPlace)]
        ).reshape(-1, 3)
        near = trials.passing(points, line.name) if len(points) else ()
        plan = Plan(means, setup, routing.name, change=Change.OTHER_WAY, touches=near)
        yield solved(trials, line.name, plan)
