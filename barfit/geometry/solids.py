"""Signed distances to simple solids: mm, negative inside, for points (M, 3).

Every solid comes as a pair: ``solid(points, ...)`` gives the distances (M,), and
``solid_with_gradient(points, ...)`` also the gradient (M, 3), the unit vector away from the
solid's nearest surface. Both are exact, inside and out. On the few points with more than one
nearest place on the surface (a capsule's axis, a ball's centre) the gradient is that of one of
them. ``pitch`` turns a solid nose up about the left-pointing axis through its centre, rad.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from barfit.geometry.frames import LEFT, Array, rotation

_NEWTON_STEPS = 60
_ROUNDING = 4.0 * np.finfo(float).eps
_NOTHING = 1e-100  # of a semi-axis: so close to a plane of symmetry that squares underflow


def capsule(
    points: npt.ArrayLike, start: npt.ArrayLike, end: npt.ArrayLike, radius: float
) -> Array:
    """Signed distance (M,) to a round bar with hemispherical ends."""
    return capsule_with_gradient(points, start, end, radius)[0]


def capsule_with_gradient(
    points: npt.ArrayLike, start: npt.ArrayLike, end: npt.ArrayLike, radius: float
) -> tuple[Array, Array]:
    """Signed distance (M,) to a capsule and its gradient (M, 3). ``start`` may equal ``end``."""
    points = _points(points)
    start, end = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    axis = end - start
    squared = float(axis @ axis)
    along = np.zeros(len(points))
    if squared > 0.0:
        along = np.clip((points - start) @ axis / squared, 0.0, 1.0)
    away = points - (start + along[:, None] * axis)
    distance = np.linalg.norm(away, axis=1)
    return distance - radius, _unit_rows(away, distance, _square_to(axis))


def box(
    points: npt.ArrayLike,
    centre: npt.ArrayLike,
    size: npt.ArrayLike,
    pitch: float = 0.0,
    rounding: float = 0.0,
) -> Array:
    """Signed distance (M,) to a box of full ``size`` (3,) with edges rounded by ``rounding``."""
    return box_with_gradient(points, centre, size, pitch, rounding)[0]


def box_with_gradient(
    points: npt.ArrayLike,
    centre: npt.ArrayLike,
    size: npt.ArrayLike,
    pitch: float = 0.0,
    rounding: float = 0.0,
) -> tuple[Array, Array]:
    """Signed distance (M,) to a rounded box and its gradient (M, 3).

    The rounded box is all that is within ``rounding`` of a smaller sharp box. Raises ValueError
    when the rounding is more than half the shortest side.
    """
    half = 0.5 * np.asarray(size, dtype=float) - rounding
    if rounding < 0.0 or np.any(half < 0.0):
        raise ValueError("a box can be rounded by at most half its shortest side")
    local, turn = _into_solid(points, centre, pitch)
    over = np.abs(local) - half
    sign = np.where(local < 0.0, -1.0, 1.0)
    outside = np.maximum(over, 0.0)
    beyond = np.linalg.norm(outside, axis=1)
    nearest = np.argmax(over, axis=1)  # inside the sharp box: the nearest of its faces
    rows = np.arange(len(local))
    to_face = np.zeros_like(local)
    to_face[rows, nearest] = 1.0
    inside = beyond == 0.0
    gradient = np.where(inside[:, None], to_face, outside / np.where(inside, 1.0, beyond)[:, None])
    distance = np.where(inside, over[rows, nearest], beyond) - rounding
    return distance, (sign * gradient) @ turn.T


def ellipsoid(
    points: npt.ArrayLike, centre: npt.ArrayLike, semi_axes: npt.ArrayLike, pitch: float = 0.0
) -> Array:
    """Signed distance (M,) to an ellipsoid."""
    return ellipsoid_with_gradient(points, centre, semi_axes, pitch)[0]


def ellipsoid_with_gradient(
    points: npt.ArrayLike, centre: npt.ArrayLike, semi_axes: npt.ArrayLike, pitch: float = 0.0
) -> tuple[Array, Array]:
    """Signed distance (M,) to an ellipsoid and its gradient (M, 3).

    The nearest surface point x to y satisfies y - x = t N(x) with the normal N = x / e², so
    x = e² y / (t + e²), and t is the largest root of |x / e| = 1 (Eberly, Distance from a Point
    to an Ellipse, an Ellipsoid, or a Hyperellipsoid, Geometric Tools, 2013). This is also the
    secular equation of a trust region step, where Newton's method on 1 / |x / e| - 1, concave
    and increasing, climbs to the root from below without a guard (Moré and Sorensen, Computing
    a Trust Region Step, 1983). The root is counted from t = -min(e)², w = 1 + t / min(e)² > 0,
    so that nothing cancels near the solid's middle. Raises ValueError for semi-axes that are
    not all more than 0.
    """
    axes = np.asarray(semi_axes, dtype=float)
    if np.any(~(axes > 0.0)):
        raise ValueError("the semi-axes of an ellipsoid must be more than 0")
    local, turn = _into_solid(points, centre, pitch)
    sign = np.where(local < 0.0, -1.0, 1.0)
    scaled = np.abs(local) / axes
    scaled[scaled < _NOTHING] = 0.0
    shortest = int(np.argmin(axes))
    ratio = (axes / axes[shortest]) ** 2
    excess = ratio - 1.0  # exactly 0 for the shortest axis
    w = _secular_root(scaled, ratio, excess)
    with np.errstate(divide="ignore", invalid="ignore"):
        on_unit = ratio * scaled / (w[:, None] + excess)  # x / e
    on_unit = np.where(scaled > 0.0, on_unit, 0.0)
    # On the plane of symmetry square to the shortest axis, near the middle, the surface is
    # nearest off that plane, on either side alike; the equation then says 0 = 0 along that axis.
    middle = w == 0.0
    rest = np.maximum(1.0 - np.sum(on_unit**2, axis=1), 0.0)
    on_unit[middle, shortest] = np.sqrt(rest[middle])
    nearest = on_unit * axes
    gap = np.abs(local) - nearest
    outside = w >= 1.0
    distance = np.where(outside, 1.0, -1.0) * np.linalg.norm(gap, axis=1)
    normal = on_unit / axes
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    return distance, (sign * normal) @ turn.T


def _secular_root(scaled: Array, ratio: Array, excess: Array) -> Array:
    """The root w (M,) >= 0 of sum((ratio scaled / (w + excess))²) = 1; 0 where there is none."""
    # each term alone is 1 here, so the root is not below the largest of these
    w = np.max(ratio * scaled - excess, axis=1).clip(0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        start = np.where(scaled > 0.0, ratio * scaled / (w[:, None] + excess), 0.0)
    live = np.linalg.norm(start, axis=1) > 1.0
    for _ in range(_NEWTON_STEPS):
        if not np.any(live):
            return w
        part, here = scaled[live], w[live]
        lower = here[:, None] + excess
        # lower is 0 only where w and scaled both are: no pull along that axis
        lower = np.where(part > 0.0, lower, 1.0)
        term = ratio * part / lower
        squared = np.sum(term**2, axis=1)
        norm = np.sqrt(squared)
        step = squared * (norm - 1.0) / np.sum(term**2 / lower, axis=1)
        w[live] = here + np.maximum(step, 0.0)
        live[live] = (norm - 1.0 > _ROUNDING) & (step > _ROUNDING * here)
    raise ArithmeticError("the nearest point of an ellipsoid was not found")


def _points(points: npt.ArrayLike) -> Array:
    array = np.asarray(points, dtype=float)
    if array.ndim != 2 or array.shape[1] != 3:
        raise ValueError(f"points must have the shape (M, 3), not {array.shape}")
    return array


def _into_solid(points: npt.ArrayLike, centre: npt.ArrayLike, pitch: float) -> tuple[Array, Array]:
    """Points (M, 3) in the solid's own axes, and the rotation (3, 3) back out of them."""
    turn = rotation(LEFT, -pitch)  # a right-hand turn about "left" would put the nose down
    return (_points(points) - np.asarray(centre, dtype=float)) @ turn, turn


def _unit_rows(vectors: Array, lengths: Array, instead: Array) -> Array:
    """Rows scaled to unit length; ``instead`` (3,) for rows of no length."""
    none = lengths == 0.0
    unit: Array = np.where(none[:, None], instead, vectors / np.where(none, 1.0, lengths)[:, None])
    return unit


def _square_to(axis: Array) -> Array:
    """Some unit vector (3,) square to ``axis``; any unit vector when it has no length."""
    least = np.zeros(3)
    least[int(np.argmin(np.abs(axis)))] = 1.0
    square = np.cross(axis, least)
    length = float(np.linalg.norm(square))
    return square / length if length > 0.0 else least
