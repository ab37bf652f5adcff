"""The window: puts the parts together and keeps them showing what the session holds.

Invariants:
1. Whatever is drawn comes from one ``Sweep`` and that sweep's own setup: a result's, or, while
   the result of an edit is on its way, a glance at the pose looked at. The numbers of that pose
   come from the same; what a result says beyond it is then hidden or shown as stale. While it is
   stale, playing and scrubbing show a glance for every pose.
2. The viewport is made before the window (see viewport.py) and handed in.
3. Closing stops the player, then the worker, then the viewport, and only then the window.
"""

from __future__ import annotations

import math
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, QTimer, QUrl
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QGuiApplication
from PySide6.QtWidgets import QApplication, QFileDialog, QMainWindow

from barfit import scenario
from barfit.analysis import Sweep
from barfit.analysis.glance import from_sweep
from barfit.geometry import pose as geometry
from barfit.model import Setup
from barfit.recovery import Store
from barfit.report.doubts import all_doubts
from barfit.report.phrases import capital
from barfit.report.remarks import Topic
from barfit.report.standing import whole_summary
from barfit.scene.colours import THEMES, Colour
from barfit.session import Result, Session, line_names
from barfit.ui.alternatives import Alternatives
from barfit.ui.autosave import Autosave
from barfit.ui.body import Body
from barfit.ui.disk_watch import DiskWatch
from barfit.ui.documents import Documents
from barfit.ui.editing import take_in
from barfit.ui.field_row import FieldRow
from barfit.ui.file_notice import FileNotice
from barfit.ui.help import AboutDialog, KeysDialog, Notice
from barfit.ui.left_behind import LeftBehind
from barfit.ui.line_list import Column
from barfit.ui.menus import Commands
from barfit.ui.reshaping import Reshaping
from barfit.ui.ribbons import ribbons
from barfit.ui.settings import Settings
from barfit.ui.showing import Showing
from barfit.ui.steering_line import stops_of
from barfit.ui.theme import Choice, Theme
from barfit.ui.transport import SPEEDS, Player
from barfit.ui.worker import Worker

WAITING = "Being worked out …"
UNKNOWN = "Not worked out; the message above says why."

if TYPE_CHECKING:
    from barfit.ui.viewport import Viewport


class Window(QMainWindow):
    """One window on one session."""

    def __init__(
        self,
        session: Session,
        viewport: Viewport,
        worker: Worker,
        theme: Theme,
        settings: Settings,
        store: Store | None = None,
        second: Worker | None = None,
    ) -> None:
        """Unsaved changes are kept in ``store``, without one nowhere. The ``second`` worker judges
        alternatives; it starts nothing before one is looked at.
        """
        super().__init__()
        self.session = session
        self.viewport = viewport
        self.worker = worker
        self.theme = theme
        self.settings = settings
        self.player = Player(self)
        self.body = Body(theme, viewport)
        self.message, self.progress = self.body.message, self.body.progress
        self.setup_side, self.line_side = self.body.setup_side, self.body.line_side
        self.transport, self.strip = self.body.transport, self.body.strip
        self.alternatives = Alternatives(self, second if second is not None else Worker())
        self.commands = Commands(self)
        self.documents = Documents(self, session, settings)
        self.disk_watch = DiskWatch(session, self)
        FileNotice(self.body.file_notice, session, self.documents, self.disk_watch)
        self.autosave = Autosave(session, store, self) if store is not None else None
        self._asked: Setup | None = None  # what the worker was last given
        self._colour = Colour.SLACK
        self._glance: Sweep | None = None  # what the picture shows instead of a result
        self._travel = 0.0
        self._play_when_ready = True
        self._warm = False
        self._closed = False
        self._doubted: tuple[Setup, str, list[str]] | None = None
        self._leaving = False  # told to end from outside: no question will be answered
        self._notices: dict[str, Notice] = {}
        self.setAcceptDrops(True)
        self.setMinimumSize(QSize(960, 600))
        self.setCentralWidget(self.body)
        self.body.setFocus()  # no control looks chosen before one is
        self.reshaping = Reshaping(session, viewport.hand, viewport.scene, viewport)
        self._connect_parts()
        self._connect_session()
        self._fill_menus()
        self._restore()
        self._theme_changed()
        self._setup_changed()
        self._look_for_left_behind()
        self.showing = Showing(self)

    # putting together

    def _connect_parts(self) -> None:
        session = self.session
        self.commands.asked.connect(self.do)
        self.commands.file_asked.connect(self.open)
        self.commands.view_picked.connect(self.viewport.view)
        self.commands.colour_picked.connect(self.colour_by)
        self.commands.unit_picked.connect(self.use_unit)
        self.commands.theme_picked.connect(self.use_theme)
        self.commands.sort_picked.connect(self._sort_lines)
        self.documents.opened.connect(self._document_kept)
        self.documents.saved.connect(self._document_kept)
        self.documents.refused.connect(self.message.say)
        self.theme.changed.connect(self._theme_changed)
        self.player.moved.connect(session.turn_to)
        self.player.playing_changed.connect(self.transport.show_playing)
        self.transport.asked.connect(self.do)
        self.transport.speed_picked.connect(self._speed_picked)
        self.transport.travel_picked.connect(self._travel_picked)
        self.strip.turned.connect(self.scrub)
        self.strip.picked.connect(session.select)
        self.strip.worst_asked.connect(self.show_worst)
        self.viewport.line_clicked.connect(session.select)
        self.setup_side.bars_picked.connect(session.show_bars)
        self.setup_side.lines.picked.connect(session.select)
        self.setup_side.topics.picked.connect(session.look_at)
        self.setup_side.doubts_asked.connect(self._tell_doubts)
        self.line_side.worst_asked.connect(lambda: self.do("worst"))
        self.line_side.turned.connect(self.scrub)
        self.line_side.pose_asked.connect(self.go_to)
        self.body.topic_side.pose_asked.connect(self.go_to)
        self.line_side.page_picked.connect(self._show_line_page)
        self.line_side.change.station_picked.connect(session.select_station)
        self.setup_side.change_asked.connect(lambda: self.do("change"))
        self.body.change_side.done.connect(self._answer)
        self.line_side.change.done.connect(self._answer)
        self.line_side.page_picked.connect(lambda _: self._show_stations())
        for side in (self.line_side.change, self.body.change_side, self.reshaping):
            side.edited.connect(self._edited)
        self.reshaping.tried.connect(self._show_tried)
        self.reshaping.given_up.connect(self._show_all)
        self.worker.progressed.connect(self._progressed)
        self.worker.finished.connect(session.accept)
        self.worker.failed.connect(session.fail)
        self.worker.idle.connect(self.progress.hide)

    def _connect_session(self) -> None:
        session = self.session
        session.opened.connect(self._opened)
        session.setup_changed.connect(self._setup_changed)
        session.file_changed.connect(self._show_changed)
        session.bars_changed.connect(self._show_all)
        session.results_changed.connect(self._results_changed)
        session.pose_changed.connect(self._pose_changed)
        session.selection_changed.connect(self._show_selection)
        session.station_changed.connect(self._show_forms)
        session.unit_changed.connect(self._show_all)
        session.message.connect(self.message.say)

    def _look_for_left_behind(self) -> None:
        if self.autosave is None:
            return
        self.autosave.refused.connect(self.message.say)
        bar = self.body.left_behind
        left = LeftBehind(self, bar, self.session, self.documents, self.autosave)
        left.refused.connect(self.message.say)
        left.look()

    def _fill_menus(self) -> None:
        examples = [(capital(path.stem.replace("-", " ")), path) for path in scenario.bundled()]
        self.commands.fill_files(self.commands.examples, examples)
        self._fill_recent()
        self.commands.check("Colour by", self._colour)
        self.commands.check("Appearance", self.theme.choice)

    def _fill_recent(self) -> None:
        recent = [(str(path), path) for path in self.settings.recent]
        self.commands.fill_files(self.commands.recent, recent)

    def _restore(self) -> None:
        screen = QGuiApplication.primaryScreen().availableSize()
        self.resize(QSize(1440, 900).boundedTo(screen))
        geometry_before = self.settings.load_bytes("window")
        if geometry_before is not None:
            self.restoreGeometry(geometry_before)
        self.body.restore(self.settings, self.width(), self.height())

    # what the user asks for

    def open(self, path: Path) -> None:
        """Open a scenario file; when it cannot be used the message bar says why."""
        self.documents.open(path)

    def do(self, command: str) -> None:
        """Carry out a command of the menus by its name."""
        turn = self.session.pose.turn
        machine = self.session.setup.machine
        turns = {
            "back": _step(turn, -1),
            "forward": _step(turn, 1),
            "back_5": _step(turn, -5),
            "forward_5": _step(turn, 5),
            "right_lock": -machine.lock_right,
            "left_lock": machine.lock_left,
            "ahead": 0.0,
        }
        deeds = {
            "open": self.documents.ask_open,
            "save": self.documents.save,
            "save_as": self.documents.save_as,
            "change": self._change,
            "delete_station": self._delete_station,
            "undo": self.session.undo,
            "redo": self.session.redo,
            "picture": self._ask_picture,
            "quit": self.close,
            "frame": self._frame,
            "bars": lambda: self.session.show_bars(not self.session.stock),
            "ghost": self._show_ghost,
            "show": lambda: self.showing.enter(),
            "unit": lambda: self.use_unit("mm" if self.session.unit == "in" else "in"),
            "play": self.player.toggle,
            "worst": self._selected_worst,
            "slower": lambda: self._change_speed(-1),
            "faster": lambda: self._change_speed(1),
            "previous": lambda: self._step_line(-1),
            "next": lambda: self._step_line(1),
            "keys": lambda: self._show_notice(command),
            "about": lambda: self._show_notice(command),
        }
        if command in turns:
            self.scrub(turns[command])
        else:
            deeds[command]()

    def scrub(self, turn: float) -> None:
        """Go to a turn (rad) by hand; playing stops."""
        self.player.pause()
        self.session.turn_to(turn)

    def go_to(self, turn: float, travel: float | None) -> None:
        """Go to a pose (rad, mm; None: the suspension stays); playing stops."""
        self.player.pause()
        self.session.turn_to(turn, travel)

    def show_worst(self, line: str) -> None:
        """Select a line and go to its worst pose."""
        self.session.select(line)
        result = self.session.result()
        if result is None:
            return
        finding = result.finding(line)
        if not math.isnan(finding.worst_turn):
            self.go_to(finding.worst_turn, finding.worst_travel)

    def colour_by(self, mode: Colour) -> None:
        """Colour lines and ribbons by slack, bend or pull."""
        self._colour = mode
        self.viewport.colour_by(mode)
        self.show_strip()

    def use_unit(self, unit: str) -> None:
        """Show lengths in "mm" or "in", now and from now on."""
        self.settings.unit = unit
        self.session.use_unit(unit)

    def use_theme(self, choice: Choice) -> None:
        """Light, dark or as the system, now and from now on."""
        self.settings.theme = choice
        self.theme.choose(choice)

    def save_picture(self, path: Path) -> None:
        """Save what the viewport shows as a PNG."""
        try:
            self.viewport.save_picture(path)
        except OSError as error:
            self.message.say(f"The picture was not saved to {path}: {error.strerror or error}.")

    def _ask_picture(self) -> None:
        start = Path.home() / f"{self.session.setup.title}.png"
        name, _ = QFileDialog.getSaveFileName(self, "Save picture", str(start), "PNG (*.png)")
        if name:
            path = Path(name)
            self.save_picture(path if path.suffix else path.with_suffix(".png"))

    def _sort_lines(self, by: str) -> None:
        columns = {"name": Column.NAME, "verdict": Column.VERDICT, "margin": Column.MARGIN}
        self.setup_side.lines.sort_by(columns.get(by))

    def _frame(self) -> None:
        if self.session.selected is not None:
            self.viewport.frame(self.session.selected)

    def _selected_worst(self) -> None:
        if self.session.selected is not None:
            self.show_worst(self.session.selected)

    def _step_line(self, by: int) -> None:
        """To the next line or topic of the list."""
        lines, topics = self.setup_side.lines.names(), self.setup_side.topics.topics()
        rows: list[str | Topic | None] = [*lines, *topics]
        if not rows:
            return
        here = self.session.topic or self.session.selected
        at = min(max(rows.index(here) + by, 0), len(rows) - 1) if here in rows else 0
        if at < len(lines):
            self.session.select(lines[at])
        else:
            self.session.look_at(topics[at - len(lines)])

    def _change_speed(self, by: int) -> None:
        factors = [factor for _, factor in SPEEDS]
        at = factors.index(self.player.speed) + by
        self._speed_picked(factors[min(max(at, 0), len(factors) - 1)])

    def _speed_picked(self, factor: float) -> None:
        self.player.speed = factor
        self.transport.speeds.show_value(factor)

    def _travel_picked(self, row: int) -> None:
        travel = float(geometry.travels(self.session.setup.machine)[row])
        self.session.turn_to(self.session.pose.turn, travel)

    def _change(self) -> None:
        """The forms on the left and on the right."""
        self.body.left.setCurrentWidget(self.body.change_side)
        self._show_line_page(True)
        self.body.change_side.parts.setFocus()
        self._show_stations()
        self._warm_up()

    def _warm_up(self) -> None:
        """Load the compiled solver (a second or more) before the first edit waits for it."""
        result, pose = self.session.result(), self.session.pose
        if self._warm or result is None:
            return
        self._warm = True
        Thread(
            target=from_sweep,
            args=(result.sweep, pose.turn, pose.travel),
            name="solver being loaded",
            daemon=True,
        ).start()

    def _answer(self) -> None:
        """What was found, on the left and on the right."""
        self.body.left.setCurrentWidget(self.setup_side)
        self._show_line_page(False)
        self._show_stations()

    def _show_line_page(self, change: bool) -> None:
        self.line_side.show_page(change)
        self.alternatives.show()

    def take(self, setup: Setup, step: str) -> None:
        """Make the edited setup the session's, as one step; or say why not."""
        self._edited(setup, step, None)

    def _delete_station(self) -> None:
        if self.line_side.changing:
            self.reshaping.delete()

    def _show_stations(self) -> None:
        """Handles at the stations of the selected line while it is being changed."""
        changing = self.line_side.changing and self.session.selected is not None
        self.viewport.show_stations(self.reshaping.mark() if changing else None)

    def _show_tried(self, sweep: Sweep) -> None:
        """What is being tried out with the hand, in the picture and the numbers beside it."""
        self.player.pause()
        self._glance = sweep
        self.viewport.show_glance(sweep, self.session.pose)
        self.strip.show_stale(True)
        self._show_pose_numbers()

    def _edited(self, setup: Setup | None, step: str, row: FieldRow | None) -> None:
        """A form asks for an edit; one without a setup says in ``step`` why there is none."""
        why = step if setup is None else take_in(self.session, setup, step)
        if row is not None and why:
            row.refuse(why)
        elif why:
            self.message.say(why)
        elif row is not None:
            row.accept()

    def _show_forms(self) -> None:
        """The setup as it stands, whatever is worked out already."""
        session = self.session
        setup, name = session.setup, session.selected
        self.body.change_side.show_setup(setup, session.unit)
        line = setup.line(name) if name in line_names(setup) and name is not None else None
        self.line_side.change.show_line(setup, line, session.unit, session.station)
        self._show_stations()

    def _show_notice(self, name: str) -> None:
        if name not in self._notices:
            self._notices[name] = (
                KeysDialog(self.commands.actions, self) if name == "keys" else AboutDialog(self)
            )
        self._notices[name].show()
        self._notices[name].activateWindow()

    # what the session tells

    def _opened(self) -> None:
        self._asked = None
        self.player.pause()

    def _document_kept(self) -> None:
        """A file was opened or saved."""
        self.message.hide()
        self._tell_doubts()
        self._fill_recent()
        self._show_changed()

    def _doubts(self) -> list[str]:
        """What the setup says that can hardly be meant; looked for once for each edit (0.1 s)."""
        setup, unit = self.session.setup, self.session.unit
        if self._doubted is None or self._doubted[0] is not setup or self._doubted[1] != unit:
            self._doubted = setup, unit, all_doubts(setup, unit)
        return self._doubted[2]

    def _tell_doubts(self) -> None:
        """What the file says that can hardly be meant, where there is any."""
        told = self._doubts()
        if told:
            self.message.say("\n".join(["This can hardly be meant:", *told]))

    def _show_changed(self) -> None:
        """Whether there is anything to save, and what can be undone."""
        session = self.session
        self.setWindowModified(session.changed)
        self.commands.show_history(session.undo_name, session.redo_name, session.changed)

    def _setup_changed(self) -> None:
        setup = self.session.setup
        self.setWindowTitle(f"{setup.title}[*] – barfit")
        self._show_changed()
        self.alternatives.setup_changed()
        if self._asked is None or not setup.asks_same(self._asked):
            self._asked = setup
            self.worker.submit(setup, stock_first=self.session.stock)
        self._show_all()

    def _results_changed(self, stock: bool) -> None:
        result = self.session.result(stock)
        if result is not None and not self.session.stale(stock):
            self.alternatives.keep(result)
        if stock == self.session.stock:
            self._show_all()
            if self._play_when_ready and self.session.result() is not None:
                self._play_when_ready = False
                self.player.play()
        else:
            self._show_ghost()

    def _pose_changed(self) -> None:
        pose = self.session.pose
        self.player.start_from(pose.turn)
        if not self._show_glance():
            self.viewport.show_pose(pose)
        self.strip.show_turn(pose.turn)
        if pose.travel != self._travel:
            self._travel = pose.travel
            self._show_travel()
            self.show_strip()
            self._show_selection()
        else:
            self._show_pose_numbers()

    def _show_all(self) -> None:
        """Show setup, bars, result, pose and selection anew."""
        session = self.session
        result = session.result()
        setup = result.sweep.setup if result else session.setup
        self._travel = session.pose.travel
        self.player.locks = (-setup.machine.lock_right, setup.machine.lock_left)
        self.commands.check("Lengths in", session.unit)
        self.setup_side.show_setup(setup, session.unit, session.stock)
        self.setup_side.show_doubts(self._doubts())
        self.setup_side.show_lines(setup, result, session.unit, session.stale())
        self.show_summary()
        self.viewport.show_unit(session.unit)
        if not self._show_glance():
            self.viewport.show_setup(setup, session.stock)
            self.viewport.show_result(result)
        self._show_ghost()
        self.viewport.show_pose(session.pose)
        self._show_travel()
        self.show_strip()
        self._show_selection()

    def show_summary(self) -> None:
        """What is to be said of all lines, or of all bars, together."""
        self.setup_side.show_summary(self._summary())

    def _show_glance(self) -> bool:
        """The setup as it stands, at this pose alone, while its result is on its way; whether
        there is such a thing to show.
        """
        self._glance = self.session.glance()
        if self._glance is None:
            return False
        self.viewport.show_glance(self._glance, self.session.pose)
        return True

    def _drawn(self) -> tuple[Sweep | None, Setup]:
        """What the picture shows: numbers beside it come out of the same."""
        if self._glance is not None:
            return self._glance, self._glance.setup
        result = self.session.result()
        return (None, self.session.setup) if result is None else (result.sweep, result.sweep.setup)

    def _summary(self) -> str:
        """How many lines fit with these bars, or why that is not known; or which bars need least"""
        session = self.session
        compared = self.alternatives.summary()
        if compared is not None:
            return compared
        if session.failure is not None:
            return UNKNOWN
        result = session.result()
        if result is None or session.stale():
            return WAITING
        return whole_summary(result.findings, result.remarks(session.unit))

    def show_strip(self) -> None:
        """The ribbons of all lines, and of the way that one is held against."""
        session = self.session
        result = session.result()
        machine = (result.sweep.setup if result else session.setup).machine
        rows = (
            ribbons(result, session.pose.travel, self._colour, THEMES[self._scene_theme()].unknown)
            if result
            else ()
        )
        unknown = THEMES[self._scene_theme()].unknown
        rows = self.alternatives.ribbons(rows, session.pose.travel, self._colour, unknown)
        self.strip.show_locks(-machine.lock_right, machine.lock_left)
        self.strip.show_unit(session.unit)
        self.strip.show_stale(session.stale())
        self.strip.show_rows(result.sweep if result else None, rows)
        self._show_steering(result)
        self.strip.show_turn(session.pose.turn)

    def _show_steering(self, result: Result | None) -> None:
        """What all lines together do to the steering, in words and on the strip's axis."""
        stopping = () if result is None else stops_of(result)
        self.body.steering.show_result(result, self.session.stale())
        self.strip.show_stops([stop.turn for stop in stopping], self.body.steering.stopped)

    def _show_travel(self) -> None:
        travels = geometry.travels(self.session.setup.machine)
        nearest = int(abs(travels - self.session.pose.travel).argmin())
        self.transport.travels.show_value(nearest)

    def _show_selection(self) -> None:
        session = self.session
        name = session.selected
        result = session.result()
        drawn, setup = self._drawn()
        self.strip.show_selected(name)
        known = name is not None and name in line_names(setup)
        self.viewport.select(name if known else None)
        self._show_forms()
        listed = name in self.setup_side.lines.names()  # those of the last result
        self.setup_side.lines.show_selected(name if listed else None)
        line = setup.line(name) if known and name is not None else None
        why = UNKNOWN if session.failure is not None else WAITING
        self.setup_side.topics.show_selected(session.topic)
        if session.topic is not None:
            self.body.topic_side.show_topic(session.topic, result, session.unit, why)
        shown = self.line_side if session.topic is None else self.body.topic_side
        self.body.right.setCurrentWidget(shown)
        known_before = result is not None and self._glance is None
        self.line_side.show_line(
            line, result if known_before else None, session.pose, session.unit, why
        )
        if line is not None and drawn is not None:
            self.line_side.show_pose(line, drawn, session.pose, session.unit)
        self.alternatives.show()

    def _show_pose_numbers(self) -> None:
        session = self.session
        drawn, setup = self._drawn()
        if drawn is not None and session.selected in line_names(setup):
            assert session.selected is not None
            line = setup.line(session.selected)
            self.line_side.show_pose(line, drawn, session.pose, session.unit)

    def _show_ghost(self) -> None:
        other: Result | None = None
        if self.commands.ghost.isChecked():
            other = self.session.result(not self.session.stock)
        fits = other is not None and other.sweep.setup == self._drawn()[1]
        self.viewport.show_ghost(other.sweep if other is not None and fits else None)

    def _progressed(self, part: float) -> None:
        self.progress.show()
        self.progress.setValue(round(1000 * part))

    def _theme_changed(self) -> None:
        self.viewport.use_theme(self._scene_theme())
        self.commands.check("Appearance", self.theme.choice)
        self.show_strip()

    def _scene_theme(self) -> str:
        return "dark" if self.theme.colours.dark else "light"

    # what Qt tells

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Files may be dropped."""
        if _local_file(event.mimeData().urls()) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the first file dropped."""
        path = _local_file(event.mimeData().urls())
        if path is not None:
            event.acceptProposedAction()
            # later: the program it was dragged from waits, and there may be a question to answer
            QTimer.singleShot(0, self, lambda: self.open(path))

    def leave(self) -> None:
        """Close at once and end the program, without asking whether to save: it was told to end.

        What is unsaved is offered at the next start.
        """
        self._leaving = True
        self.close()
        QApplication.quit()  # also where a dialog is open

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop everything that moves, then let the window go."""
        if self._closed:
            super().closeEvent(event)
            return
        if not self._leaving and not self.documents.may_leave():
            event.ignore()
            return
        self._closed = True
        self.showing.leave()
        self.disk_watch.stop()
        if self.autosave is not None:
            self.autosave.stop(keep=self._leaving)
        self.player.pause()
        self.worker.stop()
        self.alternatives.comparer.stop()
        self.settings.save_bytes("window", self.saveGeometry())
        self.body.keep(self.settings)
        self.viewport.shut()
        super().closeEvent(event)


def _local_file(urls: list[QUrl]) -> Path | None:
    """The first local file among what is dragged."""
    return next((Path(url.toLocalFile()) for url in urls if url.isLocalFile()), None)


def _step(turn: float, degrees: int) -> float:
    """A turn (rad) so many degrees on, on a whole degree wherever it starts from."""
    here = math.degrees(turn)
    whole = math.floor(here + 1e-6) if degrees > 0 else math.ceil(here - 1e-6)
    return math.radians(whole + degrees)
