"""Writhe of a closed polygon, by Gauss's double sum: independent of any frame carried along it."""

from __future__ import annotations

import numpy as np


def writhe(points: np.ndarray) -> float:
    """Writhe of the closed polygon through points (N, 3), the last joined to the first.

    The Gauss integral of two straight segments is the solid angle of the directions in which they
    are seen to cross (Klenin and Langowski, Biopolymers 54, 2000, method 1a); summed over pairs.
    """
    start, end = points, np.roll(points, -1, axis=0)
    i, j = np.triu_indices(len(points), 2)
    keep = ~((i == 0) & (j == len(points) - 1))  # neighbours do not cross
    i, j = i[keep], j[keep]
    r13, r14 = start[j] - start[i], end[j] - start[i]
    r23, r24 = start[j] - end[i], end[j] - end[i]
    sides = [np.cross(*pair) for pair in ((r13, r14), (r14, r24), (r24, r23), (r23, r13))]
    lengths = [np.linalg.norm(side, axis=1) for side in sides]
    flat = np.min(lengths, axis=0) < 1e-12 * np.max(lengths)  # segments in one plane
    units = [
        side / np.where(flat, 1.0, length)[:, None]
        for side, length in zip(sides, lengths, strict=True)
    ]
    angle = sum(
        np.arcsin(np.clip((units[k] * units[(k + 1) % 4]).sum(1), -1.0, 1.0)) for k in range(4)
    )
    sign = np.sign((np.cross(end[j] - start[j], end[i] - start[i]) * r13).sum(1))
    return float(np.where(flat, 0.0, angle * sign).sum() / (2.0 * np.pi))
