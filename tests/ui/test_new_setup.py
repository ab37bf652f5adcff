"""A setup of one's own, begun, measured and filled by mouse and keys alone."""

from __future__ import annotations

import pytest
from made import StubViewport
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QComboBox, QDialog, QFileDialog, QLineEdit
from test_access import cut_off, faults, name_of
from test_changing import LEFT, enter, pick_in_menu

from barfit import scenario
from barfit.analysis import Verdict
from barfit.measuring import Part, Thing, count
from barfit.model import Body, Box, ControlKind, Hold, How
from barfit.session import Session
from barfit.starting import Brake, Clutch, Throttle, traits_of
from barfit.ui.add_line import AddLine
from barfit.ui.change_side import Part as FormPart
from barfit.ui.measure_side import MeasureSide
from barfit.ui.new_setup import NewSetup
from barfit.ui.rows import Rows
from barfit.ui.theme import Choice, Theme
from barfit.ui.window import Window
from barfit.ui.words import typeset

CONTROL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
TIMEOUT = 60_000  # ms, for a sweep on a busy machine


def dialog(qtbot, kind: type[QDialog]) -> QDialog:
    """The dialog that is open."""
    qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), kind))
    found = QApplication.activeModalWidget()
    assert isinstance(found, QDialog)
    return found


def click_row(qtbot, rows: Rows, words: str) -> None:
    """Click the row that says this."""
    item = next(rows.item(k) for k in range(rows.count()) if words in rows.item(k).text())
    rows.scrollToItem(item)
    qtbot.mouseClick(rows.viewport(), LEFT, pos=rows.visualItemRect(item).center())


def choose(qtbot, box: QComboBox, words: str) -> None:
    """Pick an entry by typing how it begins."""
    box.setFocus()
    qtbot.keyClicks(box, words)
    assert box.currentText().startswith(words)


def begin(qtbot, window: Window, name: str, row: str) -> None:
    """A new setup of that name from the machine in that row."""
    qtbot.keyClick(window, Qt.Key.Key_N, CONTROL)
    asked = dialog(qtbot, NewSetup)
    assert isinstance(asked, NewSetup)
    qtbot.keyClick(asked.name, Qt.Key.Key_A, CONTROL)
    qtbot.keyClicks(asked.name, name)
    click_row(qtbot, asked.list, row)
    qtbot.mouseClick(asked.go, LEFT)
    assert window.session.setup.title == name


def say_measured(qtbot, side: MeasureSide) -> None:
    """All of it was found with a tape, also what was not typed in."""
    qtbot.mouseClick(side.measured, LEFT)
    if "stand" in side.measured.text():
        qtbot.mouseClick(side.measured, LEFT)


@pytest.fixture
def real(qtbot, settings, worker, tmp_path, monkeypatch):
    """The window with real answers, on a bundled machine, but no picture; where it saves to."""
    path = next(p for p in scenario.bundled() if p.stem == "naked-standard")
    target = tmp_path / "mine.toml"
    # the system's own dialogs take no events of ours; nothing is asked of them but the name
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *a: (str(target), ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *a: (str(target), ""))
    session = Session(scenario.load(path), path, "mm")
    window = Window(session, StubViewport(), worker, Theme(Choice.LIGHT), settings)
    qtbot.addWidget(window)
    window.resize(1280, 800)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    window.player.pause()
    window.mirror._play_when_ready = False
    return window, target


def test_from_nothing_to_a_verdict_and_back_to_the_start(qtbot, real) -> None:
    window, target = real
    session = window.session
    begin(qtbot, window, "Workshop special", "Next to nothing")
    assert [line.kind for line in session.setup.lines] == ["throttle_pull"]
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    start = target.read_bytes()
    assert not session.changed

    # the new bar is measured
    side = window.body.measure_side
    assert window.body.left.currentWidget() is side
    assert side.thing == Thing(Part.BAR, "new")
    enter(qtbot, side.form.row("Bar, new", "rise"), "5 1/2 in")
    assert session.setup.new.bar.rise == 139.7
    say_measured(qtbot, side)
    assert session.setup.new.bar.measured is How.TAPE
    assert count(session.setup)[0] == 1
    assert side.thing == Thing(Part.BAR, "stock")

    # a control, by the menu
    qtbot.keyClick(window, Qt.Key.Key_F2)
    change = window.body.change_side
    pick_in_menu(qtbot, change.add, "Control", "Clutch cable perch")
    assert session.setup.controls[-1].kind is ControlKind.CLUTCH_PERCH
    assert change.part == FormPart("control", "clutch perch")
    enter(qtbot, change.form.row("Control", "inboard"), "160")
    outlet = session.setup.controls[-1].outlets[0].name
    enter(qtbot, change.form.row(f"Outlet: {outlet}", "offset_up"), "-6 mm")

    # a solid
    pick_in_menu(qtbot, change.add, "Solid", "Box")
    for key, text in (("centre_forward", "-240"), ("centre_up", "-520"), ("size_up", "18 in")):
        enter(qtbot, change.form.row("Box", key), text)
    box = session.setup.machine.solids[-1].shape
    assert isinstance(box, Box)
    assert (box.centre, box.size[2]) == ((-240.0, 0.0, -520.0), 457.2)

    # a line from that control to a place of the frame, with a guide
    qtbot.keyClick(window, Qt.Key.Key_L, CONTROL)
    asked = dialog(qtbot, AddLine)
    assert isinstance(asked, AddLine)
    choose(qtbot, asked.kind, "Clutch cable")
    choose(qtbot, asked.start, "Clutch perch")
    for key, text in (("forward", "-60"), ("left", "150"), ("up", "-600"), ("length", "3 ft 3 in")):
        enter(qtbot, asked.rows[key], text)
    qtbot.mouseClick(asked.go, LEFT)
    line = session.setup.line("clutch cable")
    assert line.length == pytest.approx(990.6)
    assert session.selected == "clutch cable"
    right = window.line_side.change
    assert window.line_side.changing
    qtbot.mouseClick(right.station_button(0), LEFT)
    pick_in_menu(qtbot, right.add, "Guide")
    assert session.station == 1
    heading = next(key for key, _ in right.place._rows)
    for key, text in (("forward", "0"), ("left", "45"), ("up", "-140")):
        enter(qtbot, right.place.row(heading, f"position_{key}"), text)
    stations = session.setup.line("clutch cable").stations
    assert [one.hold for one in stations] == [Hold.FITTING, Hold.GUIDE, Hold.FITTING]

    # the verdict
    qtbot.waitUntil(lambda: not session.stale(), timeout=TIMEOUT)
    qtbot.keyClick(right, Qt.Key.Key_Escape)
    found = session.result().finding("clutch cable")
    assert found.verdict is not Verdict.NOT_KNOWN
    assert "clutch cable" in window.setup_side.lines.names()
    assert "lutch cable" in window.line_side.sentence_text
    assert "not measured yet" in window.setup_side.unmeasured.text()

    # kept, all undone, all done again, and opened anew
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    whole, made = target.read_bytes(), session.setup
    assert whole != start
    while session.undo_name is not None:
        qtbot.keyClick(window, Qt.Key.Key_Z, CONTROL)
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    assert target.read_bytes() == start
    while session.redo_name is not None:
        window.commands.redo.trigger()
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    assert target.read_bytes() == whole
    qtbot.keyClick(window, Qt.Key.Key_O, CONTROL)
    assert session.setup == made
    assert session.undo_name is None
    assert not session.changed


def test_measuring_makes_the_worst_line_surer_and_says_so(qtbot, real) -> None:
    window, target = real
    session = window.session
    begin(qtbot, window, "Mine", "Old twin")
    side = window.body.measure_side
    qtbot.waitUntil(lambda: not session.stale(), timeout=TIMEOUT)
    assert "±" in side.said
    worst = next(f for f in session.result().findings if side.said.lower().startswith(f.line))
    telling = next(one for one in side._order if not one.must)
    click_row(qtbot, side.list, telling.thing.name(session.setup)[1:])
    assert side.thing == telling.thing
    say_measured(qtbot, side)
    assert "Being worked out" in side.said
    qtbot.waitUntil(lambda: not session.stale(), timeout=TIMEOUT)
    assert " before; " in side.said
    assert session.result().finding(worst.line).sure.sigma < worst.sure.sigma
    # left and taken up again after the file was opened anew
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    qtbot.keyClick(side, Qt.Key.Key_Escape)
    assert window.body.left.currentWidget() is window.setup_side
    qtbot.keyClick(window, Qt.Key.Key_O, CONTROL)
    assert session.path == target
    qtbot.mouseClick(window.setup_side.unmeasured, LEFT)
    assert window.body.left.currentWidget() is side
    assert telling.thing not in {one.thing for one in side._order}


def test_a_machine_unlike_all_others_is_entered_whole(qtbot, real) -> None:
    """Asked for what no bundled machine has together; measured, and given three lines with a clip,
    a tie and a hole, by mouse and keys; an answer, saved, opened, and all undone again.
    """
    window, target = real
    session = window.session
    qtbot.keyClick(window, Qt.Key.Key_N, CONTROL)
    asked = dialog(qtbot, NewSetup)
    assert isinstance(asked, NewSetup)
    qtbot.keyClick(asked.name, Qt.Key.Key_A, CONTROL)
    qtbot.keyClicks(asked.name, "Backyard special")
    for key, words in (("clutch", "Hydraulic"), ("throttle", "By wire"), ("brake", "Cable")):
        choose(qtbot, asked.asked[key], words)
    click_row(qtbot, asked.list, "Old twin")
    assert "clutch hose" in asked._differs.text()
    assert "touring machine, not measured" in asked._differs.text()
    qtbot.keyClick(asked.go, Qt.Key.Key_Return)
    traits = traits_of(session.setup)
    assert (traits.throttle, traits.clutch, traits.brake) == (
        Throttle.WIRE,
        Clutch.HYDRAULIC,
        Brake.DRUM,
    )
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    start = target.read_bytes()

    # two bars, with a tape
    side = window.body.measure_side
    enter(qtbot, side.form.row("Bar, new", "rise"), "12 1/2 in")
    enter(qtbot, side.form.row("Bar, new", "width"), '32.5"')
    say_measured(qtbot, side)
    enter(qtbot, side.form.row("Bar, stock", "width"), "31.8 in")
    enter(qtbot, side.form.row("Bar, stock", "rise"), "hand high")
    assert "is not a length" in side.form.row("Bar, stock", "rise").refusal
    qtbot.keyClick(side.form.row("Bar, stock", "rise").editor, Qt.Key.Key_Escape)
    say_measured(qtbot, side)
    assert session.setup.new.bar.rise == 317.5
    assert session.setup.new.bar.measured is session.setup.stock.bar.measured is How.TAPE

    # two holes, and a lead through them
    qtbot.keyClick(window, Qt.Key.Key_F2)
    change = window.body.change_side
    change.parts.setFocus()
    qtbot.keyClicks(change.parts, "New bars")
    assert change.part == FormPart("new")
    for _ in range(2):
        qtbot.mouseClick(change.form.button("Bar, new", "Add hole"), LEFT)
    right = window.line_side.change
    session.select("left switch harness")
    inside = right.own.button("Through the bar", "Lead it inside the bar")
    inside.setFocus()
    qtbot.keyClick(inside, Qt.Key.Key_Space)
    assert session.setup.line("left switch harness").through_bar is not None, window.message.text

    # a line between two places of the machine, with a clip; a copy of it with a tie
    qtbot.keyClick(window, Qt.Key.Key_L, CONTROL)
    add = dialog(qtbot, AddLine)
    assert isinstance(add, AddLine)
    choose(qtbot, add.kind, "Accessory")
    choose(qtbot, add.start, "A place of the machine")
    for key, text in (
        ("start_forward", "70"),
        ("start_left", "1 in"),
        ("start_up", "40 mm"),
        ("forward", "-200"),
        ("left", "0"),
        ("up", "-100"),
        ("length", "20 in"),
    ):
        enter(qtbot, add.rows[key], text)
    qtbot.mouseClick(add.go, LEFT)
    lead = session.setup.lines[-1]
    assert (session.selected, lead.length) == (lead.name, 508.0)
    qtbot.mouseClick(right.station_button(0), LEFT)
    pick_in_menu(qtbot, right.add, "Clip")
    heading = next(key for key, _ in right.place._rows)
    enter(qtbot, right.place.row(heading, "at_length"), "9 1/2 in")
    qtbot.mouseClick(right.copy, LEFT)
    copy = session.setup.lines[-1]
    assert session.selected == copy.name != lead.name
    qtbot.mouseClick(right.station_button(0), LEFT)
    pick_in_menu(qtbot, right.add, "Loose tie on the bar")
    tied = session.setup.line(copy.name)
    assert [one.hold for one in tied.stations] == [
        Hold.FITTING,
        Hold.GUIDE,
        Hold.CLIP,
        Hold.FITTING,
    ]

    # the answer, kept, opened anew, and undone to the first byte
    qtbot.waitUntil(lambda: not session.stale(), timeout=TIMEOUT)
    qtbot.keyClick(right, Qt.Key.Key_Escape)
    found = {one.line: one.verdict for one in session.result().findings}
    assert set(found) == {line.name for line in session.setup.lines}
    assert found[lead.name] is not Verdict.NOT_KNOWN
    assert window.line_side.sentence_text
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    made = session.setup
    while session.undo_name is not None:
        qtbot.keyClick(window, Qt.Key.Key_Z, CONTROL)
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    assert target.read_bytes() == start
    while session.redo_name is not None:
        window.commands.redo.trigger()
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    qtbot.keyClick(window, Qt.Key.Key_O, CONTROL)
    assert session.setup == made


# without a sweep


def test_the_machines_are_ranked_by_what_is_answered(qtbot, window) -> None:
    qtbot.keyClick(window, Qt.Key.Key_N, CONTROL)
    asked = dialog(qtbot, NewSetup)
    assert isinstance(asked, NewSetup)
    choose(qtbot, asked.asked["brake"], "Through a modulator")
    choose(qtbot, asked.asked["clutch"], "Hydraulic")
    # the same kind of machine comes first, whatever else it has
    assert asked.list.rows[0].words.startswith("Naked standard")
    assert "other" in asked.list.rows[0].words
    choose(qtbot, asked.asked["kind"], "Touring")
    assert asked.list.rows[0].words.startswith("Touring machine")
    assert "other" in asked.list.rows[0].words
    choose(qtbot, asked.asked["throttle"], "By wire")
    assert asked.list.rows[0].words.endswith("as yours")
    qtbot.keyClick(asked, Qt.Key.Key_Escape)
    assert not window.session.changed


def test_a_start_without_a_name_is_refused_and_nothing_is_lost(qtbot, window) -> None:
    before = window.session.setup
    qtbot.keyClick(window, Qt.Key.Key_N, CONTROL)
    asked = dialog(qtbot, NewSetup)
    assert isinstance(asked, NewSetup)
    qtbot.keyClick(asked.name, Qt.Key.Key_Delete)
    qtbot.keyClick(asked.name, Qt.Key.Key_Return)
    assert asked.isVisible()
    assert "needs a name" in asked._differs.text()
    qtbot.keyClick(asked, Qt.Key.Key_Escape)
    assert window.session.setup is before


def test_what_is_typed_and_not_entered_is_taken_with_the_button(qtbot, window) -> None:
    begin(qtbot, window, "Mine", "Naked")
    side = window.body.measure_side
    row = side.form.row("Bar, new", "rise")
    edit = row.editor
    assert isinstance(edit, QLineEdit)
    qtbot.mouseClick(edit, LEFT)
    edit.selectAll()
    qtbot.keyClicks(edit, "131.5")
    say_measured(qtbot, side)
    bar = window.session.setup.new.bar
    assert (bar.rise, bar.measured) == (131.5, How.TAPE)
    # what is refused keeps its page
    row = side.form.row("Bar, stock", "rise")
    qtbot.mouseClick(row.editor, LEFT)
    row.editor.selectAll()
    qtbot.keyClicks(row.editor, "tall")
    say_measured(qtbot, side)
    assert side.thing == Thing(Part.BAR, "stock")
    assert row.refusal
    assert window.session.setup.stock.bar.measured is How.NOT_MEASURED


def test_what_is_left_for_later_comes_again_after_the_rest(qtbot, window) -> None:
    begin(qtbot, window, "Mine", "Naked")
    side = window.body.measure_side
    left = [one.thing for one in side._order]
    seen = []
    for _ in left:
        seen.append(side.thing)
        qtbot.mouseClick(side.later, LEFT)
    assert seen == left
    assert side.thing == left[0]
    qtbot.mouseClick(side.by_eye, LEFT)
    assert "stand" in side.by_eye.text()
    qtbot.mouseClick(side.by_eye, LEFT)
    assert left[0].how(window.session.setup) is How.EYEBALLED
    assert side.thing == left[1]


def test_a_line_that_cannot_be_is_refused_in_place(qtbot, window) -> None:
    before = window.session.setup
    qtbot.keyClick(window, Qt.Key.Key_L, CONTROL)
    asked = dialog(qtbot, AddLine)
    assert isinstance(asked, AddLine)
    enter(qtbot, asked.rows["up"], "low")
    qtbot.mouseClick(asked.go, LEFT)
    assert asked.isVisible()
    assert asked.rows["up"].refusal
    enter(qtbot, asked.rows["up"], "-100")
    qtbot.keyClick(asked.name, Qt.Key.Key_A, CONTROL)
    qtbot.keyClicks(asked.name, before.lines[0].name)
    qtbot.mouseClick(asked.go, LEFT)
    assert asked.isVisible()
    assert "another line" in asked._why.text()
    choose(qtbot, asked.far.body, str(Body.STEERING).capitalize())
    qtbot.keyClicks(asked.name, " too")
    qtbot.mouseClick(asked.go, LEFT)
    assert window.session.setup.lines[-1].name == f"{before.lines[0].name} too"
    window.do("undo")
    assert window.session.setup == before


def test_the_start_is_offered_and_can_be_turned_down(qtbot, window) -> None:
    window.beginning.offer()
    welcome = window.body.welcome
    assert welcome.isVisible()
    qtbot.mouseClick(welcome.button("Not now"), LEFT)
    assert not welcome.isVisible()
    window.beginning.offer()
    qtbot.mouseClick(welcome.button("New setup…"), LEFT)
    asked = dialog(qtbot, NewSetup)
    assert isinstance(asked, NewSetup)
    qtbot.mouseClick(asked.go, LEFT)
    assert not welcome.isVisible()


def test_everything_is_named_seen_and_reached_by_keys(qtbot, window) -> None:
    begin(qtbot, window, "Mine", "Naked")
    told = []
    for thing in (Thing(Part.BAR, "new"), Thing(Part.CONTROL, "clutch perch")):
        window.body.measure_side.look_at(thing)
        told += faults(window)
    assert "\n".join(told) == ""
    qtbot.waitUntil(lambda: cut_off(window) == [])  # its words find their room step by step
    for keys in (Qt.Key.Key_N, Qt.Key.Key_L):
        qtbot.keyClick(window, keys, CONTROL)
        asked = QApplication.activeModalWidget()
        assert isinstance(asked, QDialog)
        named = list(asked.findChildren(QLineEdit) + asked.findChildren(QComboBox))
        assert all(name_of(one).strip() for one in named if one.isVisible())
        assert asked.width() <= 1240
        assert asked.height() <= 760
        qtbot.keyClick(asked, Qt.Key.Key_Escape)


def test_only_what_was_typed_in_or_said_to_stand_is_measured(qtbot, window) -> None:
    begin(qtbot, window, "Mine", "Naked")
    side, session = window.body.measure_side, window.session
    before = session.setup
    qtbot.mouseClick(side.measured, LEFT)
    assert session.setup is before
    shown = [row.field for row in side.form.rows if row.field.value is not None]
    assert side.measured.text() == f"These {len(shown)} as they stand"
    assert all(typeset(field.text("mm")) in side.stand.text() for field in shown)
    # what is typed in, if only once more, is left out of the question
    enter(qtbot, side.form.row("Bar, new", "rise"), "140")
    row = side.form.row("Bar, new", "width")
    enter(qtbot, row, row.field.text("mm"))
    assert not side.stand.isVisible()
    assert session.setup.new.bar.measured is How.NOT_MEASURED
    qtbot.mouseClick(side.measured, LEFT)
    assert side.measured.text() == f"These {len(shown) - 2} as they stand"
    assert "rise" not in side.stand.text()
    assert side.by_eye.text() == "By eye"
    qtbot.mouseClick(side.measured, LEFT)
    assert session.setup.new.bar.measured is How.TAPE
    # all typed in: nothing is asked
    assert side.measured.text() == "Measured"
    for row in side.form.rows:
        if row.field.value is not None and isinstance(row.editor, QLineEdit):
            enter(qtbot, row, row.field.text("mm"))
    assert side.thing == Thing(Part.BAR, "stock")
    qtbot.mouseClick(side.measured, LEFT)
    assert session.setup.stock.bar.measured is How.TAPE
