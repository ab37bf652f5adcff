"""Showing to a customer: leads through the slides, and brings the window back as it was."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer

from barfit.report.sentences import CAUTION
from barfit.report.slides import Slide, bars_words, slides
from barfit.report.trade import remarks
from barfit.session import Pose
from barfit.ui.show import Show

if TYPE_CHECKING:
    from barfit.ui.window import Window

STAY = 2500  # ms at a line's worst pose before it plays on
WAITING = Slide("Being worked out …", "", "", caution=CAUTION)
FAILED = "Not worked out"


@dataclass(frozen=True)
class Before:
    """What the window showed before."""

    pose: Pose
    selected: str | None
    stock: bool
    ghost: bool
    bodies: bool
    playing: bool
    where: Any  # of the viewport


class Showing(QObject):
    """Shows one window's setup with its new bars, the stock bars as a ghost behind."""

    def __init__(self, window: Window) -> None:
        super().__init__(window)
        self._window = window
        self._session = window.session
        self.view = Show(window.theme, window.viewport)
        self._before: Before | None = None
        self._slides: tuple[Slide, ...] = ()
        self.at = 0
        self._goes_on = QTimer(self)
        self._goes_on.setSingleShot(True)
        self._goes_on.setInterval(STAY)
        self._goes_on.timeout.connect(window.player.play)
        self.view.asked.connect(self._do)
        self.view.dragged.connect(window.viewport.orbit)
        self.view.zoomed.connect(window.viewport.zoom)
        self._session.pose_changed.connect(self._pose_changed)
        self._session.results_changed.connect(lambda stock: self._results_changed())
        self._session.setup_changed.connect(self._results_changed)

    @property
    def on(self) -> bool:
        """Whether it is being shown."""
        return self._before is not None

    def enter(self) -> None:
        """Put the window away and begin with the slide that sums up."""
        if self.on:
            return
        window, session = self._window, self._session
        self._before = Before(
            session.pose,
            session.selected,
            session.stock,
            window.commands.ghost.isChecked(),
            window.commands.bodies.isChecked(),
            window.player.playing,
            window.viewport.where(),
        )
        window.body.show_picture_alone(True)
        window.changing.show_stations()
        window.menuBar().hide()
        session.show_bars(False)
        self._show_ghost(True)
        self._show_bodies(False)
        self.view.open()
        self.at = 0
        self._results_changed()

    def leave(self) -> None:
        """Bring the window back as it was."""
        if self._before is None:
            return
        window, session, before = self._window, self._session, self._before
        self._before = None
        self._goes_on.stop()
        window.player.pause()
        self.view.hide()
        window.menuBar().show()
        window.body.show_picture_alone(False)
        window.changing.show_stations()
        self._show_ghost(before.ghost)
        self._show_bodies(before.bodies)
        session.show_bars(before.stock)
        if before.selected is None or any(
            line.name == before.selected for line in session.setup.lines
        ):
            session.select(before.selected)
        session.turn_to(before.pose.turn, before.pose.travel)
        window.viewport.leave_free(None)
        window.viewport.go_back(before.where)
        window.body.setFocus()
        if before.playing:
            window.player.play()

    def _do(self, command: str) -> None:
        last = len(self._slides) - 1
        deeds: dict[str, Callable[[], None]] = {
            "leave": self.leave,
            "next": lambda: self._go(min(self.at + 1, last)),
            "previous": lambda: self._go(max(self.at - 1, 0)),
            "first": lambda: self._go(0),
            "last": lambda: self._go(last),
            "play": self._play,
        }
        deeds[command]()

    def _play(self) -> None:
        self._goes_on.stop()
        self._window.player.toggle()

    def _go(self, at: int) -> None:
        if at != self.at:
            self.at = at
            self._show()

    def _results_changed(self) -> None:
        """What is shown must be of the setup as it stands, or nothing is."""
        if not self.on:
            return
        session = self._session
        result = session.result(False)
        setup = session.setup
        machine = setup.machine
        self.view.turn.show_locks(-machine.lock_right, machine.lock_left)
        stock = (setup.stock.bar, setup.stock.riser)
        same = (setup.new.bar, setup.new.riser) == stock
        behind = "" if same else ". Pale behind: the stock bars"
        self.view.show_machine(machine.name, f"{bars_words(setup)}{behind}.")
        if session.failure is not None:
            made: tuple[Slide, ...] = (Slide(FAILED, "", session.failure, caution=CAUTION),)
        elif result is None or session.stale(False):
            made = (WAITING,)
        else:
            said = remarks(result.trade, setup, session.unit)
            made = slides(setup, result.findings, said, session.unit)
        if made != self._slides or self.view.slide is None or self.at == 0:
            self._slides = made
            self.at = min(self.at, len(made) - 1)
            self._show()

    def _show(self) -> None:
        """Go to the worst pose of what is shown, stay a moment, and play on."""
        slide, session, player = self._slides[self.at], self._session, self._window.player
        player.pause()
        self._goes_on.stop()
        self.view.show_slide(slide, self.at, len(self._slides) - 1)
        session.select(slide.line)
        if slide.turn is not None:
            session.turn_to(slide.turn, slide.travel)
        elif slide.line is None:
            session.turn_to(session.pose.turn, 0.0)
        self.view.turn.show_turn(session.pose.turn)
        viewport = self._window.viewport
        viewport.leave_free(self.view.free)
        viewport.view("three-quarter")
        if slide.line is not None:
            viewport.frame(slide.line, bars=True)
        if slide.turn is not None:
            self._goes_on.start()
        else:
            player.play()

    def _pose_changed(self) -> None:
        if self.on:
            self.view.turn.show_turn(self._session.pose.turn)

    def _show_bodies(self, on: bool) -> None:
        self._window.commands.bodies.setChecked(on)
        self._window.do("bodies")

    def _show_ghost(self, on: bool) -> None:
        self._window.commands.ghost.setChecked(on)
        self._window.do("ghost")
