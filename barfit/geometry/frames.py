"""Directions and rotations of a motorcycle's front end.

Axes follow ISO 8855: x forward, y left, z up; a turn to the left is a positive, right-hand
rotation about the steering axis, whose direction points up and back. Lengths mm, angles rad.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

Array = npt.NDArray[np.float64]

LEFT: Array = np.array([0.0, 1.0, 0.0])
MIRROR: Array = np.array([1.0, -1.0, 1.0])  # times a vector: its image on the other side

# A tube is taken to run sideways where its direction has at least the second part outward, and
# to be an upright or a fore-and-aft run where it has less than the first; see `attitude`.
_UPRIGHT, _SIDEWAYS = 0.15, 0.35


def rotation(axis: npt.ArrayLike, angle: npt.ArrayLike) -> Array:
    """Right-hand rotation about ``axis`` (3,), any length but zero: (3, 3), or (..., 3, 3).

    ``angle`` may be an array of any shape. Raises ValueError for an axis of no length.
    """
    axis = np.asarray(axis, dtype=float)
    length = float(np.linalg.norm(axis))
    if not (math.isfinite(length) and length > 0.0):
        raise ValueError("a rotation needs an axis of finite, non-zero length")
    angle = np.asarray(angle, dtype=float)
    vectors = angle.reshape(-1, 1) * (axis / length)
    matrices: Array = Rotation.from_rotvec(vectors).as_matrix()
    return matrices.reshape(*angle.shape, 3, 3)


def steering_axis(rake: float) -> Array:
    """Unit direction (3,) of the steering axis, pointing up and back."""
    return np.array([-math.sin(rake), 0.0, math.cos(rake)])


def steering_frame(rake: float) -> Array:
    """Columns: forward square to the steering axis, left, along the axis. (3, 3)."""
    forward = np.array([math.cos(rake), 0.0, math.sin(rake)])
    return np.column_stack([forward, LEFT, steering_axis(rake)])


def local_to_machine(rake: float, sx: float, y: float, s: float) -> Array:
    """A point (3,) given forward of the steering axis, to the left, and up along the axis."""
    return steering_frame(rake) @ np.array([sx, y, s])


def attitude(outward: npt.ArrayLike) -> tuple[Array, Array]:
    """Forward and up (3,) of a level control on a left-hand tube that runs along ``outward``.

    Both are unit vectors square to the tube and to each other; (forward, outward, up) is
    right-handed. The right-hand side is the mirror image.

    Where the tube runs sideways, as under the hand, forward is horizontal. On an upright no
    horizontal direction square to the tube need point forward, so there forward is what
    remains of the machine's x axis square to the tube, and up, completing the frame, points
    inboard. In between one turns smoothly into the other, so that a clip moved along the bar
    never jumps. Raises ValueError when ``outward`` has no length.
    """
    tube = np.asarray(outward, dtype=float)
    length = float(np.linalg.norm(tube))
    if not (math.isfinite(length) and length > 0.0):
        raise ValueError("a tube needs a direction of finite, non-zero length")
    tube = tube / length
    part = min(max((tube[1] - _UPRIGHT) / (_SIDEWAYS - _UPRIGHT), 0.0), 1.0)
    weight = part * part * (3.0 - 2.0 * part)
    forward = np.zeros(3)
    if weight < 1.0:
        # x less its part along the tube, written so that it keeps its digits when that is most
        along_x = np.array([tube[1] ** 2 + tube[2] ** 2, -tube[0] * tube[1], -tube[0] * tube[2]])
        size = float(np.linalg.norm(along_x))
        if size < 1e-9:  # the tube runs fore and aft: x has no part square to it
            weight = 1.0
        else:
            forward = (1.0 - weight) * along_x / size
    if weight > 0.0:
        level = np.array([tube[1], -tube[0], 0.0])
        forward = forward + weight * level / np.linalg.norm(level)
    forward = forward / np.linalg.norm(forward)
    (a, b, c), (x, y, z) = forward, tube
    up = np.array([b * z - c * y, c * x - a * z, a * y - b * x])  # np.cross takes ten times as long
    return forward, up


def trail(wheel_radius: float, rake: float, offset: float) -> tuple[float, float]:
    """Ground trail and normal trail, mm.

    ``offset`` is the distance of the wheel axle ahead of the steering axis, square to it.
    Standard chassis geometry: normal = R sin(rake) - offset, ground = normal / cos(rake).
    """
    normal = wheel_radius * math.sin(rake) - offset
    return normal / math.cos(rake), normal


def kinematic_steer(turn: float, rake: float) -> float:
    """Angle on the ground of the upright machine's front wheel for a turn of the bars, rad.

    Standard chassis geometry: tan(steer) = tan(turn) cos(rake).
    """
    return math.atan2(math.sin(turn) * math.cos(rake), math.cos(turn))
