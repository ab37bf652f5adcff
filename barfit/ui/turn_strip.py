"""The turn strip: every line's slack over the whole turn, and the playhead to move through it.

The horizontal axis is the turn, right lock on the left to left lock on the right. A ribbon is a
line; hatching says that it is tight there, a mark where it is worst.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QHelpEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from barfit.analysis import Sweep
from barfit.report.phrases import capital, turn_words
from barfit.ui.ribbons import Ribbon
from barfit.ui.strip_frame import (
    MARK,
    StripFrame,
    axis_height,
    height_for,
    row_least,
    row_usual,
)
from barfit.ui.strip_paint import STALE, draw_axis, draw_playhead, draw_row, draw_stop
from barfit.ui.theme import GRID, Theme, Type, font
from barfit.ui.words import length_text

STEP = math.radians(1)


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
        self._stops: tuple[float, ...] = ()
        self._stop_words = ""
        self._stale = False
        self._scrubbing = False
        self._wheel = 0
        self._frame: StripFrame | None = None  # made anew on use after any change
        self._picture: QPixmap | None = None  # all but the playhead, which alone moves in play
        self.setAccessibleName("Turn strip")
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        theme.changed.connect(self._changed)

    # what it shows

    def show_locks(self, right: float, left: float) -> None:
        """The ends of the axis, rad; ``right`` is negative."""
        self._locks = (right, left)
        self._changed()

    def show_stops(self, turns: Sequence[float], words: str) -> None:
        """Mark where lines stop the steering (turns in rad); ``words`` say so in a tooltip."""
        self._stops, self._stop_words = tuple(turns), words
        self._changed()

    def show_rows(self, sweep: Sweep | None, rows: Sequence[Ribbon]) -> None:
        """Show these ribbons; None and no rows while nothing is known yet."""
        self._sweep, self._rows = sweep, tuple(rows)
        self.setMinimumHeight(height_for(len(self._rows), row_least()))
        self.updateGeometry()
        self._changed()

    def show_turn(self, turn: float) -> None:
        """Put the playhead at a turn, rad."""
        self._turn = turn
        self.update()

    def show_selected(self, line: str | None) -> None:
        """Show which line is selected."""
        self._selected = line
        self._changed()

    def show_unit(self, unit: str) -> None:
        """Lengths in tooltips in this unit."""
        self._unit = unit

    def show_stale(self, stale: bool) -> None:
        """Whether what is shown belongs to the setup before an edit."""
        self._stale = stale
        self._changed()

    def sizeHint(self) -> QSize:
        """Enough for the rows at an easy height."""
        return QSize(560, height_for(len(self._rows), row_usual()))

    @property
    def rows(self) -> tuple[Ribbon, ...]:
        """What is shown."""
        return self._rows

    @property
    def frame(self) -> StripFrame:
        """Where things lie now."""
        if self._frame is None:
            self._frame = StripFrame(
                self.width(),
                self.height(),
                self._labels(),
                self._locks,
                len(self._rows),
                axis_height(),
            )
        return self._frame

    def _labels(self) -> float:
        """The column of names: as wide as the longest, but not the most of the strip."""
        metrics = QFontMetricsF(font(Type.STRONG))
        names = [metrics.horizontalAdvance(row.label) for row in self._rows]
        return min(max(names, default=0.0) + 4 * GRID, 0.38 * self.width())

    def _changed(self) -> None:
        self._frame = self._picture = None
        self.update()

    # events

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Everything lies elsewhere."""
        self._changed()

    def _row_at(self, y: float) -> Ribbon | None:
        at = self.frame.row_at(y)
        return None if at is None else self._rows[at]

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Pick the row and go there; in the axis, only go there."""
        if event.button() is not Qt.MouseButton.LeftButton:
            return
        at = event.position()
        row = self._row_at(at.y())
        if row is not None:
            self.picked.emit(row.name)
        if at.x() < self.frame.labels:
            return
        if row is not None and abs(at.x() - self.frame.mark_x(row.mark_turn)) < MARK / 2:
            self._go_to_worst(row)
            return
        self._scrubbing = True
        self.turned.emit(self.frame.turn_at(at.x()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Scrub while the button is held."""
        if self._scrubbing:
            self.turned.emit(self.frame.turn_at(event.position().x()))
        over_plot = event.position().x() >= self.frame.labels
        self.setCursor(
            Qt.CursorShape.SizeHorCursor if over_plot else Qt.CursorShape.PointingHandCursor
        )

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End the scrub."""
        self._scrubbing = False

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """On a name: go to the line's worst pose."""
        row = self._row_at(event.position().y())
        if row is not None and event.position().x() < self.frame.labels:
            self._go_to_worst(row)
        else:
            self.mousePressEvent(event)

    def _go_to_worst(self, row: Ribbon) -> None:
        """To the line's worst pose; that of another way for it to go is a turn alone."""
        if not row.way:
            self.worst_asked.emit(row.name)
        elif not math.isnan(row.mark_turn):
            self.turned.emit(row.mark_turn)

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
            row = self._row_at(event.pos().y())
            if row is None and self._stops and event.pos().y() < self.frame.axis:
                QToolTip.showText(event.globalPos(), self._stop_words, self)
            elif row is None:
                QToolTip.hideText()
            else:
                QToolTip.showText(event.globalPos(), self.tip(row, event.pos().x()), self)
            return True
        return super().event(event)

    def tip(self, row: Ribbon, x: float) -> str:
        """What a tooltip says over a row."""
        if x < self.frame.labels or self._sweep is None:
            return f"{_named(row)}: {row.verdict_words}\nDouble-click goes to its worst pose"
        turn = self.frame.turn_at(x)
        slack = float(np.interp(turn, self._sweep.angles, row.slack))
        where = f"{_named(row)}, {turn_words(turn)}"
        if math.isnan(slack):
            return f"{where}: not known"
        return f"{where}: slack {length_text(slack, self._unit)}"

    def paintEvent(self, event: QPaintEvent) -> None:
        """The picture of the rows, with the playhead over it."""
        if self._picture is None:
            self._picture = self._draw_picture()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.drawPixmap(0, 0, self._picture)
        draw_playhead(painter, self.frame, self._theme.colours, self._turn)
        if self.hasFocus():
            painter.setPen(QPen(QColor(self._theme.colours.accent), 1, Qt.PenStyle.DotLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()

    def _draw_picture(self) -> QPixmap:
        ratio = self.devicePixelRatioF()
        picture = QPixmap(round(self.width() * ratio), round(self.height() * ratio))
        picture.setDevicePixelRatio(ratio)
        colours = self._theme.colours
        picture.fill(QColor(colours.panel))
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._sweep is not None:
            for index, row in enumerate(self._rows):
                draw_row(
                    painter,
                    self.frame,
                    colours,
                    index,
                    row,
                    self._sweep,
                    selected=row.name == self._selected,
                    stale=self._stale,
                )
        draw_axis(painter, self.frame, colours)
        painter.setOpacity(STALE if self._stale else 1.0)
        for turn in self._stops:
            draw_stop(painter, self.frame, colours, turn)
        painter.end()
        return picture


def _named(row: Ribbon) -> str:
    """A row's line, and the way it goes where that is another than now."""
    return f"{capital(row.name)}, {row.way}" if row.way else capital(row.name)
