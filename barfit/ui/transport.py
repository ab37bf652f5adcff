"""Play, step and speed; and the suspension position."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import QElapsedTimer, QObject, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QWidget

from barfit.ui.icons import Worn
from barfit.ui.theme import GRID, Theme, Type
from barfit.ui.widgets import Button, Segments, label

DEGREES_PER_SECOND = 40.0
SPEEDS = (("½×", 0.5), ("1×", 1.0), ("2×", 2.0))
FRAME = 16  # ms at least between two frames: no faster than the usual display


class Player(QObject):
    """Turns the steering lock to lock and back. ``moved`` tells the turn (rad).

    It goes by the clock, so a slow frame makes a larger step and not a slower turn; and it asks
    for the next frame only after this one has been drawn, so that events are never starved.
    """

    moved = Signal(float)
    playing_changed = Signal(bool)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.speed = 1.0
        self.locks = (-math.radians(40), math.radians(40))
        self._turn = 0.0
        self._way = 1
        self._clock = QElapsedTimer()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._tick)
        self.playing = False

    def start_from(self, turn: float) -> None:
        """Go on from this turn (rad); playing goes on if it does."""
        self._turn = turn

    def play(self) -> None:
        """Start to turn."""
        if not self.playing:
            self.playing = True
            self._clock.start()
            self._timer.start(FRAME)
            self.playing_changed.emit(True)

    def pause(self) -> None:
        """Stop where it is."""
        if self.playing:
            self.playing = False
            self._timer.stop()
            self.playing_changed.emit(False)

    def toggle(self) -> None:
        """Play or pause."""
        if self.playing:
            self.pause()
        else:
            self.play()

    def _tick(self) -> None:
        seconds = min(self._clock.restart() / 1000, 0.25)  # no jump after the machine slept
        by = math.radians(DEGREES_PER_SECOND) * self.speed * seconds
        self._turn, self._way = advance(self._turn, self._way, by, self.locks)
        self.moved.emit(self._turn)
        if self.playing:
            self._timer.start(FRAME)


def advance(turn: float, way: int, by: float, locks: tuple[float, float]) -> tuple[float, int]:
    """The turn (rad) and the way (1 left, -1 right) after turning on, back from each lock."""
    right, left = locks
    turn += way * by
    if turn >= left:
        return left, -1
    if turn <= right:
        return right, 1
    return turn, way


class Transport(QWidget):
    """The row of buttons over the strip. ``asked`` names what to do: right_lock, play,
    left_lock, ahead; ``speed_picked`` a factor, ``travel_picked`` a row of the travels.
    """

    asked = Signal(str)
    speed_picked = Signal(object)
    travel_picked = Signal(object)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._buttons: dict[str, Button] = {}
        self._halves = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._halves.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        self._halves.setSpacing(GRID)
        self._playing_half, self._fork_half = QWidget(), QWidget()
        row = _row(self._playing_half)
        for name, tip in (
            ("right_lock", "To right lock (Home)"),
            ("play", "Turn lock to lock (Space)"),
            ("left_lock", "To left lock (End)"),
            ("ahead", "Straight ahead (C)"),
        ):
            button = Button()
            button.setProperty("role", "play" if name == "play" else "icon")
            button.setToolTip(tip)
            button.setAccessibleName(tip.partition(" (")[0])
            worn = Worn(button, name, theme, "on_accent" if name == "play" else "text")
            if name == "play":
                self._sign = worn
            button.clicked.connect(self._asker(name))
            self._buttons[name] = button
            row.addWidget(button)
        row.addSpacing(GRID)
        self.speeds = Segments(
            [
                (word, factor, f"{DEGREES_PER_SECOND * factor:.0f}° a second")
                for word, factor in SPEEDS
            ],
            "Speed",
        )
        self.speeds.show_value(1.0)
        self.speeds.picked.connect(self.speed_picked)
        row.addWidget(self.speeds)
        row.addStretch(1)
        row = _row(self._fork_half)
        fork = label("Fork", Type.SMALL, muted=True)
        row.addWidget(fork)
        row.addSpacing(GRID // 2)
        self.travels = Segments(
            [
                (
                    "Extended",
                    0,
                    "Wheel off the ground. Matters for lines that go down to the lower fork.",
                ),
                ("Ride height", 1, "The machine standing with its rider."),
                ("Compressed", 2, "The fork pushed in as far as it goes."),
            ],
            "Suspension position",
        )
        self.travels.show_value(1)
        self.travels.picked.connect(self.travel_picked)
        row.addWidget(self.travels)
        self._halves.addWidget(self._playing_half, 1)
        self._halves.addWidget(self._fork_half)

    def show_playing(self, playing: bool) -> None:
        """Show that it plays or not."""
        self._sign.show("pause" if playing else "play")

    def button(self, name: str) -> Button:
        """The button that asks for this."""
        return self._buttons[name]

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Two rows where one is too narrow for its words."""
        super().resizeEvent(event)
        sides = self._halves.contentsMargins()
        words = self._playing_half.sizeHint().width() + self._fork_half.sizeHint().width()
        needed = words + self._halves.spacing() + sides.left() + sides.right()
        narrow = self.width() < needed
        way = QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight
        if way is not self._halves.direction():
            self._halves.setDirection(way)

    def minimumSizeHint(self) -> QSize:
        """As wide as the wider half: under each other both have room."""
        sides = self._halves.contentsMargins()
        halves = (self._playing_half.minimumSizeHint(), self._fork_half.minimumSizeHint())
        wide = max(half.width() for half in halves) + sides.left() + sides.right()
        return QSize(wide, super().minimumSizeHint().height())

    def _asker(self, name: str) -> Callable[[], None]:
        return lambda: self.asked.emit(name)


def _row(half: QWidget) -> QHBoxLayout:
    """Buttons side by side."""
    made = QHBoxLayout(half)
    made.setContentsMargins(0, 0, 0, 0)
    made.setSpacing(GRID // 2)
    return made
