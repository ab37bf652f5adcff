"""The front wheel with its brake and mudguard, turned from the machine's few numbers.

Only the tyre's radius and width, the axle, the fork and perhaps a disc are given. What they leave
open (spokes, rim) is decoration in common proportions and takes no part in any result.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.model import Body, Machine, PointPlace, Setup
from barfit.scene.colours import Paint
from barfit.scene.mesh import Surface, block, joined, rod, sheet, tube, turned, unit
from barfit.scene.parts import LEFT, Axes, Part, steering_axes, steering_point

# Narrow wheels have wire spokes, wide ones cast: common practice.
_WIRE_BELOW = 0.33
_CAST_SPOKES = 5
_WIRE_SPOKES = 36


@dataclass(frozen=True)
class Brake:
    """Where a brake line ends on the lower fork, and whether it is a hose (disc) or a cable."""

    point: tuple[float, float, float]
    disc: bool


def brakes(setup: Setup) -> tuple[Brake, ...]:
    """The front brakes that the lines of the setup lead to."""
    found = []
    for line in setup.lines:
        place = line.stations[-1].place
        if isinstance(place, PointPlace) and place.body is Body.LOWER_FORK:
            if line.kind == "brake_hose":
                found.append(Brake(place.position, disc=True))
            elif line.kind == "front_brake_cable":
                found.append(Brake(place.position, disc=False))
    return tuple(found)


def wheel(machine: Machine, fitted: tuple[Brake, ...]) -> list[Part]:
    """Tyre, rim, spokes, hub, axle, brakes and mudguard."""
    axle = steering_point(machine)(machine.fork_offset, 0.0, -machine.fork_length)
    drum = any(not brake.disc for brake in fitted)
    parts = [*bare_wheel(machine, axle, wired(machine), drum), _mudguard(machine, axle)]
    for brake in fitted:
        if brake.disc:
            parts += _disc_brake(machine, axle, np.array(brake.point))
    return parts


def bare_wheel(machine: Machine, axle: np.ndarray, wire: bool, drum: bool) -> list[Part]:
    """Tyre, rim, hub and spokes about an ``axle`` (3,): wire spokes or cast ones."""
    spokes = _wire_spokes(machine, axle, drum) if wire else _cast_spokes(machine, axle)
    return [*_tyre_and_rim(machine, axle, wire), *_hub(machine, axle, drum), spokes]


def wired(machine: Machine) -> bool:
    """Whether its wheels have wire spokes, by the front one."""
    return machine.wheel_width / machine.wheel_radius < _WIRE_BELOW


def rim_radius(machine: Machine) -> float:
    """The radius (mm) at which the tyre sits on its rim: three quarters of its width deep."""
    return machine.wheel_radius - min(0.75 * machine.wheel_width, 0.4 * machine.wheel_radius)


def _tyre_and_rim(machine: Machine, axle: np.ndarray, wire: bool) -> list[Part]:
    width, outer, rim = machine.wheel_width, machine.wheel_radius, rim_radius(machine)
    depth = outer - rim
    turn = np.radians(np.linspace(-48.0, 228.0, 17))
    profile = np.column_stack(
        (0.5 * width * np.cos(turn), outer - 0.52 * depth * (1.0 - np.sin(turn)))
    )
    tyre = turned(axle, LEFT, profile, sides=56, caps=False)
    half = 0.36 * width
    edge = [
        (-half, rim + 9.0),
        (-half - 3.0, rim + 8.0),
        (-half - 2.0, rim - 3.0),
        (-0.62 * half, rim - 9.0),
        (-0.3 * half, rim - 19.0),
    ]
    shape = [*edge, *[(-y, r) for y, r in reversed(edge)]]
    paint = Paint.CHROME if wire else Paint.SHADOW
    return [
        Part(tyre, Paint.TYRE, Body.LOWER_FORK),
        Part(turned(axle, LEFT, shape, sides=56, caps=False), paint, Body.LOWER_FORK),
    ]


def _hub_width(machine: Machine) -> float:
    """Half the width (mm) of the hub: it fills the space between the fork legs."""
    return machine.fork_spread / 2.0 - machine.fork_tube_diameter / 2.0 - 12.0


def _hub(machine: Machine, axle: np.ndarray, drum: bool) -> list[Part]:
    half = _hub_width(machine)
    if drum:
        r = 0.27 * machine.wheel_radius
        outline = [(-34, 24), (-34, r - 8), (-30, r), (30, r), (34, r - 8), (38, 30), (half, 26)]
        profile = [(-half, 26.0), *outline]
    else:
        flange = 0.5 * half
        profile = [(-half, 18), (-half + 6, 26), (-flange - 3, 26), (-flange - 3, 40)]
        profile += [(-flange + 3, 40), (-flange + 3, 24)]
        profile += [(-y, r) for y, r in reversed(profile)]
    reach = machine.fork_spread / 2.0 + machine.fork_tube_diameter / 2.0 + 12.0
    nut = [(reach - 8.0, 15.0), (reach + 5.0, 15.0), (reach + 8.0, 11.0)]
    return [
        Part(turned(axle, LEFT, profile, sides=32), Paint.ALLOY, Body.LOWER_FORK),
        Part(rod(axle - reach * LEFT, axle + reach * LEFT, 9.0), Paint.STEEL, Body.LOWER_FORK),
        *[
            Part(turned(axle, side * LEFT, nut, sides=6), Paint.STEEL, Body.LOWER_FORK)
            for side in (-1.0, 1.0)
        ],
    ]


def _around(machine: Machine, axle: np.ndarray, angle: float, radius: float) -> np.ndarray:
    """The point at ``radius`` round the axle, ``angle`` forward of straight up."""
    return axle + radius * np.array([np.sin(angle), 0.0, np.cos(angle)])


def _wire_spokes(machine: Machine, axle: np.ndarray, drum: bool) -> Part:
    """Crossed wire spokes, from alternate sides of the hub to the middle of the rim."""
    hub_radius = 0.27 * machine.wheel_radius - 4.0 if drum else 37.0
    side = 30.0 if drum else 0.5 * _hub_width(machine)
    lean = 0.55 if drum else 1.05
    spokes = []
    for k in range(_WIRE_SPOKES):
        angle = 2.0 * np.pi * k / _WIRE_SPOKES
        at_hub = angle + (lean if (k // 2) % 2 else -lean)
        inner = _around(machine, axle, at_hub, hub_radius) + (side if k % 2 else -side) * LEFT
        outer = _around(machine, axle, angle, rim_radius(machine) - 15.0)
        spokes.append(rod(inner, outer, 1.9, sides=5))
    return Part(joined(spokes), Paint.CHROME, Body.LOWER_FORK)


def _cast_spokes(machine: Machine, axle: np.ndarray) -> Part:
    """Broad cast spokes in pairs that part towards the rim."""
    spokes = []
    for k in range(_CAST_SPOKES):
        for fork in (-0.13, 0.13):
            angle = 2.0 * np.pi * k / _CAST_SPOKES
            inner = _around(machine, axle, angle + 0.5 * fork, 22.0)
            outer = _around(machine, axle, angle + fork, rim_radius(machine) - 12.0)
            middle = 0.5 * (inner + outer)
            spokes.append(
                tube(
                    np.array([inner, middle, outer]),
                    np.array([17.0, 11.0, 14.0]),
                    sides=10,
                    flat=0.62,
                    broad=LEFT,
                )
            )
    return Part(joined(spokes), Paint.SHADOW, Body.LOWER_FORK)


def _annulus(
    axle: np.ndarray, offset: float, inner: float, outer: float, thickness: float
) -> Surface:
    """A flat ring about the axle, ``offset`` to the left."""
    t = 0.5 * thickness
    profile = [(-t, inner), (-t, outer), (t, outer), (t, inner), (-t, inner)]
    return turned(axle + offset * LEFT, LEFT, profile, sides=48, caps=False)


def _disc_brake(machine: Machine, axle: np.ndarray, end: np.ndarray) -> list[Part]:
    """A disc inside the fork leg on the hose's side, with the caliper where the hose ends."""
    side = 1.0 if end[1] >= 0.0 else -1.0
    offset, radius, thick = _hub_width(machine) - 4.0, 0.66 * rim_radius(machine), 5.0
    if machine.disc is not None:
        offset, radius, thick = machine.disc.offset, machine.disc.radius, machine.disc.thickness
    offset *= side
    spoke = end - axle
    spoke[1] = 0.0
    outward = unit(spoke)
    tangent = np.cross(LEFT, outward)
    seat = axle + offset * LEFT + (radius - 14.0) * outward
    return [
        Part(_annulus(axle, offset, 0.68 * radius, radius, thick), Paint.STEEL, Body.LOWER_FORK),
        Part(_spider(machine, axle, offset, 0.74 * radius), Paint.BLACK, Body.LOWER_FORK),
        Part(
            block(seat, (tangent, outward, np.cross(tangent, outward)), (92.0, 50.0, 58.0), 14.0),
            Paint.SHADOW,
            Body.LOWER_FORK,
        ),
    ]


def _spider(machine: Machine, axle: np.ndarray, offset: float, reach: float) -> Surface:
    """The arms that carry a disc, in the plane of the disc."""
    arms = [_annulus(axle, offset, 26.0, 44.0, 7.0)]
    for k in range(6):
        angle = 2.0 * np.pi * (k + 0.5) / 6.0
        inner = _around(machine, axle, angle, 40.0) + offset * LEFT
        outer = _around(machine, axle, angle, reach) + offset * LEFT
        arms.append(tube(np.array([inner, outer]), np.array([13.0, 10.0]), flat=0.25, broad=None))
    return joined(arms)


def _mudguard(machine: Machine, axle: np.ndarray) -> Part:
    """A curved strip over the tyre, about as far before the fork as behind it."""
    axes = steering_axes(machine)
    along = np.linspace(-1.0, 1.0, 25)
    angle = np.where(along < 0.0, 1.15 * along, 0.72 * along)
    half = (0.5 * machine.wheel_width + 9.0) * (1.0 - 0.4 * np.abs(along) ** 7)
    strip = over_tyre(axle, axes, machine.wheel_radius + 15.0, angle, half)
    return Part(strip, Paint.BODY, Body.LOWER_FORK)


def over_tyre(
    axle: np.ndarray, axes: Axes, reach: float, angle: np.ndarray, half: np.ndarray
) -> Surface:
    """A strip about an axle (3,), ``reach`` from it in the middle and curved down to its edges: at
    each ``angle`` (N,) forward of the upward one of ``axes`` it is ``half`` (N,) wide to each side.
    """
    forward, left, up = axes
    across = np.linspace(-1.0, 1.0, 11)
    radius = np.broadcast_to(reach - 30.0 * np.abs(across) ** 3.2, (len(angle), len(across)))
    rows = (
        axle
        + (radius * np.cos(angle)[:, None])[..., None] * up
        + (radius * np.sin(angle)[:, None])[..., None] * forward
        + (half[:, None] * across)[..., None] * left
    )
    return sheet(rows)
