"""Offers to bring back unsaved changes that a process left behind when it ended."""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime, timedelta
from functools import partial

from PySide6.QtCore import QLocale, QObject, QTime, Signal
from PySide6.QtWidgets import QWidget

from barfit import scenario
from barfit.recovery import About, Left, RecoveryError
from barfit.session import Session
from barfit.ui import asking
from barfit.ui.autosave import Autosave
from barfit.ui.documents import Documents
from barfit.ui.offers import Choice, Offer, OfferBar

MOST = 3  # at a time; the next moves up when one is dealt with
STEP = "Bring back unsaved changes"


class LeftBehind(QObject):
    """Fills a bar with what was left behind. ``refused`` tells in a sentence what did not work."""

    refused = Signal(str)

    def __init__(
        self,
        window: QWidget,
        bar: OfferBar,
        session: Session,
        documents: Documents,
        autosave: Autosave,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._bar = bar
        self._session = session
        self._documents = documents
        self._autosave = autosave
        self._left: list[Left] = []

    def look(self) -> None:
        """Find what was left behind, and offer it."""
        try:
            self._left += self._autosave.store.left()
        except RecoveryError as error:
            self.refused.emit(str(error))
        self._show()

    def _bring_back(self, left: Left) -> None:
        about = left.about
        assert about is not None
        try:
            setup = left.setup()
        except scenario.ScenarioError as error:
            self.refused.emit(f"Not brought back: {about.name}: {error.problems[0]}.")
            return
        if not self._documents.may_leave():
            return
        try:
            self._autosave.take_over(left)
        except RecoveryError as error:
            self.refused.emit(str(error))
        self._forget(left)
        self._session.bring_back(setup, about.path, about.known, STEP)
        self._documents.opened.emit()

    def _leave(self, left: Left) -> None:
        self._autosave.store.leave(left)
        self._forget(left)

    def _delete(self, left: Left) -> None:
        name = f"“{left.about.name}”" if left.about is not None else "a setup"
        question = f"Delete the unsaved changes to {name} for good?"
        if not asking.ask(self._window, "Unsaved changes", question, "", ["Delete"]):
            return
        try:
            self._autosave.store.delete(left)
        except RecoveryError as error:
            self.refused.emit(str(error))
            return
        self._forget(left)

    def _forget(self, left: Left) -> None:
        self._left.remove(left)
        self._show()

    def _show(self) -> None:
        names = Counter(left.about.name for left in self._left if left.about is not None)
        several = len(self._left) > 1
        more = len(self._left) - MOST
        self._bar.show_offers(
            [self._offer(left, several, names) for left in self._left[:MOST]],
            "Unsaved changes were left behind" if several else "",
            f"and {more} more, shown when these are dealt with" if more > 0 else "",
        )

    def _offer(self, left: Left, several: bool, names: Counter[str]) -> Offer:
        about = left.about
        others = (
            Choice("Leave", partial(self._leave, left), "Offer it again at the next start"),
            Choice("Delete", partial(self._delete, left), "Delete it for good"),
        )
        if about is None:
            told = f"A copy of unsaved changes cannot be brought back: it {left.problem}."
            return Offer(told, others, left.at.name, str(left.at))
        clash = names[about.name] > 1 and about.path is not None
        name = f"“{about.name}”" + (f" in {about.path.parent}" if clash and about.path else "")
        tip = f"{about.path or about.title}\nCopy: {left.at}"
        if left.problem:
            told = f"Unsaved changes to {name} cannot be brought back: the copy {left.problem}."
            return Offer(told, others, about.name, tip)
        last = f"Last edit: {about.edit}," if about.edit else "Kept"
        start = f"{name}. " if several else f"Unsaved changes to {name} were left behind. "
        back = "Open it as unsaved changes; the file stays as it is"
        choices = (Choice("Bring back", partial(self._bring_back, left), back), *others)
        return Offer(f"{start}{last} {when(about)}.", choices, about.name, tip)


def when(about: About, today: date | None = None) -> str:
    """When a copy was kept, by the local clock: "today at 14:32"."""
    local = about.when.astimezone()
    today = today or datetime.now().astimezone().date()
    days = {today: "today", today - timedelta(days=1): "yesterday"}
    day = days.get(local.date()) or f"on {local.day} {local:%B %Y}"
    clock = QTime(local.hour, local.minute)
    time = QLocale.system().toString(clock, QLocale.FormatType.ShortFormat)
    return f"{day} at {time}"
