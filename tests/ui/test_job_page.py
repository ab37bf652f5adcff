"""The job page, driven as a person would: choose, tick, price, sign, and undo all of it."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
import sweeps
from made import InstantWorker
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QCheckBox,
    QFileDialog,
    QFrame,
    QLabel,
    QLineEdit,
    QPushButton,
    QWidget,
)

from barfit import scenario
from barfit.analysis import Verdict
from barfit.edits.job import ticked
from barfit.film import draft_prefix
from barfit.model import By, Setup
from barfit.remedies import Means, Remedies, Remedy, Trying
from barfit.report.plan import NO_CALENDAR
from barfit.trade import Hydraulics
from barfit.ui.field_row import FieldRow
from barfit.ui.job import desk as desk_module
from barfit.ui.job.choices import take
from barfit.ui.job.making import THINGS, Making, ended, kinds_text
from barfit.ui.job.margin_bar import scale_of
from barfit.ui.job.whole import Whole, whole
from barfit.ui.window import Window
from barfit.workshop.orders import OrderItem
from barfit.workshop.tasks import Task, tasks
from barfit.workshop.together import together

LINE = "clutch cable"
SCENARIOS = Path(__file__).parents[2] / "scenarios"
SHIFT_CONTROL = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier


def remedies(window: Window, name: str = LINE) -> tuple[Remedies, ...]:
    """Two ways to cure one line, made up, which comes first; the others may stay."""
    setup = window.session.setup

    def longer(means: Means, by: float) -> Remedy:
        old = setup.line(name)
        lines = tuple(
            replace(one, length=one.length + by) if one is old else one for one in setup.lines
        )
        return Remedy(
            line=name,
            means=means,
            setup=replace(setup, lines=lines),
            verdict=Verdict.REACHES,
            margin=by - 150.0,
            sigma=5.0,
            length=old.length + by,
            longer=by,
            gain=by,
        )

    ways = (longer(Means.NEXT_SIZE, 200.0), longer(Means.MADE_UP, 175.0))
    found = [Remedies(line.name, ways if line.name == name else ()) for line in setup.lines]
    return tuple(sorted(found, key=lambda one: not one.ranked))


@pytest.fixture
def job(window: Window, qtbot) -> Window:
    """The window with its job page open by the key for it."""
    window.session.propose(window.session.setup, remedies(window))
    QTest.keyClick(window, Qt.Key.Key_F6)
    assert window.desk.on
    return window


def answer_all(job: Window) -> None:
    """Every check with its answer, as one step."""
    setup = job.session.setup
    done = setup.job
    for check in job.desk.checking.checks:
        done = ticked(done, check.key, done=True, found=20.0, note="DOT 4")
    job.session.edit(replace(setup, job=done), "All checks")


def sign(job: Window) -> None:
    """Type a name and Return."""
    name = job.desk.checking.name
    name.setFocus()
    QTest.keyClicks(name, "A. Rider")
    QTest.keyClick(name, Qt.Key.Key_Return)


def named(part: QWidget, kind: type[QWidget], name: str) -> QWidget:
    (found,) = (
        one for one in part.findChildren(kind) if one.accessibleName() == name and one.isVisible()
    )
    return found


def test_before_the_bars_are_turned_the_page_says_how_far_that_is(make_window, qtbot) -> None:
    worker = InstantWorker()
    worker.held = True
    window = make_window(worker=worker)
    QTest.keyClick(window, Qt.Key.Key_F6)
    page = window.desk.page
    worker.progressed.emit(0.4)
    assert page.waiting_text.endswith("40 %")
    assert page.search.text == ""
    page.show_part("Sheets and film")
    assert window.desk.making.isVisible(), "what waits for nothing is there at once"
    worker.held = False
    worker.answer()
    assert page.waiting_text == ""


def test_while_remedies_are_sought_nothing_looks_finished(window: Window) -> None:
    """What is known is shown as it comes; what is not complete says so and is not taken along."""
    desk, page = window.desk, window.desk.page
    setup = window.session.setup
    misfits = [one.line for one in window.session.result(stock=False).findings if not one.fits]
    assert len(misfits) == 2
    QTest.keyClick(window, Qt.Key.Key_F6)
    window.worker.looked.emit(0.4)
    window.worker.tried.emit(Trying(misfits[0], Means.REROUTE))
    assert "0 of 2 lines done" in page.search.text
    assert "40 %" in page.search.text
    assert f"{misfits[0]}, re-route" in page.search.text
    assert [*desk.choices.lines.buttons] == misfits
    page.show_part("Order")
    assert "Not complete" in " ".join(
        one.text() for one in desk.orders.findChildren(QLabel) if one.isVisible()
    )
    assert not desk.orders.copy.isEnabled()
    page.show_part("Work and days")
    assert not desk.work.calendar.isEnabled()
    assert not any("the work may start" in one.text() for one in desk.work.findChildren(QLabel))
    page.show_part("Cost")
    assert all(
        text.startswith("at least") or text == "not known" for text in desk.costs.rows.words[-1][1:]
    )
    page.show_part("Check list")
    assert desk.checking.rows.words, "what is on the list in any case can be ticked"
    assert not desk.checking.sign.isVisible()
    box = next(one for one in desk.checking.findChildren(QCheckBox) if one.isVisible())
    QTest.mouseClick(box, Qt.MouseButton.LeftButton, pos=box.rect().center())
    assert [one.done for one in window.session.setup.job.ticks] == [True]
    window.worker.found.emit(setup, remedies(window, misfits[0])[0])
    assert "1 of 2 lines done" in page.search.text
    page.show_part("What to do")
    desk.choices.show_line(misfits[0])
    assert (misfits[0], "made_up") in desk.choices.means.options
    desk.choices.show_line(misfits[1])
    assert not desk.choices.means.options
    page.show_part("Sheets and film")
    assert page.search.text == ""
    page.show_part("Order")
    window.worker.unproposed.emit("It broke off.")
    assert page.search.text.startswith("It broke off.")
    assert not desk.orders.copy.isEnabled()
    window.worker.proposed.emit(setup, remedies(window))
    assert page.search.text == ""
    assert desk.orders.copy.isEnabled()


def test_the_page_opens_and_shuts_by_its_key_and_by_escape(job: Window) -> None:
    QTest.keyClick(job, Qt.Key.Key_F6)
    assert not job.desk.on
    QTest.mouseClick(job.setup_side.job, Qt.MouseButton.LeftButton)
    assert job.desk.on
    QTest.keyClick(job.desk.page, Qt.Key.Key_Escape)
    assert not job.desk.on


def test_what_is_taken_is_kept_in_the_setup_and_ordered(job: Window) -> None:
    session, desk = job.session, job.desk
    submitted = len(job.worker.submitted)
    option = desk.choices.means.options[LINE, "made_up"]
    QTest.mouseClick(option, Qt.MouseButton.LeftButton)
    assert [(one.line, one.remedy) for one in session.setup.job.choices] == [(LINE, "made_up")]
    assert not session.stale()
    assert len(job.worker.submitted) == submitted, "a decision about the job is no new question"
    desk.page.show_part("Order")
    assert any("made up" in row[1].lower() for row in desk.orders.rows.words if len(row) > 1)
    again = scenario.loads(scenario.dumps(session.setup))
    assert again.job == session.setup.job
    session.undo()
    assert not session.setup.job.choices


def test_with_a_lower_bar_taken_nothing_of_it_is_known(job: Window, tmp_path) -> None:
    session, desk = job.session, job.desk
    setup = session.setup
    lower = Remedy(LINE, Means.LOWER_BAR, setup, Verdict.REACHES, 12.0, 3.0, by=15.0)
    every = tuple(
        Remedies(line.name, (lower,) if line.name == LINE else ()) for line in setup.lines
    )
    session.propose(setup, every)
    told = "Put such a bar in as the new bars first"
    for part, shown in (
        ("Order", desk.orders),
        ("Cost", desk.costs),
        ("Work and days", desk.work),
        ("Check list", desk.checking),
    ):
        desk.page.show_part(part)
        words = " ".join(one.text() for one in shown.findChildren(QLabel) if one.isVisible())
        assert told in words, part
        assert "USD 0" not in words
        assert "the work may start" not in words
        assert "no day on which there is time" not in words
    assert any("not known" in one.text() for one in desk.page.findChildren(QLabel))
    said: list[str] = []
    desk.work.said.connect(said.append)
    desk.work.save_calendar(tmp_path / "days.ics")
    assert said == [NO_CALENDAR]
    assert not (tmp_path / "days.ics").exists()


def test_what_is_taken_for_one_of_a_pair_is_taken_for_both() -> None:
    setup = scenario.load(SCENARIOS / "naked-standard.toml")
    pull, back = "throttle pull cable", "throttle return cable"

    def choosing(setup: Setup, line: str, means: Means, *together: str) -> Setup:
        remedy = Remedy(line, means, setup, Verdict.REACHES, 10.0, together=together)
        return take(setup, remedy)

    setup = choosing(setup, LINE, Means.MADE_UP)
    setup = choosing(setup, back, Means.MADE_UP, pull)
    setup = choosing(setup, pull, Means.NEXT_SIZE, back)
    kept = {one.line: one.remedy for one in setup.job.choices}
    assert kept == {LINE: "made_up", pull: "next_size", back: "next_size"}


def test_air_is_looked_for_in_the_hoses_as_they_will_be_laid(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    setup = sweeps.setup("touring-hydraulic")
    hose = next(one for one in setup.lines if one.kind == "brake_hose")
    by = replace(hose, length=hose.length + 50.0)
    longer = replace(setup, lines=tuple(by if one is hose else one for one in setup.lines))
    cure = Remedy(hose.name, Means.NEXT_SIZE, longer, Verdict.REACHES, 20.0, 5.0, longer=50.0)
    ways = tuple(Remedies(line.name, (cure,) if line is hose else ()) for line in setup.lines)
    now = sweeps.result(setup)
    then = sweeps.result(together(setup, {hose.name: cure}, ()).setup)
    assert then.sweep.setup.line(hose.name).length == hose.length + 50.0
    looked: list[object] = []

    def noted(
        setup: Setup,
        taken: Mapping[str, Remedy | None],
        figures: Hydraulics | None,
        items: Iterable[OrderItem],
    ) -> tuple[Task, ...]:
        looked.append(figures)
        return tasks(setup, taken, figures, items)

    monkeypatch.setattr("barfit.ui.job.whole.tasks", noted)
    today = date(2026, 11, 28)
    assert whole(setup, now, ways, "mm", today).air_waits
    assert whole(setup, now, ways, "mm", today, after=now).air_waits, "of another setup"
    known = whole(setup, now, ways, "mm", today, after=then)
    assert any(task.opened for task in known.tasks)
    assert not known.air_waits
    none = tuple(Remedies(line.name) for line in setup.lines)
    assert not whole(setup, now, none, "mm", today).air_waits, "they stay as they are"
    assert looked == [None, None, then.trade.hydraulics, now.trade.hydraulics]


def test_trying_a_remedy_changes_the_machine_and_goes_there(job: Window) -> None:
    before = job.session.setup.line(LINE).length
    button = next(
        one
        for one in job.desk.choices.findChildren(QWidget)
        if one.accessibleName().startswith("Try it:") and one.isVisible()
    )
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert job.session.setup.line(LINE).length == before + 200.0
    assert not job.desk.on
    job.session.undo()
    assert job.session.setup.line(LINE).length == before


def test_parts_are_ticked_off_as_they_arrive_by_the_keyboard(job: Window) -> None:
    desk = job.desk
    desk.page.show_part("Order")
    box = next(one for one in desk.orders.findChildren(QCheckBox) if one.isVisible())
    name = box.accessibleName()
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Space)
    assert len(job.session.setup.job.here) == 1
    again = named(desk.orders, QCheckBox, name)
    assert again.isChecked()
    assert again.hasFocus(), "the keyboard stays where it was"
    assert job.session.undo_name == f"Here: {name.removeprefix('Here: ')}"


def price_row(window: Window) -> FieldRow:
    """The row of the last price of one's own."""
    form = window.desk.costs.form
    return [row for row in form.rows if form.place(row)[0] == "Prices of your own"][-1]


def test_a_price_of_ones_own_moves_the_sum(job: Window) -> None:
    desk = job.desk
    desk.page.show_part("Cost")
    before = desk.costs.rows.words[-1]
    row = price_row(job)
    assert isinstance(row.editor, QLineEdit)
    row.editor.setFocus()
    QTest.keyClicks(row.editor, "900 to 950")
    QTest.keyClick(row.editor, Qt.Key.Key_Return)
    (price,) = job.session.setup.job.prices[-1:]
    assert price.range == (900.0, 950.0)
    assert desk.costs.rows.words[-1] != before
    row = price_row(job)
    row.editor.selectAll()
    QTest.keyClicks(row.editor, "cheap")
    QTest.keyClick(row.editor, Qt.Key.Key_Return)
    name, _, why = row.refusal.partition(": ")
    assert name in [label.text() for label in row.findChildren(QLabel)]
    assert why == (
        "'cheap' is not a number; give a plain number, or the least and the most, like 60 to 90."
    )
    assert job.session.setup.job.prices[-1].range == (900.0, 950.0)


def test_a_sellers_set_is_typed_in_and_held_against_the_order(job: Window) -> None:
    desk = job.desk
    desk.page.show_part("Order")
    before = len(job.session.setup.job.sets)
    QTest.mouseClick(desk.orders.add_set, Qt.MouseButton.LeftButton)
    *_, added = job.session.setup.job.sets
    assert len(job.session.setup.job.sets) == before + 1
    editor = desk.orders.form.row(f"Set '{added.name}'", "price").editor
    assert isinstance(editor, QLineEdit)
    editor.setFocus()
    editor.selectAll()
    QTest.keyClicks(editor, "260 to 290")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    row = desk.orders.form.row(f"Line 1 of set '{added.name}'", "longer")
    assert isinstance(row.editor, QLineEdit)
    row.editor.setFocus()
    row.editor.selectAll()
    QTest.keyClicks(row.editor, "200 mm")
    QTest.keyClick(row.editor, Qt.Key.Key_Return)
    *_, added = job.session.setup.job.sets
    assert added.price == (260.0, 290.0)
    assert added.parts[0].longer == 200.0
    assert f"'{added.name}'" in desk.orders.sets_text
    button = desk.orders.form.button(f"Set '{added.name}'", "Delete set")
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert len(job.session.setup.job.sets) == before


def test_who_does_it_changes_the_plan(job: Window) -> None:
    QTest.mouseClick(job.desk.page.by.button(By.SHOP), Qt.MouseButton.LeftButton)
    assert job.session.setup.job.by is By.SHOP


def stands(window: Window) -> Whole:
    """The job as it stands, worked out from what the window holds."""
    session = window.session
    result = session.result(stock=False)
    assert result is not None
    assert session.remedies is not None
    return whole(session.setup, result, session.remedies, session.unit, date.today())


def typed(row: FieldRow, text: str) -> None:
    """What the row holds, typed over by keys and entered."""
    assert isinstance(row.editor, QLineEdit)
    row.editor.setFocus()
    row.editor.selectAll()
    QTest.keyClicks(row.editor, text)
    QTest.keyClick(row.editor, Qt.Key.Key_Return)


def test_closed_days_of_a_shop_are_typed_and_the_days_of_work_keep_clear_of_them(
    job: Window,
) -> None:
    desk = job.desk
    QTest.mouseClick(desk.page.by.button(By.SHOP), Qt.MouseButton.LeftButton)
    desk.page.show_part("Work and days")
    before = stands(job).schedule.days[0].day
    until = before + timedelta(2)

    def row() -> FieldRow:
        return desk.work.form.row("Time for it", "closed")

    typed(row(), f"{before.isoformat()} to {until.isoformat()}")
    assert not row().refusal
    assert job.session.setup.job.closed == ((before, until),)
    worked = [day.day for day in stands(job).schedule.days]
    assert min(worked) > until
    typed(row(), "some day in May")
    assert "like 2027-03-14" in row().refusal, "it says how a day is written"
    assert job.session.setup.job.closed == ((before, until),), "what was right is kept"
    assert row().typed == "some day in May", "what was typed stays to be mended"
    typed(row(), until.isoformat())
    assert job.session.setup.job.closed == ((until, until),)
    typed(row(), " ")
    assert job.session.setup.job.closed == ()
    assert stands(job).schedule.days[0].day == before


def test_prices_are_typed_over_and_taken_out_again(job: Window) -> None:
    desk = job.desk
    desk.page.show_part("Cost")
    first = job.session.setup
    before = desk.costs.rows.words[-1]

    def row() -> FieldRow:
        return price_row(job)

    typed(row(), "900 to 950")
    dear = desk.costs.rows.words[-1]
    typed(row(), "12")
    assert job.session.setup.job.prices[-1].range == (12.0, 12.0)
    assert desk.costs.rows.words[-1] != dear
    typed(row(), " ")
    assert job.session.setup.job.prices == first.job.prices
    assert desk.costs.rows.words[-1] == before


@pytest.fixture
def right(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every line is right when the work is done: the made up remedies mend only one."""
    monkeypatch.setattr(desk_module, "refusals", lambda *_: [])


@pytest.mark.usefixtures("right")
def test_everything_decided_is_undone_step_by_step_by_its_key(job: Window, qtbot) -> None:
    desk, session = job.desk, job.session
    first = session.setup
    QTest.mouseClick(desk.choices.means.options[LINE, "made_up"], Qt.MouseButton.LeftButton)
    desk.page.show_part("Order")
    boxes = [one for one in desk.orders.findChildren(QCheckBox) if one.isVisible()]
    name = boxes[-1].accessibleName()
    QTest.mouseClick(boxes[-1], Qt.MouseButton.LeftButton, pos=boxes[-1].rect().center())
    (here,) = session.setup.job.here
    assert here == stands(job).order.items[len(boxes) - 1].key, f"{name} is the one that came"
    desk.page.show_part("Cost")
    typed(price_row(job), "900")
    QTest.mouseClick(desk.page.by.button(By.SHOP), Qt.MouseButton.LeftButton)
    desk.page.show_part("Check list")
    qtbot.waitUntil(lambda: desk.checking.sign.isVisible())
    answer_all(job)
    sign(job)
    assert session.setup.job.signed is not None
    QTest.mouseClick(desk.checking.withdraw, Qt.MouseButton.LeftButton)
    assert session.setup.job.signed is None
    states = []
    desk.page.setFocus()
    while session.undo_name:
        states.append(session.undo_name)
        QTest.keyClick(job, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
        assert len(states) < 20
    assert len(states) == 7, states
    assert session.setup == first
    assert session.setup.job.signed is None
    QTest.keyClick(job, Qt.Key.Key_Z, SHIFT_CONTROL)
    assert session.setup.job.choices, "and done again"


def test_a_field_stays_where_it_is_when_it_is_filled(job: Window, qtbot) -> None:
    desk = job.desk
    desk.page.show_part("Cost")
    row = price_row(job)
    qtbot.waitUntil(lambda: row.editor.x() > 0)

    def place() -> tuple[int, int, int]:
        return row.editor.x(), row.editor.y(), row.editor.width()

    empty, high = place(), row.height()
    typed(row, "900 to 950")
    assert price_row(job) is row
    qtbot.wait(1)
    assert (place(), row.height()) == (empty, high)


def test_tab_goes_on_to_the_next_field_when_leaving_one_makes_the_form_anew(
    job: Window, qtbot
) -> None:
    """A set that is named anew is another group of fields."""
    desk = job.desk
    desk.page.show_part("Order")
    for _ in range(2):
        QTest.mouseClick(desk.orders.add_set, Qt.MouseButton.LeftButton)
    qtbot.wait(1)
    *_, last = job.session.setup.job.sets
    editor = desk.orders.form.row(f"Set '{last.name}'", "name").editor
    after = desk.orders.form.row(f"Set '{last.name}'", "price").editor
    editor.setFocus()
    editor.selectAll()
    QTest.keyClicks(editor, "from the corner shop")
    QTest.keyClick(editor, Qt.Key.Key_Tab)
    assert job.session.setup.job.sets[-1].name == "from the corner shop"
    form = desk.orders.form
    heading = "Set 'from the corner shop'"
    assert form.row(heading, "price").editor is not after, "it was made anew"
    qtbot.wait(1)
    focus = QGuiApplication.focusObject()
    assert focus is form.row(heading, "price").editor
    fields = [row.editor for row in form.rows]
    QTest.keyClick(focus, Qt.Key.Key_Tab)
    assert QGuiApplication.focusObject() is fields[fields.index(focus) + 1]
    desk.orders.form.rows[0].editor.setFocus()
    QTest.keyClick(
        desk.orders.form.rows[0].editor, Qt.Key.Key_Backtab, Qt.KeyboardModifier.ShiftModifier
    )
    before = QGuiApplication.focusObject()
    assert before in form.findChildren(QPushButton) or before is desk.orders.add_set


def test_what_surely_fits_stands_apart_and_what_is_taken_is_marked(job: Window, qtbot) -> None:
    """In two groups under their headings, each with its mark; one card alone is that taken."""
    desk, session = job.desk, job.session
    good, other = remedies(job)[0].ranked
    unsure = replace(other, verdict=Verdict.UNCERTAIN, margin=3.0)
    session.propose(session.setup, (Remedies(LINE, (good, unsure)), *remedies(job)[1:]))
    means = desk.choices.means

    def cards(role: str) -> list[str]:
        found = [one for one in means.findChildren(QFrame) if one.property("role") == role]
        return [one.findChildren(QLabel)[0].text() for one in found if one.isVisibleTo(means)]

    qtbot.wait(1)
    headings = [one.text() for one in means.findChildren(QLabel) if one.isVisibleTo(means)]
    assert headings.index("Lets it fit") < headings.index("May do, but mind this")
    assert [one.partition(" ")[0] for one in cards("taken")] == ["Next"]
    assert len(cards("offered")) == 1
    button = desk.choices.lines.buttons[LINE]
    assert "Next size" in button.accessibleName()
    QTest.mouseClick(means.options[LINE, "made_up"], Qt.MouseButton.LeftButton)
    assert [one.partition(" ")[0] for one in cards("taken")] == ["Made"]
    assert means.options[LINE, "made_up"].hasFocus()
    button = desk.choices.lines.buttons[LINE]
    assert "Not sure: measure first" in button.accessibleName()


def test_margins_of_one_line_are_drawn_on_one_scale() -> None:
    assert scale_of([(10.0, 5.0), (-30.0, 2.0), (math.nan, 1.0)]) == 34.0
    assert scale_of([(5.0, math.nan)]) == 20.0, "what is close to nothing stays close to it"
    assert scale_of([]) == 20.0


def test_what_makes_the_bars_unacceptable_is_one_line_that_opens(job: Window, qtbot) -> None:
    banner = job.desk.page.banner
    banner.show_words("In brief, " * 60, "All of it.\nAnd more.")
    qtbot.wait(1)
    assert not banner.opened
    shut = banner.height()
    QTest.mouseClick(banner.toggle, Qt.MouseButton.LeftButton)
    qtbot.wait(1)
    assert banner.opened
    assert banner.height() > shut
    assert banner.text == "All of it.\nAnd more."
    banner.show_words("In brief", "All of it.\nAnd more.")
    assert banner.opened, "what is read stays open"
    QTest.mouseClick(banner.toggle, Qt.MouseButton.LeftButton)
    assert not banner.opened


def test_a_wide_window_has_two_columns_and_a_narrow_one_puts_them_under_each_other(
    job: Window, qtbot
) -> None:
    orders = job.desk.orders
    job.desk.page.show_part("Order")

    def beside() -> bool:
        side = orders.widget()
        rows, button = (one.mapTo(side, QPoint()) for one in (orders.rows, orders.add_set))
        return button.x() >= rows.x() + orders.rows.width() and button.y() < rows.y() + 400

    qtbot.waitUntil(lambda: not beside())
    job.resize(1900, 1000)
    qtbot.waitUntil(beside)
    job.resize(1280, 800)
    qtbot.waitUntil(lambda: not beside())


def test_the_ring_of_the_keyboard_is_on_the_part_that_is_looked_at(job: Window) -> None:
    page = job.desk.page
    for name in ("Cost", "Sheets and film", "What to do"):
        button = next(
            one
            for one in page.findChildren(QPushButton)
            if one.isCheckable() and one.text() == name
        )
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)
        assert page.part == name
        assert QGuiApplication.focusObject() is button


def test_a_press_reaches_the_box_it_was_meant_for_though_leaving_a_note_changes_the_list(
    job: Window, qtbot
) -> None:
    desk = job.desk
    desk.page.show_part("Check list")
    qtbot.waitUntil(lambda: desk.checking.sign.isVisible())
    note = next(
        one
        for one in desk.checking.findChildren(QLineEdit)
        if one.accessibleName().startswith("Note: ")
    )
    box = [one for one in desk.checking.findChildren(QCheckBox) if one.isVisible()][1]
    note.setFocus()
    QTest.keyClicks(note, "cold")
    box.setFocus()  # as a press does, before the click is told
    QTest.mouseClick(box, Qt.MouseButton.LeftButton, pos=box.rect().center())
    told = {tick.key: tick for tick in job.session.setup.job.ticks}
    assert [one.note for one in told.values()] == ["cold", ""]
    assert [one.done for one in told.values()] == [False, True]


def test_a_number_that_is_none_is_refused_in_one_sentence_and_stays_to_be_mended(
    job: Window, qtbot
) -> None:
    desk = job.desk
    desk.page.show_part("Check list")
    qtbot.waitUntil(lambda: desk.checking.sign.isVisible())
    found = next(
        one
        for one in desk.checking.findChildren(QLineEdit)
        if one.accessibleName().startswith(f"Found: Slack of the {LINE}")
    )
    found.setFocus()
    QTest.keyClicks(found, "plenty")
    QTest.keyClick(found, Qt.Key.Key_Return)
    assert not job.session.setup.job.ticks
    assert found.text() == "plenty"
    shown = [one.text() for one in desk.checking.findChildren(QLabel) if one.isVisible()]
    assert sum("plenty" in one for one in shown) == 1
    found.selectAll()
    QTest.keyClicks(found, "18")
    QTest.keyClick(found, Qt.Key.Key_Return)
    assert job.session.setup.job.ticks[-1].found == 18.0
    shown = [one.text() for one in desk.checking.findChildren(QLabel) if one.isVisible()]
    assert not any("plenty" in one for one in shown)


@pytest.mark.usefixtures("right")
def test_the_check_list_is_ticked_noted_and_signed(job: Window, qtbot) -> None:
    desk = job.desk
    desk.page.show_part("Check list")
    qtbot.waitUntil(lambda: desk.checking.sign.isVisible())
    box = next(one for one in desk.checking.findChildren(QCheckBox) if one.isVisible())
    QTest.mouseClick(box, Qt.MouseButton.LeftButton, pos=box.rect().center())
    assert [tick.done for tick in job.session.setup.job.ticks] == [True]
    slack = next(
        one
        for one in desk.checking.findChildren(QLineEdit)
        if one.accessibleName().startswith(f"Found: Slack of the {LINE}")
    )
    slack.setFocus()
    QTest.keyClicks(slack, "18 mm")
    QTest.keyClick(slack, Qt.Key.Key_Return)
    assert job.session.setup.job.ticks[-1].found == 18.0
    answer_all(job)
    sign(job)
    assert job.session.setup.job.signed is not None
    assert job.session.setup.job.signed.name == "A. Rider"


@pytest.mark.usefixtures("right")
def test_nobody_signs_while_checks_are_open_and_a_signature_is_withdrawn(
    job: Window, qtbot
) -> None:
    desk, session = job.desk, job.session
    checking = desk.checking
    desk.page.show_part("Check list")
    qtbot.waitUntil(lambda: checking.sign.isVisible())
    assert "checks are open" in checking.signing_text
    assert "To be answered before it can be signed: 'Free lock to lock'" in checking.signing_text
    assert not checking.sign.isEnabled()
    assert not checking.name.isEnabled()
    assert not checking.withdraw.isVisible()
    answer_all(job)
    assert checking.sign.isEnabled()
    QTest.mouseClick(checking.sign, Qt.MouseButton.LeftButton)  # nobody's name
    assert session.setup.job.signed is None
    sign(job)
    assert "Signed by A. Rider on " in checking.signing_text
    assert checking.withdraw.isVisible()
    key = session.setup.job.ticks[0].key
    open_again = replace(session.setup, job=ticked(session.setup.job, key, done=False))
    session.edit(open_again, "Check")
    assert "that signature no longer counts" in checking.signing_text
    assert not checking.sign.isEnabled()
    session.undo()
    assert "no longer counts" not in checking.signing_text
    QTest.mouseClick(checking.withdraw, Qt.MouseButton.LeftButton)
    assert session.setup.job.signed is None
    assert "nobody has signed" in checking.signing_text
    assert session.undo_name == "Withdraw the signature"
    session.undo()
    assert session.setup.job.signed is not None
    session.redo()
    assert session.setup.job.signed is None


def test_what_is_not_acceptable_takes_no_signature(job: Window, qtbot) -> None:
    checking = job.desk.checking
    job.desk.page.show_part("Check list")
    qtbot.waitUntil(lambda: checking.sign.isVisible())
    answer_all(job)
    assert not checking.sign.isEnabled()
    assert "Not to be signed as it stands: not acceptable. Throttle pull cable: short" in (
        checking.signing_text
    )


def test_a_note_that_is_longer_than_its_field_shows_its_beginning(job: Window, qtbot) -> None:
    desk = job.desk
    desk.page.show_part("Check list")
    qtbot.waitUntil(lambda: desk.checking.sign.isVisible())
    notes = [
        one
        for one in desk.checking.findChildren(QLineEdit)
        if one.accessibleName().startswith("Note: ")
    ]
    notes[0].setFocus()
    QTest.keyClicks(notes[0], "the ties under the tank are still loose")
    QTest.keyClick(notes[0], Qt.Key.Key_Tab)
    assert job.session.setup.job.ticks[0].note == "the ties under the tank are still loose"
    assert not notes[0].hasFocus()
    assert notes[0].cursorPosition() == 0
    assert notes[0].toolTip() == "the ties under the tank are still loose"


def test_the_list_goes_to_the_clipboard_and_into_a_table(job: Window, tmp_path) -> None:
    desk = job.desk
    desk.page.show_part("Order")
    QTest.mouseClick(desk.orders.copy, Qt.MouseButton.LeftButton)
    assert LINE in QGuiApplication.clipboard().text().lower()
    desk.orders.save_csv(tmp_path / "order.csv")
    assert LINE in (tmp_path / "order.csv").read_text(encoding="utf-8").lower()
    desk.orders.save_csv(tmp_path / "nowhere" / "order.csv")
    assert "cannot be written" in job.message.text


def test_the_line_itself_says_what_can_be_done(window: Window) -> None:
    window.session.select(LINE)
    misfit = not window.session.result().finding(LINE).fits
    window.session.propose(window.session.setup, remedies(window))
    said = window.line_side.remedies.text
    assert bool(said) is misfit
    assert not misfit or said.startswith("On the job page: Next size sold")


FAKE = """
import sys, time
command, file, *rest = sys.argv[1:]
target = rest[-1]
if "slow" in target:
    print("BARFIT_PROGRESS: Drawing 42 %", file=sys.stderr, flush=True)
    time.sleep(60)
if "wrong" in target:
    print("BARFIT_PROGRESS: Drawing 7 %", file=sys.stderr, flush=True)
    sys.exit("Nothing can be drawn here.")
open(target, "w").write(" ".join([command, *rest[:-1], open(file).readline()]))
"""


@pytest.fixture
def making(qtbot, tmp_path, window: Window) -> Making:
    script = tmp_path / "made.py"
    script.write_text(FAKE)
    made = Making((sys.executable, str(script)))
    qtbot.addWidget(made)
    made.show_setup(window.session.setup)
    return made


def test_a_sheet_is_made_of_a_copy_by_its_command(making: Making, qtbot, tmp_path) -> None:
    QTest.mouseClick(making.paper.button("letter"), Qt.MouseButton.LeftButton)
    quote = next(one for one in THINGS if one.name == "Quote")
    making.make(quote, tmp_path / "quote.pdf")
    assert not making.buttons["Film"].isEnabled()
    qtbot.waitUntil(lambda: not making.busy, timeout=20_000)
    assert making.text == f"Written: {tmp_path / 'quote.pdf'}"
    told = (tmp_path / "quote.pdf").read_text()
    assert told.startswith("sheet --quote --paper letter --out")
    assert making.buttons["Film"].isEnabled()


def test_what_could_not_be_made_is_said_and_what_takes_long_can_be_stopped(
    making: Making, qtbot, tmp_path
) -> None:
    film = next(one for one in THINGS if one.name == "Film")
    making.make(film, tmp_path / "wrong.mp4")
    qtbot.waitUntil(lambda: not making.busy, timeout=20_000)
    assert making.text == "wrong.mp4 was not made: Nothing can be drawn here."
    making.make(film, tmp_path / "slow.mp4")
    qtbot.waitUntil(lambda: making.text.endswith("slow.mp4 … Drawing 42 %"), timeout=20_000)
    making.stop()
    assert not making.busy
    assert making.text.startswith("Stopped")
    assert not (tmp_path / "slow.mp4").exists()


def test_what_is_stopped_leaves_no_draft(making: Making, qtbot, tmp_path) -> None:
    film = next(one for one in THINGS if one.name == "Film")
    making.make(film, tmp_path / "slow.mp4")
    qtbot.waitUntil(lambda: making.text.endswith("slow.mp4 … Drawing 42 %"), timeout=20_000)
    (tmp_path / f"{draft_prefix(tmp_path / 'slow.mp4')}1234.mp4").touch()  # killed at once
    others = tmp_path / f"{draft_prefix(tmp_path / 'other.mp4')}1234.mp4"
    others.touch()
    making.stop()
    assert [*tmp_path.glob(".*")] == [others]


def test_a_dialog_offers_every_kind_that_can_be_made_and_folders_that_are_not_there() -> None:
    things = {one.name: one for one in THINGS}
    sheet, tables = things["Job sheet"], things["Tables"]
    assert kinds_text(sheet) == "PDF or HTML (*.pdf *.html);;PDF (*.pdf);;HTML (*.html)"
    assert kinds_text(things["Model"]) == "GLB (*.glb)"
    assert kinds_text(tables) == ""
    every, _, html = kinds_text(sheet).split(";;")
    assert ended(Path("a.html"), sheet, every) == Path("a.html")
    assert ended(Path("v1.2"), sheet, every) == Path("v1.2.pdf")
    assert ended(Path("a"), sheet, html) == Path("a.html")
    assert ended(Path("new/tables"), tables, "") == Path("new/tables")


def test_a_folder_that_is_not_there_yet_is_named_and_made(
    making: Making, qtbot, tmp_path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def name(*words: object) -> tuple[str, str]:
        asked.append(words[1])
        return str(tmp_path / "new"), ""

    monkeypatch.setattr(QFileDialog, "getSaveFileName", name)
    QTest.mouseClick(making.buttons["Tables"], Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: not making.busy, timeout=20_000)
    assert asked == ["Tables: a new folder"]
    assert making.text == f"Written: {tmp_path / 'new'}"


def test_a_film_is_made_as_picked(making: Making, qtbot, tmp_path) -> None:
    film = next(one for one in THINGS if one.name == "Film")
    looks = making.looks

    def told(name: str) -> str:
        making.make(film, tmp_path / name)
        qtbot.waitUntil(lambda: not making.busy, timeout=20_000)
        return (tmp_path / name).read_text().partition(" --out")[0]

    assert told("first.mp4") == (
        "film --view three-quarter --fork ride-height --size 1280x720 --stock-ghost"
    )
    with qtbot.waitActive(making):
        making.show()
        making.activateWindow()
    looks.view.setFocus()
    QTest.keyClicks(looks.view, "rid")
    looks.fork.setFocus()
    for _ in range(3):
        QTest.keyClick(looks.fork, Qt.Key.Key_Down)
    looks.pixels.setFocus()
    QTest.keyClicks(looks.pixels, "854")
    for tick in (looks.ghost, looks.captions):
        tick.setFocus()
        QTest.keyClick(tick, Qt.Key.Key_Space)
    assert told("second.mp4") == ("film --view rider --fork bounce --size 854x480 --no-captions")


def test_tables_are_made_as_a_folder(
    making: Making, qtbot, tmp_path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "the tables"  # not there yet
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target), ""))
    QTest.mouseClick(making.buttons["Tables"], Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: not making.busy, timeout=20_000)
    assert target.read_text().startswith("export --csv")
