"""Surfaces built from rings of points: tubes, turned parts, lofts and sheets.

Almost everything on a motorcycle is a stack of rings joined to a skin, so one builder serves them
all. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pyvista as pv
from scipy.spatial import ConvexHull
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkFiltersCore import vtkPolyDataNormals

from barfit.compiled import compiled

# Edges sharper than this stay sharp to the eye.
_FEATURE_DEG = 38.0


def unit(vector: Sequence[float] | np.ndarray) -> np.ndarray:
    """The vector (..., 3) at length one."""
    v = np.asarray(vector, dtype=float)
    return v / np.linalg.norm(v, axis=-1, keepdims=True)


def square_to(axis: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Two unit vectors that make a right-handed set with the unit vector ``axis`` (3,)."""
    x, y, z = axis.tolist()
    smallest = min(abs(x), abs(y), abs(z))
    # the axis crossed with whichever of x, y and z it is furthest from, and then with that; in
    # plain numbers, since numpy takes ten times as long over so few
    if abs(x) == smallest:
        a, b, c = 0.0, z, -y
    elif abs(y) == smallest:
        a, b, c = -z, 0.0, x
    else:
        a, b, c = y, -x, 0.0
    length = math.sqrt(a * a + b * b + c * c)
    a, b, c = a / length, b / length, c / length
    return np.array((a, b, c)), np.array((y * c - z * b, z * a - x * c, x * b - y * a))


def tangents(points: np.ndarray) -> np.ndarray:
    """Unit tangents (..., M, 3) along polylines (..., M, 3), by central differences."""
    difference = np.empty_like(points)
    difference[..., 1:-1, :] = points[..., 2:, :] - points[..., :-2, :]
    difference[..., 0, :] = points[..., 1, :] - points[..., 0, :]
    difference[..., -1, :] = points[..., -1, :] - points[..., -2, :]
    length = np.linalg.norm(difference, axis=-1, keepdims=True)
    return difference / np.where(length > 0.0, length, 1.0)


def transported_normals(points: np.ndarray, start: np.ndarray | None = None) -> np.ndarray:
    """Unit normals (..., M, 3) carried along polylines (..., M, 3) without twist.

    Double reflection (Wang, Juettler, Zheng, Liu, ACM Trans. Graphics 27 (2008) 2). ``start``
    (3,) is the wished first normal; by default one square to the first polyline's start.
    """
    tangent = tangents(points)
    if start is None:
        start = square_to(tangent.reshape(-1, points.shape[-2], 3)[0, 0])[0]
    first = tangent[..., 0, :]
    out = np.empty_like(points)
    out[..., 0, :] = unit(start - np.sum(start * first, axis=-1, keepdims=True) * first)
    many = (-1, *points.shape[-2:])
    normals = out.reshape(many)
    _carry(np.ascontiguousarray(points).reshape(many), tangent.reshape(many), normals)
    return normals.reshape(points.shape)


@compiled
def _carry(points: np.ndarray, tangents: np.ndarray, normals: np.ndarray) -> None:
    """Carry the first of the ``normals`` of each polyline (P, M, 3) on to its other points."""
    step = np.empty(3)
    for line in range(points.shape[0]):
        for i in range(points.shape[1] - 1):
            # reflected in the plane midway between the points, then in that between tangents
            c1 = along_normal = along_tangent = 0.0
            for k in range(3):
                step[k] = points[line, i + 1, k] - points[line, i, k]
                c1 += step[k] ** 2
                along_normal += step[k] * normals[line, i, k]
                along_tangent += step[k] * tangents[line, i, k]
            c1 = 2.0 / c1 if c1 > 0.0 else 0.0
            c2 = across = 0.0
            for k in range(3):
                normal = normals[line, i, k] - c1 * along_normal * step[k]
                carried = tangents[line, i, k] - c1 * along_tangent * step[k]
                step[k] = tangents[line, i + 1, k] - carried
                normals[line, i + 1, k] = normal
                c2 += step[k] ** 2
                across += step[k] * normal
            c2 = 2.0 / c2 if c2 > 0.0 else 0.0
            for k in range(3):
                normals[line, i + 1, k] -= c2 * across * step[k]


def ring_angles(sides: int) -> np.ndarray:
    """``sides`` equally spaced angles round a ring, rad."""
    return np.linspace(0.0, 2.0 * np.pi, sides, endpoint=False)


def quads(rings: int, sides: int) -> np.ndarray:
    """Faces (Q, 4) that join ``rings`` closed rings of ``sides`` points, numbered ring by ring."""
    i, j = np.meshgrid(np.arange(rings - 1), np.arange(sides), indexing="ij")
    k = (j + 1) % sides
    return np.stack(
        (i * sides + j, i * sides + k, (i + 1) * sides + k, (i + 1) * sides + j), axis=-1
    ).reshape(-1, 4)


@dataclass(frozen=True, eq=False)
class Surface:
    """Triangles: ``points`` (N, 3) mm and ``faces`` (F, 3), anticlockwise seen from outside."""

    points: np.ndarray
    faces: np.ndarray

    @cached_property
    def skin(self) -> Skin:
        """The surface as it is drawn."""
        return _smooth(self)


@dataclass(frozen=True, eq=False)
class Skin:
    """Points and unit normals (N, 3), float32, with faces (F, 3): smooth but for the sharp edges,
    at which there is a point for either side.
    """

    points: np.ndarray
    normals: np.ndarray
    faces: np.ndarray


def _smooth(surface: Surface) -> Skin:
    points = vtkPoints()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(surface.points, dtype=np.float32)))
    cells, mesh = vtkCellArray(), vtkPolyData()
    cells.SetData(3, numpy_to_vtkIdTypeArray(np.ascontiguousarray(surface.faces).ravel(), deep=1))
    mesh.SetPoints(points)
    mesh.SetPolys(cells)
    normals = vtkPolyDataNormals()
    normals.SetInputData(mesh)
    normals.SetFeatureAngle(_FEATURE_DEG)
    normals.ConsistencyOff()
    normals.Update()
    out = normals.GetOutput()
    return Skin(
        vtk_to_numpy(out.GetPoints().GetData()),
        vtk_to_numpy(out.GetPointData().GetNormals()),
        vtk_to_numpy(out.GetPolys().GetConnectivityArray()).reshape(-1, 3),
    )


def reshape(mesh: pv.PolyData, points: np.ndarray, normals: np.ndarray) -> None:
    """Move the points of a mesh, with its normals, to new ones (N, 3), float32.

    As through `pyvista`'s own properties, which check and copy so much that they take five times
    as long: these are set for every line in every frame.
    """
    mesh.GetPoints().SetData(numpy_to_vtk(points))
    mesh.GetPoints().Modified()
    array = numpy_to_vtk(normals)
    array.SetName("Normals")
    mesh.GetPointData().SetNormals(array)
    mesh.Modified()


def skin(rings: np.ndarray, *, caps: bool = True) -> Surface:
    """The surface over ``rings`` (R, S, 3), each a closed ring of S points, ends closed flat."""
    count, sides, _ = rings.shape
    faces = [triangles(quads(count, sides))]
    if caps:
        first = np.arange(sides)[::-1]
        last = np.arange(sides) + (count - 1) * sides
        faces += [_fan(end) for end in (first, last)]
    return Surface(rings.reshape(-1, 3), np.vstack(faces))


def triangles(four: np.ndarray) -> np.ndarray:
    """The two triangles (2 Q, 3) of each quad (Q, 4)."""
    return np.vstack((four[:, [0, 1, 2]], four[:, [0, 2, 3]]))


def _fan(ring: np.ndarray) -> np.ndarray:
    """The triangles that close a convex ring of point numbers."""
    first = np.full(len(ring) - 2, ring[0])
    return np.column_stack((first, ring[1:-1], ring[2:]))


def thinned(points: np.ndarray, turn: float = 0.06) -> np.ndarray:
    """The polyline (M, 3) without the points at which it has hardly turned since the last kept.

    ``turn`` rad is how far it may turn between two points that stay.
    """
    way = unit(np.diff(points, axis=0))
    kept = [0]
    for k in range(1, len(points) - 1):
        if np.dot(way[kept[-1]], way[k]) < np.cos(turn):
            kept.append(k)
    return points[[*kept, len(points) - 1]]


def tube(
    points: np.ndarray,
    radius: float | np.ndarray,
    sides: int = 14,
    *,
    flat: float = 1.0,
    broad: np.ndarray | None = None,
) -> Surface:
    """A round bar along the polyline ``points`` (M, 3), ``radius`` a number or one per point.

    ``flat`` thins it square to the direction ``broad`` (3,), in which it keeps its radius.
    """
    points = np.asarray(points, dtype=float)
    normal = transported_normals(points, broad)
    binormal = np.cross(tangents(points), normal)
    angle = ring_angles(sides)
    r = np.broadcast_to(np.asarray(radius, dtype=float), points.shape[:1])[:, None, None]
    around = (
        np.cos(angle)[:, None] * normal[:, None, :]
        + flat * np.sin(angle)[:, None] * binormal[:, None, :]
    )
    return skin(points[:, None, :] + r * around)


def rod(start: np.ndarray, end: np.ndarray, radius: float, sides: int = 14) -> Surface:
    """A straight round bar between two points (3,)."""
    return tube(np.array([start, end], dtype=float), radius, sides)


def turned(
    origin: np.ndarray,
    axis: np.ndarray,
    profile: Sequence[tuple[float, float]] | np.ndarray,
    sides: int = 24,
    *,
    caps: bool = True,
) -> Surface:
    """A part turned on a lathe: ``profile`` (P, 2) gives distance along ``axis`` and radius."""
    axis = unit(axis)
    u, v = square_to(axis)
    profile = np.asarray(profile, dtype=float)
    angle = ring_angles(sides)
    around = np.cos(angle)[:, None] * u + np.sin(angle)[:, None] * v
    rings = (
        np.asarray(origin, dtype=float)
        + profile[:, :1, None] * axis
        + profile[:, 1:, None] * around
    )
    return skin(rings, caps=caps)


def ring(
    centre: np.ndarray,
    axis: np.ndarray,
    radius: float,
    wire: float,
    steps: int = 14,
    sides: int = 5,
) -> Surface:
    """A ring of wire with so many ``sides`` about an axis, bent in so many ``steps``."""
    axis = unit(axis)
    u, v = square_to(axis)
    around = ring_angles(steps)[:, None]
    turn = ring_angles(sides)[None, :]
    spoke = np.cos(around)[..., None] * u + np.sin(around)[..., None] * v
    section = (radius + wire * np.cos(turn))[..., None] * spoke + (
        wire * np.sin(turn) * np.ones_like(around)
    )[..., None] * axis
    closed = np.concatenate((section, section[:1]))
    return skin(centre + closed, caps=False)


def loft(
    origin: np.ndarray,
    axes: tuple[np.ndarray, np.ndarray, np.ndarray],
    outline: np.ndarray,
    levels: Sequence[tuple[float, float]],
) -> Surface:
    """The flat ``outline`` (S, 2) in the first two ``axes``, stacked along the third.

    ``levels`` gives the height and the scale of the outline at each level, lowest first.
    """
    x, y, z = axes
    flat = outline[:, :1] * x + outline[:, 1:] * y
    rings = np.array([origin + height * z + scale * flat for height, scale in levels])
    return skin(rings)


def rounded_rectangle(width: float, depth: float, rounding: float, steps: int = 4) -> np.ndarray:
    """The outline (S, 2) of a rectangle about the origin with rounded corners, anticlockwise."""
    rounding = min(rounding, width / 2.0, depth / 2.0)
    corners = []
    for k, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        angle = (k + np.linspace(0.0, 1.0, steps)) * np.pi / 2.0
        centre = np.array([sx * (width / 2.0 - rounding), sy * (depth / 2.0 - rounding)])
        corners.append(centre + rounding * np.column_stack((np.cos(angle), np.sin(angle))))
    return np.vstack(corners)


def block(
    origin: np.ndarray,
    axes: tuple[np.ndarray, np.ndarray, np.ndarray],
    size: tuple[float, float, float],
    rounding: float,
) -> Surface:
    """A box of full ``size`` about ``origin``, corners rounded and top and bottom bevelled."""
    width, depth, height = size
    bevel = min(rounding, 0.35 * height)
    inset = 1.0 - 0.8 * bevel / (max(min(width, depth), 1.0) / 2.0 + bevel)
    outline = rounded_rectangle(width, depth, rounding)
    h = height / 2.0
    levels = [(-h, inset), (-h + bevel, 1.0), (h - bevel, 1.0), (h, inset)]
    return loft(origin, axes, outline, levels)


def sheet(rows: np.ndarray) -> Surface:
    """An open surface over a grid of points (R, S, 3)."""
    count, width, _ = rows.shape
    i, j = np.meshgrid(np.arange(count - 1), np.arange(width - 1), indexing="ij")
    corner = (i * width + j).ravel()
    four = np.column_stack((corner, corner + 1, corner + width + 1, corner + width))
    return Surface(rows.reshape(-1, 3), triangles(four))


def hull_of_circles(circles: Sequence[tuple[float, float, float]], steps: int = 28) -> np.ndarray:
    """The convex outline (S, 2) round some circles (x, y, radius), anticlockwise."""
    angle = ring_angles(steps)
    points = np.vstack(
        [
            np.array([x, y]) + r * np.column_stack((np.cos(angle), np.sin(angle)))
            for x, y, r in circles
        ]
    )
    return points[ConvexHull(points).vertices]


def joined(surfaces: Sequence[Surface]) -> Surface:
    """Several surfaces as one; each keeps its own points."""
    start = np.cumsum([0] + [len(s.points) for s in surfaces[:-1]])
    return Surface(
        np.vstack([s.points for s in surfaces]),
        np.vstack([s.faces + k for s, k in zip(surfaces, start, strict=True)]),
    )


def finished(surfaces: Sequence[Surface]) -> pv.PolyData:
    """Surfaces as one mesh with normals, smooth but for the sharp edges."""
    whole = joined(surfaces).skin
    mesh = pv.PolyData.from_regular_faces(whole.points, whole.faces)
    mesh.point_data.active_normals = whole.normals
    return mesh
