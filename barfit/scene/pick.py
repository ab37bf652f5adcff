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


def in_picture(renderer: Any, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where points (M, 3) are in the picture (M, 2), pixels from the lower left, and whether
    each (M,) is ahead of the eye.
    """
    width, height = renderer.GetSize()
    left, bottom = renderer.GetOrigin()
    camera = renderer.GetActiveCamera()
    transform = camera.GetCompositeProjectionTransformMatrix(
        renderer.GetTiledAspectRatio(), -1.0, 1.0
    )
    rows = np.array([[transform.GetElement(r, c) for c in range(4)] for r in range(4)])
    clip = np.column_stack((points, np.ones(len(points)))) @ rows.T
    ahead = clip[:, 3] > 0.0
    w = np.where(ahead, clip[:, 3], 1.0)
    flat = 0.5 * (clip[:, :2] / w[:, None] + 1.0) * (width, height) + (left, bottom)
    return flat, ahead
