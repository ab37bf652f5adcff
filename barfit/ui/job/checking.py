"""The check list before riding: ticked, with what was found beside what was predicted, signed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit

from barfit.edits.job import signed, ticked
from barfit.model import Setup
from barfit.report.checklist import RULES, SLACK_AND_MARGIN, brake_caution, check_title
from barfit.report.checklist_rows import CheckRow, check_rows
from barfit.report.phrases import capital
from barfit.report.signing import refused_words, signed_text, waiting_words
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
        self._unfinished = self.add_words(step=Type.LEAD)
        self._why_unfinished = ""
        self._refused: tuple[str, ...] = ()
        self._may_sign = False
        self._kept: dict[str, _Answers] = {}  # by the check's key
        self._rules = self.add_words(step=Type.LEAD)
        self._brakes = self.add_words(step=Type.SMALL)
        self._slack = self.add_words(step=Type.SMALL)
        self._slack.setText(SLACK_AND_MARGIN)
        self.rows = Rows(("Done", "What", "Found", "Note"), wide=1)
        self.column.addWidget(self.rows)
        self._standing = self.add_words()
        self._waits = self.add_words()  # what keeps anybody from signing
        self.name, self.sign = QLineEdit(), Button("Sign")
        self.withdraw = Button("Withdraw signature")
        self.withdraw.setToolTip("Take the name off the check list again")
        self.withdraw.clicked.connect(self._withdraw)
        self.name.setPlaceholderText("Name")
        self.name.setAccessibleName("Who signs the check list")
        self.name.setFixedWidth(2 * EDITOR)
        self.sign.clicked.connect(self._sign)
        self.name.returnPressed.connect(self._sign)
        row = QHBoxLayout()
        row.addWidget(self.name)
        row.addWidget(self.sign)
        row.addWidget(self.withdraw)
        row.addStretch(1)
        self.column.addLayout(row)
        self.show_none("")

    def show_none(self, why: str) -> None:
        """There is no list yet, and why."""
        self._checks = ()
        self._rules.setText(why)
        self.rows.show_rows(())
        for part in (self._unfinished, self._brakes, self._slack, self._standing, self._waits):
            part.hide()
        for box in (self.name, self.sign, self.withdraw):
            box.hide()

    @property
    def checks(self) -> tuple[Check, ...]:
        """The checks of the list."""
        return self._checks

    @property
    def signing_text(self) -> str:
        """Who signed, what is open, and what keeps anybody from signing."""
        return " ".join(filter(None, (self._standing.text(), self._waits.text())))

    def show_checks(
        self,
        setup: Setup,
        found: Sequence[Check],
        unit: str,
        unfinished: str = "",
        refused: Sequence[str] = (),
    ) -> None:
        """The list with the answers there are; ``unfinished`` says why it is not the whole list,
        which nobody can sign. ``refused`` is why nobody may, whatever is answered
        (`barfit.report.signing.refusals`).
        """
        self._setup, self._checks, self._unit = setup, tuple(found), unit
        self._unfinished.setText(unfinished)
        self._unfinished.setVisible(bool(unfinished))
        self._why_unfinished, self._refused = unfinished, tuple(refused)
        self._rules.setText(RULES)
        self._brakes.setText(typeset(brake_caution(setup)))
        self._brakes.setVisible(bool(brake_caution(setup)))
        listed: list[tuple[Cell, ...]] = []
        for topic, rows in check_rows(found, setup, unit):
            listed.append((Cell(), Cell(capital(topic), strong=True)))
            listed += [self._row(row) for row in rows]
        self.rows.show_rows(listed)
        self._slack.setVisible(not unfinished)
        self._show_signing(setup)

    def _show_signing(self, setup: Setup) -> None:
        """Who signed, or what it takes before anybody can."""
        whole, refused = not self._why_unfinished, bool(self._refused)
        waits = refused_words(self._refused) or waiting_words(setup, self._checks)
        self._standing.setText(typeset(signed_text(setup, self._checks, refused)))
        self._standing.setVisible(whole)
        self._waits.setText(typeset(waits))
        self._waits.setVisible(whole and bool(waits))
        self._may_sign = whole and not waits
        for box in (self.name, self.sign):
            box.setEnabled(self._may_sign)
            box.setToolTip(waits)
            box.setVisible(whole)
        self.withdraw.setVisible(setup.job.signed is not None)

    def _row(self, row: CheckRow) -> tuple[Cell, ...]:
        check = row.check
        kept = self._kept.get(check.key)
        if kept is None:
            kept = self._kept[check.key] = self._answers(row)
        kept.show_row(row, self._unit)
        under = [*row.texts, *(f"– {where}" for where in row.places), *filter(None, [row.odd])]
        found = kept.found
        said = typeset("\n".join(filter(None, (kept.wrong, row.expected))))
        return (
            Cell(widget=kept.box),
            Cell(typeset(row.title), under=typeset("\n".join(under))),
            Cell(widget=found, under=said) if found else Cell(),
            Cell(widget=kept.note),
        )

    def _answers(self, row: CheckRow) -> _Answers:
        """The boxes of a check, made once."""
        check = row.check
        found = QLineEdit() if check.answer is Answer.NUMBER else None
        made = _Answers(Tick(), QLineEdit(), found)
        made.box.setAccessibleName(f"Done: {row.title}")
        made.box.clicked.connect(lambda on: self._tick(check, done=on))
        made.note.setAccessibleName(f"Note: {row.title}")
        made.note.setPlaceholderText("note")
        made.note.setFixedWidth(EDITOR)
        made.note.editingFinished.connect(lambda: self._tick(check, note=made.note.text().strip()))
        if found is not None:
            found.setAccessibleName(f"Found: {row.title}")
            found.setFixedWidth(EDITOR)
            found.editingFinished.connect(lambda: self._enter(check, made))
        return made

    def _enter(self, check: Check, answers: _Answers) -> None:
        """Take in what was found, or say what it has to be; what was typed stays."""
        edit = answers.found
        assert edit is not None
        if edit.text().strip() == answers.shown:
            answers.say_wrong("")
        else:
            try:
                value = _read(edit.text(), check, self._unit)
            except ValueError as error:
                answers.say_wrong(str(error))
            else:
                answers.say_wrong("")
                self._tick(check, found=value)
                return
        assert self._setup is not None
        self.show_checks(self._setup, self._checks, self._unit, self._why_unfinished, self._refused)

    def _tick(self, check: Check, **fields: object) -> None:
        assert self._setup is not None
        setup = replace(self._setup, job=ticked(self._setup.job, check.key, **fields))
        if setup != self._setup:
            self.edited.emit(setup, f"Check: {check_title(check)}")

    def _sign(self) -> None:
        assert self._setup is not None
        name = self.name.text().strip()
        if not name or not self._may_sign:
            self.name.setFocus()
            return
        self.name.clear()
        self.edited.emit(signed(self._setup, name, date.today()), f"Sign: {name}")

    def _withdraw(self) -> None:
        assert self._setup is not None
        self.edited.emit(signed(self._setup, ""), "Withdraw the signature")


@dataclass
class _Answers:
    """The boxes of one check; ``shown`` is the number that counts, ``wrong`` why what is typed in
    its place does not.
    """

    box: Tick
    note: QLineEdit
    found: QLineEdit | None
    shown: str = ""
    wrong: str = ""

    def show_row(self, row: CheckRow, unit: str) -> None:
        """What counts as it now is; what is typed and cannot be stays."""
        self.box.setChecked(row.tick.done)
        if self.note.text().strip() != row.tick.note:
            self.note.setText(row.tick.note)
        if not self.note.hasFocus():
            self.note.setCursorPosition(0)  # or it is scrolled to its end
        self.note.setToolTip(row.tick.note)
        if self.found is None:
            return
        self.found.setPlaceholderText(unit if row.check.unit == "mm" else row.check.unit)
        if row.found != self.shown:
            self.say_wrong("")
        if not self.wrong and self.found.text().strip() != row.found:
            self.found.setText(row.found)
        self.shown = row.found
        self._mark(bool(self.wrong or row.odd))  # what disagrees is not to be passed over

    def say_wrong(self, why: str) -> None:
        """Mark what is typed as what cannot be, or no longer."""
        self.wrong = f"{why}." if why else ""
        self._mark(bool(why))

    def _mark(self, wrong: bool) -> None:
        assert self.found is not None
        if bool(self.found.property("wrong")) is not wrong:
            self.found.setProperty("wrong", wrong)
            self.found.style().unpolish(self.found)
            self.found.style().polish(self.found)


def _read(text: str, check: Check, unit: str) -> float | None:
    """What was found, in the check's unit. Raises ValueError in a sentence."""
    text = text.strip()
    if not text:
        return None
    if check.unit == "mm":
        return parse_length(text, unit)
    number = re.fullmatch(rf"(-?\d+(?:[.,]\d+)?)\s*(?:{re.escape(check.unit)})?", text)
    if number is None:
        raise ValueError(f"'{text}' is not a number of {check.unit}, like 12 or 0.5")
    return float(number[1].replace(",", "."))
