from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made import InstantWorker, StubViewport
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QFontMetricsF
from PySide6.QtWidgets import QApplication, QFileDialog, QLabel, QMessageBox
from sweeps import path, setup, slack_of

from barfit import scenario
from barfit.analysis import Cause, Sureness, Verdict
from barfit.analysis.moved import Mover, stretches
from barfit.analysis.stops import LineStops, Stop
from barfit.analysis.touching import Pinch, Touch
from barfit.geometry.pose import layout
from barfit.model import Body
from barfit.report.sentences import sentence
from barfit.session import Session, at_pose
from barfit.ui.app import install_excepthook
from barfit.ui.body import SIDE_WIDTH
from barfit.ui.help import AboutDialog, KeysDialog, command_words
from barfit.ui.line_list import BELOW, PAD
from barfit.ui.strip_frame import ROW_LEAST
from barfit.ui.theme import DARK, GRID, LIGHT, Choice, Theme, Type, font
from barfit.ui.transport import advance
from barfit.ui.window import Window
from barfit.ui.words import length_text, typeset


def key(qtbot, window, key, modifier=Qt.KeyboardModifier.NoModifier):
    qtbot.keyClick(window, key, modifier)


def degrees(window) -> float:
    return math.degrees(window.session.pose.turn)


def drop(window, path: Path) -> None:
    """What a file manager does."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    enter = QDragEnterEvent(
        QPoint(200, 200),
        Qt.DropAction.CopyAction,
        data,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    QApplication.sendEvent(window, enter)
    assert enter.isAccepted()
    event = QDropEvent(
        QPointF(200, 200),
        Qt.DropAction.CopyAction,
        data,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    QApplication.sendEvent(window, event)
    QApplication.processEvents()


def strip_place(window, row: int, degrees: float) -> QPoint:
    frame = window.strip.frame
    x = frame.x_of(math.radians(degrees))
    return QPoint(round(x), round(frame.row_box(row).center().y()))


# opening


def test_it_opens_playing_with_the_worst_line_selected(qtbot, settings):
    session = Session(setup(), path())
    window = Window(session, StubViewport(), InstantWorker(), Theme(Choice.LIGHT), settings)
    qtbot.addWidget(window)
    window.show()
    qtbot.waitUntil(lambda: window.player.playing)
    qtbot.waitUntil(lambda: abs(degrees(window)) > 0.5)
    assert session.selected == session.result().worst().line
    assert window.viewport.pose == session.pose
    assert "Tall bar on a cable-clutch cruiser" in window.windowTitle()


def test_everything_shown_belongs_to_one_setup(window):
    result = window.session.result()
    assert window.viewport.setup is result.sweep.setup
    assert window.viewport.result is result
    assert window.setup_side.summary.endswith(". 2 of 8 lines do not fit.")
    assert window.setup_side.lines.names() == [line.name for line in result.sweep.setup.lines]


def test_opening_another_machine_replaces_all(qtbot, window):
    window.open(path("old-twin"))
    assert window.viewport.result is None  # no lines of the machine before
    assert window.line_side.text("Installed") == "–"
    qtbot.waitUntil(lambda: not window.session.stale(True))
    assert window.viewport.setup == setup("old-twin")
    assert window.viewport.result is window.session.result()
    assert window.setup_side.lines.names() == [line.name for line in setup("old-twin").lines]
    assert window.settings.recent == [path("old-twin")]
    assert window.commands.recent.isEnabled()
    assert not window.message.isVisible()


def test_a_bad_file_dropped_is_told_and_the_setup_kept(qtbot, window, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text("format = 1\n[machine]\nrake = 'steep'\n")
    before, result = window.session.setup, window.session.result()
    drop(window, bad)
    assert window.message.isVisible()
    assert window.message.text.startswith(f"Not opened: {bad}")
    first, *told = window.message.text.splitlines()
    assert f"has {len(told)} problems" in first
    assert any(line.endswith('write unit = "mm" or unit = "in"') for line in told)
    assert any("'steep' is not an angle" in line for line in told)
    most = window.message.MOST * window.height() + 2 * GRID
    assert window.message.height() <= most + 2  # many problems scroll
    assert window.session.setup is before
    assert window.session.result() is result
    assert window.viewport.result is result
    assert window.settings.recent == []
    drop(window, path("old-twin"))
    assert window.session.setup == setup("old-twin")
    assert not window.message.isVisible()


def test_a_folder_dropped_is_told(window, tmp_path):
    drop(window, tmp_path)
    assert str(tmp_path) in window.message.text


def test_examples_and_recent_files_open_from_the_menu(qtbot, window):
    examples = window.commands.examples.actions()
    bundled = [p.stem.replace("-", " ").capitalize() for p in scenario.bundled()]
    assert [action.text() for action in examples] == bundled
    next(action for action in examples if action.text() == "Old twin").trigger()
    assert window.session.setup == setup("old-twin")
    window.commands.recent.actions()[0].trigger()
    assert window.session.setup == setup("old-twin")


def test_open_asks_for_a_file(window, monkeypatch):
    chosen = str(path("old-twin"))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *args: (chosen, ""))
    window.do("open")
    assert window.session.path == path("old-twin")
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *args: ("", ""))
    window.do("open")
    assert window.session.path == path("old-twin")


# turning


def test_dragging_the_playhead_turns_everything(qtbot, window):
    window.player.play()
    strip = window.strip
    qtbot.mousePress(strip, Qt.MouseButton.LeftButton, pos=strip_place(window, 2, 0))
    assert not window.player.playing
    for wanted in (10, 20, 30):
        qtbot.mouseMove(strip, strip_place(window, 2, wanted))
        assert degrees(window) == pytest.approx(wanted, abs=0.1)
        assert window.viewport.pose == window.session.pose
    qtbot.mouseRelease(strip, Qt.MouseButton.LeftButton)
    line = window.session.setup.lines[2].name
    assert window.session.selected == line
    spare = slack_of(2, False, np.radians([30.0]))[0]
    assert window.line_side.text("Slack here") == f"{spare:.0f} mm"


def test_a_click_on_a_ribbon_selects_the_line_everywhere(qtbot, window):
    at = strip_place(window, 4, -15)
    qtbot.mouseClick(window.strip, Qt.MouseButton.LeftButton, pos=at)
    line = window.session.setup.lines[4]
    assert window.session.selected == line.name
    assert window.viewport.selected == line.name
    finding, machine = window.session.result().finding(line.name), window.session.setup.machine
    assert window.line_side.sentence_text == typeset(sentence(finding, line, "mm", machine))
    assert degrees(window) == pytest.approx(-15, abs=0.1)


def test_keys_turn_the_bars(qtbot, window):
    shift = Qt.KeyboardModifier.ShiftModifier
    for pressed, modifier, wanted in (
        (Qt.Key.Key_Right, Qt.KeyboardModifier.NoModifier, 1),
        (Qt.Key.Key_Right, shift, 6),
        (Qt.Key.Key_Left, Qt.KeyboardModifier.NoModifier, 5),
        (Qt.Key.Key_Left, shift, 0),
        (Qt.Key.Key_End, Qt.KeyboardModifier.NoModifier, 40),
        (Qt.Key.Key_Right, Qt.KeyboardModifier.NoModifier, 40),
        (Qt.Key.Key_Home, Qt.KeyboardModifier.NoModifier, -40),
        (Qt.Key.Key_C, Qt.KeyboardModifier.NoModifier, 0),
    ):
        key(qtbot, window, pressed, modifier)
        assert degrees(window) == pytest.approx(wanted, abs=1e-9)


def test_steps_land_on_whole_degrees(qtbot, window):
    window.session.turn_to(math.radians(10.4))
    key(qtbot, window, Qt.Key.Key_Right)
    assert degrees(window) == pytest.approx(11)
    window.session.turn_to(math.radians(-10.4))
    key(qtbot, window, Qt.Key.Key_Left)
    assert degrees(window) == pytest.approx(-11)


def test_space_plays_and_pauses_even_after_a_button_was_clicked(qtbot, window):
    qtbot.mouseClick(window.transport.button("right_lock"), Qt.MouseButton.LeftButton)
    assert degrees(window) == pytest.approx(-40)
    key(qtbot, window, Qt.Key.Key_Space)
    assert window.player.playing
    qtbot.waitUntil(lambda: degrees(window) > -38)
    key(qtbot, window, Qt.Key.Key_Space)
    assert not window.player.playing
    here = degrees(window)
    qtbot.wait(60)
    assert degrees(window) == here


def test_play_goes_from_lock_to_lock_by_the_clock():
    locks = (-0.6, 0.7)
    turn, way, seen = 0.0, 1, []
    for _ in range(60):
        turn, way = advance(turn, way, 0.1, locks)
        seen.append(turn)
    assert max(seen) == 0.7
    assert min(seen) == -0.6
    steps = np.abs(np.diff(seen))
    assert steps.max() <= 0.1 + 1e-12


def test_speed_is_changed_by_switch_and_key(qtbot, window):
    qtbot.mouseClick(window.transport.speeds.button(2.0), Qt.MouseButton.LeftButton)
    assert window.player.speed == 2.0
    window.do("slower")
    assert window.player.speed == 1.0
    assert window.transport.speeds.button(1.0).isChecked()
    window.do("slower")
    window.do("slower")
    assert window.player.speed == 0.5


def test_the_suspension_switch_changes_every_number(qtbot, window):
    window.session.select(window.session.setup.lines[0].name)
    assert window.line_side.text("Slack here") == "20 mm"
    qtbot.mouseClick(window.transport.travels.button(0), Qt.MouseButton.LeftButton)
    machine = window.session.setup.machine
    assert window.session.pose.travel == -machine.sag
    assert window.viewport.pose.travel == -machine.sag
    assert window.line_side.text("Slack here") == "15 mm"


def test_the_worst_pose_is_shown_with_its_suspension_position(qtbot, window):
    window.session.select(window.session.setup.lines[1].name)
    key(qtbot, window, Qt.Key.Key_W)
    assert degrees(window) == pytest.approx(-40)
    assert window.session.pose.travel == -window.session.setup.machine.sag
    assert window.transport.travels.button(0).isChecked()


# bars, units, colours, looks


def test_switching_to_stock_bars_shows_their_result(qtbot, window):
    button = window.setup_side.bars.button(True)
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    session = window.session
    assert session.stock
    assert window.viewport.stock
    assert window.viewport.result is session.result(True)
    assert window.setup_side.summary == "Every line fits."
    finding = session.result(True).finding(session.selected)
    assert window.line_side.text("Margin") == f"{finding.margin:+.0f} mm"
    key(qtbot, window, Qt.Key.Key_B)
    assert window.viewport.result is session.result(False)


def test_what_moves_with_what_is_shown_and_said_of_the_line(qtbot, window):
    session, setup = window.session, window.session.setup
    assert window.line_side.movers_text == ""
    key(qtbot, window, Qt.Key.Key_M)
    assert window.viewport.bodies
    assert window.commands.bodies.isChecked()
    for line in setup.lines:
        session.select(line.name)
        places = layout(setup, setup.new)[line.name]
        said = window.line_side.movers_text
        reached = any(one.mover is Mover.BARS for one in stretches(places))
        assert ("other bars change it" in said) == reached, said
        assert places.names[-1] in said or said.startswith("All the way")
    window.commands.actions["Colour by: bend"].trigger()  # lines tell something else again
    assert not window.viewport.bodies
    assert not window.commands.bodies.isChecked()
    assert window.line_side.movers_text == ""


def test_a_show_is_painted_as_things_are_and_comes_back(qtbot, window):
    key(qtbot, window, Qt.Key.Key_M)
    window.showing.enter()
    assert not window.viewport.bodies
    window.showing.leave()
    assert window.viewport.bodies


def test_the_ghost_is_the_other_bars(qtbot, window):
    assert window.viewport.ghost is None
    key(qtbot, window, Qt.Key.Key_G)
    assert window.viewport.ghost is window.session.result(True).sweep
    key(qtbot, window, Qt.Key.Key_B)
    assert window.viewport.ghost is window.session.result(False).sweep
    key(qtbot, window, Qt.Key.Key_G)
    assert window.viewport.ghost is None


def test_the_dimensions_show_what_changes(window):
    rows = {row[0]: row[1:] for row in window.setup_side.table_texts()}
    stock, new = setup().stock.bar, setup().new.bar
    assert rows["mm"] == ["stock", "new", "change"]
    assert rows["Rise"] == [
        f"{stock.rise:.0f}",
        f"{new.rise:.0f}",
        f"{new.rise - stock.rise:+.0f}",
    ]


def test_dimensions_that_stay_take_one_line(make_window):
    window = make_window("touring-hydraulic")
    texts = window.setup_side.table_texts()
    stock, new = setup("touring-hydraulic").stock.bar, setup("touring-hydraulic").new.bar
    assert stock.tube_diameter == new.tube_diameter
    assert "Tube" not in [row[0] for row in texts]
    assert f"tube {stock.tube_diameter:.1f}" in texts[-1][0]


def test_ten_lines_are_all_in_sight_in_a_small_window(qtbot, make_window):
    window = make_window("touring-hydraulic")
    window.resize(1280, 800)
    qtbot.wait(20)
    lines = window.setup_side.lines
    assert len(lines.names()) == 10
    assert not lines.verticalScrollBar().isVisible()


def test_no_page_of_the_sides_takes_room_from_the_picture_in_a_small_window(qtbot, window):
    window.resize(1280, 800)
    qtbot.wait(20)
    transport = window.transport
    assert window.body.left.width() == SIDE_WIDTH
    assert transport.speeds.mapTo(transport, QPoint()).y() == (
        transport.travels.mapTo(transport, QPoint()).y()
    )  # one row of buttons


def test_what_counts_most_is_said_first_and_in_the_larger_type(window):
    side = window.setup_side
    assert side.summary.startswith(side._summary.text())
    assert side._summary.text().count(". ") == 0
    assert side._summary.font().pointSizeF() > side._more.font().pointSizeF()


def test_the_unit_switch_changes_all_lengths_and_is_remembered(qtbot, window):
    window.session.select(window.session.setup.lines[0].name)
    key(qtbot, window, Qt.Key.Key_U)
    assert window.session.unit == "in"
    assert window.viewport.unit == "in"
    assert window.settings.unit == "in"
    side = window.line_side
    for number in ("Installed", "Needed", "Margin", "Slack here"):
        assert side.text(number).endswith(" in")
    assert " in" in side.sentence_text
    assert " mm" not in side.sentence_text
    assert window.setup_side.table_texts()[0][0] == "in"
    margin = window.line_side.text("Margin")
    assert window.setup_side.lines.lines.index(0, 2).data() == margin.removesuffix(" in")
    window.commands.actions["Lengths in: mm"].trigger()
    assert side.text("Installed").endswith(" mm")


def test_colouring_by_bend_goes_to_viewport_and_strip(window):
    before = window.strip.grab().toImage()
    window.commands.actions["Colour by: bend"].trigger()
    assert window.viewport.mode == "bend"
    assert window.strip.grab().toImage() != before


def test_views_and_frame(qtbot, window):
    for pressed, name in (
        (Qt.Key.Key_1, "rider"),
        (Qt.Key.Key_2, "front"),
        (Qt.Key.Key_3, "left"),
        (Qt.Key.Key_4, "right"),
        (Qt.Key.Key_5, "top"),
        (Qt.Key.Key_6, "three-quarter"),
    ):
        key(qtbot, window, pressed)
        assert window.viewport.seen == name
    key(qtbot, window, Qt.Key.Key_F)
    assert window.viewport.framed == window.session.selected


def test_dark_and_light_reach_everything_and_are_remembered(window, settings):
    window.commands.actions["Appearance: dark"].trigger()
    assert window.theme.colours is DARK
    assert window.viewport.theme == "dark"
    assert settings.theme is Choice.DARK
    dark = window.strip.grab().toImage().pixelColor(3, 3).name()
    assert dark == DARK.panel
    window.commands.actions["Appearance: light"].trigger()
    assert window.strip.grab().toImage().pixelColor(3, 3).name() == LIGHT.panel


# the list of lines


def test_lines_sort_by_margin_and_up_and_down_follow_that_order(qtbot, window):
    table = window.setup_side.lines
    table.sortByColumn(2, Qt.SortOrder.AscendingOrder)
    result = window.session.result()
    wanted = [f.line for f in sorted(result.findings, key=lambda finding: finding.margin)]
    assert table.names() == wanted
    window.session.select(wanted[0])
    key(qtbot, window, Qt.Key.Key_Down)
    assert window.session.selected == wanted[1]
    key(qtbot, window, Qt.Key.Key_Up)
    key(qtbot, window, Qt.Key.Key_Up)
    assert window.session.selected == wanted[0]
    table.sortByColumn(1, Qt.SortOrder.AscendingOrder)
    assert set(table.names()[:2]) == {line.name for line in setup().lines[:2]}


def test_the_windows_keys_work_with_the_list_in_focus(qtbot, window):
    table = window.setup_side.lines
    table.setFocus(Qt.FocusReason.TabFocusReason)
    names = table.names()
    window.session.select(names[2])
    qtbot.keyClick(table, Qt.Key.Key_Down)
    assert window.session.selected == names[3]
    qtbot.keyClick(table, Qt.Key.Key_End)
    assert degrees(window) == pytest.approx(40)
    qtbot.keyClick(table, Qt.Key.Key_Space)
    assert window.player.playing


def test_a_button_reached_by_tab_is_pressed_by_space(qtbot, window):
    button = window.transport.button("right_lock")
    button.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.keyClick(button, Qt.Key.Key_Space)
    assert degrees(window) == pytest.approx(-40)
    assert not window.player.playing
    stock = window.setup_side.bars.button(False)
    stock.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.keyClick(stock, Qt.Key.Key_Left)
    assert window.session.stock
    assert degrees(window) == pytest.approx(-40)


def test_a_click_in_the_list_selects_the_line(qtbot, window):
    table = window.setup_side.lines
    at = table.visualRect(table.model().index(3, 0)).center()
    qtbot.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert window.session.selected == table.names()[3]


def test_a_line_clicked_in_the_picture_is_selected(window):
    line = window.session.setup.lines[5].name
    window.viewport.line_clicked.emit(line)
    assert window.session.selected == line
    assert window.line_side.sentence_text.startswith(line[:1].upper() + line[1:])


# what is found beside the verdict


def found_more(window, at: int, **changes) -> None:
    """Give a line's finding more than the made-up sweep has."""
    result = window.session.result()
    findings = list(result.findings)
    findings[at] = replace(findings[at], **changes)
    window.session.accept(replace(result, findings=tuple(findings)))


def test_a_fact_with_a_pose_leads_there(qtbot, window):
    touch = Touch(
        "tank", Body.FRAME, ((0.1, 0.5),), 5.0, math.radians(25), 45.0, 9.0, "lever", (0, 0, 0), 40
    )
    found_more(window, 2, touches=(touch,))
    window.session.select(window.session.setup.lines[2].name)
    side = window.line_side
    assert side.text("Tank") == "rubs 40 mm, 5 N"
    qtbot.mouseClick(side.further.value("Tank"), Qt.MouseButton.LeftButton)
    assert degrees(window) == pytest.approx(25)
    assert window.session.pose.travel == 45.0
    key(qtbot, window, Qt.Key.Key_U)
    assert side.text("Tank") == "rubs 1 9/16 in, 5 N"


def test_only_what_applies_is_listed(window):
    window.session.select(window.session.setup.lines[2].name)
    side = window.line_side
    assert side.further.words == []
    assert not side.further.isVisible()
    found_more(window, 2, sure=Sureness(4.0, causes=(Cause("riser", "riser, height", 2.0),)))
    assert side.text("Margin").endswith("± 8 mm")
    assert side.text("Riser, height") == "± 4 mm"
    assert side.further.isVisible()


def test_the_panel_of_a_line_never_needs_to_be_wider_than_it_is(qtbot, window):
    long = "'guide beside the head tube' of the left switch harness"
    touch = Touch(long, Body.FRAME, (), 500.0, 0.1, 0.0, 9.0, "lever", (0.0, 0.0, 0.0), 40.0)
    pinch = Pinch(long, "front brake master cylinder", 3.0, 8.0, 0.3, 0.0, 9.0, "a", (0, 0, 0))
    stops = LineStops(Stop(-0.3, -45.0), Stop(0.3, 60.0))
    found_more(window, 2, touches=(touch,), pinches=(pinch,), stops=stops)
    window.session.select(window.session.setup.lines[2].name)
    for unit in ("mm", "in"):
        window.deeds.use_unit(unit)
        QApplication.processEvents()
        side = window.line_side
        assert side.widget().minimumSizeHint().width() <= side.viewport().width()


def test_what_stops_the_steering_stands_over_the_strip_whatever_is_selected(qtbot, window):
    steering = window.body.steering
    lines = window.session.setup.lines
    window.session.select(lines[4].name)
    assert steering.isVisible()
    assert f"the {lines[0].name} goes tight first at " in steering.text
    key(qtbot, window, Qt.Key.Key_B)
    assert steering.text.startswith("No line stops the steering.")


def test_a_long_sentence_on_the_steering_leaves_every_ribbon_in_sight(qtbot, make_window):
    window = make_window("touring-hydraulic")
    long = "brake hose to the modulator, past the fairing bracket and round the headlamp"
    setup = window.session.setup
    renamed = replace(setup, lines=(replace(setup.lines[0], name=long), *setup.lines[1:]))
    window.session.edit(renamed, "Rename")
    qtbot.waitUntil(lambda: not window.session.stale())
    QApplication.processEvents()
    steering = window.body.steering
    rows = steering.height() / QFontMetricsF(font(Type.SMALL)).height()
    assert rows > 3  # the sentence on what stops it has broken
    assert steering.height() >= steering.layout().heightForWidth(steering.width())
    strip = window.strip
    assert strip.height() >= strip.minimumHeight()
    assert strip.mapTo(window, QPoint(0, strip.height())).y() <= window.height()


def test_the_list_says_under_a_name_what_and_under_a_margin_how_sure(window):
    model = window.setup_side.lines.lines
    assert model.index(0, 0).data(BELOW) == "Short"
    assert model.index(2, 0).data(BELOW) == "Reaches"
    assert model.index(2, 2).data(BELOW) == ""
    found_more(window, 2, sure=Sureness(4.0))
    assert model.index(2, 2).data(BELOW) == "± 8"


def test_no_name_in_the_list_is_cut(make_window):
    for stem in ("naked-standard", "touring-hydraulic"):
        table = make_window(stem).setup_side.lines
        metrics = QFontMetricsF(font(Type.BODY))
        widest = max(metrics.horizontalAdvance(name) for name in table.names())
        assert widest <= table.columnWidth(0) - 2 * PAD


def test_a_line_short_with_the_fork_extended_only_is_said_to_be(qtbot, window):
    result = window.session.result()
    line = result.sweep.lines[2]
    slack = line.slack.copy()
    slack[0] -= 60.0
    sweep = replace(result.sweep, lines=(*result.sweep.lines[:2], replace(line, slack=slack)))
    short = replace(result.findings[2], verdict=Verdict.SHORT)
    window.session.accept(replace(result, sweep=sweep, findings=(*result.findings[:2], short)))
    model = window.setup_side.lines.lines
    assert model.index(2, 0).data(BELOW) == "Short, fork extended"
    assert "with the fork extended" in window.strip.tip(window.strip.rows[2], 5.0)
    assert not window.strip.rows[2].short_here
    qtbot.mouseClick(window.transport.travels.button(0), Qt.MouseButton.LeftButton)
    assert window.strip.rows[2].short_here


def test_the_menu_sorts_the_list(window):
    table, actions = window.setup_side.lines, window.commands.actions
    in_file = table.names()
    actions["Sort by: name"].trigger()
    assert table.names() == sorted(in_file, key=str.casefold)
    actions["Sort by: file"].trigger()
    assert table.names() == in_file


# files and history


def widened(window) -> None:
    """One edit: the new bars 10 mm wider."""
    now = window.session.setup
    wider = replace(now.new.bar, width=now.new.bar.width + 10.0)
    window.session.edit(replace(now, new=replace(now.new, bar=wider)), "Wider bars")


@pytest.fixture
def own_file(window, tmp_path) -> Path:
    """The window on a file that may be written."""
    own = tmp_path / "mine.toml"
    own.write_bytes(path().read_bytes())
    window.open(own)
    return own


def test_undo_and_redo_by_key_name_the_edit(qtbot, window):
    commands, before = window.commands, window.session.setup
    assert not commands.undo.isEnabled()
    widened(window)
    after = window.session.setup
    assert commands.undo.text() == "&Undo: Wider bars"
    key(qtbot, window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.session.setup is before
    assert commands.redo.text() == "&Redo: Wider bars"
    assert not commands.undo.isEnabled()
    commands.redo.trigger()
    assert window.session.setup is after


def test_save_writes_the_file_and_takes_the_mark_off_the_title(qtbot, window, own_file):
    assert not window.isWindowModified()
    assert not window.commands.save.isEnabled()
    widened(window)
    assert window.isWindowModified()
    key(qtbot, window, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    assert not window.isWindowModified()
    assert scenario.load(own_file) == window.session.setup


def test_save_as_writes_another_file_and_goes_on_with_it(window, own_file, monkeypatch):
    widened(window)
    target = own_file.with_name("other")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args: (str(target), ""))
    before = own_file.read_bytes()
    window.do("save_as")
    assert own_file.read_bytes() == before
    assert window.session.path == target.with_suffix(".toml")
    assert scenario.load(window.session.path) == window.session.setup
    assert window.settings.recent[0] == window.session.path


def test_an_example_is_never_written_over(window, monkeypatch):
    asked = []
    monkeypatch.setattr(
        QFileDialog, "getSaveFileName", lambda *args: asked.append(args) or ("", "")
    )
    before = path().read_bytes()
    widened(window)
    window.do("save")
    assert len(asked) == 1
    assert path().read_bytes() == before
    assert window.isWindowModified()
    window.session.undo()


def test_a_file_that_cannot_be_written_is_told(window, own_file, monkeypatch):
    widened(window)
    target = own_file.parent / "nowhere" / "mine.toml"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args: (str(target), ""))
    window.do("save_as")
    assert window.message.isVisible()
    assert window.message.text.startswith("Not saved: ")
    assert str(target) in window.message.text
    assert window.isWindowModified()
    window.session.undo()


@pytest.mark.parametrize("answer", ["Save", "Discard", "Cancel"])
def test_closing_with_changes_asks(window, own_file, monkeypatch, answer):
    buttons = QMessageBox.StandardButton
    asked = []
    monkeypatch.setattr(
        QMessageBox, "question", lambda *args: asked.append(args) or getattr(buttons, answer)
    )
    before = scenario.load(own_file)
    widened(window)
    closed = window.close()
    assert len(asked) == 1
    assert closed is (answer != "Cancel")
    assert window.worker.stopped is closed
    assert (scenario.load(own_file) != before) is (answer == "Save")
    window.session.undo()


def test_opening_another_file_asks_too(window, own_file, monkeypatch):
    monkeypatch.setattr(QMessageBox, "question", lambda *args: QMessageBox.StandardButton.Cancel)
    widened(window)
    edited = window.session.setup
    window.open(path("old-twin"))
    assert window.session.setup is edited
    window.session.undo()


# edits to come


def test_an_edit_shows_its_pose_at_once_and_all_else_as_stale(qtbot, make_window):
    worker = InstantWorker()
    window = make_window(worker=worker)
    session = window.session
    installed = window.line_side.text("Installed")
    worker.held = True
    lines = tuple(replace(line, length=line.length + 50) for line in session.setup.lines)
    session.edit(replace(session.setup, lines=lines), "Longer lines")
    assert worker.submitted[-1] is session.setup
    assert window.isWindowModified()
    assert_glance(window)
    assert window.setup_side.summary == "Being worked out …"
    assert window.line_side.text("Installed") == "–"
    session.turn_to(0.1)  # every pose has a glance of its own while there is no result
    assert_glance(window)
    window.do("bars")
    assert_glance(window)
    window.do("bars")
    worker.answer()
    assert window.viewport.setup is session.setup
    assert window.viewport.result is session.result()
    assert session.glance() is None
    assert window.line_side.text("Installed") not in (installed, "–")
    session.undo()
    assert not window.isWindowModified()
    worker.answer()
    assert window.line_side.text("Installed") == installed


def test_the_dimensions_of_other_bars_stand_at_once(make_window):
    """They are what was asked, not what comes of it; they were the old bar's till the sweep ended,
    beside the picture of the new one.
    """
    worker = InstantWorker()
    window = make_window(worker=worker)
    session, worker.held = window.session, True
    bar = replace(session.setup.new.bar, rise=session.setup.new.bar.rise - 40.0)
    new = replace(session.setup.new, bar=bar)
    session.edit(replace(session.setup, new=new), "Take other bars")
    rows = {row[0]: row[1:] for row in window.setup_side.table_texts()}
    assert rows["Rise"][1] == f"{bar.rise:.0f}"
    assert window.line_side.sentence_text == "Being worked out …"
    assert not window.body.steering.isEnabled()  # said faintly: it is the old bar's


def assert_glance(window: Window) -> None:
    """The picture is a glance at the setup as it stands, and the numbers are that picture's."""
    session, shown = window.session, window.viewport
    assert shown.setup is session.setup
    assert shown.stock is session.stock
    assert shown.result is None
    assert shown.glance.angles.tolist() == [session.pose.turn]
    here = at_pose(shown.glance, session.selected, session.pose)
    unit = session.unit
    assert length_text(here.slack, unit) in window.line_side.here_text
    assert length_text(here.min_radius, unit) in window.line_side.here_text


def test_progress_is_shown_while_a_sweep_runs(qtbot, make_window):
    worker = InstantWorker()
    worker.held = True
    window = make_window(worker=worker)
    worker.progressed.emit(0.4)
    assert window.progress.isVisible()
    assert window.progress.value() == 400
    assert window.setup_side.summary == "Being worked out …"
    worker.answer()
    assert not window.progress.isVisible()


def test_a_failed_sweep_is_told(qtbot, make_window):
    worker = InstantWorker()
    worker.held = True
    window = make_window(worker=worker)
    window.session.select(window.session.setup.lines[0].name)
    assert window.line_side.sentence_text == "Being worked out …"
    worker.failed.emit("The bar is too short for its controls.")
    worker.idle.emit()
    assert window.message.isVisible()
    assert window.message.text == "The bar is too short for its controls."
    assert window.setup_side.summary.startswith("Not worked out")
    assert window.line_side.sentence_text.startswith("Not worked out")
    assert "The bar is too short for its controls." in window.setup_side.summary  # dismissed or not
    assert "The bar is too short for its controls." in window.line_side.sentence_text
    window.do("measure")
    assert window.body.measure_side.said.startswith("Not worked out. The bar is too short")
    window.message.hide()
    assert not window.player.playing
    longer = replace(window.session.setup.lines[0], length=999.0)
    lines = (longer, *window.session.setup.lines[1:])
    window.session.edit(replace(window.session.setup, lines=lines), "Longer")
    worker.failed.emit("The bar is too short for its controls.")
    assert not window.message.isVisible()  # it pushed down what was worked on at every edit
    window.session.undo()
    window.session.edit(replace(window.session.setup, title="mended"), "Mend")
    assert window.setup_side.summary == "Being worked out …"
    worker.answer()
    assert window.setup_side.summary.endswith(". 2 of 8 lines do not fit.")


# pictures, help, faults, closing


def test_a_picture_is_saved_where_asked_and_a_refusal_told(window, tmp_path, monkeypatch):
    asked = str(tmp_path / "picture")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *args: (asked, ""))
    window.do("picture")
    assert (tmp_path / "picture.png").exists()
    window.deeds.save_picture(tmp_path / "nowhere" / "picture.png")
    assert window.message.isVisible()
    assert str(tmp_path / "nowhere") in window.message.text
    assert "No such file or directory" in window.message.text


# drawn into memory, a window cannot be told its least size
@pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints", extend=True)
def test_every_command_with_a_key_is_in_the_keys_dialog(window):
    window.do("keys")
    (dialog,) = window.findChildren(KeysDialog)
    assert dialog.isVisible()
    words = [child.text() for child in dialog.findChildren(QLabel)]
    keyed = [a for a in window.commands.actions.values() if not a.shortcut().isEmpty()]
    assert len(keyed) > 25
    for action in keyed:
        at = words.index(action.shortcut().toString())
        assert words[at + 1] == command_words(action)
    dialog.close()
    window.do("keys")
    assert dialog.isVisible()
    dialog.close()


@pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints", extend=True)
def test_about_says_who_has_the_last_word(window):
    window.do("about")
    (dialog,) = window.findChildren(AboutDialog)
    words = " ".join(child.text() for child in dialog.findChildren(QLabel))
    assert "service manual" in words
    assert "local law" in words
    dialog.close()


def test_no_two_commands_share_a_key(window):
    keys = [
        action.shortcut().toString()
        for action in window.commands.actions.values()
        if not action.shortcut().isEmpty()
    ]
    assert len(keys) == len(set(keys))


def test_a_fault_in_a_handler_is_shown_and_the_window_lives(window, monkeypatch, capfd):
    import sys

    monkeypatch.setattr(sys, "excepthook", sys.__excepthook__)
    install_excepthook(window)
    sys.excepthook(ValueError, ValueError("a defect"), None)
    assert window.message.isVisible()
    assert "a defect" in window.message.text
    assert "save it under another name" in window.message.text
    assert "a defect" in capfd.readouterr().err


def test_closing_stops_everything_once_and_keeps_the_size(qtbot, window, settings):
    window.player.play()
    window.resize(1100, 700)
    window.close()
    assert not window.player.playing
    assert window.worker.stopped
    assert window.viewport.shut_down
    window.close()
    again = Window(
        Session(setup(), path()), StubViewport(), InstantWorker(), Theme(Choice.LIGHT), settings
    )
    qtbot.addWidget(again)
    assert again.height() == 700  # its width may not fit on the screen


def test_the_window_fits_a_small_screen(window):
    window.resize(1280, 800)
    assert window.minimumSizeHint().width() <= 1280
    assert window.minimumSizeHint().height() <= 800


@pytest.mark.parametrize("stem", ["naked-standard", "old-twin", "touring-hydraulic"])
def test_every_bundled_machine_opens(make_window, stem):
    window = make_window(stem)
    assert window.session.result() is not None
    for line in window.session.setup.lines:
        window.session.select(line.name)
        assert window.line_side.sentence_text


def test_what_a_file_can_hardly_mean_is_told_when_it_is_opened_and_on_request(window, tmp_path):
    assert not window.setup_side.doubts.isVisible()
    text = path("tall-bar-cruiser").read_text()
    file = tmp_path / "inches.toml"
    file.write_text(text.replace('rise = "12 in"', "rise = 12"))
    window.open(file)
    assert window.session.path == file
    assert window.message.isVisible()
    assert "The rise of the new bar is 12 mm" in window.message.text
    assert window.setup_side.doubts.text().startswith("One doubt about")
    window.message.hide()
    window.setup_side.doubts.click()
    assert window.message.isVisible()
    window.open(path("old-twin"))
    assert not window.message.isVisible()
    assert not window.setup_side.doubts.isVisible()


def test_no_ribbon_is_cut_at_the_smallest_usual_window(window, tmp_path):
    """Not even with a long list of problems over all, and sentences of two rows over the strip."""
    window.resize(1280, 800)
    window.show()
    window.body.steering._stopped.setText("A line stops the steering somewhere. " * 5)
    window.body.steering._torque.setText("The lines turn the bar to one side. " * 5)
    window.body.steering._keep_height()
    window.message.say("Not opened.\n" * 40)
    QApplication.processEvents()
    strip, frame = window.strip, window.strip.frame
    assert window.height() == 800
    assert strip.mapTo(window, strip.rect().bottomLeft()).y() < window.height()
    assert frame.plot.bottom() < strip.height()
    assert frame.plot.height() / frame.rows >= ROW_LEAST - 1
