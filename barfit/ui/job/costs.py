"""What the job costs, at home and in a shop; the prices and rates it is reckoned with."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QWidget

from barfit.forms import Group, money_group, price_field
from barfit.model import By
from barfit.report.money import (
    INVENTED,
    amount_text,
    beside_sentence,
    drivers,
    money_rows,
    money_sentences,
)
from barfit.report.searching import sought_sentence
from barfit.ui.form import Form
from barfit.ui.job.rows import Cell, Rows, Sheet
from barfit.ui.job.whole import Whole
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import label
from barfit.ui.words import typeset
from barfit.workshop import prices

FIELDS = 60 * GRID  # px; editors at the end of long lines are far from their words
DIGITS = 26  # wide enough for a range, days and what an empty field says


class ShareBar(QWidget):
    """A share of a sum as a bar with its number."""

    def __init__(self) -> None:
        super().__init__()
        self._bar, self._number = QProgressBar(), QLabel()
        self._number = label(step=Type.SMALL)
        self._number.setMinimumWidth(5 * GRID)
        self._bar.setRange(0, 1000)
        self._bar.setTextVisible(False)
        self._bar.setFixedWidth(10 * GRID)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(GRID)
        row.addWidget(self._bar)
        row.addWidget(self._number)

    def show_share(self, share: float) -> None:
        """A share of 0 to 1; nothing at all for 0."""
        self._bar.setValue(round(1000.0 * share))
        self._bar.setVisible(share > 0.0)
        self._number.setText(f"{100.0 * share:.0f} %" if share > 0.0 else "–")


class Costs(Sheet):
    """``edited`` as that of `barfit.ui.form.Form`."""

    edited = Signal(object, str, object)

    def __init__(self) -> None:
        super().__init__(beside=115)
        self._sought = self.add_words(step=Type.LEAD)
        self.rows = Rows(("", "At home", "In a shop"), figures=(1, 2))
        self.column.addWidget(self.rows)
        self._beside = self.add_words()
        self._driving = self.add_heading("What drives it")
        self.drivers = Rows(("", "Price", "At home", "In a shop"), figures=(1,))
        self._bars: list[tuple[ShareBar, ShareBar]] = []
        self.column.addWidget(self.drivers)
        self._said = self.add_words()
        note = self.add_words(muted=True, step=Type.SMALL)
        note.setText(INVENTED)
        self.form = Form(digits=DIGITS)
        self.form.setMaximumWidth(FIELDS)
        self.form.edited.connect(self.edited)
        self.beside.addWidget(self.form)

    def show_whole(self, whole: Whole, unit: str) -> None:
        """Both sums, what drives them, and the fields."""
        money, job = whole.money, whole.setup.job
        self._sought.setText(typeset(sought_sentence(whole.sought)))
        self._sought.setVisible(bool(whole.sought))
        *rows, last = money_rows(money, so_far=bool(whole.sought))
        chosen = 1 if job.by is By.HOME else 2
        self.rows.show_rows(
            [
                *(
                    [
                        Cell(typeset(text), muted=at not in (0, chosen))
                        for at, text in enumerate(row)
                    ]
                    for row in rows
                ),
                [
                    Cell(typeset(text), strong=True, muted=at not in (0, chosen))
                    for at, text in enumerate(last)
                ],
            ]
        )
        complete = not whole.sought
        self._beside.setText(typeset(beside_sentence(money)) if complete else "")
        self._beside.setVisible(bool(self._beside.text()))
        self._show_drivers(whole if complete else None)
        said = money_sentences(money, job.by)[bool(money.bill(job.by).drives) :]
        self._said.setText(typeset("\n".join(said)))
        self._said.setVisible(bool(said))
        own = replace(job, prices=())
        fields = tuple(
            price_field(
                whole.setup,
                item,
                what,
                amount_text(table, "").strip() if (table := prices.price(item, own)) else "",
            )
            for item, what in {one.item: one.what for one in whole.order.items}.items()
        )
        groups = (Group("Prices of your own", fields),) if fields else ()
        self.form.show_groups((*groups, money_group(whole.setup)), {}, unit)

    def _show_drivers(self, whole: Whole | None) -> None:
        """What both sums are made of; nothing while something is missing from them."""
        found = drivers(whole.money) if whole is not None else []
        self._driving.setVisible(bool(found))
        while len(self._bars) < len(found):
            self._bars.append((ShareBar(), ShareBar()))
        listed = []
        for one, (home, shop) in zip(found, self._bars, strict=False):
            home.show_share(one.home)
            shop.show_share(one.shop)
            cells = (Cell(typeset(one.name)), Cell(typeset(one.price)))
            listed.append((*cells, Cell(widget=home), Cell(widget=shop)))
        self.drivers.show_rows(listed)
