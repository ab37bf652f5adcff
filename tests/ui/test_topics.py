"""What is to be said of no line: its rows under the lines, its panel, and how sections fold."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from sweeps import setup

from barfit.report.facts import Fact, Section
from barfit.report.quantities import Quantity
from barfit.report.remarks import Remark, Topic
from barfit.session import Result
from barfit.trade import Grade, Judged
from barfit.ui.folds import Folds
from barfit.ui.line_list import STANDING

HAND = Remark(
    "hand_gap",
    Topic.ON_BAR,
    "left hand",
    "Least gap",
    Judged(12.0, Grade.REJECT, limit=25.0, stock=60.0, turn=0.5, travel=None),
    Quantity.LENGTH,
    "Only 12 mm remain.",
    "Roll the bar.",
    "A trapped hand can neither steer nor let go.",
)
TRAIL = Remark(
    "trail", Topic.RIDER, "", "Trail", Judged(95.0, Grade.NOTE, stock=95.0), Quantity.LENGTH
)


def bends(line: str, grade: Grade) -> Remark:
    judged = Judged(math.radians(200), grade, limit=math.radians(180))
    sentence = "It bends a lot." if grade is Grade.CAUTION else ""
    return Remark(
        "bend", Topic.CABLE, line, "Total bend", judged, Quantity.ANGLE, sentence, line=True
    )


@pytest.fixture
def told(window, monkeypatch):
    """A window whose results come with these remarks; the first line has a caution."""
    lines = setup().lines
    said = (bends(lines[0].name, Grade.CAUTION), bends(lines[2].name, Grade.FINE), HAND, TRAIL)
    monkeypatch.setattr(Result, "remarks", lambda self, unit: said)
    for stock in (False, True):
        window.session.accept(window.session.result(stock))
    return window


def press(qtbot, window, key):
    qtbot.keyClick(window, key)


def test_each_topic_has_a_row_with_its_worst_grade_in_words(told):
    topics = told.setup_side.topics
    assert topics.topics() == (Topic.ON_BAR, Topic.RIDER)
    assert topics.isVisible()
    assert topics.row(Topic.ON_BAR).words == "1 not acceptable"
    assert topics.row(Topic.RIDER).words == "for information"
    assert told.setup_side.summary.startswith("The bars trap a hand; ")
    assert told.setup_side.summary.endswith(" lines do not fit. One caution beyond length.")


def test_without_remarks_there_are_no_rows(window):
    assert not window.setup_side.topics.isVisible()
    assert window.setup_side.lines.lines.index(0, 0).data(STANDING) is None


def test_a_topic_is_shown_in_the_place_of_the_line(qtbot, told):
    row = told.setup_side.topics.row(Topic.ON_BAR)
    qtbot.mouseClick(row, Qt.MouseButton.LeftButton)
    side = told.body.topic_side
    assert side.isVisible()
    assert not told.line_side.isVisible()
    assert told.session.selected is None
    assert row.isChecked()
    assert side.facts.words == [
        "Left hand",
        "Least gap",
        "12 mm (stock 60 mm, limit 25 mm)",
        HAND.words(),
    ]
    qtbot.mouseClick(side.facts.value("Least gap"), Qt.MouseButton.LeftButton)
    assert told.session.pose.turn == pytest.approx(0.5)
    qtbot.mouseClick(row, Qt.MouseButton.LeftButton)
    assert row.isChecked()
    told.strip.picked.emit(setup().lines[1].name)
    assert told.line_side.isVisible()
    assert not row.isChecked()


def test_up_and_down_lead_from_the_lines_to_the_topics_and_back(qtbot, told):
    session, names = told.session, told.setup_side.lines.names()
    session.select(names[-1])
    press(qtbot, told, Qt.Key.Key_Down)
    assert (session.selected, session.topic) == (None, Topic.ON_BAR)
    press(qtbot, told, Qt.Key.Key_Down)
    press(qtbot, told, Qt.Key.Key_Down)
    assert session.topic is Topic.RIDER
    for _ in range(2):
        press(qtbot, told, Qt.Key.Key_Up)
    assert (session.selected, session.topic) == (names[-1], None)


def test_stock_bars_are_shown_without_a_stock_value(qtbot, told):
    told.session.look_at(Topic.ON_BAR)
    press(qtbot, told, Qt.Key.Key_B)
    assert "12 mm (limit 25 mm)" in told.body.topic_side.facts.words


def test_a_topic_that_an_edit_leaves_nothing_of_gives_way_to_a_line(told, monkeypatch):
    told.session.look_at(Topic.RIDER)
    monkeypatch.setattr(Result, "remarks", lambda self, unit: (HAND,))
    told.session.accept(told.session.result())
    assert told.session.topic is None
    assert told.session.selected is not None
    assert told.line_side.isVisible()


def test_a_line_with_a_caution_is_marked_in_the_list(told):
    model = told.setup_side.lines.lines
    assert model.index(0, 0).data(STANDING).cautions == 1
    assert model.index(2, 0).data(STANDING) is None
    assert "Beyond length: 1 caution" in model.index(0, 0).data(Qt.ItemDataRole.ToolTipRole)
    assert "Beyond length: fine" in model.index(2, 0).data(Qt.ItemDataRole.ToolTipRole)


def test_a_caution_stands_open_above_the_slack_and_what_is_fine_is_shut_below(qtbot, told):
    side, lines = told.line_side, setup().lines
    told.session.select(lines[0].name)
    QApplication.processEvents()
    assert side.grave.value("Total bend").isVisible()
    assert side.grave.y() < side.slack.y()
    told.session.select(lines[2].name)
    QApplication.processEvents()
    head = side.further.head("Control cable")
    assert not side.further.value("Total bend").isVisible()
    assert head.words == "fine"
    assert side.further.y() > side.curve.y()
    qtbot.mouseClick(head, Qt.MouseButton.LeftButton)
    assert side.further.value("Total bend").isVisible()
    assert head.words == ""


def test_what_was_opened_and_shut_is_remembered(qtbot, told, make_window):
    told.session.select(setup().lines[2].name)
    QApplication.processEvents()
    qtbot.mouseClick(told.line_side.further.head("Control cable"), Qt.MouseButton.LeftButton)
    told.session.select(setup().lines[0].name)
    told.session.select(setup().lines[2].name)
    QApplication.processEvents()
    assert told.line_side.further.value("Total bend").isVisible()
    told.close()
    assert make_window(show=False).body.folds.words() == ["+Control cable"]


def test_shutting_what_is_fine_does_not_hide_a_caution():
    fine = Section("Wires", (Fact("Fill", "30 %", grade=Grade.FINE),))
    grave = replace(fine, facts=(Fact("Fill", "80 %", grade=Grade.CAUTION),))
    folds = Folds()
    assert (folds.is_open(fine), folds.is_open(grave)) == (False, True)
    assert folds.is_open(replace(fine, notes=("Take a grommet.",)))
    folds.choose(fine, True)
    folds.choose(fine, False)
    assert folds.is_open(grave)
    again = Folds()
    again.restore([*folds.words(), "", "?x"])
    assert again.words() == folds.words()
