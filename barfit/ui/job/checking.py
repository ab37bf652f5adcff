"""The check list before riding: ticked, with what was found beside what was predicted, signed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QWidget

from barfit.edits.job import signed, ticked
from barfit.model import Setup
from barfit.report.checklist import (
    RULES,
    brake_caution,
    check_title,
    signed_text,
)
from barfit.report.checklist_rows import CheckRow, check_rows
from barfit.report.phrases import capital
from barfit.ui.job.rows import Cell, Rows, Sheet
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, Tick
from barfit.ui.words import typeset
from barfit.units import parse_length
from barfit.workshop.check import Answer, Check

EDITOR = 12 * GRID


class Checking(Sheet):
    """``edited`` gives the changed setup and the name of the step."""

    edited = Signal(object, str)

    def __init__(self) -> None:
        super().__init__()
        self._setup: Setup | None = None
        self._checks: tuple[Check, ...] = ()
        self._unit = "mm"
        self._rules = self.add_words(step=Type.LEAD)
        self._brakes = self.add_words(step=Type.SMALL)
        self.rows = Rows(("Done", "What", "Found", "Note"), wide=1)
        self.column.addWidget(self.rows)
        self._standing = self.add_words()
        self.name, self.sign = QLineEdit(), Button("Sign")
        self.name.setPlaceholderText("Name")
        self.name.setAccessibleName("Who signs the check list")
        self.name.setFixedWidth(2 * EDITOR)
        self.sign.clicked.connect(self._sign)
        self.name.returnPressed.connect(self._sign)
        row = QHBoxLayout()
        row.addWidget(self.name)
        row.addWidget(self.sign)
        row.addStretch(1)
        self.column.addLayout(row)
        self.show_none("")

    def show_none(self, why: str) -> None:
        """There is no list yet, and why."""
        self._checks = ()
        self._rules.setText(why)
        self.rows.show_rows(())
        for part in (self._brakes, self._standing, self.name, self.sign):
            part.hide()

    def show_checks(self, setup: Setup, found: Sequence[Check], unit: str) -> None:
        """The list with the answers there are."""
        self._setup, self._checks, self._unit = setup, tuple(found), unit
        self._rules.setText(RULES)
        self._brakes.setText(typeset(brake_caution(setup)))
        self._brakes.setVisible(bool(brake_caution(setup)))
        listed: list[tuple[Cell, ...]] = []
        for topic, rows in check_rows(found, setup, unit):
            listed.append((Cell(), Cell(capital(topic), strong=True)))
            listed += [self._row(row) for row in rows]
        self.rows.show_rows(listed)
        self._standing.setText(signed_text(setup, found))
        for part in (self._standing, self.name, self.sign):
            part.show()

    def _row(self, row: CheckRow) -> tuple[Cell, ...]:
        check, tick, title = row.check, row.tick, row.title
        box = Tick()
        box.setChecked(tick.done)
        box.setAccessibleName(f"Done: {title}")
        box.clicked.connect(lambda on: self._tick(check, done=on))
        under = [*row.texts, *(f"– {where}" for where in row.places), *filter(None, [row.odd])]
        note = _editor(tick.note, f"Note: {title}", "note")
        note.editingFinished.connect(lambda: self._tick(check, note=note.text().strip()))
        found: QWidget | None = None
        if check.answer is Answer.NUMBER:
            found = self._number(check, row.found, title)
        return (
            Cell(widget=box),
            Cell(typeset(title), under=typeset("\n".join(under))),
            Cell(widget=found, under=typeset(row.expected)) if found else Cell(),
            Cell(widget=note),
        )

    def _number(self, check: Check, text: str, title: str) -> QLineEdit:
        unit = self._unit if check.unit == "mm" else check.unit
        edit = _editor(text, f"Found: {title}", unit)

        def enter() -> None:
            if edit.text().strip() == text:
                return
            try:
                value = _read(edit.text(), check, self._unit)
            except ValueError as error:
                edit.setProperty("wrong", True)
                edit.setToolTip(str(error))
                edit.style().polish(edit)
                return
            self._tick(check, found=value)

        edit.editingFinished.connect(enter)
        return edit

    def _tick(self, check: Check, **fields: object) -> None:
        assert self._setup is not None
        setup = replace(self._setup, job=ticked(self._setup.job, check.key, **fields))
        if setup != self._setup:
            self.edited.emit(setup, f"Check: {check_title(check)}")

    def _sign(self) -> None:
        assert self._setup is not None
        setup = signed(self._setup, self.name.text(), date.today())
        by = setup.job.signed
        self.name.clear()
        self.edited.emit(setup, f"Sign: {by.name}" if by else "Take the signature back")


def _editor(text: str, name: str, hint: str) -> QLineEdit:
    edit = QLineEdit(text)
    edit.setAccessibleName(name)
    edit.setPlaceholderText(hint)
    edit.setFixedWidth(EDITOR)
    return edit


def _read(text: str, check: Check, unit: str) -> float | None:
    """What was found, in the check's unit. Raises ValueError in a sentence."""
    text = text.strip()
    if not text:
        return None
    if check.unit == "mm":
        return parse_length(text, unit)
    number = re.fullmatch(rf"(-?\d+(?:[.,]\d+)?)\s*(?:{re.escape(check.unit)})?", text)
    if number is None:
        raise ValueError(f"'{text}' is not a number of {check.unit}")
    return float(number[1].replace(",", "."))
