"""Dimensioned drawings of what can be changed: the true shape, with every dimension on it.

Plain lines and numbers in mm, two axes to a view; drawing them is the window's.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from barfit.geometry.bar import BarError
from barfit.geometry.frames import Array, steering_axis
from barfit.geometry.pose import bar_shape, control_frame
from barfit.model import Bar, Control, Machine, Setup, Side

Flat = tuple[float, float]


class Pen(StrEnum):
    """How a stroke is drawn: a part, one behind it, a cable or hose, or a line that only helps the
    eye.
    """

    PART = "part"
    BEHIND = "behind"
    LINE = "line"
    AXIS = "axis"


@dataclass(frozen=True)
class Stroke:
    """A polyline, closed where it says so. ``width`` mm is the part's own, 0 for a plain line.
    ``key``: the field that is measured along it.
    """

    points: tuple[Flat, ...]
    pen: Pen = Pen.PART
    width: float = 0.0
    closed: bool = False
    key: str = ""


@dataclass(frozen=True)
class Dim:
    """A dimension: the length from ``a`` to ``b``, measured along ``along`` ("h": level, "v":
    upright, "": straight), its line set off to one side by ``off`` (a share of the view's size).
    """

    key: str
    a: Flat
    b: Flat
    along: str = ""
    off: float = 0.0


@dataclass(frozen=True)
class Arc:
    """An angle at ``apex`` from one point to another."""

    key: str
    apex: Flat
    a: Flat
    b: Flat


@dataclass(frozen=True)
class View:
    """One look at the part: from where, what is seen, and its dimensions. ``frame``, from lower
    left to upper right, is what of it fills the sheet; all of it where there is none.
    """

    name: str
    strokes: tuple[Stroke, ...]
    dims: tuple[Dim, ...] = ()
    arcs: tuple[Arc, ...] = ()
    marks: tuple[tuple[str, Flat], ...] = field(default=())
    frame: tuple[Flat, Flat] | None = None

    @property
    def keys(self) -> frozenset[str]:
        """The fields that it shows."""
        keys = [dim.key for dim in self.dims] + [arc.key for arc in self.arcs]
        keys += [stroke.key for stroke in self.strokes if stroke.key]
        return frozenset(keys + [key for key, _ in self.marks])


def bar_views(setup: Setup, stock: bool) -> tuple[View, ...]:
    """A one-piece bar from behind and from above; none for what cannot be built or is no bar."""
    bars = setup.bars(stock)
    bar = bars.bar
    if not isinstance(bar, Bar):
        return ()
    try:
        points = bar_shape(setup.machine, bars).line.points
    except BarError:
        return ()
    half, grip = 0.5 * bar.width, bar.grip_length
    outward = _unit(points[-1] - points[-2])
    inner = points[-1] - bar.hand_straight * outward
    base = 0.5 * bar.centre_width
    behind = [1, 2]  # left is left: y, then z
    above = [1, 0]

    def flat(point: Array, axes: list[int], side: int) -> Flat:
        return (float(-side * point[axes[0]]), float(point[axes[1]]))

    def whole(axes: list[int]) -> tuple[Stroke, ...]:
        left = [flat(point, axes, 1) for point in points]
        right = [flat(point, axes, -1) for point in points]
        grips = [
            Stroke((flat(points[-1] - grip * outward, axes, s), flat(points[-1], axes, s)),
                   Pen.PART, 1.5 * bar.grip_diameter)
            for s in (1, -1)
        ]  # fmt: skip
        return (Stroke((*reversed(left), *right[1:]), Pen.PART, bar.tube_diameter), *grips)

    end = points[-1]
    level = inner + np.array([0.0, bar.hand_straight, 0.0])
    droop = (flat(inner, behind, -1), flat(level, behind, -1), flat(end, behind, -1))
    return (
        View(
            "from behind",
            (Stroke(((0.0, -40.0), (0.0, bar.rise + 40.0)), Pen.AXIS), *whole(behind)),
            (
                Dim("width", flat(end, behind, 1), flat(end, behind, -1), "h", 0.2),
                Dim("rise", (0.0, 0.0), flat(inner, behind, -1), "v", -0.06),
                Dim("centre_width", (-base, 0.0), (base, 0.0), "h", -0.12),
                Dim("hand_straight", flat(inner, behind, 1), flat(end, behind, 1), "", -0.1),
                Dim(
                    "grip_length",
                    flat(end - grip * outward, behind, -1),
                    flat(end, behind, -1),
                    "",
                    -0.08,
                ),
            ),
            (Arc("downsweep", *droop),),
            (
                ("tube_diameter", (0.0, 0.0)),
                ("grip_diameter", flat(end - 0.5 * grip * outward, behind, 1)),
                ("bend_radius", flat(points[len(points) // 3], behind, 1)),
            ),
        ),
        View(
            "from above",
            (Stroke(((-half, 0.0), (half, 0.0)), Pen.AXIS), *whole(above)),
            (Dim("pullback", (0.0, 0.0), flat(end, above, -1), "v", -0.08),),
            (Arc("sweep", flat(inner, above, -1), flat(level, above, -1), flat(end, above, -1)),),
        ),
    )  # fmt: skip


def riser_views(setup: Setup, stock: bool) -> tuple[View, ...]:
    """The risers from the left, between top clamp and bar."""
    bars = setup.bars(stock)
    machine, riser = setup.machine, bars.riser
    foot, top = machine.riser_foot, riser.height
    x = foot - riser.setback
    tube = 0.5 * bars.bar.tube_diameter
    return (
        View(
            "from the left, along the clamp",
            (
                Stroke(((-70.0, 0.0), (machine.fork_offset + 40.0, 0.0)), Pen.PART, 8.0),
                Stroke(((0.0, -60.0), (0.0, top + 50.0)), Pen.AXIS),
                Stroke(((foot, 4.0), (x, top - tube)), Pen.PART, 26.0),
                Stroke(_circle((x, top), tube), Pen.PART, 0.0, True),
            ),
            (
                Dim("height", (foot, 0.0), (x, top), "v", 0.16),
                Dim("setback", (foot, top), (x, top), "h", 0.22),
            ),
        ),
    )


def machine_views(setup: Setup) -> tuple[View, ...]:
    """The front end from the left, and the fork from the front."""
    machine = setup.machine
    axis = steering_axis(machine.rake)
    down, ahead = -axis[[0, 2]], np.array([math.cos(machine.rake), math.sin(machine.rake)])

    def at(along: float, forward: float = 0.0) -> Flat:
        place = along * down + forward * ahead
        return (float(-place[0]), float(place[1]))  # the machine faces left, as seen from the left

    axle = at(machine.fork_length, machine.fork_offset)
    tube = machine.fork_tube_diameter
    plumb = (0.0, -0.6 * machine.fork_length)
    side = View(
        "from the left",
        (
            Stroke((at(-120.0), at(machine.fork_length)), Pen.AXIS),
            Stroke(((0.0, 0.0), plumb), Pen.AXIS),
            Stroke(_circle(axle, machine.wheel_radius), Pen.BEHIND, 0.0, True),
            Stroke(_circle(axle, 0.7 * machine.wheel_radius), Pen.BEHIND, 0.0, True),
            Stroke((at(-12.0, machine.fork_offset), axle), Pen.PART, tube),
            Stroke((at(machine.head_tube_top), at(machine.head_tube_bottom)), Pen.PART,
                   machine.head_tube_diameter),
            Stroke((at(0.0, -30.0), at(0.0, machine.fork_offset + 20.0)), Pen.PART, 12.0),
            Stroke((at(machine.lower_clamp, -30.0),
                    at(machine.lower_clamp, machine.fork_offset + 20.0)), Pen.PART, 20.0),
        ),
        (
            Dim("length", at(0.0, machine.fork_offset), axle, "", 0.14),
            Dim("offset", at(machine.fork_length), axle, "", -0.08),
            Dim("lower_clamp", at(0.0), at(machine.lower_clamp), "", -0.2),
            Dim("top", at(0.0), at(machine.head_tube_top), "", -0.1),
            Dim("bottom", at(0.0), at(machine.head_tube_bottom), "", -0.15),
            Dim("radius", axle, (axle[0], axle[1] - machine.wheel_radius), "", 0.0),
            Dim("foot", at(0.0), at(0.0, machine.riser_foot), "", 0.08),
            Dim("sag", at(machine.fork_length, machine.fork_offset),
                at(machine.fork_length - machine.sag, machine.fork_offset), "", -0.22),
            Dim("travel", at(machine.fork_length, machine.fork_offset),
                at(machine.fork_length - machine.travel, machine.fork_offset), "", -0.3),
        ),
        (Arc("rake", (0.0, 0.0), plumb, at(0.6 * machine.fork_length)),),
        (("diameter", at(0.5 * (machine.head_tube_top + machine.head_tube_bottom))),),
    )  # fmt: skip
    return (side, _front(machine), _locks(machine))


def control_views(
    setup: Setup, stock: bool, control: Control, outlet: str = ""
) -> tuple[View, ...]:
    """One end of the bar from behind and from above, with where the control is clamped, and where
    that outlet of it is.
    """
    bars = setup.bars(stock)
    try:
        shape = bar_shape(setup.machine, bars)
        place, outward, forward, up = control_frame(setup, bars, control)
    except ValueError:
        return ()
    points = shape.left if control.side is Side.LEFT else shape.right
    end = points[-1]
    near = points[np.linalg.norm(points - end, axis=1) < control.inboard + 160.0]

    own = np.column_stack((outward, forward, up))

    def view(name: str, axis: int, keys: tuple[str, ...]) -> View:
        """``axis`` of the machine is drawn upright; ``keys`` of the outlet are shown here."""

        def flat(point: Array) -> Flat:
            return (float(-point[1]), float(point[axis]))

        strokes = [
            Stroke(tuple(flat(p) for p in near), Pen.PART, shape.tube_diameter),
            Stroke((flat(place - 14.0 * outward), flat(place + 14.0 * outward)), Pen.PART, 40.0),
        ]
        dims = [Dim("inboard", flat(end), flat(place), "", 0.22)]
        marks: list[tuple[str, Flat]] = []
        for one in control.outlets:
            spot = place + own @ np.array(one.offset)
            way = spot + 60.0 * (own @ _unit(np.array(one.exit)))
            strokes.append(Stroke((flat(spot), flat(way)), Pen.BEHIND, 6.0))
            if one.name == outlet:
                dims += _offsets(place, own, np.array(one.offset), flat, keys)
                marks += [(f"exit_{key}", flat(way)) for key in keys]
                marks.append(("stub", flat(spot)))
        return View(name, tuple(strokes), tuple(dims), (), tuple(marks))

    return (
        view("from behind", 2, ("outward", "up")),
        view("from above", 0, ("forward",)),
    )


def _offsets(
    place: Array, own: Array, offset: Array, flat: Callable[[Array], Flat], keys: tuple[str, ...]
) -> list[Dim]:
    """The way from the bar to an outlet: outward, forward, up, one after the other."""
    found, at = [], place
    for axis, key in enumerate(("outward", "forward", "up")):
        there = at + offset[axis] * own[:, axis]
        if key in keys:
            found.append(Dim(f"offset_{key}", flat(at), flat(there), "", 0.0))
        at = there
    return found


def _front(machine: Machine) -> View:
    """The fork from the front."""
    half, low = 0.5 * machine.fork_spread, -machine.fork_length
    tube, foot = machine.fork_tube_diameter, 0.5 * machine.riser_spacing
    tyre = 0.5 * machine.wheel_width
    top, bottom = low - machine.wheel_radius, low + machine.wheel_radius
    tyre_outline = ((-tyre, top), (tyre, top), (tyre, bottom), (-tyre, bottom))
    return View(
        "from the front",
        (
            Stroke(tyre_outline, Pen.BEHIND, 0.0, True),
            Stroke(((-half, 15.0), (-half, low)), Pen.PART, tube),
            Stroke(((half, 15.0), (half, low)), Pen.PART, tube),
            Stroke(((-half - 20.0, 0.0), (half + 20.0, 0.0)), Pen.PART, 12.0),
            Stroke(((-foot, 6.0), (-foot, 60.0)), Pen.PART, 26.0),
            Stroke(((foot, 6.0), (foot, 60.0)), Pen.PART, 26.0),
            Stroke(((-half - 20.0, -machine.lower_clamp), (half + 20.0, -machine.lower_clamp)),
                   Pen.PART, 20.0),
        ),
        (
            Dim("spread", (-half, 0.45 * low), (half, 0.45 * low), "h", 0.0),
            Dim("spacing", (-foot, 60.0), (foot, 60.0), "h", 0.07),
            Dim("width", (-tyre, top), (tyre, top), "h", -0.06),
        ),
        (),
        (("tube_diameter", (half, 0.6 * low)),),
    )  # fmt: skip


def _locks(machine: Machine) -> View:
    """The steering from above, turned to both locks."""
    reach = 220.0

    def ahead(angle: float) -> Flat:
        return (-reach * math.sin(angle), reach * math.cos(angle))

    def bar(angle: float, pen: Pen) -> Stroke:
        x, y = 170.0 * math.cos(angle), 170.0 * math.sin(angle)
        return Stroke(((-x, -y), (x, y)), pen, 10.0)

    return View(
        "from above",
        (
            bar(machine.lock_left, Pen.BEHIND),
            bar(-machine.lock_right, Pen.BEHIND),
            bar(0.0, Pen.PART),
            Stroke(((0.0, 0.0), ahead(0.0)), Pen.AXIS),
            Stroke(((0.0, 0.0), ahead(machine.lock_left)), Pen.AXIS),
            Stroke(((0.0, 0.0), ahead(-machine.lock_right)), Pen.AXIS),
        ),
        (),
        (
            Arc("lock_left", (0.0, 0.0), ahead(0.0), ahead(machine.lock_left)),
            Arc("lock_right", (0.0, 0.0), ahead(0.0), ahead(-machine.lock_right)),
        ),
    )


def view_with(views: Iterable[View], key: str) -> View | None:
    """The first view that shows a field; None where none does."""
    return next((view for view in views if key in view.keys), None)


def _circle(centre: Flat, radius: float) -> tuple[Flat, ...]:
    turn = np.linspace(0.0, 2.0 * np.pi, 49)[:-1]
    return tuple(
        (centre[0] + radius * math.cos(one), centre[1] + radius * math.sin(one)) for one in turn
    )


def _unit(vector: Array) -> Array:
    unit: Array = vector / np.linalg.norm(vector)
    return unit
