"""What is done about each line: its remedies with their margins, one of which is taken."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup

from barfit.model import Choice, Setup
from barfit.remedies import Remedies, Remedy
from barfit.report.phrases import capital
from barfit.report.remedies import (
    gone_sentence,
    nothing_sentence,
    refusals,
    remedy_sentence,
)
from barfit.report.remedy_labels import label
from barfit.report.remedy_limits import cap_sentence, lower_bar_sentence
from barfit.ui.job.rows import Cell, Rows, Sheet, same_focus
from barfit.ui.job.whole import Whole
from barfit.ui.theme import Type
from barfit.ui.widgets import Button, Option, prose
from barfit.ui.widgets import label as words
from barfit.ui.words import typeset
from barfit.workshop.orders import chosen_for


class Choices(Sheet):
    """``edited`` gives the changed setup and the name of the step; ``tried`` the whole setup with
    a remedy done, to be looked at.
    """

    edited = Signal(object, str)
    tried = Signal(object, str)

    def __init__(self) -> None:
        super().__init__()
        self._whole: Whole | None = None
        self._unit = "mm"
        self._groups: list[QButtonGroup] = []
        self.options: dict[tuple[str, str], Option] = {}
        self._shown: object = None

    def show_whole(self, whole: Whole, unit: str) -> None:
        """Every line that does not fit, with what can be done about it."""
        taken = {name: remedy and remedy.key for name, remedy in whole.taken.items()}
        key = (whole.remedies, taken, whole.setup.job.choices, unit)
        self._whole, self._unit = whole, unit
        if key == self._shown:
            return
        self._shown = key
        place = self.verticalScrollBar().value()
        with same_focus(self):
            self._show(whole, unit)
        self.verticalScrollBar().setValue(place)

    def _show(self, whole: Whole, unit: str) -> None:
        self.clear()
        self._groups, self.options = [], {}
        if text := lower_bar_sentence(whole.remedies, unit):
            self.add_words(step=Type.LEAD).setText(typeset(text))
        misfits = [one for one in whole.remedies if one.ranked]
        if not misfits:
            self.add_words(step=Type.LEAD).setText("Every line may stay as it is.")
        for one in misfits:
            self._show_line(one, whole.taken.get(one.line))

    def _show_line(self, about: Remedies, chosen: Remedy | None) -> None:
        self.add_heading(capital(about.line))
        assert self._whole is not None
        gone = gone_sentence(about, chosen_for(self._whole.setup, about.line))
        for text in filter(None, (gone, nothing_sentence(about))):
            self.add_words().setText(typeset(text))
        group = QButtonGroup(self)
        self._groups.append(group)
        rows = Rows(("Taken", "What comes of it", ""), wide=1)
        listed = []
        for remedy in about.ranked:
            if not remedy.offered:
                continue
            told = remedy_sentence(remedy, self._unit)
            option = Option()
            option.setAccessibleName(f"{about.line}: {told}")
            option.setToolTip("Order, cost, work and check list go by what is taken")
            option.setChecked(remedy is chosen)
            option.clicked.connect(lambda _=False, r=remedy: self._take(r))
            group.addButton(option)
            self.options[about.line, remedy.key] = option
            look = Button("Try it")
            look.setAccessibleName(f"Try it: {told}")
            look.setToolTip("Change the setup so, to look at it in the machine; undo takes it back")
            look.clicked.connect(lambda _=False, r=remedy: self._try(r))
            mark = Cell(typeset(told), strong=remedy is chosen)
            listed.append((Cell(widget=option), mark, Cell(widget=look)))
        rows.show_rows(listed)
        self.column.addWidget(rows)
        if capped := cap_sentence(about, self._unit):
            self.add_words().setText(typeset(capped))
        if refused := refusals(about, self._unit):
            self.column.addWidget(words("Not enough, or cannot be done", Type.SMALL, muted=True))
            for text in refused:
                line = prose(Type.SMALL, muted=True)
                line.setText(typeset(text))
                self.column.addWidget(line)

    def _take(self, remedy: Remedy) -> None:
        assert self._whole is not None
        setup = take(self._whole.setup, remedy)
        self.edited.emit(setup, f"{capital(remedy.line)}: {label(remedy, self._unit)}")

    def _try(self, remedy: Remedy) -> None:
        assert self._whole is not None
        setup = replace(remedy.setup, job=self._whole.setup.job)
        self.tried.emit(setup, f"Try for {remedy.line}: {label(remedy, self._unit)}")


def take(setup: Setup, remedy: Remedy) -> Setup:
    """The setup with that remedy chosen for its line."""
    others = tuple(one for one in setup.job.choices if one.line != remedy.line)
    chosen = (*others, Choice(remedy.line, remedy.key))
    return replace(setup, job=replace(setup.job, choices=chosen))
