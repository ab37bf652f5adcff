"""Forms made once about the origin, and where each is put: what is drawn in many places, or moved
by a hand, is not made anew but turned and shifted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from barfit.scene.mesh import Surface, block, ring, rod, square_to, turned

_KEPT = 1024  # forms; those of one machine are some fifty
_ALONG = np.array([0.0, 0.0, 1.0])  # the way forms go about the origin
_AXES = (np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]), _ALONG)


@dataclass(frozen=True, eq=False)
class Place:
    """A point of a form goes to ``turn`` @ (x, y, ``length`` z) + ``shift``: a rotation (3, 3), a
    point (3,), and how many times as long it is along its own third axis. Normals are right for a
    ``length`` other than 1 where they are along or square to that axis, as a prism's are.
    """

    turn: np.ndarray
    shift: np.ndarray
    length: float = 1.0

    def points(self, points: np.ndarray) -> np.ndarray:
        """Points (N, 3) of the form put there."""
        stretched = self.turn if self.length == 1.0 else self.turn * (1.0, 1.0, self.length)
        return points @ stretched.T + self.shift

    def within(self, outer: Place) -> Place:
        """This place as one of an assembly that is itself put at ``outer``, unstretched."""
        return Place(outer.turn @ self.turn, outer.turn @ self.shift + outer.shift, self.length)


HERE = Place(np.eye(3), np.zeros(3))


def along(point: np.ndarray, way: np.ndarray, length: float = 1.0) -> Place:
    """The place at which a form that goes along its third axis goes along ``way`` (3,) from
    ``point``, just as if it had been made there.
    """
    way = way / float(np.sqrt(way @ way))
    u, v = square_to(way)
    # square to the third axis, the same rule gives the second and minus the first
    return Place(np.array((-v, u, way)).T, point, length)


def axes_at(point: np.ndarray, axes: Sequence[np.ndarray]) -> Place:
    """The place at ``point`` along three axes (3,), right-handed."""
    return Place(np.array(axes).T, point)


Profile = Sequence[tuple[float, float]]


def lathe(profile: Profile, sides: int) -> Surface:
    """A part turned on a lathe along the third axis, as `barfit.scene.mesh.turned`."""
    return _lathe(tuple(profile), sides)


@lru_cache(_KEPT)
def _lathe(profile: tuple[tuple[float, float], ...], sides: int) -> Surface:
    return turned(np.zeros(3), _ALONG, profile, sides)


@lru_cache(_KEPT)
def torus(radius: float, wire: float) -> Surface:
    """A ring of round wire about the third axis."""
    return ring(np.zeros(3), _ALONG, radius, wire)


@lru_cache(_KEPT)
def brick(size: tuple[float, float, float], rounding: float) -> Surface:
    """A box along the axes, as `barfit.scene.mesh.block`."""
    return block(np.zeros(3), _AXES, size, rounding)


@lru_cache(_KEPT)
def pole(radius: float, sides: int) -> Surface:
    """A straight round bar 1 mm long along the third axis, to be put at any ``length``."""
    return rod(np.zeros(3), _ALONG, radius, sides)
