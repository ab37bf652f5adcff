"""Facts in two columns under headings; one that speaks of a pose is a way to it.

Where it is told which sections are open, a heading opens and shuts its own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from barfit.report.facts import Fact, Section
from barfit.trade import Grade
from barfit.ui.folds import Folds
from barfit.ui.theme import GRID, Type, font
from barfit.ui.widgets import Button, label, prose
from barfit.ui.words import typeset

STRONG = frozenset({"Margin"})
GO = "Click to go to this pose."


class FoldHead(Button):
    """A heading that opens and shuts what is under it; shut, it says how that stands."""

    def __init__(self, section: Section, is_open: bool) -> None:
        super().__init__()
        self.setProperty("role", "fold")
        self.setFont(font(Type.STRONG))
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._heading, self._stands = section.heading, grades_words(section.grades)
        self._words = label(step=Type.SMALL, muted=True)
        self._words.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 2 * GRID, 0)
        row.addStretch(1)
        row.addWidget(self._words)
        self.setText(section.heading)
        self.toggled.connect(self._show)
        self.setChecked(is_open)
        self._show(is_open)

    @property
    def words(self) -> str:
        """What stands beside the heading."""
        return self._words.text()

    def _show(self, is_open: bool) -> None:
        self._words.setText("" if is_open else self._stands)
        self.setAccessibleName(f"{self._heading}, {'open' if is_open else f'shut: {self._stands}'}")
        self.setToolTip("Shut" if is_open else "Open")

    def paintEvent(self, event: QPaintEvent) -> None:
        """The heading, and an arrow that points down where it is open."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen = QPen(self.palette().placeholderText().color(), 1.6)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        painter.translate(self.width() - 0.75 * GRID, 0.5 * self.height())
        if not self.isChecked():
            painter.rotate(-90)
        painter.drawPolyline([QPointF(-4, -2), QPointF(0, 2), QPointF(4, -2)])
        painter.end()


def grades_words(grades: Sequence[Grade]) -> str:
    """How figures stand, in a word or two."""
    rejected, cautions = grades.count(Grade.REJECT), grades.count(Grade.CAUTION)
    told = [f"{rejected} not acceptable"] if rejected else []
    if cautions:
        told.append(f"{cautions} caution{'s' if cautions > 1 else ''}")
    if not told and Grade.FINE in grades:
        told = ["some not known" if Grade.NOT_KNOWN in grades else "fine"]
    return ", ".join(told)


class FactList(QWidget):
    """Sections of facts. ``pose_asked`` tells a turn (rad) and a travel (mm, or None)."""

    pose_asked = Signal(float, object)

    def __init__(self, folds: Folds | None = None) -> None:
        super().__init__()
        self._folds = folds
        self._sections: tuple[Section, ...] = ()
        self._values: dict[str, QLabel | Button] = {}
        self._heads: dict[str, FoldHead] = {}
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(GRID // 2)
        self.hide()

    def show_sections(self, sections: tuple[Section, ...]) -> None:
        """Show these instead; nothing happens where they are the same."""
        if sections == self._sections:
            return
        self._sections = sections
        self._values, self._heads = {}, {}
        while item := self._column.takeAt(0):
            if widget := item.widget():
                widget.hide()
                widget.deleteLater()
        for section in sections:
            self._column.addWidget(self._section(section))
        self.setVisible(bool(sections))

    def show_value(self, term: str, value: str) -> None:
        """Another value beside a term, if it is listed."""
        if term in self._values:
            self._values[term].setText(value)

    def text(self, term: str) -> str | None:
        """The value beside a term; None where it is not listed."""
        return self._values[term].text() if term in self._values else None

    def value(self, term: str) -> QLabel | Button:
        """The widget that shows a value. Raises KeyError."""
        return self._values[term]

    def head(self, heading: str) -> FoldHead:
        """The heading that opens and shuts a section. Raises KeyError."""
        return self._heads[heading]

    @property
    def words(self) -> list[str]:
        """All that is written, from top to bottom."""
        texts = []
        for section in self._sections:
            texts.append(section.heading)
            texts += [text for fact in section.facts for text in (fact.term, self._shown(fact))]
            texts += section.notes
        return texts

    def _shown(self, fact: Fact) -> str:
        value = self.text(fact.term) or fact.value
        return f"{value} ({fact.beside})" if fact.beside else value

    def _section(self, section: Section) -> QWidget:
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 0, 0, GRID)
        column.setSpacing(GRID // 2)
        body = QWidget()
        column.addWidget(self._head(section, body))
        column.addWidget(body)
        inner = QVBoxLayout(body)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(GRID // 2)
        grid = QGridLayout()
        grid.setHorizontalSpacing(GRID)
        grid.setVerticalSpacing(2)
        grid.setColumnStretch(0, 1)
        for row, fact in zip(range(0, 2 * len(section.facts), 2), section.facts, strict=True):
            term = prose(muted=True)
            term.setText(fact.term)
            term.setToolTip(fact.tip)
            value = self._value(fact)
            grid.addWidget(term, row, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(value, row, 1, Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignRight)
            self._values.setdefault(fact.term, value)
            if fact.beside:
                beside = label(fact.beside, Type.SMALL, muted=True)
                beside.setContentsMargins(0, 0, 0, GRID // 2)  # it belongs to what is above
                grid.addWidget(beside, row + 1, 0, 1, 2, Qt.AlignmentFlag.AlignRight)
        inner.addLayout(grid)
        for note in section.notes:
            text = prose(Type.SMALL)
            text.setText(typeset(note))
            inner.addWidget(text)
        return whole

    def _head(self, section: Section, body: QWidget) -> QWidget:
        """The heading; where sections fold, with a button to do so."""
        if self._folds is None:
            return label(section.heading, Type.STRONG)
        folds, head = self._folds, FoldHead(section, self._folds.is_open(section))
        self._heads[section.heading] = head
        body.setVisible(head.isChecked())

        def fold(is_open: bool) -> None:
            folds.choose(section, is_open)
            body.setVisible(is_open)

        head.toggled.connect(fold)
        return head

    def _value(self, fact: Fact) -> QLabel | Button:
        if fact.turn is None:
            value = label(fact.value, Type.STRONG if fact.term in STRONG else Type.BODY)
            value.setToolTip(fact.tip)
            value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            value.setProperty("grade", fact.grade)
            return value
        button = Button(fact.value)
        button.setProperty("role", "fact")
        button.setProperty("grade", fact.grade)
        button.setCursor(Qt.CursorShape.PointingHandCursor)
        button.setToolTip("\n".join(filter(None, (fact.tip, GO))))
        button.setAccessibleName(f"{fact.term}: {fact.value}")
        button.clicked.connect(self._goer(fact.turn, fact.travel))
        return button

    def _goer(self, turn: float, travel: float | None) -> Callable[[], None]:
        return lambda: self.pose_asked.emit(turn, travel)
