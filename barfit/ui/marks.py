"""Small drawings: a mark for each verdict and grade, and the icon of the window.

Each verdict has its own mark, and so has each grade of a figure, to be told without its colour.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QIcon, QPainter, QPainterPath, QPen, QPixmap, QPolygonF

from barfit.analysis import Verdict
from barfit.trade import Grade


def draw_mark(
    painter: QPainter, verdict: Verdict, box: QRectF, colour: QColor, ground: QColor
) -> None:
    """Draw a verdict's mark to fill a square box; ``ground`` is what shows through its sign."""
    hollow = verdict in (Verdict.TOO_LONG, Verdict.NOT_KNOWN, Verdict.UNCERTAIN)
    _draw(painter, outline(verdict), inner_sign(verdict), hollow, box, colour, ground)


def draw_grade(
    painter: QPainter, grade: Grade, box: QRectF, colour: QColor, ground: QColor
) -> None:
    """Draw the mark of a grade, as that of the verdict it is akin to."""
    like = {
        Grade.FINE: Verdict.REACHES,
        Grade.NOT_KNOWN: Verdict.NOT_KNOWN,
        Grade.CAUTION: Verdict.MARGINAL,
    }
    if grade in like:
        draw_mark(painter, like[grade], box, colour, ground)
        return
    sign = QPainterPath()
    if grade is Grade.REJECT:  # a cross
        shape = outline(Verdict.SHORT)
        for way in (-1.0, 1.0):
            sign.moveTo(-3.0, -3.0 * way)
            sign.lineTo(3.0, 3.0 * way)
    else:  # an i
        shape = outline(Verdict.REACHES)
        sign.moveTo(0, -3.4)
        sign.lineTo(0, -3.3)
        sign.moveTo(0, -0.4)
        sign.lineTo(0, 3.4)
    _draw(painter, shape, sign, grade is not Grade.REJECT, box, colour, ground)


def _draw(
    painter: QPainter,
    shape: QPainterPath,
    sign: QPainterPath,
    hollow: bool,
    box: QRectF,
    colour: QColor,
    ground: QColor,
) -> None:
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(box.center())
    size = box.width() / 16  # shapes and signs are drawn in a box from -8 to 8
    painter.scale(size, size)
    painter.setBrush(Qt.BrushStyle.NoBrush if hollow else colour)
    painter.setPen(QPen(colour, 1.8) if hollow else _pen(colour, 1.2))
    painter.drawPath(shape)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(colour if hollow else ground, 1.8))
    painter.drawPath(sign)
    painter.restore()


def draw_refused(painter: QPainter, box: QRectF, colour: QColor, ground: QColor) -> None:
    """Draw the mark of what is not acceptable, and is not about one line, to fill a square box."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(box.center())
    painter.scale(box.width() / 16, box.width() / 16)
    painter.setBrush(colour)
    painter.setPen(_pen(colour, 1.2))
    painter.drawPath(outline(Verdict.SHORT))
    painter.setPen(_pen(ground, 1.8))
    painter.drawPolyline(polygon((-2.6, -2.6), (2.6, 2.6)))
    painter.drawPolyline(polygon((-2.6, 2.6), (2.6, -2.6)))
    painter.restore()


def outline(verdict: Verdict) -> QPainterPath:
    """The outer shape of a mark."""
    path = QPainterPath()
    if verdict in (Verdict.MARGINAL, Verdict.RUBS):
        path.addPolygon(polygon((0, -6.5), (7, 6), (-7, 6)))
        path.closeSubpath()
    elif verdict is Verdict.UNCERTAIN:
        path.addPolygon(polygon((0, -7), (7, 0), (0, 7), (-7, 0)))
        path.closeSubpath()
    elif verdict in (Verdict.SHORT, Verdict.PINCHED, Verdict.BEND_TOO_TIGHT):
        path.addPolygon(
            polygon((-3, -7), (3, -7), (7, -3), (7, 3), (3, 7), (-3, 7), (-7, 3), (-7, -3))
        )
        path.closeSubpath()
    else:
        path.addEllipse(QPointF(0, 0), 6.6, 6.6)
    return path


def inner_sign(verdict: Verdict) -> QPainterPath:
    """The sign inside a mark."""
    path = QPainterPath()
    if verdict is Verdict.REACHES:
        path.addPolygon(polygon((-3, 0.2), (-0.9, 2.5), (3.2, -2.4)))
    elif verdict is Verdict.UNCERTAIN:  # give or take
        path.moveTo(0, -3.2)
        path.lineTo(0, 1.2)
        path.moveTo(-2.2, -1)
        path.lineTo(2.2, -1)
        path.moveTo(-2, 2.8)
        path.lineTo(2, 2.8)
    elif verdict is Verdict.MARGINAL:
        path.moveTo(0, -2)
        path.lineTo(0, 1.4)
        path.moveTo(0, 3.9)
        path.lineTo(0, 4)
    elif verdict is Verdict.RUBS:  # a line along an edge
        path.moveTo(-2.4, 3.4)
        path.lineTo(2.4, 3.4)
        path.moveTo(-1.8, 0.6)
        path.lineTo(1.8, 0.6)
    elif verdict is Verdict.PINCHED:  # jaws
        path.addPolygon(polygon((-4.4, -3), (-1.2, 0), (-4.4, 3)))
        path.addPolygon(polygon((4.4, -3), (1.2, 0), (4.4, 3)))
    elif verdict is Verdict.TOO_LONG:  # a loop that sags
        path.moveTo(-3, -2.6)
        path.cubicTo(-3.4, 4.8, 3.4, 4.8, 3, -2.6)
    elif verdict is Verdict.BEND_TOO_TIGHT:  # a hairpin
        path.moveTo(-1.8, 3.6)
        path.lineTo(-1.8, -1.4)
        path.arcTo(QRectF(-1.8, -3.2, 3.6, 3.6), 180, -180)
        path.lineTo(1.8, 3.6)
    elif verdict is Verdict.SHORT:  # two ends apart
        path.moveTo(-4.2, 0)
        path.lineTo(-1.5, 0)
        path.moveTo(4.2, 0)
        path.lineTo(1.5, 0)
        path.moveTo(-1.5, -2.2)
        path.lineTo(-1.5, 2.2)
        path.moveTo(1.5, -2.2)
        path.lineTo(1.5, 2.2)
    else:  # a question mark
        path.moveTo(-2, -1.6)
        path.cubicTo(-2, -4.4, 2.2, -4.2, 2, -1.4)
        path.cubicTo(1.8, 0, 0, 0, 0, 1.6)
        path.moveTo(0, 3.9)
        path.lineTo(0, 4)
    return path


def _pen(colour: QColor, width: float) -> QPen:
    """A pen with round ends and corners."""
    return QPen(
        QBrush(colour),
        width,
        Qt.PenStyle.SolidLine,
        Qt.PenCapStyle.RoundCap,
        Qt.PenJoinStyle.RoundJoin,
    )


def polygon(*points: tuple[float, float]) -> QPolygonF:
    """An open polygon through these points."""
    return QPolygonF([QPointF(x, y) for x, y in points])


def window_icon() -> QIcon:
    """A handlebar seen from behind, in the accent."""
    size = 64
    pixmap = QPixmap(size, size)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor("#1b6b58"))
    painter.drawRoundedRect(QRectF(2, 2, 60, 60), 12, 12)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(QColor("#ffffff"), 4.5))
    bar = QPainterPath(QPointF(10, 30))
    bar.lineTo(20, 24)
    bar.cubicTo(24, 22, 24, 42, 29, 42)
    bar.lineTo(35, 42)
    bar.cubicTo(40, 42, 40, 22, 44, 24)
    bar.lineTo(54, 30)
    painter.drawPath(bar)
    painter.end()
    return QIcon(pixmap)
