"""Which line is under the pointer: the nearest centreline in the picture."""

from __future__ import annotations

from typing import Any

import numpy as np


def nearest_line(
    renderer: Any, lines: dict[str, np.ndarray], spot: tuple[float, float], reach: float
) -> str | None:
    """The line (points (M, 3) by name) whose picture passes within ``reach`` pixels of ``spot``.

    Thin tubes are hard to hit, so the distance in the picture decides, not what the ray meets.
    ``spot`` counts pixels from the lower left. Points behind the eye are not in the picture.
    """
    best, gap = None, reach
    for name, points in lines.items():
        if len(points) < 2:
            continue
        flat, ahead = in_picture(renderer, points)
        seen = ahead[:-1] & ahead[1:]
        if not seen.any():
            continue
        start, along = flat[:-1][seen], np.diff(flat, axis=0)[seen]
        length2 = np.maximum(np.sum(along**2, axis=1), 1e-12)
        part = np.clip(np.sum((np.array(spot) - start) * along, axis=1) / length2, 0.0, 1.0)
        away = start + part[:, None] * along - np.array(spot)
        distance = float(np.min(np.hypot(away[:, 0], away[:, 1])))
        if distance < gap:
            best, gap = name, distance
    return best


def from_segment(spot: np.ndarray, start: np.ndarray, end: np.ndarray) -> float:
    """How far a place (2,) of the picture is from the straight stroke between two others."""
    along = end - start
    length2 = max(float(along @ along), 1e-12)
    part = min(max(float((spot - start) @ along) / length2, 0.0), 1.0)
    return float(np.hypot(*(start + part * along - spot)))


def in_picture(renderer: Any, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where points (M, 3) are in the picture (M, 2), pixels from the lower left, and whether
    each (M,) is ahead of the eye.
    """
    width, height = renderer.GetSize()
    left, bottom = renderer.GetOrigin()
    rows = _projection(renderer)
    clip = np.column_stack((points, np.ones(len(points)))) @ rows.T
    ahead = clip[:, 3] > 0.0
    w = np.where(ahead, clip[:, 3], 1.0)
    flat = 0.5 * (clip[:, :2] / w[:, None] + 1.0) * (width, height) + (left, bottom)
    return flat, ahead


def ray(renderer: Any, spot: tuple[float, float]) -> tuple[np.ndarray, np.ndarray]:
    """The line of sight through a place in the picture: a point (3,) and a unit direction (3,)."""
    size, corner = np.array(renderer.GetSize()), np.array(renderer.GetOrigin())
    x, y = 2.0 * (np.array(spot) - corner) / size - 1.0
    ends = np.array([(x, y, -1.0, 1.0), (x, y, 1.0, 1.0)]) @ np.linalg.inv(_projection(renderer)).T
    near, far = ends[:, :3] / ends[:, 3:]
    return near, (far - near) / np.linalg.norm(far - near)


def on_plane(
    sight: tuple[np.ndarray, np.ndarray], point: np.ndarray, normal: np.ndarray
) -> np.ndarray | None:
    """Where a line of sight meets the plane through ``point``; None where it runs along it."""
    start, way = sight
    steep = float(way @ normal)
    if abs(steep) < 0.02:
        return None
    return np.asarray(start + float((point - start) @ normal) / steep * way)


def on_axis(
    sight: tuple[np.ndarray, np.ndarray], point: np.ndarray, axis: np.ndarray
) -> np.ndarray | None:
    """The point of the straight line through ``point`` that is nearest to a line of sight; None
    where one looks along it.
    """
    start, way = sight
    slant = float(way @ axis)
    square = 1.0 - slant**2
    if square < 1e-3:
        return None
    off = start - point
    return np.asarray(point + (float(off @ axis) - slant * float(off @ way)) / square * axis)


def on_path(sight: tuple[np.ndarray, np.ndarray], points: np.ndarray) -> tuple[float, float]:
    """Where a polyline (M, 3) passes nearest to a line of sight: mm along it, and the gap there.

    Each of its pieces is seen along the line of sight, where the nearest point of a straight piece
    is that of a segment in the plane. One that is seen end on counts by its start.
    """
    start, way = sight
    off = points[:-1] - start
    off -= np.outer(off @ way, way)
    step = np.diff(points, axis=0)
    across = step - np.outer(step @ way, way)
    length2 = np.maximum(np.sum(across**2, axis=1), 1e-12)
    part = np.clip(-np.sum(off * across, axis=1) / length2, 0.0, 1.0)
    gaps = np.linalg.norm(off + part[:, None] * across, axis=1)
    best = int(gaps.argmin())
    lengths = np.linalg.norm(step, axis=1)
    return float(lengths[:best].sum() + part[best] * lengths[best]), float(gaps[best])


def _projection(renderer: Any) -> np.ndarray:
    camera = renderer.GetActiveCamera()
    transform = camera.GetCompositeProjectionTransformMatrix(
        renderer.GetTiledAspectRatio(), -1.0, 1.0
    )
    return np.array([[transform.GetElement(r, c) for c in range(4)] for r in range(4)])
