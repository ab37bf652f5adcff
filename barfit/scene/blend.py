"""Several solids as one smooth body: the zero surface of their blended distances."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import pyvista as pv

from barfit.geometry.parts import shape_distance
from barfit.model import Box, Capsule, Ellipsoid, Mesh, Shape
from barfit.scene.mesh import Surface, joined
from barfit.scene.parts import solid_mesh

# About this many cells along the longest side: smooth enough to the eye, few enough to be quick.
_CELLS = 42

Simple = Capsule | Ellipsoid | Box


def blend(shapes: Sequence[Shape], melt: float) -> Surface:
    """The surface round ``shapes``, joined without a crease.

    ``melt`` (mm) is how near two surfaces must be to flow into each other; a joint is filled by
    at most a quarter of it and nothing else grows (polynomial smooth minimum). What is too thin
    for the grid stands as it is, and so does an imported mesh.
    """
    simple = [s for s in shapes if not isinstance(s, Mesh)]
    parts = [solid_mesh(s) for s in shapes if isinstance(s, Mesh)]
    if simple:
        spacing = _spacing(*_corners(simple))
        parts += [solid_mesh(s) for s in simple if _thinnest(s) < 2.0 * spacing]
        thick = tuple(s for s in simple if _thinnest(s) >= 2.0 * spacing)
        parts += [_blend(thick, melt)] if thick else []
    return joined(parts)


@lru_cache(maxsize=32)
def _blend(shapes: tuple[Simple, ...], melt: float) -> Surface:
    low, high = _corners(shapes)
    spacing = _spacing(low, high)
    counts = np.ceil((high - low) / spacing).astype(int) + 2
    # the middle of the grid is the middle of the body, so that a symmetrical body stays so
    origin = 0.5 * (low + high) - 0.5 * spacing * (counts - 1)
    grid = pv.ImageData(dimensions=counts, spacing=(spacing,) * 3, origin=origin)
    points = np.asarray(grid.points, dtype=float)
    field = shape_distance(shapes[0], points)
    for shape in shapes[1:]:
        field = _smooth_minimum(field, shape_distance(shape, points), melt)
    grid["distance"] = field
    contour = grid.contour([0.0], scalars="distance", compute_normals=False)
    # takes out the ripple of the grid without shrinking the body (Taubin, SIGGRAPH 1995)
    contour = contour.smooth_taubin(n_iter=30, pass_band=0.05)
    return Surface(np.asarray(contour.points), contour.faces.reshape(-1, 4)[:, 1:])


def _spacing(low: np.ndarray, high: np.ndarray) -> float:
    return float(np.max(high - low)) / _CELLS


def _smooth_minimum(a: np.ndarray, b: np.ndarray, melt: float) -> np.ndarray:
    h = np.maximum(melt - np.abs(a - b), 0.0)
    return np.minimum(a, b) - h * h / (4.0 * melt)


def _corners(shapes: Sequence[Simple]) -> tuple[np.ndarray, np.ndarray]:
    low = np.min([_bounds(shape)[0] for shape in shapes], axis=0) - 12.0
    high = np.max([_bounds(shape)[1] for shape in shapes], axis=0) + 12.0
    return low, high


def _thinnest(shape: Simple) -> float:
    """The least thickness of a solid, mm."""
    if isinstance(shape, Capsule):
        return 2.0 * shape.radius
    return min(shape.size) if isinstance(shape, Box) else 2.0 * min(shape.semi_axes)


def _bounds(shape: Simple) -> tuple[np.ndarray, np.ndarray]:
    """Corners (3,) of a box that holds the solid."""
    if isinstance(shape, Capsule):
        ends = np.array([shape.start, shape.end])
        return ends.min(axis=0) - shape.radius, ends.max(axis=0) + shape.radius
    half = np.array(shape.semi_axes if isinstance(shape, Ellipsoid) else shape.size)
    half = half if isinstance(shape, Ellipsoid) else 0.5 * half
    c, s = abs(np.cos(shape.pitch)), abs(np.sin(shape.pitch))
    reach = np.array([c * half[0] + s * half[2], half[1], s * half[0] + c * half[2]])
    centre = np.array(shape.centre)
    return centre - reach, centre + reach
