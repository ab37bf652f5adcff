"""The handlebars with their risers, grips and controls, drawn where the geometry puts them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from barfit.geometry.pose import BarShape, bar_shape, held_frame
from barfit.model import BarSet, Body, ClipOn, Control, ControlKind, Machine, Setup, Side, Vec
from barfit.scene.colours import Paint
from barfit.scene.forms import Place, Profile, along, lathe, pole
from barfit.scene.mesh import Surface, block, thinned, tube, turned
from barfit.scene.parts import LEFT, Part, steering_axes, steering_point


@lru_cache(maxsize=8)
def bar_parts(machine: Machine, barset: BarSet) -> tuple[Part, ...]:
    """Tube, grips and what holds them; the same parts for the same bars. Raises BarError for bars
    that cannot be built.
    """
    shape = bar_shape(machine, barset)
    if isinstance(barset.bar, ClipOn):
        holders = _clip_rings(machine, barset.bar, shape)
        runs = [shape.left, shape.right]
    else:
        x, y, z = shape.left[0].tolist()
        holders = _risers(machine, (x, y, z), shape.tube_diameter)
        runs = [np.vstack((shape.left[:0:-1], shape.right))]
    tubes = [
        _part(tube(thinned(run), 0.5 * shape.tube_diameter, sides=20), Paint.CHROME) for run in runs
    ]
    return (*tubes, *holders, *_grips(shape))


def control_parts(setup: Setup, barset: BarSet) -> list[Part]:
    """Every control where it sits on these bars."""
    shape = bar_shape(setup.machine, barset)
    return [part for control in setup.controls for part in parts_of_control(shape, control)]


@lru_cache(maxsize=64)
def parts_of_control(shape: BarShape, control: Control) -> tuple[Part, ...]:
    """One control where it sits on these bars; the same parts for as long as it sits there."""
    point, outward, forward, up = held_frame(shape, control)
    # about the origin, turned as it is at the end of a straight bar, so that both are right-handed
    level = outward if control.side is Side.LEFT else -outward
    where = Place(np.array((forward, level, up)).T, point)
    made = _made(replace(control, rotation=0.0), 0.5 * shape.tube_diameter)
    return tuple(replace(part, place=part.place.within(where)) for part in made)


@lru_cache(maxsize=64)
def _made(control: Control, bar: float) -> tuple[Part, ...]:
    """A control about the origin, on a bar of that radius that runs straight to the side."""
    out = LEFT if control.side is Side.LEFT else -LEFT
    frame = Frame(np.zeros(3), out, np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0]), bar)
    return tuple(_CONTROLS[control.kind](frame, control))


@dataclass(frozen=True, eq=False)
class Frame:
    """A place on the bar: point and unit directions (3,), and the tube's radius there."""

    point: np.ndarray
    outward: np.ndarray
    forward: np.ndarray
    up: np.ndarray
    bar: float

    def at(self, outward: float, forward: float, up: float) -> np.ndarray:
        """The point (3,) that far from the bar's centreline here."""
        return self.point + outward * self.outward + forward * self.forward + up * self.up


def _part(surface: Surface, paint: Paint) -> Part:
    return Part(surface, paint, Body.STEERING)


def _lathe(
    origin: np.ndarray, axis: np.ndarray, profile: Profile, sides: int, paint: Paint
) -> Part:
    return Part(lathe(profile, sides), paint, Body.STEERING, along(origin, axis))


def _rod(start: np.ndarray, end: np.ndarray, radius: float, sides: int, paint: Paint) -> Part:
    way = end - start
    where = along(start, way, float(np.linalg.norm(way)))
    return Part(pole(radius, sides), paint, Body.STEERING, where)


# --- what holds the bar --------------------------------------------------------------------------


@lru_cache(maxsize=8)
def _risers(machine: Machine, middle: Vec, tube_diameter: float) -> list[Part]:
    """Two posts from the top clamp to the bar's middle, each with a cap clamped over it."""
    point = steering_point(machine)
    _, _, up = steering_axes(machine)
    clamp = np.array(middle)
    ring = 0.5 * tube_diameter + 9.0
    parts = []
    for side in (1.0, -1.0):
        y = side * machine.riser_spacing / 2.0
        foot = point(machine.riser_foot, y, 0.0)
        head = clamp + y * LEFT
        length = float(np.linalg.norm(head - foot))
        if length > 1.0:
            post = np.array([foot, foot + 0.25 * (head - foot), head])
            parts.append(_part(tube(post, np.array([20.0, 16.5, 15.0]), sides=20), Paint.ALLOY))
        half = 19.0
        shell = [(-half, ring - 2.0), (-half + 2.0, ring), (half - 2.0, ring), (half, ring - 2.0)]
        parts.append(_lathe(head, LEFT, shell, 28, Paint.ALLOY))
        forward = np.cross(LEFT, up)
        for fore in (1.0, -1.0):
            for across in (-10.0, 10.0):
                bolt = head + fore * (ring - 5.0) * forward + across * LEFT
                parts.append(_rod(bolt, bolt + 12.0 * up, 4.2, 8, Paint.STEEL))
    return parts


def _clip_rings(machine: Machine, bar: ClipOn, shape: BarShape) -> list[Part]:
    """A ring round each fork tube, with a lug to the bar's inner end."""
    point = steering_point(machine)
    _, _, up = steering_axes(machine)
    ring = 0.5 * machine.fork_tube_diameter + 8.0
    profile = [(-17.0, ring - 2.0), (-15.0, ring), (15.0, ring), (17.0, ring - 2.0)]
    parts = []
    for side, run in ((1.0, shape.left), (-1.0, shape.right)):
        centre = point(machine.fork_offset, side * machine.fork_spread / 2.0, bar.height)
        parts.append(_lathe(centre, up, profile, 28, Paint.ALLOY))
        if np.linalg.norm(run[0] - centre) > 1.0:
            parts.append(_rod(centre, run[0], 0.5 * bar.tube_diameter + 5.0, 18, Paint.ALLOY))
    return parts


def _grips(shape: BarShape) -> list[Part]:
    """Rubber grips with a flange inboard, ribs for the fingers and a weight at the end."""
    parts = []
    outer = 0.5 * shape.grip_diameter + 5.0
    for side in Side:
        end, outward, _, _ = shape.at(side, 0.0, from_centre=False)
        length = min(shape.grip_length, shape.length)
        ribs = np.linspace(-length + 10.0, -6.0, 25)
        profile = [(-length, outer - 3.0), (-length, outer + 5.0), (-length + 5.0, outer + 5.0)]
        profile += [(float(a), outer - (1.1 if k % 2 else 0.0)) for k, a in enumerate(ribs)]
        profile += [(-1.0, outer - 1.0), (0.0, outer - 3.0)]
        weight = [(0.0, outer - 2.5), (2.0, outer - 1.0), (11.0, outer - 1.5), (14.0, outer - 6.0)]
        parts += [
            _lathe(end, outward, profile, 22, Paint.RUBBER),
            _lathe(end, outward, weight, 22, Paint.STEEL),
        ]
    return parts


# --- controls ------------------------------------------------------------------------------------


def _perch(frame: Frame) -> list[Part]:
    """A clamp round the bar with an arm to the lever's pivot."""
    ring = frame.bar + 6.0
    profile = [(-13.0, ring - 1.5), (-11.5, ring), (11.5, ring), (13.0, ring - 1.5)]
    arm = np.array([frame.at(0, 4, 0), frame.at(4, 22, 0), frame.at(10, 36, 0)])
    return [
        _part(turned(frame.point, frame.outward, profile, sides=22), Paint.BLACK),
        _part(
            tube(arm, np.array([13.0, 11.0, 11.0]), sides=12, flat=0.62, broad=frame.outward),
            Paint.BLACK,
        ),
    ]


def _lever(frame: Frame, inboard: float) -> list[Part]:
    """A lever from its pivot ahead of the bar to a ball near the grip's end."""
    reach = max(min(inboard - 32.0, 190.0), 90.0)
    course = np.array(
        [
            frame.at(2.0, 32.0, 0.0),
            frame.at(14.0, 44.0, 0.0),
            frame.at(30.0, 56.0, -1.0),
            frame.at(0.32 * reach, 66.0, -3.0),
            frame.at(0.6 * reach, 70.0, -6.0),
            frame.at(0.85 * reach, 71.0, -8.0),
            frame.at(reach - 4.0, 76.0, -9.0),
        ]
    )
    width = np.array([10.0, 11.5, 10.5, 9.0, 8.5, 8.0, 6.5])
    ball = turned(
        frame.at(reach, 78.0, -9.0),
        frame.outward,
        [(9.0 * float(np.sin(t)), 9.0 * float(np.cos(t))) for t in np.linspace(-1.45, 1.45, 8)],
        sides=14,
    )
    pivot = turned(frame.at(10.0, 36.0, 0.0), frame.up, [(-11.0, 6.5), (11.0, 6.5)], sides=6)
    return [
        _part(tube(course, width, sides=12, flat=0.55, broad=frame.forward), Paint.ALLOY),
        _part(ball, Paint.ALLOY),
        _part(pivot, Paint.STEEL),
    ]


def _master(frame: Frame, control: Control) -> list[Part]:
    """A master cylinder with its reservoir; its bore ends where the hose is bolted on."""
    axes = (frame.outward, frame.forward, frame.up)
    bore = [(-32.0, 9.0), (-30.0, 13.0), (18.0, 13.0), (22.0, 9.0)]
    parts = [
        *_perch(frame),
        *_lever(frame, control.inboard),
        _part(turned(frame.at(-4.0, 38.0, 2.0), frame.outward, bore, sides=18), Paint.BLACK),
        _part(block(frame.at(-6.0, 38.0, 27.0), axes, (54.0, 40.0, 28.0), 9.0), Paint.BLACK),
        _part(block(frame.at(-6.0, 38.0, 43.0), axes, (58.0, 44.0, 7.0), 9.0), Paint.STEEL),
        _part(
            turned(frame.at(-6.0, 18.5, 27.0), -frame.forward, [(-2.0, 8.0), (1.5, 7.0)], sides=16),
            Paint.GLASS,
        ),
    ]
    for outlet in control.outlets:
        parts.append(_boss(frame, frame.at(-30.0, 38.0, 2.0), outlet.offset, 9.0))
    return parts


def _boss(frame: Frame, start: np.ndarray, offset: tuple[float, float, float], r: float) -> Part:
    """A neck from a housing to the place where a line leaves it."""
    end = frame.at(*offset)
    return _part(tube(np.array([start, end]), np.array([r + 2.0, r]), sides=14), Paint.BLACK)


def _cable_perch(frame: Frame, control: Control) -> list[Part]:
    """A lever perch with a knurled adjuster where the cable enters."""
    parts = [*_perch(frame), *_lever(frame, control.inboard)]
    for outlet in control.outlets:
        parts.append(_boss(frame, frame.at(4.0, 36.0, 0.0), outlet.offset, 7.0))
        exit_axis = np.column_stack((frame.outward, frame.forward, frame.up)) @ outlet.exit
        knurl = [(-7.0, 8.0), (-6.0, 9.5), (3.0, 9.5), (4.0, 8.0)]
        parts.append(
            _part(turned(frame.at(*outlet.offset), exit_axis, knurl, sides=12), Paint.STEEL)
        )
    return parts


def _shell(frame: Frame, half: float, outer: float, paint: Paint = Paint.BLACK) -> Part:
    """A rounded housing closed round the bar."""
    profile = [
        (-half, frame.bar + 1.0),
        (-half, outer - 5.0),
        (-half + 5.0, outer),
        (half - 5.0, outer),
        (half, outer - 5.0),
        (half, frame.bar + 1.0),
    ]
    return _part(turned(frame.point, frame.outward, profile, sides=26), paint)


def _throttle(frame: Frame, control: Control) -> list[Part]:
    """A twist-grip drum with a snout for each cable."""
    parts = [_shell(frame, 17.0, frame.bar + 12.0)]
    for outlet in control.outlets:
        _, forward, up = outlet.offset
        parts.append(_boss(frame, frame.at(0.0, 0.5 * forward, 0.5 * up), outlet.offset, 6.0))
    return parts


def _switches(frame: Frame, control: Control) -> list[Part]:
    """A switch housing with its buttons towards the rider."""
    parts = [_shell(frame, 24.0, frame.bar + 12.5)]
    face = frame.bar + 11.0
    for across, up, paint in ((-8.0, 8.0, Paint.STEEL), (10.0, 8.0, Paint.ALLOY)):
        axes = (frame.outward, frame.up, -frame.forward)
        where = frame.at(across, -face, up)
        parts.append(_part(block(where, axes, (13.0, 8.0, 8.0), 2.5), paint))
    for outlet in control.outlets:
        _, forward, up = outlet.offset
        parts.append(_boss(frame, frame.at(0.0, 0.4 * forward, 0.4 * up), outlet.offset, 7.0))
    return parts


def _choke(frame: Frame, control: Control) -> list[Part]:
    """A ring on the bar with a small lever and a snout for its cable."""
    tip = np.array([frame.at(0, -10, 14), frame.at(4, -24, 30), frame.at(10, -28, 40)])
    parts = [
        _shell(frame, 9.0, frame.bar + 8.0),
        _part(tube(tip, np.array([5.0, 4.5, 6.0]), sides=10, flat=0.6), Paint.ALLOY),
    ]
    for outlet in control.outlets:
        parts.append(_boss(frame, frame.at(0.0, 6.0, 6.0), outlet.offset, 5.0))
    return parts


def _sensor(frame: Frame, control: Control) -> list[Part]:
    """A short collar at the inner end of the grip."""
    parts = [_shell(frame, 14.0, frame.bar + 10.0)]
    for outlet in control.outlets:
        _, forward, up = outlet.offset
        parts.append(_boss(frame, frame.at(0.0, 0.4 * forward, 0.4 * up), outlet.offset, 5.0))
    return parts


def _heater(frame: Frame, control: Control) -> list[Part]:
    """A thin collar; the lead leaves from under it."""
    parts = [_shell(frame, 6.0, frame.bar + 7.0, Paint.RUBBER)]
    for outlet in control.outlets:
        parts.append(_boss(frame, frame.at(0.0, 0.0, 0.0), outlet.offset, 3.5))
    return parts


_CONTROLS: dict[ControlKind, Callable[[Frame, Control], list[Part]]] = {
    ControlKind.BRAKE_MASTER: _master,
    ControlKind.CLUTCH_MASTER: _master,
    ControlKind.CLUTCH_PERCH: _cable_perch,
    ControlKind.BRAKE_PERCH: _cable_perch,
    ControlKind.THROTTLE_HOUSING: _throttle,
    ControlKind.CHOKE_LEVER: _choke,
    ControlKind.SWITCH_HOUSING: _switches,
    ControlKind.GRIP_SENSOR: _sensor,
    ControlKind.GRIP_HEATER: _heater,
}
