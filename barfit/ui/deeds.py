"""What the commands of the window do, each by the name it has in the menus."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog

from barfit.geometry import pose as geometry
from barfit.report.remarks import Topic
from barfit.ui.help import AboutDialog, KeysDialog, Notice
from barfit.ui.line_list import Column
from barfit.ui.theme import Choice, TypeSize
from barfit.ui.transport import SPEEDS

if TYPE_CHECKING:
    from barfit.ui.window import Window


class Deeds:
    """Carries out what is asked of one window."""

    def __init__(self, window: Window) -> None:
        self._window, self._session = window, window.session
        self._notices: dict[str, Notice] = {}

    def do(self, command: str) -> None:
        """Carry out a command of the menus by its name."""
        turn = self._session.pose.turn
        machine = self._session.setup.machine
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
            "new": self._window.documents.ask_new,
            "open": self._window.documents.ask_open,
            "save": self._window.documents.save,
            "save_as": self._window.documents.save_as,
            "change": self._window.changing.change,
            "measure": self._window.beginning.measure,
            "add_line": self._window.beginning.ask_line,
            "delete_station": self._window.changing.delete_station,
            "context": self._window.context.open,
            "undo": self._window.changing.undo,
            "redo": self._window.changing.redo,
            "picture": self._ask_picture,
            "quit": self._window.close,
            "frame": self._frame,
            "bars": lambda: self._session.show_bars(not self._session.stock),
            "ghost": self._window.mirror.show_ghost,
            "bodies": self._window.mirror.show_bodies,
            "show": self._show,
            "job": lambda: self._window.desk.show(not self._window.desk.on),
            "unit": lambda: self.use_unit("mm" if self._session.unit == "in" else "in"),
            "play": self._window.player.toggle,
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

    def _show(self) -> None:
        self._window.desk.show(False)
        self._window.showing.enter()

    def scrub(self, turn: float) -> None:
        """Go to a turn (rad) by hand; playing stops."""
        self._window.player.pause()
        self._session.turn_to(turn)

    def go_to(self, turn: float, travel: float | None) -> None:
        """Go to a pose (rad, mm; None: the suspension stays); playing stops."""
        self._window.player.pause()
        self._session.turn_to(turn, travel)

    def show_worst(self, line: str) -> None:
        """Select a line and go to its worst pose."""
        self._session.select(line)
        result = self._session.result()
        if result is None:
            return
        finding = result.finding(line)
        if not math.isnan(finding.worst_turn):
            self.go_to(finding.worst_turn, finding.worst_travel)

    def use_unit(self, unit: str) -> None:
        """Show lengths in "mm" or "in", now and from now on."""
        self._window.settings.unit = unit
        self._session.use_unit(unit)

    def use_theme(self, choice: Choice) -> None:
        """Light, dark or as the system, now and from now on."""
        self._window.settings.theme = choice
        self._window.theme.choose(choice)

    def use_type(self, size: TypeSize) -> None:
        """Type of that size from the next start on: every part is laid out for the one it has."""
        self._window.settings.type_size = size
        self._window.message.say("The type is of that size when barfit is started again.")

    def save_picture(self, path: Path) -> None:
        """Save what the viewport shows as a PNG."""
        try:
            self._window.viewport.save_picture(path)
        except OSError as error:
            self._window.message.say(
                f"The picture was not saved to {path}: {error.strerror or error}."
            )

    def _ask_picture(self) -> None:
        start = Path.home() / f"{self._session.setup.title}.png"
        name, _ = QFileDialog.getSaveFileName(
            self._window, "Save picture", str(start), "PNG (*.png)"
        )
        if name:
            path = Path(name)
            self.save_picture(path if path.suffix else path.with_suffix(".png"))

    def sort_lines(self, by: str) -> None:
        """Sort the list by name, verdict or margin; by anything else as in the file."""
        columns = {"name": Column.NAME, "verdict": Column.VERDICT, "margin": Column.MARGIN}
        self._window.setup_side.lines.sort_by(columns.get(by))

    def _frame(self) -> None:
        if self._session.selected is not None:
            self._window.viewport.frame(self._session.selected)

    def _selected_worst(self) -> None:
        if self._session.selected is not None:
            self.show_worst(self._session.selected)

    def _step_line(self, by: int) -> None:
        """To the next line or topic of the list."""
        lines, topics = (
            self._window.setup_side.lines.names(),
            self._window.setup_side.topics.topics(),
        )
        rows: list[str | Topic | None] = [*lines, *topics]
        if not rows:
            return
        here = self._session.topic or self._session.selected
        at = min(max(rows.index(here) + by, 0), len(rows) - 1) if here in rows else 0
        if at < len(lines):
            self._session.select(lines[at])
        else:
            self._session.look_at(topics[at - len(lines)])

    def _change_speed(self, by: int) -> None:
        factors = [factor for _, factor in SPEEDS]
        at = factors.index(self._window.player.speed) + by
        self.pick_speed(factors[min(max(at, 0), len(factors) - 1)])

    def pick_speed(self, factor: float) -> None:
        """Play so many times as fast."""
        self._window.player.speed = factor
        self._window.transport.speeds.show_value(factor)

    def pick_travel(self, row: int) -> None:
        """Go to one of the suspension's positions that were worked out."""
        travel = float(geometry.travels(self._session.setup.machine)[row])
        self._session.turn_to(self._session.pose.turn, travel)

    def _show_notice(self, name: str) -> None:
        window = self._window
        if name not in self._notices:
            about = name == "about"
            made = AboutDialog(window) if about else KeysDialog(window.commands.actions, window)
            self._notices[name] = made
        self._notices[name].show()
        self._notices[name].activateWindow()


def _step(turn: float, degrees: int) -> float:
    """A turn (rad) so many degrees on, on a whole degree wherever it starts from."""
    here = math.degrees(turn)
    whole = math.floor(here + 1e-6) if degrees > 0 else math.ceil(here - 1e-6)
    return math.radians(whole + degrees)
