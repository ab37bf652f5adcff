"""The list of lines: verdict, name and margin, sortable by each."""

from __future__ import annotations

import math
from enum import IntEnum

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QRectF,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QFontMetrics, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
)

from barfit.analysis import LineFinding, Verdict
from barfit.report.phrases import capital
from barfit.session import BADNESS
from barfit.ui.marks import draw_mark
from barfit.ui.theme import GRID, Theme, Type, font
from barfit.ui.words import length_text

SORT = Qt.ItemDataRole.UserRole
MARK_ROOM = 2 * GRID + 4  # px before a verdict's word
VERDICT = Qt.ItemDataRole.UserRole + 1
Index = QModelIndex | QPersistentModelIndex


class Column(IntEnum):
    """The columns, left to right."""

    NAME = 0
    VERDICT = 1
    MARGIN = 2


HEADS = {
    Column.NAME: ("Line", "A cable, hose, harness or lead from the bar to the machine."),
    Column.VERDICT: ("Verdict", "Sorting puts the worst first."),
    Column.MARGIN: (
        "Margin",
        "Installed length less the length needed at the worst pose. Below zero, the line is too\n"
        "short by that much, with the least slack its kind should keep counted in.",
    ),
}


class LineModel(QAbstractTableModel):
    """Lines with their findings; a line without a finding is still being worked out."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._names: tuple[str, ...] = ()
        self._findings: dict[str, LineFinding] = {}
        self._stale = False
        self._unit = "mm"

    def show_lines(
        self, names: tuple[str, ...], findings: tuple[LineFinding, ...], stale: bool
    ) -> None:
        """Show these lines."""
        same = names == self._names
        if not same:
            self.beginResetModel()
        self._names = names
        self._findings = {finding.line: finding for finding in findings}
        self._stale = stale
        if not same:
            self.endResetModel()
        self._tell()

    def show_unit(self, unit: str) -> None:
        """Lengths in this unit."""
        self._unit = unit
        self._tell()
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, Column.MARGIN, Column.MARGIN)

    def name(self, row: int) -> str:
        """The line in a row."""
        return self._names[row]

    def row(self, name: str) -> int:
        """The row of a line."""
        return self._names.index(name)

    def _tell(self) -> None:
        if self._names:
            last = self.index(len(self._names) - 1, len(Column) - 1)
            self.dataChanged.emit(self.index(0, 0), last)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """One row a line."""
        return 0 if parent.isValid() else len(self._names)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """See Column."""
        return 0 if parent.isValid() else len(Column)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Column titles with an explanation each."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        head, tip = HEADS[Column(section)]
        if role == Qt.ItemDataRole.DisplayRole:
            return f"{head}, {self._unit}" if section == Column.MARGIN else head
        if role == Qt.ItemDataRole.ToolTipRole:
            return tip
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(Column(section))
        if role == Qt.ItemDataRole.FontRole:
            return font(Type.SMALL)
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """What stands in a cell, how it sorts, and its verdict for the mark."""
        name = self._names[index.row()]
        finding = self._findings.get(name)
        column = Column(index.column())
        if role == Qt.ItemDataRole.DisplayRole:
            return self._text(column, name, finding)
        if role == Qt.ItemDataRole.ToolTipRole:
            why = f"\n{capital(finding.why)}" if finding is not None and finding.why else ""
            return capital(name) + why
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(column)
        if role == Qt.ItemDataRole.ForegroundRole and (finding is None or self._stale):
            return QColor(self._theme.colours.muted)
        if role == VERDICT and column is Column.VERDICT and finding is not None:
            return finding.verdict
        if role == SORT:
            return self._sort_key(column, name, finding)
        return None

    def _text(self, column: Column, name: str, finding: LineFinding | None) -> str:
        if column is Column.NAME:
            return capital(name)
        if finding is None:
            return "…" if column is Column.VERDICT else ""
        if column is Column.VERDICT:
            return capital(finding.verdict)
        return length_text(finding.margin, self._unit, signed=True, with_unit=False)

    def _sort_key(self, column: Column, name: str, finding: LineFinding | None) -> object:
        if column is Column.NAME:
            return name.casefold()
        if finding is None:
            return 0.0
        if column is Column.VERDICT:
            return float(-BADNESS[finding.verdict])
        return -math.inf if math.isnan(finding.margin) else finding.margin


def _alignment(column: Column) -> Qt.AlignmentFlag:
    across = Qt.AlignmentFlag.AlignRight if column is Column.MARGIN else Qt.AlignmentFlag.AlignLeft
    return across | Qt.AlignmentFlag.AlignVCenter


class VerdictDelegate(QStyledItemDelegate):
    """Draws the verdict's mark before its word."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Word moved right by the mark's room, mark in front."""
        value = index.data(VERDICT)
        verdict = Verdict(value) if value is not None else None
        box = option.rect
        if verdict is not None:
            shifted = QStyleOptionViewItem(option)
            shifted.rect = box.adjusted(MARK_ROOM, 0, 0, 0)
            if option.state & option.state.State_Selected:
                painter.fillRect(box, QColor(self._theme.colours.accent_wash))
            super().paint(painter, shifted, index)
            size = 14
            mark = QRectF(box.left() + 4, box.center().y() - size / 2 + 0.5, size, size)
            colours = self._theme.colours
            draw_mark(
                painter, verdict, mark, QColor(colours.verdict(verdict)), QColor(colours.panel)
            )
        else:
            super().paint(painter, option, index)


class LineList(QTableView):
    """The table. ``picked`` tells the name of the line the user went to."""

    picked = Signal(str)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.lines = LineModel(theme)
        self._order = QSortFilterProxyModel()
        self._order.setSourceModel(self.lines)
        self._order.setSortRole(SORT)
        self._delegate = VerdictDelegate(theme)
        self.setModel(self._order)
        self.setItemDelegateForColumn(Column.VERDICT, self._delegate)
        self.setAccessibleName("Lines")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setSortingEnabled(True)
        self.sortByColumn(-1, Qt.SortOrder.AscendingOrder)  # the file's own order at first
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(3 * GRID + 3)
        head = self.horizontalHeader()
        head.setHighlightSections(False)
        head.setSectionResizeMode(Column.NAME, QHeaderView.ResizeMode.Stretch)
        head.setMinimumSectionSize(6 * GRID)
        for column in (Column.VERDICT, Column.MARGIN):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
        self.selectionModel().currentRowChanged.connect(self._went_to)
        self._showing = False

    def show_lines(
        self, names: tuple[str, ...], findings: tuple[LineFinding, ...], stale: bool
    ) -> None:
        """Show these lines with what is known about them."""
        self._showing = True
        self.lines.show_lines(names, findings, stale)
        self._showing = False
        self._fit_columns()

    def _fit_columns(self) -> None:
        """Only as wide as their words: the names need the room. Heads may be covered a little
        by the sign of sorting, so the style's own room for it is not reserved.
        """
        words, heads = QFontMetrics(self.font()), QFontMetrics(font(Type.SMALL))
        rows = range(self.lines.rowCount())
        for column, beside in ((Column.VERDICT, MARK_ROOM + GRID), (Column.MARGIN, GRID)):
            texts = [str(self.lines.index(row, column).data()) for row in rows]
            widest = max((words.horizontalAdvance(text) for text in texts), default=0) + beside
            head = str(self.lines.headerData(column, Qt.Orientation.Horizontal))
            self.setColumnWidth(column, max(widest, heads.horizontalAdvance(head) + 2 * GRID))

    def show_selected(self, name: str | None) -> None:
        """Show which line is selected, without telling."""
        self._showing = True
        if name is None:
            self.clearSelection()
        else:
            here = self._order.mapFromSource(self.lines.index(self.lines.row(name), 0))
            self.setCurrentIndex(here)
        self._showing = False

    def names(self) -> list[str]:
        """The lines from top to bottom as they are sorted now."""
        rows = range(self._order.rowCount())
        places = (self._order.mapToSource(self._order.index(row, 0)) for row in rows)
        return [self.lines.name(place.row()) for place in places]

    def _went_to(self, now: QModelIndex, before: QModelIndex) -> None:
        if now.isValid() and not self._showing:
            self.picked.emit(self.lines.name(self._order.mapToSource(now).row()))
