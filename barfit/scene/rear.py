"""The rear wheel with its swinging arm: decoration, so that a machine is seen and not half of one.

Nothing of it is measured, no line runs there, and it takes no part in any result: it stands where
seat and engine leave room for it, on the same floor as the front wheel.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from barfit.model import Body, Machine, Role
from barfit.scene.chassis import first_box
from barfit.scene.colours import Paint
from barfit.scene.mesh import Surface, ring, rod, turned, unit
from barfit.scene.parts import LEFT, Part, capsule_mesh, pitched_axes, steering_point
from barfit.scene.wheel import bare_wheel, over_tyre, wired

# Common proportions of the tyres: a rear one is wider, and on a wire wheel a little smaller.
_WIDER = 1.25
_SMALLER = 0.95
_BEHIND_ENGINE = 60.0  # mm between the engine and the tyre: the arm's pivot and the chain
_COILS = 9


def rear(machine: Machine) -> list[Part]:
    """Wheel, swinging arm and mudguard; with wire wheels two spring legs up to the seat as well.

    None of it where there is no seat or no engine to join it to.
    """
    seat, engine = first_box(machine, Role.SEAT), first_box(machine, Role.ENGINE)
    if seat is None or engine is None:
        return []
    wire = wired(machine)
    front = steering_point(machine)(machine.fork_offset, 0.0, -machine.fork_length)
    radius = (_SMALLER if wire else 1.0) * machine.wheel_radius
    hind = replace(machine, wheel_radius=radius, wheel_width=_WIDER * machine.wheel_width)
    block = engine.centre[0] - 0.5 * engine.size[0]
    tail = seat.centre[0] - 0.5 * seat.size[0]
    axle = np.array(
        [
            min(block - _BEHIND_ENGINE - radius, tail - 0.4 * radius),
            0.0,
            front[2] - machine.wheel_radius + radius,
        ]
    )
    pivot = np.array([block - 18.0, 0.0, axle[2] + 0.12 * radius])
    half = 0.5 * hind.wheel_width + 24.0
    parts = [
        *(replace(part, body=Body.FRAME) for part in bare_wheel(hind, axle, wire, wire)),
        Part(_mudguard(hind, axle), Paint.BODY, Body.FRAME),
        Part(rod(pivot - half * LEFT, pivot + half * LEFT, 15.0), Paint.STEEL, Body.FRAME),
    ]
    for side in (half * LEFT, -half * LEFT):
        arm = capsule_mesh(pivot + side, axle + side, 15.0, 14)
        parts.append(Part(arm, Paint.SHADOW, Body.FRAME))
        if wire:
            under = np.array([tail + 0.3 * seat.size[0], 0.0, seat.centre[2] - 0.5 * seat.size[2]])
            parts += _leg(axle + side + 0.16 * (pivot - axle) + (0.0, 0.0, 18.0), under + side)
    return parts


def _leg(low: np.ndarray, high: np.ndarray) -> list[Part]:
    """A spring leg between two eyes: damper, rod, and coils round both."""
    way = unit(high - low)
    length = float(np.linalg.norm(high - low))
    damper = [(0.0, 12.0), (0.06 * length, 20.0), (0.5 * length, 20.0), (0.52 * length, 8.0)]
    damper += [(0.86 * length, 8.0), (0.87 * length, 27.0), (0.94 * length, 27.0), (length, 12.0)]
    at = np.linspace(0.14, 0.84, _COILS) * length
    coils = [ring(low + along * way, way, 25.0, 5.0) for along in at]
    return [
        Part(turned(low, way, damper, sides=16), Paint.SHADOW, Body.FRAME),
        *(Part(coil, Paint.CHROME, Body.FRAME) for coil in coils),
    ]


def _mudguard(machine: Machine, axle: np.ndarray) -> Surface:
    """A curved strip over the tyre, farther behind the axle than before it."""
    along = np.linspace(0.0, 1.0, 25)
    angle = np.radians(48.0 - 128.0 * along)
    half = (0.5 * machine.wheel_width + 8.0) * (1.0 - 0.3 * np.abs(2.0 * along - 1.0) ** 9)
    return over_tyre(axle, pitched_axes(0.0), machine.wheel_radius + 18.0, angle, half)
