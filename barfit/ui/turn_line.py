"""Where the steering stands, from lock to lock: a line with a head that runs along it."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from barfit.report.phrases import turn_words
from barfit.ui.theme import GRID, Theme


class TurnLine(QWidget):
    """Draws a turn between its locks, and the turn at which something is worst."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._locks = (-math.radians(40), math.radians(40))
        self._turn = 0.0
        self._worst: float | None = None
        self._trouble = theme.colours.bad
        theme.changed.connect(self.update)

    def show_locks(self, right: float, left: float) -> None:
        """The turns (rad) of the right lock, below zero, and of the left one."""
        self._locks = (right, left)
        self.update()

    def show_worst(self, turn: float | None, colour: str) -> None:
        """Mark a turn (rad), or none, in the colour of what is wrong there."""
        self._worst, self._trouble = turn, colour
        self.update()

    def show_turn(self, turn: float) -> None:
        """Move the head (rad)."""
        self._turn = turn
        self.setAccessibleName(f"Steering: {self.words}")
        self.update()

    @property
    def words(self) -> str:
        """The turn in words."""
        return turn_words(self._turn)

    def sizeHint(self) -> QSize:
        """As high as its two rows."""
        row = self.fontMetrics().height()
        return QSize(40 * GRID, 2 * row + 3 * GRID)

    def minimumSizeHint(self) -> QSize:
        """Half as wide at least."""
        return QSize(20 * GRID, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """The line, what is worst, the head with its turn over it, the locks under it."""
        colours = self._theme.colours
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        row = self.fontMetrics().height()
        y = row + 1.25 * GRID
        left, right = self._x(self._locks[0]), self._x(self._locks[1])
        painter.setPen(_pen(colours.muted, 2.0))
        painter.drawLine(QPointF(left, y), QPointF(right, y))
        for turn in (self._locks[0], 0.0, self._locks[1]):
            x = self._x(turn)
            painter.drawLine(QPointF(x, y - 5), QPointF(x, y + 5))
        if self._worst is not None:
            painter.setPen(_pen(colours.panel, 2.0))
            painter.setBrush(QColor(self._trouble))
            painter.drawEllipse(QPointF(self._x(self._worst), y), 6.0, 6.0)
        head = self._x(self._turn)
        painter.setPen(_pen(colours.panel, 2.0))
        painter.setBrush(QColor(colours.accent))
        painter.drawRoundedRect(QRectF(head - 4.5, y - 11, 9, 22), 4.5, 4.5)
        painter.setPen(QColor(colours.text))
        self._write(painter, self.words, head, 0.0)
        painter.setPen(QColor(colours.muted))
        painter.setFont(self._small())
        below = y + 1.25 * GRID
        self._write(painter, "right lock", left, below)
        self._write(painter, "left lock", right, below)
        painter.end()

    def _small(self) -> QFont:
        made = QFont(self.font())
        made.setPointSizeF(0.75 * made.pointSizeF())
        made.setWeight(QFont.Weight.Normal)
        return made

    def _x(self, turn: float) -> float:
        right, left = self._locks
        margin = 0.5 * self.fontMetrics().horizontalAdvance("right lock")
        part = (turn - right) / (left - right) if left > right else 0.5
        return margin + part * (self.width() - 2.0 * margin)

    def _write(self, painter: QPainter, text: str, x: float, top: float) -> None:
        """Text round a place along the line, kept inside."""
        metrics = painter.fontMetrics()
        wide = metrics.horizontalAdvance(text) + 2.0
        at = min(max(x - 0.5 * wide, 0.0), self.width() - wide)
        box = QRectF(at, top, wide, metrics.height())
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def _pen(colour: str, width: float) -> QPen:
    pen = QPen(QColor(colour), width)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    return pen
