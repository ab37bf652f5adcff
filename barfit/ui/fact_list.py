"""Facts in two columns under headings; one that speaks of a pose is a way to it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout, QWidget

from barfit.report.facts import Fact, Section
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, label, prose
from barfit.ui.words import typeset

STRONG = frozenset({"Margin"})
GO = "Click to go to this pose."


class FactList(QWidget):
    """Sections of facts. ``pose_asked`` tells a turn (rad) and a travel (mm, or None)."""

    pose_asked = Signal(float, object)

    def __init__(self) -> None:
        super().__init__()
        self._sections: tuple[Section, ...] = ()
        self._values: dict[str, QLabel | Button] = {}
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(GRID // 2)
        self.hide()

    def show_sections(self, sections: tuple[Section, ...]) -> None:
        """Show these instead; nothing happens where they are the same."""
        if sections == self._sections:
            return
        self._sections = sections
        self._values = {}
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
        column.addWidget(label(section.heading, Type.STRONG))
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
                grid.addWidget(beside, row + 1, 0, 1, 2, Qt.AlignmentFlag.AlignRight)
        column.addLayout(grid)
        for note in section.notes:
            text = prose(Type.SMALL)
            text.setText(typeset(note))
            column.addWidget(text)
        return whole

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
