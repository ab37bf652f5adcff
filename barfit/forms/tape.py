"""Where the tape goes: this very machine from the side, the front and above, with the way from the
zero point to a place on it.

The zero point is where the steering axis leaves the top clamp: the middle of the stem nut's seat.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from scipy.spatial import ConvexHull

from barfit.forms.drawings import Dim, Flat, Pen, Stroke, View
from barfit.geometry.bar import BarError
from barfit.geometry.frames import Array, steering_axis
from barfit.geometry.parts import mesh_triangles
from barfit.geometry.pose import bar_shape
from barfit.model import (
    BarPlace,
    Box,
    Capsule,
    Ellipsoid,
    Machine,
    Mesh,
    Role,
    Setup,
    Solid,
    Vec,
)

Look = Callable[[Array], Flat]

_ROOM = 90.0  # mm about what is measured that the sheet shows
_LEAST = 420.0  # mm across: less of the machine would not be recognised
_SKIPPED = (Role.STOP,)  # too small to see

LOOKS: dict[str, Look] = {
    "from the left": lambda p: (float(-p[0]), float(p[2])),
    "from the front": lambda p: (float(p[1]), float(p[2])),
    "from above": lambda p: (float(-p[1]), float(p[0])),
}


def solid_views(setup: Setup, solid: Solid) -> tuple[View, ...]:
    """A solid, with the way to its middle, or to the first of its ends, or to where its file's
    origin stands.
    """
    shape = solid.shape
    if isinstance(shape, Capsule):
        key, point = "start", shape.start
    elif isinstance(shape, Mesh):
        key, point = "position", shape.position
    else:
        key, point = "centre", shape.centre
    return point_views(setup, point, np.array([point]), key)


def point_views(setup: Setup, point: Vec, line: Array, key: str = "position") -> tuple[View, ...]:
    """A place of the machine, with the way to it forward, to the left and up. ``line`` (n, 3) is
    the line that is held there; ``key`` the field that holds the place.
    """
    there = np.array(point)
    x, y, _ = point
    side = _view(setup, "from the left", (np.zeros(3), there), line)
    across = "from the front" if abs(x) < 2.0 * abs(y) else "from above"
    top = _view(setup, across, (np.zeros(3), there), line)
    nose, level = np.array([x, 0.0, 0.0]), np.array([0.0, y, 0.0])
    look = LOOKS["from the left"]
    other = LOOKS[across]
    zero, end = (0.0, 0.0), look(there)
    return (
        _with(
            side,
            (
                Dim(f"{key}_forward", zero, (look(nose)[0], end[1]), "h", 0.06),
                Dim(f"{key}_up", zero, end, "v", 0.08),
            ),
            end,
        ),
        _with(
            top,
            (Dim(f"{key}_left", zero, (other(level)[0], other(there)[1]), "h", 0.0),),
            other(there),
        ),
    )


def bar_place_views(setup: Setup, stock: bool, place: BarPlace) -> tuple[View, ...]:
    """A place beside the bar, from behind: along the bar from its end or its centre."""
    try:
        shape = bar_shape(setup.machine, setup.bars(stock))
        spot = shape.at(place.side, place.distance, place.from_centre)[0]
    except ValueError:
        return ()

    def flat(point: Array) -> Flat:
        return (float(-point[1]), float(point[2]))

    def run(first: float, last: float) -> tuple[Flat, ...]:
        """Along the bar, ``first`` and ``last`` counted as the place is."""
        return tuple(
            flat(shape.at(place.side, float(at), place.from_centre)[0])
            for at in np.linspace(first, last, 40)
        )

    key = "from_centre" if place.from_centre else "from_end"
    return (
        View(
            "from behind",
            (
                Stroke(((0.0, -40.0), (0.0, 40.0)), Pen.AXIS),
                Stroke(run(0.0, shape.length), Pen.PART, shape.tube_diameter),
                Stroke(run(0.0, place.distance), Pen.LINE, 0.0, key=key),
            ),
            (),
            (),
            (("forward", flat(spot)), ("up", flat(spot))),
        ),
    )


def line_views(setup: Setup, line: Array, diameter: float) -> tuple[View, ...]:
    """A whole line (n, 3) on the machine from the left: its length is measured along it."""
    if len(line) < 2:
        return ()
    look = LOOKS["from the left"]
    path = Stroke(tuple(look(p) for p in line), Pen.LINE, 1.5 * diameter, key="length")
    view = _view(setup, "from the left", tuple(line), line)
    strokes = (*view.strokes[:-1], path)
    middle = look(line[len(line) // 2])
    marks = tuple((key, middle) for key in ("right", "straight", "left"))
    return (View(view.name, strokes, (), (), marks, view.frame),)


def _view(setup: Setup, name: str, shown: tuple[Array, ...], line: Array) -> View:
    """The machine in one look, of which the sheet shows what is about these points."""
    look = LOOKS[name]
    strokes = [*_solids(setup.machine, look), *_front_end(setup, name, look)]
    if len(line) > 1:
        strokes.append(Stroke(tuple(look(p) for p in line), Pen.LINE, 12.0))
    flats = np.array([look(p) for p in shown])
    low, high = flats.min(0) - _ROOM, flats.max(0) + _ROOM
    grow = 0.5 * np.maximum(_LEAST - (high - low), 0.0)
    low, high = low - grow, high + grow
    frame = ((float(low[0]), float(low[1])), (float(high[0]), float(high[1])))
    return View(name, tuple(strokes), frame=frame)


def _with(view: View, dims: tuple[Dim, ...], place: Flat) -> View:
    zero = Stroke(_circle((0.0, 0.0), 9.0), Pen.PART, 0.0, True)
    there = Stroke(_circle(place, 9.0), Pen.PART, 0.0, True)
    return View(view.name, (*view.strokes, zero, there), dims, (), (), view.frame)


def _front_end(setup: Setup, name: str, look: Look) -> list[Stroke]:
    """Steering axis, wheel and the stock bar."""
    machine = setup.machine
    down = -steering_axis(machine.rake)
    ahead = np.array([math.cos(machine.rake), 0.0, math.sin(machine.rake)])
    axle = machine.fork_length * down + machine.fork_offset * ahead
    strokes = [Stroke((look(-120.0 * down), look(machine.head_tube_bottom * down)), Pen.AXIS)]
    if name == "from the left":
        strokes.append(Stroke(_circle(look(axle), machine.wheel_radius), Pen.BEHIND, 0.0, True))
    else:
        strokes.append(_wheel_edge(machine, axle, name, look))
    clamp = [side * 0.5 * machine.fork_spread for side in (1, -1)]
    ends = [look(machine.fork_offset * ahead + np.array([0.0, y, 0.0])) for y in clamp]
    strokes.append(Stroke((ends[0], look(np.zeros(3)), ends[1]), Pen.BEHIND, 12.0))
    try:
        bar = bar_shape(machine, setup.stock)
    except BarError:
        return strokes
    for half in (bar.left, bar.right):
        strokes.append(Stroke(tuple(look(p) for p in half), Pen.BEHIND, bar.tube_diameter))
    return strokes


def _wheel_edge(machine: Machine, axle: Array, name: str, look: Look) -> Stroke:
    """The wheel from the front or from above: as wide as its tyre."""
    half, radius = 0.5 * machine.wheel_width, machine.wheel_radius
    way = np.array([0.0, 0.0, 1.0]) if name == "from the front" else np.array([1.0, 0.0, 0.0])
    corners = [
        axle + side * half * np.array([0.0, 1.0, 0.0]) + end * radius * way
        for side, end in ((1, 1), (1, -1), (-1, -1), (-1, 1))
    ]
    return Stroke(tuple(look(p) for p in corners), Pen.BEHIND, 0.0, True)


def _solids(machine: Machine, look: Look) -> list[Stroke]:
    return [stroke for solid in machine.solids for stroke in _solid(solid, look)]


def _solid(solid: Solid, look: Look) -> list[Stroke]:
    """The outline of a solid, or its middle line at its own width."""
    shape = solid.shape
    if solid.role in _SKIPPED:
        return []
    if isinstance(shape, Capsule):
        ends = (look(np.array(shape.start)), look(np.array(shape.end)))
        return [Stroke(ends, Pen.BEHIND, 2.0 * shape.radius)]
    if isinstance(shape, Mesh):
        return [_hull(mesh_triangles(shape)[0], look)]
    return [_hull(_surface(shape), look)]


def _surface(shape: Ellipsoid | Box) -> Array:
    """Points (n, 3) all over it, its pitch included."""
    if isinstance(shape, Ellipsoid):
        u, v = np.meshgrid(np.linspace(0, 2 * math.pi, 37), np.linspace(0, math.pi, 19))
        own = np.stack((np.cos(u) * np.sin(v), np.sin(u) * np.sin(v), np.cos(v)), -1)
        points = own.reshape(-1, 3) * np.array(shape.semi_axes)
    else:
        signs = np.array([(a, b, c) for a in (1, -1) for b in (1, -1) for c in (1, -1)])
        points = 0.5 * signs * np.array(shape.size)
    cos, sin = math.cos(shape.pitch), math.sin(shape.pitch)
    raised = points @ np.array([[cos, 0.0, sin], [0.0, 1.0, 0.0], [-sin, 0.0, cos]])
    whole: Array = raised + np.array(shape.centre)
    return whole


def _hull(points: Array, look: Look) -> Stroke:
    """The outline of points as they are seen."""
    flats = np.array([look(p) for p in points])
    corners = flats[ConvexHull(flats).vertices]
    return Stroke(tuple((float(x), float(y)) for x, y in corners), Pen.BEHIND, 0.0, True)


def _circle(centre: Flat, radius: float) -> tuple[Flat, ...]:
    turn = np.linspace(0.0, 2.0 * np.pi, 33)[:-1]
    return tuple(
        (centre[0] + radius * math.cos(one), centre[1] + radius * math.sin(one)) for one in turn
    )
