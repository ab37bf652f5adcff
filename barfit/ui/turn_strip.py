"""The turn strip: every line's slack over the whole turn, and the playhead to move through it.

The horizontal axis is the turn, right lock on the left to left lock on the right. A ribbon is a
line; hatching says that it is tight there, a mark where it is worst.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFontMetricsF,
    QHelpEvent,
    QImage,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from barfit.analysis import Sweep
from barfit.report.sentences import capital, turn_words
from barfit.ui.marks import draw_mark, polygon
from barfit.ui.ribbons import Ribbon, stretches, unknown_stretches
from barfit.ui.theme import GRID, Theme, Type, font
from barfit.units import format_length

STEP = math.radians(1)
EDGE = 3 * GRID  # right of the last degree, room for half a mark and a word
AXIS = 5 * GRID
MARK = 14.0
ROW_LEAST, ROW_MOST = 16.0, 26.0


class TurnStrip(QWidget):
    """Draws ribbons and a playhead. ``turned`` rad tells a scrub, ``picked`` a line's name,
    ``worst_asked`` that a line's worst pose is wanted.
    """

    turned = Signal(float)
    picked = Signal(str)
    worst_asked = Signal(str)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._sweep: Sweep | None = None
        self._rows: tuple[Ribbon, ...] = ()
        self._locks = (-math.radians(40), math.radians(40))
        self._turn = 0.0
        self._selected: str | None = None
        self._unit = "mm"
        self._stale = False
        self._scrubbing = False
        self._wheel = 0
        self.setAccessibleName("Turn strip")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        theme.changed.connect(self.update)

    # what it shows

    def show_locks(self, right: float, left: float) -> None:
        """The ends of the axis, rad; ``right`` is negative."""
        self._locks = (right, left)
        self.update()

    def show_rows(self, sweep: Sweep | None, rows: Sequence[Ribbon]) -> None:
        """Show these ribbons; None and no rows while nothing is known yet."""
        self._sweep, self._rows = sweep, tuple(rows)
        self.setMinimumHeight(int(AXIS + max(len(self._rows), 6) * ROW_LEAST + GRID))
        self.updateGeometry()
        self.update()

    def show_turn(self, turn: float) -> None:
        """Put the playhead at a turn, rad."""
        self._turn = turn
        self.update()

    def show_selected(self, line: str | None) -> None:
        """Show which line is selected."""
        self._selected = line
        self.update()

    def show_unit(self, unit: str) -> None:
        """Lengths in tooltips in this unit."""
        self._unit = unit

    def show_stale(self, stale: bool) -> None:
        """Whether what is shown belongs to the setup before an edit."""
        self._stale = stale
        self.update()

    def sizeHint(self) -> QSize:
        """Enough for the rows at an easy height."""
        return QSize(560, int(AXIS + max(len(self._rows), 6) * 20 + GRID))

    # where things are

    def labels(self) -> float:
        """The width of the column of names: the longest name, but a third of the strip at most."""
        metrics = QFontMetricsF(font(Type.STRONG))
        names = [metrics.horizontalAdvance(capital(row.name)) for row in self._rows]
        return min(max(names, default=0.0) + 4 * GRID, self.width() / 3)

    def plot(self) -> QRectF:
        """The rectangle over which the turn runs."""
        left = self.labels()
        width = max(self.width() - left - EDGE, 1)
        return QRectF(left, AXIS, width, max(self.height() - AXIS - GRID, 1))

    def x_of(self, turn: float) -> float:
        """Where a turn (rad) lies, px."""
        right, left = self._locks
        plot = self.plot()
        return plot.left() + plot.width() * (turn - right) / (left - right)

    def turn_at(self, x: float) -> float:
        """The turn (rad) at a place, no further than the locks."""
        right, left = self._locks
        plot = self.plot()
        turn = right + (left - right) * (x - plot.left()) / plot.width()
        return min(max(turn, right), left)

    def row_box(self, index: int) -> QRectF:
        """The box of a row's ribbon."""
        plot = self.plot()
        height = min(plot.height() / max(len(self._rows), 1), ROW_MOST)
        return QRectF(plot.left(), plot.top() + index * height, plot.width(), height)

    def row_at(self, y: float) -> Ribbon | None:
        """The row under a height, if any."""
        for index, row in enumerate(self._rows):
            box = self.row_box(index)
            if box.top() <= y < box.bottom():
                return row
        return None

    # events

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Pick the row and go there; in the axis, only go there."""
        if event.button() is not Qt.MouseButton.LeftButton:
            return
        at = event.position()
        row = self.row_at(at.y())
        if row is not None:
            self.picked.emit(row.name)
        if at.x() < self.labels():
            return
        if row is not None and abs(at.x() - self.x_of(row.mark_turn)) < MARK / 2:
            self.worst_asked.emit(row.name)
            return
        self._scrubbing = True
        self.turned.emit(self.turn_at(at.x()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Scrub while the button is held."""
        if self._scrubbing:
            self.turned.emit(self.turn_at(event.position().x()))
        over_plot = event.position().x() >= self.labels()
        self.setCursor(
            Qt.CursorShape.SizeHorCursor if over_plot else Qt.CursorShape.PointingHandCursor
        )

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End the scrub."""
        self._scrubbing = False

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """On a name: go to the line's worst pose."""
        row = self.row_at(event.position().y())
        if row is not None and event.position().x() < self.labels():
            self.worst_asked.emit(row.name)
        else:
            self.mousePressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """A notch is a degree, five with shift."""
        delta = event.angleDelta()
        self._wheel += delta.y() or delta.x()
        notches = int(self._wheel / 120)
        self._wheel -= 120 * notches
        if notches:
            five = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            self.turned.emit(self._turn + notches * STEP * (5 if five else 1))
        event.accept()

    def event(self, event: QEvent) -> bool:
        """Tooltips depend on what is under the cursor."""
        if isinstance(event, QHelpEvent):
            row = self.row_at(event.pos().y())
            if row is None:
                QToolTip.hideText()
            else:
                QToolTip.showText(event.globalPos(), self.tip(row, event.pos().x()), self)
            return True
        return super().event(event)

    def tip(self, row: Ribbon, x: float) -> str:
        """What a tooltip says over a row."""
        if x < self.labels() or self._sweep is None:
            return f"{capital(row.name)}: {row.verdict}\nDouble-click goes to its worst pose"
        turn = self.turn_at(x)
        slack = float(np.interp(turn, self._sweep.angles, row.slack))
        where = f"{capital(row.name)}, {turn_words(turn)}"
        if math.isnan(slack):
            return f"{where}: not known"
        if slack < 0:
            return f"{where}: {format_length(-slack, self._unit)} short"
        return f"{where}: {format_length(slack, self._unit)} of slack"

    # drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw axis, ribbons, marks and playhead."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(self._theme.colours.panel))
        for index, row in enumerate(self._rows):
            self._draw_row(painter, self.row_box(index), row)
        self._draw_axis(painter)
        self._draw_playhead(painter)
        painter.end()

    def _draw_row(self, painter: QPainter, box: QRectF, row: Ribbon) -> None:
        assert self._sweep is not None
        colours = self._theme.colours
        selected = row.name == self._selected
        if selected:
            band = QRectF(0, box.top(), self.width(), box.height())
            painter.fillRect(band, QColor(colours.accent_wash))
            painter.fillRect(QRectF(0, box.top(), 3, box.height()), QColor(colours.accent))
        painter.setFont(font(Type.STRONG if selected else Type.BODY))
        painter.setPen(QColor(colours.text))
        metrics = QFontMetricsF(painter.font())
        room = box.left() - 3.5 * GRID
        name = metrics.elidedText(capital(row.name), Qt.TextElideMode.ElideRight, room)
        label = QRectF(2 * GRID, box.top(), room, box.height())
        painter.drawText(label, Qt.AlignmentFlag.AlignVCenter, name)

        painter.setOpacity(0.35 if self._stale else 1.0)
        ribbon = box.adjusted(0, 2, 0, -2)
        painter.drawImage(ribbon, self._image(row, ribbon.width()))
        ink = QColor(0, 0, 0, 120)
        for start, end in stretches(self._sweep.angles, row.slack):
            self._hatch(painter, ribbon, start, end, QBrush(ink, Qt.BrushStyle.BDiagPattern))
        unknown = QBrush(QColor(colours.unknown), Qt.BrushStyle.DiagCrossPattern)
        for start, end in unknown_stretches(self._sweep, row.slack):
            place = QRectF(self.x_of(start), ribbon.top(), 0, ribbon.height())
            place.setRight(self.x_of(end))
            painter.fillRect(place, QColor(colours.ground))
            painter.fillRect(place, unknown)
        self._draw_worst(painter, ribbon, row)
        painter.setOpacity(1.0)

    def _hatch(
        self, painter: QPainter, ribbon: QRectF, start: float, end: float, brush: QBrush
    ) -> None:
        place = QRectF(self.x_of(start), ribbon.top(), 0, ribbon.height())
        place.setRight(self.x_of(end))
        painter.fillRect(place, brush)

    def _draw_worst(self, painter: QPainter, ribbon: QRectF, row: Ribbon) -> None:
        """A verdict's mark on a disc of panel colour, hollow for another suspension position."""
        if math.isnan(row.mark_turn):
            return
        colours = self._theme.colours
        size = min(MARK, ribbon.height() + 2)
        half = size / 2
        x = self.x_of(row.mark_turn)
        box = QRectF(x - half, ribbon.center().y() - half, size, size)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colours.raised))
        painter.drawEllipse(box.adjusted(-1.5, -1.5, 1.5, 1.5))
        if not row.mark_here:
            painter.setOpacity(painter.opacity() * 0.5)
        draw_mark(
            painter,
            row.verdict,
            box,
            QColor(colours.verdict(row.verdict)),
            QColor(colours.raised),
        )

    def _image(self, row: Ribbon, width: float) -> QImage:
        """One pixel row of a ribbon's colours, one per device pixel."""
        assert self._sweep is not None
        count = max(int(width * self.devicePixelRatioF()), 2)
        turns = np.linspace(*self._locks, count)
        pixels = np.full((1, count, 4), 255, dtype=np.uint8)
        for channel in range(3):
            pixels[0, :, channel] = np.interp(
                turns, self._sweep.angles, row.colours[:, channel]
            ).round()
        image = QImage(pixels.tobytes(), count, 1, 4 * count, QImage.Format.Format_RGBA8888)
        return image.copy()  # the bytes do not outlive this call

    def _draw_axis(self, painter: QPainter) -> None:
        colours = self._theme.colours
        plot = self.plot()
        base = AXIS - 4
        painter.setPen(QPen(QColor(colours.line), 1))
        painter.drawLine(QPointF(plot.left(), base), QPointF(plot.right(), base))
        painter.setFont(font(Type.SMALL))
        metrics = QFontMetricsF(painter.font())
        right, left = self._locks
        step = 10 if (left - right) > math.radians(40) else 5
        for degrees in range(-90, 91, step):
            turn = math.radians(degrees)
            if not right - 1e-9 <= turn <= left + 1e-9:
                continue
            x = self.x_of(turn)
            painter.setPen(QPen(QColor(colours.muted), 1))
            painter.drawLine(QPointF(x, base), QPointF(x, base - 4))
            text = f"{abs(degrees)}°"
            room = metrics.horizontalAdvance(text) + 8
            painter.drawText(
                QRectF(x - room / 2, base - 4 - metrics.height(), room, metrics.height()),
                Qt.AlignmentFlag.AlignCenter,
                text,
            )
        painter.setPen(QColor(colours.muted))
        top = QRectF(plot.left(), 1, plot.width(), metrics.height())
        painter.drawText(top, Qt.AlignmentFlag.AlignLeft, "right lock")
        painter.drawText(top, Qt.AlignmentFlag.AlignRight, "left lock")
        zero = QPen(QColor(colours.muted), 1, Qt.PenStyle.DotLine)
        painter.setPen(zero)
        rows = self.row_box(max(len(self._rows) - 1, 0)).bottom()
        painter.drawLine(QPointF(self.x_of(0), AXIS), QPointF(self.x_of(0), rows))

    def _draw_playhead(self, painter: QPainter) -> None:
        colours = self._theme.colours
        plot = self.plot()
        x = self.x_of(self._turn)
        bottom = self.row_box(max(len(self._rows) - 1, 0)).bottom() + 2
        painter.setPen(QPen(QColor(colours.panel), 4))
        painter.drawLine(QPointF(x, AXIS - 3), QPointF(x, bottom))
        painter.setPen(QPen(QColor(colours.accent), 2))
        painter.drawLine(QPointF(x, AXIS - 6), QPointF(x, bottom))
        painter.setFont(font(Type.STRONG))
        metrics = QFontMetricsF(painter.font())
        text = turn_words(self._turn)
        width = metrics.horizontalAdvance(text) + 2 * GRID
        height = metrics.height() + 4
        left = min(max(x - width / 2, plot.left() - GRID), self.width() - width - 2)
        pill = QRectF(left, 1, width, height)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colours.panel))
        painter.drawRect(pill.adjusted(-4, -1, 4, AXIS - 6 - height))
        painter.setBrush(QColor(colours.accent))
        painter.drawRoundedRect(pill, 5, 5)
        painter.drawPolygon(polygon((x - 5, AXIS - 9), (x + 5, AXIS - 9), (x, AXIS - 2)))
        painter.setPen(QColor(colours.on_accent))
        painter.drawText(pill, Qt.AlignmentFlag.AlignCenter, text)
        if self.hasFocus():
            painter.setPen(QPen(QColor(colours.accent), 1, Qt.PenStyle.DotLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
