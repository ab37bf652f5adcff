"""Stand-ins for the parts of the window that need a display or time."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, QPointF, QTimer, Signal
from PySide6.QtWidgets import QWidget
from sweeps import result

from barfit.analysis import Sweep
from barfit.model import Setup
from barfit.session import Pose, Result


class InstantWorker(QObject):
    """Answers with made-up results as soon as events are processed; never twice for one request."""

    progressed = Signal(float)
    finished = Signal(object)
    looked = Signal(float)
    tried = Signal(object)
    found = Signal(object, object)
    proposed = Signal(object, object)
    unproposed = Signal(str)
    failed = Signal(str)
    idle = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.held = False
        self.stopped = False
        self.given_up = 0
        self.submitted: list[Setup] = []
        self._order = (False, True)

    def submit(self, setup: Setup, stock_first: bool = False) -> None:
        self.submitted.append(setup)
        self._order = (stock_first, not stock_first)
        self.progressed.emit(0.0)
        if not self.held:
            QTimer.singleShot(0, self, self.answer)

    def submit_new(self, setup: Setup) -> None:
        self.submitted.append(setup)
        self._order = (False,)
        self.progressed.emit(0.0)
        if not self.held:
            QTimer.singleShot(0, self, self.answer)

    def give_up(self) -> None:
        self.given_up += 1

    def answer(self) -> None:
        for stock in self._order:
            self.finished.emit(result(self.submitted[-1], stock))
        self.idle.emit()

    def stop(self) -> None:
        self.stopped = True


class StubHand(QObject):
    """Tells what a hand would."""

    taken = Signal(int)
    control_taken = Signal(str)
    pulled = Signal(object)
    turned = Signal(object)
    slid = Signal(object)
    hovered = Signal(object, QPointF)
    dropped = Signal()
    given_up = Signal()
    line_doubled = Signal(float, float)
    control_doubled = Signal(str)

    def let_go(self) -> None:
        pass


class StubViewport(QWidget):
    """Takes what the real viewport takes and remembers it."""

    line_clicked = Signal(str)
    menu_asked = Signal(QPointF)

    def __init__(self) -> None:
        super().__init__()
        self.setup: Setup | None = None
        self.stock = False
        self.result: Result | None = None
        self.glance: Sweep | None = None
        self.hand = StubHand(self)
        self.scene = None
        self.looked_at: int | None = None
        self.ghost: Sweep | None = None
        self.pose = Pose()
        self.selected: str | None = None
        self.mode = ""
        self.unit = ""
        self.theme = ""
        self.seen = ""
        self.framed = ""
        self.shut_down = False
        self.free: tuple[float, float, float, float] | None = None
        self.dragged: list[tuple[float, float]] = []

    def show_setup(self, setup: Setup, stock: bool) -> None:
        self.setup, self.stock = setup, stock

    def show_result(self, result: Result | None) -> None:
        assert result is None or result.sweep.setup == self.setup
        assert result is None or result.sweep.stock == self.stock
        self.result = result

    def show_glance(self, sweep: Sweep, pose: Pose) -> None:
        assert sweep.angles.tolist() == [pose.turn]
        self.setup, self.stock, self.glance, self.pose = sweep.setup, sweep.stock, sweep, pose
        self.result = None

    def show_ghost(self, sweep: Sweep | None) -> None:
        self.ghost = sweep

    def show_pose(self, pose: Pose) -> None:
        assert self.setup is not None
        assert -self.setup.machine.lock_right <= pose.turn <= self.setup.machine.lock_left
        self.pose = pose

    def show_unit(self, unit: str) -> None:
        self.unit = unit

    def select(self, line: str | None) -> None:
        self.selected = line

    def show_stations(self, looked_at: int | None) -> None:
        self.looked_at = looked_at

    def show_other_way(self, route: object) -> None:
        self.other_way = route

    def show_controls(self, on: bool, looked_at: str | None = None) -> None:
        self.slidable, self.control = on, looked_at

    def colour_by(self, mode: str) -> None:
        self.mode = mode

    def show_bodies(self, on: bool) -> None:
        self.bodies = on

    def use_theme(self, name: str) -> None:
        self.theme = name

    def view(self, name: str) -> None:
        self.seen = name

    def frame(self, line: str, bars: bool = False) -> None:
        self.framed = line

    def leave_free(self, margins: tuple[float, float, float, float] | None) -> None:
        self.free = margins

    def where(self) -> str:
        return self.seen

    def go_back(self, where: str) -> None:
        self.seen = where

    def orbit(self, right: float, down: float) -> None:
        self.dragged.append((right, down))

    def zoom(self, notches: float) -> None:
        self.dragged.append((notches, 0.0))

    def save_picture(self, path: Path) -> None:
        path.write_bytes(b"picture")

    def shut(self) -> None:
        assert not self.shut_down
        self.shut_down = True
