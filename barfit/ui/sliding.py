"""A control drawn along the bar: its perch distance changes, and everything at it goes along."""

from __future__ import annotations

from PySide6.QtCore import QObject, QPointF, Signal

from barfit import edits
from barfit.analysis import Sweep
from barfit.edits.names import find
from barfit.model import Control, Setup
from barfit.report.phrases import capital
from barfit.session import Session, at_pose
from barfit.trade.sliding import slide
from barfit.ui.attempt import Attempt
from barfit.ui.hand import Hand, Slid
from barfit.ui.words import length_text

UNLOCK = "Double-click or F2, then"


class Sliding(QObject):
    """``looked_at`` tells the name of a control that was pressed on."""

    looked_at = Signal(str)

    def __init__(self, session: Session, hand: Hand, attempt: Attempt) -> None:
        super().__init__(attempt)
        self._session, self._attempt = session, attempt
        hand.control_taken.connect(self.looked_at)
        hand.slid.connect(self._slid)

    def hint(self, name: str, locked: bool, pointer: QPointF) -> None:
        """What a control is, and how it is drawn along the bar."""
        control = find(self._session.setup.controls, name)
        how = f"{UNLOCK} drag it along the bar" if locked else "Drag it along the bar"
        self._attempt.say(f"{self._place(control)}\n{how}", pointer)

    def _slid(self, slid: Slid) -> None:
        session = self._session
        control = find(session.setup.controls, slid.control)
        # to the millimetre, as a tape tells it
        wanted = float(round(control.inboard + slid.by))
        inboard, held_by = slide(session.setup, control).held(wanted)
        edited = edits.change_control(session.setup, control.name, inboard=inboard)
        sweep = self._attempt.make(edited, f"Move {control.name}", slid.pointer)
        if sweep is None:
            return
        words = [self._place(find(edited.controls, control.name))]
        words += worst_off(sweep, edited, control.name, session)
        if held_by:
            words.append(f"No further: {held_by} is in the way")
        self._attempt.say("\n".join(words), slid.pointer)

    def _place(self, control: Control) -> str:
        far = length_text(control.inboard, self._session.unit)
        return f"{capital(control.name)}: {far} from the bar end"


def worst_off(sweep: Sweep, setup: Setup, control: str, session: Session) -> list[str]:
    """Which of the lines at a control has least slack in the pose looked at, in words; none where
    no line is at it.
    """
    held = [line.name for line in setup.lines if line.at_control(control)]
    slacks = {name: at_pose(sweep, name, session.pose).slack for name in held}
    known = {name: slack for name, slack in slacks.items() if slack == slack}
    if not slacks:
        return []
    if len(known) < len(slacks):
        unknown = next(name for name in slacks if name not in known)
        return [f"{capital(unknown)}: not known here"]
    name = min(known, key=known.__getitem__)
    return [f"{capital(name)}: slack {length_text(known[name], session.unit)}"]
