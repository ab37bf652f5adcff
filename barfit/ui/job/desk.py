"""Keeps the job page showing what the session holds, and takes in what is decided there."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from barfit.model import By, Setup
from barfit.remedies import Remedies, Trying
from barfit.report.cautions import brief, refused_line, refused_text
from barfit.report.money import total_text
from barfit.report.phrases import capital
from barfit.report.searching import searched_sentence, trying_text
from barfit.report.signing import refusals
from barfit.report.work import about_text
from barfit.session import Result
from barfit.ui.job.checking import Checking
from barfit.ui.job.choices import Choices
from barfit.ui.job.costs import Costs
from barfit.ui.job.making import Making
from barfit.ui.job.orders import Orders
from barfit.ui.job.page import JobPage
from barfit.ui.job.whole import Whole, whole
from barfit.ui.job.work import Work
from barfit.ui.words import typeset
from barfit.ui.worker import Worker
from barfit.workshop.check import answered, standing_checks, tick_of
from barfit.workshop.checks import checks

if TYPE_CHECKING:
    from barfit.ui.window import Window

WAITING = "The new bars are being turned from lock to lock …"
CHECKS_SOUGHT = (
    "Not the whole list yet: what can be done about some lines is still being worked out. These "
    "checks are on it in any case."
)
CHECKS_WAIT = (
    "Not the whole list yet: the setup is being turned with everything done, to say where to look "
    "and what slack to expect. These checks are on it in any case."
)
CHECKS_LOWER = (
    "Not the whole list yet: a lower bar is chosen. Put such a bar in as the new bars first; what "
    "has to be checked with it is not known before that. These checks are on it in any case."
)


class Desk(QObject):
    """The job page of one window. ``opened`` tells whether it is shown."""

    opened = Signal(bool)

    def __init__(self, window: Window, third: Worker) -> None:
        """The ``third`` worker turns the setup as it will be; it starts nothing before that is
        looked at.
        """
        super().__init__(window)
        self._window, self._session = window, window.session
        self.choices, self.orders, self.costs = Choices(window.theme), Orders(), Costs()
        self.work, self.checking, self.making = Work(), Checking(), Making()
        self.page = JobPage(
            (
                (
                    "What to do",
                    "What can be done about each line, and what is",
                    self.choices,
                ),
                ("Order", "What to order, and what of it is here", self.orders),
                ("Cost", "At home and in a shop, and what drives it", self.costs),
                ("Work and days", "Tasks in their order, and when there is time", self.work),
                ("Check list", "What to check before riding", self.checking),
                ("Sheets and film", "Job sheet, quote, film and data to take along", self.making),
            ),
            free="Sheets and film",
        )
        window.body.pages.addWidget(self.page)
        self._third = third
        self._whole: Whole | None = None
        self._after: Result | None = None  # with everything done
        self._looked = self._turned = 0.0  # how far the search for remedies is, and the sweeps
        self._trying: dict[str, Trying] = {}  # by line
        self._asked: Setup | None = None  # what the third worker was last given
        take = window.changing.edited
        for part in (self.choices, self.orders, self.checking):
            part.edited.connect(lambda setup, step: take(setup, step, None))
        self.choices.tried.connect(self._try)
        for form in (self.costs.edited, self.work.edited, self.orders.form_edited):
            form.connect(take)
        for told in (self.orders.said, self.work.said):
            told.connect(window.message.say)
        self.page.left.connect(lambda: self.show(False))
        self.page.by_picked.connect(self._pick_by)
        self.page.part_picked.connect(lambda _: self.refresh())
        session = self._session
        session.remedies_changed.connect(self.refresh)
        session.setup_changed.connect(self.refresh)
        session.unit_changed.connect(self.refresh)
        session.results_changed.connect(lambda _: self.refresh())
        third.finished.connect(self._finished)
        window.worker.looked.connect(self._look)
        window.worker.tried.connect(self._try_next)
        window.worker.progressed.connect(self._turn)
        window.setup_side.job.clicked.connect(lambda: self.show(True))
        window.line_side.remedies.asked.connect(self._ask_choices)
        session.remedies_changed.connect(window.mirror.show_remedies)
        third.failed.connect(self.checking.show_none)

    @property
    def on(self) -> bool:
        """Whether the page is shown."""
        return self._window.body.pages.currentWidget() is self.page

    def show(self, on: bool) -> None:
        """Show the page, or the machine again."""
        if on == self.on:
            return
        self._window.player.pause()
        body = self._window.body
        body.pages.setCurrentIndex(1 if on else 0)
        if on:
            self.refresh()
            self.page.take_focus()
        else:
            body.setFocus()
        self.opened.emit(on)

    def stop(self) -> None:
        """End at once."""
        self._third.stop()
        self.making.stop()

    def refresh(self) -> None:
        """Show the job as it stands, where it is looked at."""
        if not self.on:
            return
        session = self._session
        setup = session.setup
        self.making.show_setup(setup)
        result = session.result(stock=False)
        if result is None or session.stale(stock=False):
            self._whole = None
            waiting = f"{WAITING} {100.0 * self._turned:.0f} %" if self._turned else WAITING
            why = session.failure or waiting
            self.page.show_waiting(capital(setup.new.title), why, setup.job.by)
            self.page.search.show_search("", "", None)
            return
        remedies, sought = self._known(result)
        today = date.today()
        self._whole = now = whole(setup, result, remedies, session.unit, today, self._after, sought)
        self._show_search(now)
        bill = now.money.bill(setup.job.by)
        total = total_text(bill, now.order.currency)
        brief, full = refused_line(now.rejected), refused_text(now.rejected)
        about = f"So far: {total}" if sought else f"All told: {total}"
        self.page.show_head(
            capital(setup.new.title), about, setup.job.by, (typeset(brief), typeset(full))
        )
        shown = self.page.shown
        if isinstance(shown, Choices | Orders | Costs | Work):  # the others when they are looked at
            shown.show_whole(now, session.unit)
        misfits = [one.line for one in remedies if one.ranked]
        every = len(misfits) + len(sought)
        lines = f"{every} line{'s' * (every != 1)}" if every else "nothing"
        here = sum(one.key in setup.job.here for one in now.order.items)
        items = f"{here} of {len(now.order.items)} here"
        hours = about_text(now.schedule.all_likely)
        if now.order.waits:
            items, hours = "not known yet", "not known yet"
        if sought:
            lines, items, hours = f"{len(misfits)} of {lines}", "not all known", "not all known"
        self.page.show_note("What to do", lines)
        self.page.show_note("Order", items)
        self.page.show_note("Work and days", hours)
        self._show_checks(now, result)

    def _known(self, result: Result) -> tuple[tuple[Remedies, ...], tuple[str, ...]]:
        """What can be done about each line as far as that is known, and the lines of which it is
        not.
        """
        session = self._session
        if session.remedies is not None:
            return session.remedies, ()
        found = {
            one.line: Remedies(one.line) if one.fits else session.remedies_of(one.line)
            for one in result.findings
        }
        known = tuple(one for one in found.values() if one is not None)
        return known, tuple(name for name, one in found.items() if one is None)

    def _show_search(self, now: Whole) -> None:
        """How far the search is, over every part that hangs on it."""
        session = self._session
        free = self.page.part == "Sheets and film"
        if session.remedies is not None or free:
            self.page.search.show_search("", "", None)
            return
        if session.unproposed:
            told = f"{session.unproposed} What stands here is not complete."
            self.page.search.show_search(told, "", None)
            return
        done = sum(bool(one.ranked) for one in now.remedies)
        trying = [self._trying[name] for name in now.sought if name in self._trying]
        self.page.search.show_search(
            searched_sentence(done, done + len(now.sought)),
            trying_text((one.line, str(one.means)) for one in trying),
            self._looked,
        )

    def _show_checks(self, now: Whole, result: Result) -> None:
        after = self._after
        if now.sought:
            self._show_standing_checks(now, result, CHECKS_SOUGHT)
            return
        if now.order.waits:
            self._show_standing_checks(now, result, CHECKS_LOWER)
            return
        if after is not None and after.sweep.setup.asks_same(now.finished):
            found = checks(after.sweep, after.findings, after.trade, now.tasks, now.setup)
            said = after.remarks(self._session.unit)
            wrong = [*refusals(after.findings, said), *map(brief, now.rejected)]
            refused = tuple(dict.fromkeys(wrong))
            self.checking.show_checks(now.setup, found, self._session.unit, refused=refused)
            ticks = [answered(one, tick_of(now.setup.job, one.key)) for one in found]
            self.page.show_note("Check list", f"{sum(ticks)} of {len(ticks)}")
            return
        air = self.page.part == "Work and days" and now.air_waits
        if self.page.part != "Check list" and not air:
            return
        if self._asked is None or not self._asked.asks_same(now.finished):
            self._asked = now.finished
            self._third.submit_new(now.finished)
        self._show_standing_checks(now, result, CHECKS_WAIT)

    def _show_standing_checks(self, now: Whole, result: Result, why: str) -> None:
        """Those that are on the list whatever comes of the rest."""
        self.page.show_note("Check list", "not all known")
        if self.page.part != "Check list":
            return
        found = checks(result.sweep, result.findings, result.trade, now.tasks, now.setup)
        self.checking.show_checks(now.setup, standing_checks(found), self._session.unit, why)

    def _look(self, part: float) -> None:
        self._looked = part
        if not part:
            self._trying.clear()
        if self.on and self._whole is not None:
            self._show_search(self._whole)
        else:
            self.refresh()

    def _turn(self, part: float) -> None:
        self._turned = part
        if self._whole is None:
            self.refresh()

    def _try_next(self, trying: Trying) -> None:
        self._trying[trying.line] = trying
        if self.on and self._whole is not None:
            self._show_search(self._whole)

    def _ask_choices(self) -> None:
        self.show(True)
        self.page.show_part("What to do")
        self.choices.show_line(self._session.selected)

    def _finished(self, result: Result) -> None:
        self._after = result
        self.refresh()

    def _try(self, setup: Setup, step: str) -> None:
        self._window.changing.take(setup, step)
        self.show(False)

    def _pick_by(self, by: By) -> None:
        setup = self._session.setup
        setup = replace(setup, job=replace(setup.job, by=by))
        self._window.changing.take(setup, f"Done {'at home' if by is By.HOME else 'in a shop'}")
