"""Bars across the top of the window that say what has come up and offer what can be done."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel

from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, label, prose


@dataclass(frozen=True)
class Choice:
    """A word on a button, what pressing it does, and more about that."""

    word: str
    deed: Callable[[], object]
    tip: str = ""


@dataclass(frozen=True)
class Offer:
    """A sentence and what can be done about it; ``about`` is what it names, for screen readers
    ("Delete: mine.toml"); ``tip`` says more.
    """

    sentence: str
    choices: tuple[Choice, ...]
    about: str
    tip: str = ""


class OfferBar(QFrame):
    """Offers under each other, each with its buttons; hidden while there is none."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("offer")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._rows = QGridLayout(self)
        self._rows.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        self._rows.setHorizontalSpacing(GRID)
        self._rows.setVerticalSpacing(GRID // 2)
        self._rows.setColumnStretch(0, 1)
        self._said: list[QLabel] = []
        self._buttons: list[Button] = []
        self.hide()

    def show_offers(self, offers: Sequence[Offer], head: str = "", foot: str = "") -> None:
        """Show these instead of those before, under a heading and over a closing line."""
        while item := self._rows.takeAt(0):
            if widget := item.widget():
                widget.hide()
                widget.deleteLater()
        self._said.clear()
        self._buttons.clear()
        if head:
            self._say(label(head, Type.STRONG))
        for offer in offers:
            self._put(offer)
        if foot:
            self._say(label(foot, Type.SMALL, muted=True))
        self.setVisible(bool(offers))

    @property
    def sentences(self) -> list[str]:
        """Everything that is said, from the top."""
        return [said.text() for said in self._said]

    def button(self, word: str, row: int = 0) -> Button:
        """The button of that word; of several, the one in that row. Raises IndexError."""
        return [one for one in self._buttons if one.text() == word][row]

    def _say(self, said: QLabel, columns: int = -1) -> None:
        """Put a line under the others, across so many columns (-1: all)."""
        self._rows.addWidget(said, len(self._said), 0, 1, columns)
        self._said.append(said)

    def _put(self, offer: Offer) -> None:
        row = len(self._said)
        sentence = prose()
        sentence.setText(offer.sentence)
        sentence.setToolTip(offer.tip)
        self._say(sentence, columns=1)
        # the same word stands under the same word, whatever else a row offers
        first = 4 - len(offer.choices)
        for column, choice in enumerate(offer.choices, start=first):
            button = Button(choice.word)
            button.setAccessibleName(f"{choice.word}: {offer.about}")
            button.setToolTip(choice.tip)
            button.clicked.connect(lambda _=False, deed=choice.deed: deed())
            self._rows.addWidget(button, row, column, Qt.AlignmentFlag.AlignTop)
            self._buttons.append(button)
