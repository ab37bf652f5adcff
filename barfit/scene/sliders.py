"""The controls on the bar as things to be taken hold of and slid along it.

Nothing is drawn at those that are left alone. The one under the pointer is tinted, and it and the
one looked at have an arrow either way along the bar.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

from barfit.geometry.pose import bar_shape, control_frame
from barfit.model import BarSet, Control, Machine, Setup, Side
from barfit.scene.bars import parts_of_control
from barfit.scene.camera import pixel_at
from barfit.scene.colours import Theme
from barfit.scene.groups import matrix
from barfit.scene.mesh import finished, square_to, unit
from barfit.scene.over import EDGE, Arrow, arrow, on_top
from barfit.scene.pick import from_segment, in_picture, on_path, ray

_ARROW = (15.0, 58.0)  # pixels from the control's middle along the bar, either way
_LEAST_SINE = 0.25  # seen more end on than that, a place along the bar cannot be told
_TINT = 0.35
_FAR = 1e4  # mm from the eye: past any machine


class ControlMarks:
    """The controls of one setup on its bars; ``looked_at`` has its form open, ``hot`` is under the
    pointer.
    """

    def __init__(self, plotter: Any) -> None:
        self._plotter = plotter
        self._made: tuple[Machine, BarSet, tuple[Control, ...]] | None = None
        self._meshes: dict[str, Any] = {}
        self._rails: dict[Side, np.ndarray] = {}
        self._places: dict[str, tuple[Side, np.ndarray, np.ndarray]] = {}
        self._turn, self._shift = np.eye(3), np.zeros(3)
        self._arrows: list[Arrow] = []
        self._tint: Any = None
        self._sizes: dict[str, float] = {}  # mm to a pixel of the arrows that are drawn
        self.on = False
        self.looked_at: str | None = None
        self.hot: str | None = None
        self.held = False  # what moves is not tinted: it is seen that it moves

    def switch(self, on: bool, looked_at: str | None) -> None:
        """Let them be taken hold of, of which one is looked at; or not."""
        self.on, self.looked_at = on, looked_at
        if not on:
            self.hot = None
            self._hide()

    def take(self, setup: Setup, stock: bool) -> None:
        """Those of a setup on its stock or new bars."""
        barset = setup.bars(stock)
        made = setup.machine, barset, setup.controls
        if self._made == made:
            return
        shape = bar_shape(setup.machine, barset)
        self._rails = {Side.LEFT: shape.left[::-1], Side.RIGHT: shape.right[::-1]}
        self._places = {}
        for control in setup.controls:
            point, outward, *_ = control_frame(setup, barset, control)
            self._places[control.name] = control.side, point, outward
        self._made, self._meshes = made, {}

    def move(self, motion: np.ndarray) -> None:
        """The bars have moved by this matrix (4, 4)."""
        self._turn, self._shift = motion[:3, :3], motion[:3, 3]

    def lay_out(self, theme: Theme, scale: float) -> None:
        """As they are in the frame about to be drawn, ``scale`` times as large as usual."""
        if not self.on:
            return
        self._make()
        self._hide()
        if self.hot in self._places and not self.held:
            self._tint.mapper.dataset = self._mesh(str(self.hot))
            self._tint.user_matrix = matrix(self._turn, self._shift)
            self._tint.prop.color = theme.handle
            self._tint.SetVisibility(True)
        named = [name for name in (self.hot, self.looked_at) if name in self._places]
        for drawn, name in zip(self._arrows, dict.fromkeys(named), strict=False):
            point, outward = self.place(str(name))
            if not self._seen_across(point, outward):
                continue
            size = pixel_at(self._plotter, point) * scale
            where = np.eye(4)
            where[:3, :3] = size * np.column_stack((outward, *square_to(outward)))
            where[:3, 3] = point
            colour = theme.handle_hot if name == self.hot else theme.handle
            drawn.put(where, colour, theme.label)
            drawn.show(True)
            self._sizes[str(name)] = size

    def place(self, name: str) -> tuple[np.ndarray, np.ndarray]:
        """Where a control's middle is on the bar's centreline now, and the way outward there."""
        _, point, outward = self._places[name]
        return self._turn @ point + self._shift, self._turn @ outward

    def corners(self, name: str) -> np.ndarray:
        """The corners (8, 3) of a box round a control as it is now, with its arrows' tips if it has
        them: (10, 3).
        """
        x0, x1, y0, y1, z0, z1 = self._mesh(name).bounds
        box = np.array([(x, y, z) for x in (x0, x1) for y in (y0, y1) for z in (z0, z1)])
        box = box @ self._turn.T + self._shift
        if name not in self._sizes:
            return box
        tip = self.tip(name)
        return np.vstack((box, tip, 2.0 * self.place(name)[0] - tip))

    def tip(self, name: str) -> np.ndarray:
        """Where its arrow ends outward (3,). Raises KeyError where it has none now."""
        point, outward = self.place(name)
        return point + self._sizes[name] * _ARROW[1] * outward

    def pick(self, spot: tuple[float, float], reach: float) -> str | None:
        """The control at a place in the picture: that whose arrow is within ``reach`` pixels, or
        else the foremost that is there.
        """
        for name in self._sizes:
            outer = self.tip(name)
            inner = 2.0 * self.place(name)[0] - outer
            flat, ahead = in_picture(self._plotter.renderer, np.array((outer, inner)))
            if ahead.all() and from_segment(np.array(spot), *flat) <= reach:
                return name
        start, way = ray(self._plotter.renderer, spot)
        start, way = self._turn.T @ (start - self._shift), self._turn.T @ way
        found, nearest = None, np.inf
        for name in self._places:
            middle, radius = self._ball(name)
            if np.linalg.norm(np.cross(middle - start, way)) > radius:
                continue
            hits, _ = self._mesh(name).ray_trace(start, start + _FAR * way, first_point=True)
            if len(hits):
                far = float((np.atleast_2d(hits)[0] - start) @ way)
                if far < nearest:
                    found, nearest = name, far
        return found

    def along(self, name: str, spot: tuple[float, float]) -> float | None:
        """How far from the bar end, along its centreline, a place in the picture is, mm; None
        where one looks along the bar.
        """
        sight = ray(self._plotter.renderer, spot)
        if not self._seen_across(*self.place(name)):
            return None
        return on_path(sight, self._rails[self._places[name][0]] @ self._turn.T + self._shift)[0]

    def _seen_across(self, point: np.ndarray, outward: np.ndarray) -> bool:
        way = unit(point - np.array(self._plotter.camera.position))
        return float(np.linalg.norm(np.cross(way, outward))) >= _LEAST_SINE

    def _mesh(self, name: str) -> Any:
        if name not in self._meshes:
            assert self._made is not None
            machine, barset, controls = self._made
            control = next(one for one in controls if one.name == name)
            shape = bar_shape(machine, barset)
            parts = parts_of_control(shape, control)
            self._meshes[name] = finished([part.surface for part in parts])
        return self._meshes[name]

    def _ball(self, name: str) -> tuple[np.ndarray, float]:
        """Middle (3,) and radius of a ball round a control, with the bars straight ahead."""
        mesh = self._mesh(name)
        return np.array(mesh.center), 0.5 * float(mesh.length)

    def _make(self) -> None:
        if self._tint is not None:
            return
        meshes = _arrows(), _arrows(EDGE)
        self._arrows = [Arrow(self._plotter, f"slide {k}", *meshes) for k in range(2)]
        self._tint = on_top(self._plotter, "control tinted", _arrows())
        self._tint.prop.opacity = _TINT
        self._hide()

    def _hide(self) -> None:
        self._sizes = {}
        for drawn in self._arrows:
            drawn.show(False)
        if self._tint is not None:
            self._tint.SetVisibility(False)


@cache
def _arrows(edge: float = 0.0) -> Any:
    """An arrow either way along x, at a pixel to a millimetre."""
    ends = [np.array([[sign * at, 0.0, 0.0] for at in _ARROW]) for sign in (1.0, -1.0)]
    return finished([arrow(start, tip, edge=edge) for start, tip in ends])
