"""The work task by task, the days it falls on, and when there is time for it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFileDialog, QHBoxLayout

from barfit.forms import time_group
from barfit.model import By
from barfit.report.calendar import entries
from barfit.report.checklist import brake_caution
from barfit.report.files import not_written
from barfit.report.money import hours_text
from barfit.report.orders import open_sentences
from barfit.report.plan import NO_CALENDAR, gate_sentence, schedule_sentences, time_words
from barfit.report.searching import sought_sentence
from barfit.report.work import HOURS_INVENTED, needed_texts, task_texts, task_title
from barfit.ui.form import Form
from barfit.ui.job.costs import DIGITS, FIELDS
from barfit.ui.job.rows import Cell, Rows, Sheet
from barfit.ui.job.whole import Whole
from barfit.ui.theme import Type
from barfit.ui.widgets import Button
from barfit.ui.words import typeset
from barfit.workshop.calendar import calendar_file
from barfit.workshop.task_table import Hours
from barfit.workshop.tasks import Task

AIR_WAITS = "Where air stays in the hoses is said once the setup is turned with everything done."


class Work(Sheet):
    """``edited`` as that of `barfit.ui.form.Form`, ``said`` gives a sentence."""

    edited = Signal(object, str, object)
    said = Signal(str)

    def __init__(self) -> None:
        super().__init__(beside=150, shares=(2, 3))
        self._whole: Whole | None = None
        self._gate = self.add_words(step=Type.LEAD)
        self._when = self.add_words()
        self.calendar = Button("Save as calendar…")
        self.calendar.setToolTip("As iCalendar, which calendars everywhere read")
        self.calendar.clicked.connect(self._ask_save)
        row = QHBoxLayout()
        row.addWidget(self.calendar)
        row.addStretch(1)
        self.column.addLayout(row)
        self.form = Form(digits=DIGITS)
        self.form.setMaximumWidth(FIELDS)
        self.form.edited.connect(self.edited)
        self.column.addWidget(self.form)
        heading = self.add_heading("Task by task")
        self.rows = Rows(("", "What is done", "At home", "In a shop"), wide=1, figures=(2, 3))
        self._needed = self.add_words()
        self._caution = self.add_words(step=Type.SMALL)
        invented = self.add_words(muted=True, step=Type.SMALL)
        invented.setText(HOURS_INVENTED)
        for part in (heading, self.rows, self._needed, self._caution, invented):
            self.beside.addWidget(part)

    def show_whole(self, whole: Whole, unit: str) -> None:
        """The tasks and their days."""
        self._whole = whole
        job, found = whole.setup.job, whole.schedule
        gate = gate_sentence(found, whole.blocked)
        if whole.order.waits:
            gate = " ".join(open_sentences(whole.order, unit))
        self._gate.setText(typeset(sought_sentence(whole.sought) or gate))
        known = whole.tasks and not whole.sought
        told = schedule_sentences(found, job, whole.blocked) if known else []
        told.append(f"Time there is: {time_words(job)}.")
        told += [AIR_WAITS] if whole.air_waits else []
        self.calendar.setEnabled(not whole.sought and bool(whole.tasks))
        self._when.setText(typeset("\n".join(told)))
        self.form.show_groups((time_group(whole.setup),), {}, unit)
        rows, row = [], ""
        for number, task in enumerate(whole.tasks, 1):
            rows.append(self._row(number, task, " ".join(task_texts(task, row, unit)), job.by))
            row = task.row
        total = sum((task.hours for task in whole.tasks), Hours())
        rows.append(
            (
                Cell(),
                Cell("So far" if whole.sought else "In all", strong=True),
                Cell(hours_text(total.home), strong=job.by is By.HOME),
                Cell(hours_text(total.shop), strong=job.by is By.SHOP),
            )
        )
        self.rows.show_rows(rows)
        self._needed.setText("\n".join(needed_texts(whole.tasks)))
        caution = brake_caution(whole.setup)
        self._caution.setText(typeset(caution))
        self._caution.setVisible(bool(caution))

    def _row(self, number: int, task: Task, said: str, by: By) -> tuple[Cell, ...]:
        return (
            Cell(str(number), muted=True),
            Cell(typeset(task_title(task)), under=typeset(said)),
            Cell(hours_text(task.hours.home), muted=by is not By.HOME),
            Cell(hours_text(task.hours.shop), muted=by is not By.SHOP),
        )

    def _ask_save(self) -> None:
        assert self._whole is not None
        if self._whole.blocked:
            self.said.emit(NO_CALENDAR)
            return
        start = Path.home() / f"{self._whole.setup.title}.ics"
        name, _ = QFileDialog.getSaveFileName(self, "Save days", str(start), "iCalendar (*.ics)")
        if name:
            self.save_calendar(Path(name))

    def save_calendar(self, path: Path) -> None:
        """Write the days of the job as a calendar; what keeps it from that is said."""
        assert self._whole is not None
        whole = self._whole
        if whole.blocked:
            self.said.emit(NO_CALENDAR)
            return
        days = entries(whole.schedule, whole.tasks, whole.setup.machine.name)
        try:
            path.write_bytes(calendar_file(days, whole.setup.title, datetime.now(UTC)))
        except OSError as error:
            self.said.emit(not_written(path, error))
