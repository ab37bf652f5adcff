"""Handles to move a place by: arrows along the machine's three axes, and a square between each
two of them. On the screen they are as large from near as from afar.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from barfit.scene.camera import pixel_at
from barfit.scene.colours import Theme
from barfit.scene.mesh import Surface, finished, sheet, unit
from barfit.scene.over import EDGE, Arrow, arrow
from barfit.scene.pick import from_segment, in_picture

# Of a handle's parts, pixels from the place it moves: arrows from the one to the other, squares
# from corner to corner. The place itself stays free to be drawn about by its own mark.
ARROW = (17.0, 78.0)
SQUARE = (23.0, 43.0)
# An arrow that points at the eye, and a square seen from its edge, can only be missed.
_LEAST_SINE, _LEAST_COSINE = 0.30, 0.20
_OVER_SQUARE = 0.4  # of the reach: nearer than that an arrow is meant, though it crosses a square
_BOLD = 1.35  # times as thick is the one under the pointer
_CLEAR, _CLEAR_HOT = 0.50, 0.80  # opacity of squares


@dataclass(frozen=True)
class Grip:
    """One handle: along ``axis`` (0 forward, 1 left, 2 up), or in the plane square to it."""

    axis: int
    plane: bool = False

    @property
    def words(self) -> str:
        """Where it moves a place, in the words of the trade."""
        if not self.plane:
            return ("forward or back", "left or right", "up or down")[self.axis]
        return ("left and up", "forward and up", "forward and left")[self.axis]


GRIPS = (*(Grip(axis, True) for axis in range(3)), *(Grip(axis) for axis in range(3)))


def usable(sight: np.ndarray) -> tuple[Grip, ...]:
    """The handles that can be told and drawn by, seen along ``sight`` (3,), of length one."""
    cosine = np.abs(np.asarray(sight, dtype=float))
    sine = np.sqrt(np.maximum(1.0 - cosine**2, 0.0))
    return tuple(
        grip
        for grip in GRIPS
        if (cosine[grip.axis] >= _LEAST_COSINE if grip.plane else sine[grip.axis] >= _LEAST_SINE)
    )


def outline(grip: Grip) -> np.ndarray:
    """An arrow's two ends (2, 3), or a square's four corners (4, 3), at a pixel to a millimetre
    from the place they move.
    """
    if not grip.plane:
        ends = np.zeros((2, 3))
        ends[:, grip.axis] = ARROW
        return ends
    near, far = SQUARE
    corners = np.zeros((4, 3))
    first, second = (k for k in range(3) if k != grip.axis)
    corners[:, first] = (near, far, far, near)
    corners[:, second] = (near, near, far, far)
    return corners


def hit(
    outlines: Iterable[tuple[Grip, np.ndarray]], spot: tuple[float, float], reach: float
) -> Grip | None:
    """The handle at a place in the picture, of those whose outlines (K, 2) are given there.

    An arrow is hit within ``reach`` of it, a square inside of it. Where one lies over the other,
    the arrow is meant only close to it; of several squares the one that is seen largest.
    """
    at = np.array(spot)
    arrow, gap = None, reach
    square, size = None, 0.0
    for grip, flat in outlines:
        if grip.plane:
            area = _area(flat)
            if area > size and _inside(flat, at):
                square, size = grip, area
            continue
        away = from_segment(at, flat[0], flat[1])
        if away <= gap:
            arrow, gap = grip, away
    if square is not None and gap > _OVER_SQUARE * reach:
        return square
    return arrow


def _area(flat: np.ndarray) -> float:
    """Of a convex outline (K, 2)."""
    x, y = flat.T
    return 0.5 * abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def _inside(flat: np.ndarray, at: np.ndarray) -> bool:
    """Whether a place is within a convex outline (K, 2), whichever way that runs round."""
    side, to = np.roll(flat, -1, axis=0) - flat, at - flat
    turn = side[:, 0] * to[:, 1] - side[:, 1] * to[:, 0]
    return bool((turn >= 0.0).all() or (turn <= 0.0).all())


class Triad:
    """The handles of one place on a plotter. ``hot`` is the one under the pointer."""

    def __init__(self, plotter: Any) -> None:
        self._plotter = plotter
        self._handles: dict[Grip, Arrow] = {}
        self._shown: tuple[Grip, ...] = ()
        self._size = 1.0
        self.point: np.ndarray | None = None
        self.hot: Grip | None = None

    def put(self, point: np.ndarray | None) -> None:
        """Move a place (3,) by them; None: nothing can be moved now."""
        self.point = point
        if point is None:
            self.hot = None
            self._show(())

    def lay_out(self, theme: Theme, scale: float, shown: bool = True) -> None:
        """As they are in the frame about to be drawn, ``scale`` times as large as usual; or none
        while something else is held there.
        """
        if self.point is None:
            return
        if not shown:
            self._show(())
            return
        self._make()
        self._size = pixel_at(self._plotter, self.point) * scale
        self._show(usable(unit(self.point - np.array(self._plotter.camera.position))))
        where = np.diag((self._size, self._size, self._size, 1.0))
        where[:3, 3] = self.point
        for grip in self._shown:
            handle, hot = self._handles[grip], grip == self.hot
            handle.put(where, theme.handle_hot if hot else theme.handle, theme.label)
            handle.actor.mapper.dataset = _mesh(grip, hot)
            handle.edge.mapper.dataset = _mesh(grip, hot, EDGE)
            if grip.plane:
                handle.actor.prop.opacity = _CLEAR_HOT if hot else _CLEAR

    def pick(self, spot: tuple[float, float], reach: float) -> Grip | None:
        """The handle at a place in the picture, within ``reach`` pixels."""
        if self.point is None:
            return None
        flats = []
        for grip in self._shown:
            flat, ahead = in_picture(
                self._plotter.renderer, self.point + self._size * outline(grip)
            )
            if ahead.all():
                flats.append((grip, flat))
        return hit(flats, spot, reach)

    def tip(self, grip: Grip) -> np.ndarray:
        """Where a handle ends (3,), or the middle of its square; only while it has a place."""
        assert self.point is not None
        ends = outline(grip)
        return self.point + self._size * (ends.mean(axis=0) if grip.plane else ends[1])

    def ends(self) -> np.ndarray:
        """Where all that are drawn end (G, 3)."""
        ends = [self.tip(grip) for grip in self._shown if self.point is not None]
        return np.array(ends).reshape(-1, 3)

    @property
    def shown(self) -> tuple[Grip, ...]:
        """The handles that are drawn now."""
        return self._shown

    def _show(self, grips: tuple[Grip, ...]) -> None:
        self._shown = grips
        for grip, handle in self._handles.items():
            handle.show(grip in grips)

    def _make(self) -> None:
        for grip in GRIPS if not self._handles else ():
            meshes = _mesh(grip, False), _mesh(grip, False, EDGE)
            self._handles[grip] = Arrow(self._plotter, f"handle {grip}", *meshes)


@cache
def _mesh(grip: Grip, hot: bool, edge: float = 0.0) -> Any:
    return finished([_surface(grip, hot, edge)])


def _surface(grip: Grip, hot: bool, edge: float) -> Surface:
    ends = outline(grip)
    if grip.plane:
        grown = ends + edge * np.sign(ends - ends.mean(axis=0))
        return sheet(grown[[0, 1, 3, 2]].reshape(2, 2, 3))
    bold = _BOLD if hot else 1.0
    return arrow(ends[0], ends[1], bold, edge)
