"""Rows of words and figures under headings, for all parts of the job page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import label, prose, rule, scrolled_side

WIDEST = 110 * GRID  # px; longer lines of words are hard to read


@dataclass(frozen=True)
class Cell:
    """What stands in one column of a row: words, smaller ones under them, or a widget."""

    words: str = ""
    under: str = ""
    widget: QWidget | None = None
    strong: bool = False
    muted: bool = False


@contextmanager
def same_focus(whole: QWidget) -> Iterator[None]:
    """While what a widget holds is made anew the keyboard stays with what has the same name."""
    focus = whole.focusWidget()
    name = focus.accessibleName() if focus is not None and focus.hasFocus() else ""
    yield
    if not name:
        return
    again = (one for one in whole.findChildren(QWidget) if one.accessibleName() == name)
    for widget in again:
        if widget.isVisibleTo(whole):
            widget.setFocus(Qt.FocusReason.OtherFocusReason)


class Rows(QWidget):
    """A table of cells whose words wrap. The ``wide`` column takes the room that is left; those
    named in ``figures`` stand to the right.
    """

    def __init__(self, heads: Sequence[str], wide: int = 0, figures: Sequence[int] = ()) -> None:
        super().__init__()
        self._heads, self._wide, self._figures = tuple(heads), wide, frozenset(figures)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._words: list[tuple[str, ...]] = []

    @property
    def words(self) -> list[tuple[str, ...]]:
        """The words of all rows."""
        return list(self._words)

    def show_rows(self, rows: Sequence[Sequence[Cell]]) -> None:
        """Show these rows instead, under the heads if there are any."""
        with same_focus(self):
            self._show(rows)

    def _show(self, rows: Sequence[Sequence[Cell]]) -> None:
        while item := self._column.takeAt(0):
            if widget := item.widget():
                widget.hide()
                widget.deleteLater()
        body = QWidget()  # a grid that is filled again keeps the heights it had
        grid = QGridLayout(body)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(2 * GRID)
        grid.setVerticalSpacing(GRID // 2)
        grid.setColumnStretch(self._wide, 1)
        self._words = [tuple(cell.words for cell in row) for row in rows]
        self.setVisible(bool(rows))
        at = 0
        if any(self._heads) and rows:
            for column, head in enumerate(self._heads):
                grid.addWidget(label(head, Type.SMALL, muted=True), at, column, self._side(column))
            at += 1
        for row in rows:
            grid.addWidget(rule(), at, 0, 1, len(self._heads))
            for column, cell in enumerate(row):
                grid.addWidget(self._cell(cell, column), at + 1, column, self._side(column))
            at += 2
        self._column.addWidget(body)
        body.show()  # at once, or nothing in it could take the keyboard

    def _side(self, column: int) -> Qt.AlignmentFlag:
        if column in self._figures:
            return Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignRight
        return (
            Qt.AlignmentFlag.AlignTop
            if column == self._wide
            else (Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        )

    def _cell(self, cell: Cell, column: int) -> QWidget:
        if cell.widget is not None and not cell.under:
            return cell.widget
        step = Type.STRONG if cell.strong else Type.BODY
        top = cell.widget or self._text(cell.words, step, cell.muted, column)
        if not cell.under:
            return top
        whole = QWidget()
        column_of = QVBoxLayout(whole)
        column_of.setContentsMargins(0, 0, 0, 0)
        column_of.setSpacing(2)
        column_of.addWidget(top)
        column_of.addWidget(self._text(cell.under, Type.SMALL, True, column))
        return whole

    def _text(self, words: str, step: Type, muted: bool, column: int) -> QLabel:
        if column == self._wide:
            made = prose(step, muted)
            made.setText(words)
            return made
        return label(words, step, muted)


class Sheet(QScrollArea):
    """A part of the page that scrolls: headings, words and rows under each other."""

    def __init__(self) -> None:
        super().__init__()
        side = scrolled_side(self)
        self._outer = QVBoxLayout(side)
        self.column = QVBoxLayout()
        self.column.setSpacing(GRID)
        self._outer.addLayout(self.column)
        self._outer.addStretch(1)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """What is left of a wide window stays empty on the right."""
        self._fit()
        super().resizeEvent(event)

    def _fit(self) -> None:
        # a greatest width would do the same, but heights are then reckoned for the whole width
        spare = max(self.viewport().width() - WIDEST - 6 * GRID, 0)
        self._outer.setContentsMargins(3 * GRID, 2 * GRID, 3 * GRID + spare, 3 * GRID)

    def add_heading(self, words: str) -> QLabel:
        """A heading at the end of what is there."""
        made = label(words, Type.TITLE)
        made.setContentsMargins(0, 2 * GRID, 0, 0)
        self.column.addWidget(made)
        return made

    def add_words(self, muted: bool = False, step: Type = Type.BODY) -> QLabel:
        """Words that wrap, to be filled in."""
        made = prose(step, muted)
        self.column.addWidget(made)
        return made

    def clear(self) -> None:
        """Take everything out again."""
        while item := self.column.takeAt(0):
            if widget := item.widget():
                widget.hide()
                widget.deleteLater()
