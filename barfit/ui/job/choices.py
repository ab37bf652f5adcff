"""What is done about each line: the lines on the left, what can be done about one beside them."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from barfit.model import Choice, Setup
from barfit.remedies import Remedy
from barfit.report.lower_bars import relation_sentence
from barfit.report.phrases import capital
from barfit.report.remedy_labels import label
from barfit.report.remedy_limits import lower_bar_sentence
from barfit.ui.job.line_rows import LineRows
from barfit.ui.job.means import MeansSheet
from barfit.ui.job.rows import WIDEST
from barfit.ui.job.whole import Whole
from barfit.ui.theme import GRID, Theme
from barfit.ui.widgets import prose
from barfit.ui.words import typeset


class Choices(QWidget):
    """``edited`` gives the changed setup and the name of the step; ``tried`` the whole setup with
    a remedy done, to be looked at.
    """

    edited = Signal(object, str)
    tried = Signal(object, str)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._whole: Whole | None = None
        self._unit = "mm"
        self._shown: object = None
        self._lead = prose()
        self.lines = LineRows(theme)
        self.means = MeansSheet(theme)
        self.lines.picked.connect(lambda _: self._show_means())
        self.means.taken.connect(self._take)
        self.means.tried.connect(self._try)
        row = QHBoxLayout()
        row.setSpacing(0)
        row.addWidget(self.lines)
        row.addWidget(self.means, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self._lead)
        column.addLayout(row, 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Longer lines of words are hard to read."""
        super().resizeEvent(event)
        spare = max(event.size().width() - WIDEST - 6 * GRID, 0)
        self._lead.setContentsMargins(3 * GRID, 2 * GRID, 3 * GRID + spare, 0)

    @property
    def lead(self) -> str:
        """What is said of all lines together."""
        return self._lead.text()

    def show_whole(self, whole: Whole, unit: str) -> None:
        """Every line that does not fit, with what can be done about it."""
        taken = {name: remedy and remedy.key for name, remedy in whole.taken.items()}
        key = (whole.remedies, whole.sought, taken, whole.setup.job.choices, unit, whole.rejected)
        self._whole, self._unit = whole, unit
        if key == self._shown:
            return
        self._shown = key
        told = []
        if not whole.sought:
            told = [lower_bar_sentence(whole.remedies, unit)]
            told.append(relation_sentence(whole.remedies, whole.rejected, unit))
            if not any(one.ranked for one in whole.remedies):
                told = ["Every line may stay as it is."]
        text = " ".join(filter(None, told))
        self._lead.setText(typeset(text))
        self._lead.setVisible(bool(text))
        self.lines.show_lines(whole, unit)
        self._show_means()

    def show_line(self, name: str | None) -> None:
        """Look at that line, where it is one that does not fit."""
        self.lines.pick(name)

    def _show_means(self) -> None:
        if self._whole is not None:
            self.means.show_line(self._whole, self.lines.line, self._unit)

    def _take(self, remedy: Remedy) -> None:
        assert self._whole is not None
        setup = take(self._whole.setup, remedy)
        self.edited.emit(setup, f"{capital(remedy.line)}: {label(remedy, self._unit)}")

    def _try(self, remedy: Remedy) -> None:
        assert self._whole is not None
        setup = replace(remedy.setup, job=self._whole.setup.job)
        self.tried.emit(setup, f"Try for {remedy.line}: {label(remedy, self._unit)}")


def take(setup: Setup, remedy: Remedy) -> Setup:
    """The setup with that remedy chosen for its line, and for those that are replaced with it."""
    lines = (remedy.line, *remedy.together)  # what is only replaced together is decided together
    others = tuple(one for one in setup.job.choices if one.line not in lines)
    chosen = (*others, *(Choice(line, remedy.key) for line in lines))
    return replace(setup, job=replace(setup.job, choices=chosen))
