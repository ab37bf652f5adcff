"""The pointer on the stations of the line being changed: what is taken hold of, and where to.

Nothing is changed here; where a station or the tip of its arrow is drawn to is only told. The
pointer's own events are folded: while one place is being worked out, only the last one waits.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QEvent, QObject, QPointF, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QApplication, QWidget

from barfit.scene import Scene
from barfit.scene.pick import on_axis, on_plane, ray

REACH = 11.0  # px
_START = 3.0  # px the pointer moves before it counts as drawing
_AXES = {Qt.Key.Key_X: 0, Qt.Key.Key_Y: 1, Qt.Key.Key_Z: 2}


@dataclass(frozen=True, eq=False)
class Pull:
    """Where a station, or with ``turning`` the tip of its arrow, is drawn to in the pose shown:
    ``point`` (3,) mm. ``free`` says that nothing holds it to an axis or a plane, and ``snap`` that
    it may be caught by surfaces; ``pointer`` is where the pointer is in the picture's widget.
    """

    station: int
    turning: bool
    point: np.ndarray
    free: bool
    snap: bool
    pointer: QPointF


class Hand(QObject):
    """Watches the picture's widget. ``taken`` tells the number of a station pressed on, ``pulled``
    a Pull, ``dropped`` that it was let go of where it was last, ``given_up`` that it is to go back;
    ``line_doubled`` a place in the picture (x, y) that was double-clicked.
    """

    taken = Signal(int)
    pulled = Signal(object)
    dropped = Signal()
    given_up = Signal()
    line_doubled = Signal(float, float)

    def __init__(self, canvas: QWidget, scene: Scene) -> None:
        super().__init__(canvas)
        self._canvas, self._scene = canvas, scene
        self._station: int | None = None
        self._turning = self._moving = False
        self._from = np.zeros(3)  # where what is held was
        self._pressed = self._at = QPointF()
        self._axes: set[int] = set()
        self._modifiers = Qt.KeyboardModifier.NoModifier
        self._due = QTimer(self)
        self._due.setSingleShot(True)
        self._due.timeout.connect(self._pull)
        canvas.installEventFilter(self)

    @property
    def holds(self) -> bool:
        """Whether something is held."""
        return self._station is not None

    def let_go(self) -> None:
        """Hold nothing any more, without a word."""
        self._due.stop()
        if self._station is not None:
            self._station = None
            QApplication.instance().removeEventFilter(self)  # type: ignore[union-attr]

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The pointer over the picture; while something is held, also the keys."""
        kind = event.type()
        if isinstance(event, QKeyEvent) and self.holds:
            return self._key(event)
        if watched is not self._canvas or not isinstance(event, QMouseEvent):
            return False
        left = event.button() is Qt.MouseButton.LeftButton
        if kind == QEvent.Type.MouseButtonPress and left:
            return self._press(event)
        if kind == QEvent.Type.MouseButtonDblClick and left and self._scene.station is not None:
            self.line_doubled.emit(*self._spot(event.position()))
            return True
        if not self.holds:
            return False
        if kind == QEvent.Type.MouseMove:
            self._move(event)
        elif kind == QEvent.Type.MouseButtonRelease and left:
            self._release()
        return True

    def _press(self, event: QMouseEvent) -> bool:
        spot = self._spot(event.position())
        reach = REACH * self._canvas.devicePixelRatioF()
        marks = self._scene.stations
        turning = marks.pick_tip(spot, reach)
        station = self._scene.station if turning else marks.pick(spot, reach)
        if station is None:
            return False
        self.let_go()
        self._station, self._turning, self._moving = station, turning, False
        if turning and marks.tip is not None:
            self._from = marks.tip.copy()
        else:
            self._from = marks.points[station].copy()
        self._pressed = self._at = event.position()
        self._axes, self._modifiers = set(), event.modifiers()
        QApplication.instance().installEventFilter(self)  # type: ignore[union-attr]
        if not turning:
            self.taken.emit(station)
        return True

    def _move(self, event: QMouseEvent) -> None:
        self._at, self._modifiers = event.position(), event.modifiers()
        far = self._at - self._pressed
        self._moving = self._moving or far.manhattanLength() >= _START
        if self._moving and not self._due.isActive():
            self._due.start(0)

    def _release(self) -> None:
        if self._due.isActive():
            self._pull()
        moved = self._moving and self.holds
        self.let_go()
        if moved:
            self.dropped.emit()

    def _key(self, event: QKeyEvent) -> bool:
        down = event.type() in (QEvent.Type.KeyPress, QEvent.Type.ShortcutOverride)
        event.accept()
        key = Qt.Key(event.key())
        if key is Qt.Key.Key_Escape and down:
            moved = self._moving
            self.let_go()
            if moved:
                self.given_up.emit()
            return True
        if key in _AXES and not event.isAutoRepeat():
            (self._axes.add if down else self._axes.discard)(_AXES[key])
        self._modifiers = event.modifiers()
        if self._moving and not self._due.isActive():
            self._due.start(0)
        return True

    def _pull(self) -> None:
        """Where the pointer is now draws it to."""
        self._due.stop()
        if self._station is None:
            return
        renderer = self._scene.plotter.renderer
        axis = np.eye(3)[min(self._axes)] if self._axes else None
        shift = bool(self._modifiers & Qt.KeyboardModifier.ShiftModifier)
        sights = [ray(renderer, self._spot(at)) for at in (self._pressed, self._at)]
        if axis is not None and not shift:
            ends = [on_axis(sight, self._from, axis) for sight in sights]
        else:
            normal = np.array(self._scene.plotter.camera.direction)
            if shift:
                normal = np.array([0.0, 0.0, 1.0]) if axis is None else axis
            ends = [on_plane(sight, self._from, normal) for sight in sights]
        first, last = ends
        if first is None or last is None:
            return  # one looks along it: there is nothing to be seen of a move
        self.pulled.emit(
            Pull(
                self._station,
                self._turning,
                self._from + last - first,
                free=axis is None and not shift,
                snap=not self._modifiers & Qt.KeyboardModifier.ControlModifier,
                pointer=self._at,
            )
        )

    def _spot(self, at: QPointF) -> tuple[float, float]:
        """A place of the widget in the picture's own pixels, from its lower left."""
        ratio = self._canvas.devicePixelRatioF()
        return at.x() * ratio, (self._canvas.height() - 1 - at.y()) * ratio
