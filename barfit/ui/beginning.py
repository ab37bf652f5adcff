"""Beginning a setup of one's own in the window, measuring it, and adding lines to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from barfit.measuring.things import Part, Thing
from barfit.model import Setup
from barfit.session import line_names
from barfit.ui.add_line import AddLine
from barfit.ui.offers import Choice, Offer

if TYPE_CHECKING:
    from barfit.ui.window import Window

_TOLD = "This machine is invented. A setup of your own begins from the one nearest to yours."


class Beginning:
    """Leads one window from a new setup on to measuring it."""

    def __init__(self, window: Window) -> None:
        self._window, self._session, self._body = window, window.session, window.body
        side = self._body.measure_side
        side.edited.connect(window.changing.edited)
        side.done.connect(window.changing.answer)
        side.looked.connect(self._look_at)
        window.setup_side.measure_asked.connect(self.measure)
        window.documents.begun.connect(self._begun)
        window.documents.opened.connect(self._body.welcome.hide)

    def offer(self) -> None:
        """Offer to begin a setup of the user's own: what is open is a machine made up."""
        choices = (
            Choice("New setup…", self._window.documents.ask_new, "Your own machine (Ctrl+N)"),
            Choice("Not now", self._body.welcome.hide, "It stays in the File menu"),
        )
        self._body.welcome.show_offers([Offer(_TOLD, choices, "a setup of your own")])

    def measure(self) -> None:
        """What to measure next, on the left."""
        changing = self._window.changing
        changing.show_line_page(False)
        self._body.left.setCurrentWidget(self._body.measure_side)
        self._body.measure_side.begin()
        self._body.measure_side.list.setFocus()
        changing.show_stations()
        changing.warm_up()

    def ask_line(self) -> None:
        """A line more, between an outlet and a place."""
        asking_for = AddLine(self._window, self._session.setup, self._session.unit)
        asking_for.wanted.connect(self._add_line)
        asking_for.open()

    def _begun(self) -> None:
        """A setup was begun: it has to be measured before anything it says counts."""
        self._body.welcome.hide()
        self.measure()

    def _look_at(self, thing: Thing) -> None:
        """The line that what is measured belongs to is the one selected."""
        if thing.part in (Part.LINE, Part.STATION):
            self._session.select(thing.which)

    def _add_line(self, setup: Setup) -> None:
        name = setup.lines[-1].name
        self._window.changing.take(setup, f"Add {name}")
        if name in line_names(self._session.setup):
            self._session.select(name)
