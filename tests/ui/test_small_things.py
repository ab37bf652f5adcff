"""Where one would stumble: lists cut off, keys that do nothing, fields squeezed or out of sight."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QScrollArea
from sweeps import setup
from test_changing import enter, rise

from barfit.ui.add_line import AddLine
from barfit.ui.field_row import FieldRow
from barfit.ui.new_setup import NewSetup
from barfit.ui.theme import DARK, palette, style_sheet
from barfit.ui.widgets import Choices
from barfit.ui.window import Window

CONTROL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def dressed(qapp: QApplication):
    """The program's own looks."""
    before = qapp.style().objectName(), qapp.styleSheet(), qapp.palette()
    qapp.setStyle("Fusion")
    qapp.setStyleSheet(style_sheet(DARK))
    qapp.setPalette(palette(DARK))
    yield
    qapp.setStyle(before[0])
    qapp.setStyleSheet(before[1])
    qapp.setPalette(before[2])


def test_lists_to_pick_from_show_all_of_their_last_entry(qtbot, dressed) -> None:
    asked = NewSetup(None, "mm")
    qtbot.addWidget(asked)
    asked.show()
    for box in asked.findChildren(Choices):
        if not box.isVisible():
            continue
        box.showPopup()
        view = box.view()
        qtbot.waitUntil(view.isVisible)
        last = view.visualRect(view.model().index(box.count() - 1, 0))
        assert view.verticalScrollBar().maximum() == 0, box.accessibleName()
        assert last.bottom() <= view.viewport().height(), box.accessibleName()
        box.hidePopup()


def test_fields_are_not_squeezed_in_a_dialog_and_say_all_of_what_is_wrong(qtbot, dressed) -> None:
    asked = AddLine(None, setup(), "mm")
    qtbot.addWidget(asked)
    asked.kind.setCurrentIndex(asked.kind.findData("choke_cable"))
    asked.start.setCurrentIndex(asked.start.count() - 1)  # a place of the machine
    asked.show()
    qtbot.wait(50)

    def whole(row: FieldRow) -> bool:
        words = row._why
        said = not row.refusal or words.height() >= words.heightForWidth(words.width())
        return row.editor.height() >= row.editor.sizeHint().height() and said

    assert all(map(whole, asked.rows.values()))
    for key in ("start_left", "start_up", "forward"):
        enter(qtbot, asked.rows[key], "x" * 30)
    qtbot.waitUntil(lambda: all(map(whole, asked.rows.values())))
    assert asked.rows["forward"].refusal
    assert asked.height() <= 760


def test_a_line_to_be_added_leaves_the_control_that_is_usual_for_its_kind(qtbot, dressed) -> None:
    # without its cable the clutch perch is free
    bare = setup()
    cable = next(line for line in bare.lines if line.kind == "clutch_cable")
    bare = replace(bare, lines=tuple(line for line in bare.lines if line is not cable))
    asked = AddLine(None, bare, "mm")
    qtbot.addWidget(asked)
    asked.kind.setCurrentIndex(asked.kind.findData("clutch_cable"))
    assert asked.start.currentData() == cable.stations[0].place
    asked.kind.setCurrentIndex(asked.kind.findData("speedometer_cable"))
    assert asked.start.currentIndex() == asked.start.count() - 1, "it starts at no control"


def test_undo_goes_on_to_the_setup_from_a_field_with_nothing_of_its_own(
    qtbot, window: Window
) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F2)
    form = window.body.change_side.form
    before = rise(window)
    enter(qtbot, form.row("Bar, new", "rise"), "150")
    assert rise(window) == 150.0
    other = form.row("Bar, new", "width").editor
    other.setFocus()
    qtbot.keyClick(other, Qt.Key.Key_Z, CONTROL)
    assert rise(window) == before
    assert other.hasFocus()
    qtbot.keyClick(other, Qt.Key.Key_Z, CONTROL | SHIFT)
    assert rise(window) == 150.0

    # what is being typed is the field's own to undo
    qtbot.keyClicks(other, "1")
    qtbot.keyClick(other, Qt.Key.Key_Z, CONTROL)
    assert rise(window) == 150.0


def test_tab_after_an_error_shows_the_field_it_goes_to(qtbot, window: Window) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F3)
    side = window.body.measure_side
    qtbot.waitUntil(lambda: all(row.isVisible() for row in side.form.rows))
    rows = list(side.form.rows)
    area = side.form.parentWidget()
    while not isinstance(area, QScrollArea):
        area = area.parentWidget()
    rows[0].box.setFocus()
    for row in rows[1:]:
        focused = QApplication.focusWidget()
        qtbot.keyClicks(focused, "x")
        qtbot.keyClick(focused, Qt.Key.Key_Tab)
        assert row.has_focus()

        def in_sight(row: FieldRow = row) -> bool:
            top = row.mapTo(area.viewport(), row.rect().topLeft()).y()
            return top >= 0 and top + row.height() <= area.viewport().height()

        qtbot.waitUntil(in_sight)
