"""Rings to turn a fitting by, and the arrow that tells which way it points.

Each ring lies square to an axis the fitting can be turned about: the bolt of a banjo, or else the
two axes square to the way the line leaves. On the screen they are as large from near as from afar.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any

import numpy as np

from barfit.geometry.frames import rotation
from barfit.scene.camera import pixel_at
from barfit.scene.colours import Theme
from barfit.scene.mesh import finished, ring, sheet, square_to, unit
from barfit.scene.over import EDGE, Arrow, arrow, on_top
from barfit.scene.pick import from_segment, in_picture, nearest_line, on_plane, ray

# Pixels from the place that is turned: rings outside of the handles it is moved by, the arrow's
# tip outside of the rings.
RADIUS = 94.0
ARROW = (RADIUS - 22.0, 126.0)
_WIRE, _WIRE_HOT = 1.5, 2.4
_STEPS = 72
# Seen flatter than that a ring is drawn along as a straight line.
_FLAT = 0.15
_TOLD = 3.0  # pixels nearer to the far side than to the near one, and that is meant
_PLUMB = 0.97  # a line that leaves so nearly up or down is turned forward or back, left or right
_SWEPT = 0.45  # opacity of the angle that was turned
_TOWARDS = (("forward", "back"), ("left", "right"), ("up", "down"))


class Ring(StrEnum):
    """What a ring turns a fitting about: its bolt, the level axis, the upright one."""

    BOLT = "bolt"
    LEVEL = "level"
    UPRIGHT = "upright"


def axes(leaving: np.ndarray, bolt: np.ndarray | None = None) -> dict[Ring, np.ndarray]:
    """The unit axes (3,) about which what points along ``leaving`` (3,), of length one, can be
    turned: a banjo's about its bolt alone, anything else about two axes square to it. A positive
    turn about the level one goes up, or forward where it is nearly plumb.
    """
    if bolt is not None:
        return {Ring.BOLT: unit(bolt)}
    up = np.array([0.0, 0.0, 1.0]) if abs(leaving[2]) < _PLUMB else np.array([1.0, 0.0, 0.0])
    level = unit(np.cross(leaving, up))
    return {Ring.LEVEL: level, Ring.UPRIGHT: np.cross(level, leaving)}


def towards(leaving: np.ndarray, axis: np.ndarray) -> tuple[str, str]:
    """Where a positive turn about ``axis`` takes what points along ``leaving``, and where a
    negative one: forward or back, left or right, up or down, whichever it is most.
    """
    goes = np.cross(axis, leaving)
    most = int(np.abs(goes).argmax())
    one, other = _TOWARDS[most]
    return (one, other) if goes[most] > 0.0 else (other, one)


@dataclass(frozen=True, eq=False)
class Turning:
    """A turn under way: about ``axis`` (3,), so far from where it pointed along ``start`` (3,)."""

    ring: Ring
    axis: np.ndarray
    start: np.ndarray
    by: float = 0.0


class Rings:
    """The rings of one fitting on a plotter. ``hot`` is the one under the pointer; while one is
    ``held``, it stays as it was taken hold of and the others are not shown.
    """

    def __init__(self, plotter: Any) -> None:
        self._plotter = plotter
        self._drawn: dict[Ring, Arrow] = {}
        self._arrow: Arrow | None = None
        self._swept: Any = None
        self._size = 1.0
        self.point: np.ndarray | None = None
        self.leaving = np.zeros(3)
        self.axes: Mapping[Ring, np.ndarray] = {}
        self.hot: Ring | None = None
        self.hot_tip = False
        self.held: Turning | None = None

    def put(
        self,
        point: np.ndarray | None,
        leaving: np.ndarray | None = None,
        bolt: np.ndarray | None = None,
    ) -> None:
        """Turn by them what is at ``point`` (3,) and points along ``leaving`` (3,), on that
        ``bolt`` (3,) if it is a banjo; None: nothing can be turned now.
        """
        self.point = point
        if point is None or leaving is None:
            self.point, self.hot, self.hot_tip, self.held, self.axes = None, None, False, None, {}
            self._hide()
            return
        self.leaving = leaving
        self.axes = axes(leaving, bolt) if self.held is None else {self.held.ring: self.held.axis}

    def take(self, ring: Ring) -> None:
        """Hold a ring from now on. Raises KeyError for one that is not there."""
        axis = self.axes[ring]
        self.held = Turning(ring, axis, self.leaving)
        self.axes = {ring: axis}

    def let_go(self) -> None:
        """Hold none."""
        self.held = None

    def lay_out(self, theme: Theme, scale: float) -> None:
        """As they are in the frame about to be drawn, ``scale`` times as large as usual."""
        if self.point is None:
            return
        self._make()
        self._hide()
        self._size = pixel_at(self._plotter, self.point) * scale
        for name, axis in self.axes.items():
            hot = name == self.hot or self.held is not None
            drawn = self._drawn[name]
            drawn.actor.mapper.dataset = _mesh(hot)
            drawn.edge.mapper.dataset = _mesh(hot, EDGE)
            where = self._where(np.column_stack((*square_to(axis), axis)))
            drawn.put(where, theme.handle_hot if hot else theme.handle, theme.label)
            drawn.show(True)
        assert self._arrow is not None
        where = self._where(np.column_stack((self.leaving, *square_to(self.leaving))))
        self._arrow.put(where, theme.handle_hot if self.hot_tip else theme.handle, theme.label)
        self._arrow.show(True)
        if self.held is not None and abs(self.held.by) > 1e-6:
            self._swept.mapper.dataset = finished([sheet(_sector(self.held))])
            self._swept.user_matrix = self._where(np.eye(3))
            self._swept.prop.color = theme.handle_hot
            self._swept.SetVisibility(True)

    def pick(self, spot: tuple[float, float], reach: float) -> Ring | None:
        """The ring at a place in the picture, within ``reach`` pixels."""
        if self.point is None:
            return None
        lines = {str(name): self._round(axis) for name, axis in self.axes.items()}
        found = nearest_line(self._plotter.renderer, lines, spot, reach)
        return None if found is None else Ring(found)

    def pick_tip(self, spot: tuple[float, float], reach: float) -> bool:
        """Whether the head of the arrow is there."""
        if self.point is None:
            return False
        neck = self.point + self._size * (ARROW[1] - 14.0) * self.leaving
        flat, ahead = in_picture(self._plotter.renderer, np.array((neck, self.tip)))
        return bool(ahead.all()) and from_segment(np.array(spot), *flat) <= reach

    @property
    def tip(self) -> np.ndarray:
        """Where the arrow ends (3,); only while there is one."""
        assert self.point is not None
        return self.point + self._size * ARROW[1] * self.leaving

    def ends(self) -> np.ndarray:
        """Points (M, 3) round all of it."""
        if self.point is None:
            return np.empty((0, 3))
        return np.vstack((self.tip, *(self._round(axis) for axis in self.axes.values())))

    def on_ring(self, ring: Ring, angle: float) -> np.ndarray:
        """A point (3,) of a ring, ``angle`` rad round it. Raises KeyError."""
        assert self.point is not None
        return np.asarray(self.point + self._size * RADIUS * _spoke(self.axes[ring], angle))

    def angle(self, first: tuple[float, float], last: tuple[float, float]) -> float | None:
        """How far (rad, from -pi to pi) drawing from one place of the picture to another turns
        what is held; None where that cannot be told.
        """
        if self.held is None or self.point is None:
            return None
        axis, renderer = self.held.axis, self._plotter.renderer
        sight = unit(self.point - np.array(self._plotter.camera.position))
        facing = float(sight @ axis)
        if abs(facing) < _FLAT:
            return self._along(first, last, axis, sight)
        ends = [on_plane(ray(renderer, spot), self.point, axis) for spot in (first, last)]
        if ends[0] is None or ends[1] is None:
            return None
        a, b = ends[0] - self.point, ends[1] - self.point
        return math.atan2(float(np.cross(a, b) @ axis), float(a @ b))

    def _along(
        self, first: tuple[float, float], last: tuple[float, float], axis: np.ndarray, sight: Any
    ) -> float:
        """The same of a ring seen from its edge: as if the side that the first place is on were
        drawn along, which is the near one where that cannot be told.
        """
        assert self.point is not None
        near = unit(-sight + float(sight @ axis) * axis)
        rim = self._round(axis)
        flat, _ = in_picture(self._plotter.renderer, rim)
        away = np.hypot(*(flat - np.array(first)).T)
        before = (rim - self.point) @ near > 0.0
        if away[~before].min() + _TOLD < away[before].min():
            near = -near
        here = self.point + self._size * RADIUS * near
        step = 0.01 * self._size * RADIUS * np.cross(axis, near)
        flat, _ = in_picture(self._plotter.renderer, np.array((here - step, here + step)))
        across = 50.0 * (flat[1] - flat[0])  # pixels to a radian there
        by = float(np.subtract(last, first) @ across) / max(float(across @ across), 1.0)
        return math.remainder(by, 2.0 * math.pi)

    def _round(self, axis: np.ndarray) -> np.ndarray:
        assert self.point is not None
        angles = np.linspace(0.0, 2.0 * np.pi, _STEPS + 1)
        return np.asarray(self.point + self._size * RADIUS * _spoke(axis, angles))

    def _where(self, turned: np.ndarray) -> np.ndarray:
        where = np.eye(4)
        where[:3, :3], where[:3, 3] = self._size * turned, self.point
        return where

    def _hide(self) -> None:
        for drawn in (*self._drawn.values(), self._arrow):
            if drawn is not None:
                drawn.show(False)
        if self._swept is not None:
            self._swept.SetVisibility(False)

    def _make(self) -> None:
        if self._arrow is not None:
            return
        meshes = _mesh(False), _mesh(False, EDGE)
        self._drawn = {name: Arrow(self._plotter, f"ring {name}", *meshes) for name in Ring}
        self._arrow = Arrow(self._plotter, "ring arrow", _pointer(), _pointer(EDGE))
        self._swept = on_top(self._plotter, "ring swept", _mesh(False), lighting=False)
        self._swept.prop.opacity = _SWEPT


def _spoke(axis: np.ndarray, angle: Any) -> np.ndarray:
    """The unit direction (..., 3) square to an axis, ``angle`` rad (...) round it."""
    u, v = square_to(axis)
    angle = np.asarray(angle)[..., None]
    return np.asarray(np.cos(angle) * u + np.sin(angle) * v)


def _sector(turning: Turning) -> np.ndarray:
    """The angle turned through, as rows (2, S, 3) of points at a pixel to a millimetre: what is
    swept between the way it pointed and the way it points, out to the ring.
    """
    along = float(turning.start @ turning.axis) * turning.axis
    across = turning.start - along
    if np.linalg.norm(across) < 1e-6:
        across = square_to(turning.axis)[0]
    steps = max(int(abs(turning.by) / 0.05), 1) + 1
    turns = rotation(turning.axis, np.linspace(0.0, turning.by, steps))
    rim = RADIUS * (turns @ unit(across))
    return np.stack((0.35 * rim, rim))


@cache
def _mesh(hot: bool, edge: float = 0.0) -> Any:
    wire = (_WIRE_HOT if hot else _WIRE) + edge
    return finished([ring(np.zeros(3), np.array([0.0, 0.0, 1.0]), RADIUS, wire, _STEPS, 12)])


@cache
def _pointer(edge: float = 0.0) -> Any:
    """The arrow along x, at a pixel to a millimetre."""
    start, tip = (np.array([at, 0.0, 0.0]) for at in ARROW)
    return finished([arrow(start, tip, edge=edge)])
