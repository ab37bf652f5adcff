"""The setup is changed in the window by mouse and keys, one step at a time."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit

from barfit.model import Bar, Body, PointPlace
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
    qtbot.keyClicks(edit, text)
    qtbot.keyClick(edit, Qt.Key.Key_Return)


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
    enter(qtbot, change.place.row(heading, "position"), "2 in, 1.5 in, -3 in")
    place = changing.session.setup.line("clutch cable").stations[number].place
    assert isinstance(place, PointPlace)
    assert place.position == pytest.approx((50.8, 38.1, -76.2))
    count = len(line.stations)
    qtbot.mouseClick(change.guide, LEFT)
    assert len(changing.session.setup.line("clutch cable").stations) == count + 1
    changing.session.select_station(number + 1)
    qtbot.mouseClick(change.drop, LEFT)
    assert len(changing.session.setup.line("clutch cable").stations) == count


def test_lines_and_solids_are_copied_and_deleted(qtbot, changing) -> None:
    start = changing.session.setup
    changing.session.select(THROTTLE)
    qtbot.mouseClick(changing.line_side.change.copy, LEFT)
    assert f"{THROTTLE} 2" in [line.name for line in changing.session.setup.lines]
    side = changing.body.change_side
    side.show_part(Part("solid", start.machine.solids[0].name))
    qtbot.mouseClick(side.add, LEFT)
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
