"""Keeps the job page showing what the session holds, and takes in what is decided there."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from barfit.model import By, Setup
from barfit.report.cautions import refused_line, refused_text
from barfit.report.money import total_text
from barfit.report.phrases import capital
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
from barfit.workshop.check import answered, tick_of
from barfit.workshop.checks import checks

if TYPE_CHECKING:
    from barfit.ui.window import Window

WAITING = "What can be done about each line is being worked out …"
CHECKS_WAIT = "The setup is being turned with everything done, to say what to look at …"


class Desk(QObject):
    """The job page of one window. ``opened`` tells whether it is shown."""

    opened = Signal(bool)

    def __init__(self, window: Window, third: Worker) -> None:
        """The ``third`` worker turns the setup as it will be; it starts nothing before that is
        looked at.
        """
        super().__init__(window)
        self._window, self._session = window, window.session
        self.choices, self.orders, self.costs = Choices(), Orders(), Costs()
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
            )
        )
        window.body.pages.addWidget(self.page)
        self._third = third
        self._whole: Whole | None = None
        self._after: Result | None = None  # with everything done
        self._looked = 0.0  # how far the search for remedies is
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
        result, remedies = session.result(stock=False), session.remedies
        if result is None or remedies is None or session.stale(stock=False):
            self._whole = None
            waiting = f"{WAITING} {100.0 * self._looked:.0f} %" if self._looked else WAITING
            why = session.failure or session.unproposed or waiting
            self.page.show_waiting(capital(setup.new.title), why, setup.job.by)
            return
        today = date.today()
        self._whole = now = whole(setup, result, remedies, session.unit, today, self._after)
        bill = now.money.bill(setup.job.by)
        total = total_text(bill, now.order.currency)
        brief, full = refused_line(now.rejected), refused_text(now.rejected)
        about = f"All told: {total}"
        self.page.show_head(
            capital(setup.new.title), about, setup.job.by, (typeset(brief), typeset(full))
        )
        self.making.show_setup(setup)
        shown = self.page.shown
        if isinstance(shown, Choices | Orders | Costs | Work):  # the others when they are looked at
            shown.show_whole(now, session.unit)
        misfits = sum(bool(one.ranked) for one in remedies)
        self.page.show_note("What to do", f"{misfits} lines" if misfits else "nothing")
        here = sum(one.key in setup.job.here for one in now.order.items)
        self.page.show_note("Order", f"{here} of {len(now.order.items)} here")
        self.page.show_note("Work and days", about_text(now.schedule.all_likely))
        self._show_checks(now)

    def _show_checks(self, now: Whole) -> None:
        after = self._after
        if after is not None and after.sweep.setup.asks_same(now.finished):
            found = checks(after.sweep, after.findings, after.trade, now.tasks, now.setup)
            self.checking.show_checks(now.setup, found, self._session.unit)
            ticks = [answered(one, tick_of(now.setup.job, one.key)) for one in found]
            self.page.show_note("Check list", f"{sum(ticks)} of {len(ticks)}")
            return
        self.page.show_note("Check list", "")
        air = self.page.part == "Work and days" and now.air_waits
        if self.page.part != "Check list" and not air:
            return
        if self._asked is None or not self._asked.asks_same(now.finished):
            self._asked = now.finished
            self.checking.show_none(CHECKS_WAIT)
            self._third.submit_new(now.finished)

    def _look(self, part: float) -> None:
        self._looked = part
        if self._whole is None:
            self.refresh()

    def _ask_choices(self) -> None:
        self.show(True)
        self.page.show_part("What to do")

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
