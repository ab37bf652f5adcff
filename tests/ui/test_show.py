"""Showing to a customer: keys in, slides and a clean window out."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QWidget
from sweeps import result, setup

from barfit.model import Setup
from barfit.report.sentences import CAUTION
from barfit.report.slides import Slide, slides
from barfit.ui import showing
from barfit.ui.window import Window


@pytest.fixture
def shown(qtbot, window, monkeypatch) -> Window:
    monkeypatch.setattr(showing, "STAY", 30)
    window.showing._goes_on.setInterval(30)
    qtbot.keyClick(window, Qt.Key.Key_F5)
    assert window.showing.on
    return window


def press(qtbot, window: Window, *keys: Qt.Key) -> None:
    for key in keys:
        qtbot.keyClick(window.showing.view, key)


def editing_parts(window: Window) -> list[QWidget]:
    body = window.body
    return [window.menuBar(), body.left, body.right, body.under, body.told]


def test_nothing_of_the_editing_interface_is_left_to_see(shown):
    assert not [part for part in editing_parts(shown) if part.isVisible()]
    assert shown.viewport.size() == shown.centralWidget().size()
    assert shown.showing.view.size() == shown.viewport.size()
    assert shown.showing.view.hasFocus()


def test_it_begins_with_what_sums_up_and_the_caution_is_said_once(qtbot, shown):
    view = shown.showing.view
    assert "2 of" in " ".join(view.texts)
    assert CAUTION in view.texts
    assert view.counter.text() == "2 findings"
    press(qtbot, shown, Qt.Key.Key_Right)
    assert CAUTION not in view.texts
    assert view.counter.text() == "1 of 2"


@pytest.mark.parametrize(
    ("on", "back"),
    [(Qt.Key.Key_Right, Qt.Key.Key_Left), (Qt.Key.Key_PageDown, Qt.Key.Key_PageUp)],
)
def test_keys_lead_through_the_findings_each_at_its_worst_pose(qtbot, shown, on, back):
    session = shown.session
    told = slides(setup(), result(setup()).findings, (), session.unit)
    visited = []
    for key, number in ((on, 1), (on, 2), (on, 2), (back, 1), (back, 0), (back, 0)):
        shown.player.pause()
        before = shown.showing.at
        press(qtbot, shown, key)
        slide = told[number]
        assert shown.showing.view.slide == slide
        if number != before:
            assert session.selected == slide.line
            if slide.turn is not None:
                assert (session.pose.turn, session.pose.travel) == (slide.turn, slide.travel)
        visited.append(shown.showing.at)
    assert visited == [1, 2, 2, 1, 0, 0]
    press(qtbot, shown, Qt.Key.Key_End)
    assert shown.showing.at == 2
    press(qtbot, shown, Qt.Key.Key_Home)
    assert shown.showing.at == 0


def test_it_stays_at_the_worst_pose_and_then_plays_on(qtbot, shown):
    press(qtbot, shown, Qt.Key.Key_Right)
    assert not shown.player.playing
    worst = shown.session.pose.turn
    qtbot.waitUntil(lambda: shown.player.playing)
    qtbot.waitUntil(lambda: shown.session.pose.turn != worst)
    press(qtbot, shown, Qt.Key.Key_Space)
    assert not shown.player.playing
    press(qtbot, shown, Qt.Key.Key_Right, Qt.Key.Key_Space)
    assert shown.player.playing  # without waiting


def test_what_it_takes_reads_as_a_sentence(qtbot, shown):
    press(qtbot, shown, Qt.Key.Key_Right)
    takes = shown.showing.view.slide.takes
    assert f"It takes: {takes[0].lower()}{takes[1:10]}" in " ".join(shown.showing.view.texts)
    hint = "Less pullback gives room."
    shown.showing.view.show_slide(Slide("Left hand", "Not acceptable", "Too near.", hint), 2, 2)
    assert hint in shown.showing.view.texts


def test_the_turn_is_told(qtbot, shown):
    press(qtbot, shown, Qt.Key.Key_Right)
    shown.player.pause()
    shown.session.turn_to(math.radians(12))
    assert shown.showing.view.turn.words == "12° left"
    assert shown.showing.view.turn.accessibleName() == "Steering: 12° left"


def test_the_stock_bars_stand_behind_the_new_ones(qtbot, window):
    window.session.show_bars(True)
    window.commands.ghost.setChecked(False)
    qtbot.keyClick(window, Qt.Key.Key_F5)
    assert not window.session.stock
    assert window.viewport.ghost.stock
    press(qtbot, window, Qt.Key.Key_Escape)
    assert window.session.stock
    assert window.viewport.ghost is None


def test_it_is_said_what_the_pale_bars_are(qtbot, shown):
    assert any("Pale behind: the stock bars." in text for text in shown.showing.view.texts)


def test_no_handles_are_seen_meanwhile_and_they_are_back_afterwards(qtbot, window):
    window.session.select(setup().lines[0].name)
    qtbot.keyClick(window, Qt.Key.Key_F2)
    before = window.viewport.looked_at
    assert before is not None
    qtbot.keyClick(window, Qt.Key.Key_F5)
    press(qtbot, window, Qt.Key.Key_Right)
    assert window.viewport.looked_at is None
    press(qtbot, window, Qt.Key.Key_Escape)
    assert window.viewport.looked_at == before


def test_escape_brings_the_window_back_as_it_was(qtbot, window):
    session = window.session
    session.select(setup().lines[3].name)
    session.turn_to(math.radians(-7), 0.0)
    window.message.say("Something that was to be said.")
    sizes = [splitter.sizes() for splitter in window.body._splitters().values()]
    qtbot.keyClick(window, Qt.Key.Key_F5)
    assert not window.message.isVisible()
    press(qtbot, window, Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Escape)
    assert not window.showing.on
    assert not window.showing.view.isVisible()
    assert [part for part in editing_parts(window) if not part.isVisible()] == []
    assert window.message.isVisible()
    assert session.selected == setup().lines[3].name
    assert (session.pose.turn, session.pose.travel) == (math.radians(-7), 0.0)
    assert not window.player.playing
    assert window.viewport.free is None
    assert [splitter.sizes() for splitter in window.body._splitters().values()] == sizes
    qtbot.wait(60)
    assert not window.player.playing  # no timer was left behind


def test_the_same_key_ends_it(qtbot, shown):
    press(qtbot, shown, Qt.Key.Key_F5)
    assert not shown.showing.on


def test_no_other_key_and_no_click_changes_anything(qtbot, shown):
    press(qtbot, shown, Qt.Key.Key_Right)
    shown.player.pause()
    session = shown.session
    before = session.setup, session.selected, session.stock, session.unit, session.pose
    for key in (Qt.Key.Key_Delete, Qt.Key.Key_B, Qt.Key.Key_U, Qt.Key.Key_F2, Qt.Key.Key_W):
        press(qtbot, shown, key)
    for key in (Qt.Key.Key_Z, Qt.Key.Key_S, Qt.Key.Key_O):
        qtbot.keyClick(shown.showing.view, key, Qt.KeyboardModifier.ControlModifier)
    qtbot.mouseClick(shown.showing.view, Qt.MouseButton.LeftButton, pos=QPoint(900, 400))
    now = session.setup, session.selected, session.stock, session.unit, session.pose
    assert now == before
    assert shown.showing.on


def test_dragging_turns_the_picture(qtbot, shown):
    view = shown.showing.view
    left = Qt.MouseButton.LeftButton
    qtbot.mousePress(view, left, pos=QPoint(800, 300))
    qtbot.mouseMove(view, QPoint(830, 290))
    qtbot.mouseRelease(view, left, pos=QPoint(830, 290))
    assert all(by == (30.0, -10.0) for by in shown.viewport.dragged)


def test_an_edit_meanwhile_leaves_nothing_out_of_date_on_show(qtbot, shown):
    shown.worker.held = True
    edited = _renamed(shown.session.setup)
    shown.session.edit(edited, "Rename")
    assert shown.showing.view.slide is showing.WAITING
    shown.worker.held = False
    shown.worker.answer()
    assert shown.showing.view.slide.sentence.startswith("2 of")
    shown.session.fail("The rod broke.")
    assert "The rod broke." in shown.showing.view.texts


def test_closing_meanwhile_keeps_how_the_window_is_divided(qtbot, shown):
    shown.close()
    assert not shown.showing.on


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080), (960, 600)])
def test_all_words_fit(qtbot, shown, size):
    shown.resize(*size)
    view = shown.showing.view
    qtbot.waitUntil(lambda: view.size() == shown.viewport.size())
    for _ in range(3):
        qtbot.wait(30)
        for words in view.findChildren(type(view.counter)):
            if words.isVisible():
                room = words.contentsRect()
                needed = words.heightForWidth(room.width()) if words.wordWrap() else 0
                assert room.height() >= needed, words.text()
                inside = view.rect().contains(words.mapTo(view, words.rect().bottomRight()))
                assert inside, words.text()
        press(qtbot, shown, Qt.Key.Key_Right)


def _renamed(setup_now: Setup) -> Setup:
    return replace(setup_now, title="Another")
