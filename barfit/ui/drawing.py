"""A dimensioned drawing on screen; the dimension of the field being typed in stands out."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from barfit.forms.drawings import Arc, Dim, Flat, Pen, Stroke, View, view_with
from barfit.ui.theme import GRID, Theme, Type, font

HEIGHT = 24 * GRID
MARGIN = 2.5 * GRID  # px round the part, for dimensions set off to its sides
ARROW = 6.0  # px
CLEAR = 9.0  # px about a place that a leader leaves free
ASIDE = 4.5 * GRID  # px from an angle or a mark to its label
MOST_SCALE = 1.2  # px a mm: a small part is not drawn larger than this


class Drawing(QWidget):
    """Shows the view that has the focused field's dimension, or the first."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._views: tuple[View, ...] = ()
        self._key = ""
        self._text = ""
        self.setFixedHeight(HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Drawing of the dimensions")
        theme.changed.connect(self.update)

    def show_views(self, views: tuple[View, ...]) -> None:
        """Draw this part; hidden where there is nothing to draw."""
        self._views = views
        self.setVisible(bool(views))
        self.update()

    def show_key(self, key: str, text: str) -> None:
        """Bring out the dimension of a field; ``text`` is its label and value."""
        self._key, self._text = key, text
        self.setAccessibleDescription(text)
        self.update()

    @property
    def shown(self) -> str:
        """The name of the view on show."""
        view = self._view()
        return view.name if view is not None else ""

    def sizeHint(self) -> QSize:
        """As wide as it gets."""
        return QSize(30 * GRID, HEIGHT)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the view."""
        view = self._view()
        if view is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        _Sheet(painter, QRectF(self.rect()), view, self._theme).draw(self._key, self._text)
        painter.end()

    def _view(self) -> View | None:
        return view_with(self._views, self._key) or next(iter(self._views), None)


class _Sheet:
    """One view fitted into a rectangle."""

    def __init__(self, painter: QPainter, box: QRectF, view: View, theme: Theme) -> None:
        self._painter, self._view, self._colours = painter, view, theme.colours
        drawn = [point for stroke in view.strokes for point in stroke.points]
        points = drawn if view.frame is None else view.frame
        left, right = min(x for x, _ in points), max(x for x, _ in points)
        low, high = min(y for _, y in points), max(y for _, y in points)
        self._size = max(right - left, high - low, 1.0)
        inner = box.adjusted(MARGIN, MARGIN, -MARGIN, -MARGIN - 1.5 * GRID)
        wide, tall = max(right - left, 1.0), max(high - low, 1.0)
        self._scale = min(inner.width() / wide, inner.height() / tall, MOST_SCALE)
        self._middle = (0.5 * (left + right), 0.5 * (low + high))
        self._centre = inner.center()
        self._box = box
        self._make_room(inner)

    def _make_room(self, inner: QRectF) -> None:
        """Smaller and moved where a dimension set off to a side would leave the sheet."""
        for _ in range(3):  # what is set off shrinks with the part, arrows do not
            ends = [end for dim in self._view.dims for end in self._ends(dim)]
            if not ends:
                return
            left, right = min(p.x() for p in ends), max(p.x() for p in ends)
            top, low = min(p.y() for p in ends), max(p.y() for p in ends)
            room = inner.adjusted(-MARGIN + 4, -MARGIN + 4, MARGIN - 4, MARGIN)
            over = max((right - left) / room.width(), (low - top) / room.height())
            self._scale /= max(over, 1.0)
            if over <= 1.0:
                self._centre += QPointF(
                    max(room.left() - left, 0.0) - max(right - room.right(), 0.0),
                    max(room.top() - top, 0.0) - max(low - room.bottom(), 0.0),
                )
                return

    def draw(self, key: str, text: str) -> None:
        """Part, dimensions, and the one of that key on top in the accent."""
        painter, colours = self._painter, self._colours
        if self._view.frame is not None:
            painter.setClipRect(self._box.adjusted(0, 0, 0, -2 * GRID))
        for stroke in self._view.strokes:
            self._stroke(stroke, key)
        painter.setClipping(False)
        for dim in self._view.dims:
            if dim.key != key:
                self._dim(dim, QColor(colours.edge), 1.0)
        for arc in self._view.arcs:
            if arc.key != key:
                self._arc(arc, QColor(colours.edge), 1.0)
        accent = QColor(colours.accent)
        at: QPointF | None = None
        beside = False
        for dim in self._view.dims:
            if dim.key == key:
                at = self._dim(dim, accent, 2.0)
                beside = self._across(dim) < self._wide(text)  # it would hide what it is about
        for arc in self._view.arcs:
            if arc.key == key:
                at, beside = self._arc(arc, accent, 2.0), True
        for stroke in self._view.strokes:
            if key and stroke.key == key:
                at, beside = self._at(stroke.points[len(stroke.points) // 2]), True
        for name, place in self._view.marks:
            if name == key:
                at, beside = self._mark(place, accent), True
        painter.setFont(font(Type.SMALL))
        painter.setPen(QColor(colours.muted))
        line = QRectF(self._box.left(), self._box.bottom() - 2 * GRID, self._box.width(), 2 * GRID)
        painter.drawText(line, Qt.AlignmentFlag.AlignLeft, self._view.name)
        if at is not None and text:
            self._label(at, text, beside)

    def _at(self, point: Flat) -> QPointF:
        x = self._centre.x() + (point[0] - self._middle[0]) * self._scale
        return QPointF(x, self._centre.y() - (point[1] - self._middle[1]) * self._scale)

    def _across(self, dim: Dim) -> float:
        """How far a dimension goes from side to side, pixels."""
        return abs(self._at(dim.b).x() - self._at(dim.a).x()) if dim.along != "v" else math.inf

    def _wide(self, text: str) -> float:
        """How wide a label is, pixels."""
        return QFontMetricsF(font(Type.STRONG)).horizontalAdvance(text) + 2 * GRID

    def _stroke(self, stroke: Stroke, key: str) -> None:
        colours = self._colours
        path = QPainterPath(self._at(stroke.points[0]))
        for point in stroke.points[1:]:
            path.lineTo(self._at(point))
        if stroke.closed:
            path.closeSubpath()
        inks = {Pen.PART: colours.muted, Pen.LINE: colours.edge}
        ink = QColor(inks.get(stroke.pen, colours.line))
        if key and stroke.key == key:
            pen = QPen(QColor(colours.accent), max(stroke.width * self._scale, 3.0))
        elif stroke.pen is Pen.AXIS:
            pen = QPen(ink, 1.0, Qt.PenStyle.DashLine)
        else:
            pen = QPen(ink, max(stroke.width * self._scale, 1.3))
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        self._painter.setPen(pen)
        self._painter.setBrush(Qt.BrushStyle.NoBrush)
        self._painter.drawPath(path)

    def _dim(self, dim: Dim, ink: QColor, width: float) -> QPointF:
        """The dimension's line with its arrows and the thin lines to what it measures; its
        middle.
        """
        a, b = self._at(dim.a), self._at(dim.b)
        ends = self._ends(dim)
        painter = self._painter
        painter.setPen(QPen(ink, 1.0))
        for point, end in zip((a, b), ends, strict=True):
            painter.drawLine(point, end)
        painter.setPen(QPen(ink, width))
        painter.drawLine(*ends)
        self._arrow(ends[0], ends[1], ink)
        self._arrow(ends[1], ends[0], ink)
        return (ends[0] + ends[1]) / 2.0

    def _ends(self, dim: Dim) -> list[QPointF]:
        """Where a dimension's line begins and ends, set off to its side."""
        a, b = self._at(dim.a), self._at(dim.b)
        across = _across(dim.along, a, b)
        off = dim.off * self._size * self._scale
        far = max if off > 0 else min
        reach = far(_dot(a, across), _dot(b, across)) + off
        return [point + across * (reach - _dot(point, across)) for point in (a, b)]

    def _arc(self, arc: Arc, ink: QColor, width: float) -> QPointF:
        apex, a, b = self._at(arc.apex), self._at(arc.a), self._at(arc.b)
        start = math.atan2(a.y() - apex.y(), a.x() - apex.x())
        end = math.atan2(b.y() - apex.y(), b.x() - apex.x())
        turn = math.remainder(end - start, 2.0 * math.pi)
        radius = 0.75 * min(math.hypot(*(a - apex).toTuple()), math.hypot(*(b - apex).toTuple()))
        path = QPainterPath()
        for step in range(25):
            angle = start + turn * step / 24
            point = apex + QPointF(radius * math.cos(angle), radius * math.sin(angle))
            if step:
                path.lineTo(point)
            else:
                path.moveTo(point)
        painter = self._painter
        painter.setPen(QPen(ink, 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawLine(apex, a)
        painter.drawLine(apex, b)
        painter.setPen(QPen(ink, width))
        painter.drawPath(path)
        middle = start + 0.5 * turn
        return apex + QPointF(radius * math.cos(middle), radius * math.sin(middle))

    def _mark(self, place: Flat, ink: QColor) -> QPointF:
        at = self._at(place)
        self._painter.setPen(QPen(ink, 2.0))
        self._painter.setBrush(Qt.BrushStyle.NoBrush)
        self._painter.drawEllipse(at, 9.0, 9.0)
        return at

    def _arrow(self, tip: QPointF, tail: QPointF, ink: QColor) -> None:
        way = tail - tip
        length = math.hypot(way.x(), way.y())
        if length < 2.5 * ARROW:
            return
        way /= length
        side = QPointF(-way.y(), way.x())
        self._painter.setPen(Qt.PenStyle.NoPen)
        self._painter.setBrush(ink)
        corners = [tip, tip + (way + side * 0.35) * ARROW, tip + (way - side * 0.35) * ARROW]
        self._painter.drawPolygon(corners)

    def _label(self, at: QPointF, text: str, beside: bool) -> None:
        """The words on a dimension's line; ``beside`` an angle or a mark, with a thin leader."""
        painter, colours = self._painter, self._colours
        painter.setFont(font(Type.STRONG))
        metrics = QFontMetricsF(painter.font())
        wide, tall = self._wide(text), metrics.height() + 4
        middle = self._aside(at, wide, tall) if beside else at
        x = min(max(middle.x() - 0.5 * wide, self._box.left()), self._box.right() - wide)
        y = min(max(middle.y() - 0.5 * tall, self._box.top()), self._box.bottom() - tall)
        box = QRectF(x, y, wide, tall)
        if beside:
            painter.setPen(QPen(QColor(colours.accent), 1.0))
            near = QPointF(
                min(max(at.x(), box.left() + 4), box.right() - 4),
                box.top() if at.y() < box.center().y() else box.bottom(),
            )
            way = near - at
            length = math.hypot(way.x(), way.y())
            if length > CLEAR:  # from the edge of what is meant
                painter.drawLine(at + way * (CLEAR / length), near)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colours.accent))
        painter.drawRoundedRect(box, 4, 4)
        painter.setPen(QColor(colours.on_accent))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    def _aside(self, at: QPointF, wide: float, tall: float) -> QPointF:
        """The middle of a label beside a place: above or below it, and towards the middle of the
        sheet, where it covers least of what is meant.
        """
        down = 1.0 if at.y() < self._box.center().y() else -1.0
        right = 1.0 if at.x() < self._box.center().x() else -1.0
        return at + QPointF(right * 0.3 * wide, down * (ASIDE + 0.5 * tall))


def _across(along: str, a: QPointF, b: QPointF) -> QPointF:
    """The unit direction in which a dimension's line is set off: up, right, or to its left."""
    if along == "h":
        return QPointF(0.0, -1.0)
    if along == "v":
        return QPointF(1.0, 0.0)
    way = b - a
    length = math.hypot(way.x(), way.y()) or 1.0
    return QPointF(way.y() / length, -way.x() / length)


def _dot(a: QPointF, b: QPointF) -> float:
    return a.x() * b.x() + a.y() * b.y()
