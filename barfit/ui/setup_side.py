"""The left side: the machine, its bars old and new, and the list of its lines."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from barfit.analysis import LineFinding
from barfit.measuring import count, unmeasured_sentence
from barfit.model import Setup
from barfit.report.facts import fork_only
from barfit.report.phrases import capital, listed
from barfit.report.slides import bars_title
from barfit.report.standing import standing_of_lines, standing_of_topics
from barfit.session import Result
from barfit.ui.bar_rows import TERMS, bar_rows
from barfit.ui.bars_table import BarsTable
from barfit.ui.icons import Worn
from barfit.ui.line_list import LineList
from barfit.ui.theme import GRID, Theme, Type, font
from barfit.ui.topic_list import TopicList
from barfit.ui.widgets import Button, Segments, label, prose, rule


class BarTable(QWidget):
    """Dimensions of stock and new bars side by side, with the change."""

    def __init__(self) -> None:
        super().__init__()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(GRID)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(0, 1)
        for column in (1, 2, 3):
            self._grid.setColumnMinimumWidth(column, 7 * GRID)

    def show_bars(self, setup: Setup, unit: str, stock: bool) -> None:
        """Fill the table; the bars being shown stand out."""
        while item := self._grid.takeAt(0):
            if widget := item.widget():
                widget.hide()
                widget.deleteLater()
        heads = (unit, "stock", "new", "change")
        for column, head in enumerate(heads):
            self._put(label(head, Type.SMALL, muted=True), 0, column)
        rows = bar_rows(setup.stock, setup.new, unit)
        changed = [row for row in rows if row.difference or row.stock != row.new] or list(rows)
        same = [row for row in rows if row not in changed]
        for at, row in enumerate(changed, start=1):
            texts = (row.term, row.stock, row.new, row.difference)
            for column, text in enumerate(texts):
                shown = column == (1 if stock else 2)
                cell = label(text, Type.STRONG if shown else Type.BODY, muted=column == 0)
                cell.setToolTip(TERMS[row.term])
                self._put(cell, at, column)

        if same:
            alike = prose(Type.SMALL, muted=True)
            words = listed([f"{row.term.lower()} {row.stock}" for row in same])
            alike.setText(f"As stock: {words}")
            alike.setToolTip("\n".join(f"{row.term}: {TERMS[row.term]}" for row in same))
            self._grid.addWidget(alike, len(changed) + 1, 0, 1, len(heads))

    def texts(self) -> list[list[str]]:
        """What stands in the cells, row by row."""
        rows = []
        for row in range(self._grid.rowCount()):
            items = [self._grid.itemAtPosition(row, column) for column in range(4)]
            cells = [item.widget() for item in items if item is not None]
            if cells:
                rows.append([cell.text() for cell in cells if isinstance(cell, QLabel)])
        return rows

    def _put(self, cell: QLabel, row: int, column: int) -> None:
        side = Qt.AlignmentFlag.AlignLeft if column == 0 else Qt.AlignmentFlag.AlignRight
        self._grid.addWidget(cell, row, column, side)


class SetupSide(QWidget):
    """Machine, bars and lines. ``bars_picked`` tells whether the stock bars are wanted,
    ``doubts_asked`` that what the file can hardly mean is to be told, ``change_asked`` that the
    setup is to be changed, ``measure_asked`` that it is to be measured; ``page_picked`` whether all
    bars are to be shown instead of the lines.
    """

    page_picked = Signal(object)
    bars_picked = Signal(object)
    doubts_asked = Signal()
    change_asked = Signal()
    measure_asked = Signal()

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.setObjectName("side")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._machine = label(step=Type.TITLE)
        self._machine.setWordWrap(True)
        self.change = Button("Change…")
        self.change.setToolTip("Change machine, bars, controls or solids (F2)")
        Worn(self.change, "change", theme)
        self.change.clicked.connect(self.change_asked)
        self.job = Button("Job…")
        self.job.setAccessibleName("The job")
        self.job.setToolTip("The job: what to do, order, cost, work and days, check list (F6)")
        Worn(self.job, "job", theme)
        self._note = prose(Type.SMALL, muted=True)
        self.doubts = Button()
        self.doubts.setProperty("role", "fact")
        self.doubts.setCursor(Qt.CursorShape.PointingHandCursor)
        self.doubts.clicked.connect(self.doubts_asked)
        self.doubts.hide()
        self.unmeasured = Button()
        self.unmeasured.setProperty("role", "fact")
        self.unmeasured.setCursor(Qt.CursorShape.PointingHandCursor)
        self.unmeasured.clicked.connect(self.measure_asked)
        self.unmeasured.hide()
        self.bars = Segments(
            [
                ("Stock bars", True, "Look at the machine with the bars it came with"),
                ("New bars", False, "Look at the machine with the bars you want to fit"),
            ],
            "Bars shown",
            main=True,
        )
        self.bars.picked.connect(self.bars_picked)
        which = QHBoxLayout()
        which.setSpacing(GRID)
        which.addWidget(self.bars, 1)
        which.addWidget(self.change)
        self._names = prose(Type.SMALL, muted=True)
        self._table = BarTable()
        self._summary, self._more = prose(Type.STRONG), prose(Type.SMALL, muted=True)
        self.lines, self.topics = LineList(theme), TopicList(theme)
        self.pages = Segments(
            [
                ("Lines", False, "Every line with the bars shown"),
                ("All bars", True, "All bars in the file side by side: which needs least"),
            ],
            "Below",
        )
        self.pages.picked.connect(self.page_picked)
        self.all_bars = BarsTable(theme)

        inner = QVBoxLayout()
        inner.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 0)
        inner.setSpacing(GRID // 2)
        inner.addWidget(self._machine)
        inner.addWidget(self._note)
        inner.addWidget(self.unmeasured, 0, Qt.AlignmentFlag.AlignLeft)
        inner.addWidget(self.doubts, 0, Qt.AlignmentFlag.AlignLeft)
        inner.addSpacing(GRID // 2)
        inner.addLayout(which)
        inner.addWidget(self._names)
        inner.addWidget(self._table)
        inner.addSpacing(GRID // 2)
        inner.addWidget(rule())
        inner.addSpacing(GRID // 2)
        below = QHBoxLayout()
        below.setSpacing(GRID)
        below.addWidget(self.pages, 1)
        below.addWidget(self.job)
        inner.addLayout(below)
        inner.addSpacing(GRID // 2)
        inner.addWidget(self._summary)
        inner.addWidget(self._more)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        column.addLayout(inner)
        lines_page = QWidget()
        rows = QVBoxLayout(lines_page)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(GRID // 2)
        rows.addWidget(self.lines, 1000)  # all the room it can use
        rows.addWidget(self.topics)
        rows.addStretch(1)
        self._below = QStackedWidget()
        self._below.addWidget(lines_page)
        self._below.addWidget(self.all_bars)
        table = QVBoxLayout()
        table.setContentsMargins(GRID, 0, GRID, GRID)
        table.addWidget(self._below)
        column.addLayout(table, 1)
        self.show_page(False)
        theme.changed.connect(self._set_fonts)

    def show_page(self, all_bars: bool) -> None:
        """Show all bars side by side, or the lines with the bars shown."""
        self.pages.show_value(all_bars)
        self._below.setCurrentIndex(int(all_bars))

    @property
    def showing_all_bars(self) -> bool:
        """Whether all bars are shown."""
        return self._below.currentWidget() is self.all_bars

    def show_setup(self, setup: Setup, unit: str, stock: bool) -> None:
        """Show machine and bars."""
        machine = setup.machine
        self._machine.setText(machine.name)
        self._note.setText(machine.note)
        self._note.setVisible(bool(machine.note))
        self.bars.show_value(stock)
        self._names.setText(capital(bars_title(setup.bars(stock))))
        self._table.show_bars(setup, unit, stock)

    def show_unmeasured(self, setup: Setup, findings: Sequence[LineFinding]) -> None:
        """How much of it is not measured yet; hidden where all is."""
        done, whole = count(setup, findings)
        self.unmeasured.setVisible(done < whole)
        self.unmeasured.setText(f"{whole - done} of {whole} not measured yet …")
        self.unmeasured.setToolTip(
            f"{unmeasured_sentence(setup, findings)}\nMeasure the machine (F3)"
        )

    def show_doubts(self, told: Sequence[str]) -> None:
        """How much the file says that can hardly be meant; the sentences are in the tooltip."""
        self.doubts.setVisible(bool(told))
        count = f"{len(told)} doubts" if len(told) > 1 else "One doubt"
        self.doubts.setText(f"{count} about what the file says …")
        self.doubts.setToolTip("\n".join(told))

    def show_lines(self, setup: Setup, result: Result | None, unit: str, stale: bool) -> None:
        """Show the lines."""
        names = tuple(line.name for line in setup.lines)
        findings = result.findings if result is not None else ()
        swept = result.sweep if result is not None else None
        forks = {f.line: fork_only(f, swept.line(f.line)) for f in findings} if swept else {}
        self.lines.lines.show_unit(unit)
        remarks = result.remarks(unit) if result is not None else ()
        self.lines.show_lines(names, findings, stale, forks, standing_of_lines(remarks))
        self.topics.show_topics(standing_of_topics(remarks))

    def show_summary(self, sentence: str) -> None:
        """What is to be said of all lines together, the first sentence of it before all else."""
        first, stop, more = sentence.partition(". ")
        self._summary.setText(first + stop.strip())
        self._more.setText(more)
        self._more.setVisible(bool(more))

    def table_texts(self) -> list[list[str]]:
        """What the table of dimensions says, row by row."""
        return self._table.texts()

    @property
    def summary(self) -> str:
        """What is said over the list."""
        return " ".join(filter(None, (self._summary.text(), self._more.text())))

    def _set_fonts(self) -> None:
        self._machine.setFont(font(Type.TITLE))
