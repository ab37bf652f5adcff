"""A change that is tried out with the hand, shown at once, and not yet made.

While something is held, nothing enters the document: every state is tried out with a glance, which
picture and read-out both show. Letting go makes one step of it, giving up none.
"""

from __future__ import annotations

from PySide6.QtCore import QObject, QPoint, QPointF, QRectF, QSizeF, Qt, Signal
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

    def say(self, words: str, pointer: QPointF, clear: QRectF) -> None:
        """Show words as near to a place of the widget as they can be wholly within that, and
        ``clear`` of what is drawn about there.
        """
        self.setText(words)
        self.adjustSize()
        self.move(beside(self.size().toSizeF(), pointer, clear, self._over.size().toSizeF()))
        self.show()
        self.raise_()


def beside(size: QSizeF, pointer: QPointF, clear: QRectF, room: QSizeF) -> QPoint:
    """Where in ``room`` the upper left corner of words of that ``size`` goes: on that side of
    ``clear`` on which they are nearest to the pointer; below and right of the pointer where there
    is no room on any.
    """
    wide, high = size.width(), size.height()
    gap = 2.0 * GRID
    most = QPointF(max(room.width() - wide, 0.0), max(room.height() - high, 0.0))
    kept = clear.united(QRectF(pointer.x(), pointer.y(), 1.0, 1.0)).adjusted(-gap, -gap, gap, gap)
    level = min(max(pointer.y() - 0.5 * high, 0.0), most.y())
    across = min(max(pointer.x() - 0.5 * wide, 0.0), most.x())
    sides = [
        (pointer.x() - kept.left(), QPointF(kept.left() - wide, level)),
        (kept.right() - pointer.x(), QPointF(kept.right(), level)),
        (pointer.y() - kept.top(), QPointF(across, kept.top() - high)),
        (kept.bottom() - pointer.y(), QPointF(across, kept.bottom())),
    ]
    inside = [
        (far, at) for far, at in sides if 0.0 <= at.x() <= most.x() and 0.0 <= at.y() <= most.y()
    ]
    if inside:
        return min(inside, key=lambda one: one[0])[1].toPoint()
    x = pointer.x() + gap if pointer.x() + gap <= most.x() else pointer.x() - gap - wide
    return QPointF(max(x, 0.0), min(max(pointer.y() + gap, 0.0), most.y())).toPoint()


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
            self.say(NO_PLACE, pointer)
            return None
        self._tried, self._step = setup, step
        self.tried.emit(sweep)
        return sweep

    def say(self, words: str, pointer: QPointF) -> None:
        """Words beside the pointer, off what is drawn about or pointed at."""
        self.readout.say(words, pointer, self._hand.around())

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
