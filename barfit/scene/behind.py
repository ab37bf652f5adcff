"""Lines drawn pale beside the ones on show: as they lay before an edit, and as another way to go
would have them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from barfit.analysis.sweep import LineSweep, Sweep
from barfit.geometry.pose import Layout
from barfit.scene.colours import NOTE, SCALES, Theme, rgb
from barfit.scene.lines import LineLook, TubeMesh, grips, values
from barfit.scene.marks import Mark
from barfit.scene.over import on_top
from barfit.scene.track import LinePose, Track

MOVED = 2.0  # mm off its old course, at least, is a line that is drawn as it lay before
_TRIED = np.linspace(0.0, 1.0, 40)  # shares of a line's length at which it is looked at
_OPACITY, _THROUGH = 0.55, 0.20  # of a pale line, and of what is seen of it through the machine


class Pale:
    """A line on a plotter that can be seen through, and is faintly seen through the machine."""

    def __init__(self, plotter: Any, name: str, radius: float, rings: int) -> None:
        self._plotter, self._radius, self.rings = plotter, radius, rings
        self._tube = TubeMesh(rings)
        looks: dict[str, Any] = {"scalars": "colour", "rgb": True, "smooth_shading": False}
        through = on_top(plotter, f"{name} through", self._tube.mesh, opacity=_THROUGH, **looks)
        through.prop.lighting = False
        plain = plotter.add_mesh(
            self._tube.mesh,
            name=name,
            opacity=_OPACITY,
            reset_camera=False,
            render=False,
            show_scalar_bar=False,
            pickable=False,
            **looks,
        )
        plain.prop.interpolation = "Phong"
        plain.prop.ambient, plain.prop.diffuse = 0.45, 0.60
        self._actors = (plain, through)
        self.shown = False
        self.show(None, np.empty((0, 3)))

    def show(self, pose: LinePose | None, colours: np.ndarray) -> None:
        """Follow ``pose`` in these colours (M, 3), 0..255; one that is not known is not drawn."""
        self.shown = pose is not None and pose.known
        for actor in self._actors:
            actor.SetVisibility(self.shown)
        if pose is not None and self.shown:
            self._tube.shape(pose, self._radius)
            self._tube.paint(colours)

    def remove(self) -> None:
        """Take it off the plotter."""
        for actor in self._actors:
            self._plotter.remove_actor(actor, render=False)


class Before:
    """How lines lay before an edit, from the last whole sweep, while the new one is on its way."""

    def __init__(self, plotter: Any) -> None:
        self._plotter = plotter
        self.sweep: Sweep | None = None
        self._tracks: dict[str, Track] = {}
        self._ghosts: dict[str, Pale] = {}
        self._seen: dict[str, tuple[np.ndarray, LinePose | None]] = {}  # what was held against what

    def keep(self, sweep: Sweep | None, tracks: dict[str, Track]) -> None:
        """Remember the sweep on show, and the tables of its lines; None for none."""
        if sweep is not self.sweep:
            self.hide()
            self.sweep, self._tracks = sweep, tracks

    def show(
        self, stock: bool, shapes: dict[str, np.ndarray], turn: float, travel: float, theme: Theme
    ) -> None:
        """Draw those lines that lie otherwise now: ``shapes`` (M, 3) at a pose (rad, mm)."""
        sweep = self.sweep
        if sweep is None or sweep.stock != stock:
            self.hide()
            return
        for name in set(self._ghosts) - set(shapes):
            self._ghosts[name].show(None, np.empty((0, 3)))
        for name in set(self._tracks) & set(shapes):
            pose = self._tracks[name].at(turn, travel)
            seen = self._seen.get(name)
            if seen is not None and seen[0] is shapes[name] and seen[1] is pose:
                continue
            self._seen[name] = shapes[name], pose
            moved = pose is not None and off(pose.points, shapes[name]) > MOVED
            if moved and name not in self._ghosts:
                radius = 0.5 * sweep.setup.line(name).diameter
                rings = len(self._tracks[name].line.arc)
                self._ghosts[name] = Pale(self._plotter, f"before: {name}", radius, rings)
            if name in self._ghosts:
                ghost = self._ghosts[name]
                ghost.show(pose if moved else None, np.tile(rgb(theme.ghost), (ghost.rings, 1)))

    def hide(self) -> None:
        """Draw none of them."""
        for ghost in self._ghosts.values():
            ghost.remove()
        self._ghosts, self._seen = {}, {}

    @property
    def drawn(self) -> tuple[str, ...]:
        """The names of the lines that are drawn as they lay before."""
        return tuple(sorted(name for name, one in self._ghosts.items() if one.shown))


def off(one: np.ndarray, other: np.ndarray) -> float:
    """How far two polylines (M, 3), (N, 3) are apart at most, at equal shares of their length."""
    if not (len(one) and len(other)):
        return 0.0
    places = []
    for points in (one, other):
        lengths = np.concatenate(([0.0], np.linalg.norm(np.diff(points, axis=0), axis=1).cumsum()))
        at = _TRIED * lengths[-1]
        places.append(np.column_stack([np.interp(at, lengths, points[:, k]) for k in range(3)]))
    return float(np.linalg.norm(places[0] - places[1], axis=1).max())


@dataclass(frozen=True, eq=False)
class Route:
    """Another way for a line to go, worked out: its sweep over ``angles`` (A,) rad, how it is laid
    out, its radius and the least it may be bent to (mm), and what it is called.
    """

    line: LineSweep
    angles: np.ndarray
    places: Layout
    radius: float
    allowed_radius: float
    words: str


class OtherWay:
    """Another way for a line to go on a plotter, pale, in the colours of the scale, and named."""

    def __init__(self, plotter: Any) -> None:
        self._plotter = plotter
        self._track: Track | None = None
        self._line: Pale | None = None
        self.route: Route | None = None
        self.points = np.empty((0, 3))

    def take(self, route: Route | None) -> None:
        """Draw this one from now on; None for none."""
        if route is self.route:
            return
        if self._line is not None:
            self._line.remove()
        self.route, self._track, self._line = route, None, None
        self.points = np.empty((0, 3))
        if route is not None:
            self._track = Track(route.line, route.angles)
            rings = len(route.line.arc)
            self._line = Pale(self._plotter, "other way to go", route.radius, rings)

    def draw(
        self, turn: float, travel: float, look: LineLook, now: dict[str, np.ndarray]
    ) -> tuple[Mark, ...]:
        """Show it at a pose (rad, mm); gives what is to be written beside it there: where it is
        farthest from the line as it goes ``now`` (M, 3).
        """
        route, track, drawn = self.route, self._track, self._line
        if route is None or track is None or drawn is None:
            return ()
        pose = track.at(turn, travel)
        if pose is None or not pose.known:
            drawn.show(None, np.empty((0, 3)))
            self.points = np.empty((0, 3))
            return ()
        colours = np.tile(rgb(look.theme.ghost), (len(pose.points), 1))
        if not look.by_body:
            gripped = grips(route.places)
            says = values(pose, look.mode, route.line.arc, gripped, route.allowed_radius)
            colours = SCALES[look.mode].colours(says, look.theme.unknown)
        drawn.show(pose, colours)
        self.points = pose.points
        own = now.get(route.line.name, np.empty((0, 3)))
        at = len(pose.points) // 2
        if len(own):
            gaps = np.linalg.norm(pose.points[:, None] - own[None], axis=2).min(axis=1)
            at = int(gaps.argmax())
        return (Mark(route.line.name, route.words, pose.points[at], NOTE, named=False),)
