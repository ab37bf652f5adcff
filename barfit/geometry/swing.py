"""How near round parts come to a solid while they turn about an axis. Lengths mm, angles rad.

A search by branch and bound: no point moves faster than its distance from the axis, and distances
change no faster than places, so the value in the middle of a stretch of a part and of the turn
bounds it all over that stretch. What could still hold something nearer is halved, the rest is
dropped (Piyavskii, USSR Comp. Math. Math. Phys. 12 (1972) 57; Shubert, SIAM J. Numer. Anal. 9
(1972) 379). Nothing is missed between two angles or two points, whatever the solid's shape.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from barfit.geometry.frames import Array, rotation

Distance = Callable[[Array], Array]
"""Signed distances (M,) of points (M, 3) from a solid, in whose sight the parts turn."""

TOLERANCE = 0.05


@dataclass(frozen=True, eq=False)
class Rods:
    """Round bars with round ends: K straights from ``starts`` to ``ends`` (K, 3), ``radii`` (K,).

    ``names`` (K,) say what each belongs to.
    """

    starts: Array
    ends: Array
    radii: Array
    names: tuple[str, ...]

    @staticmethod
    def of(name: str, course: Array, radius: float) -> Rods:
        """A chain of straights through the points (N, 3) of a course, N at least 2."""
        count = len(course) - 1
        return Rods(course[:-1], course[1:], np.full(count, radius), (name,) * count)

    def __add__(self, other: Rods) -> Rods:
        return Rods(
            np.concatenate((self.starts, other.starts)),
            np.concatenate((self.ends, other.ends)),
            np.concatenate((self.radii, other.radii)),
            self.names + other.names,
        )


@dataclass(frozen=True, eq=False)
class Nearest:
    """Where parts come nearest: the ``gap`` (negative: inside), which rod, and at which turn.

    ``point`` (3,) is on the rod's middle line, straight ahead.
    """

    gap: float
    rod: int
    turn: float
    point: Array


def least_gap(
    rods: Rods,
    distance: Distance,
    axis: Array,
    low: float,
    high: float,
    *,
    below: float = math.inf,
) -> Nearest | None:
    """The least gap between the rods and a solid, over all turns from ``low`` to ``high``.

    ``axis`` (3,) is a unit vector through the origin. The gap is above the truth by no more than
    0.05 mm. None where no gap is less than ``below``.
    """
    directions = rods.ends - rods.starts
    lengths = np.linalg.norm(directions, axis=1)
    rod = np.arange(len(lengths))
    middle, half = np.full(len(rod), 0.5), np.full(len(rod), 0.5)
    turn, reach = np.full(len(rod), 0.5 * (low + high)), np.full(len(rod), 0.5 * (high - low))
    best: Nearest | None = None
    least = below
    while len(rod):
        points = rods.starts[rod] + middle[:, None] * directions[rod]
        values = distance(turned(points, axis, turn)) - rods.radii[rod]
        at = int(np.argmin(values))
        if values[at] < least:
            least = float(values[at])
            best = Nearest(least, int(rod[at]), float(turn[at]), points[at])
        along = half * lengths[rod]
        arm = np.linalg.norm(np.cross(points, axis), axis=1) + along
        round_ = arm * reach
        keep = values - along - round_ < least - TOLERANCE
        across = (round_ > along)[keep]
        rod, middle, half = rod[keep], middle[keep], half[keep]
        turn, reach = turn[keep], reach[keep]
        half = np.where(across, half, 0.5 * half)
        reach = np.where(across, 0.5 * reach, reach)
        shift, swing = np.where(across, 0.0, half), np.where(across, reach, 0.0)
        rod = np.tile(rod, 2)
        middle = np.concatenate((middle - shift, middle + shift))
        turn = np.concatenate((turn - swing, turn + swing))
        half, reach = np.tile(half, 2), np.tile(reach, 2)
    return None if best is None else _at_rest(best, rods, distance, axis, low, high)


def gap_at(rods: Rods, distance: Distance, axis: Array, turn: float) -> float:
    """The least gap between the rods and a solid at one turn, to 0.05 mm."""
    found = least_gap(rods, distance, axis, turn, turn)
    return math.nan if found is None else found.gap


def first_below(rods: Rods, distance: Distance, axis: Array, limit: float, worst: float) -> float:
    """The turn, on the way from straight ahead to ``worst``, at which the gap first falls to
    ``limit``: to a tenth of a degree. 0 where it is below that straight ahead.

    Found by cautious steps: at a gap of g over the limit the steering may turn by g over the
    farthest point's distance from the axis before the gap can have fallen that far.
    """
    arms = [np.linalg.norm(np.cross(ends, axis), axis=1) for ends in (rods.starts, rods.ends)]
    arm = max(float(np.max(arms)), 1.0)
    turn, sign = 0.0, math.copysign(1.0, worst)
    while turn < abs(worst):
        over = gap_at(rods, distance, axis, sign * turn) - limit
        if over <= 0.0:
            break
        turn += max(over / arm, math.radians(0.1))
    return sign * min(turn, abs(worst))


def turned(points: Array, axis: Array, turn: Array) -> Array:
    """Points (M, 3), each turned about the axis through the origin by its own ``turn`` (M,)."""
    moved: Array = np.einsum("mij,mj->mi", rotation(axis, turn), points)
    return moved


def _at_rest(
    found: Nearest, rods: Rods, distance: Distance, axis: Array, low: float, high: float
) -> Nearest:
    """The same, but at a lock or straight ahead where the gap is no more there: cells end there,
    so that their middles only come near.
    """
    rod = found.rod
    rest = [turn for turn in (0.0, low, high) if low <= turn <= high]
    for turn in rest:
        share = np.linspace(0.0, 1.0, 201)[:, None]
        points = rods.starts[rod] + share * (rods.ends[rod] - rods.starts[rod])
        points = np.concatenate((points, found.point[None]))
        values = distance(turned(points, axis, np.full(len(points), turn))) - rods.radii[rod]
        at = int(np.argmin(values))
        if values[at] <= found.gap + 1e-9:
            found = Nearest(float(values[at]), rod, turn, points[at])
    return found
