"""A margin with how far it may be off, drawn on a scale that all means of a line share."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from barfit.analysis import Verdict
from barfit.trade import Grade
from barfit.ui.theme import GRID, Theme

WIDTH = 26 * GRID
HEIGHT = 3 * GRID
BAND = 8.0  # px, how thick it is


class MarginBar(QWidget):
    """The margin as a dot, its two standard deviations as a band, nothing to spare as a line
    between lacking on the left and margin on the right.
    """

    def __init__(
        self, theme: Theme, margin: float, sigma: float, scale: float, mark: Verdict | Grade
    ) -> None:
        """``margin`` and ``sigma`` mm, either nan where not known; ``scale`` mm from the middle to
        either end.
        """
        super().__init__()
        self._theme, self._mark = theme, mark
        self._margin, self._sigma, self._scale = margin, sigma, scale
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """Always the same: the scales of all of them stand under each other."""
        return QSize(WIDTH, HEIGHT)

    def _x(self, mm: float) -> float:
        half = 0.5 * self.width() - BAND
        part = max(-1.0, min(1.0, mm / self._scale))
        return 0.5 * self.width() + half * part

    def paintEvent(self, event: QPaintEvent) -> None:
        """The scale, the band, the dot."""
        colours, mark = self._theme.colours, self._mark
        shade = colours.verdict(mark) if isinstance(mark, Verdict) else colours.grade(mark)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = 0.5 * self.height()
        painter.setPen(QPen(QColor(colours.line), 1.0))
        painter.drawLine(QPointF(0.0, middle), QPointF(self.width(), middle))
        if math.isfinite(self._margin):
            if math.isfinite(self._sigma):
                ends = [self._x(self._margin + way * self._sigma) for way in (-2.0, 2.0)]
                band = QColor(shade)
                band.setAlphaF(0.35)
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(band)
                box = QRectF(ends[0], middle - 0.5 * BAND, ends[1] - ends[0], BAND)
                painter.drawRoundedRect(box, 0.5 * BAND, 0.5 * BAND)
            painter.setPen(QPen(QColor(colours.raised), 1.0))
            painter.setBrush(QColor(shade))
            painter.drawEllipse(QPointF(self._x(self._margin), middle), 4.5, 4.5)
        painter.setPen(QPen(QColor(colours.text), 1.5))
        painter.drawLine(QPointF(self._x(0.0), 2.0), QPointF(self._x(0.0), self.height() - 2.0))
        painter.end()


def scale_of(margins: list[tuple[float, float]]) -> float:
    """A scale (mm) on which all these margins with their deviations have room."""
    ends = [
        abs(margin) + (2.0 * sigma if math.isfinite(sigma) else 0.0)
        for margin, sigma in margins
        if math.isfinite(margin)
    ]
    return max([*ends, 20.0])
