"""What lines may run into: solids of any shape, and each other's clips and guides. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from barfit.geometry import solids
from barfit.geometry.frames import LEFT, Array, rotation
from barfit.geometry.meshes import DistanceGrid, Faces, sample_distance
from barfit.geometry.pose import Layout
from barfit.model import Body, Box, Capsule, Ellipsoid, Hold, Mesh, Setup, Shape, Triangles

_HOLDER_WALL = 2.0
_UP = np.array([0.0, 0.0, 1.0])


def shape_distance(shape: Shape, points: npt.ArrayLike) -> Array:
    """Signed distance (M,) of points (M, 3) from a solid, negative inside.

    The points are machine axes straight ahead at ride height, as the solid's own numbers are.
    """
    return shape_distance_with_gradient(shape, points)[0]


def shape_distance_with_gradient(shape: Shape, points: npt.ArrayLike) -> tuple[Array, Array]:
    """As `shape_distance`, and its gradient (M, 3).

    Exact but for a mesh, whose distance is sampled; see `barfit.geometry.meshes.DistanceGrid`.
    """
    match shape:
        case Capsule():
            return solids.capsule_with_gradient(points, shape.start, shape.end, shape.radius)
        case Ellipsoid():
            return solids.ellipsoid_with_gradient(
                points, shape.centre, shape.semi_axes, shape.pitch
            )
        case Box():
            return solids.box_with_gradient(
                points, shape.centre, shape.size, shape.pitch, shape.rounding
            )
        case Mesh():
            return mesh_grid(shape).distance_with_gradient(np.asarray(points, dtype=float))


def mesh_grid(shape: Mesh) -> DistanceGrid:
    """The distances round a mesh where it stands; kept, so that only the first call is slow."""
    return _sampled(shape.surface, shape.pitch, shape.yaw).moved(np.array(shape.position))


def mesh_triangles(shape: Mesh) -> tuple[Array, Faces]:
    """Corners (N, 3) of a mesh where it stands, and the corners (F, 3) of each face."""
    points, faces = _turned(shape.surface, shape.pitch, shape.yaw)
    return points + np.array(shape.position), faces


@dataclass(frozen=True, eq=False)
class Holder:
    """A small ball round a clip or a guide, where another line meets it.

    ``centre`` (3,) is in machine axes straight ahead at ride height; it rides on ``body``.
    """

    line: str
    station: str
    body: Body
    centre: Array
    radius: float


def holders(setup: Setup, places: dict[str, Layout]) -> tuple[Holder, ...]:
    """The clips and guides of every line as obstacles for the others, laid out as in ``places``.

    A clip or a ring is taken to stand 2 mm proud of its line (estimate: a strap of sheet metal with
    its rubber, a ring of wire).
    """
    found = []
    for line in setup.lines:
        where = places[line.name]
        for at, station in enumerate(where.stations):
            if station.hold is not Hold.FITTING:
                radius = 0.5 * line.diameter + _HOLDER_WALL
                found.append(
                    Holder(line.name, station.name, where.bodies[at], where.points[at], radius)
                )
    return tuple(found)


@lru_cache(maxsize=16)
def _sampled(surface: Triangles, pitch: float, yaw: float) -> DistanceGrid:
    return sample_distance(*_turned(surface, pitch, yaw))


def _turned(surface: Triangles, pitch: float, yaw: float) -> tuple[Array, Faces]:
    points = np.frombuffer(surface.points, dtype=float).reshape(-1, 3)
    faces = np.frombuffer(surface.faces, dtype=np.int32).reshape(-1, 3)
    turn = rotation(_UP, yaw) @ rotation(LEFT, -pitch)
    return points @ turn.T, faces
