"""What to order, ticked off as it arrives; and sellers' sets held against it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QFileDialog, QHBoxLayout

from barfit.edits.job import arrived
from barfit.forms import add_set, set_groups
from barfit.report.files import not_written
from barfit.report.money import INVENTED, amount_text, days_text
from barfit.report.orders import (
    HEADINGS,
    count_text,
    item_name,
    length_text,
    look_up_sentences,
    nothing_sentence,
    open_sentences,
    order_csv,
    order_text,
    specification,
    why_text,
)
from barfit.report.phrases import capital
from barfit.report.searching import sought_sentence
from barfit.report.sets import set_sentences
from barfit.ui.form import Form
from barfit.ui.job.costs import DIGITS, FIELDS
from barfit.ui.job.rows import Cell, Rows, Sheet
from barfit.ui.job.whole import Whole
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, Tick
from barfit.ui.words import typeset
from barfit.workshop import Group, OrderItem


class Orders(Sheet):
    """``edited`` gives the changed setup and the name of the step, ``form_edited`` as that of
    `barfit.ui.form.Form`, ``said`` a sentence.
    """

    edited = Signal(object, str)
    form_edited = Signal(object, str, object)
    said = Signal(str)

    def __init__(self) -> None:
        super().__init__(beside=150)
        self._whole: Whole | None = None
        self._unit = "mm"
        self._boxes: dict[str, Tick] = {}  # by the key of what is ordered
        self._lead = self.add_words(step=Type.LEAD)
        self.copy, self.save = Button("Copy the list"), Button("Save as table…")
        self.copy.setToolTip("As plain text, to paste into a message")
        self.save.setToolTip("As CSV, for a spreadsheet")
        self.copy.clicked.connect(self._copy)
        self.save.clicked.connect(self._ask_save)
        row = QHBoxLayout()
        row.setSpacing(GRID)
        for button in (self.copy, self.save):
            row.addWidget(button)
        row.addStretch(1)
        self.column.addLayout(row)
        self.rows = Rows(
            ("Here", "What", "Length", "How many", "Here in", "Price"), wide=1, figures=(2, 3, 4, 5)
        )
        self.column.addWidget(self.rows)
        self._open = self.add_words()
        heading = self.add_heading("Sellers' sets")
        self._sets = self.add_words()
        for part in (heading, self._sets):
            self.beside.addWidget(part)
        self.add_set = Button("Add a seller's set")
        self.add_set.setToolTip("Type in what it contains, to see which lines it covers")
        self.add_set.clicked.connect(self._add_set)
        under = QHBoxLayout()
        under.addWidget(self.add_set)
        under.addStretch(1)
        self.beside.addLayout(under)
        self.form = Form(digits=DIGITS)
        self.form.setMaximumWidth(FIELDS)
        self.form.edited.connect(self.form_edited)
        self.beside.addWidget(self.form)
        self._invented = self.add_words(muted=True, step=Type.SMALL)
        self._invented.setText(INVENTED)

    @property
    def sets_text(self) -> str:
        """What is said of the sets."""
        return self._sets.text()

    def show_whole(self, whole: Whole, unit: str) -> None:
        """The list, and what is here of it."""
        self._whole, self._unit = whole, unit
        items, job = whole.order.items, whole.setup.job
        here = sum(item.key in job.here for item in items)
        lead = (
            f"{len(items)} thing{'s' * (len(items) != 1)} to order, {here} of them here. "
            "Nothing is begun before every part is here."
            if items
            else nothing_sentence(whole.order)
        )
        lead = sought_sentence(whole.sought) or lead
        self._lead.setText(lead)
        self._lead.setVisible(bool(lead))
        for button in (self.copy, self.save):
            button.setEnabled(not whole.sought)
        listed: list[tuple[Cell, ...]] = []
        for group in Group:
            mine = whole.order.of(group)
            if mine:
                listed.append((Cell(), Cell(HEADINGS[group], strong=True)))
            listed += [self._row(item, item.key in job.here) for item in mine]
        self.rows.show_rows(listed)
        said = [*open_sentences(whole.order, unit), *look_up_sentences(whole.order)]
        self._open.setText(typeset("\n".join(said)))
        self._open.setVisible(bool(said))
        told = ["\n".join(set_sentences(one, whole.order.currency, unit)) for one in whole.sets]
        self._sets.setText(typeset("\n\n".join(told)))
        self._sets.setVisible(
            bool(told) and not whole.sought
        )  # held against half of what is needed
        self.form.show_groups(set_groups(whole.setup), {}, unit)
        self.form.setVisible(bool(whole.setup.job.sets))
        for shown in (self.copy, self.save, self._invented):
            shown.setVisible(bool(items))

    def _row(self, item: OrderItem, is_here: bool) -> tuple[Cell, ...]:
        box = self._boxes.get(item.key)
        if box is None:
            box = self._boxes[item.key] = Tick()
            box.setAccessibleName(f"Here: {item_name(item)}")
            box.setToolTip("It has arrived")
            box.clicked.connect(lambda on: self._arrive(item, on))
        box.setChecked(is_here)
        price = amount_text(item.price, "").strip()
        full = specification(item, self._unit)
        under = ". ".join(filter(None, (capital(why_text(item)), capital(full))))
        return (
            Cell(widget=box),
            Cell(typeset(capital(item_name(item))), under=typeset(f"{under}." if under else "")),
            Cell(typeset(length_text(item, self._unit))),
            Cell(count_text(item)),
            Cell(days_text(item.days)),
            Cell(price, under="yours" if item.own_price else ""),
        )

    def _arrive(self, item: OrderItem, here: bool) -> None:
        assert self._whole is not None
        setup = self._whole.setup
        step = f"{'Here' if here else 'Not here'}: {item_name(item)}"
        self.edited.emit(replace(setup, job=arrived(setup.job, item.key, here)), step)

    def _add_set(self) -> None:
        assert self._whole is not None
        self.edited.emit(add_set(self._whole.setup), "Add a seller's set")

    def _copy(self) -> None:
        assert self._whole is not None
        QGuiApplication.clipboard().setText(order_text(self._whole.setup, self._whole.order))
        self.said.emit("The order list is in the clipboard.")

    def _ask_save(self) -> None:
        assert self._whole is not None
        start = Path.home() / f"{self._whole.setup.title} order.csv"
        name, _ = QFileDialog.getSaveFileName(self, "Save the order", str(start), "CSV (*.csv)")
        if name:
            self.save_csv(Path(name))

    def save_csv(self, path: Path) -> None:
        """Write the list as a table for spreadsheets; what keeps it from that is said."""
        assert self._whole is not None
        setup = self._whole.setup
        try:
            text = order_csv([(setup.title, setup, self._whole.order)])
            path.write_bytes(text.encode("utf-8"))
        except OSError as error:
            self.said.emit(not_written(path, error))
