"""The machine drawn from its numbers: fork, clamps, head tube, wheel, and its solids by role.

The solids are drawn as what they stand for, and no larger than they are: a line that clears a
solid in the numbers clears it in the picture.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from barfit.geometry.parts import shape_distance
from barfit.model import Body, Capsule, Machine, Mesh, Role, Setup, Solid
from barfit.scene.blend import blend
from barfit.scene.chassis import engine, intakes, rails
from barfit.scene.colours import Paint
from barfit.scene.lamps import headlamp, instruments
from barfit.scene.mesh import Surface, finished, hull_of_circles, loft, turned
from barfit.scene.parts import (
    Part,
    capsule_mesh,
    solid_mesh,
    steering_axes,
    steering_point,
)
from barfit.scene.rear import rear
from barfit.scene.wheel import brakes, wheel

# How far neighbouring solids of one role melt into each other, mm: they then read as one shape.
_STEP = 4.0  # mm to either side, over which the way a solid faces is taken
_MELT = 34.0
_TANK_MELT = 80.0


def machine_parts(setup: Setup) -> list[Part]:
    """Everything of the machine but its bars, straight ahead at ride height.

    Of the lines only the ends count: there are a brake and a throttle body where they lead.
    """
    machine = setup.machine
    return [
        *_fork(machine),
        *_clamps(machine),
        *_head(machine),
        *wheel(machine, brakes(setup)),
        *_solids(machine),
        *rails(machine),
        *rear(machine),
        *intakes(setup),
    ]


def slider_top(machine: Machine) -> float:
    """How far down the steering axis (mm) the sliders begin: clear of the lower clamp at full
    compression, with a seal's width to spare, where the fork is long enough for that.
    """
    clear = machine.lower_clamp + 26.0 + (machine.travel - machine.sag) + 22.0
    return min(clear, machine.fork_length - 1.2 * machine.fork_tube_diameter)


def _fork(machine: Machine) -> list[Part]:
    """Stanchions on the steering, sliders on the lower fork."""
    point = steering_point(machine)
    _, _, up = steering_axes(machine)
    r = machine.fork_tube_diameter / 2.0
    top = slider_top(machine)
    parts = []
    for y in (machine.fork_spread / 2.0, -machine.fork_spread / 2.0):
        origin = point(machine.fork_offset, y, 0.0)
        inside = min(top + machine.sag + 40.0, machine.fork_length)
        stanchion = turned(origin, up, [(-inside, r), (3.0, r)], sides=28)
        cap = [(2.0, r - 1.5), (9.0, r - 2.5), (10.0, r - 9.0), (10.0, 11.0), (16.0, 10.0)]
        slider = [
            (-machine.fork_length - 20.0, 0.55 * r),
            (-machine.fork_length - 12.0, 0.95 * r),
            (-machine.fork_length + 34.0, r + 2.0),
            (-machine.fork_length + 70.0, r + 4.5),
            (-top - 30.0, r + 5.0),
            (-top - 26.0, r + 7.0),
            (-top, r + 7.0),
        ]
        seal = [(-top - 3.0, r + 5.5), (-top + 5.0, r + 5.0), (-top + 11.0, r + 0.8)]
        parts += [
            Part(stanchion, Paint.CHROME, Body.STEERING),
            Part(turned(origin, up, cap, sides=28), Paint.STEEL, Body.STEERING),
            Part(turned(origin, up, slider, sides=28), Paint.ALLOY, Body.LOWER_FORK),
            Part(turned(origin, up, seal, sides=28), Paint.RUBBER, Body.LOWER_FORK),
        ]
    return parts


def _clamps(machine: Machine) -> list[Part]:
    """The top and the lower clamp: a boss round the stem joined to one round each fork tube."""
    axes = steering_axes(machine)
    point = steering_point(machine)
    boss = machine.fork_tube_diameter / 2.0 + 9.0
    half = machine.fork_spread / 2.0
    outline = hull_of_circles(
        [
            (0.0, 0.0, max(machine.head_tube_diameter / 2.0, 26.0)),
            (machine.riser_foot, machine.riser_spacing / 2.0, 20.0),
            (machine.riser_foot, -machine.riser_spacing / 2.0, 20.0),
            (machine.fork_offset, half, boss),
            (machine.fork_offset, -half, boss),
        ]
    )
    lower_outline = hull_of_circles(
        [
            (0.0, 0.0, max(machine.head_tube_diameter / 2.0, 26.0)),
            (machine.fork_offset, half, boss),
            (machine.fork_offset, -half, boss),
        ]
    )
    top = max(0.8 * machine.head_tube_top, 8.0)
    low = max(min(machine.lower_clamp - machine.head_tube_bottom - 3.0, 22.0), 6.0)
    return [
        Part(_plate(point(0.0, 0.0, -0.5 * top), axes, outline, top), Paint.ALLOY, Body.STEERING),
        Part(
            _plate(point(0.0, 0.0, -machine.lower_clamp), axes, lower_outline, 2.0 * low),
            Paint.SHADOW,
            Body.STEERING,
        ),
    ]


def _plate(
    centre: np.ndarray,
    axes: tuple[np.ndarray, np.ndarray, np.ndarray],
    outline: np.ndarray,
    thickness: float,
) -> Surface:
    """A flat plate with bevelled edges."""
    h, bevel = thickness / 2.0, min(3.5, 0.25 * thickness)
    middle = outline.mean(axis=0)
    levels = [(-h, 0.97), (-h + bevel, 1.0), (h - bevel, 1.0), (h, 0.97)]
    return loft(centre + middle[0] * axes[0] + middle[1] * axes[1], axes, outline - middle, levels)


def _head(machine: Machine) -> list[Part]:
    """The head tube with its bearing cups on the frame; the stem and its nut in it."""
    point = steering_point(machine)
    _, _, up = steering_axes(machine)
    origin = point(0.0, 0.0, 0.0)
    r = machine.head_tube_diameter / 2.0
    top, bottom = -machine.head_tube_top, -machine.head_tube_bottom
    shell = [
        (bottom, r + 4.0),
        (bottom + 14.0, r + 4.0),
        (bottom + 20.0, r),
        (top - 20.0, r),
        (top - 14.0, r + 4.0),
        (top, r + 4.0),
    ]
    stem = [(-machine.lower_clamp, 0.55 * r), (4.0, 0.55 * r)]
    nut = [(-2.0, 19.0), (3.0, 19.0), (3.5, 16.5), (14.0, 16.5), (16.0, 13.0)]
    return [
        Part(turned(origin, up, shell, sides=28), Paint.SHADOW, Body.FRAME),
        Part(turned(origin, up, stem, sides=20), Paint.STEEL, Body.STEERING),
        Part(turned(origin, up, nut, sides=6), Paint.CHROME, Body.STEERING),
    ]


def _solids(machine: Machine) -> list[Part]:
    """The machine's solids; those of one role on one body melt together."""
    groups: dict[tuple[Role, Body], list[Solid]] = {}
    for solid in machine.solids:
        groups.setdefault((solid.role, solid.body), []).append(solid)
    parts: list[Part] = []
    for (role, body), solids in groups.items():
        parts += _DRAW[role](machine, body, solids)
    return parts


def _melted(paint: Paint) -> Callable[[Machine, Body, list[Solid]], list[Part]]:
    def draw(machine: Machine, body: Body, solids: list[Solid]) -> list[Part]:
        if len(solids) == 1:
            return [Part(solid_mesh(solids[0].shape), paint, body)]
        return [Part(blend([s.shape for s in solids], _MELT), paint, body)]

    return draw


def _each(paint: Paint) -> Callable[[Machine, Body, list[Solid]], list[Part]]:
    def draw(machine: Machine, body: Body, solids: list[Solid]) -> list[Part]:
        return [Part(solid_mesh(s.shape), paint, body) for s in solids]

    return draw


def _imported(paint: Paint) -> Callable[[Machine, Body, list[Solid]], list[Part]]:
    """Meshes only: the fork and the head tube are drawn from the machine's own numbers."""

    def draw(machine: Machine, body: Body, solids: list[Solid]) -> list[Part]:
        return [Part(solid_mesh(s.shape), paint, body) for s in solids if isinstance(s.shape, Mesh)]

    return draw


def _fairing(machine: Machine, body: Body, solids: list[Solid]) -> list[Part]:
    """An open shell: what would close it towards the rider is left out. Meshes are kept whole."""
    parts = [
        Part(solid_mesh(s.shape), Paint.FAIRING, body) for s in solids if isinstance(s.shape, Mesh)
    ]
    simple = [s.shape for s in solids if not isinstance(s.shape, Mesh)]
    if not simple:
        return parts
    whole = finished([blend(simple, _MELT)])
    # which way the solids themselves face: the blend's own normals ripple with its grid, and the
    # edge cut by them is frayed
    points, step = np.asarray(whole.points, dtype=float), np.array([_STEP, 0.0, 0.0])
    before, behind = (
        np.min([shape_distance(shape, points + by) for shape in simple], axis=0)
        for by in (step, -step)
    )
    whole["ahead"] = (before - behind) / (2.0 * _STEP)
    front = whole.clip_scalar(scalars="ahead", value=-0.3, invert=False).triangulate()
    shell = Surface(np.asarray(front.points), front.regular_faces)
    return [*parts, Part(shell, Paint.FAIRING, body)]


def _tank(machine: Machine, body: Body, solids: list[Solid]) -> list[Part]:
    """The tank with a filler cap on its ridge, a third of the way back."""
    surface = blend([s.shape for s in solids], _TANK_MELT)
    points = surface.points
    front, rear = points[:, 0].max(), points[:, 0].min()
    at = front - 0.36 * (front - rear)
    near = points[np.hypot(points[:, 0] - at, points[:, 1]) < 30.0]
    parts = [Part(surface, Paint.BODY, body)]
    if len(near):
        seat = np.array([at, 0.0, near[:, 2].max() - 3.0])
        cap = [(-4.0, 33.0), (5.0, 33.0), (8.0, 30.0), (9.5, 20.0)]
        parts.append(Part(turned(seat, np.array([0.0, 0.0, 1.0]), cap), Paint.STEEL, body))
    return parts


def _engine(machine: Machine, body: Body, solids: list[Solid]) -> list[Part]:
    return engine(solids, body)


def _frame_tubes(machine: Machine, body: Body, solids: list[Solid]) -> list[Part]:
    parts = []
    for solid in solids:
        shape = solid.shape
        if isinstance(shape, Capsule):
            mesh = capsule_mesh(np.array(shape.start), np.array(shape.end), shape.radius, sides=14)
        else:
            mesh = solid_mesh(shape)
        parts.append(Part(mesh, Paint.SHADOW, body))
    return parts


_DRAW: dict[Role, Callable[[Machine, Body, list[Solid]], list[Part]]] = {
    Role.FORK_TUBE: _imported(Paint.ALLOY),
    Role.HEAD_TUBE: _imported(Paint.SHADOW),
    Role.TANK: _tank,
    Role.FRAME_TUBE: _frame_tubes,
    Role.HEADLAMP: headlamp,
    Role.FAIRING: _fairing,
    Role.INSTRUMENT: instruments,
    Role.SEAT: _melted(Paint.SEAT),
    Role.ENGINE: _engine,
    Role.MODULATOR: _each(Paint.ALLOY),
    Role.STOP: _each(Paint.SHADOW),
    Role.OTHER: _each(Paint.STEEL),
}
