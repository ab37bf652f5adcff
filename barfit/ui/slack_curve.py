"""The selected line's slack over the turn angle."""

from __future__ import annotations

import math

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor

from barfit.analysis import LineFinding, Sweep
from barfit.session import travel_row
from barfit.ui.theme import Theme, Type, font
from barfit.units import length_in


class SlackCurve(pg.PlotWidget):
    """A plot of slack with the lines it is judged by. ``turned`` rad tells a click."""

    turned = Signal(float)

    def __init__(self, theme: Theme) -> None:
        super().__init__(background=None)
        self._theme = theme
        self.setAccessibleName("Slack over the turn angle")
        self.setMouseEnabled(False, False)
        self.hideButtons()
        self.setMenuEnabled(False)
        self.setFixedHeight(208)
        self.setFrameShape(pg.QtWidgets.QFrame.Shape.NoFrame)
        self.plotItem.setContentsMargins(0, 4, 8, 0)
        self._below = pg.PlotCurveItem()
        self._curve = pg.PlotCurveItem()
        self._zero = _level("tight", 0.06)
        self._least = _level("least to keep", 0.94, anchor=(1, 1))
        self._target = _level("aim for", 0.06, anchor=(0, 1))
        self._cursor = pg.InfiniteLine(angle=90)
        self._dot = pg.ScatterPlotItem(size=9)
        for item in (
            self._below,
            self._zero,
            self._least,
            self._target,
            self._curve,
            self._cursor,
            self._dot,
        ):
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
        for item in (self._curve, self._zero, self._least, self._target, self._dot, self._cursor):
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
        self._least.setValue(least)
        self._target.setValue(target)
        self._curve.setData(self._angles, self._slack, connect="finite")
        known = self._slack[np.isfinite(self._slack)]
        low = min(float(known.min(initial=0.0)), 0.0)
        high = max(float(known.max(initial=target)), target)
        room = 0.1 * (high - low)
        self.setYRange(low - room, high + room, padding=0)
        self.setXRange(self._angles[0], self._angles[-1], padding=0)
        self.getAxis("left").setLabel(f"slack, {unit}")

    def show_turn(self, turn: float) -> None:
        """Put the cursor at a turn, rad."""
        if not len(self._angles):
            return
        degrees = math.degrees(turn)
        self._cursor.setValue(degrees)
        value = float(np.interp(degrees, self._angles, self._slack))
        self._dot.setData([degrees], [value] if math.isfinite(value) else [0.0])
        self._dot.setVisible(math.isfinite(value))

    def _clicked(self, event: object) -> None:
        place = self.plotItem.vb.mapSceneToView(event.scenePos())  # type: ignore[attr-defined]
        if len(self._angles):
            self.turned.emit(math.radians(place.x()))

    def _paint(self) -> None:
        colours = self._theme.colours
        muted = QColor(colours.muted)
        small = font(Type.SMALL)
        for side in ("left", "bottom"):
            axis = self.getAxis(side)
            axis.setPen(pg.mkPen(colours.line))
            axis.setTextPen(pg.mkPen(muted))
            axis.setTickFont(small)
            axis.label.setFont(small)
            axis.setStyle(tickLength=-4)
        self.getAxis("bottom").setLabel("turn, ° (right −, left +)")
        self.getAxis("left").setLabel("slack")
        self._curve.setPen(pg.mkPen(colours.text, width=2))
        self._cursor.setPen(pg.mkPen(colours.accent, width=2))
        self._dot.setBrush(pg.mkBrush(colours.accent))
        self._dot.setPen(pg.mkPen(colours.panel, width=1.5))
        for level, colour, style in (
            (self._zero, colours.bad, Qt.PenStyle.SolidLine),
            (self._least, colours.warn, Qt.PenStyle.DashLine),
            (self._target, colours.muted, Qt.PenStyle.DotLine),
        ):
            level.setPen(pg.mkPen(colour, width=1.2, style=style))
            level.label.setColor(colour)
            level.label.setFont(small)


def _level(word: str, position: float, anchor: tuple[float, float] = (0, 1)) -> pg.InfiniteLine:
    """A horizontal line with a word on it."""
    return pg.InfiniteLine(
        0.0, angle=0, label=word, labelOpts={"position": position, "anchors": [anchor, anchor]}
    )
