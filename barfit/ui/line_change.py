"""The right side while a line is being changed: its own form, and that of one of its stations."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from barfit import edits, forms
from barfit.geometry.pose import LayoutError, layout
from barfit.model import BarPlace, Body, Hold, How, Line, OutletPlace, Setup, Station
from barfit.report.phrases import capital
from barfit.ui.form import Form
from barfit.ui.icons import Worn
from barfit.ui.theme import GRID, Theme, Type
from barfit.ui.widgets import Button, label, on_escape


class LineChange(QWidget):
    """Everything of a line that can be changed. ``edited`` as a form has it; ``station_picked``
    tells the number of the station that is looked at; ``done`` asks to go back to the answer.
    """

    edited = Signal(object, str, object)
    station_picked = Signal(int)
    done = Signal()

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._setup: Setup | None = None
        self._line: Line | None = None
        self._unit = "mm"
        self._station = 0
        self.own, self.place = Form(), Form()
        for form in (self.own, self.place):
            form.edited.connect(self.edited)
        self.copy, self.delete = Button("Duplicate"), Button("Delete")
        self.copy.setAccessibleName("Duplicate line")
        self.delete.setAccessibleName("Delete line")
        self.copy.clicked.connect(self._copy_line)
        self.delete.clicked.connect(self._delete_line)
        self.guide, self.drop = Button("Add guide after it"), Button("Delete it")
        self.guide.clicked.connect(self._add_guide)
        self.drop.clicked.connect(self._drop_station)
        for button, name in (
            (self.copy, "copy"),
            (self.delete, "delete"),
            (self.guide, "add"),
            (self.drop, "delete"),
        ):
            Worn(button, name, theme)
        self._names = QGridLayout()
        self._names.setSpacing(2)
        self._group = QButtonGroup(self)
        self._group.idClicked.connect(self._picked)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        column.addLayout(_row(self.copy, self.delete))
        column.addWidget(self.own)
        column.addWidget(label("Stations, from the bar on", Type.STRONG))
        column.addLayout(self._names)
        column.addLayout(_row(self.guide, self.drop))
        column.addWidget(self.place)
        column.addStretch(1)
        on_escape(self, self.done.emit)

    def show_line(self, setup: Setup, line: Line | None, unit: str, station: int) -> None:
        """The line as it is now, and which of its stations is looked at."""
        self._setup, self._line, self._unit = setup, line, unit
        self.setEnabled(line is not None)  # whether it is seen is the side's to say
        if line is None:
            return
        self._station = min(max(station, 0), len(line.stations) - 1)
        self.own.show_groups(forms.line_form(setup, line.name, unit), {}, unit)
        self.place.show_groups(forms.station_form(setup, line.name, self._station), {}, unit)
        self._show_stations(line)
        self._set_tab_order()
        held = line.stations[self._station]
        self.drop.setEnabled(held.hold is not Hold.FITTING)
        self.guide.setEnabled(self._station < len(line.stations) - 1)

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
        for widget in (*self._group.buttons(), self.guide, self.drop):
            QWidget.setTabOrder(last, widget)
            last = widget
        self.place.follow(last)

    def _picked(self, number: int) -> None:
        self.station_picked.emit(number)

    def _copy_line(self) -> None:
        self._edit(edits.duplicate_line, "Duplicate {}")

    def _delete_line(self) -> None:
        self._edit(edits.delete_line, "Delete {}")

    def _drop_station(self) -> None:
        at = self._station
        self._edit(
            lambda setup, line: edits.delete_station(setup, line, at), "Delete station of {}"
        )

    def _add_guide(self) -> None:
        """Half way to the next station; on the body of the one before."""
        at = self._station

        def change(setup: Setup, line: str) -> Setup:
            places = layout(setup, setup.new)[line]
            x, y, z = (float(v) for v in 0.5 * (places.points[at] + places.points[at + 1]))
            body = places.bodies[at] if places.bodies[at] is places.bodies[at + 1] else Body.FRAME
            added = edits.insert_guide(setup, line, at, (x, y, z), body)
            return edits.change_station(added, line, at + 1, measured=How.NOT_MEASURED)

        self._edit(change, "Add guide to {}")

    def _edit(self, change: Callable[[Setup, str], Setup], step: str) -> None:
        if self._setup is None or self._line is None:
            return
        name = self._line.name
        try:
            self.edited.emit(change(self._setup, name), step.format(name), None)
        except (LayoutError, ValueError) as error:
            self.edited.emit(None, str(error), None)


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
