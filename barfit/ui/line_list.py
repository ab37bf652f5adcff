"""The list of lines, two rows each: name over verdict, margin over its band; sortable by each."""

from __future__ import annotations

import math
from collections.abc import Mapping
from enum import IntEnum

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRectF,
    QSize,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QFontMetrics, QFontMetricsF, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
)

from barfit.analysis import LineFinding, Verdict
from barfit.report.phrases import capital
from barfit.report.standing import Standing
from barfit.session import BADNESS
from barfit.trade import Grade
from barfit.ui.marks import draw_grade, draw_mark
from barfit.ui.theme import GRID, Theme, Type, font
from barfit.ui.words import length_text

SORT = Qt.ItemDataRole.UserRole
VERDICT = Qt.ItemDataRole.UserRole + 1
BELOW = Qt.ItemDataRole.UserRole + 2  # the small words under a cell's own
STANDING = Qt.ItemDataRole.UserRole + 3  # how figures beyond length stand, where it is to be said
MARK = 14  # px
SMALL_MARK = 11  # px
MARK_ROOM = MARK + GRID  # px, the column of marks
PAD = 6.0  # px beside words
FOREGROUND = Qt.ItemDataRole.ForegroundRole
Index = QModelIndex | QPersistentModelIndex


class Column(IntEnum):
    """The columns, left to right."""

    NAME = 0
    VERDICT = 1
    MARGIN = 2


HEADS = {
    Column.NAME: ("Line", "A cable, hose, harness or lead from the bar to the machine."),
    Column.VERDICT: ("", "Sort by verdict, the worst first."),
    Column.MARGIN: (
        "Margin",
        "Installed length less the length needed at the worst pose. Below zero, the line is too\n"
        "short by that much, with the least slack its kind should keep counted in. Under it the\n"
        "band it is in, with a chance of 95 %.",
    ),
}


class LineModel(QAbstractTableModel):
    """Lines with their findings; a line without a finding is still being worked out."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._names: tuple[str, ...] = ()
        self._findings: dict[str, LineFinding] = {}
        self._forks: dict[str, str] = {}
        self._stands: dict[str, Standing] = {}
        self._stale = False
        self._unit = "mm"

    def show_lines(
        self,
        names: tuple[str, ...],
        findings: tuple[LineFinding, ...],
        stale: bool,
        forks: Mapping[str, str],
        stands: Mapping[str, Standing],
    ) -> None:
        """Show these lines; ``forks`` says of some where alone their verdict holds, ``stands`` how
        figures beyond length stand.
        """
        same = names == self._names
        if not same:
            self.beginResetModel()
        self._names = names
        self._findings = {finding.line: finding for finding in findings}
        self._forks = dict(forks)
        self._stands = dict(stands)
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
            why = capital(finding.why) if finding is not None else ""
            stands = self._stands.get(name)
            more = f"Beyond length: {stands.words()}" if stands is not None else ""
            told = (capital(name), self._below(Column.NAME, name), why, more)
            return "\n".join(filter(None, told))
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(column)
        if role == Qt.ItemDataRole.ForegroundRole and (finding is None or self._stale):
            return QColor(self._theme.colours.muted)
        if role == VERDICT and column is Column.VERDICT and finding is not None:
            return finding.verdict
        if role == BELOW:
            return self._below(column, name)
        if role == STANDING and column is Column.NAME:
            stands = self._stands.get(name)
            return stands if stands is not None and stands.grave else None
        if role == SORT:
            return self._sort_key(column, name, finding)
        return None

    def _text(self, column: Column, name: str, finding: LineFinding | None) -> str:
        if column is Column.NAME:
            return capital(name)
        if finding is None or column is Column.VERDICT:
            return ""
        return length_text(finding.margin, self._unit, signed=True, with_unit=False)

    def _below(self, column: Column, name: str) -> str:
        """The verdict under a name, the band under a margin."""
        finding = self._findings.get(name)
        if column is Column.NAME:
            if finding is None:
                return "…"
            fork = self._forks.get(name, "").replace("with the ", "")
            return capital(", ".join(filter(None, (str(finding.verdict), fork))))
        if column is Column.VERDICT or finding is None or math.isnan(finding.sure.sigma):
            return ""
        return f"± {length_text(finding.sure.two_sigma, self._unit, with_unit=False)}"

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


class TwoRows(QStyledItemDelegate):
    """Draws a cell's words over the small ones below them; or a verdict's mark, alone."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Ground, words and mark."""
        colours = self._theme.colours
        box = QRectF(option.rect)
        selected = bool(option.state & QStyle.StateFlag.State_Selected)
        if selected:
            painter.fillRect(box, QColor(colours.accent_wash))
        verdict = index.data(VERDICT)
        ground = QColor(colours.accent_wash if selected else colours.panel)
        if verdict is not None:
            mark = QRectF(0, 0, MARK, MARK)
            mark.moveCenter(box.center())
            colour = QColor(colours.verdict(Verdict(verdict)))
            draw_mark(painter, Verdict(verdict), mark, colour, ground)
            return
        inner = box.adjusted(PAD, 0, -PAD, 0)
        upper, lower = QFontMetricsF(font(Type.BODY)), QFontMetricsF(font(Type.SMALL))
        top = inner.top() + (inner.height() - upper.height() - lower.height()) / 2
        for role, step, metrics, colour in (
            (Qt.ItemDataRole.DisplayRole, Type.BODY, upper, index.data(FOREGROUND)),
            (BELOW, Type.SMALL, lower, QColor(colours.muted)),
        ):
            painter.setFont(font(step))
            painter.setPen(colour if colour is not None else QColor(colours.text))
            place = QRectF(inner.left(), top, inner.width(), metrics.height())
            if role == BELOW and (stands := index.data(STANDING)) is not None:
                place.setRight(self._draw_standing(painter, stands, place, ground))
                painter.setPen(colour)
            words = str(index.data(role) or "")
            elided = metrics.elidedText(words, Qt.TextElideMode.ElideRight, place.width())
            painter.drawText(place, index.data(Qt.ItemDataRole.TextAlignmentRole), elided)
            top += metrics.height()

    def _draw_standing(
        self, painter: QPainter, stands: Standing, place: QRectF, ground: QColor
    ) -> float:
        """Draw mark and number at the right of a row, a pair to a grade; where they begin."""
        colours = self._theme.colours
        metrics = QFontMetricsF(font(Type.SMALL))
        right = place.right()
        painter.setPen(QColor(colours.muted))
        for grade, count in ((Grade.CAUTION, stands.cautions), (Grade.REJECT, stands.rejected)):
            if not count:
                continue
            width = metrics.horizontalAdvance(str(count))
            number = QRectF(right - width, place.top(), width, place.height())
            painter.drawText(number, Qt.AlignmentFlag.AlignVCenter, str(count))
            mark = QRectF(0, 0, SMALL_MARK, SMALL_MARK)
            mark.moveCenter(QPointF(number.left() - 3 - SMALL_MARK / 2, place.center().y()))
            draw_grade(painter, grade, mark, QColor(colours.grade(grade)), ground)
            right = mark.left() - GRID
        return right

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """As high as its two rows."""
        return QSize(option.rect.width(), row_height())


def row_height() -> int:
    """px for two rows of words."""
    words = QFontMetricsF(font(Type.BODY)).height() + QFontMetricsF(font(Type.SMALL)).height()
    return round(words) + GRID - 2


class LineList(QTableView):
    """The table. ``picked`` tells the name of the line the user went to."""

    picked = Signal(str)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.lines = LineModel(theme)
        self._order = QSortFilterProxyModel()
        self._order.setSourceModel(self.lines)
        self._order.setSortRole(SORT)
        self._delegate = TwoRows(theme)
        self.setModel(self._order)
        self.setItemDelegate(self._delegate)
        self.setAccessibleName("Lines")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setSortingEnabled(True)
        self.sort_by(None)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        self.verticalHeader().setMinimumSectionSize(row_height())
        self.verticalHeader().setDefaultSectionSize(row_height())
        head = self.horizontalHeader()
        head.setHighlightSections(False)
        head.setSectionResizeMode(Column.NAME, QHeaderView.ResizeMode.Stretch)
        head.setMinimumSectionSize(MARK_ROOM)
        head.moveSection(Column.VERDICT, 0)
        for column in (Column.VERDICT, Column.MARGIN):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
        self.selectionModel().currentRowChanged.connect(self._went_to)
        self._showing = False

    def show_lines(
        self,
        names: tuple[str, ...],
        findings: tuple[LineFinding, ...],
        stale: bool,
        forks: Mapping[str, str],
        stands: Mapping[str, Standing],
    ) -> None:
        """Show these lines with what is known about them."""
        self._showing = True
        self.lines.show_lines(names, findings, stale, forks, stands)
        self._showing = False
        self._fit_columns()
        self._fit_height()

    def _fit_height(self) -> None:
        """No higher than its rows: what comes after the lines stands right under them."""
        head = self.horizontalHeader().sizeHint().height()
        self.setMaximumHeight(head + self.lines.rowCount() * row_height() + GRID // 2)

    def _fit_columns(self) -> None:
        """Only as wide as their words: the names need the room. The head may be covered a little
        by the sign of sorting, so the style's own room for it is not reserved.
        """
        head = str(self.lines.headerData(Column.MARGIN, Qt.Orientation.Horizontal))
        self.setColumnWidth(Column.VERDICT, MARK_ROOM)
        small, body = QFontMetrics(font(Type.SMALL)), QFontMetrics(font(Type.BODY))
        widths = [small.horizontalAdvance(head)]
        for row in range(self.lines.rowCount()):
            cell = self.lines.index(row, Column.MARGIN)
            widths.append(body.horizontalAdvance(str(cell.data() or "")))
            widths.append(small.horizontalAdvance(str(cell.data(BELOW) or "")))
        self.setColumnWidth(Column.MARGIN, max(widths) + 2 * GRID)

    def sort_by(self, column: Column | None) -> None:
        """Sort upwards by a column; None for the file's own order."""
        self.sortByColumn(-1 if column is None else column, Qt.SortOrder.AscendingOrder)

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
