"""Polylines in space: lengths, curvature, resampling, closest approach.

``points`` are (N, 3) mm, or (..., N, 3) where a function says so; nothing here knows what the
curve is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from barfit.geometry.frames import Array


def arc_lengths(points: npt.ArrayLike) -> Array:
    """Length (..., N) of the polyline (..., N, 3) from its first point to each point."""
    points = _polyline(points, 1)
    lengths = np.zeros(points.shape[:-1])
    np.cumsum(np.linalg.norm(np.diff(points, axis=-2), axis=-1), axis=-1, out=lengths[..., 1:])
    return lengths


def arc_length(points: npt.ArrayLike) -> float:
    """Length of one polyline (N, 3), mm."""
    return float(arc_lengths(points)[..., -1])


def point_at(points: npt.ArrayLike, distances: npt.ArrayLike) -> Array:
    """Points (K, 3) on the polyline (N, 3) at ``distances`` (K,) mm from its first point.

    A single distance gives one point (3,). Raises ValueError outside the polyline.
    """
    points = _polyline(points, 2, single=True)
    lengths = arc_lengths(points)
    distances = np.asarray(distances, dtype=float)
    slack = 1e-12 * lengths[-1]
    if np.any(~((distances >= -slack) & (distances <= lengths[-1] + slack))):
        raise ValueError(f"distances must lie between 0 and the length, {lengths[-1]:.6g} mm")
    axes = [np.interp(distances, lengths, points[:, axis]) for axis in range(3)]
    return np.stack(axes, axis=-1)


def resample(points: npt.ArrayLike, count: int) -> Array:
    """``count`` points (count, 3) at equal distances along the polyline (N, 3), ends kept.

    Raises ValueError for a count under 2.
    """
    if count < 2:
        raise ValueError("a resampled curve needs at least 2 points")
    points = _polyline(points, 2, single=True)
    return point_at(points, np.linspace(0.0, arc_length(points), count))


def turn_angles(points: npt.ArrayLike) -> Array:
    """Angle (..., N-2) by which the polyline (..., N, 3) turns at each inner point, rad."""
    points = _polyline(points, 3)
    _, angle = _turns(points)
    return angle


def total_bend(points: npt.ArrayLike) -> Array:
    """Sum of all turning along the polyline (..., N, 3), whichever way it goes: (...), rad."""
    total: Array = np.sum(turn_angles(points), axis=-1)
    return total


def curvature_radius(points: npt.ArrayLike) -> Array:
    """Radius (..., N) of the circle through each point of (..., N, 3) and its two neighbours.

    inf where the three are in line, 0 where the curve doubles back on itself. The ends have one
    neighbour only and take the value next to them.
    """
    points = _polyline(points, 3)
    chord, angle = _turns(points)
    # circumscribed circle: the chord a-c is seen from b under the angle pi - turn
    with np.errstate(divide="ignore", invalid="ignore"):
        inner = np.where(angle > 0.0, 0.5 * chord / np.sin(angle), np.inf)
    inner = np.where(angle >= np.pi, 0.0, inner)
    return np.concatenate([inner[..., :1], inner, inner[..., -1:]], axis=-1)


@dataclass(frozen=True, eq=False)
class Approach:
    """Where two polylines are closest: the gap, the point on each, and how far along each."""

    distance: float
    on_a: Array
    on_b: Array
    along_a: float
    along_b: float


def closest_approach(points_a: npt.ArrayLike, points_b: npt.ArrayLike) -> Approach:
    """The closest approach of two polylines (N, 3) and (M, 3), segment against segment.

    For each pair of segments the squared distance is a convex quadratic over the unit square of
    their parameters, so its minimum is where its gradient vanishes, if that is inside, or on
    an edge, which is an end of one segment against the other. All five are tried, which stays
    sound for parallel and crossing segments; method from memory (Ericson, Real-Time Collision
    Detection, section 5.1, and Eberly describe the same case analysis).
    """
    a, b = _polyline(points_a, 2, single=True), _polyline(points_b, 2, single=True)
    u, v = np.diff(a, axis=0)[:, None, :], np.diff(b, axis=0)[None, :, :]
    w = a[:-1, None, :] - b[None, :-1, :]
    uu, vv, uv = _dot(u, u), _dot(v, v), _dot(u, v)
    uw, vw = _dot(u, w), _dot(v, w)
    zero, one = np.zeros_like(uv), np.ones_like(uv)
    with np.errstate(divide="ignore", invalid="ignore"):
        cross = uu * vv - uv * uv
        s_free, t_free = (uv * vw - vv * uw) / cross, (uu * vw - uv * uw) / cross
        tries = [
            (s_free, t_free),
            (zero, vw / vv),
            (one, (vw + uv) / vv),
            (-uw / uu, zero),
            ((uv - uw) / uu, one),
        ]
    # clipping keeps the four edge cases exact; nan stands for a segment of no length
    s = np.stack([np.clip(np.nan_to_num(s), 0.0, 1.0) for s, _ in tries])
    t = np.stack([np.clip(np.nan_to_num(t), 0.0, 1.0) for _, t in tries])
    gaps = np.linalg.norm(w + s[..., None] * u - t[..., None] * v, axis=-1)
    best, i, j = np.unravel_index(int(np.argmin(gaps)), gaps.shape)
    along_a, along_b = float(s[best, i, j]), float(t[best, i, j])
    lengths_a, lengths_b = arc_lengths(a), arc_lengths(b)
    return Approach(
        distance=float(gaps[best, i, j]),
        on_a=a[i] + along_a * (a[i + 1] - a[i]),
        on_b=b[j] + along_b * (b[j + 1] - b[j]),
        along_a=float(lengths_a[i] + along_a * (lengths_a[i + 1] - lengths_a[i])),
        along_b=float(lengths_b[j] + along_b * (lengths_b[j + 1] - lengths_b[j])),
    )


def _turns(points: Array) -> tuple[Array, Array]:
    """Chord from each inner point's neighbour to the other, and the turn there: (..., N-2)."""
    steps = np.diff(points, axis=-2)
    before, after = steps[..., :-1, :], steps[..., 1:, :]
    chord = np.linalg.norm(before + after, axis=-1)
    sine = np.linalg.norm(np.cross(before, after), axis=-1)
    # arccos of the cosine would lose small angles altogether
    return chord, np.arctan2(sine, _dot(before, after))


def _dot(a: Array, b: Array) -> Array:
    product: Array = np.sum(a * b, axis=-1)
    return product


def _polyline(points: npt.ArrayLike, least: int, single: bool = False) -> Array:
    array = np.asarray(points, dtype=float)
    if array.ndim < 2 or array.shape[-1] != 3 or (single and array.ndim != 2):
        raise ValueError(f"points must have the shape (N, 3), not {array.shape}")
    if array.shape[-2] < least:
        raise ValueError(f"the curve needs at least {least} points, not {array.shape[-2]}")
    return array
