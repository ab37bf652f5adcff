"""The left side while the machine is being measured: what comes next, where the tape goes, and what
it does to the worst line.
"""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QWidget

from barfit.analysis import LineFinding
from barfit.forms import Field
from barfit.measuring import Thing, Weighed, count, mark, page, things, weighed, worst_known
from barfit.measuring.things import Part
from barfit.measuring.words import change_words, how_words, margin_words, share_words
from barfit.model import How, Setup
from barfit.report.phrases import capital, within
from barfit.session import Result
from barfit.ui.field_row import FieldRow
from barfit.ui.form_side import FormSide
from barfit.ui.rows import Row, Rows
from barfit.ui.theme import GRID, Theme, Type
from barfit.ui.widgets import Button, label, prose
from barfit.ui.words import typeset

SHORT = 8  # what is listed of what is left, before all of it is asked for
_LIST = 15 * GRID  # px
_STAND = ("It stands as it is", "These {} as they stand")  # one that was not typed in, or more
_ALL = "all"  # the row that shows the rest


class MeasureSide(FormSide):
    """``looked`` tells what is looked at."""

    looked = Signal(object)

    def __init__(self, theme: Theme) -> None:
        super().__init__(theme, "Measure the machine", "What to enter")
        self._setup: Setup | None = None
        self._unit = "mm"
        self._result: Result | None = None  # the last that belongs to what is shown
        self._stale = True
        self._failure: str | None = None
        self._thing: Thing | None = None
        self._whole = False  # all of what is left is listed
        self._order: tuple[Weighed, ...] = ()
        self._passed: set[Thing] = set()  # what was left for later, this time round
        self._before: tuple[str, LineFinding] | None = None  # what was done last, and from where
        self.back.setToolTip("What is not measured yet can be taken up again at any time (Esc)")
        self._count = label(step=Type.STRONG)
        self._part = QProgressBar()
        self._part.setTextVisible(False)
        self._part.setAccessibleName("Measured so far")
        self._worst = prose(Type.SMALL)
        self._heads = label(step=Type.SMALL, muted=True)
        self.list = Rows("What to measure, the most telling first")
        self.list.setFixedHeight(_LIST)
        self.list.picked.connect(self._picked)
        self._name = label(step=Type.STRONG)
        self._name.setWordWrap(True)
        self._deed = prose(Type.SMALL, muted=True)
        self._share = prose(Type.SMALL)
        self._given: dict[Thing, set[tuple[str, str]]] = {}  # what was typed in, by heading and key
        self._asked: tuple[Thing, How] | None = None  # whether the rest stands is being asked
        self.form.edited.connect(self._edited)
        self.form.confirmed.connect(self._give)
        self.stand = prose(Type.SMALL)
        self.stand.hide()
        self.measured = Button("Measured")
        self.measured.setProperty("role", "main")
        self.measured.clicked.connect(lambda: self._found(How.TAPE))
        self.by_eye = Button("By eye")
        self.by_eye.clicked.connect(lambda: self._found(How.EYEBALLED))
        self.later = Button("Not yet")
        self.later.setToolTip("Leave it as not measured; on to the next")
        self.later.clicked.connect(lambda: self._found(How.NOT_MEASURED))
        self.later.setAccessibleDescription(self.later.toolTip())
        self._ask(None)
        self._lay_out()

    @property
    def thing(self) -> Thing | None:
        """What is looked at."""
        return self._thing

    @property
    def said(self) -> str:
        """What is said of the worst line."""
        return self._worst.text()

    def show_setup(
        self, setup: Setup, unit: str, result: Result | None, stale: bool, failure: str | None
    ) -> None:
        """The setup as it is now, and what is known of it; ``stale``: of the one before;
        ``failure`` why nothing is to come, None where that is not so.
        """
        self._failure = failure
        self._setup, self._unit, self._stale = setup, unit, stale or result is None
        self._result = result
        if self.isVisible():
            self._refresh()

    def look_at(self, thing: Thing) -> None:
        """Show this thing's page."""
        self._thing = thing
        self._ask(None)
        self._refresh()
        self.looked.emit(thing)

    def begin(self) -> None:
        """Show what comes first."""
        self._thing = self._before = None
        self._given.clear()
        self._ask(None)
        self._passed.clear()
        self._refresh()
        if self._thing is not None:
            self.looked.emit(self._thing)

    def showEvent(self, event: QShowEvent) -> None:
        """What changed meanwhile is shown too."""
        super().showEvent(event)
        self._refresh()

    def _lay_out(self) -> None:
        head = self.head
        head.setSpacing(GRID // 2)
        for part in (self._count, self._part, self._worst):
            head.addWidget(part)
        head.addSpacing(GRID // 2)
        head.addWidget(self._heads)
        head.addWidget(self.list)
        head.addSpacing(GRID // 2)
        for part in (self._name, self._share):
            head.addWidget(part)
        head.addWidget(self.drawing)
        self.inner.insertWidget(0, self._deed)
        self.inner.addStretch(1)
        buttons = QHBoxLayout()
        buttons.setContentsMargins(2 * GRID, GRID, 2 * GRID, 2 * GRID)
        buttons.setSpacing(GRID)
        for button in (self.measured, self.by_eye, self.later):
            buttons.addWidget(button)
        buttons.addStretch(1)
        asking = QHBoxLayout()
        asking.setContentsMargins(2 * GRID, GRID, 2 * GRID, 0)
        asking.addWidget(self.stand)
        self.column.addLayout(asking)
        self.column.addLayout(buttons)

    def _refresh(self) -> None:
        setup = self._setup
        if setup is None:
            return
        findings = self._result.findings if self._result is not None else ()
        every = things(setup, findings)
        if not self._stale or not self._order:
            self._order = weighed(setup, findings)
        self._order = tuple(  # what is measured meanwhile goes at once, what comes to be is added
            one
            for one in self._order
            if one.thing in every and one.thing.how(setup) is How.NOT_MEASURED
        )
        known = {one.thing for one in self._order}
        self._order += tuple(one for one in weighed(setup, ()) if one.thing not in known)
        if self._thing not in every:
            self._thing = self._order[0].thing if self._order else every[0]
        done, whole = count(setup, findings)
        self._count.setText(f"{done} of {whole} measured")
        worst = worst_known(findings)
        of = f", and its part of that ± ({self._unit})" if worst is not None else ""
        self._heads.setText(f"What comes next{of}" if self._order else "All of it")
        self._part.setRange(0, whole)
        self._part.setValue(done)
        self._show_worst(findings)
        self._show_list(setup, every)
        self._show_page(setup)

    def _show_worst(self, findings: tuple[LineFinding, ...]) -> None:
        """How the worst line stands, and what the last change did to it."""
        if self._stale:
            failed = f"Not worked out. {self._failure}" if self._failure else ""
            self._worst.setText(typeset(failed) or "Being worked out …")
            return
        worst = worst_known(findings)
        told = "" if worst is None else f"{capital(worst.line)} {margin_words(worst, self._unit)}."
        if self._before is not None:
            what, before = self._before
            now = next((one for one in findings if one.line == before.line), None)
            if now is not None:
                told = change_words(what, before, now, self._unit)
        self._worst.setText(typeset(told))

    def _show_list(self, setup: Setup, every: tuple[Thing, ...]) -> None:
        order = self._order if self._whole else self._order[:SHORT]
        rows = [self._row(setup, one) for one in order]
        rest = len(self._order) - len(order)
        listed = {one.thing for one in order}
        if self._thing is not None and self._thing not in listed:
            rows.insert(0, self._other(setup, self._thing))
            listed.add(self._thing)
        if rest:
            rows.append(Row(f"{rest} more, which tell less …", _ALL, "Show all that is left"))
        if self._whole or not self._order:
            rows += [
                self._other(setup, one)
                for one in every
                if one not in listed and one.how(setup) is not How.NOT_MEASURED
            ]
        self.list.show_rows(rows, self._thing)

    def _row(self, setup: Setup, one: Weighed) -> Row:
        much = f"  ± {2.0 * one.share:.0f}" if one.share >= 0.5 and self._unit == "mm" else ""
        if self._unit == "in" and one.share >= 0.5:
            much = f"  ± {2.0 * one.share / 25.4:.1f}"
        why = "Everything hangs on it" if one.must else ""
        tip = ", ".join(filter(None, ("Not measured yet", why)))
        return Row(f"○  {capital(one.thing.name(setup))}{much}", one.thing, tip)

    def _other(self, setup: Setup, thing: Thing) -> Row:
        how = how_words(thing.how(setup), self._unit)
        sign = "○" if thing.how(setup) is How.NOT_MEASURED else "✓"
        return Row(f"{sign}  {capital(thing.name(setup))}", thing, capital(how))

    def _show_page(self, setup: Setup) -> None:
        thing = self._thing
        assert thing is not None
        how = how_words(thing.how(setup), self._unit)
        self._name.setText(f"{capital(thing.name(setup))}: {how}")
        path = None
        if self._result is not None and thing.part in (Part.LINE, Part.STATION):
            path = straight_ahead(self._result, thing.which)
        shown = page(setup, thing, self._unit, path)
        self._deed.setText(shown.deed)
        self.form.show_groups(shown.groups, shown.views, self._unit)
        weigh = next((one for one in self._order if one.thing == thing), None)
        findings = self._result.findings if self._result is not None else ()
        worst = worst_known(findings)
        told = ""
        if weigh is not None and worst is not None and not self._stale:
            told = share_words(setup, weigh, worst, self._unit)
        self._share.setText(typeset(told))
        self._share.setVisible(bool(told))
        QWidget.setTabOrder(self.form.follow(self.list), self.measured)
        QWidget.setTabOrder(self.measured, self.by_eye)
        QWidget.setTabOrder(self.by_eye, self.later)

    def _picked(self, value: object) -> None:
        if value == _ALL:
            self._whole = True
            self._refresh()
        elif isinstance(value, Thing):
            self.look_at(value)

    def _edited(self, setup: Setup | None, step: str, row: object) -> None:
        self._remember()
        self.edited.emit(setup, step, row)
        if isinstance(row, FieldRow) and not row.refusal:
            self._give(row)

    def _give(self, row: FieldRow) -> None:
        """What a field says was typed in, for this thing."""
        if self._thing is not None and row in self.form.rows:
            self._given.setdefault(self._thing, set()).add(self.form.place(row))
        self._ask(None)

    def _left(self, thing: Thing) -> tuple[Field, ...]:
        """The fields of the page that say something that was not typed in."""
        given = self._given.get(thing, set())
        return tuple(
            field
            for place, field in self.form.fields().items()
            if place not in given and field.value is not None
        )

    def _ask(self, how: How | None) -> None:
        """Ask whether what was not typed in stands as it is, naming it all: it may be out of sight.
        None asks nothing.
        """
        thing = self._thing
        left = self._left(thing) if thing is not None and how is not None else ()
        asks = thing is not None and how is not None and bool(left)
        self._asked = (thing, how) if thing is not None and how is not None and asks else None
        for button, own, words, tip in (
            (self.measured, How.TAPE, "Measured", "All of it was found with a tape"),
            (self.by_eye, How.EYEBALLED, "By eye", "All of it was estimated by eye"),
        ):
            mine = asks and own is how
            button.setText(_STAND[len(left) > 1].format(len(left)) if mine else words)
            button.setToolTip(f"{tip}; on to the next")
            button.setAccessibleDescription(button.toolTip())
        named = ", ".join(f"{within(one.label)} {one.text(self._unit)}" for one in left)
        found = "measured" if how is How.TAPE else "estimated by you"
        self.stand.setText(typeset(f"Not typed in by you: {named}. Was that {found} too?"))
        self.stand.setVisible(asks)

    def _remember(self) -> None:
        """From where the worst line set out, for what is done to this thing."""
        thing, setup = self._thing, self._setup
        if thing is None or setup is None or self._result is None or self._stale:
            return
        what, worst = thing.name(setup), worst_known(self._result.findings)
        if worst is not None and (self._before is None or self._before[0] != what):
            self._before = what, worst

    def _found(self, how: How) -> None:
        """The thing was found that way: go on to the next."""
        for row in self.form.rows:
            row.commit()
        if any(row.refusal for row in self.form.rows):
            return  # what was typed there has not been taken
        thing, setup = self._thing, self._setup
        if thing is None or setup is None:
            return
        new = how is not How.NOT_MEASURED and thing.how(setup) is not how
        if new and self._asked != (thing, how) and self._left(thing):
            self._ask(how)
            return  # until they are typed in, or said to stand
        self._ask(None)
        if how is How.NOT_MEASURED:
            self._passed.add(thing)
        following = self._following()
        if thing.how(setup) is not how:
            self._remember()
            step = {How.TAPE: "Measure", How.EYEBALLED: "Estimate"}.get(how, "Leave unmeasured:")
            self.edited.emit(mark(setup, thing, how), f"{step} {thing.name(setup)}", None)
        if following is not None:
            self.look_at(following)

    def _following(self) -> Thing | None:
        """The most telling of what is left and was not passed over; then from the top again."""
        left = [one.thing for one in self._order if one.thing != self._thing]
        if not any(one not in self._passed for one in left):
            self._passed.clear()
        return next((one for one in left if one not in self._passed), None)


def straight_ahead(result: Result, line: str) -> np.ndarray | None:
    """How a line lies straight ahead at ride height (n, 3); None where that is not known."""
    swept = next((one for one in result.sweep.lines if one.name == line), None)
    if swept is None:
        return None
    row, at = int(abs(swept.travels).argmin()), int(abs(result.sweep.angles).argmin())
    shape: np.ndarray = swept.shapes[row, at]
    return shape if swept.converged[row, at] else None
