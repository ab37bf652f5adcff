"""All bars that could be fitted, column by column: which lines stay, and which bars need least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QMenu,
    QProgressBar,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from barfit.analysis import LineFinding
from barfit.compare import BarsNumbers
from barfit.compare.words import lacking_text, need_words, stay_text
from barfit.report.phrases import capital
from barfit.report.sureness import band
from barfit.ui.icons import Worn
from barfit.ui.marks import draw_mark
from barfit.ui.theme import GRID, Theme, Type, font
from barfit.ui.widgets import Button, label, rule
from barfit.ui.words import length_text, typeset

MARK = 14  # px
COLUMN = round(7.6 * GRID)  # px, the least a column takes
_WRAPPED = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap


@dataclass(frozen=True)
class BarsColumn:
    """One set of bars as shown: ``numbers`` None while it is worked out, ``stale`` where they are
    those from before an edit; ``why`` it could not be worked out.
    """

    name: str
    used: bool
    numbers: BarsNumbers | None
    stale: bool = False
    why: str = ""

    @property
    def key(self) -> tuple[object, ...]:
        """What tells it from another; findings by what they are, as nan is not even itself."""
        numbers = self.numbers
        held = (id(numbers.findings), numbers.rank) if numbers is not None else None
        return (self.name, self.used, self.stale, self.why, held)


def shortened(words: str, width: int) -> str:
    """As many of the words as go on three lines of so many px, and an ellipsis."""
    most = 3 * QFontMetrics(font(Type.SMALL)).lineSpacing() + 1
    shown, kept = words, words.split()
    while _height(shown, width) > most and len(kept) > 1:
        kept.pop()
        shown = f"{' '.join(kept)} …"
    return shown


def _height(words: str, width: int) -> int:
    room = QRect(0, 0, width, 1000)
    return QFontMetrics(font(Type.SMALL)).boundingRect(room, _WRAPPED, words).height()


class HeadButton(Button):
    """The head of a column: a name that wraps; the one in use is checked."""

    def __init__(self, words: str, used: bool) -> None:
        super().__init__()
        self.words = words
        self.setCheckable(True)
        self.setChecked(used)
        self.setProperty("role", "row")
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def sizeHint(self) -> QSize:
        """As high as its words need in a narrow column."""
        return QSize(COLUMN, _height(shortened(self.words, COLUMN - 6), COLUMN - 6) + GRID)

    def minimumSizeHint(self) -> QSize:
        """No narrower than a column."""
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The button, then its words over as many lines as they take."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setFont(font(Type.SMALL))
        painter.setPen(self.palette().windowText().color())
        painter.drawText(
            self.rect().adjusted(3, 2, -3, -2), _WRAPPED, shortened(self.words, self.width() - 6)
        )
        painter.end()


class Cell(QWidget):
    """A verdict's mark with the margin beside it."""

    def __init__(self, theme: Theme, found: LineFinding | None, text: str, stale: bool) -> None:
        super().__init__()
        self._theme, self._found, self._text, self._stale = theme, found, text, stale
        words = QFontMetrics(font(Type.BODY))
        wide = round(words.horizontalAdvance(text)) + MARK + 12  # fractions of an inch are long
        self.setMinimumSize(max(COLUMN, wide), max(round(2.6 * GRID), words.height() + 4))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Mark and margin; muted where they are from before an edit."""
        painter = QPainter(self)
        colours = self._theme.colours
        if self._stale:
            painter.setOpacity(0.45)
        box = QRectF(4, (self.height() - MARK) / 2, MARK, MARK)
        if self._found is not None:
            verdict = self._found.verdict
            colour, ground = QColor(colours.verdict(verdict)), QColor(colours.panel)
            draw_mark(painter, verdict, box, colour, ground)
        painter.setFont(font(Type.BODY))
        painter.setPen(QColor(colours.text if self._found is not None else colours.muted))
        room = QRectF(box.right() + 2, 0, self.width() - box.right() - 6, self.height())
        flags = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(room, flags, self._text)
        painter.end()


class BarsTable(QWidget):
    """The table. ``picked`` tells the bars that are to be the new ones, ``deleted`` those to be let
    go, ``added`` that more are wanted.
    """

    picked = Signal(str)
    added = Signal()
    deleted = Signal(str)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._shown: tuple[Sequence[BarsColumn], Sequence[str], str] | None = None
        self._known: object = None
        self.heads: dict[str, HeadButton] = {}
        self.add = Button("Add bars")
        self.add.setToolTip("A copy of the new bars under another name, to be changed with F2")
        self.add.clicked.connect(self.added)
        self.drop = Button("Delete…")
        self.drop.setToolTip("Let go of bars that are not the new ones")
        Worn(self.add, "add", theme)
        Worn(self.drop, "delete", theme)
        self._menu = QMenu(self.drop)
        self.drop.setMenu(self._menu)
        self.progress = QProgressBar()
        self.progress.setTextVisible(False)
        self.progress.setRange(0, 1000)
        self.progress.setAccessibleName("Bars being worked out")
        policy = self.progress.sizePolicy()
        policy.setRetainSizeWhenHidden(True)
        self.progress.setSizePolicy(policy)
        self.progress.hide()
        self._scroll = QScrollArea()
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        buttons = QHBoxLayout()
        buttons.setSpacing(GRID)
        buttons.addWidget(self.add)
        buttons.addWidget(self.drop)
        buttons.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(GRID, 0, GRID, 0)
        column.setSpacing(GRID // 2)
        column.addWidget(self.progress)
        column.addWidget(self._scroll, 1)
        column.addLayout(buttons)
        theme.changed.connect(self._again)

    def show_bars(self, columns: Sequence[BarsColumn], lines: Sequence[str], unit: str) -> None:
        """Show these columns with a row for each line; nothing happens where they are the same."""
        known = (tuple(column.key for column in columns), tuple(lines), unit)
        if known != self._known:
            self._known = known
            self._fill(columns, lines, unit)

    def _fill(self, columns: Sequence[BarsColumn], lines: Sequence[str], unit: str) -> None:
        focused = next((name for name, head in self.heads.items() if head.hasFocus()), None)
        self._shown = (columns, lines, unit)
        self.heads = {}
        side = QWidget()
        side.setObjectName("side")
        side.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        grid = QGridLayout(side)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(GRID // 2)
        grid.setVerticalSpacing(0)
        grid.setColumnStretch(0, 1)
        terms = [capital(line) for line in lines]
        feet = ("Lines stay", f"Lacking, {unit}", "Bars usable", "Rank")
        under = len(lines) + 1  # a thin line, then what is said of all lines together
        grid.addWidget(rule(), under, 0, 1, len(columns) + 1)
        for row, words in enumerate(terms, start=1):
            grid.addWidget(_Term(words, muted=False), row, 0)
        for row, words in enumerate(feet, start=under + 1):
            grid.addWidget(_Term(words, muted=True), row, 0)
        for at, column in enumerate(columns, start=1):
            grid.addWidget(self._head(column), 0, at)
            for row, line in enumerate(lines, start=1):
                grid.addWidget(self._cell(column, line, unit), row, at)
            for term, row, (text, tip) in zip(
                feet, range(under + 1, under + 5), _feet(column, unit), strict=True
            ):
                foot = label(text, Type.STRONG)
                foot.setMinimumHeight(round(2.4 * GRID))
                foot.setToolTip(tip)
                foot.setAccessibleName(f"{column.name}, {term}: {text}")
                foot.setProperty("muted", column.stale or column.numbers is None)
                foot.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                foot.setContentsMargins(0, 0, 4, 0)
                grid.addWidget(foot, row, at)
        grid.setRowStretch(under + len(feet) + 1, 1)
        self._scroll.setWidget(side)  # the one before goes with it
        self._menu.clear()
        for column in columns:
            if not column.used:
                action = self._menu.addAction(capital(column.name).replace("&", "&&"))
                action.triggered.connect(lambda _=False, name=column.name: self.deleted.emit(name))
        self.drop.setEnabled(len(columns) > 1)
        # made last, they would be the last to tab to
        before = _tabbed_before(self.add)
        for head in self.heads.values():
            QWidget.setTabOrder(before, head)
            before = head
        if focused in self.heads:
            self.heads[focused].setFocus()

    def show_progress(self, part: float) -> None:
        """How much of it is worked out; 1 hides the bar."""
        self.progress.setVisible(part < 1.0)
        self.progress.setValue(round(1000 * part))

    def _head(self, column: BarsColumn) -> HeadButton:
        head = HeadButton(capital(column.name), column.used)
        state = "the new bars now" if column.used else "make these the new bars"
        said = need_words(column.numbers) if column.numbers is not None else column.why
        head.setToolTip("\n".join(filter(None, (f"{capital(column.name)}: {state}", said))))
        head.setAccessibleName(f"{column.name}: {state}")
        head.clicked.connect(lambda: self._head_clicked(column))
        self.heads[column.name] = head
        return head

    def _head_clicked(self, column: BarsColumn) -> None:
        self.heads[column.name].setChecked(column.used)  # until it is so
        if not column.used:
            self.picked.emit(column.name)

    def _cell(self, column: BarsColumn, line: str, unit: str) -> Cell:
        numbers = column.numbers
        found = (
            next((one for one in numbers.findings if one.line == line), None) if numbers else None
        )
        why = dict(numbers.refused).get(line, "") if numbers else ""
        if found is None:
            words, text = column.why or "being worked out", "–" if column.why else "…"
        else:
            margin = band(found.margin, found.sure.two_sigma, unit, signed=True)
            words = typeset(f"{found.verdict}, {margin}")
            text = length_text(found.margin, unit, signed=True, with_unit=False)
            if why:
                words, text = f"{words}; not acceptable: {why}", f"{text} !"
        if column.stale:
            words += " (before the last change)"
        cell = Cell(self._theme, found, text, column.stale)
        cell.setToolTip(f"{capital(line)}, {column.name}:\n{words}")
        cell.setAccessibleName(f"{line}, {column.name}: {words}")
        return cell

    def _again(self) -> None:
        if self._shown is not None:
            self._fill(*self._shown)


class _Term(QWidget):
    """The head of a row, cut short where it is too narrow."""

    def __init__(self, words: str, muted: bool) -> None:
        super().__init__()
        self._label = label(words, Type.BODY, muted=muted)
        self._words = words
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 2, 0)
        row.addWidget(self._label)
        self._label.setMinimumWidth(1)
        self.setToolTip(words)
        self.setMinimumWidth(11 * GRID)

    def event(self, event: QEvent) -> bool:
        """Elide to the room there is."""
        if event.type() == QEvent.Type.Resize:
            metrics = QFontMetrics(self._label.font())
            room = self.width() - 2
            self._label.setText(metrics.elidedText(self._words, Qt.TextElideMode.ElideRight, room))
        return super().event(event)


def _tabbed_before(widget: QWidget) -> QWidget:
    """What takes the focus before a widget that does; itself where there is nothing else."""
    before = widget.previousInFocusChain()
    while before is not None and before.focusPolicy() == Qt.FocusPolicy.NoFocus:
        before = before.previousInFocusChain()
    return before or widget


def _feet(column: BarsColumn, unit: str) -> tuple[tuple[str, str], ...]:
    """What stands under a column: how many lines stay, what lacks, whether the bars can be used at
    all, their rank; and why.
    """
    numbers = column.numbers
    if numbers is None:
        return (("…", column.why),) * 4
    lacking = lacking_text(numbers, unit)
    usable, why = _usable(numbers)
    return (
        (stay_text(numbers), need_words(numbers)),
        (
            {"not known": "–", "uncertain": "unsure"}.get(
                lacking, lacking.removesuffix(f" {unit}")
            ),
            f"What all lines that are too short lack together: {lacking}",
        ),
        (usable, why),
        (str(numbers.rank) if numbers.rank else "…", "1 needs least"),
    )


def _usable(numbers: BarsNumbers) -> tuple[str, str]:
    """Whether the bars can be used as everything stands, and why not, the gravest first."""
    wrong = (*(why for _, why in numbers.refused), *numbers.rejected)
    if wrong:
        return "no", "\n".join(wrong)
    if numbers.change or numbers.move:
        return "not yet", f"Not before the lines are seen to: {need_words(numbers)}"
    if numbers.unsure:
        return "unsure", f"Nothing else was found that rules them out: {need_words(numbers)}"
    return "yes", "Nothing was found that rules these bars out"
