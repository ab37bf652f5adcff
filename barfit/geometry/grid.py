"""A distance known on a regular grid of points, and smooth in between.

Compiled, because the solver asks for it at every node in every step.
"""

from __future__ import annotations

import math

import numpy as np

from barfit.compiled import compiled

Array = np.ndarray


@compiled
def grid_distance(
    x: float, y: float, z: float, origin: Array, spacing: float, values: Array, gradient: Array
) -> float:
    """The distance at a point; its gradient goes to ``gradient`` (3,).

    ``values`` (nx, ny, nz), at least four each way, are the distances at
    ``origin + spacing * (i, j, k)``. Between them each axis has its Catmull-Rom cubic (Catmull and
    Rom, A Class of Local Interpolating Splines, 1974): the distance is once continuously
    differentiable, and exact where it is at most quadratic, so beside flat faces.

    The cubic needs a sample beyond on either side, so the outermost samples only support it.
    Outside of that box, for a solid that lies inside it, the answer is √(a² + b²): a from the
    point to the box, b the distance at the box's nearest point q. This is never more than the
    truth, for the ways from q to the solid and to the point form an obtuse angle. It joins on
    continuously but with a bend; its slope is at most 1 and points away from the solid.
    """
    inside_x = min(max(x, origin[0] + spacing), origin[0] + spacing * (values.shape[0] - 2))
    inside_y = min(max(y, origin[1] + spacing), origin[1] + spacing * (values.shape[1] - 2))
    inside_z = min(max(z, origin[2] + spacing), origin[2] + spacing * (values.shape[2] - 2))
    within = _tricubic(inside_x, inside_y, inside_z, origin, spacing, values, gradient)
    away_x, away_y, away_z = x - inside_x, y - inside_y, z - inside_z
    away = math.sqrt(away_x * away_x + away_y * away_y + away_z * away_z)
    if away == 0.0:
        return within
    distance = math.sqrt(away * away + within * within)
    # the box's nearest point moves along with this one only where it is not held at a face
    gradient[0] = (away_x if away_x != 0.0 else within * gradient[0]) / distance
    gradient[1] = (away_y if away_y != 0.0 else within * gradient[1]) / distance
    gradient[2] = (away_z if away_z != 0.0 else within * gradient[2]) / distance
    return distance


@compiled
def _tricubic(
    x: float, y: float, z: float, origin: Array, spacing: float, values: Array, gradient: Array
) -> float:
    """The Catmull-Rom cubic at a point at least one spacing within the grid."""
    i, u = _cell(x, origin[0], spacing, values.shape[0])
    j, v = _cell(y, origin[1], spacing, values.shape[1])
    k, w = _cell(z, origin[2], spacing, values.shape[2])
    along_x, slope_x = _weights(u), _slopes(u)
    along_y, slope_y = _weights(v), _slopes(v)
    along_z, slope_z = _weights(w), _slopes(w)
    value = 0.0
    by_x = 0.0
    by_y = 0.0
    by_z = 0.0
    for a in range(4):
        plane = 0.0
        plane_y = 0.0
        plane_z = 0.0
        for b in range(4):
            row = 0.0
            row_z = 0.0
            for c in range(4):
                sample = values[i + a, j + b, k + c]
                row += along_z[c] * sample
                row_z += slope_z[c] * sample
            plane += along_y[b] * row
            plane_y += slope_y[b] * row
            plane_z += along_y[b] * row_z
        value += along_x[a] * plane
        by_x += slope_x[a] * plane
        by_y += along_x[a] * plane_y
        by_z += along_x[a] * plane_z
    gradient[0] = by_x / spacing
    gradient[1] = by_y / spacing
    gradient[2] = by_z / spacing
    return value


@compiled
def _cell(at: float, origin: float, spacing: float, count: int) -> tuple[int, float]:
    """The first of the four samples round a coordinate, and how far into the cell it is, 0..1."""
    cells = (at - origin) / spacing
    first = min(max(int(cells), 1), count - 3)
    return first - 1, cells - first


@compiled
def _weights(t: float) -> tuple[float, float, float, float]:
    """How much each of the four samples counts."""
    return (
        0.5 * t * (t * (2.0 - t) - 1.0),
        0.5 * (t * t * (3.0 * t - 5.0) + 2.0),
        0.5 * t * (t * (4.0 - 3.0 * t) + 1.0),
        0.5 * t * t * (t - 1.0),
    )


@compiled
def _slopes(t: float) -> tuple[float, float, float, float]:
    """The derivatives of the weights."""
    return (
        0.5 * (t * (4.0 - 3.0 * t) - 1.0),
        0.5 * t * (9.0 * t - 10.0),
        0.5 * (t * (8.0 - 9.0 * t) + 1.0),
        0.5 * t * (3.0 * t - 2.0),
    )


@compiled
def grid_distances(
    points: Array, origin: Array, spacing: float, values: Array, gradients: Array
) -> Array:
    """As `grid_distance` for points (M, 3): distances (M,), ``gradients`` (M, 3) filled in."""
    distances = np.empty(points.shape[0])
    for m in range(points.shape[0]):
        distances[m] = grid_distance(
            points[m, 0], points[m, 1], points[m, 2], origin, spacing, values, gradients[m]
        )
    return distances
