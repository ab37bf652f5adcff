"""The pointer on what can be changed in the picture: what is taken hold of, and where to.

That are the stations of the line being changed, their handles, and the controls on the bar.
Nothing is changed here; where a thing is drawn to is only told. The pointer's own events are
folded: while one place is being worked out, only the last one waits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from PySide6.QtCore import QEvent, QObject, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QApplication, QWidget

from barfit.scene import Scene
from barfit.scene.handles import Grip
from barfit.scene.pick import in_picture, on_axis, on_plane, ray
from barfit.scene.rings import Ring

REACH = 11.0  # px
_START = 3.0  # px the pointer moves before it counts as drawing
_MIDDLE, _HANDLE, _LINE = 0.55, 0.75, 0.5  # of that: to a mark's middle, a handle, a line in front
_FINE, STEP = 1.0, 5.0  # degrees a fitting is turned by; with Shift
_AXES = {Qt.Key.Key_X: 0, Qt.Key.Key_Y: 1, Qt.Key.Key_Z: 2}


@dataclass(frozen=True)
class Held:
    """What a press takes hold of: a station by its number, ``turning`` it by its arrow, or by a
    ``ring`` or a ``grip`` of its handles; or a control by its name. What is ``locked`` is only
    pointed at: it cannot be drawn about while nothing is being changed.
    """

    station: int | None = None
    turning: bool = False
    ring: Ring | None = None
    grip: Grip | None = None
    control: str | None = None
    locked: bool = False


@dataclass(frozen=True, eq=False)
class Slid:
    """How far a control is drawn in from where it was, ``by`` mm along the bar."""

    control: str
    by: float
    pointer: QPointF


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


@dataclass(frozen=True, eq=False)
class Turn:
    """How far a station is turned, ``by`` rad about an ``axis`` (3,) in the pose shown, from where
    it pointed along ``start`` (3,).
    """

    station: int
    ring: Ring
    axis: np.ndarray
    start: np.ndarray
    by: float
    pointer: QPointF


class Hand(QObject):
    """Watches the picture's widget. ``taken`` tells the number of a station pressed on,
    ``control_taken`` the name of a control; ``pulled`` a Pull, ``turned`` a Turn, ``slid`` a Slid,
    ``dropped`` that it was let go of where it was last, ``given_up`` that it is to go back;
    ``line_doubled`` a place in the picture (x, y) that was double-clicked, ``control_doubled`` the
    name of a control that is locked; ``hovered`` what a press would take hold of or what is locked,
    as Held or None, and where the pointer is.
    """

    taken = Signal(int)
    control_taken = Signal(str)
    pulled = Signal(object)
    turned = Signal(object)
    slid = Signal(object)
    dropped = Signal()
    given_up = Signal()
    line_doubled = Signal(float, float)
    control_doubled = Signal(str)
    hovered = Signal(object, QPointF)

    def __init__(self, canvas: QWidget, scene: Scene) -> None:
        super().__init__(canvas)
        self._canvas, self._scene = canvas, scene
        self._held: Held | None = None
        self._over: Held | None = None
        self._moving = False
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
        return self._held is not None

    def let_go(self) -> None:
        """Hold nothing any more, without a word."""
        self._due.stop()
        if self._held is not None:
            self._held, self._scene.controls.held = None, False
            self._scene.rings.let_go()
            self._canvas.update()
            QApplication.instance().removeEventFilter(self)  # type: ignore[union-attr]

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The pointer over the picture; while something is held, also the keys."""
        kind = event.type()
        if isinstance(event, QKeyEvent) and self.holds:
            return self._key(event)
        if watched is not self._canvas:
            return False
        if kind == QEvent.Type.Leave and not self.holds:
            self.leave()
        if not isinstance(event, QMouseEvent):
            return False
        left = event.button() is Qt.MouseButton.LeftButton
        if kind == QEvent.Type.MouseButtonPress and left:
            return self._press(event)
        if kind == QEvent.Type.MouseButtonDblClick and left and self._scene.station is not None:
            self.line_doubled.emit(*self.spot(event.position()))
            return True
        if kind == QEvent.Type.MouseButtonDblClick and left:
            locked = self.locked_under(event.position())
            if locked is not None:
                self.control_doubled.emit(locked)
            return locked is not None
        if not self.holds:
            if kind == QEvent.Type.MouseMove:
                turning_view = event.buttons() is not Qt.MouseButton.NoButton
                self._hover(None if turning_view else self._over_at(event), event.position())
            return False
        if kind == QEvent.Type.MouseMove:
            self._move(event)
        elif kind == QEvent.Type.MouseButtonRelease and left:
            self._release()
        return True

    def under(self, at: QPointF) -> Held | None:
        """What a press at a place of the widget would take hold of."""
        spot = self.spot(at)
        reach = self.reach
        scene, marks = self._scene, self._scene.stations
        if scene.rings.pick_tip(spot, _HANDLE * reach):
            return Held(scene.station, turning=True)
        # a mark in front of a handle is meant by who points at its middle
        station = marks.pick(spot, _MIDDLE * reach)
        if station is None:
            grip = scene.triad.pick(spot, _HANDLE * reach)
            if grip is not None:
                return Held(scene.station, grip=grip)
            ring = scene.rings.pick(spot, _HANDLE * reach)
            if ring is not None:
                return Held(scene.station, ring=ring)
            station = marks.pick(spot, reach)
        if station is not None:
            return Held(station)
        if not scene.controls.on or self.line_under(at) is not None:
            return None
        control = self.control_under(at)
        return None if control is None else Held(control=control)

    def line_under(self, at: QPointF) -> str | None:
        """The line at a place of the widget; what is beside it is left to what is behind."""
        return self._scene.pick(*self.spot(at), _LINE * self.reach)

    def control_under(self, at: QPointF) -> str | None:
        """The control at a place of the widget, also while none can be taken hold of."""
        return self._scene.controls.pick(self.spot(at), _HANDLE * self.reach)

    def locked_under(self, at: QPointF) -> str | None:
        """The control at a place of the widget while none can be taken hold of."""
        if self._scene.controls.on or self.line_under(at) is not None:
            return None
        return self.control_under(at)

    def _over_at(self, event: QMouseEvent) -> Held | None:
        over = self.under(event.position())
        locked = self.locked_under(event.position()) if over is None else None
        return over if locked is None else Held(control=locked, locked=True)

    def leave(self) -> None:
        """The pointer is on something else."""
        self._hover(None, self._at)

    def around(self) -> QRectF:
        """What is taken by the thing held, or pointed at, and its handles, in the widget's own
        coordinates; nothing where there is none.
        """
        scene, what = self._scene, self._held or self._over
        if what is None:
            return QRectF()
        points = np.empty((0, 3))
        if what.control is not None:
            points = scene.controls.corners(what.control)
        elif what.station is not None:
            points = scene.stations.points[what.station : what.station + 1]
            if what.station == scene.station:
                points = np.vstack((points, scene.triad.ends(), scene.rings.ends()))
        flat, ahead = in_picture(scene.plotter.renderer, points)
        if not ahead.any():
            return QRectF()
        (left, bottom), (right, top) = flat[ahead].min(0), flat[ahead].max(0)
        corner = QPointF(left, -top) / self._canvas.devicePixelRatioF()
        other = QPointF(right, -bottom) / self._canvas.devicePixelRatioF()
        down = QPointF(0.0, self._canvas.height() - 1)
        return QRectF(corner + down, other + down).adjusted(-REACH, -REACH, REACH, REACH)

    @property
    def reach(self) -> float:
        """How near to a thing it is taken hold of, in the picture's own pixels."""
        return REACH * self._canvas.devicePixelRatioF()

    def _hover(self, over: Held | None, at: QPointF) -> None:
        if over is not None or self._over is not None:
            same, self._over = over == self._over, over
            self._scene.triad.hot = None if over is None else over.grip
            self._scene.rings.hot = None if over is None else over.ring
            self._scene.rings.hot_tip = over is not None and over.turning
            self._scene.controls.hot = None if over is None else over.control
            if not same:
                self.hovered.emit(over, at)

    def _press(self, event: QMouseEvent) -> bool:
        held, marks = self.under(event.position()), self._scene.stations
        if held is None:
            return False
        self.let_go()
        self._hover(held, event.position())
        self._held, self._moving = held, False
        self._scene.controls.held = held.control is not None
        if held.turning:
            self._from = self._scene.rings.tip
        elif held.ring is not None:
            self._scene.rings.take(held.ring)
        elif held.station is not None:
            self._from = marks.points[held.station].copy()
        self._pressed = self._at = event.position()
        self._axes, self._modifiers = set(), event.modifiers()
        QApplication.instance().installEventFilter(self)  # type: ignore[union-attr]
        if held.control is not None:
            self.control_taken.emit(held.control)
        elif held.station is not None and not held.turning and held.ring is None:
            self.taken.emit(held.station)
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
        held = self._held
        if held is None:
            return
        if held.control is not None:
            self._slide(held.control)
            return
        assert held.station is not None
        if held.ring is not None:
            self._turn(held.station)
            return
        axis, plane = self._bound(held)
        renderer = self._scene.plotter.renderer
        sights = [ray(renderer, self.spot(at)) for at in (self._pressed, self._at)]
        if axis is not None and not plane:
            ends = [on_axis(sight, self._from, axis) for sight in sights]
        else:
            normal = np.array(self._scene.plotter.camera.direction) if axis is None else axis
            ends = [on_plane(sight, self._from, normal) for sight in sights]
        first, last = ends
        if first is None or last is None:
            return  # one looks along it: there is nothing to be seen of a move
        self.pulled.emit(
            Pull(
                held.station,
                held.turning,
                self._from + last - first,
                free=axis is None,
                snap=not self._modifiers & Qt.KeyboardModifier.ControlModifier,
                pointer=self._at,
            )
        )

    def _bound(self, held: Held) -> tuple[np.ndarray | None, bool]:
        """The axis (3,) that a station is held to, None for none, and whether to the plane square
        to it instead: keys say so, or else the handle it is drawn by.
        """
        shift = bool(self._modifiers & Qt.KeyboardModifier.ShiftModifier)
        if self._axes:
            return np.eye(3)[min(self._axes)], shift
        if held.grip is not None:
            return np.eye(3)[held.grip.axis], held.grip.plane
        return (np.array([0.0, 0.0, 1.0]) if shift else None), shift

    def _turn(self, station: int) -> None:
        rings = self._scene.rings
        by = rings.angle(self.spot(self._pressed), self.spot(self._at))
        if by is None or rings.held is None:
            return
        steps = self._modifiers & Qt.KeyboardModifier.ShiftModifier
        step = math.radians(STEP if steps else _FINE)
        by = step * round(by / step)
        held = rings.held = replace(rings.held, by=by)
        self.turned.emit(Turn(station, held.ring, held.axis, held.start, by, self._at))

    def _slide(self, control: str) -> None:
        first, last = (
            self._scene.controls.along(control, self.spot(at)) for at in (self._pressed, self._at)
        )
        if first is not None and last is not None:
            self.slid.emit(Slid(control, last - first, self._at))

    def spot(self, at: QPointF) -> tuple[float, float]:
        """A place of the widget in the picture's own pixels, from its lower left."""
        ratio = self._canvas.devicePixelRatioF()
        return at.x() * ratio, (self._canvas.height() - 1 - at.y()) * ratio
