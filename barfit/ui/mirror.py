"""Keeps the parts of the window showing what the session holds.

Invariant: whatever is drawn comes from one ``Sweep`` and that sweep's own setup: a result's, or,
while the result of an edit is on its way, a glance at the pose looked at. The numbers of that pose
come from the same; what a result says beyond it is then hidden or shown as stale. While it is
stale, playing and scrubbing show a glance for every pose.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from barfit.analysis import Sweep
from barfit.analysis.moved import stretches
from barfit.geometry import pose as geometry
from barfit.model import Setup
from barfit.report.choices import choice_sentences
from barfit.report.doubts import all_doubts
from barfit.report.headline import headline
from barfit.report.movers import movers
from barfit.scene.colours import THEMES, Colour
from barfit.session import Result, line_names
from barfit.ui.ribbons import ribbons
from barfit.ui.steering_line import stops_of
from barfit.workshop.orders import taken

if TYPE_CHECKING:
    from barfit.ui.window import Window

WAITING = "Being worked out …"


class Mirror:
    """Shows one window's session in its parts, and knows what the picture shows now."""

    def __init__(self, window: Window) -> None:
        self._window, self._session = window, window.session
        self._viewport, self._body, self._strip = window.viewport, window.body, window.strip
        self._setup_side, self._line_side = window.setup_side, window.line_side
        self._commands = window.commands
        self._asked: Setup | None = None  # what the worker was last given
        self._colour = Colour.SLACK
        self._glance: Sweep | None = None  # what the picture shows instead of a result
        self._travel = 0.0
        self._play_when_ready = True
        self._doubted: tuple[Setup, str, list[str]] | None = None

    # what the session tells

    def opened(self) -> None:
        """Another file: all of it is worked out anew."""
        self._asked = None
        self._window.player.pause()

    def setup_changed(self) -> None:
        """The document holds another setup: have it worked out, unless that changes nothing."""
        setup = self._session.setup
        self._window.setWindowTitle(f"{setup.title}[*] – barfit")
        self.show_changed()
        self._window.alternatives.setup_changed()
        if self._asked is None or not setup.asks_same(self._asked):
            self._asked = setup
            self._window.worker.submit(setup, stock_first=self._session.stock)
        self.show_all()

    def results_changed(self, stock: bool) -> None:
        """There is something new to be known of the stock bars, or of the new ones."""
        result = self._session.result(stock)
        if result is not None and not self._session.stale(stock):
            self._window.alternatives.keep(result)
        if stock == self._session.stock:
            self.show_all()
            if self._play_when_ready and self._session.result() is not None:
                self._play_when_ready = False
                self._window.player.play()
        else:
            self.show_ghost()

    def pose_changed(self) -> None:
        """Another pose is looked at."""
        pose = self._session.pose
        self._window.player.start_from(pose.turn)
        if not self._show_glance():
            self._viewport.show_pose(pose)
        self._strip.show_turn(pose.turn)
        if pose.travel != self._travel:
            self._travel = pose.travel
            self._show_travel()
            self.show_strip()
            self.show_selection()
        else:
            self.show_pose_numbers()

    # the parts

    def show_all(self) -> None:
        """Show setup, bars, result, pose and selection anew."""
        session = self._session
        result = session.result()
        setup = result.sweep.setup if result else session.setup
        self._travel = session.pose.travel
        self._window.player.locks = (-setup.machine.lock_right, setup.machine.lock_left)
        self._commands.check("Lengths in", session.unit)
        self._setup_side.show_setup(session.setup, session.unit, session.stock)
        self._setup_side.show_unmeasured(session.setup, result.findings if result else ())
        self._setup_side.show_doubts(self._doubts())
        self._setup_side.show_lines(setup, result, session.unit, session.stale())
        self.show_summary()
        self._viewport.show_unit(session.unit)
        if not self._show_glance():
            self._viewport.show_setup(setup, session.stock)
            self._viewport.show_result(result)
        self.show_ghost()
        self._viewport.show_pose(session.pose)
        self._show_travel()
        self.show_strip()
        self.show_selection()

    def show_summary(self) -> None:
        """What is to be said of all lines, or of all bars, together."""
        self._setup_side.show_summary(self._summary())

    def _summary(self) -> str:
        """How many lines fit with these bars, or why not known; or which bars need least."""
        session = self._session
        compared = self._window.alternatives.summary()
        if compared is not None:
            return compared
        result = session.result()
        if result is None or session.stale():
            return self._why()
        setup = result.sweep.setup
        return headline(result.findings, result.remarks(session.unit), setup).words

    def _why(self) -> str:
        """Why there is nothing to be said yet; where it could not be worked out, all of that: the
        message over the window may be dismissed.
        """
        failure = self._session.failure
        return WAITING if failure is None else f"Not worked out. {failure}"

    def _show_glance(self) -> bool:
        """The setup as it stands, at this pose alone, while its result is on its way; whether
        there is such a thing to show.
        """
        self._glance = self._session.glance()
        if self._glance is None:
            return False
        self._viewport.show_glance(self._glance, self._session.pose)
        return True

    def _drawn(self) -> tuple[Sweep | None, Setup]:
        """What the picture shows: numbers beside it come out of the same."""
        if self._glance is not None:
            return self._glance, self._glance.setup
        result = self._session.result()
        return (None, self._session.setup) if result is None else (result.sweep, result.sweep.setup)

    def show_strip(self) -> None:
        """The ribbons of all lines, and of the way that one is held against."""
        session = self._session
        result = session.result()
        machine = (result.sweep.setup if result else session.setup).machine
        rows = (
            ribbons(result, session.pose.travel, self._colour, THEMES[self._scene_theme()].unknown)
            if result
            else ()
        )
        unknown = THEMES[self._scene_theme()].unknown
        rows = self._window.alternatives.ribbons(rows, session.pose.travel, self._colour, unknown)
        self._strip.show_locks(-machine.lock_right, machine.lock_left)
        self._strip.show_unit(session.unit)
        self._strip.show_stale(session.stale())
        self._strip.show_rows(result.sweep if result else None, rows)
        self._show_steering(result)
        self._strip.show_turn(session.pose.turn)

    def _show_steering(self, result: Result | None) -> None:
        """What all lines together do to the steering, in words and on the strip's axis."""
        session = self._session
        stopping = () if result is None else stops_of(result)
        self._body.steering.show_result(result, session.unit, session.stale())
        self._strip.show_stops([stop.turn for stop in stopping], self._body.steering.stopped)

    def _show_travel(self) -> None:
        travels = geometry.travels(self._session.setup.machine)
        nearest = int(abs(travels - self._session.pose.travel).argmin())
        self._window.transport.travels.show_value(nearest)

    def show_selection(self) -> None:
        """What is selected, everywhere it can be seen, and all about it on the right."""
        session = self._session
        name = session.selected
        result = session.result()
        drawn, setup = self._drawn()
        self._strip.show_selected(name)
        known = name is not None and name in line_names(setup)
        self._viewport.select(name if known else None)
        self._window.changing.show_forms()
        listed = name in self._setup_side.lines.names()  # those of the last result
        self._setup_side.lines.show_selected(name if listed else None)
        line = setup.line(name) if known and name is not None else None
        why = self._why()
        self._setup_side.topics.show_selected(session.topic)
        if session.topic is not None:
            self._body.topic_side.show_topic(session.topic, result, session.unit, why)
        shown = self._line_side if session.topic is None else self._body.topic_side
        self._body.right.setCurrentWidget(shown)
        known_before = result is not None and not session.stale()
        self._line_side.show_line(
            line, result if known_before else None, session.pose, session.unit, why
        )
        if line is not None and drawn is not None:
            self._line_side.show_pose(line, drawn, session.pose, session.unit)
        self._show_movers()
        self.show_remedies()
        self._window.alternatives.show()

    def show_remedies(self) -> None:
        """What can be done about the selected line with the new bars."""
        session = self._session
        result = session.result()
        known = () if result is None or session.stale() or session.stock else result.findings
        misfit = any(one.line == session.selected and not one.fits for one in known)
        setup, name = session.setup, session.selected or ""
        found = session.remedies_of(name)
        every = session.remedies or tuple(filter(None, [found]))
        done = taken(setup, every).get(name)
        said = choice_sentences(setup, every, [name])
        why = session.unproposed or ""
        self._line_side.remedies.show_remedies(misfit, found, session.unit, why, done, said)

    def show_pose_numbers(self) -> None:
        """The numbers of the pose shown, out of what the picture is of."""
        session = self._session
        drawn, setup = self._drawn()
        if drawn is not None and session.selected in line_names(setup):
            assert session.selected is not None
            line = setup.line(session.selected)
            self._line_side.show_pose(line, drawn, session.pose, session.unit)

    def show_ghost(self) -> None:
        """The other bars behind the picture, where they are wanted and of the same setup."""
        other: Result | None = None
        if self._commands.ghost.isChecked():
            other = self._session.result(not self._session.stock)
        fits = other is not None and other.sweep.setup == self._drawn()[1]
        self._viewport.show_ghost(other.sweep if other is not None and fits else None)

    def _doubts(self) -> list[str]:
        """What the setup says that can hardly be meant; looked for once for each edit (0.1 s)."""
        setup, unit = self._session.setup, self._session.unit
        if self._doubted is None or self._doubted[0] is not setup or self._doubted[1] != unit:
            self._doubted = setup, unit, all_doubts(setup, unit)
        return self._doubted[2]

    def tell_doubts(self) -> None:
        """What the file says that can hardly be meant, where there is any."""
        told = self._doubts()
        if told:
            self._window.message.say("\n".join(["This can hardly be meant:", *told]))

    def show_changed(self) -> None:
        """Whether there is anything to save, and what can be undone."""
        session = self._session
        self._window.setWindowModified(session.changed)
        self._commands.show_history(session.undo_name, session.redo_name, session.changed)

    def show_theme(self) -> None:
        """What does not take its colours from the palette by itself."""
        self._viewport.use_theme(self._scene_theme())
        self._commands.check("Appearance", self._window.theme.choice)
        self.show_strip()

    def _scene_theme(self) -> str:
        return "dark" if self._window.theme.colours.dark else "light"

    def colour_by(self, mode: Colour) -> None:
        """Colour lines and ribbons by slack, bend or pull."""
        self._colour = mode
        self._viewport.colour_by(mode)
        self._commands.bodies.setChecked(False)
        self.show_bodies()
        self.show_strip()

    def show_bodies(self) -> None:
        """What moves with what, where that is wanted: in the picture, and of the line in words."""
        self._viewport.show_bodies(self._commands.bodies.isChecked())
        self._show_movers()

    def _show_movers(self) -> None:
        session = self._session
        drawn, setup = self._drawn()
        name = session.selected
        said = ""
        if self._commands.bodies.isChecked() and drawn is not None and name in line_names(setup):
            places = geometry.layout(setup, setup.bars(drawn.stock))[str(name)]
            said = movers(stretches(places), places.names)
        self._line_side.show_movers(said)

    def show_tried(self, sweep: Sweep) -> None:
        """What is being tried out with the hand, in the picture and the numbers beside it."""
        self._window.player.pause()
        self._glance = sweep
        self._viewport.show_glance(sweep, self._session.pose)
        self._strip.show_stale(True)
        self.show_pose_numbers()
