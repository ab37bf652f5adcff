"""The scene: one machine with its bars and swept lines on a plotter somebody else owns.

Three rules hold throughout.

1. Nothing here renders. After any change the owner of the plotter renders once.
2. A line is only drawn from a sweep of the very setup and bars on show, and only at a pose which
   that sweep holds. Otherwise it is not drawn.
3. Actors keep their meshes: bodies move by matrix, lines by new points in the mesh they have.
"""

from __future__ import annotations

import math
import weakref
from collections.abc import Iterable
from typing import Any

import numpy as np

from barfit.analysis.findings import LineFinding, Verdict
from barfit.analysis.sweep import Sweep
from barfit.geometry.frames import local_to_machine
from barfit.geometry.pose import Layout, body_motion, layout
from barfit.model import Body, Machine, Setup
from barfit.scene.bars import bar_parts, control_parts
from barfit.scene.callouts import Callouts
from barfit.scene.camera import VIEWS, fitted, look
from barfit.scene.colours import THEMES, Colour, Legend, Theme, legend
from barfit.scene.groups import Group, matrix
from barfit.scene.holders import Holders, turned_back
from barfit.scene.key import BodyKey
from barfit.scene.lines import GhostLine, LineActor, LineLook
from barfit.scene.machine import machine_parts
from barfit.scene.marks import Mark, contacts, elsewhere, mark
from barfit.scene.mesh import unit
from barfit.scene.overlay import Caption, LegendBox
from barfit.scene.pick import in_picture, nearest_line
from barfit.scene.stage import Floor, light
from barfit.scene.stations import StationMarks
from barfit.scene.track import LinePose, Track

# Shares of the picture kept free round a view: left, right, bottom, top.
_MARGINS = (0.04, 0.04, 0.05, 0.05)
_BARS_MARGINS = (0.11, 0.11, 0.05, 0.05)
_LINE_MARGINS = (0.16, 0.16, 0.16, 0.16)
_STEEPEST = 80.0  # degrees above or below level that the camera goes of its own


class Scene:
    """A machine, its bars and its lines on a pyvista ``plotter``.

    ``theme`` is "light" or "dark"; ``scale`` enlarges what is written, for fine screens.
    """

    def __init__(
        self, plotter: Any, theme: str = "light", *, unit: str = "mm", scale: float = 1.0
    ) -> None:
        self.plotter = plotter
        self.setup: Setup | None = None
        self.stock = False
        self.sweep: Sweep | None = None
        self.turn, self.travel = 0.0, 0.0
        self.selected: str | None = None
        self.mode = Colour.SLACK
        self.by_body = False
        self.unit = unit
        self.scale = scale
        self.show_legend = True
        self.free = (0.0, 0.0, 0.0, 0.0)  # shares of the picture that something lies over
        self.name_marks = True
        self.caption: tuple[str, str] | None = None
        self.marks: tuple[Mark, ...] = ()
        self._theme: Theme = THEMES[theme]
        self._findings: dict[str, LineFinding] = {}
        self._layouts: dict[str, Layout] = {}
        self._upper = np.empty((0, 3))
        self._tracks: dict[str, Track] = {}
        self._lines: dict[str, LineActor] = {}
        self._ghost: Sweep | None = None
        self._ghost_tracks: dict[str, Track] = {}
        self._ghost_lines: dict[str, GhostLine] = {}
        self._floor = Floor(plotter)
        self._machine = Group(plotter, "machine", self._theme)
        self._bars = Group(plotter, "bars", self._theme)
        self._holders = Holders(plotter, self._theme)
        self._built: dict[str, object] = {}  # what machine and bars were drawn for
        self._ghost_bars = Group(plotter, "ghost", self._theme, opacity=0.26)
        self.stations = StationMarks(plotter)
        self.station: int | None = None  # looked at, of the line being changed
        self._legend_box = LegendBox(plotter.renderer)
        self._body_key = BodyKey(plotter.renderer)
        self._callouts = Callouts(plotter.renderer)
        self._caption = Caption(plotter.renderer)
        light(plotter)
        self._background()
        # the renderer would otherwise keep the scene, and with it the plotter, alive for ever
        before_frame = weakref.WeakMethod(self._before_frame)

        def lay_out(*_: Any) -> None:
            method = before_frame()
            if method is not None:
                method()

        self._observer = plotter.renderer.AddObserver("StartEvent", lay_out)

    # --- what is shown ---------------------------------------------------------------------------

    def show_setup(self, setup: Setup, stock: bool = False) -> None:
        """Draw the machine with these bars. Lines are drawn once a sweep of them is shown.

        Raises BarError or LayoutError for a setup that cannot be laid out; the scene is then
        left as it was.
        """
        if setup == self.setup and stock == self.stock:
            return
        layouts = layout(setup, setup.bars(stock))
        self._build(setup, stock)
        self._holders.replace(setup, stock, layouts, {})
        self.setup, self.stock, self._layouts = setup, stock, layouts
        self._drop_sweep()
        if self._ghost is not None and self._ghost.setup != setup:
            self.set_ghost(None)
        if self.selected not in {line.name for line in setup.lines}:
            self.selected = None
        self._pose()

    def show_sweep(self, sweep: Sweep, findings: Iterable[LineFinding] = ()) -> None:
        """Draw the lines from a sweep of the setup and bars on show.

        Raises ValueError for a sweep of another setup or of the other bars.
        """
        if self.setup is None or sweep.setup != self.setup or sweep.stock != self.stock:
            raise ValueError("the sweep is not of the setup and bars that are shown")
        self.sweep = sweep
        self._findings = {finding.line: finding for finding in findings}
        self._tracks = {line.name: Track(line, sweep.angles) for line in sweep.lines}
        self._make_lines(self.setup, sweep)
        ahead = {name: track.at(0.0, 0.0) for name, track in self._tracks.items()}
        runs = {
            name: pose.along(sweep.line(name).arc)
            for name, pose in ahead.items()
            if pose is not None
        }
        self._holders.replace(self.setup, self.stock, self._layouts, runs)
        self._pose()

    def show_glance(self, sweep: Sweep, travel: float) -> None:
        """Draw a setup and its lines at the one pose that a glance is of, ``travel`` mm.

        Only what is not as it was is drawn anew: this is what keeps up with a hand.
        """
        setup, stock = sweep.setup, sweep.stock
        self._build(setup, stock)
        self.setup, self.stock, self.sweep, self._findings = setup, stock, sweep, {}
        self._layouts = {line.name: line.spans[0].case.layout for line in sweep.lines}
        if self._ghost is not None and self._ghost.setup != setup:
            self.set_ghost(None)
        if self.selected not in self._layouts:
            self.selected = None
        self.turn, self.travel = float(sweep.angles[0]), travel
        # a line that was not solved again has the very shapes it had
        before = {id(track.line.shapes): track for track in self._tracks.values()}
        self._tracks = {
            line.name: before.get(id(line.shapes)) or Track(line, sweep.angles)
            for line in sweep.lines
        }
        self._make_lines(setup, sweep)
        turns = {b: body_motion(setup.machine, b, self.turn, self.travel)[0] for b in Body}
        runs = {}
        for line in sweep.lines:
            pose = self._tracks[line.name].at(self.turn, self.travel)
            if pose is not None and pose.known:
                bodies = self._layouts[line.name].bodies
                runs[line.name] = turned_back(pose.along(line.arc), bodies, turns)
        self._holders.change(setup, stock, self._layouts, runs)
        self._pose()

    def _build(self, setup: Setup, stock: bool) -> None:
        """Draw machine and bars, where they are not drawn already."""
        barset = setup.bars(stock)
        ends = tuple((line.kind, line.stations[-1].place) for line in setup.lines)
        machine, bars = (setup.machine, ends), (setup.machine, setup.controls, barset)
        parts = None
        if self._built.get("bars") != bars:
            parts = [*bar_parts(setup.machine, barset), *control_parts(setup, barset)]
        if self._built.get("machine") != machine:
            self._machine.replace(machine_parts(setup))
            self._floor.replace(setup.machine, self._machine.meshes(), self._theme)
        if parts is not None:
            self._bars.replace(parts)
        if self._built != {"machine": machine, "bars": bars}:
            self._built = {"machine": machine, "bars": bars}
            self._upper = self._upper_points(setup.machine)

    def _make_lines(self, setup: Setup, sweep: Sweep) -> None:
        """One actor per line for as long as there is that line with as many points."""
        rings = {line.name: len(line.arc) for line in sweep.lines}
        for name, actor in list(self._lines.items()):
            if rings.get(name) != actor.rings:
                self._lines.pop(name).remove()
        for line in sweep.lines:
            if line.name not in self._lines:
                self._lines[line.name] = LineActor(self.plotter, line.name, rings[line.name])
            allowed = self._allowed_radius(setup, line.name)
            radius = 0.5 * setup.line(line.name).diameter
            self._lines[line.name].measure(radius, line.arc, self._layouts[line.name], allowed)

    def _allowed_radius(self, setup: Setup, name: str) -> float:
        """The least bend radius of a line, mm; nan when neither finding nor line gives it."""
        if name in self._findings:
            return self._findings[name].allowed_radius
        spans = self.sweep.line(name).spans if self.sweep is not None else ()
        return spans[0].case.min_radius if spans else setup.line(name).min_radius or math.nan

    def _drop_sweep(self) -> None:
        self.sweep = None
        self._findings, self._tracks = {}, {}

    def set_ghost(self, sweep: Sweep | None) -> None:
        """Show other bars of the same setup with their lines behind, translucent; None hides."""
        if sweep is not None and (self.setup is None or sweep.setup != self.setup):
            raise ValueError("the ghost is not of the setup that is shown")
        for ghost in self._ghost_lines.values():
            ghost.remove()
        self._ghost, self._ghost_lines, self._ghost_tracks = sweep, {}, {}
        if sweep is None:
            self._ghost_bars.replace([])
            return
        setup = sweep.setup
        self._ghost_bars.replace(bar_parts(setup.machine, setup.bars(sweep.stock)))
        for line in sweep.lines:
            radius = 0.5 * setup.line(line.name).diameter
            self._ghost_tracks[line.name] = Track(line, sweep.angles)
            self._ghost_lines[line.name] = GhostLine(
                self.plotter, line.name, radius, len(line.arc), self._theme
            )
        self._pose()

    # --- the pose --------------------------------------------------------------------------------

    def set_pose(self, turn: float, travel: float = 0.0) -> None:
        """Turn the steering (rad, left positive) and move the suspension (mm, compression
        positive). Every line follows as the sweep has it; outside the sweep it is not drawn.
        """
        self.turn, self.travel = turn, travel
        self._pose()

    def _pose(self) -> None:
        if self.setup is None:
            return
        machine = self.setup.machine
        matrices = {b: matrix(*body_motion(machine, b, self.turn, self.travel)) for b in Body}
        for group in (self._machine, self._bars, *self._holders.groups, self._ghost_bars):
            group.move(matrices)
        for name, ghost in self._ghost_lines.items():
            ghost.show(self._ghost_tracks[name].at(self.turn, self.travel))
        self._draw_lines()

    def _draw_lines(self) -> None:
        """Shapes, colours and marks of all lines in this pose."""
        look_of_lines = LineLook(self.mode, self._theme, self.selected, self.by_body)
        marks = []
        for name, line in self._lines.items():
            track = self._tracks.get(name)
            pose = None if track is None else track.at(self.turn, self.travel)
            if pose is None:
                line.hide()
                continue
            note = mark(name, pose, line.arc, self._findings.get(name), self.unit)
            line.show(pose, look_of_lines, in_trouble=note is not None)
            touching = self._contacts(name, pose) if name == self.selected else []
            if note is None and name == self.selected:
                note = self._elsewhere(name, pose, touching)
            if note is not None and self.selected in (None, name):
                marks.append(note)
            marks += touching
        self.marks = tuple(marks)
        self._mark_stations()

    def show_stations(self, looked_at: int | None) -> None:
        """Draw handles at the stations of the selected line, of which one is looked at; or none."""
        self.station = looked_at
        self._mark_stations()

    def _mark_stations(self) -> None:
        name = self.selected
        track = self._tracks.get(name) if name is not None else None
        pose = None if track is None else track.at(self.turn, self.travel)
        if self.station is None or name is None or pose is None or self.setup is None:
            self.stations.clear()
            return
        places, line = self._layouts[name], self.setup.line(name)
        motions = {b: body_motion(self.setup.machine, b, self.turn, self.travel) for b in Body}
        known = pose.known and bool(np.isfinite(pose.stations_at).all())
        if known:
            ways = pose.along(self._lines[name].arc)
        else:
            ways = np.nan_to_num(places.directions, nan=0.57)
        pixel = self._pixel(pose.points[len(pose.points) // 2]) * self.scale
        self.stations.show(places, motions, ways, 0.5 * line.diameter, self.station, pixel)

    def _pixel(self, point: np.ndarray) -> float:
        """How many mm a pixel of the picture shows at the distance of a point (3,)."""
        camera, height = self.plotter.camera, self.plotter.renderer.GetSize()[1]
        far = float((point - np.array(camera.position)) @ np.array(camera.direction))
        return (
            2.0 * max(far, 1.0) * math.tan(math.radians(0.5 * camera.view_angle)) / max(height, 1)
        )

    def _contacts(self, name: str, pose: LinePose) -> list[Mark]:
        """What a line touches and is pinched by at the pose of the sweep nearest to this one."""
        assert self.sweep is not None
        angles, swept = self.sweep.angles, self.sweep.line(name)
        row = int(np.abs(swept.travels - self.travel).argmin())
        cell = row, int(np.abs(angles - self.turn).argmin())
        return contacts(name, pose, swept, self._findings.get(name), cell, angles)

    def _elsewhere(self, name: str, pose: LinePose, touching: list[Mark]) -> Mark | None:
        finding = self._findings.get(name)
        if finding is None or finding.fits:
            return None
        if touching and finding.verdict in (Verdict.PINCHED, Verdict.RUBS):
            return None  # it is said where it touches here
        return elsewhere(name, pose, self._lines[name].arc, finding, self.unit)

    # --- looks -----------------------------------------------------------------------------------

    def select(self, line: str | None) -> None:
        """Bring out one line and draw the others back; None for all alike."""
        self.selected = line
        self._draw_lines()

    def set_colour(self, mode: Colour | str) -> None:
        """Colour the lines by "slack", "bend" or "pull"."""
        self.mode = Colour(mode)
        self._draw_lines()

    def show_bodies(self, on: bool) -> None:
        """Paint everything by the body it rides on, and lines by whether other bars reach them."""
        if on == self.by_body:
            return
        self.by_body = on
        for group in (self._machine, self._bars, *self._holders.groups):
            group.paint_by_body(on)
        self._draw_lines()

    def set_unit(self, unit: str) -> None:
        """Write lengths in "mm" or "in"."""
        self.unit = unit
        self._draw_lines()

    def set_theme(self, theme: str) -> None:
        """Take on the "light" or "dark" theme."""
        self._theme = THEMES[theme]
        self._background()
        for group in (self._machine, self._bars, *self._holders.groups, self._ghost_bars):
            group.restyle(self._theme)
        self._floor.restyle(self._theme)
        self._draw_lines()

    def _background(self) -> None:
        self.plotter.set_background(self._theme.bottom, top=self._theme.top)

    def legend(self) -> Legend:
        """The legend of the colours as data, in the user's unit."""
        return legend(self.mode, self.unit)

    def _before_frame(self) -> None:
        """Lay out what is written over the picture for the frame about to be drawn."""
        scaled = self.show_legend and self.sweep is not None and not self.by_body
        self._legend_box.lay_out(self.legend() if scaled else None, self._theme, self.scale)
        keyed = self.show_legend and self.by_body
        self._body_key.lay_out(keyed, self._theme, self.scale, self._legend_box.on_left)
        self._caption.lay_out(self.caption, self._theme, self.scale)
        self._callouts.lay_out(
            self.marks,
            self._subject(),
            self._body_key.top if keyed else self._legend_box.top,
            self._theme,
            self.scale,
            names=self.name_marks,
            free=self.free,
        )

    def _subject(self) -> np.ndarray:
        """Points (M, 3) of all that turns above the lower clamp, and of the lines, as they stand:
        what is written keeps clear of them.
        """
        if self.setup is None:
            return np.empty((0, 3))
        turned, _ = body_motion(self.setup.machine, Body.STEERING, self.turn, self.travel)
        lines = [line.points[::4] for line in self._lines.values()]
        return np.vstack((self._upper @ turned.T, *lines))

    # --- the camera ------------------------------------------------------------------------------

    def view(self, name: str) -> None:
        """Look from a standard direction (see `VIEWS`) at the whole front end, at any turn."""
        view = VIEWS[name]
        points = self._close_points() if view.close else self._outline_points()
        self._look(points, view.eye, view.up, _BARS_MARGINS if view.close else _MARGINS)

    def frame(self, line: str | None = None, bars: bool = False) -> None:
        """Move the camera, as it stands, to a line in all its poses, and with ``bars`` to all that
        is round the bars too; None for everything.
        """
        points = self._outline_points() if line is None else self._line_points(line)
        if bars:
            points = np.vstack((points, self._close_points()))
        camera = self.plotter.camera
        eye = np.array(camera.position) - np.array(camera.focal_point)
        wide = line is None or bars
        self._look(points, eye, camera.up, _MARGINS if wide else _LINE_MARGINS)

    def look_from(self, position: Any, focal: Any, up: Any) -> None:
        """Put the camera at a place (3,), looking at another, with ``up`` upwards."""
        look(self.plotter, *(np.array(vector) for vector in (position, focal, up)))

    def orbit(self, right: float, down: float) -> None:
        """Go round what is looked at as dragging the picture so far (pixels) would turn it."""
        camera = self.plotter.camera
        camera.Azimuth(-0.3 * right)
        back = unit(np.array(camera.position) - np.array(camera.focal_point))
        high = math.degrees(math.asin(min(max(float(back[2]), -1.0), 1.0)))
        camera.Elevation(min(max(0.3 * down, -_STEEPEST - high), _STEEPEST - high))
        self.plotter.renderer.ResetCameraClippingRange()

    def zoom(self, notches: float) -> None:
        """Bring what is looked at nearer, by a tenth for each notch of a wheel."""
        self.plotter.camera.Dolly(1.1**notches)
        self.plotter.renderer.ResetCameraClippingRange()

    def _look(
        self,
        points: np.ndarray,
        eye: Any,
        up: Any,
        margins: tuple[float, float, float, float],
    ) -> None:
        width, height = self.plotter.renderer.GetSize()
        if not len(points) or not height:
            return
        left, right, bottom, top = np.maximum(margins, self.free)
        free = (left, right, bottom, top)
        position, focal = fitted(points, np.array(eye), np.array(up), width / height, free)
        look(self.plotter, position, focal, np.array(up))
        self._choose_corner(points, width)

    def _choose_corner(self, points: np.ndarray, width: int) -> None:
        """Put the legend in the lower corner with less of the drawing in it.

        Only where a view is chosen: it would be a nuisance if it jumped as the camera is dragged.
        """
        flat, _ = in_picture(self.plotter.renderer, points)
        low = flat[flat[:, 1] < self._legend_box.reach(self.scale)[1], 0]
        across = self._legend_box.reach(self.scale)[0]
        self._legend_box.on_left = bool(np.sum(low < across) <= np.sum(low > width - across))

    def _outline_points(self) -> np.ndarray:
        """Points (M, 3) that hold the whole drawing, with the bars at both locks."""
        if self.setup is None:
            return np.empty((0, 3))
        whole = np.vstack([mesh.points[::5] for mesh in self._machine.meshes()])
        return np.vstack((whole, self._bars_lock_to_lock()))

    def _close_points(self) -> np.ndarray:
        """Points (M, 3) round the bars, at both locks, down to the lower clamp."""
        return np.vstack((self._upper, self._bars_lock_to_lock()))

    def _upper_points(self, machine: Machine) -> np.ndarray:
        """Points (M, 3) of what turns above the lower clamp, straight ahead."""
        low = local_to_machine(machine.rake, 0.0, 0.0, -machine.lower_clamp)[2]
        meshes = self._machine.meshes(Body.STEERING) + self._bars.meshes()
        points = np.vstack([mesh.points[::11] for mesh in meshes])
        return points[points[:, 2] > low]

    def _bars_lock_to_lock(self) -> np.ndarray:
        if self.setup is None:
            return np.empty((0, 3))
        machine = self.setup.machine
        bars = np.vstack([mesh.points[::5] for mesh in self._bars.meshes()])
        turns = (-machine.lock_right, 0.0, machine.lock_left)
        return np.vstack([bars @ body_motion(machine, Body.STEERING, t, 0.0)[0].T for t in turns])

    def _line_points(self, name: str) -> np.ndarray:
        """Points (M, 3) of a line in all the poses of its sweep."""
        if name not in self._tracks:
            return np.empty((0, 3))
        points = self._tracks[name].line.shapes.reshape(-1, 3)
        return points[np.isfinite(points).all(axis=1)]

    # --- asking ----------------------------------------------------------------------------------

    def pick(self, x: float, y: float, reach: float = 9.0) -> str | None:
        """The line within ``reach`` pixels of a place in the picture, from its lower left."""
        lines = {name: line.points for name, line in self._lines.items()}
        return nearest_line(self.plotter.renderer, lines, (x, y), reach)

    def along_line(self, name: str, spot: tuple[float, float]) -> tuple[float, np.ndarray]:
        """Where a line drawn now passes nearest to a place in the picture: mm along it, and the
        point (3,). Raises KeyError.
        """
        line = self._lines[name]
        flat, ahead = in_picture(self.plotter.renderer, line.points)
        away = np.where(ahead, np.hypot(*(flat - np.array(spot)).T), np.inf)
        best = int(away.argmin())
        return float(line.arc[best]), line.points[best].copy()

    def slacks(self) -> dict[str, float]:
        """What each line has to spare in this pose, mm; nan where that is not known."""
        poses = {name: track.at(self.turn, self.travel) for name, track in self._tracks.items()}
        return {
            name: pose.slack if pose is not None and pose.known else math.nan
            for name, pose in poses.items()
        }

    @property
    def lines(self) -> tuple[str, ...]:
        """The names of the lines there are actors of."""
        return tuple(self._lines)

    @property
    def legend_on_left(self) -> bool:
        """Whether the legend is in the left corner, or in the right one."""
        return self._legend_box.on_left

    def body_actors(self, body: Body) -> list[Any]:
        """The actors of machine, bars and holders on one body."""
        groups = (self._machine, self._bars, *self._holders.groups)
        return [actor for group in groups for actor in group.actors(body)]

    def line_actor(self, name: str) -> Any:
        """The actor of a line. Raises KeyError."""
        return self._lines[name].actor

    def line_points(self, name: str) -> np.ndarray:
        """The centreline (M, 3) drawn now; (0, 3) where the line is not drawn. Raises KeyError."""
        return self._lines[name].points

    def line_values(self, name: str) -> np.ndarray:
        """What the colour stands for at each point (M,) drawn now. Raises KeyError."""
        return self._lines[name].values

    def line_colours(self, name: str) -> np.ndarray:
        """The colours (M, 3), 0..255, drawn now. Raises KeyError."""
        return self._lines[name].colours

    def smooth(self, on: bool) -> None:
        """Smooth edges by four samples a pixel. Without a graphics card that quadruples the time
        of a frame, so it is for pictures that stand still.
        """
        self.plotter.render_window.SetMultiSamples(4 if on else 0)

    def close(self) -> None:
        """Stop listening to the plotter; call it before the plotter is closed."""
        self.plotter.renderer.RemoveObserver(self._observer)
