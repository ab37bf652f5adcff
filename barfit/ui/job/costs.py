"""What the job costs, at home and in a shop; the prices and rates it is reckoned with."""

from __future__ import annotations

from PySide6.QtCore import Signal

from barfit.forms import Group, money_group, price_field
from barfit.report.money import INVENTED, money_rows, money_sentences
from barfit.ui.form import Form
from barfit.ui.job.rows import Cell, Rows, Sheet
from barfit.ui.job.whole import Whole
from barfit.ui.theme import GRID, Type
from barfit.ui.words import typeset

FIELDS = 60 * GRID  # px; editors at the end of long lines are far from their words
DIGITS = 26  # wide enough for a range, days and what an empty field says


class Costs(Sheet):
    """``edited`` as that of `barfit.ui.form.Form`."""

    edited = Signal(object, str, object)

    def __init__(self) -> None:
        super().__init__()
        self.rows = Rows(("", "At home", "In a shop"), figures=(1, 2))
        self.column.addWidget(self.rows)
        self._said = self.add_words()
        self.add_heading("What it is reckoned with")
        self.form = Form(digits=DIGITS)
        self.form.setMaximumWidth(FIELDS)
        self.form.edited.connect(self.edited)
        self.column.addWidget(self.form)
        note = self.add_words(muted=True, step=Type.SMALL)
        note.setText(INVENTED)

    def show_whole(self, whole: Whole, unit: str) -> None:
        """Both sums, what drives them, and the fields."""
        *rows, last = money_rows(whole.money)
        self.rows.show_rows(
            [
                *([Cell(text) for text in map(typeset, row)] for row in rows),
                [Cell(typeset(text), strong=True) for text in last],
            ]
        )
        said = money_sentences(whole.money, whole.setup.job.by)
        self._said.setText(typeset("\n".join(said)))
        labels = {one.item: one.what for one in whole.order.items}
        prices = tuple(price_field(whole.setup, item, what) for item, what in labels.items())
        own = (Group("Prices of your own", prices),) if prices else ()
        self.form.show_groups((money_group(whole.setup), *own), {}, unit)
