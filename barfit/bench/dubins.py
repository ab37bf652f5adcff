"""The shortest plane path of bounded curvature between two directed points.

L. E. Dubins, "On curves of minimal length with a constraint on average curvature, and with
prescribed initial and terminal positions and tangents", Amer. J. Math. 79 (1957) 497-516: the
shortest path is one of six words of left arcs, right arcs and straights. A line that nowhere
bends tighter than a radius cannot be shorter than this path.
"""

from __future__ import annotations

import numpy as np

WORDS = ("LSL", "RSR", "LSR", "RSL", "LRL", "RLR")
_SIDE = {"L": 1.0, "R": -1.0}
# Where circles touch in line, arccos near 1 leaves half the digits of an angle.
_TOUCH = 1e-6


def dubins_length(
    start: tuple[float, float, float], end: tuple[float, float, float], radius: float
) -> float:
    """The length of the shortest path; ``start`` and ``end`` are x, y and heading in rad."""
    lengths = [path_length(word, start, end, radius) for word in WORDS]
    return min(length for length in lengths if length is not None)


def path_length(
    word: str,
    start: tuple[float, float, float],
    end: tuple[float, float, float],
    radius: float,
) -> float | None:
    """The length of one word between the two poses, None where it does not exist.

    Written with the centres of the first and last turning circle: a straight is one of their
    tangents, a middle arc belongs to a circle that touches both.
    """
    first, last = _SIDE[word[0]], _SIDE[word[2]]
    a = _centre(start, first, radius)
    b = _centre(end, last, radius)
    gap = b - a
    distance = float(np.hypot(*gap))
    bearing = float(np.arctan2(gap[1], gap[0]))
    if word[1] == "S":
        if first == last:
            straight, heading = distance, bearing
        else:
            if distance < 2 * radius * (1 - 1e-12):  # circles that only just touch are allowed
                return None
            straight = float(np.sqrt(max(distance**2 - 4 * radius**2, 0.0)))
            heading = bearing + first * float(np.arcsin(min(2 * radius / distance, 1.0)))
        turns = _turn(start[2], heading, first) + _turn(heading, end[2], last)
        return straight + radius * turns
    if distance > 4 * radius * (1 + 1e-12):
        return None
    # The middle circle lies on either side of the line of centres; only a middle arc of more than
    # half a turn can be shortest (Dubins, theorem I), which picks the side.
    lean = float(np.arccos(min(distance / (4 * radius), 1.0)))
    for side in (1.0, -1.0):
        towards = bearing + side * lean
        middle = a + 2 * radius * np.array([np.cos(towards), np.sin(towards)])
        leave = _heading_at(a, middle, first)
        join = _heading_at(b, middle, last)
        middle_turn = _turn(leave, join, -first)
        if middle_turn > np.pi - _TOUCH:  # half a turn: the three circles touch in line
            turns = _turn(start[2], leave, first) + middle_turn + _turn(join, end[2], last)
            return radius * turns
    return None


def _centre(pose: tuple[float, float, float], side: float, radius: float) -> np.ndarray:
    x, y, heading = pose
    return np.array([x - side * radius * np.sin(heading), y + side * radius * np.cos(heading)])


def _heading_at(centre: np.ndarray, towards: np.ndarray, side: float) -> float:
    """The heading on a circle, driven to that side, at the point that faces ``towards``."""
    out = towards - centre
    return float(np.arctan2(out[1], out[0])) + side * np.pi / 2


def _turn(heading: float, target: float, side: float) -> float:
    """The angle in [0, 2π) to turn to that side; a turn within rounding of 2π is none."""
    turn = float(np.mod(side * (target - heading), 2 * np.pi))
    return 0.0 if turn > 2 * np.pi - _TOUCH else turn
