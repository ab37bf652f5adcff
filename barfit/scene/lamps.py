"""Headlamps and instruments: what the rider knows the front of a machine by."""

from __future__ import annotations

import numpy as np

from barfit.model import Body, Box, Capsule, Ellipsoid, Machine, Mesh, Role, Solid
from barfit.scene.colours import Paint
from barfit.scene.mesh import loft, rod, rounded_rectangle, tube, turned, unit
from barfit.scene.parts import (
    LEFT,
    Part,
    capsule_mesh,
    pitched_axes,
    solid_mesh,
    steering_axes,
    steering_point,
)

# Instruments look this way.
_TO_RIDER = np.array([-0.55, 0.0, 1.0])


def headlamp(machine: Machine, body: Body, solids: list[Solid]) -> list[Part]:
    """A round lamp has bucket, rim, lens and ears; any other shape is a plain lamp glass."""
    parts: list[Part] = []
    for solid in solids:
        if isinstance(solid.shape, Ellipsoid):
            parts += _round_lamp(machine, body, solid.shape)
        else:
            parts.append(Part(solid_mesh(solid.shape), Paint.LENS, body))
    return parts


def _round_lamp(machine: Machine, body: Body, shape: Ellipsoid) -> list[Part]:
    centre = np.array(shape.centre)
    forward, left, _ = pitched_axes(shape.pitch)
    depth = shape.semi_axes[0]
    r = 0.5 * (shape.semi_axes[1] + shape.semi_axes[2])
    turn = np.linspace(np.pi - 0.1, 0.42 * np.pi, 9)
    bucket = [(float(depth * np.cos(t)), float(r * np.sin(t))) for t in turn]
    edge = bucket[-1][0]
    rim = [
        (edge - 3.0, 0.96 * r),
        (edge, r),
        (edge + 7.0, r),
        (edge + 12.0, 0.95 * r),
        (edge + 13.0, 0.88 * r),
    ]
    bulge = np.linspace(0.0, 0.5 * np.pi - 0.05, 7)
    lens = [
        (float(edge + 9.0 + 0.30 * depth * np.sin(t)), float(0.89 * r * np.cos(t))) for t in bulge
    ]
    parts = [
        Part(turned(centre, forward, bucket, sides=36), Paint.BODY, body),
        Part(turned(centre, forward, rim, sides=36, caps=False), Paint.CHROME, body),
        Part(turned(centre, forward, lens, sides=36), Paint.LENS, body),
    ]
    # a lamp in a fairing hangs in that
    if body is Body.STEERING and not any(s.role is Role.FAIRING for s in machine.solids):
        parts += _lamp_ears(machine, centre, left, r)
    return parts


def _lamp_ears(machine: Machine, centre: np.ndarray, left: np.ndarray, r: float) -> list[Part]:
    """Brackets from the fork tubes to the sides of the lamp."""
    axes = np.column_stack(steering_axes(machine))
    height = float((axes.T @ centre)[2])
    point = steering_point(machine)
    parts = []
    for side in (1.0, -1.0):
        leg = point(machine.fork_offset, side * machine.fork_spread / 2.0, height)
        lamp = centre + side * (0.98 * r) * left
        stand = leg + 0.5 * (machine.fork_tube_diameter + 6.0) * axes[:, 0]
        ear = tube(
            np.array([leg, stand, 0.5 * (stand + lamp), lamp]),
            np.array([24.0, 22.0, 15.0, 10.0]),
            sides=12,
            flat=0.2,
            broad=axes[:, 2],
        )
        bolt = turned(lamp, side * left, [(-4.0, 9.0), (7.0, 9.0), (9.0, 6.0)], sides=6)
        parts += [Part(ear, Paint.BLACK, Body.STEERING), Part(bolt, Paint.STEEL, Body.STEERING)]
    return parts


def instruments(machine: Machine, body: Body, solids: list[Solid]) -> list[Part]:
    """Round pods with a glass towards the rider; boxes with a dark face; meshes as they are."""
    parts: list[Part] = []
    for solid in solids:
        shape = solid.shape
        if isinstance(shape, Mesh):
            parts.append(Part(solid_mesh(shape), Paint.BLACK, body))
            continue
        if isinstance(shape, Box):
            parts += _display(shape, body)
        else:
            parts += _pod(machine, body, shape)
        if body is Body.STEERING:
            parts.append(_stay(machine, shape))
    return parts


def _stay(machine: Machine, shape: Capsule | Ellipsoid | Box) -> Part:
    """What holds an instrument: a bar from the top clamp."""
    if isinstance(shape, Capsule):
        centre = 0.5 * (np.array(shape.start) + np.array(shape.end))
    else:
        centre = np.array(shape.centre)
    foot = steering_point(machine)(machine.fork_offset, 0.7 * centre[1], -6.0)
    return Part(rod(foot, centre, 5.0, sides=10), Paint.BLACK, Body.STEERING)


def _display(shape: Box, body: Body) -> list[Part]:
    """A flat box with a dark glass on the broad side that looks up and at the rider."""
    axes, size = pitched_axes(shape.pitch), np.array(shape.size)
    thin = int(size.argmin())
    face = axes[thin] if axes[thin] @ _TO_RIDER > 0.0 else -axes[thin]
    first, second = (k for k in range(3) if k != thin)
    outline = rounded_rectangle(0.84 * size[first], 0.84 * size[second], 10.0)
    seat = np.array(shape.centre) + (0.5 * size[thin] - 1.0) * face
    levels = [(0.0, 1.0), (2.5, 0.98)]
    glass = loft(seat, (axes[first], axes[second], face), outline, levels)
    return [Part(solid_mesh(shape), Paint.BLACK, body), Part(glass, Paint.GLASS, body)]


def _pod(machine: Machine, body: Body, shape: Capsule | Ellipsoid) -> list[Part]:
    if isinstance(shape, Capsule):
        start, end = np.array(shape.start), np.array(shape.end)
        if np.linalg.norm(end - start) > 2.0 * shape.radius:
            return [Part(capsule_mesh(start, end, shape.radius), Paint.BLACK, body)]
        centre, r = 0.5 * (start + end), shape.radius
    else:
        centre, r = np.array(shape.centre), shape.semi_axes[1]
    axis = unit(_TO_RIDER)
    shell = [(-0.75 * r, 0.45 * r), (-0.55 * r, 0.8 * r), (0.0, 0.97 * r), (0.3 * r, 0.97 * r)]
    bezel = [(0.26 * r, 0.97 * r), (0.30 * r, r), (0.40 * r, r), (0.42 * r, 0.9 * r)]
    glass = [(0.36 * r, 0.9 * r), (0.385 * r, 0.5 * r), (0.39 * r, 0.05 * r)]
    face = centre + 0.41 * r * axis
    across = unit(LEFT + 0.5 * np.cross(LEFT, axis))
    needle = np.array([face - 0.15 * r * across, face + 0.7 * r * across])
    return [
        Part(turned(centre, axis, shell), Paint.BLACK, body),
        Part(turned(centre, axis, bezel, caps=False), Paint.CHROME, body),
        Part(turned(centre, axis, glass), Paint.GLASS, body),
        Part(tube(needle, np.array([2.2, 0.9]), sides=6), Paint.LENS, body),
    ]
