"""Bars across the top of the window that say what has come up and offer what can be done."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel

from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, label, prose

Choice = tuple[str, Callable[[], object]]


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
        self._rows.setVerticalSpacing(GRID)
        self._rows.setColumnStretch(0, 1)
        self.hide()

    def show_offers(self, offers: Sequence[Offer], head: str = "", foot: str = "") -> None:
        """Show these instead of those before, under a heading and over a closing line."""
        while item := self._rows.takeAt(0):
            if widget := item.widget():
                widget.hide()
                widget.deleteLater()
        at = 0
        if head:
            self._rows.addWidget(label(head, Type.STRONG), at, 0, 1, -1)
            at += 1
        for offer in offers:
            self._put(offer, at)
            at += 1
        if foot:
            self._rows.addWidget(label(foot, Type.SMALL, muted=True), at, 0, 1, -1)
        self.setVisible(bool(offers))

    @property
    def sentences(self) -> list[str]:
        """Everything that is said, from the top."""
        return [found.text() for found in self.findChildren(QLabel) if not found.isHidden()]

    def button(self, word: str, row: int = 0) -> Button:
        """The button of that word; of several, the one in that row. Raises IndexError."""
        found = [one for one in self.findChildren(Button) if not one.isHidden()]
        return [one for one in found if one.text() == word][row]

    def _put(self, offer: Offer, row: int) -> None:
        sentence = prose()
        sentence.setText(offer.sentence)
        sentence.setToolTip(offer.tip)
        self._rows.addWidget(sentence, row, 0)
        # the same word stands under the same word, whatever else a row offers
        first = 4 - len(offer.choices)
        for column, (word, deed) in enumerate(offer.choices, start=first):
            button = Button(word)
            button.setAccessibleName(f"{word}: {offer.about}")
            button.clicked.connect(lambda _=False, deed=deed: deed())
            self._rows.addWidget(button, row, column, Qt.AlignmentFlag.AlignTop)
