"""A change that is tried out with the hand, shown at once, and not yet made.

While something is held, nothing enters the document: every state is tried out with a glance, which
picture and read-out both show. Letting go makes one step of it, giving up none.
"""

from __future__ import annotations

from PySide6.QtCore import QObject, QPointF, Qt, Signal
from PySide6.QtWidgets import QLabel, QWidget

from barfit.analysis import Sweep
from barfit.model import Setup
from barfit.session import Session
from barfit.ui.hand import Hand
from barfit.ui.theme import GRID

NO_PLACE = "The lines cannot be laid out so."


class Readout(QLabel):
    """A few words beside the pointer."""

    def __init__(self, over: QWidget) -> None:
        super().__init__(over)
        self._over = over
        self.setObjectName("readout")
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.hide()

    def say(self, words: str, pointer: QPointF) -> None:
        """Show words beside a place of the widget, wholly within that."""
        self.setText(words)
        self.adjustSize()
        room = self._over.size()
        x, y = pointer.x() + 2 * GRID, pointer.y() + 2 * GRID
        if x + self.width() > room.width():
            x = pointer.x() - 2 * GRID - self.width()
        y = min(y, room.height() - self.height())
        self.move(max(round(x), 0), max(round(y), 0))
        self.show()
        self.raise_()


class Attempt(QObject):
    """What is being tried out. ``tried`` tells a Sweep of one pose that is to be shown, ``edited``
    a setup and the name of its step, or None and why there is none; ``given_up`` that all is to be
    shown as it stands.
    """

    tried = Signal(object)
    edited = Signal(object, str, object)
    given_up = Signal()

    def __init__(self, session: Session, hand: Hand, over: QWidget) -> None:
        super().__init__(over)
        self._session, self._hand = session, hand
        self._tried: Setup | None = None
        self._step = ""
        self.readout = Readout(over)
        hand.dropped.connect(self._dropped)
        hand.given_up.connect(self._give_up)

    def make(self, setup: Setup, step: str, pointer: QPointF) -> Sweep | None:
        """Show what a setup comes to at this pose; None, and said so, where it cannot be laid
        out. Let go of now, it becomes a step of that name.
        """
        sweep = self._session.glance(setup)
        if sweep is None:
            self.readout.say(NO_PLACE, pointer)
            return None
        self._tried, self._step = setup, step
        self.tried.emit(sweep)
        return sweep

    def refuse(self, why: str) -> None:
        """Let go, with all as it was, and say why."""
        self._hand.let_go()
        self._give_up()
        self.edited.emit(None, why, None)

    def _dropped(self) -> None:
        self.readout.hide()
        setup, self._tried = self._tried, None
        if setup is None or setup == self._session.setup:
            self.given_up.emit()
            return
        self.edited.emit(setup, self._step, None)
        if self._session.setup != setup:  # it was refused
            self.given_up.emit()

    def _give_up(self) -> None:
        self.readout.hide()
        if self._tried is not None:
            self._tried = None
            self._session.glance(self._session.setup)  # lines start from there next time
        self.given_up.emit()
