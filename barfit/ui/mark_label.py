"""The mark of a verdict or of a grade, alone."""

from __future__ import annotations

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from barfit.analysis import Verdict
from barfit.trade import Grade
from barfit.ui.marks import draw_grade, draw_mark
from barfit.ui.theme import GRID, Theme


class MarkLabel(QWidget):
    """Shows one mark, or none."""

    def __init__(self, theme: Theme, size: int = 2 * GRID + 2) -> None:
        super().__init__()
        self._theme = theme
        self._shown: Verdict | Grade | None = None
        self.setFixedSize(size, size)
        theme.changed.connect(self.update)

    def show_mark(self, shown: Verdict | Grade | None) -> None:
        """Draw this one's mark, or none."""
        self._shown = shown
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the mark."""
        if self._shown is None:
            return
        colours = self._theme.colours
        painter = QPainter(self)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        ground = QColor(colours.panel)
        if isinstance(self._shown, Verdict):
            colour = QColor(colours.verdict(self._shown))
            draw_mark(painter, self._shown, box, colour, ground)
        else:
            draw_grade(painter, self._shown, box, QColor(colours.grade(self._shown)), ground)
        painter.end()
