"""How far a rod strays from its taut path: bow, turning, and how near it comes to itself."""

from __future__ import annotations

import numpy as np

from barfit.compiled import compiled
from barfit.mechanics.kernels import Array


@compiled
def _to_segment(points: Array, i: int, path: Array, j: int) -> float:
    """Distance of point i from the segment of a path that begins at its point j."""
    along = square = 0.0
    for c in range(3):
        d = path[j + 1, c] - path[j, c]
        along += (points[i, c] - path[j, c]) * d
        square += d * d
    share = min(max(along / square, 0.0), 1.0) if square > 0.0 else 0.0
    gap = 0.0
    for c in range(3):
        d = points[i, c] - path[j, c] - share * (path[j + 1, c] - path[j, c])
        gap += d * d
    return gap


@compiled
def bows(nodes: Array, paths: Array, out: Array) -> None:
    """Fill ``out`` (B,) with the greatest distance of the nodes (B, N, 3) from a path (B, M, 3)."""
    for b in range(nodes.shape[0]):
        furthest = 0.0
        for i in range(nodes.shape[1]):
            nearest = np.inf
            for j in range(paths.shape[1] - 1):
                nearest = min(nearest, _to_segment(nodes[b], i, paths[b], j))
            furthest = max(furthest, nearest)
        out[b] = np.sqrt(furthest)


@compiled
def self_gaps(nodes: Array, edges: Array, apart: Array, out: Array) -> None:
    """Fill ``out`` (B,) with how near each rod comes to itself, between places at least ``apart``
    (B,) mm of rod from each other; inf where it has no such places.
    """
    count = nodes.shape[1]
    for b in range(nodes.shape[0]):
        nearest = np.inf
        skip = int(np.ceil(apart[b] / edges[b]))
        for i in range(count):
            for j in range(i + skip, count - 1):
                nearest = min(nearest, _to_segment(nodes[b], i, nodes[b], j))
        out[b] = np.sqrt(nearest)


def bow(nodes: np.ndarray, paths: np.ndarray) -> np.ndarray:
    """Greatest distance (B,) mm of rods' nodes (B, N, 3) from polylines (B, M, 3)."""
    out = np.empty(len(nodes))
    bows(np.ascontiguousarray(nodes), np.ascontiguousarray(paths), out)
    return out


def self_gap(nodes: np.ndarray, edges: np.ndarray, apart: np.ndarray) -> np.ndarray:
    """How near (B,) mm rods of nodes (B, N, 3) and edge lengths (B,) mm come to themselves,
    between places at least ``apart`` (B,) mm of rod from each other.
    """
    out = np.empty(len(nodes))
    self_gaps(np.ascontiguousarray(nodes), edges, apart, out)
    return out


def turning(nodes: np.ndarray) -> np.ndarray:
    """Total turning (B,) rad along rods of nodes (B, N, 3), whichever way it goes."""
    steps = np.diff(nodes, axis=1)
    sine = np.linalg.norm(np.cross(steps[:, :-1], steps[:, 1:]), axis=-1)
    total: np.ndarray = np.arctan2(sine, (steps[:, :-1] * steps[:, 1:]).sum(-1)).sum(-1)
    return total
