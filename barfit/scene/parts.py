"""What the drawing is made of: pieces with a paint, on a body; and the steering's own axes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pyvista as pv

from barfit.geometry.frames import local_to_machine, steering_axis
from barfit.geometry.parts import mesh_triangles
from barfit.model import Body, Box, Capsule, Ellipsoid, Machine, Mesh, Shape
from barfit.scene.colours import Paint
from barfit.scene.forms import HERE, Place
from barfit.scene.joined import Joined, Placed
from barfit.scene.mesh import (
    Surface,
    loft,
    ring_angles,
    rounded_rectangle,
    skin,
    tube,
    unit,
)

Axes = tuple[np.ndarray, np.ndarray, np.ndarray]

LEFT = np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True, eq=False)
class Part:
    """One piece of the drawing, straight ahead at ride height: a form, and where it is put."""

    form: Surface
    paint: Paint
    body: Body
    place: Place = HERE

    @property
    def surface(self) -> Surface:
        """Its surface there."""
        return Surface(self.place.points(self.form.points), self.form.faces)


def sorted_parts(parts: Iterable[Part]) -> dict[tuple[Body, Paint], list[Placed]]:
    """The pieces by body and paint: each lot is drawn as one mesh."""
    groups: dict[tuple[Body, Paint], list[Placed]] = {}
    for part in parts:
        groups.setdefault((part.body, part.paint), []).append((part.form, part.place))
    return groups


def gathered(parts: Iterable[Part]) -> dict[tuple[Body, Paint], pv.PolyData]:
    """The pieces merged to one mesh for each body and paint, so that few things are drawn."""
    found = {}
    for key, placed in sorted_parts(parts).items():
        whole = Joined()
        whole.show(placed)
        found[key] = whole.mesh
    return found


def steering_axes(machine: Machine) -> Axes:
    """Forward square to the steering axis, left, and up along the axis: unit vectors (3,)."""
    up = np.asarray(steering_axis(machine.rake))
    return np.cross(LEFT, up), LEFT, up


def steering_point(machine: Machine) -> Callable[[float, float, float], np.ndarray]:
    """A function that gives the point (3,) for steering-local (forward, left, up along axis)."""

    def point(forward: float, left: float, up: float) -> np.ndarray:
        return np.asarray(local_to_machine(machine.rake, forward, left, up))

    return point


def pitched_axes(pitch: float) -> Axes:
    """Forward, left and up turned nose up by ``pitch``."""
    forward = np.array([np.cos(pitch), 0.0, np.sin(pitch)])
    return forward, LEFT, np.cross(forward, LEFT)


def aligned_axes(axis: Sequence[float] | np.ndarray, towards: np.ndarray) -> Axes:
    """``axis``, and two directions square to it, the second as near ``towards`` as can be."""
    x = unit(axis)
    z = unit(towards - np.dot(towards, x) * x)
    return x, np.cross(z, x), z


def solid_mesh(shape: Shape) -> Surface:
    """The surface of one solid."""
    if isinstance(shape, Capsule):
        return capsule_mesh(np.array(shape.start), np.array(shape.end), shape.radius)
    if isinstance(shape, Ellipsoid):
        return ellipsoid_mesh(shape)
    if isinstance(shape, Mesh):
        return Surface(*mesh_triangles(shape))
    return box_mesh(shape)


def capsule_mesh(start: np.ndarray, end: np.ndarray, radius: float, sides: int = 16) -> Surface:
    """A round bar with round ends."""
    if np.allclose(start, end):
        return ellipsoid_mesh(Ellipsoid(tuple(start), (radius, radius, radius)))
    axis = unit(end - start)
    quarter = np.linspace(0.08, np.pi / 2.0, 5)
    along = radius * np.cos(quarter)[:, None] * axis
    points = np.vstack((start - along, (end + along[::-1])))
    return tube(points, radius * np.concatenate((np.sin(quarter), np.sin(quarter)[::-1])), sides)


def ellipsoid_mesh(shape: Ellipsoid, sides: int = 28) -> Surface:
    """An ellipsoid."""
    forward, left, up = pitched_axes(shape.pitch)
    a, b, c = shape.semi_axes
    turn = np.linspace(0.06, np.pi - 0.06, 15)[:, None, None]
    angle = ring_angles(sides)[:, None]
    rings = (
        np.array(shape.centre)
        - a * np.cos(turn) * forward
        + np.sin(turn) * (b * np.cos(angle) * left + c * np.sin(angle) * up)
    )
    return skin(rings)


def box_mesh(shape: Box) -> Surface:
    """A box with its edges rounded."""
    size = np.array(shape.size)
    rounding = float(min(max(shape.rounding, 2.0), 0.49 * size.min()))
    outline = rounded_rectangle(size[0], size[1], rounding)
    h = size[2] / 2.0
    turn = np.linspace(0.0, np.pi / 2.0, 4)
    reach = float(min(size[0], size[1]) / 2.0)
    edge = [
        (h - rounding * (1.0 - np.sin(t)), 1.0 - rounding * (1.0 - np.cos(t)) / reach) for t in turn
    ]
    levels = [(-height, scale) for height, scale in reversed(edge)] + edge
    return loft(np.array(shape.centre), pitched_axes(shape.pitch), outline, levels)
