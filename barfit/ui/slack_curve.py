"""The selected line's slack over the turn angle, and the key to the levels it is judged by."""

from __future__ import annotations

import math

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QLineF, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from barfit.analysis import LineFinding, Sweep
from barfit.session import travel_row
from barfit.ui.theme import GRID, Colours, Theme, Type, font
from barfit.ui.words import length_text
from barfit.units import length_in

SAMPLE = 2 * GRID  # px of line drawn before its word in the key


def level_pens(colours: Colours) -> tuple[QPen, QPen, QPen]:
    """How nothing to spare, the least to keep and the slack to aim for are drawn."""
    tight = pg.mkPen(colours.bad, width=1.5)
    least = pg.mkPen(colours.warn, width=1.5, style=Qt.PenStyle.DashLine)
    target = pg.mkPen(colours.muted, width=1.5, style=Qt.PenStyle.DotLine)
    return tight, least, target


class CurveKey(QWidget):
    """A sample of each level's line with its word."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._words: tuple[str, ...] = ("tight",)
        self.setFixedHeight(2 * GRID)
        theme.changed.connect(self.update)

    def show_levels(self, least: float, target: float, unit: str) -> None:
        """The least to keep and the slack to aim for, mm."""
        self._words = (
            "tight",
            f"keep {length_text(least, unit, with_unit=False)}",
            f"aim for {length_text(target, unit, with_unit=False)}",
        )
        self.setAccessibleName(", ".join(self._words))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the samples in a row."""
        painter = QPainter(self)
        painter.setFont(font(Type.SMALL))
        metrics = QFontMetricsF(painter.font())
        middle = self.height() / 2
        x = 0.0
        for word, pen in zip(self._words, level_pens(self._theme.colours), strict=False):
            painter.setPen(pen)
            painter.drawLine(QLineF(x, middle, x + SAMPLE, middle))
            x += SAMPLE + GRID / 2
            painter.setPen(QColor(self._theme.colours.muted))
            painter.drawText(
                round(x), round(middle + (metrics.ascent() - metrics.descent()) / 2), word
            )
            x += metrics.horizontalAdvance(word) + 1.5 * GRID
        painter.end()


class SlackAxis(pg.AxisItem):
    """Numbers with a true minus sign, as everywhere else in the window."""

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        """The words of ticks."""
        return [text.replace("-", "\u2212") for text in super().tickStrings(values, scale, spacing)]


class SlackCurve(pg.PlotWidget):
    """A plot of slack with the levels it is judged by. ``turned`` rad tells a click."""

    turned = Signal(float)

    def __init__(self, theme: Theme) -> None:
        super().__init__(background=None, axisItems={"left": SlackAxis("left")})
        self._theme = theme
        self.setAccessibleName("Slack over the turn angle")
        self.setMouseEnabled(False, False)
        self.hideButtons()
        self.setMenuEnabled(False)
        self.setFixedHeight(18 * GRID)
        self.setFrameShape(self.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.plotItem.setContentsMargins(0, GRID, GRID // 2, 0)  # room for half a tick's word
        self._curve = pg.PlotCurveItem(antialias=True)
        self._levels = [pg.InfiniteLine(0.0, angle=0) for _ in range(3)]
        self._cursor = pg.InfiniteLine(angle=90)
        self._dot = pg.ScatterPlotItem(size=9, antialias=True)
        for item in (*self._levels, self._curve, self._cursor, self._dot):
            self.addItem(item, ignoreBounds=True)
        self._angles = np.zeros(0)
        self._slack = np.zeros(0)
        self.scene().sigMouseClicked.connect(self._clicked)
        theme.changed.connect(self._paint)
        self._paint()

    def show_line(
        self, sweep: Sweep | None, finding: LineFinding | None, travel: float, unit: str
    ) -> None:
        """Show a line at the suspension position nearest to ``travel`` (mm); None empties it."""
        for item in (*self._levels, self._curve, self._cursor, self._dot):
            item.setVisible(finding is not None)
        if sweep is None or finding is None:
            self._angles = self._slack = np.zeros(0)
            return
        line = sweep.line(finding.line)
        row = travel_row(line, travel)
        slack = np.where(line.converged[row], line.slack[row], np.nan)
        self._angles = np.degrees(sweep.angles)
        self._slack = slack * length_in(1.0, unit)
        least, target = length_in(finding.least, unit), length_in(finding.target, unit)
        for item, level in zip(self._levels, (0.0, least, target), strict=True):
            item.setValue(level)
        self._curve.setData(self._angles, self._slack, connect="finite")
        known = self._slack[np.isfinite(self._slack)]
        low = min(float(known.min(initial=0.0)), 0.0)
        high = max(float(known.max(initial=target)), target)
        room = 0.08 * (high - low)
        self.setYRange(low - room, high + room, padding=0)
        self.setXRange(self._angles[0], self._angles[-1], padding=0.02)
        self.getAxis("bottom").setTicks([_turn_ticks(self._angles[0], self._angles[-1])])

    def show_turn(self, turn: float) -> None:
        """Put the cursor at a turn, rad."""
        if not len(self._angles):
            return
        degrees = math.degrees(turn)
        self._cursor.setValue(degrees)
        value = float(np.interp(degrees, self._angles, self._slack))
        self._dot.setVisible(math.isfinite(value))
        if math.isfinite(value):
            self._dot.setData([degrees], [value])

    def _clicked(self, event: object) -> None:
        place = self.plotItem.vb.mapSceneToView(event.scenePos())  # type: ignore[attr-defined]
        if len(self._angles):
            self.turned.emit(math.radians(place.x()))

    def _paint(self) -> None:
        colours = self._theme.colours
        self.setBackground(colours.panel)  # a transparent one kept the ground of the theme before
        for side in ("left", "bottom"):
            axis = self.getAxis(side)
            axis.setPen(pg.mkPen(colours.line))
            axis.setTextPen(pg.mkPen(colours.muted))
            axis.setTickFont(font(Type.SMALL))
            axis.setStyle(tickLength=-4)
        self._curve.setPen(pg.mkPen(colours.text, width=2))
        self._cursor.setPen(pg.mkPen(colours.accent, width=2))
        self._dot.setBrush(pg.mkBrush(colours.accent))
        self._dot.setPen(pg.mkPen(colours.panel, width=1.5))
        for level, pen in zip(self._levels, level_pens(colours), strict=True):
            level.setPen(pen)


def _turn_ticks(right: float, left: float) -> list[tuple[float, str]]:
    """Ticks every 20° (10° for small locks), with the side at the outermost."""
    step = 20 if left - right > 50 else 10
    last = int((min(-right, left) - 8) // step) * step  # words at the very ends would be cut
    ticks = [(float(at), f"{abs(at)}°") for at in range(-last, last + 1, step)]
    if last:
        ticks[0] = (ticks[0][0], f"{last}° right")
        ticks[-1] = (ticks[-1][0], f"{last}° left")
    return ticks
