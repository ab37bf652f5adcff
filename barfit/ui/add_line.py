"""Adding a line: what kind, from which outlet, to which place of the machine."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QDialog, QGridLayout, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from barfit import scenario
from barfit.catalogue import line_kinds
from barfit.edits import fresh_name
from barfit.forms import Field
from barfit.model import Body, OutletPlace, PointPlace, Setup
from barfit.report.phrases import capital
from barfit.scenario.values import Length
from barfit.starting import add_new_line, free_outlets, nearest_first, usual_end
from barfit.ui.field_row import FieldRow
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, Choices, label, prose

_WHERE = (
    ("forward", "Level forward from the middle of the stem nut; backward is negative."),
    ("left", "Level to the rider's left; right is negative."),
    ("up", "Plumb up from the top clamp's upper face; down is negative."),
)
_HINT = (
    "It goes straight to its far end at first; add guides afterwards. All of it "
    "counts as not measured until you say otherwise."
)


class AddLine(QDialog):
    """``wanted`` gives the setup with the new line, which is its last."""

    wanted = Signal(object)

    def __init__(self, parent: QWidget, setup: Setup, unit: str) -> None:
        super().__init__(parent)
        self.setWindowTitle("Add a line")
        self.setModal(True)
        self._setup, self._unit = setup, unit
        machines = [scenario.load(path) for path in scenario.bundled()]
        self._near = nearest_first(setup, machines)
        self._named = False  # the name is the user's own
        self._place: dict[str, float] = {}  # of its far end, mm
        self._length: float | None = None
        self.kind, self.start, self.body = Choices(), Choices(), Choices()
        self.name = QLineEdit()
        self.rows: dict[str, FieldRow] = {}
        self._why = prose()
        self._why.setProperty("wrong", True)
        self._why.hide()
        for key, one in line_kinds().items():
            self.kind.addItem(capital(one.label), key)
        for place in free_outlets(setup):
            self.start.addItem(f"{capital(place.control)}, {place.outlet}", place)
        for body in Body:
            self.body.addItem(capital(str(body)), body)
        self.add, self.cancel = Button("Add"), Button("Cancel")
        self.add.setProperty("role", "main")
        for button in (self.add, self.cancel):
            button.setAutoDefault(False)  # Return enters what was typed in a field, no more
        self.add.clicked.connect(self._add)
        self.cancel.clicked.connect(self.reject)
        self._lay_out()
        self.kind.currentIndexChanged.connect(self._kind_picked)
        self.name.textEdited.connect(self._name_typed)
        self._kind_picked()
        self.kind.setFocus()

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setHorizontalSpacing(2 * GRID)
        grid.setVerticalSpacing(GRID)
        grid.setColumnMinimumWidth(1, 34 * GRID)
        asked: tuple[tuple[str, QWidget], ...] = (
            ("Kind", self.kind),
            ("Called", self.name),
            ("From", self.start),
            ("Its far end rides on", self.body),
        )
        for row, (words, widget) in enumerate(asked):
            widget.setAccessibleName(words)
            if isinstance(widget, Choices):
                widget.setFocusPolicy(self.name.focusPolicy())
            grid.addWidget(label(words), row, 0)
            grid.addWidget(widget, row, 1)
        fields = QVBoxLayout()
        fields.setSpacing(GRID // 2)
        fields.addWidget(label("Its far end, steering straight ahead", Type.STRONG))
        for key, tip in _WHERE:
            fields.addWidget(self._row(self._field(key, key.capitalize(), tip)))
        fields.addSpacing(GRID)
        tip = "Fitting to fitting along the line; left empty, a guess"
        length = self._field("length", "Installed length", tip)
        fields.addWidget(self._row(replace(length, optional=True, fallback="a guess")))
        hint = prose(Type.SMALL, muted=True)
        hint.setText(_HINT)
        buttons = QHBoxLayout()
        buttons.setSpacing(GRID)
        buttons.addStretch(1)
        buttons.addWidget(self.cancel)
        buttons.addWidget(self.add)
        column = QVBoxLayout(self)
        column.setContentsMargins(3 * GRID, 3 * GRID, 3 * GRID, 2 * GRID)
        column.setSpacing(2 * GRID)
        column.addWidget(label("Add a line", Type.TITLE))
        column.addLayout(grid)
        column.addLayout(fields)
        column.addWidget(self._why)
        column.addWidget(hint)
        column.addLayout(buttons)

    def _field(self, key: str, words: str, tip: str) -> Field:
        def change(_key: str, value: Any) -> Setup:
            if key == "length":
                self._length = value
            else:
                self._place[key] = value
            return self._setup

        reader = Length(10, 5000) if key == "length" else Length()
        return Field(key, words, tip, None, reader, change, "")

    def _row(self, field: Field) -> FieldRow:
        row = FieldRow(field, self._unit)
        row.entered.connect(self._entered)
        self.rows[field.key] = row
        return row

    def _entered(self, row: FieldRow, text: str) -> None:
        try:
            value = row.field.read(text, self._unit)
        except ValueError as error:
            row.refuse(str(error))
            return
        row.field.change(row.field.key, value)
        row.show_field(replace(row.field, value=value), self._unit)
        row.accept()

    def _kind_picked(self) -> None:
        """The usual name and far end of that kind."""
        kind = self.kind.currentData()
        taken = [line.name for line in self._setup.lines]
        if not self._named:
            self.name.setText(fresh_name(line_kinds()[kind].label, taken))
        end = usual_end(kind, self._near)
        assert isinstance(end.place, PointPlace)
        self.body.setCurrentIndex(self.body.findData(end.place.body))
        for (key, _), value in zip(_WHERE, end.place.position, strict=True):
            row = self.rows[key]
            self._place[key] = value
            row.show_field(replace(row.field, value=value), self._unit)
            row.accept()

    def _name_typed(self) -> None:
        self._named = True

    def _add(self) -> None:
        for row in self.rows.values():
            row.commit()
        if any(row.refusal for row in self.rows.values()):
            return
        start = self.start.currentData()
        kind = self.kind.currentData()
        forward, left, up = (self._place[key] for key, _ in _WHERE)
        assert isinstance(start, OutletPlace)
        usual = usual_end(kind, self._near)
        body = Body(self.body.currentData())  # Qt hands back a plain text
        place = PointPlace(body, (forward, left, up))
        moved = place != usual.place
        end = replace(usual, place=place, direction=None if moved else usual.direction)
        try:
            setup = add_new_line(self._setup, kind, self.name.text(), start, end, self._length)
        except ValueError as error:
            self._why.setText(f"{capital(str(error)).rstrip('.')}.")
            self._why.show()
            self.name.setFocus()
            return
        self.wanted.emit(setup)
        self.accept()
