"""Alternatives judged in the background, one at a time, while the window's own work rests."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QObject, Signal

from barfit.compare import Trial, Trials, made, question
from barfit.model import Setup
from barfit.session import Result
from barfit.ui.worker import Worker


class Comparer(QObject):
    """Judges the setups that are wanted. ``changed`` tells that more is known, ``progressed`` how
    much of all that is wanted, 1 when nothing is left to do.
    """

    changed = Signal()
    progressed = Signal(float)

    def __init__(self, worker: Worker, parent: QObject | None = None) -> None:
        """``worker`` is for this alone."""
        super().__init__(parent)
        self._worker = worker
        self._trials = Trials()
        self._failed: dict[Setup, str] = {}
        self._wanted: tuple[Setup, ...] = ()
        self._running: Setup | None = None
        self._resting = False
        worker.finished.connect(self._finished)
        worker.failed.connect(self._could_not)
        worker.progressed.connect(self._tell)
        worker.idle.connect(self._ended)

    def want(self, setups: Sequence[Setup]) -> None:
        """Judge these, in this order, instead of what was wanted before."""
        self._wanted = tuple(setups)
        if self._running is not None and self._running not in self._wanted:
            self._worker.give_up()
        self._next()

    def rest(self) -> None:
        """Make way for the window's own work."""
        self._resting = True
        if self._running is not None:
            self._worker.give_up()

    def go_on(self) -> None:
        """The window's own work is done."""
        self._resting = False
        self._next()

    def keep(self, result: Result) -> None:
        """Take in what the window has found out for itself."""
        if not result.sweep.stock and self._trials.get(result.sweep.setup) is None:
            self._trials.keep(made(result.sweep, result.findings, result.trade))

    def get(self, setup: Setup) -> Trial | None:
        """The setup, judged; None where it is not yet."""
        return self._trials.get(setup)

    def failure(self, setup: Setup) -> str:
        """Why the setup could not be judged; "" where it could, or was not tried."""
        return self._failed.get(question(setup), "")

    def stop(self) -> None:
        """End at once."""
        self._wanted = ()
        self._worker.stop()

    def _left(self) -> list[Setup]:
        return [
            one
            for one in self._wanted
            if self.get(one) is None and question(one) not in self._failed
        ]

    def _next(self) -> None:
        left = self._left()
        if not left:
            self.progressed.emit(1.0)
        elif self._running is None and not self._resting:
            self._running = left[0]
            self._worker.submit_new(left[0])

    def _finished(self, result: Result) -> None:
        self.keep(result)
        self.changed.emit()

    def _could_not(self, sentence: str) -> None:
        if self._running is not None:
            self._failed[question(self._running)] = sentence
        self.changed.emit()

    def _tell(self, part: float) -> None:
        if self._wanted:
            done = len(self._wanted) - len(self._left())
            self.progressed.emit(min((done + part) / len(self._wanted), 0.99))

    def _ended(self) -> None:
        self._running = None
        self._next()
