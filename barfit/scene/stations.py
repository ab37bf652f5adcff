"""The stations of the line being changed, as handles: their form says how they hold it, their
colour what they ride on."""

from __future__ import annotations

from typing import Any

import numpy as np

from barfit.geometry.pose import Layout
from barfit.model import Body, Hold, OutletPlace
from barfit.scene.colours import BODY_COLOURS
from barfit.scene.forms import along, brick, lathe, torus
from barfit.scene.joined import Joined
from barfit.scene.mesh import Surface
from barfit.scene.over import on_top
from barfit.scene.pick import in_picture

_LOOKED_AT = 1.35  # times as large is the one that is looked at
_LEAST = 6.0  # pixels from the middle of a handle to its edge, at least


class StationMarks:
    """Handles on a plotter: a ring for a guide, a block for a clip, a plug for a fitting."""

    def __init__(self, plotter: Any) -> None:
        self._plotter = plotter
        self._actors: list[Any] = []
        self._joined: list[Joined] = []
        self._looks: list[tuple[object, ...]] = []  # what each is drawn as
        self.points = np.empty((0, 3))

    def clear(self) -> None:
        """Draw none."""
        for actor in self._actors:
            self._plotter.remove_actor(actor, render=False)
        self._actors, self._joined, self._looks = [], [], []
        self.points = np.empty((0, 3))

    def show(
        self,
        layout: Layout,
        motions: dict[Body, tuple[np.ndarray, np.ndarray]],
        ways: np.ndarray,
        radius: float,
        looked_at: int,
        pixel: float,
    ) -> None:
        """The stations of a line of that ``radius`` (mm) in a pose in which bodies have moved as
        ``motions`` says; ``ways`` (S, 3) are those the line runs through them there.
        ``pixel`` is how many mm a pixel shows there: from afar handles are larger.
        """
        if len(self._actors) != len(layout.holds):
            self.clear()
        points = []
        for k, (hold, body) in enumerate(zip(layout.holds, layout.bodies, strict=True)):
            turn, shift = motions[body]
            point = turn @ layout.points[k] + shift
            points.append(point)
            room = max(_LEAST * pixel - radius, 0.0) / 5.0
            size = max(1.0, round(room, 1)) * (_LOOKED_AT if k == looked_at else 1.0)
            look = (hold, body, radius, size, point.tobytes(), ways[k].tobytes())
            if k < len(self._looks) and self._looks[k] == look:
                continue
            if k == len(self._looks):
                self._joined.append(Joined())
                self._looks.append(look)
            self._joined[k].show([(_handle(hold, radius, size), along(point, ways[k]))])
            if k == len(self._actors):
                self._actors.append(on_top(self._plotter, f"station {k}", self._joined[k].mesh))
            self._actors[k].prop.color = BODY_COLOURS[body]
            self._looks[k] = look
        self.points = np.array(points)

    def pick(self, spot: tuple[float, float], reach: float) -> int | None:
        """The number of the station whose picture is within ``reach`` pixels of ``spot``."""
        return nearest(self._plotter.renderer, self.points, spot, reach)


def can_turn(layout: Layout, k: int) -> bool:
    """Whether the way a line goes at a station is its own numbers', or those of its outlet."""
    if layout.inside is not None and k <= 1:
        return False  # the holes in the bar tell it
    station = layout.stations[k]
    return station.direction is not None or isinstance(station.place, OutletPlace)


def leaving(layout: Layout, k: int) -> np.ndarray:
    """The way (3,) a fitting points, or a line runs through a clip, straight ahead at ride
    height; nan for a guide.
    """
    last = k == len(layout.holds) - 1
    return np.asarray(-layout.directions[k] if last else layout.directions[k])


def can_move(layout: Layout, k: int) -> bool:
    """Whether a station's place is its own numbers': not a control's outlet, and no hole in the
    bar, through which a line led inside comes out.
    """
    inside = layout.inside is not None and k <= 1
    return not inside and not isinstance(layout.stations[k].place, OutletPlace)


def nearest(
    renderer: Any, points: np.ndarray, spot: tuple[float, float], reach: float
) -> int | None:
    """The number of the point (of (M, 3)) nearest to ``spot`` in the picture, within ``reach``."""
    if not len(points):
        return None
    flat, ahead = in_picture(renderer, points)
    away = np.where(ahead, np.hypot(*(flat - np.array(spot)).T), np.inf)
    best = int(away.argmin())
    return best if away[best] <= reach else None


def _handle(hold: Hold, radius: float, size: float) -> Surface:
    if hold is Hold.GUIDE:
        return torus(radius + 5.0 * size, 2.6 * size)
    if hold is Hold.CLIP:
        side = 2.0 * radius + 9.0 * size
        return brick((side, side, 11.0 * size), 1.5)
    r = radius + 3.0 * size
    profile = [(-7.0 * size, 0.7 * r), (-6.0 * size, r), (6.0 * size, r), (7.0 * size, 0.7 * r)]
    return lathe(profile, 14)
