"""A form: groups of fields in one column, beside a drawing that shows what they mean."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from barfit.forms import Action, Field, Group
from barfit.forms.drawings import View
from barfit.model import Setup
from barfit.ui.drawing import Drawing
from barfit.ui.field_row import EDITOR, FieldRow
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, label

Views = Mapping[str, tuple[View, ...]]
"""The views of each drawing by its name."""


class Form(QWidget):
    """Fields of one part; the ``drawing``, if any, follows the field that is looked at.

    ``edited`` gives the changed setup, the name of the step, and the row it came from, which can
    refuse it. ``confirmed`` gives the row whose value was entered once more as it is.
    """

    edited = Signal(object, str, object)
    confirmed = Signal(object)

    def __init__(self, drawing: Drawing | None = None, digits: int = EDITOR) -> None:
        """``digits`` is how wide an editor beside its label is."""
        super().__init__()
        self._drawing, self._digits = drawing, digits
        self._unit = "mm"
        self._views: Views = {}
        self._drawn = ""  # the group that the drawing shows
        self._rows: dict[tuple[str, str], FieldRow] = {}
        self._keys: list[tuple[str, str]] = []  # of rows and buttons, as they are laid out
        self._actions: dict[tuple[str, str], Action] = {}
        self._buttons: dict[tuple[str, str], Button] = {}
        self._order: list[QWidget] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(6)

    def show_groups(self, groups: tuple[Group, ...], views: Views, unit: str) -> None:
        """Show these fields. Where they are the same as before, only their values change, so that
        focus and what is being typed stay.
        """
        self._unit, self._views = unit, views
        keys = [(group.heading, key) for group in groups for key in _keys(group)]
        if keys != self._keys:
            self._keys = keys
            held = self._held()
            self._lay_out(groups, unit)
            self._hold(held)
            self._drawn = next((group.drawing for group in groups if group.drawing in views), "")
            if self._drawing is not None:
                self._drawing.show_key("", "")
        for group in groups:
            for field in group.fields:
                self._rows[group.heading, field.key].show_field(field, unit)
            for action in group.actions:
                self._actions[group.heading, action.label] = action
        if self._drawing is not None:
            self._drawing.show_views(views.get(self._drawn, ()))

    def row(self, heading: str, key: str) -> FieldRow:
        """The row of a field. Raises KeyError."""
        return self._rows[heading, key]

    def place(self, row: FieldRow) -> tuple[str, str]:
        """The heading and key of a row. Raises StopIteration for one of another form."""
        return next(place for place, own in self._rows.items() if own is row)

    def fields(self) -> dict[tuple[str, str], Field]:
        """What is shown, by heading and key, from top to bottom."""
        return {place: row.field for place, row in self._rows.items()}

    def button(self, heading: str, action: str) -> Button:
        """The button of something done to a group. Raises KeyError."""
        return self._buttons[heading, action]

    def follow(self, before: QWidget) -> QWidget:
        """Let Tab go through the form from top to bottom after that one; gives its last."""
        for widget in self._order:
            QWidget.setTabOrder(before, widget)
            before = widget
        return before

    @property
    def rows(self) -> tuple[FieldRow, ...]:
        """All rows, from top to bottom."""
        return tuple(self._rows.values())

    def _lay_out(self, groups: tuple[Group, ...], unit: str) -> None:
        while item := self._column.takeAt(0):
            if widget := item.widget():
                widget.hide()
                widget.deleteLater()
        self._rows, self._actions, self._buttons, self._order = {}, {}, {}, []
        for group in groups:
            self._column.addWidget(self._head(group))
            for field in group.fields:
                row = FieldRow(field, unit, self._digits)
                row.entered.connect(self._entered)
                row.confirmed.connect(self.confirmed)
                row.focused.connect(lambda field, name=group.drawing: self._look(name, field))
                self._rows[group.heading, field.key] = row
                self._order.append(row.box)
                self._column.addWidget(row)
            self._column.addSpacing(2 * GRID)
        self._column.addStretch(1)

    def _held(self) -> tuple[int, str, str] | None:
        """Where the keys are: the place among all fields and buttons, its heading and key."""
        boxes = {**self._buttons, **{key: row.box for key, row in self._rows.items()}}
        for (heading, key), box in boxes.items():
            row = self._rows.get((heading, key))
            if row.has_focus() if row is not None else box.hasFocus():
                return self._order.index(box), heading, key
        return None

    def _hold(self, held: tuple[int, str, str] | None) -> None:
        """The keys stay on the field that they were on; under another heading the nearest of that
        key, and where there is none any more what now stands in its place.
        """
        if held is None or not self._order:
            return
        place, heading, key = held
        boxes = {**self._buttons, **{one: row.box for one, row in self._rows.items()}}
        alike = [box for (_, own), box in boxes.items() if own == key]
        near = min(alike, key=lambda box: abs(self._order.index(box) - place), default=None)
        box = boxes.get((heading, key), near) or self._order[min(place, len(self._order) - 1)]
        for row in self._rows.values():
            if row.box is box:
                row.show()  # what is not shown yet would take the keys later, from whoever has them
        box.show()
        box.setFocus()

    def _head(self, group: Group) -> QWidget:
        """The heading of a group, with a button for each thing that can be done to it."""
        head = QWidget()
        row = QHBoxLayout(head)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(GRID // 2)
        heading = label(group.heading, Type.STRONG)
        heading.setWordWrap(True)
        row.addWidget(heading, 1)
        for action in group.actions:
            button = Button(action.label)
            button.setProperty("role", "quiet")
            button.setToolTip(action.tip)
            button.setAccessibleName(f"{group.heading}: {action.label}")
            key = (group.heading, action.label)
            button.clicked.connect(lambda _=False, key=key: self._do(self._actions[key]))
            self._buttons[key] = button
            self._order.append(button)
            row.addWidget(button)
        return head

    def _do(self, action: Action) -> None:
        try:
            self.edited.emit(action.change(), action.label, None)
        except ValueError as error:
            self.edited.emit(None, str(error), None)

    def _look(self, drawing: str, field: Field) -> None:
        if self._drawing is None or drawing not in self._views:
            return
        self._drawn = drawing
        self._drawing.show_views(self._views[drawing])
        self._drawing.show_key(field.key, f"{field.label}  {field.text(self._unit)}".strip())

    def _entered(self, row: FieldRow, text: str) -> None:
        rows = self._of_one_place(row)
        try:
            if rows and (row.field.value is None or not text):
                self._entered_place(row, rows)
                return
            setup: Setup | None = row.field.typed(text, self._unit)
        except (ValueError, KeyError) as error:
            row.refuse(str(error))
            return
        if setup is None:
            row.take_back()
            self.confirmed.emit(row)
        else:
            self.edited.emit(setup, row.field.step, row)

    def _of_one_place(self, row: FieldRow) -> tuple[FieldRow, ...]:
        """The three rows of a place that may be left out, where the row is one of them."""
        if row.field.triple is None:
            return ()
        heading, _ = self.place(row)
        return tuple(self._rows[heading, key] for key in row.field.triple.keys)

    def _entered_place(self, row: FieldRow, rows: tuple[FieldRow, ...]) -> None:
        """A coordinate of a place that is left out, or one emptied: all three count, or none do.
        What is typed stays until then. Raises ValueError for a direction that is none.
        """
        triple, step = row.field.triple, row.field.step.rpartition(",")[0]
        assert triple is not None
        values = [self._read(one) for one in rows if one.typed]
        if None in values:
            return
        if 0 < len(values) < len(rows):
            missing = " and ".join(one.field.label for one in rows if not one.typed)
            for one in rows:
                one.wait("" if one is not row else f"Left to type: {missing}; or empty all three.")
            return
        self.edited.emit(triple.put(tuple(values) or None), step, row)
        if not row.refusal:
            for one in rows:
                one.accept()

    def _read(self, row: FieldRow) -> Any:
        """What is typed in a row; None where it is refused."""
        try:
            return row.field.read(row.typed, self._unit)
        except ValueError as error:
            row.refuse(str(error))
            return None


def _keys(group: Group) -> list[str]:
    """What its rows and buttons are told apart by."""
    return [f"{action.label}…" for action in group.actions] + [one.key for one in group.fields]
