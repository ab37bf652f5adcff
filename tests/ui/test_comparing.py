"""Ways to go and bars to fit are picked, tried and compared in the window."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from barfit import edits
from barfit.scenario import dumps
from barfit.ui.bars_table import Cell
from barfit.ui.window import Window

LEFT = Qt.MouseButton.LeftButton
CLUTCH = "clutch cable"
FIRST, OTHER = "behind the top clamp", "straight to the head tube"
BARS = ["a little higher", "high and wide", "pulled back"]


@pytest.fixture
def twin(qtbot, make_window) -> Window:
    """The old twin, with its clutch cable selected."""
    window = make_window("old-twin")
    window.session.select(CLUTCH)
    return window


@pytest.fixture
def bars(qtbot, twin) -> Window:
    """All bars side by side, worked out."""
    qtbot.mouseClick(twin.setup_side.pages.button(True), LEFT)
    qtbot.waitUntil(lambda: "needs least" in summary(twin) or "need as much" in summary(twin))
    return twin


def summary(window: Window) -> str:
    return window.setup_side.summary


def undone(window: Window, steps: int) -> bool:
    """Whether so many steps back the file is what it was, to the byte."""
    assert window.session.undo_name is not None
    for _ in range(steps):
        window.do("undo")
    return not window.commands.undo.isEnabled() and (
        dumps(window.session.setup) == window.session.setup.source
    )


# ways


def test_another_way_is_picked_in_one_step_and_taken_back(qtbot, twin) -> None:
    ways = twin.line_side.ways
    assert list(ways.buttons) == [FIRST, OTHER]
    assert ways.buttons[FIRST].isChecked()
    qtbot.mouseClick(ways.buttons[OTHER], LEFT)
    assert twin.session.setup.line(CLUTCH).routing == OTHER
    assert twin.session.undo_name == f"Take another way: {OTHER}"
    assert ways.buttons[OTHER].isChecked()
    assert list(ways.buttons) == [FIRST, OTHER]  # in the same place
    assert undone(twin, 1)
    assert ways.buttons[FIRST].isChecked()


def test_ways_are_reached_and_picked_by_keys(qtbot, twin) -> None:
    button = twin.line_side.ways.buttons[OTHER]
    assert button.focusPolicy() & Qt.FocusPolicy.TabFocus
    assert button.accessibleName() == f"Way to go: {OTHER}"
    button.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.keyClick(button, Qt.Key.Key_Space)
    assert twin.session.setup.line(CLUTCH).routing == OTHER


def test_a_way_is_tried_renamed_deleted_and_one_kept(qtbot, twin) -> None:
    ways = twin.line_side.ways
    assert not ways.add.isVisible()  # looked at, not changed
    qtbot.keyClick(twin, Qt.Key.Key_F2)
    qtbot.mouseClick(ways.add, LEFT)
    assert twin.session.undo_name == "Try another way: another way"
    line = twin.session.setup.line(CLUTCH)
    assert (line.routing, len(line.routings)) == ("another way", 2)
    row = twin.line_side.change.own.row("Line", "routing")
    row.editor.selectAll()
    qtbot.keyClicks(row.editor, OTHER)
    qtbot.keyClick(row.editor, Qt.Key.Key_Return)
    assert "another way to go" in row.refusal
    row.editor.selectAll()
    qtbot.keyClicks(row.editor, "over the lamp")
    qtbot.keyClick(row.editor, Qt.Key.Key_Return)
    assert twin.session.setup.line(CLUTCH).routing == "over the lamp"
    gone = next(action for action in ways._menu.actions() if action.text().startswith("Straight"))
    gone.trigger()
    assert list(ways.buttons) == [FIRST, "over the lamp"]
    qtbot.mouseClick(ways.keep, LEFT)
    assert twin.session.setup.line(CLUTCH).routings == ()
    assert twin.session.undo_name == "Keep one way: over the lamp"
    assert undone(twin, 4)


def test_a_line_with_one_way_can_be_led_another(qtbot, twin) -> None:
    twin.session.select("speedometer cable")
    ways = twin.line_side.ways
    assert not ways.isVisible()
    qtbot.keyClick(twin, Qt.Key.Key_F2)
    assert ways.isVisible()
    assert not ways.compare.isVisible()
    qtbot.mouseClick(ways.add, LEFT)
    assert list(ways.buttons) == ["another way", "as it goes now"]
    assert undone(twin, 1)


def test_two_ways_are_compared_in_numbers_and_on_the_strip(qtbot, twin) -> None:
    ways = twin.line_side.ways
    before = len(twin.strip.rows)
    assert not twin.alternatives.comparer.get(other_setup(twin))
    qtbot.mouseClick(ways.compare, LEFT)
    qtbot.waitUntil(lambda: len(ways.table.texts) > 2)
    assert [row[0] for row in ways.table.texts][1:4] == ["Verdict", "Needed", "Margin"]
    names = [(row.name, row.way) for row in twin.strip.rows]
    at = names.index((CLUTCH, ""))
    assert names[at + 1] == (CLUTCH, OTHER)
    assert twin.strip.rows[at + 1].label == f"or: {OTHER}"
    assert len(names) == before + 1
    box = twin.strip.frame.row_box(at + 1)
    twin.session.select("choke cable")
    assert len(twin.strip.rows) == before + 1  # rows do not jump as lines are looked through
    assert not ways.table.isVisible()
    qtbot.mouseClick(twin.strip, LEFT, pos=box.center().toPoint())
    assert twin.session.selected == CLUTCH
    assert f"{OTHER}" in twin.strip.tip(twin.strip.rows[at + 1], 0.0)
    qtbot.mouseClick(ways.compare, LEFT)
    assert len(twin.strip.rows) == before
    assert not ways.table.isVisible()


def test_the_other_way_is_drawn_under_the_name_that_the_strip_has(qtbot, twin) -> None:
    ways, picture = twin.line_side.ways, twin.viewport
    assert picture.other_way is None
    qtbot.mouseClick(ways.compare, LEFT)
    qtbot.waitUntil(lambda: picture.other_way is not None)
    way = picture.other_way
    assert way.words in [row.label for row in twin.strip.rows]
    assert way.line.name == CLUTCH
    assert way.line.shapes.shape[2] == len(way.line.arc) > 2
    twin.session.select("choke cable")
    assert picture.other_way is way  # made once
    twin.session.show_bars(True)
    assert picture.other_way is None
    twin.session.show_bars(False)
    assert picture.other_way is way
    twin.session.select(CLUTCH)
    qtbot.mouseClick(ways.compare, LEFT)
    assert picture.other_way is None


def other_setup(window: Window):
    return edits.use_routing(window.session.setup, CLUTCH, OTHER)


def test_the_better_number_is_marked_in_words(qtbot, twin) -> None:
    ways = twin.line_side.ways
    shorter = edits.change_line(other_setup(twin), CLUTCH, length=900.0)
    twin.session.edit(edits.use_routing(shorter, CLUTCH, FIRST), "Shorter")
    qtbot.mouseClick(ways.compare, LEFT)
    qtbot.waitUntil(lambda: len(ways.table.texts) > 2)
    rows = {row[0]: row[1:] for row in ways.table.texts}
    assert rows[""] == ["this way", "other way"]
    assert not any("better" in text for text in rows["Needed"])
    # made-up slack is the same for both, so nothing is better
    assert not any("better" in text for row in rows.values() for text in row)


# bars


def test_all_bars_are_side_by_side_with_the_new_ones_marked(bars) -> None:
    table = bars.setup_side.all_bars
    assert list(table.heads) == BARS
    assert [name for name, head in table.heads.items() if head.isChecked()] == ["pulled back"]
    cells = table.findChildren(Cell)
    lines = len(bars.session.setup.lines)
    assert len(cells) == 3 * lines
    names = [cell.accessibleName() for cell in cells]
    assert any(name.startswith(f"{CLUTCH}, high and wide: ") for name in names)
    assert all(cell.toolTip() for cell in cells)


def test_a_column_opens_its_bars_in_one_step(qtbot, bars) -> None:
    head = bars.setup_side.all_bars.heads["high and wide"]
    head.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.keyClick(head, Qt.Key.Key_Space)
    assert bars.session.setup.new.title == "high and wide"
    assert bars.session.undo_name == "Take other bars: high and wide"
    heads = bars.setup_side.all_bars.heads
    assert list(heads) == BARS
    assert heads["high and wide"].isChecked()
    assert undone(bars, 1)


def test_bars_are_added_as_a_copy_and_deleted(qtbot, bars) -> None:
    table = bars.setup_side.all_bars
    bar = bars.session.setup.new.bar
    qtbot.mouseClick(table.add, LEFT)
    assert bars.session.setup.new.name == "other bars"
    assert bars.session.setup.new.bar == bar
    assert len(table.heads) == 4
    qtbot.keyClick(bars, Qt.Key.Key_F2)
    row = bars.body.change_side.form.row("Among all bars", "name")
    row.editor.selectAll()
    qtbot.keyClicks(row.editor, "mine")
    qtbot.keyClick(row.editor, Qt.Key.Key_Return)
    assert bars.session.setup.new.name == "mine"
    texts = [action.text() for action in table._menu.actions()]
    assert texts == ["A little higher", "High and wide", "Pulled back"]
    table._menu.actions()[0].trigger()
    assert list(table.heads) == ["high and wide", "mine", "pulled back"]
    assert undone(bars, 3)


def test_an_edit_makes_the_table_stale_until_it_is_worked_out(qtbot, bars) -> None:
    second = bars.alternatives.comparer._worker
    second.held = bars.worker.held = True
    bars.session.edit(edits.change_line(bars.session.setup, CLUTCH, length=950.0), "Longer")
    columns = bars.alternatives._columns()
    assert all(column.stale and column.numbers for column in columns)
    assert summary(bars) == "Being worked out …"
    tips = [cell.toolTip() for cell in bars.setup_side.all_bars.findChildren(Cell)]
    assert all("before the last change" in tip for tip in tips)
    count = len(second.submitted)
    bars.worker.held = False
    bars.worker.answer()  # the window's own first, then the others
    assert len(second.submitted) == count + 1
    second.held = False
    second.answer()
    qtbot.waitUntil(lambda: summary(bars) != "Being worked out …")
    assert not any(column.stale for column in bars.alternatives._columns())


def test_nothing_is_worked_out_that_nobody_looks_at(qtbot, twin) -> None:
    second = twin.alternatives.comparer._worker
    twin.session.edit(edits.change_line(twin.session.setup, CLUTCH, length=950.0), "Longer")
    qtbot.waitUntil(lambda: not twin.session.stale(True))
    assert second.submitted == []


def test_bars_that_cannot_be_worked_out_say_why(qtbot, twin) -> None:
    second = twin.alternatives.comparer._worker
    second.held = True
    qtbot.mouseClick(twin.setup_side.pages.button(True), LEFT)
    for _ in range(2):
        second.failed.emit("The bar is bent through itself.")
        second.idle.emit()
    assert "could not be worked out: The bar is bent through itself." in summary(twin)
    assert twin.alternatives.comparer._running is None


def test_the_table_fits_the_smallest_window(qtbot, bars) -> None:
    table = bars.setup_side.all_bars
    area = table._scroll
    assert area.horizontalScrollBar().maximum() == 0
    for head in table.heads.values():
        assert head.visibleRegion().boundingRect().size() == head.size()
