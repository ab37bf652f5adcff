"""Where a pointer's place in some pose leads to: points taken back to straight ahead, and caught
by the surface of a solid that rides along."""

from __future__ import annotations

import numpy as np

from barfit.geometry.parts import shape_distance_with_gradient
from barfit.geometry.pose import body_motion
from barfit.model import Body, Machine, Vec

CATCH = 10.0  # mm from where it would lie on a surface, a point is caught by that


def taken_back(machine: Machine, body: Body, point: np.ndarray, turn: float, travel: float) -> Vec:
    """A point (3,) of a body in a pose (rad, mm) where it is straight ahead at ride height."""
    turned, shift = body_motion(machine, body, turn, travel)
    x, y, z = (float(v) for v in turned.T @ (point - shift))
    return x, y, z


def way_back(machine: Machine, body: Body, way: np.ndarray, turn: float) -> Vec:
    """A direction (3,) on a body in a pose as it is straight ahead, at length one."""
    turned, _ = body_motion(machine, body, turn, 0.0)
    back = turned.T @ way
    x, y, z = (float(v) for v in back / np.linalg.norm(back))
    return x, y, z


def caught(machine: Machine, body: Body, point: Vec, off: float) -> tuple[Vec, str | None]:
    """The point ``off`` mm from the surface of the nearest solid on its body, where it is within
    `CATCH` of that; and the solid's name. Otherwise the point itself, and None.
    """
    best: tuple[float, np.ndarray, str] | None = None
    here = np.array(point)
    for solid in machine.solids:
        if solid.body is not body:
            continue
        distance, gradient = shape_distance_with_gradient(solid.shape, here[None])
        miss = float(off - distance[0])
        if abs(miss) <= CATCH and (best is None or abs(miss) < abs(best[0])):
            best = miss, gradient[0], solid.name
    if best is None:
        return point, None
    x, y, z = (float(v) for v in here + best[0] * best[1])
    return (x, y, z), best[2]
