"""The setup is changed in the window by mouse and keys, one step at a time."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QMenu, QScrollArea

from barfit import edits
from barfit.catalogue import limit, line_kinds
from barfit.model import Bar, BarPlace, Body, Hold, OutletPlace, PointPlace
from barfit.scenario import dumps
from barfit.ui.change_side import Part
from barfit.ui.field_row import FieldRow
from barfit.ui.window import Window

LEFT = Qt.MouseButton.LeftButton
THROTTLE = "throttle pull cable"


@pytest.fixture
def changing(qtbot, window) -> Window:
    """A window with its forms open."""
    qtbot.keyClick(window, Qt.Key.Key_F2)
    assert window.body.left.currentWidget() is window.body.change_side
    return window


def bar_row(window: Window, key: str) -> FieldRow:
    return window.body.change_side.form.row("Bar, new", key)


def enter(qtbot, row: FieldRow, text: str) -> None:
    """Type over what is there and press Return."""
    edit = row.editor
    assert isinstance(edit, QLineEdit)
    qtbot.mouseClick(edit, LEFT)
    edit.selectAll()
    qtbot.keyClick(edit, Qt.Key.Key_Delete)
    qtbot.keyClicks(edit, text)
    qtbot.keyClick(edit, Qt.Key.Key_Return)


def pick_in_menu(qtbot, button, *words: str) -> None:
    """Open a button's menu by mouse and go through it with the arrows and Return."""
    qtbot.mouseClick(button, LEFT)
    menu: QMenu = button.menu()
    for word in words:
        qtbot.waitUntil(menu.isVisible)
        while menu.activeAction() is None or menu.activeAction().text() != word:
            qtbot.keyClick(menu, Qt.Key.Key_Down)
        below = menu.activeAction().menu()
        qtbot.keyClick(menu, Qt.Key.Key_Return if below is None else Qt.Key.Key_Right)
        menu = below


def rise(window: Window) -> float:
    bar = window.session.setup.new.bar
    assert isinstance(bar, Bar)
    return bar.rise


def test_a_length_is_typed_in_either_unit_and_taken_back(qtbot, changing) -> None:
    before, file = rise(changing), dumps(changing.session.setup)
    enter(qtbot, bar_row(changing, "rise"), "12 1/2 in")
    assert rise(changing) == 317.5
    assert changing.session.undo_name == "Change rise"
    assert changing.commands.undo.isEnabled()
    changing.do("undo")
    assert rise(changing) == before
    assert dumps(changing.session.setup) == file
    assert bar_row(changing, "rise").editor.text() == bar_row(changing, "rise").field.text("mm")


def test_words_and_long_choices_have_the_whole_width_lengths_one_column(qtbot, changing) -> None:
    form = changing.body.change_side.form
    name, rise_row, pullback = (bar_row(changing, key) for key in ("name", "rise", "pullback"))
    assert name.box.width() > 0.9 * name.width()
    assert name.box.y() > 0
    assert rise_row.box.y() == 0
    assert rise_row.box.geometry().left() == pullback.box.geometry().left()
    for row in form.rows:
        if isinstance(row.box, QComboBox):
            words = row.box.fontMetrics()
            shown = [row.box.itemText(at) for at in range(row.box.count())]
            assert max(map(words.horizontalAdvance, shown)) < row.box.width()


def test_nonsense_stays_as_typed_with_the_reason_and_esc_takes_it_back(qtbot, changing) -> None:
    row = bar_row(changing, "rise")
    before = rise(changing)
    for typed, told in (("70 in", "outside"), ("tall", "is not a length")):
        enter(qtbot, row, typed)
        assert row.editor.text() == typed
        assert told in row.refusal
    assert rise(changing) == before
    enter(qtbot, bar_row(changing, "sweep"), "21")  # another edit does not wipe it out
    assert row.editor.text() == "tall"
    qtbot.mouseClick(row.editor, LEFT)
    qtbot.keyClick(row.editor, Qt.Key.Key_Escape)
    assert row.refusal == ""
    assert row.editor.text() == row.field.text("mm")


def test_what_contradicts_another_number_is_refused_at_its_field(qtbot, changing) -> None:
    side = changing.body.change_side
    side.show_part(Part("machine"))
    row = side.form.row("Fork", "sag")
    enter(qtbot, row, "400 mm")
    assert "more than the whole travel" in row.refusal
    assert not changing.session.changed


def test_a_bar_that_cannot_be_bent_is_refused_in_a_sentence(qtbot, changing) -> None:
    row = bar_row(changing, "bend_radius")
    enter(qtbot, row, "400 mm")
    assert "bend" in row.refusal
    assert not changing.session.changed


def test_the_drawing_shows_the_field_that_is_looked_at(qtbot, changing) -> None:
    drawing = changing.body.change_side.drawing
    qtbot.mouseClick(bar_row(changing, "rise").editor, LEFT)
    assert drawing.shown == "from behind"
    assert drawing.accessibleDescription().startswith("Rise")
    qtbot.mouseClick(bar_row(changing, "pullback").editor, LEFT)
    assert drawing.shown == "from above"


def test_a_line_is_renamed_and_stays_selected(qtbot, changing) -> None:
    changing.session.select(THROTTLE)
    row = changing.line_side.change.own.row("Line", "name")
    enter(qtbot, row, "long throttle cable")
    assert changing.session.selected == "long throttle cable"
    qtbot.waitUntil(lambda: "long throttle cable" in changing.setup_side.lines.names())
    enter(qtbot, changing.line_side.change.own.row("Line", "name"), "clutch cable")
    assert "another line" in changing.line_side.change.own.row("Line", "name").refusal


def test_stations_are_picked_changed_added_and_deleted(qtbot, changing) -> None:
    changing.session.select("clutch cable")
    change = changing.line_side.change
    line = changing.session.setup.line("clutch cable")
    number = next(
        k for k, one in enumerate(line.stations) if isinstance(one.place, PointPlace) and k
    )
    qtbot.mouseClick(change.station_button(number), LEFT)
    assert changing.session.station == number
    heading = next(key for key, _ in change.place._rows)
    for key, text in (("forward", "2 in"), ("left", "1.5 in"), ("up", "-3 in")):
        enter(qtbot, change.place.row(heading, f"position_{key}"), text)
    place = changing.session.setup.line("clutch cable").stations[number].place
    assert isinstance(place, PointPlace)
    assert place.position == pytest.approx((50.8, 38.1, -76.2))
    count = len(line.stations)
    pick_in_menu(qtbot, change.add, "Guide")
    assert len(changing.session.setup.line("clutch cable").stations) == count + 1
    assert changing.session.station == number + 1
    qtbot.mouseClick(change.drop, LEFT)
    assert len(changing.session.setup.line("clutch cable").stations) == count


def pick_row(qtbot, row: FieldRow, words: str) -> None:
    """Pick an entry of a list with the arrows, as with the keys."""
    box = row.editor
    assert isinstance(box, QComboBox)
    qtbot.mouseClick(box, LEFT)
    view = box.view()
    qtbot.waitUntil(view.isVisible)
    at = next(k for k in range(box.count()) if box.itemText(k).lower().startswith(words))
    while view.currentIndex().row() != at:
        down = view.currentIndex().row() < at
        qtbot.keyClick(view, Qt.Key.Key_Down if down else Qt.Key.Key_Up)
    qtbot.keyClick(view, Qt.Key.Key_Return)


def place_row(window: Window, key: str) -> FieldRow:
    """A row of the form of the station that is looked at."""
    rows = window.line_side.change.place
    heading = next(heading for heading, own in rows._rows if own == key)
    return rows.row(heading, key)


def stations(window: Window, line: str = "clutch cable") -> list[tuple[str, Hold, type]]:
    """Name, hold and kind of place of each station of a line."""
    held = window.session.setup.line(line).stations
    return [(one.name, one.hold, type(one.place)) for one in held]


def test_every_kind_of_station_is_added_changed_and_put_in_order(qtbot, changing) -> None:
    session = changing.session
    session.select("clutch cable")
    change = changing.line_side.change
    start = session.setup
    qtbot.mouseClick(change.station_button(0), LEFT)
    # one of each, one behind the other, by the menu alone: each new one is looked at
    for words in ("Loose tie on the bar", "Tight tie on the bar", "Clip", "Guide"):
        pick_in_menu(qtbot, change.add, words)
    added = [
        (Hold.GUIDE, BarPlace),
        (Hold.CLIP, BarPlace),
        (Hold.CLIP, PointPlace),
        (Hold.GUIDE, PointPlace),
    ]
    assert [one[1:] for one in stations(changing)[1:5]] == added
    assert session.station == 4
    # a guide that becomes a clip, and back, with the keys still on the field
    hold = place_row(changing, "hold")
    pick_row(qtbot, hold, "clip")
    assert stations(changing)[4][1] is Hold.CLIP
    assert place_row(changing, "hold").has_focus()
    enter(qtbot, place_row(changing, "at_length"), "19 in")
    assert session.setup.line("clutch cable").stations[4].at_length == pytest.approx(482.6)
    enter(qtbot, place_row(changing, "at_length"), "3 m")
    assert "beyond the end of the line" in place_row(changing, "at_length").refusal
    qtbot.keyClick(place_row(changing, "at_length").editor, Qt.Key.Key_Escape)
    pick_row(qtbot, place_row(changing, "hold"), "guide")
    assert stations(changing)[4][1] is Hold.GUIDE
    # onto the bar, measured from its centre, and onto another body
    pick_row(qtbot, place_row(changing, "on"), "the bar")
    assert stations(changing)[4][2] is BarPlace
    pick_row(qtbot, place_row(changing, "on"), "steering")
    assert stations(changing)[4][2] is PointPlace
    # earlier by the button, later by the keys; the one looked at goes along
    order = [name for name, *_ in stations(changing)]
    qtbot.mouseClick(change.earlier, LEFT)
    assert [name for name, *_ in stations(changing)][3] == order[4]
    assert session.station == 3
    qtbot.keyClick(change.station_button(3), Qt.Key.Key_Down, Qt.KeyboardModifier.AltModifier)
    assert [name for name, *_ in stations(changing)] == order
    assert session.station == 4
    # its copy, and both away again: by the button and by the key
    qtbot.mouseClick(change.twin, LEFT)
    assert session.station == 5
    qtbot.mouseClick(change.drop, LEFT)
    assert [name for name, *_ in stations(changing)] == order
    while session.undo_name is not None:
        qtbot.keyClick(changing, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert session.setup == start
    assert dumps(session.setup) == start.source


def test_an_end_of_a_line_is_put_at_another_control_or_on_the_machine(qtbot, changing) -> None:
    session = changing.session
    session.select("clutch cable")
    qtbot.mouseClick(changing.line_side.change.station_button(0), LEFT)
    pick_row(qtbot, place_row(changing, "on"), "frame")
    place = session.setup.line("clutch cable").stations[0].place
    assert isinstance(place, PointPlace)
    enter(qtbot, place_row(changing, "position_up"), "-4 in")
    pick_row(qtbot, place_row(changing, "on"), "a control")
    row = place_row(changing, "leaves")
    assert isinstance(row.editor, QComboBox)
    pick_row(qtbot, row, "clutch perch")
    place = session.setup.line("clutch cable").stations[0].place
    assert place == OutletPlace("clutch perch", "cable")
    assert not changing.line_side.change.drop.isEnabled()


def test_wires_are_led_through_holes_that_are_made_for_them(qtbot, changing) -> None:
    session, side = changing.session, changing.body.change_side
    start = session.setup
    line = next(one.name for one in start.lines if one.kind == "switch_harness")
    session.select(line)
    own = changing.line_side.change.own
    qtbot.mouseClick(own.button("Through the bar", "Lead it inside the bar"), LEFT)
    assert "no two holes" in changing.message.text
    side.show_part(Part("new"))
    for _ in range(2):
        qtbot.mouseClick(side.form.button("Bar, new", "Add hole"), LEFT)
    names = [hole.name for hole in session.setup.new.bar.holes]
    enter(qtbot, side.form.row(f"Hole: {names[0]}", "name"), "under the switches")
    enter(qtbot, side.form.row("Hole: under the switches", "diameter"), "0.5 in")
    pick_row(qtbot, side.form.row("Hole: under the switches", "along"), "the bar's centre")
    assert session.setup.new.bar.holes[0].from_centre
    qtbot.mouseClick(own.button("Through the bar", "Lead it inside the bar"), LEFT)
    through = session.setup.line(line).through_bar
    assert through is not None
    assert {through.entry, through.exit} == {"under the switches", names[1]}
    qtbot.mouseClick(side.form.button("Hole: under the switches", "Delete"), LEFT)
    assert "lead it outside first" in changing.message.text
    qtbot.mouseClick(own.button("Through the bar", "Add plug"), LEFT)
    enter(qtbot, own.row("Plug to pass 1", "width"), "9 mm")
    assert session.setup.line(line).through_bar.connectors[0].width == 9.0
    qtbot.mouseClick(own.button("Through the bar", "Lead it outside"), LEFT)
    assert session.setup.line(line).through_bar is None
    while session.undo_name is not None:
        changing.do("undo")
    assert session.setup == start


def test_lines_and_solids_are_copied_and_deleted(qtbot, changing) -> None:
    start = changing.session.setup
    changing.session.select(THROTTLE)
    qtbot.mouseClick(changing.line_side.change.copy, LEFT)
    assert f"{THROTTLE} 2" in [line.name for line in changing.session.setup.lines]
    assert changing.session.selected == f"{THROTTLE} 2"
    side = changing.body.change_side
    side.show_part(Part("solid", start.machine.solids[0].name))
    pick_in_menu(qtbot, side.add, "Solid", "Box")
    added = changing.session.setup.machine.solids[-1]
    assert added.body is Body.FRAME
    assert side.part.name == added.name
    qtbot.mouseClick(side.delete, LEFT)
    changing.do("undo")
    changing.do("undo")
    changing.do("undo")
    assert changing.session.setup == start
    assert dumps(changing.session.setup) == start.source


def test_a_control_in_use_is_not_deleted_and_the_window_says_why(qtbot, changing) -> None:
    side = changing.body.change_side
    name = changing.session.setup.line("clutch cable").stations[0].place.control
    side.show_part(Part("control", name))
    qtbot.mouseClick(side.delete, LEFT)
    assert "'clutch cable'" in changing.message.text
    assert not changing.session.changed


def test_back_to_the_answer(qtbot, changing) -> None:
    changing.body.change_side.done.emit()
    assert changing.body.left.currentWidget() is changing.setup_side
    assert not changing.line_side.change.isVisible()


def pick(row: FieldRow, word: str) -> None:
    """Choose a word from the list of a row."""
    box = row.editor if isinstance(row.editor, QComboBox) else row.editor.parentWidget()
    assert isinstance(box, QComboBox)
    at = box.findData(word) if box.findData(word) >= 0 else box.findText(word)
    box.setCurrentIndex(at)
    box.activated.emit(at)


def test_how_it_was_measured_is_picked_or_typed(qtbot, changing) -> None:
    row = bar_row(changing, "measured")
    pick(row, "eyeballed")
    assert changing.session.setup.new.bar.measured == "eyeballed"
    enter(qtbot, row, "7 mm")
    assert changing.session.setup.new.bar.measured == 7.0
    enter(qtbot, row, "by guess")
    assert "not a way to measure" in row.refusal
    qtbot.keyClick(row.editor, Qt.Key.Key_Escape)
    assert row.editor.text() == "7 mm"


def test_kinds_of_line_are_listed_by_their_labels(changing) -> None:
    changing.session.select(THROTTLE)
    box = changing.line_side.change.own.row("Line", "kind").editor
    assert isinstance(box, QComboBox)
    words = [box.itemText(row) for row in range(box.count())]
    assert box.currentData() == "throttle_pull"
    assert not any("_" in word for word in words)
    assert words[box.currentIndex()].lower() == line_kinds()["throttle_pull"].label.lower()


def test_esc_takes_back_what_is_typed_and_then_leaves(qtbot, changing) -> None:
    row = bar_row(changing, "rise")
    qtbot.mouseClick(row.editor, LEFT)
    qtbot.keyClicks(row.editor, "9")
    qtbot.keyClick(row.editor, Qt.Key.Key_Escape)
    assert row.editor.text() == row.field.text("mm")
    assert changing.body.left.currentWidget() is changing.body.change_side
    qtbot.keyClick(row.editor, Qt.Key.Key_Escape)
    assert changing.body.left.currentWidget() is changing.setup_side


def test_tab_goes_from_the_top_of_a_form_to_its_bottom(qtbot, changing) -> None:
    side = changing.body.change_side
    side.show_part(Part("machine"))
    QApplication.processEvents()  # new rows are shown later
    rows = side.form.rows
    rows[0].editor.setFocus()
    for row in rows[1:6]:
        qtbot.keyClick(changing.focusWidget(), Qt.Key.Key_Tab)
        assert changing.focusWidget() in (row.box, row.editor)


def test_the_reason_of_a_refusal_is_scrolled_into_sight(qtbot, changing) -> None:
    side = changing.body.change_side
    side.show_part(Part("limits"))
    row = side.form.rows[-1]
    enter(qtbot, row, "a lot")
    assert row.refusal
    qtbot.waitUntil(lambda: row.visibleRegion().boundingRect() == row.rect())


def test_parts_are_listed_under_headings_that_cannot_be_picked(changing) -> None:
    parts = changing.body.change_side.parts
    heads = [row for row in range(parts.count()) if parts.itemData(row) is None]
    assert [parts.itemText(row) for row in heads] == [
        "Bars", "Machine", "Judging", "Controls", "Solids",
    ]  # fmt: skip
    for row in heads:
        assert not parts.model().index(row, 0).flags() & Qt.ItemFlag.ItemIsSelectable


def test_a_limit_is_set_and_left_to_the_table_again(qtbot, changing) -> None:
    side = changing.body.change_side
    side.show_part(Part("limits"))
    row = side.form.row("On the bar", "hand_gap")
    assert row.editor.placeholderText() == "25 mm"
    assert "Source:" in row.editor.toolTip()
    enter(qtbot, row, "30 mm")
    assert limit(changing.session.setup, "hand_gap") == 30.0
    enter(qtbot, row, "")
    assert changing.session.setup.limits == ()


def test_the_rider_has_a_form(qtbot, changing) -> None:
    side = changing.body.change_side
    side.show_part(Part("rider"))
    pick(side.form.row("Rider", "build"), "woman, 5th percentile")
    assert changing.session.setup.rider.build == "woman, 5th percentile"


def test_circuits_are_added_changed_and_deleted(qtbot, changing) -> None:
    session, own = changing.session, changing.line_side.change.rest
    name = "left heated-grip lead"
    session.edit(edits.change_line(session.setup, name, wires=None), "Forget the wires")
    session.select(name)
    start = session.setup
    qtbot.mouseClick(own.button("Wires", "List its wires"), LEFT)
    qtbot.mouseClick(own.button("Wires", "Add circuit"), LEFT)
    enter(qtbot, own.row("Circuit 2", "name"), "heater")
    pick(own.row("Circuit 2", "gauge"), "0.75 mm²")
    enter(qtbot, own.row("Circuit 2", "count"), "2")
    circuits = session.setup.line(name).wires.circuits
    assert [(one.name, one.gauge, one.count) for one in circuits][1] == ("heater", "0.75 mm²", 2)
    enter(qtbot, own.row("Circuit 1", "name"), "heater")
    assert own.row("Circuit 1", "name").refusal
    qtbot.mouseClick(own.button("Circuit 1", "Delete"), LEFT)
    assert [one.name for one in session.setup.line(name).wires.circuits] == ["heater"]
    while session.setup != start:
        session.undo()
    assert session.setup == start


def test_a_hose_and_its_master_cylinder_have_forms(qtbot, changing) -> None:
    session = changing.session
    hose = next(line for line in session.setup.lines if "hose" in line.kind)
    session.select(hose.name)
    own = changing.line_side.change.rest
    enter(qtbot, own.row("Inside the hose", "bore"), "3.5 mm")
    pick(own.row("Its last end", "bleeder"), "true")
    changed = session.setup.line(hose.name).hose
    assert (changed.bore, changed.end.bleeder) == (3.5, True)
    side = changing.body.change_side
    side.show_part(Part("control", hose.stations[0].place.control))
    if ("Master cylinder", "Enter its sizes") in side.form._buttons:
        qtbot.mouseClick(side.form.button("Master cylinder", "Enter its sizes"), LEFT)
    enter(qtbot, side.form.row("Master cylinder", "reservoir"), "40")
    master = next(c.master for c in session.setup.controls if c.name == side.part.name)
    assert master.reservoir == 40_000.0


def test_a_place_that_may_be_left_out_counts_once_all_of_it_is_typed(qtbot, changing) -> None:
    side = changing.body.change_side
    side.show_part(Part("control", "clutch perch"))
    start = changing.session.setup

    def row(axis: str) -> FieldRow:
        return side.form.row("Room it takes", f"lever_tip_{axis}")

    enter(qtbot, row("outward"), "5 in")
    assert "Left to type: Lever tip, forward and Lever tip, up" in row("outward").refusal
    enter(qtbot, row("up"), "tall")
    assert "is not a length" in row("up").refusal
    assert changing.session.setup is start
    enter(qtbot, side.form.row("Control", "inboard"), "160")  # another edit does not wipe it out
    assert row("outward").editor.text() == "5 in"
    enter(qtbot, row("up"), "-9 mm")
    enter(qtbot, row("forward"), "78")
    control = next(one for one in changing.session.setup.controls if one.name == "clutch perch")
    assert control.size is not None
    assert control.size.lever_tip == pytest.approx((127.0, 78.0, -9.0))
    assert [row(axis).refusal for axis in ("outward", "forward", "up")] == ["", "", ""]
    assert "127 mm" in row("outward").editor.text()
    # one emptied says what is missing; all three emptied leave it out
    for axis in ("outward", "forward"):
        enter(qtbot, row(axis), "")
        assert "Left to type" in row(axis).refusal
    enter(qtbot, row("up"), "")
    control = next(one for one in changing.session.setup.controls if one.name == "clutch perch")
    assert control.size is not None
    assert control.size.lever_tip is None
    for _ in range(3):
        changing.do("undo")
    assert changing.session.setup == start


def test_the_numbers_of_a_station_come_into_sight_when_it_is_picked(qtbot, window):
    qtbot.keyClick(window, Qt.Key.Key_F2)
    change = window.line_side.change
    area = change.parentWidget()
    while not isinstance(area, QScrollArea):
        area = area.parentWidget()
    area.verticalScrollBar().setValue(area.verticalScrollBar().maximum())
    line = window.session.setup.line(window.session.selected)
    window.session.select_station(len(line.stations) - 2)
    button = change.station_button(len(line.stations) - 2)

    def in_sight() -> bool:
        top = button.mapTo(area.viewport(), QPoint(0, 0)).y()
        return 0 <= top < area.viewport().height() - button.height()

    qtbot.waitUntil(in_sight)


def test_undo_and_redo_look_at_what_the_step_was_about(qtbot, changing) -> None:
    session, side = changing.session, changing.body.change_side
    session.select(THROTTLE)
    session.select_station(2)
    setup = session.setup
    number = next(
        k
        for k, one in enumerate(setup.line("clutch cable").stations)
        if isinstance(one.place, PointPlace) and one.hold is Hold.GUIDE
    )
    x, y, z = setup.line("clutch cable").stations[number].place.position
    moved = edits.move_station(setup, "clutch cable", number, (x, y, z + 5.0))
    session.edit(moved, "Move a guide")
    perch = "clutch perch"
    session.edit(edits.change_control(moved, perch, inboard=200.0), "Move the perch")
    side.show_part(Part("machine"))
    session.select(None)
    qtbot.keyClick(changing, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert side.part == Part("control", perch)
    assert session.selected is None
    qtbot.keyClick(changing, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert session.setup == setup
    assert (session.selected, session.station) == ("clutch cable", number)
    assert changing.line_side.change.station_button(number).isChecked()
    session.select(THROTTLE)
    changing.do("redo")
    assert (session.selected, session.station) == ("clutch cable", number)
    changing.do("redo")
    assert side.part == Part("control", perch)
    assert (session.selected, session.station) == ("clutch cable", number)
