"""The right side while a line is being changed: its own form, and that of one of its stations."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QButtonGroup,
    QGridLayout,
    QHBoxLayout,
    QMenu,
    QVBoxLayout,
    QWidget,
)

from barfit import edits, forms
from barfit.geometry.pose import LayoutError
from barfit.model import BarPlace, Body, Hold, Line, OutletPlace, Setup, Station
from barfit.report.phrases import capital
from barfit.ui.form import Form
from barfit.ui.icons import Worn
from barfit.ui.theme import GRID, Theme, Type
from barfit.ui.widgets import Button, label, on_escape, reveal

_THROUGH = ("Through the bar", "Plug to pass")  # groups that stand with the line's way
_NEW = (  # what can hold a line on its way: its words, how it holds, whether beside the bar, a tip
    ("Guide", Hold.GUIDE, False, "A guide, ring or grommet on the machine: the line slides in it"),
    ("Clip", Hold.CLIP, False, "On the machine; it grips the line"),
    ("Loose tie on the bar", Hold.GUIDE, True, "The line slides in it"),
    ("Tight tie on the bar", Hold.CLIP, True, "It grips the line"),
)


class LineChange(QWidget):
    """Everything of a line that can be changed. ``edited`` as a form has it; ``station_picked``
    tells the number of the station that is looked at, ``line_picked`` the line to look at from now
    on; ``done`` asks to go back to the answer.
    """

    edited = Signal(object, str, object)
    station_picked = Signal(int)
    line_picked = Signal(str)
    done = Signal()

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._setup: Setup | None = None
        self._line: Line | None = None
        self._unit = "mm"
        self._station = 0
        self.own, self.place, self.rest = Form(), Form(), Form()
        for form in (self.own, self.place, self.rest):
            form.edited.connect(self.edited)
        self.copy, self.delete = Button("Duplicate"), Button("Delete")
        self.copy.setAccessibleName("Duplicate line")
        self.delete.setAccessibleName("Delete line")
        self.copy.clicked.connect(self._copy_line)
        self.delete.clicked.connect(self._delete_line)
        self.add = Button("Add")
        self.twin, self.drop, self.earlier, self.later = (Button() for _ in range(4))
        menu = QMenu(self)
        menu.setToolTipsVisible(True)
        for words, hold, on_bar, tip in _NEW:
            action = menu.addAction(words)
            action.setToolTip(tip)
            action.triggered.connect(lambda _=False, new=(hold, on_bar): self._add_station(*new))
        self.add.setMenu(menu)
        self.twin.clicked.connect(self._copy_station)
        self.drop.clicked.connect(self._drop_station)
        self.earlier.clicked.connect(lambda: self._move(-1))
        self.later.clicked.connect(lambda: self._move(1))
        for button, name, tip in (
            (self.copy, "copy", ""),
            (self.delete, "delete", ""),
            (self.add, "add", "Add a guide, clip or tie after this station"),
            (self.twin, "copy", "Duplicate this station"),
            (self.drop, "delete", "Delete this station (Del)"),
            (self.earlier, "up", "This station earlier along the line (Alt+Up)"),
            (self.later, "down", "This station later along the line (Alt+Down)"),
        ):
            Worn(button, name, theme)
            if tip:
                button.setToolTip(tip)
                button.setAccessibleName(tip.partition(" (")[0])
        self._names = QGridLayout()
        self._names.setSpacing(2)
        self._group = QButtonGroup(self)
        self._group.idClicked.connect(self._picked)
        self._whole = QWidget()  # seen while there is a line
        held = QVBoxLayout(self)
        held.setContentsMargins(0, 0, 0, 0)
        held.addWidget(self._whole)
        column = QVBoxLayout(self._whole)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        column.addLayout(_row(self.copy, self.delete))
        column.addWidget(self.own)
        heading = label("Stations, from the bar on", Type.STRONG)
        heading.setWordWrap(True)
        head = QHBoxLayout()
        head.setSpacing(GRID // 2)
        head.addWidget(heading, 1)
        head.addWidget(self.earlier)
        head.addWidget(self.later)
        column.addLayout(head)
        column.addLayout(self._names)
        column.addLayout(_row(self.add, self.twin, self.drop))
        column.addWidget(self.place)
        column.addWidget(self.rest)
        column.addStretch(1)
        on_escape(self, self.done.emit)
        for key, by in ((Qt.Key.Key_Up, -1), (Qt.Key.Key_Down, 1)):
            keys = QShortcut(QKeySequence(Qt.Modifier.ALT | key), self)
            keys.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            keys.activated.connect(lambda by=by: self._move(by))

    def show_line(self, setup: Setup, line: Line | None, unit: str, station: int) -> None:
        """The line as it is now, and which of its stations is looked at."""
        self._setup, self._line, self._unit = setup, line, unit
        self._whole.setVisible(line is not None)
        if line is None:
            return
        known, self._station = self._station, min(max(station, 0), len(line.stations) - 1)
        groups = forms.line_form(setup, line.name, unit)
        through = [group for group in groups if group.heading.startswith(_THROUGH)]
        self.own.show_groups((groups[0], *through), {}, unit)
        rest = tuple(group for group in groups[1:] if group not in through)
        self.rest.show_groups(rest, {}, unit)
        self.place.show_groups(forms.station_form(setup, line.name, self._station), {}, unit)
        self._show_stations(line)
        self._set_tab_order()
        last = len(line.stations) - 1
        between = 0 < self._station < last
        for button in (self.twin, self.drop):
            button.setEnabled(between)
        self.add.setEnabled(self._station < last)
        self.earlier.setEnabled(between and self._station > 1)
        self.later.setEnabled(between and self._station < last - 1)
        if self._station != known:
            QTimer.singleShot(0, self._reveal_station)  # once it is laid out

    def _reveal_station(self) -> None:
        """Bring the numbers of the station looked at into sight, and its name above them."""
        if self._line is not None and self.isVisible():
            reveal(self.place)
            reveal(self.station_button(self._station))

    def station_button(self, number: int) -> Button:
        """The button of a station."""
        button = self._group.button(number)
        assert isinstance(button, Button)
        return button

    def _show_stations(self, line: Line) -> None:
        if len(self._group.buttons()) != len(line.stations):
            for button in self._group.buttons():
                self._group.removeButton(button)
                button.hide()
                button.deleteLater()
            for number in range(len(line.stations)):
                button = Button()
                button.setProperty("role", "row")
                button.setCheckable(True)
                self._group.addButton(button, number)
                self._names.addWidget(button, number, 0)
                button.show()  # at once: what is not shown yet cannot take the keys
        for number, station in enumerate(line.stations):
            button = self.station_button(number)
            words = f"{capital(station.hold)}, {_rides(station)}"
            button.setText(f"{number + 1}  {capital(station.name)}")
            button.setToolTip(words)
            button.setAccessibleName(f"Station {number + 1}: {station.name}, {words}")
            button.setChecked(number == self._station)

    def _set_tab_order(self) -> None:
        """From top to bottom, whichever came to be first."""
        last = self.own.follow(self.delete)
        for widget in (
            self.earlier,
            self.later,
            *self._group.buttons(),
            self.add,
            self.twin,
            self.drop,
        ):
            QWidget.setTabOrder(last, widget)
            last = widget
        self.rest.follow(self.place.follow(last))

    def _picked(self, number: int) -> None:
        self.station_picked.emit(number)

    def _copy_line(self) -> None:
        before = {line.name for line in self._setup.lines} if self._setup else set()
        if self._edit(edits.duplicate_line, "Duplicate {}") and self._setup is not None:
            copy = next(one.name for one in self._setup.lines if one.name not in before)
            self.line_picked.emit(copy)

    def _delete_line(self) -> None:
        self._edit(edits.delete_line, "Delete {}")

    def _drop_station(self) -> None:
        """Take a station out, and look at the line's end at the bar: no neighbour is next."""
        at = self._station

        def change(setup: Setup, line: str) -> Setup:
            return edits.delete_station(setup, line, at)

        if self._edit(change, "Delete station of {}"):
            self._look_at(0)

    def _add_station(self, hold: Hold, on_bar: bool) -> None:
        """Half way to the next station, and look at it."""
        at = self._station
        what = "tie" if on_bar else str(hold)

        def change(setup: Setup, line: str) -> Setup:
            return edits.add_station(setup, line, at, hold, on_bar)

        if self._edit(change, f"Add {what} to {{}}"):
            self._look_at(at + 1)

    def _copy_station(self) -> None:
        at = self._station

        def change(setup: Setup, line: str) -> Setup:
            return edits.duplicate_station(setup, line, at)

        if self._edit(change, "Duplicate station of {}"):
            self._look_at(at + 1)

    def _move(self, by: int) -> None:
        at = self._station
        if not (self.earlier if by < 0 else self.later).isEnabled():
            return

        def change(setup: Setup, line: str) -> Setup:
            return edits.move_in_order(setup, line, at, by)

        if self._edit(change, "Reorder stations of {}"):
            self._look_at(at + by)

    def _look_at(self, number: int) -> None:
        """Look at a station, the keys on it."""
        self.station_picked.emit(number)
        self.station_button(number).setFocus()

    def _edit(self, change: Callable[[Setup, str], Setup], step: str) -> bool:
        """Ask for an edit; gives whether it was taken."""
        if self._setup is None or self._line is None:
            return False
        before, name = self._setup, self._line.name
        try:
            self.edited.emit(change(self._setup, name), step.format(name), None)
        except (LayoutError, ValueError) as error:
            self.edited.emit(None, str(error), None)
        return self._setup is not before


def _rides(station: Station) -> str:
    """What a station goes with, in words."""
    place = station.place
    if isinstance(place, OutletPlace):
        return f"on the {place.control}"
    if isinstance(place, BarPlace):
        return "beside the bar"
    return f"on the {place.body}" if place.body is not Body.STEERING else "turns with the steering"


def _row(*buttons: Button) -> QHBoxLayout:
    row = QHBoxLayout()
    row.setSpacing(GRID)
    for button in buttons:
        row.addWidget(button)
    row.addStretch(1)
    return row
