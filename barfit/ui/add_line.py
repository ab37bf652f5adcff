"""Adding a line: what kind, from which control or place, to which place of the machine."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from barfit import scenario
from barfit.catalogue import line_kinds
from barfit.edits import fresh_name
from barfit.forms import Field
from barfit.model import Body, OutletPlace, PointPlace, Setup, Station
from barfit.report.phrases import capital
from barfit.scenario.values import Length
from barfit.starting import (
    add_new_line,
    free_outlets,
    nearest_first,
    usual_end,
    usual_outlet,
    usual_start,
)
from barfit.ui.field_row import FieldRow
from barfit.ui.questions import Questions, asked
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Choices, label, prose

_WHERE = (
    ("forward", "Level forward from the middle of the stem nut; backward is negative."),
    ("left", "Level to the rider's left; right is negative."),
    ("up", "Plumb up from the top clamp's upper face; down is negative."),
)
_HINT = (
    "It goes straight to its far end at first; add guides, clips and ties afterwards. All of it "
    "counts as not measured until you say otherwise."
)
_ON_MACHINE = "A place of the machine"
_BODY_TIP = "What moves with it: the frame, the steering, or the fork's lower end"
_WIDE = 34 * GRID  # px


class PlaceAsked(QWidget):
    """Where an end of a line is: what it rides on, and how far from the middle of the stem nut.

    ``prefix`` tells its rows from those of another place.
    """

    def __init__(self, heading: str, setup: Setup, unit: str, prefix: str = "") -> None:
        super().__init__()
        self._unit = unit
        self._usual: Station | None = None
        self._place: dict[str, float] = {}  # mm
        self.rows: dict[str, FieldRow] = {}
        self.body = Choices()
        for body in Body:
            self.body.addItem(capital(str(body)), body)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        column.addWidget(label(heading, Type.STRONG))
        column.addLayout(asked([("Rides on", self.body, _BODY_TIP)], _WIDE))
        for axis, tip in _WHERE:
            key = f"{prefix}{axis}"

            def change(_key: str, value: Any, axis: str = axis) -> Setup:
                self._place[axis] = value
                return setup

            field = Field(key, axis.capitalize(), tip, None, Length(), change, "")
            row = _row(field, unit)
            self.rows[key] = row
            column.addWidget(row)

    def show_station(self, usual: Station) -> None:
        """What is usual for an end of that kind."""
        self._usual = usual
        assert isinstance(usual.place, PointPlace)
        self.body.setCurrentIndex(self.body.findData(usual.place.body))
        for (axis, _), row, value in zip(
            _WHERE, self.rows.values(), usual.place.position, strict=True
        ):
            self._place[axis] = value
            row.show_field(replace(row.field, value=value), self._unit)
            row.accept()

    @property
    def station(self) -> Station:
        """The end as it is asked for; it points as is usual while it is where that is."""
        assert self._usual is not None
        forward, left, up = (self._place[axis] for axis, _ in _WHERE)
        place = PointPlace(Body(self.body.currentData()), (forward, left, up))  # Qt: a plain text
        moved = place != self._usual.place
        return replace(self._usual, place=place, direction=None if moved else self._usual.direction)


class AddLine(Questions):
    """``wanted`` gives the setup with the new line, which is its last."""

    def __init__(self, parent: QWidget, setup: Setup, unit: str) -> None:
        super().__init__(parent, "Add a line", "Add a line", "Add")
        self._setup = setup
        machines = [scenario.load(path) for path in scenario.bundled()]
        self._near = nearest_first(setup, machines)
        self._named = False  # the name is the user's own
        self._length: float | None = None
        self.kind, self.start = Choices(), Choices()
        self.name = QLineEdit()
        self.near = PlaceAsked("Where it starts", setup, unit, "start_")
        self.far = PlaceAsked("Its far end, steering straight ahead", setup, unit)
        tip = "Fitting to fitting along the line; left empty, a guess"
        length = Field("length", "Installed length", tip, None, Length(10, 5000), self._measure, "",
                       optional=True, fallback="a guess")  # fmt: skip
        self.rows = self.near.rows | self.far.rows | {"length": _row(length, unit)}
        self._why = prose()
        self._why.setProperty("wrong", True)
        self._why.hide()
        for key, one in line_kinds().items():
            self.kind.addItem(capital(one.label), key)
        for place in free_outlets(setup):
            self.start.addItem(f"{capital(place.control)}, {place.outlet}", place)
        self.start.addItem(_ON_MACHINE, None)
        hint = prose(Type.SMALL, muted=True)
        hint.setText(_HINT)
        rows: list[tuple[str, QWidget, str]] = [
            ("Kind", self.kind, "What the line is: it brings its usual stiffness and radius"),
            ("Called", self.name, ""),
            ("From", self.start, "The control it leaves, those without a line first"),
        ]
        parts = (self.near, self.far, self.rows["length"], self._why, hint)
        self.lay_out(asked(rows, _WIDE), *parts)
        self.go.clicked.connect(self._add)
        self.kind.currentIndexChanged.connect(self._kind_picked)
        self.start.currentIndexChanged.connect(self._start_picked)
        self.name.textEdited.connect(self._name_typed)
        self._kind_picked()
        self._start_picked()
        self.kind.setFocus()

    def _measure(self, _key: str, value: Any) -> Setup:
        self._length = value
        return self._setup

    def _kind_picked(self) -> None:
        """The usual name and ends of that kind."""
        kind = self.kind.currentData()
        taken = [line.name for line in self._setup.lines]
        if not self._named:
            self.name.setText(fresh_name(line_kinds()[kind].label, taken))
        self.far.show_station(usual_end(kind, self._near))
        self.near.show_station(usual_start(kind, self._near))
        # by what they say: Qt's own search only knows the same object again
        starts = [self.start.itemData(row) for row in range(self.start.count())]
        self.start.setCurrentIndex(starts.index(usual_outlet(self._setup, kind, self._near)))

    def _start_picked(self) -> None:
        self.near.setVisible(self.start.currentData() is None)
        self.fit()

    def _name_typed(self) -> None:
        self._named = True

    def _add(self) -> None:
        shown = [row for row in self.rows.values() if row.isVisible()]
        for row in shown:
            row.commit()
        if any(row.refusal for row in shown):
            return
        outlet, kind = self.start.currentData(), self.kind.currentData()
        start = outlet if isinstance(outlet, OutletPlace) else self.near.station
        end, name = self.far.station, self.name.text()
        try:
            setup = add_new_line(self._setup, kind, name, start, end, self._length)
        except ValueError as error:
            self._why.setText(f"{capital(str(error)).rstrip('.')}.")
            self._why.show()
            self.name.setFocus()
            return
        self.wanted.emit(setup)
        self.accept()


def _row(field: Field, unit: str) -> FieldRow:
    """A row whose field takes what is typed by itself."""
    row = FieldRow(field, unit)

    def entered(row: FieldRow, text: str) -> None:
        try:
            value = row.field.read(text, unit)
        except ValueError as error:
            row.refuse(str(error))
            return
        row.field.change(row.field.key, value)
        row.show_field(replace(row.field, value=value), unit)
        row.accept()

    row.entered.connect(entered)
    return row
