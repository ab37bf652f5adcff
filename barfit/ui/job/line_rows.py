"""The lines that do not fit, under each other, each with what is done about it."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from barfit.analysis import LineFinding
from barfit.remedies import Remedies, Remedy
from barfit.report.phrases import capital
from barfit.report.remedy_labels import label as done_label
from barfit.report.remedy_standing import standing
from barfit.ui.job.whole import Whole
from barfit.ui.mark_label import MarkLabel
from barfit.ui.theme import GRID, Theme, Type
from barfit.ui.widgets import Button, label, prose, scrolled_side
from barfit.ui.words import typeset

WIDTH = 36 * GRID
SOUGHT = "Being looked at …"
NOTHING = "Nothing found that is enough"


class LineButton(Button):
    """One line: its name, and under it what is done about it."""

    taken = frozenset({Qt.Key.Key_Space, Qt.Key.Key_Up, Qt.Key.Key_Down})

    def __init__(self, theme: Theme, line: str) -> None:
        super().__init__()
        self.line = line
        self.setProperty("role", "row")
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._mark = MarkLabel(theme)
        self._done = prose(Type.SMALL, muted=True)
        self._done.setTextInteractionFlags(Qt.TextInteractionFlag.NoTextInteraction)
        name: QLabel = label(capital(line), Type.STRONG)
        name.setWordWrap(True)
        texts = QVBoxLayout()
        texts.setSpacing(2)
        texts.addWidget(name)
        texts.addWidget(self._done)
        row = QHBoxLayout(self)
        row.setContentsMargins(GRID, GRID // 2 + 2, GRID, GRID // 2 + 2)
        row.setSpacing(GRID)
        row.addWidget(self._mark, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(texts, 1)
        for part in (self._mark, name, self._done):
            part.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        for words in (name, self._done):  # or they would be as wide as they please
            words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def show_done(self, finding: LineFinding, remedy: Remedy | None, sought: bool, u: str) -> None:
        """What is done about it, or that nothing is, or that it is still looked at."""
        if sought:
            told = SOUGHT
            self._mark.show_mark(finding.verdict)
        elif remedy is None:
            told = NOTHING
            self._mark.show_mark(finding.verdict)
        else:
            stands = standing(remedy)
            told = f"{done_label(remedy, u)}. {stands.words}"
            self._mark.show_mark(stands.mark)
        self._done.setText(typeset(told))
        self.setAccessibleName(f"{self.line}: {told}")
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        """As high as its words."""
        inner = self.layout()
        assert inner is not None
        width = self.width() if self.width() > GRID * 12 else WIDTH - 4 * GRID
        return QSize(
            width, max(inner.totalHeightForWidth(width), inner.totalMinimumSize().height())
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Words break elsewhere."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.updateGeometry()

    def minimumSizeHint(self) -> QSize:
        """As high as its words."""
        return QSize(0, self.sizeHint().height())


class LineRows(QScrollArea):
    """``picked`` tells the line that is looked at now."""

    picked = Signal(str)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        side = scrolled_side(self)
        self.setFixedWidth(WIDTH)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # its lines take the keys
        self.setAccessibleName("Lines that do not fit")
        self._column = QVBoxLayout(side)
        self._column.setContentsMargins(2 * GRID, 2 * GRID, GRID, 2 * GRID)
        self._column.setSpacing(GRID // 2)
        self._group = QButtonGroup(self)
        self.buttons: dict[str, LineButton] = {}
        self._line: str | None = None

    @property
    def line(self) -> str | None:
        """The line that is looked at; None where every line may stay."""
        return self._line

    def show_lines(self, whole: Whole, unit: str) -> None:
        """Every line that does not fit."""
        about: dict[str, Remedies] = {one.line: one for one in whole.remedies if one.ranked}
        misfits = [one for one in whole.findings if one.line in about or one.line in whole.sought]
        names = [one.line for one in misfits]
        if names != [*self.buttons]:
            self._lay_out(names)
        for one in misfits:
            self.buttons[one.line].show_done(
                one, whole.taken.get(one.line), one.line in whole.sought, unit
            )
        self.setVisible(bool(names))

    def pick(self, name: str | None) -> None:
        """Look at that line; nothing where it is none of these."""
        if name in self.buttons and name != self._line:
            self.buttons[name].setChecked(True)
            self._line = name
            self.picked.emit(name)

    def _lay_out(self, names: list[str]) -> None:
        held = next((one.line for one in self.buttons.values() if one.hasFocus()), None)
        while item := self._column.takeAt(0):
            widget: QWidget | None = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self.buttons = {name: LineButton(self._theme, name) for name in names}
        for name, button in self.buttons.items():
            button.clicked.connect(lambda _=False, name=name: self._click(name))
            self._group.addButton(button)
            self._column.addWidget(button)
        self._column.addStretch(1)
        if self._line not in self.buttons:
            self._line = next(iter(names), None)
        if self._line is not None:
            self.buttons[self._line].setChecked(True)
        if held in self.buttons:
            self.buttons[held].show()
            self.buttons[held].setFocus()

    def _click(self, name: str) -> None:
        if name != self._line:
            self._line = name
            self.picked.emit(name)
