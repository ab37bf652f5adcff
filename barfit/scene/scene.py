"""The scene: one machine with its bars and swept lines on a plotter somebody else owns.

Three rules hold throughout.

1. Nothing here renders. After any change the owner of the plotter renders once.
2. A line is only drawn from a sweep of the very setup and bars on show, and only at a pose which
   that sweep holds. Otherwise it is not drawn.
3. Actors keep their meshes: bodies move by matrix, lines by new points in the mesh they have.
"""

from __future__ import annotations

import weakref
from collections.abc import Iterable
from typing import Any

import numpy as np

from barfit.analysis.banjos import ends_bolt
from barfit.analysis.findings import LineFinding
from barfit.analysis.sweep import Sweep
from barfit.geometry.pose import Layout, body_motion, layout
from barfit.model import Body, Setup
from barfit.scene.behind import Before, OtherWay, Route
from barfit.scene.callouts import Callouts
from barfit.scene.camera import (
    BARS_MARGINS,
    LINE_MARGINS,
    VIEWS,
    WHOLE_MARGINS,
    Margins,
    look,
    look_at,
    orbit,
    pixel_at,
    zoom,
)
from barfit.scene.colours import THEMES, Colour, Legend, Theme, legend
from barfit.scene.ghost import Ghost
from barfit.scene.groups import Motions, matrix
from barfit.scene.handles import Triad
from barfit.scene.hardware import Hardware
from barfit.scene.holders import turned_back
from barfit.scene.key import BodyKey
from barfit.scene.lines import LineLook
from barfit.scene.marks import Mark
from barfit.scene.overlay import Caption, LegendBox
from barfit.scene.pick import in_picture
from barfit.scene.rings import Rings
from barfit.scene.sliders import ControlMarks
from barfit.scene.stage import light
from barfit.scene.stations import StationMarks, can_move, can_turn, leaving
from barfit.scene.swept_lines import SweptLines

_CLOSE = 160.0  # mm round a point that is looked at from close up


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
        self.turn, self.travel = 0.0, 0.0
        self.selected: str | None = None
        self.mode = Colour.SLACK
        self.by_body = False
        self.unit = unit
        self.scale = scale
        self.show_legend = True
        self.free: Margins = (0.0, 0.0, 0.0, 0.0)  # shares of the picture something lies over
        self.name_marks = True
        self.caption: tuple[str, str] | None = None
        self.marks: tuple[Mark, ...] = ()
        self._theme: Theme = THEMES[theme]
        self._layouts: dict[str, Layout] = {}
        self._moved: tuple[tuple[float, float, float], Motions] | None = None
        self._hardware = Hardware(plotter, self._theme)
        self._lines = SweptLines(plotter)
        self._ghost = Ghost(plotter, self._theme)
        self.before = Before(plotter)
        self.other_way = OtherWay(plotter)
        self.stations = StationMarks(plotter)
        self.station: int | None = None  # looked at, of the line being changed
        self.triad = Triad(plotter)
        self.rings = Rings(plotter)
        self.controls = ControlMarks(plotter)
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
        self._hardware.build(setup, stock, self._theme)
        self._hardware.holders.replace(setup, stock, layouts, {})
        self.setup, self.stock, self._layouts = setup, stock, layouts
        self._lines.drop()
        self.before.keep(None, {})
        self.other_way.take(None)
        self._ghost.keep_for(setup, self._theme)
        if self.selected not in {line.name for line in setup.lines}:
            self.selected = None
        self._pose()

    @property
    def sweep(self) -> Sweep | None:
        """What the lines are drawn from, None where none are."""
        return self._lines.sweep

    @property
    def glancing(self) -> bool:
        """Whether the lines are drawn at one pose alone, the whole sweep being on its way."""
        return self.sweep is not None and self.sweep is not self.before.sweep

    def show_other_way(self, route: Route | None) -> None:
        """Draw another way for a line of this setup to go beside it; None for none."""
        if route is not self.other_way.route:
            self.other_way.take(route)
            self._draw_lines()

    def show_sweep(self, sweep: Sweep, findings: Iterable[LineFinding] = ()) -> None:
        """Draw the lines from a sweep of the setup and bars on show.

        Raises ValueError for a sweep of another setup or of the other bars.
        """
        if self.setup is None or sweep.setup != self.setup or sweep.stock != self.stock:
            raise ValueError("the sweep is not of the setup and bars that are shown")
        self._lines.replace(sweep, findings, self._layouts)
        self.before.keep(sweep, self._lines.tracks)
        runs = self._lines.runs(0.0, 0.0)
        self._hardware.holders.replace(self.setup, self.stock, self._layouts, runs)
        self._pose()

    def show_glance(self, sweep: Sweep, travel: float) -> None:
        """Draw a setup and its lines at the one pose that a glance is of, ``travel`` mm.

        Only what is not as it was is drawn anew: this is what keeps up with a hand.
        """
        setup, stock = sweep.setup, sweep.stock
        if _apart_from_lines(setup, stock) != _apart_from_lines(self.setup, self.stock):
            self.other_way.take(None)  # it was worked out for what is no more
        self._hardware.build(setup, stock, self._theme)
        self.setup, self.stock = setup, stock
        self._layouts = {line.name: line.spans[0].case.layout for line in sweep.lines}
        self._ghost.keep_for(setup, self._theme)
        if self.selected not in self._layouts:
            self.selected = None
        self.turn, self.travel = float(sweep.angles[0]), travel
        self._lines.change(sweep, self._layouts)
        motions = self._motions(setup)
        runs = {
            name: turned_back(way, self._layouts[name].bodies, motions)
            for name, way in self._lines.runs(self.turn, self.travel, known=True).items()
        }
        self._hardware.holders.change(setup, stock, self._layouts, runs)
        self._pose()

    def set_ghost(self, sweep: Sweep | None) -> None:
        """Show other bars of the same setup with their lines behind, translucent; None hides."""
        if sweep is not None and (self.setup is None or sweep.setup != self.setup):
            raise ValueError("the ghost is not of the setup that is shown")
        self._ghost.replace(sweep, self._theme)
        if sweep is not None:
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
        matrices = {body: matrix(*motion) for body, motion in self._motions(self.setup).items()}
        self._hardware.move(matrices)
        self._ghost.move(self.turn, self.travel, matrices)
        self.controls.move(matrices[Body.STEERING])
        self.controls.take(self.setup, self.stock)
        self._draw_lines()

    def _motions(self, setup: Setup) -> Motions:
        """How every body has moved in this pose, worked out once for each."""
        key = setup.machine.rake, self.turn, self.travel
        if self._moved is None or self._moved[0] != key:
            moved = {b: body_motion(setup.machine, b, self.turn, self.travel) for b in Body}
            self._moved = key, moved
        return self._moved[1]

    def _draw_lines(self) -> None:
        """Shapes, colours and marks of all lines in this pose."""
        look_of_lines = LineLook(self.mode, self._theme, self.selected, self.by_body)
        pose = self.turn, self.travel
        marks = self._lines.draw(*pose, look_of_lines, self.unit)
        now = {name: line.points for name, line in self._lines.actors.items()}
        self.marks = marks + self.other_way.draw(*pose, look_of_lines, now)
        if self.glancing:
            self.before.show(self.stock, now, *pose, self._theme)
        else:
            self.before.hide()
        self._mark_stations()

    def show_stations(self, looked_at: int | None) -> None:
        """Draw handles at the stations of the selected line, of which one is looked at; or none."""
        self.station = looked_at
        self._mark_stations()

    def _mark_stations(self) -> None:
        name = self.selected
        pose = self._lines.at(name, self.turn, self.travel) if name is not None else None
        if self.station is None or name is None or pose is None or self.setup is None:
            self.stations.clear()
            self.triad.put(None)
            self.rings.put(None)
            return
        places, line = self._layouts[name], self.setup.line(name)
        known = pose.known and bool(np.isfinite(pose.stations_at).all())
        if known:
            ways = pose.along(self._lines.actors[name].arc)
        else:
            ways = np.nan_to_num(places.directions, nan=0.57)
        pixel = pixel_at(self.plotter, pose.points[len(pose.points) // 2]) * self.scale
        self.stations.show(
            places, self._motions(self.setup), ways, 0.5 * line.diameter, self.station, pixel
        )
        movable = can_move(places, self.station)
        self.triad.put(self.stations.points[self.station] if movable else None)
        if not can_turn(places, self.station):
            self.rings.put(None)
            return
        turned, _ = self._motions(self.setup)[places.bodies[self.station]]
        last = self.station == len(places.holds) - 1
        end = self.station == 0 or last
        on = ends_bolt(self.setup, self.setup.bars(self.stock), line, last) if end else None
        self.rings.put(
            self.stations.points[self.station],
            turned @ leaving(places, self.station),
            None if on is None else turned @ on,
        )

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
        self._hardware.paint_by_body(on)
        self._draw_lines()

    def set_unit(self, unit: str) -> None:
        """Write lengths in "mm" or "in"."""
        self.unit = unit
        self._draw_lines()

    def set_theme(self, theme: str) -> None:
        """Take on the "light" or "dark" theme."""
        self._theme = THEMES[theme]
        self._background()
        self._hardware.restyle(self._theme)
        self.before.hide()  # it is drawn again in the theme's own colour
        self._ghost.bars.restyle(self._theme)
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
        self.triad.lay_out(self._theme, self.scale, shown=self.rings.held is None)
        self.rings.lay_out(self._theme, self.scale)
        self.controls.lay_out(self._theme, self.scale)
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
        turned, _ = self._motions(self.setup)[Body.STEERING]
        lines = [line.points[::4] for line in self._lines.actors.values()]
        return np.vstack((self._hardware.upper @ turned.T, *lines))

    # --- the camera ------------------------------------------------------------------------------

    def view(self, name: str) -> None:
        """Look from a standard direction (see `VIEWS`) at the whole front end, at any turn."""
        view = VIEWS[name]
        margins = BARS_MARGINS if view.close else WHOLE_MARGINS
        self._look(
            self._round_bars() if view.close else self._outline(), view.eye, view.up, margins
        )

    def frame(self, line: str | None = None, bars: bool = False) -> None:
        """Move the camera, as it stands, to a line in all its poses, and with ``bars`` to all that
        is round the bars too; None for everything.
        """
        points = self._outline() if line is None else self._lines.all_poses(line)
        if bars:
            points = np.vstack((points, self._round_bars()))
        camera = self.plotter.camera
        eye = np.array(camera.position) - np.array(camera.focal_point)
        margins = WHOLE_MARGINS if line is None or bars else LINE_MARGINS
        self._look(points, eye, camera.up, margins)

    def close_up(self, point: np.ndarray) -> None:
        """Move the camera, as it stands, close to a point (3,)."""
        camera = self.plotter.camera
        eye = np.array(camera.position) - np.array(camera.focal_point)
        self._look(
            point + _CLOSE * np.vstack((np.eye(3), -np.eye(3))), eye, camera.up, LINE_MARGINS
        )

    def look_from(self, position: Any, focal: Any, up: Any) -> None:
        """Put the camera at a place (3,), looking at another, with ``up`` upwards."""
        look(self.plotter, *(np.array(vector) for vector in (position, focal, up)))

    def orbit(self, right: float, down: float) -> None:
        """Go round what is looked at as dragging the picture so far (pixels) would turn it."""
        orbit(self.plotter, right, down)

    def zoom(self, notches: float) -> None:
        """Bring what is looked at nearer, by a tenth for each notch of a wheel."""
        zoom(self.plotter, notches)

    def _look(self, points: np.ndarray, eye: Any, up: Any, margins: Margins) -> None:
        if len(points) and self.plotter.renderer.GetSize()[1]:
            left, right, bottom, top = np.maximum(margins, self.free)
            height = self.plotter.renderer.GetSize()[1]
            # from close up it is the middle that is looked at, whatever is written below
            above = self.show_legend and margins == WHOLE_MARGINS
            legend = self._legend_box.reach(self.scale)[1] / height if above else 0.0
            look_at(self.plotter, points, eye, up, (left, right, bottom, top), legend)
            self._legend_box.choose_corner(in_picture(self.plotter.renderer, points)[0], self.scale)

    def _outline(self) -> np.ndarray:
        """Points (M, 3) that hold the whole drawing, with the bars at both locks."""
        return (
            np.empty((0, 3)) if self.setup is None else self._hardware.outline(self.setup.machine)
        )

    def _round_bars(self) -> np.ndarray:
        """Points (M, 3) round the bars, at both locks, down to the lower clamp."""
        if self.setup is None:
            return np.empty((0, 3))
        return self._hardware.round_bars(self.setup.machine)

    # --- asking ----------------------------------------------------------------------------------

    def pick(self, x: float, y: float, reach: float = 9.0) -> str | None:
        """The line within ``reach`` pixels of a place in the picture, from its lower left."""
        return self._lines.pick((x, y), reach)

    def along_line(self, name: str, spot: tuple[float, float]) -> tuple[float, np.ndarray]:
        """Where a line drawn now passes nearest to a place in the picture: mm along it, and the
        point (3,). Raises KeyError.
        """
        return self._lines.along(name, spot)

    def slacks(self) -> dict[str, float]:
        """What each line has to spare in this pose, mm; nan where that is not known."""
        return self._lines.slacks(self.turn, self.travel)

    def radii(self) -> dict[str, float]:
        """How tightly each line is bent in this pose, mm; nan where that is not known."""
        return self._lines.radii(self.turn, self.travel)

    @property
    def lines(self) -> tuple[str, ...]:
        """The names of the lines there are actors of."""
        return tuple(self._lines.actors)

    @property
    def legend_on_left(self) -> bool:
        """Whether the legend is in the left corner, or in the right one."""
        return self._legend_box.on_left

    def body_actors(self, body: Body) -> list[Any]:
        """The actors of machine, bars and holders on one body."""
        return self._hardware.actors(body)

    def line_actor(self, name: str) -> Any:
        """The actor of a line. Raises KeyError."""
        return self._lines.actors[name].actor

    def line_points(self, name: str) -> np.ndarray:
        """The centreline (M, 3) drawn now; (0, 3) where the line is not drawn. Raises KeyError."""
        return self._lines.actors[name].points

    def line_values(self, name: str) -> np.ndarray:
        """What the colour stands for at each point (M,) drawn now. Raises KeyError."""
        return self._lines.actors[name].values

    def line_colours(self, name: str) -> np.ndarray:
        """The colours (M, 3), 0..255, drawn now. Raises KeyError."""
        return self._lines.actors[name].colours

    def smooth(self, on: bool) -> None:
        """Smooth edges by four samples a pixel. Without a graphics card that quadruples the time
        of a frame, so it is for pictures that stand still.
        """
        self.plotter.render_window.SetMultiSamples(4 if on else 0)

    def close(self) -> None:
        """Stop listening to the plotter; call it before the plotter is closed."""
        self.plotter.renderer.RemoveObserver(self._observer)


def _apart_from_lines(setup: Setup | None, stock: bool) -> object:
    """What the lines are between: machine, bars and controls."""
    return None if setup is None else (setup.machine, setup.bars(stock), setup.controls)
