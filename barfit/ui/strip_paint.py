"""Drawing the turn strip: rows, axis and playhead, each into a given frame."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QImage, QPainter, QPen

from barfit.analysis import Sweep
from barfit.report.phrases import turn_words
from barfit.ui.marks import draw_mark, polygon
from barfit.ui.ribbons import Ribbon, stretches, unknown_stretches
from barfit.ui.strip_frame import MARK, StripFrame
from barfit.ui.theme import GRID, Colours, Type, font

STALE = 0.35  # opacity of what belongs to the setup before an edit
INK = QColor(0, 0, 0, 120)


def draw_row(
    painter: QPainter,
    frame: StripFrame,
    colours: Colours,
    index: int,
    row: Ribbon,
    sweep: Sweep,
    *,
    selected: bool,
    stale: bool,
) -> None:
    """One line: its name, its ribbon, hatching where it is tight and its worst pose."""
    box = frame.row_box(index)
    if selected:
        band = QRectF(0, box.top(), frame.width, box.height())
        painter.fillRect(band, QColor(colours.accent_wash))
        painter.fillRect(QRectF(0, box.top(), 3, box.height()), QColor(colours.accent))
    painter.setFont(font(Type.STRONG if selected else Type.BODY))
    painter.setPen(QColor(colours.text))
    room = frame.labels - 3.5 * GRID
    metrics = QFontMetricsF(painter.font())
    name = metrics.elidedText(row.label, Qt.TextElideMode.ElideRight, room)
    label = QRectF(2 * GRID, box.top(), room, box.height())
    painter.drawText(label, Qt.AlignmentFlag.AlignVCenter, name)

    painter.setOpacity(STALE if stale else 1.0)
    ribbon = box.adjusted(0, 2, 0, -2)
    painter.drawImage(ribbon, ribbon_image(painter, frame, row, sweep))
    for start, end in stretches(sweep.angles, row.slack):
        painter.fillRect(_between(frame, ribbon, start, end), QBrush(INK, _HATCH))
    for start, end in unknown_stretches(sweep, row.slack):
        place = _between(frame, ribbon, start, end)
        painter.fillRect(place, QColor(colours.ground))
        painter.fillRect(place, QBrush(QColor(colours.unknown), _CROSS))
    _draw_worst(painter, frame, colours, ribbon, row)
    painter.setOpacity(1.0)


_HATCH = Qt.BrushStyle.BDiagPattern
_CROSS = Qt.BrushStyle.DiagCrossPattern


def ribbon_image(painter: QPainter, frame: StripFrame, row: Ribbon, sweep: Sweep) -> QImage:
    """A ribbon's colours, one pixel high and one per device pixel."""
    count = max(int(frame.plot.width() * painter.device().devicePixelRatioF()), 2)
    turns = np.linspace(*frame.locks, count)
    pixels = np.full((1, count, 4), 255, dtype=np.uint8)
    for channel in range(3):
        values = np.interp(turns, sweep.angles, row.colours[:, channel])
        pixels[0, :, channel] = values.round()
    image = QImage(pixels.tobytes(), count, 1, 4 * count, QImage.Format.Format_RGBA8888)
    return image.copy()  # the bytes do not outlive this call


def _between(frame: StripFrame, ribbon: QRectF, start: float, end: float) -> QRectF:
    """The part of a ribbon from one turn to another."""
    left, right = frame.x_of(start), frame.x_of(end)
    return QRectF(left, ribbon.top(), right - left, ribbon.height())


def _draw_worst(
    painter: QPainter, frame: StripFrame, colours: Colours, ribbon: QRectF, row: Ribbon
) -> None:
    """The verdict's mark where the line is worst; faint when at another suspension position."""
    if math.isnan(row.mark_turn):
        return
    size = min(MARK, ribbon.height() + 2)
    place = QPointF(frame.mark_x(row.mark_turn), ribbon.center().y())
    box = QRectF(place.x() - size / 2, place.y() - size / 2, size, size)
    ground = QColor(colours.raised)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(ground)
    painter.drawEllipse(box.adjusted(-1.5, -1.5, 1.5, 1.5))
    if not row.mark_here:
        painter.setOpacity(painter.opacity() * 0.5)
    draw_mark(painter, row.verdict, box, QColor(colours.verdict(row.verdict)), ground)
    if row.fork and not row.short_here:
        painter.setOpacity(1.0)
        _draw_fork(painter, frame, colours, ribbon, box, row.fork.removeprefix("with the "))


def _draw_fork(
    painter: QPainter, frame: StripFrame, colours: Colours, ribbon: QRectF, mark: QRectF, words: str
) -> None:
    """Beside a mark, on the side with room: at which other suspension position it holds."""
    painter.setFont(font(Type.SMALL))
    width = QFontMetricsF(painter.font()).horizontalAdvance(words) + GRID
    inward = mark.center().x() > frame.plot.center().x()
    left = mark.left() - 4 - width if inward else mark.right() + 4
    pill = QRectF(left, ribbon.top(), width, ribbon.height())
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(colours.raised))
    painter.drawRoundedRect(pill, 4, 4)
    painter.setPen(QColor(colours.text))
    painter.drawText(pill, Qt.AlignmentFlag.AlignCenter, words)


def draw_axis(painter: QPainter, frame: StripFrame, colours: Colours) -> None:
    """Degrees from lock to lock, and a dotted line straight ahead."""
    plot = frame.plot
    base = frame.axis - 4
    muted = QColor(colours.muted)
    painter.setPen(QPen(QColor(colours.line), 1))
    painter.drawLine(QPointF(plot.left(), base), QPointF(plot.right(), base))
    painter.setFont(font(Type.SMALL))
    painter.setPen(QPen(muted, 1))
    for degrees in _ticks(frame):
        x = frame.x_of(math.radians(degrees))
        painter.drawLine(QPointF(x, base), QPointF(x, base - 4))
    for place, text in axis_words(frame):
        painter.drawText(place, Qt.AlignmentFlag.AlignCenter, text)
    painter.setPen(QPen(muted, 1, Qt.PenStyle.DotLine))
    ahead = frame.x_of(0.0)
    painter.drawLine(QPointF(ahead, frame.axis), QPointF(ahead, plot.bottom()))


def axis_words(frame: StripFrame) -> list[tuple[QRectF, str]]:
    """What is written over the axis, and where."""
    metrics = QFontMetricsF(font(Type.SMALL))
    plot, height = frame.plot, metrics.height()
    found = []
    for degrees in _ticks(frame):
        text = f"{abs(degrees)}°"
        room = metrics.horizontalAdvance(text) + 8
        x = frame.x_of(math.radians(degrees))
        found.append((QRectF(x - room / 2, frame.axis - 8 - height, room, height), text))
    for text, right in (("right lock", False), ("left lock", True)):
        room = metrics.horizontalAdvance(text) + 1
        left = plot.right() - room if right else plot.left()
        found.append((QRectF(left, 1, room, height), text))
    return found


def _ticks(frame: StripFrame) -> list[int]:
    """The degrees that are numbered, lock to lock."""
    right, left = (math.degrees(lock) for lock in frame.locks)
    step = 10 if left - right > 40 else 5
    room = QFontMetricsF(font(Type.SMALL)).horizontalAdvance("40°") + GRID
    while step < 40 and step * frame.plot.width() / (left - right) < room:
        step *= 2
    return [at for at in range(-80, 81, step) if right - 1e-7 <= at <= left + 1e-7]


def draw_stop(painter: QPainter, frame: StripFrame, colours: Colours, turn: float) -> None:
    """A bar on the axis over the turns that a line does not let the steering reach, with an edge
    down through the rows; to both sides where it cannot be turned at all.
    """
    right, left = frame.locks
    bad = QColor(colours.bad)
    x = frame.x_of(turn)
    for lock in (right, left):
        if turn == 0.0 or (lock < 0.0) == (turn < 0.0):
            low, high = sorted((x, frame.x_of(lock)))
            painter.fillRect(QRectF(low, frame.axis - 4.5, high - low, 3), bad)
    painter.fillRect(QRectF(x - 1, frame.axis - 12, 2, 10), bad)
    painter.setPen(QPen(bad, 1, Qt.PenStyle.DashLine))
    painter.drawLine(QPointF(x, frame.axis - 2), QPointF(x, frame.plot.bottom()))


def draw_playhead(painter: QPainter, frame: StripFrame, colours: Colours, turn: float) -> None:
    """A line through all rows with the turn written over it."""
    plot = frame.plot
    x = frame.x_of(turn)
    bottom = plot.bottom() + 2
    painter.setPen(QPen(QColor(colours.panel), 4))
    painter.drawLine(QPointF(x, frame.axis - 3), QPointF(x, bottom))
    painter.setPen(QPen(QColor(colours.accent), 2))
    painter.drawLine(QPointF(x, frame.axis - 6), QPointF(x, bottom))
    tip = frame.axis - 2
    painter.setFont(font(Type.STRONG))
    metrics = QFontMetricsF(painter.font())
    text = turn_words(turn)
    width = metrics.horizontalAdvance(text) + 2 * GRID
    height = metrics.height() + 2
    left = min(max(x - width / 2, plot.left() - GRID), frame.width - width - 2)
    pill = QRectF(left, 1, width, height)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(colours.panel))
    for place, _ in axis_words(frame):
        if place.intersects(pill.adjusted(-4, 0, 4, 0)):
            painter.drawRect(place)  # a word half covered would read as another
    painter.setBrush(QColor(colours.accent))
    painter.drawRoundedRect(pill, 5, 5)
    painter.drawPolygon(polygon((x - 5, tip - 7), (x + 5, tip - 7), (x, tip)))
    painter.setPen(QColor(colours.on_accent))
    painter.drawText(pill, Qt.AlignmentFlag.AlignCenter, text)
