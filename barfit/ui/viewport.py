"""The picture: a scene on a plotter inside the window. The only file that knows pyvistaqt.

Invariants, each paid for by somebody:
1. The viewport is made before the window it goes into: its constructor installs the process-wide
   surface format, which a window made earlier would not have (black on Wayland).
2. Nothing renders but a paint event. A change moves meshes and asks Qt for a repaint; Qt folds
   many such requests into one frame, so playing and dragging never queue up frames.
3. ``shut`` comes before Qt's own close: the scene lets go of the plotter, the plotter of its
   context. A viewport that is destroyed without it crashes at exit on real graphics cards.
4. Never call ``QWidget.screen()`` here: the binding may end up owning the screen.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PySide6.QtCore import (
    QBuffer,
    QByteArray,
    QEvent,
    QIODevice,
    QPoint,
    QPointF,
    Qt,
    QTimer,
    Signal,
)
from PySide6.QtGui import (
    QDragEnterEvent,
    QDropEvent,
    QKeyEvent,
    QMouseEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QVBoxLayout, QWidget
from pyvistaqt import QtInteractor

from barfit.analysis import Sweep
from barfit.model import Setup
from barfit.scene import Scene
from barfit.scene.behind import Route
from barfit.scene.pick import in_picture
from barfit.session import Pose, Result
from barfit.ui.hand import Hand
from barfit.ui.theme import show_scale, type_scale

FIRST_VIEW = "three-quarter"
STILL_AFTER = 400  # ms without a change, after which the picture counts as standing still
SMOOTH_FRAME = 0.025  # s a smoothed frame may take to be used in motion too
SHOWN = 1.3  # how much larger the writing in the picture is while it is shown alone
CLICK = 4  # px the pointer may move between press and release of a click


class Canvas(QtInteractor):
    """The plotter's widget, without the keys and the dropping of files that it brings along.

    ``clicked`` tells where, in its own coordinates, ``menu_asked`` the same of a click with the
    right button; ``moved`` that the user turned the view.
    """

    clicked = Signal(QPointF)
    menu_asked = Signal(QPointF)
    moved = Signal()
    painted = Signal(float)  # s it took
    resized_to = Signal()  # the picture has its new size

    def __init__(self) -> None:
        super().__init__(auto_update=False, multi_samples=4, lighting="none")
        self.setAcceptDrops(False)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # it has no keys of its own
        # the right button also zooms: its menu comes as it is let go of in one place
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        self._pressed: QPointF | None = None
        # The interactor style renders at once and the widget then renders again to paint. With
        # its own rendering off, moving the view costs one frame instead of two.
        self._interactor = self.iren.interactor
        self._interactor.EnableRenderOff()
        self._render_wish = self._interactor.AddObserver("RenderEvent", self._wished)

    def _wished(self, *_: object) -> None:
        if not self._in_paint:
            self.update()

    def render(self) -> None:  # type: ignore[override]
        """Ask for a frame; see invariant 2 of this file."""
        self.update()

    def resizeGL(self, width: int, height: int) -> None:
        """Pass the size on, then tell."""
        super().resizeGL(width, height)
        # pyvistaqt grows text with the screen's fineness; the scene does so itself, by its scale
        self.GetRenderWindow().SetDPI(72)
        self.resized_to.emit()

    def paintGL(self) -> None:
        """Draw a frame."""
        began = time.perf_counter()
        self._interactor.EnableRenderOn()
        super().paintGL()
        self._interactor.EnableRenderOff()
        self.painted.emit(time.perf_counter() - began)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave keys to the window."""
        event.ignore()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Leave keys to the window."""
        event.ignore()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Leave files to the window."""
        event.ignore()

    def dropEvent(self, event: QDropEvent) -> None:
        """Leave files to the window."""
        event.ignore()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Remember where, in case it becomes a click."""
        self._pressed = event.position()
        super().mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Moving with a button held turns, moves or zooms the view."""
        super().mouseMoveEvent(event)
        if event.buttons() is not Qt.MouseButton.NoButton:
            self.moved.emit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """The wheel zooms."""
        super().wheelEvent(event)
        self.moved.emit()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A press and release in one place is a click."""
        super().mouseReleaseEvent(event)
        pressed, self._pressed = self._pressed, None
        if pressed is None or (event.position() - pressed).manhattanLength() > CLICK:
            return
        if event.button() is Qt.MouseButton.LeftButton:
            self.clicked.emit(event.position())
        elif event.button() is Qt.MouseButton.RightButton:
            self.menu_asked.emit(event.position())

    def shut(self) -> None:
        """Stop listening, then close."""
        self._interactor.RemoveObserver(self._render_wish)
        self.close()


@dataclass(frozen=True)
class Where:
    """A standard view by its name, None where the user has turned it; and the camera's place."""

    view: str | None
    position: Sequence[float]
    focal: Sequence[float]
    up: Sequence[float]


class Viewport(QWidget):
    """Shows a setup, a result and a pose. ``line_clicked`` tells the name of a line,
    ``menu_asked`` where in the picture's widget a menu is wanted.
    """

    line_clicked = Signal(str)
    menu_asked = Signal(QPointF)

    def __init__(self) -> None:
        super().__init__()
        self.canvas = Canvas()
        self.scene = Scene(self.canvas)
        self.hand = Hand(self.canvas, self.scene)
        self._view: str | None = FIRST_VIEW  # None once the user has turned it
        self._ghost: Sweep | None = None
        self._smooth = True
        self._smooth_in_motion = True
        self._still = QTimer(self)
        self._still.setSingleShot(True)
        self._still.setInterval(STILL_AFTER)
        self._still.timeout.connect(self._stands_still)
        self.setMinimumSize(320, 160)  # the strip under it must keep its rows
        self.canvas.setAccessibleName("Picture of the machine")
        self.canvas.clicked.connect(self._clicked)
        self.canvas.menu_asked.connect(self.menu_asked)
        self.canvas.moved.connect(self._turned_by_user)
        self.canvas.painted.connect(self._painted)
        self.canvas.resized_to.connect(self._fit)
        self.hand.hovered.connect(lambda *_: self.canvas.update())
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.canvas)

    # what it shows

    def show_setup(self, setup: Setup, stock: bool) -> None:
        """Draw a machine with its stock or new bars, without lines until a result is shown."""
        another = self.scene.setup is None or self.scene.setup.machine != setup.machine
        if self._ghost is not None and self._ghost.setup != setup:
            self._ghost = None  # the scene drops it too
        self.scene.show_setup(setup, stock)
        if another:
            self.view(FIRST_VIEW)
        self._changed()

    def show_result(self, result: Result | None) -> None:
        """Draw the lines of a result; it must be of the setup and bars on show."""
        if result is not None and result.sweep is not self.scene.sweep:
            self.scene.show_sweep(result.sweep, result.findings)
            self._changed()

    def show_glance(self, sweep: Sweep, pose: Pose) -> None:
        """Draw a setup and its lines at the one pose, of which ``sweep`` is a glance."""
        self.scene.show_glance(sweep, pose.travel)
        if self._ghost is not None and self._ghost.setup != sweep.setup:
            self._ghost = None  # the scene dropped it too
        self._changed()

    def show_ghost(self, sweep: Sweep | None) -> None:
        """Draw other bars of the same setup behind; None for none."""
        if sweep is self._ghost:
            return
        self._ghost = sweep
        self.scene.set_ghost(sweep)
        self._changed()

    def show_pose(self, pose: Pose) -> None:
        """Turn the steering and move the suspension."""
        if (pose.turn, pose.travel) == (self.scene.turn, self.scene.travel):
            return
        self.scene.set_pose(pose.turn, pose.travel)
        self._changed()

    def show_unit(self, unit: str) -> None:
        """Lengths in "mm" or "in"."""
        if unit == self.scene.unit:
            return
        self.scene.set_unit(unit)
        self._changed()

    def select(self, line: str | None) -> None:
        """Bring out one line; None for all alike."""
        if line == self.scene.selected:
            return
        self.scene.select(line)
        self._changed()

    def show_stations(self, looked_at: int | None) -> None:
        """Draw handles at the stations of the selected line, of which one is looked at; or none."""
        if looked_at is None and self.scene.station is None:
            return
        self.scene.show_stations(looked_at)
        self._changed()

    def show_other_way(self, route: Route | None) -> None:
        """Draw another way for a line of this setup to go beside it; None for none."""
        if route is not self.scene.other_way.route:
            self.scene.show_other_way(route)
            self._changed()

    def show_controls(self, on: bool, looked_at: str | None = None) -> None:
        """Let the controls on the bar be taken hold of, of which one is looked at; or none."""
        marks = self.scene.controls
        if (on, looked_at) != (marks.on, marks.looked_at):
            marks.switch(on, looked_at)
            self._changed()

    def colour_by(self, mode: str) -> None:
        """Colour by "slack", "bend" or "pull"."""
        self.scene.set_colour(mode)
        self._changed()

    def show_bodies(self, on: bool) -> None:
        """Paint by what moves with what, or as things are."""
        self.scene.show_bodies(on)
        self._changed()

    def use_theme(self, name: str) -> None:
        """Take on the "light" or "dark" theme."""
        self.scene.set_theme(name)
        self._changed()

    # where it looks from

    def view(self, name: str) -> None:
        """Look from a standard direction."""
        self._view = name
        self.scene.view(name)
        self._changed()

    def frame(self, line: str, bars: bool = False) -> None:
        """Move closer to a line, or to it and the bars."""
        self._view = None
        self.scene.frame(line, bars)
        self._changed()

    def frame_station(self) -> None:
        """Move close to the station looked at."""
        marks = self.scene.stations
        if self.scene.station is not None and len(marks.points):
            self._view = None
            self.scene.close_up(marks.points[self.scene.station])
            self._turned_by_user()

    def place_of(self, point: np.ndarray) -> QPoint:
        """Where in the picture's widget a point (3,) is, or the nearest place in it."""
        ratio = self.canvas.devicePixelRatioF()
        (flat,), _ = in_picture(self.scene.plotter.renderer, point[None])
        x, y = round(flat[0] / ratio), round(self.canvas.height() - 1 - flat[1] / ratio)
        room = self.canvas.rect()
        return QPoint(min(max(x, 0), room.right()), min(max(y, 0), room.bottom()))

    def leave_free(self, margins: tuple[float, float, float, float] | None) -> None:
        """Keep these shares of the picture free for words over it, at the left, right, bottom and
        top, and leave out the legend; None goes back to the whole picture.
        """
        self.scene.free = margins or (0.0, 0.0, 0.0, 0.0)
        self.scene.show_legend = margins is None
        self._fit()
        self._changed()

    def where(self) -> Where:
        """Where it looks from, to come back to."""
        camera = self.scene.plotter.camera
        return Where(self._view, camera.position, camera.focal_point, camera.up)

    def go_back(self, where: Where) -> None:
        """Look from there again."""
        self._view = where.view
        self.scene.look_from(where.position, where.focal, where.up)
        self._fit()
        self._changed()

    def orbit(self, right: float, down: float) -> None:
        """Turn the picture as if by dragging it so far (px)."""
        self._view = None
        self.scene.orbit(right, down)
        self._changed()

    def zoom(self, notches: float) -> None:
        """Bring the picture nearer."""
        self._view = None
        self.scene.zoom(notches)
        self._changed()

    def save_picture(self, path: Path) -> None:
        """Save what is shown as a PNG. Raises OSError where that cannot be written."""
        self._smoothen(True)
        png = QByteArray()
        buffer = QBuffer(png)
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        self.canvas.grabFramebuffer().save(buffer, "PNG")  # type: ignore[call-overload]
        path.write_bytes(png.data())

    def shut(self) -> None:
        """Let go of everything; nothing may be shown afterwards."""
        self._still.stop()
        self.hand.let_go()
        self.scene.close()
        self.canvas.shut()

    # what happens

    def changeEvent(self, event: QEvent) -> None:
        """Writing keeps its size when the window moves to a finer screen."""
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self._fit()
        super().changeEvent(event)

    def _fit(self) -> None:
        """A standard view is fitted anew to the size; one the user turned is left alone."""
        alone = not self.scene.show_legend
        shown = SHOWN * show_scale(self.width(), self.height()) if alone else 1.0
        self.scene.scale = self.devicePixelRatioF() * type_scale() * shown
        if self._view is not None:
            self.view(self._view)

    def _turned_by_user(self) -> None:
        self._view = None
        self.show_stations(self.scene.station)  # as large as they should be from here
        self._changed()

    def _clicked(self, at: QPointF) -> None:
        ratio = self.canvas.devicePixelRatioF()
        x, y = at.x() * ratio, (self.canvas.height() - 1 - at.y()) * ratio
        line = self.scene.pick(x, y, 9.0 * ratio)
        if line is not None:
            self.line_clicked.emit(line)

    def _changed(self) -> None:
        """Ask for a frame, and for a smooth one once nothing changes any more."""
        self._smoothen(self._smooth_in_motion)
        self._still.start()
        self.canvas.update()

    def _stands_still(self) -> None:
        if not self._smooth:
            self._smoothen(True)
            self.canvas.update()

    def _smoothen(self, on: bool) -> None:
        if on != self._smooth:
            self._smooth = on
            self.scene.smooth(on)

    def _painted(self, seconds: float) -> None:
        """Without a graphics card smoothing is too slow for motion."""
        if self._smooth:
            self._smooth_in_motion = seconds < SMOOTH_FRAME
