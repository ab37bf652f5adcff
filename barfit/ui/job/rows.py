"""Rows of words and figures under headings, for all parts of the job page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import label, prose, rule, scrolled_side

WIDEST = 110 * GRID  # px; longer lines of words are hard to read


@dataclass(frozen=True)
class Cell:
    """What stands in one column of a row: words, smaller ones under them, or a widget; with
    ``fill`` as wide as the column and in the middle of the row.
    """

    words: str = ""
    under: str = ""
    widget: QWidget | None = None
    strong: bool = False
    muted: bool = False
    fill: bool = False


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
        self._shape: list[list[tuple[QWidget | None, bool, bool, bool]]] = []
        self._texts: dict[tuple[int, int, bool], QLabel] = {}  # by row, column, whether under

    @property
    def words(self) -> list[tuple[str, ...]]:
        """The words of all rows."""
        return list(self._words)

    def show_rows(self, rows: Sequence[Sequence[Cell]]) -> None:
        """Show these rows instead, under the heads if there are any. Where they hold the same
        widgets as before, only words change: a press of the mouse that made them change must still
        find what it was meant for.
        """
        self._words = [tuple(cell.words for cell in row) for row in rows]
        shape = [[_shape(cell) for cell in row] for row in rows]
        if shape == self._shape:
            self._show_words(rows)
            return
        with same_focus(self):
            for given, *_ in (cell for row in self._shape for cell in row):
                if given is not None:
                    given.setParent(None)  # it is whose who gave it, and may come again
            self._shape = shape
            self._show(rows)

    def _show_words(self, rows: Sequence[Sequence[Cell]]) -> None:
        for (row, column, under), made in self._texts.items():
            cell = rows[row][column]
            text = cell.under if under else cell.words
            if made.text() != text:
                made.setText(text)

    def _show(self, rows: Sequence[Sequence[Cell]]) -> None:
        self._texts = {}
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
        self.setVisible(bool(rows))
        at = 0
        if any(self._heads) and rows:
            for column, head in enumerate(self._heads):
                grid.addWidget(label(head, Type.SMALL, muted=True), at, column, self._side(column))
            at += 1
        for number, row in enumerate(rows):
            grid.addWidget(rule(), at, 0, 1, len(self._heads))
            for column, cell in enumerate(row):
                made = self._cell(cell, number, column)
                side = Qt.AlignmentFlag.AlignVCenter if cell.fill else self._side(column)
                grid.addWidget(made, at + 1, column, side)
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

    def _cell(self, cell: Cell, row: int, column: int) -> QWidget:
        if cell.widget is not None and not cell.under:
            return cell.widget
        step = Type.STRONG if cell.strong else Type.BODY
        top = cell.widget
        if top is None:
            top = self._texts[row, column, False] = self._text(cell.words, step, cell.muted, column)
        if not cell.under:
            return top
        whole = QWidget()
        column_of = QVBoxLayout(whole)
        column_of.setContentsMargins(0, 0, 0, 0)
        column_of.setSpacing(2)
        column_of.addWidget(top)
        under = self._texts[row, column, True] = self._text(cell.under, Type.SMALL, True, column)
        column_of.addWidget(under)
        return whole

    def _text(self, words: str, step: Type, muted: bool, column: int) -> QLabel:
        if column == self._wide:
            made = prose(step, muted)
            made.setText(words)
            return made
        return label(words, step, muted)


def _shape(cell: Cell) -> tuple[QWidget | None, bool, bool, bool]:
    """What of a cell is not its words."""
    return cell.widget, bool(cell.under), cell.strong, cell.muted


class Sheet(QScrollArea):
    """A part of the page that scrolls: headings, words and rows under each other, in ``column``;
    with a ``beside``, what is in that stands beside it where there is room, and else under it.
    """

    def __init__(
        self, beside: int = 0, shares: tuple[int, int] = (3, 2), widest: int = WIDEST
    ) -> None:
        """``beside`` is from how many digits of room on both columns stand beside each other (0:
        there is one), ``shares`` what of it each has; ``widest`` px is as wide as one grows.
        """
        super().__init__()
        self._widest = widest
        side = scrolled_side(self)
        self._outer = QVBoxLayout(side)
        self.column, self.beside = QVBoxLayout(), QVBoxLayout()
        for one in (self.column, self.beside):
            one.setSpacing(GRID)
        self._two = beside
        self._pair = QBoxLayout(QBoxLayout.Direction.TopToBottom)
        both = zip((self.column, self.beside), shares, strict=True)
        for one, part in both if beside else ((self.column, 1),):
            whole = QVBoxLayout()  # the lower of the two would else be drawn apart
            whole.addLayout(one)
            whole.addStretch(1)
            self._pair.addLayout(whole, part)
        self._outer.addLayout(self._pair)
        self._outer.addStretch(1)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """What is left of a wide window stays empty on the right."""
        self._fit()
        super().resizeEvent(event)

    def _fit(self) -> None:
        # a greatest width would do the same, but heights are then reckoned for the whole width
        room = self.viewport().width() - 6 * GRID
        digit = self.fontMetrics().horizontalAdvance("0")
        two = 0 < self._two * digit <= room
        ways = QBoxLayout.Direction
        self._pair.setDirection(ways.LeftToRight if two else ways.TopToBottom)
        self._pair.setSpacing(5 * GRID if two else GRID)
        spare = max(room - (self._widest + WIDEST * 2 // 3 if two else self._widest), 0)
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
