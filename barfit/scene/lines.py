"""A line as a tube of its true diameter: one mesh for its whole life, moved in place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
import pyvista as pv
from vtkmodules.util.numpy_support import numpy_to_vtk

from barfit.analysis.moved import Mover, stretches
from barfit.geometry.pose import Layout
from barfit.model import Hold
from barfit.scene.colours import SCALES, Colour, Theme, rgb
from barfit.scene.mesh import quads, reshape, ring_angles
from barfit.scene.track import LinePose, segment_of

_SIDES = 9

# A line that is not known is drawn in dashes: of this many rings, all but two are drawn.
_DASH = 6

# Every line has a thin dark outline, so that a pale one stands out from a pale background; the
# selected one a broad outline in the colour of the text. Both in mm beyond the line's surface.
_OUTLINE, _SELECTED = 0.9, 2.6


class TubeMesh:
    """A tube with a fixed number of rings whose shape and colours are replaced in place.

    Points are assigned through the mesh each time: a write into the old array would not repaint.
    """

    def __init__(self, rings: int, sides: int = _SIDES) -> None:
        angle = ring_angles(sides)
        self._cos = np.cos(angle)[:, None]
        self._sin = np.sin(angle)[:, None]
        self.rings, self.sides = rings, sides
        faces = quads(rings, sides)
        nowhere: np.ndarray = np.zeros((rings * sides, 3), dtype=np.float32)
        self.mesh = pv.PolyData(
            nowhere,
            np.column_stack((np.full(len(faces), 4), faces)).ravel(),
        )
        self.mesh["colour"] = np.full((rings * sides, 3), 128, dtype=np.uint8)
        self.mesh.point_data.active_normals = nowhere.copy()

    def shape(self, pose: LinePose, radius: float | np.ndarray) -> None:
        """Follow the line in ``pose``; ``radius`` mm, one or per ring (M,)."""
        around = self._cos * pose.normals[:, None, :] + self._sin * pose.binormals[:, None, :]
        r = np.broadcast_to(np.asarray(radius, dtype=float), (self.rings,))[:, None, None]
        where: np.ndarray = (pose.points[:, None, :] + r * around).reshape(-1, 3)
        directions: np.ndarray = around.reshape(-1, 3)
        reshape(self.mesh, where.astype(np.float32), directions.astype(np.float32))

    def paint(self, colours: np.ndarray) -> None:
        """Colour the rings (M, 3), 0..255."""
        array = numpy_to_vtk(np.repeat(colours.round().astype(np.uint8), self.sides, axis=0))
        array.SetName("colour")
        self.mesh.GetPointData().AddArray(array)


@dataclass(frozen=True)
class LineLook:
    """How lines are drawn: what the colour says, and which of them is in question."""

    mode: Colour
    theme: Theme
    selected: str | None
    by_body: bool = False  # full where other bars reach it, pale elsewhere; ``mode`` rests


class LineActor:
    """One line on a plotter: its tube, its outline, and a faint tube seen through the machine."""

    def __init__(self, plotter: Any, name: str, rings: int) -> None:
        self.name = name
        self.rings = rings
        self.arc = np.empty(0)
        self._radius = self._allowed = 0.0
        self._grips: Sequence[int] = ()
        self._touched: tuple[bool, ...] = ()
        self._shown: tuple[LinePose, LineLook, bool] | None = None  # as it is drawn now
        self._plotter = plotter
        self._tube = TubeMesh(rings)
        self._edge = TubeMesh(rings, sides=6)
        self.points = np.empty((0, 3))
        self.values = np.empty(0)
        self.colours = np.empty((0, 3))
        self.actor = self._add("line", self._tube, scalars="colour", rgb=True)
        self.actor.prop.interpolation = "Phong"
        self.actor.prop.specular, self.actor.prop.specular_power = 0.18, 18.0
        self.actor.prop.ambient, self.actor.prop.diffuse = 0.30, 0.78
        # only the far side of a slightly larger tube: what shows round the line is an outline
        self._outline = self._add("outline", self._edge, culling="front", lighting=False)
        self._through = self._add("through", self._tube, scalars="colour", rgb=True, opacity=0.22)
        self._through.prop.lighting = False
        # drawn as if nearest of all, so that the machine does not hide it
        self._through.mapper.SetResolveCoincidentTopologyToPolygonOffset()
        self._through.mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0.0, -66000.0)
        self.hide()

    def measure(
        self, radius: float, arc: np.ndarray, places: Layout, allowed_radius: float
    ) -> None:
        """The line's own numbers (mm): its radius, where along it (M,) the rings are, its
        stations, and the least radius it may be bent to (nan: not known).
        """
        gripped, touched = grips(places), touched_by_bars(places)
        before = self._radius, self._grips, self._touched
        same = np.array_equal(arc, self.arc) and before == (radius, gripped, touched)
        if not (same and np.array_equal(allowed_radius, self._allowed, equal_nan=True)):
            self._shown = None
        self._radius, self.arc, self._allowed = radius, arc, allowed_radius
        self._grips, self._touched = gripped, touched

    def _add(self, what: str, tube: TubeMesh, **looks: Any) -> Any:
        return self._plotter.add_mesh(
            tube.mesh,
            name=f"{what} {self.name}",
            reset_camera=False,
            render=False,
            show_scalar_bar=False,
            smooth_shading=False,
            pickable=what == "line",
            **looks,
        )

    def hide(self) -> None:
        """Draw nothing."""
        self._shown = None
        self.points = np.empty((0, 3))
        self.values = np.empty(0)
        self.colours = np.empty((0, 3))
        for actor in (self.actor, self._outline, self._through):
            actor.SetVisibility(False)

    def show(self, pose: LinePose, look: LineLook, *, in_trouble: bool) -> None:
        """Follow ``pose``; a pose that is not known is dashed and grey."""
        before, self._shown = self._shown, (pose, look, in_trouble)
        if before is not None and before[0] is pose and before[1:] == (look, in_trouble):
            return
        selected = look.selected == self.name
        self.points = pose.points
        self.values = values(pose, look.mode, self.arc, self._grips, self._allowed)
        self.colours = SCALES[look.mode].colours(self.values, look.theme.unknown)
        reached = np.ones(self.rings, bool)
        if look.by_body and pose.known:
            reached = np.array(self._touched)[segment_of(self.arc, pose.stations_at)]
            full, pale = rgb(look.theme.text), rgb(look.theme.untouched)
            self.colours = np.where(reached[:, None], full, pale)
        elif look.selected is not None and not selected:
            self.colours = dimmed(self.colours, look.theme)
        drawn, solid = (pose, np.ones(self.rings)) if pose.known else dashed(pose)
        self._tube.shape(drawn, self._radius * solid)
        self._tube.paint(self.colours)
        self.actor.SetVisibility(True)
        self._outline.SetVisibility(pose.known)
        if pose.known:
            # pale stretches go without an outline, unless theirs is the line in question
            outline = _SELECTED if selected else np.where(reached, _OUTLINE, -0.5 * self._radius)
            self._edge.shape(pose, self._radius + outline)
            self._outline.prop.color = look.theme.text if selected else look.theme.outline
        self._through.SetVisibility(selected or (in_trouble and look.selected is None))

    def remove(self) -> None:
        """Take it off the plotter."""
        for actor in (self.actor, self._outline, self._through):
            self._plotter.remove_actor(actor, render=False)


class GhostLine:
    """A line of other bars: a translucent tube in one colour."""

    def __init__(self, plotter: Any, name: str, radius: float, rings: int, theme: Theme) -> None:
        self._plotter = plotter
        self._radius = radius
        self._tube = TubeMesh(rings, sides=6)
        self.actor = plotter.add_mesh(
            self._tube.mesh,
            name=f"ghost line {name}",
            color=theme.ghost,
            opacity=0.40,
            reset_camera=False,
            render=False,
            show_scalar_bar=False,
            smooth_shading=False,
            pickable=False,
        )
        self.actor.prop.interpolation = "Phong"

    def show(self, pose: LinePose | None) -> None:
        """Follow ``pose``; nothing is drawn where there is none or it is not known."""
        shown = pose is not None and pose.known
        self.actor.SetVisibility(shown)
        if shown and pose is not None:
            self._tube.shape(pose, self._radius)

    def remove(self) -> None:
        """Take it off the plotter."""
        self._plotter.remove_actor(self.actor, render=False)


def dashed(pose: LinePose) -> tuple[LinePose, np.ndarray]:
    """The pose with some of its rings drawn together to nothing, and whether each is drawn (M,).

    The first ring of a gap is moved back to the end of the dash before it, the last one forward
    to the start of the next dash: each then closes its dash with a flat end.
    """
    ring = np.arange(len(pose.points))
    at = ring % _DASH
    source = np.where(at == _DASH - 2, ring - 1, np.where(at == _DASH - 1, ring + 1, ring))
    source = np.minimum(source, len(ring) - 1)
    return replace(pose, points=pose.points[source]), np.where(at < _DASH - 2, 1.0, 0.0)


def values(
    pose: LinePose, mode: Colour, arc: np.ndarray, grips: Sequence[int], allowed_radius: float
) -> np.ndarray:
    """What the colour stands for at each point (M,); NaN where it is not known.

    Slack in mm, see `spare`; bend as radius over ``allowed_radius`` (mm); pull in N, the line's
    greatest. ``grips`` are the numbers of the stations that grip the line, ascending.
    """
    if not pose.known:
        return np.full(len(arc), np.nan)
    if mode is Colour.SLACK:
        return spare(pose.segment_slack, grips)[segment_of(arc, pose.stations_at)]
    if mode is Colour.BEND:
        # straight stretches have no curvature and the gentlest of bends
        return 1.0 / (np.maximum(pose.curvature, 1e-9) * allowed_radius)
    return np.full(len(arc), pose.tension)


def grips(places: Layout) -> list[int]:
    """The numbers of the stations between which a line can move: its fittings and clips."""
    first = 0 if places.inside is None else 1
    return [k for k, hold in enumerate(places.holds) if hold is not Hold.GUIDE and k >= first]


def touched_by_bars(places: Layout) -> tuple[bool, ...]:
    """Of each stretch between two stations, whether other bars reach it."""
    out: list[bool] = []
    for one in stretches(places):
        out += [one.mover is Mover.BARS] * (one.last - one.first)
    return tuple(out)


def spare(segment_slack: np.ndarray, grips: Sequence[int]) -> np.ndarray:
    """What each stretch (S-1,) between two stations has to spare, mm.

    Through guides a line slides: while it has anything to spare between two grips, every stretch
    between them can draw on all of it, and one that happens to run straight is not in want. Once
    it is short between two grips, each stretch shows what it lacks itself.
    """
    out = segment_slack.copy()
    for first, last in pairwise(grips):
        whole = float(segment_slack[first:last].sum())
        if whole >= 0.0:
            out[first:last] = whole
    return out


def dimmed(colours: np.ndarray, theme: Theme) -> np.ndarray:
    """The colours (..., 3) drawn back towards grey, for lines that are not in question."""
    return 0.42 * colours + 0.58 * rgb(theme.unknown)
