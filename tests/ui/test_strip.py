from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication
from sweeps import result, setup

from barfit.analysis import Verdict
from barfit.scene.colours import SCALES, Colour
from barfit.ui.ribbons import ribbons, stretches, unknown_stretches
from barfit.ui.strip_frame import AXIS, StripFrame
from barfit.ui.strip_paint import axis_words
from barfit.ui.theme import Choice, Theme
from barfit.ui.turn_strip import TurnStrip

UNKNOWN = "#8a9094"


@pytest.fixture(scope="module")
def made():
    return result(setup())


@pytest.fixture
def strip(qtbot, made):
    strip = TurnStrip(Theme(Choice.LIGHT))
    qtbot.addWidget(strip)
    strip.resize(700, 220)
    strip.show_locks(-made.sweep.setup.machine.lock_right, made.sweep.setup.machine.lock_left)
    strip.show_rows(made.sweep, ribbons(made, 0.0, Colour.SLACK, UNKNOWN))
    return strip


def place(strip: TurnStrip, row: int, degrees: float) -> QPoint:
    box = strip.frame.row_box(row)
    return QPoint(round(strip.frame.x_of(math.radians(degrees))), round(box.center().y()))


# ribbons


def test_a_ribbon_has_the_colours_of_the_scene_at_its_suspension_position(made):
    line = made.sweep.lines[0]
    for row, travel in enumerate(line.travels):
        ribbon = ribbons(made, float(travel), Colour.SLACK, UNKNOWN)[0]
        np.testing.assert_array_equal(ribbon.slack, line.slack[row])
        np.testing.assert_array_equal(
            ribbon.colours, SCALES[Colour.SLACK].colours(line.slack[row], UNKNOWN)
        )


def test_the_worst_mark_says_whether_it_is_at_this_suspension_position(made):
    extended = float(made.sweep.lines[0].travels[0])
    assert ribbons(made, extended, Colour.SLACK, UNKNOWN)[0].mark_here
    assert not ribbons(made, 0.0, Colour.SLACK, UNKNOWN)[0].mark_here


def test_a_bend_is_marked_where_it_is_tightest(made):
    bent = replace(made.findings[0], verdict=Verdict.BEND_TOO_TIGHT, radius_turn=0.123)
    judged = replace(made, findings=(bent, *made.findings[1:]))
    assert ribbons(judged, 0.0, Colour.SLACK, UNKNOWN)[0].mark_turn == 0.123


def test_what_did_not_converge_is_unknown_and_coloured_so(made):
    line = made.sweep.lines[0]
    converged = line.converged.copy()
    converged[1, 10:13] = False
    sweep = replace(made.sweep, lines=(replace(line, converged=converged), *made.sweep.lines[1:]))
    ribbon = ribbons(replace(made, sweep=sweep), 0.0, Colour.SLACK, UNKNOWN)[0]
    assert np.isnan(ribbon.slack[10:13]).all()
    assert not np.isnan(ribbon.slack[[9, 13]]).any()
    assert (ribbon.colours[11] == (0x8A, 0x90, 0x94)).all()
    ((start, end),) = unknown_stretches(sweep, ribbon.slack)
    assert start == pytest.approx((sweep.angles[9] + sweep.angles[10]) / 2)
    assert end == pytest.approx((sweep.angles[12] + sweep.angles[13]) / 2)


def test_tight_stretches_end_where_the_slack_crosses_zero():
    angles = np.radians(np.arange(-3.0, 4.0))
    values = np.array([-1.0, 1.0, 2.0, 0.5, -1.5, -1.0, np.nan])
    first, second = stretches(angles, values)
    assert np.degrees(first) == pytest.approx((-3.0, -2.5))
    assert np.degrees(second) == pytest.approx((0.25, 2.5))
    assert stretches(angles, np.full(7, -1.0)) == [(angles[0], angles[-1])]
    assert stretches(angles, np.full(7, 1.0)) == []


# frame


@pytest.mark.parametrize("locks", [(-40, 40), (-33, 36.5), (-12, 12)])
def test_places_and_turns_are_each_others_inverse(locks):
    frame = StripFrame(700, 220, 150, (math.radians(locks[0]), math.radians(locks[1])), 8)
    for degrees in np.linspace(*locks, 9):
        turn = math.radians(degrees)
        assert frame.turn_at(frame.x_of(turn)) == pytest.approx(turn)
    assert frame.turn_at(-100) == frame.locks[0]
    assert frame.turn_at(10_000) == frame.locks[1]


def test_rows_fill_the_plot_without_gaps():
    frame = StripFrame(700, 220, 150, rows=8)
    assert [frame.row_at(frame.row_box(row).center().y()) for row in range(8)] == list(range(8))
    assert frame.row_at(frame.plot.top() - 1) is None
    assert frame.row_at(frame.plot.bottom() + 1) is None
    assert StripFrame(700, 220, 150).row_at(100) is None


# the widget


def test_dragging_scrubs_and_never_leaves_the_locks(qtbot, strip):
    turns: list[float] = []
    strip.turned.connect(turns.append)
    qtbot.mousePress(strip, Qt.MouseButton.LeftButton, pos=place(strip, 2, -5))
    for degrees in (0, 12, 30):
        qtbot.mouseMove(strip, place(strip, 2, degrees))
    qtbot.mouseMove(strip, QPoint(5000, 100))
    qtbot.mouseRelease(strip, Qt.MouseButton.LeftButton, pos=place(strip, 2, 30))
    qtbot.mouseMove(strip, place(strip, 2, 0))  # no longer held
    assert np.degrees(turns) == pytest.approx([-5, 0, 12, 30, 40], abs=0.1)


def test_a_click_on_a_ribbon_picks_its_line_and_goes_there(qtbot, strip, made):
    turns: list[float] = []
    picked: list[str] = []
    strip.turned.connect(turns.append)
    strip.picked.connect(picked.append)
    qtbot.mouseClick(strip, Qt.MouseButton.LeftButton, pos=place(strip, 3, 17))
    assert picked == [made.findings[3].line]
    assert np.degrees(turns) == pytest.approx([17], abs=0.1)


def test_a_click_on_a_name_picks_the_line_and_stays(qtbot, strip, made):
    turns: list[float] = []
    picked: list[str] = []
    strip.turned.connect(turns.append)
    strip.picked.connect(picked.append)
    at = QPoint(30, place(strip, 1, 0).y())
    qtbot.mouseClick(strip, Qt.MouseButton.LeftButton, pos=at)
    assert picked == [made.findings[1].line]
    assert turns == []


def test_a_click_on_the_mark_and_a_double_click_on_the_name_ask_for_the_worst_pose(
    qtbot, strip, made
):
    asked: list[str] = []
    strip.worst_asked.connect(asked.append)
    worst = math.degrees(made.findings[1].worst_turn)
    qtbot.mouseClick(strip, Qt.MouseButton.LeftButton, pos=place(strip, 1, worst))
    qtbot.mouseDClick(strip, Qt.MouseButton.LeftButton, pos=QPoint(30, place(strip, 0, 0).y()))
    assert asked == [made.findings[1].line, made.findings[0].line]


def test_other_buttons_do_nothing(qtbot, strip):
    turns: list[float] = []
    strip.turned.connect(turns.append)
    qtbot.mouseClick(strip, Qt.MouseButton.RightButton, pos=place(strip, 3, 17))
    assert turns == []


def wheel(strip: TurnStrip, delta: int, keys=Qt.KeyboardModifier.NoModifier) -> None:
    at = QPointF(place(strip, 1, 0))
    event = QWheelEvent(
        at,
        QPointF(strip.mapToGlobal(at.toPoint())),
        QPoint(),
        QPoint(0, delta),
        Qt.MouseButton.NoButton,
        keys,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(strip, event)


def test_the_wheel_steps_by_a_degree_and_by_five_with_shift(qtbot, strip):
    turns: list[float] = []
    strip.turned.connect(turns.append)
    strip.show_turn(math.radians(10))
    wheel(strip, 120)
    wheel(strip, -120)
    wheel(strip, 120, Qt.KeyboardModifier.ShiftModifier)
    wheel(strip, 60)  # half a notch of a fine wheel
    wheel(strip, 60)
    assert np.degrees(turns) == pytest.approx([11, 9, 15, 11])


def test_tooltips_give_the_slack_in_the_users_unit(strip, made):
    x = strip.frame.x_of(math.radians(10))
    row = ribbons(made, 0.0, Colour.SLACK, UNKNOWN)[0]
    assert strip.tip(row, x) == "Throttle pull cable, 10° left: slack 10 mm"
    assert "slack −5 mm" in strip.tip(row, strip.frame.x_of(math.radians(25)))
    strip.show_unit("in")
    assert "slack 3/8 in" in strip.tip(row, x)


def colour_at(strip: TurnStrip, row: int, degrees: float) -> np.ndarray:
    image = strip.grab().toImage()
    ratio = image.devicePixelRatio()
    at = place(strip, row, degrees)
    box = strip.frame.row_box(row)
    colour = image.pixelColor(round(at.x() * ratio), round((box.top() + 4) * ratio))
    return np.array([colour.red(), colour.green(), colour.blue()], dtype=float)


def test_drawn_ribbons_show_the_scale_and_hatch_what_is_tight(strip, made):
    scale = SCALES[Colour.SLACK]
    slack = 20.0 - np.array([-30.0, -10.0, 15.0])
    for degrees, wanted in zip((-30, -10, 15), scale.colours(slack, UNKNOWN), strict=True):
        np.testing.assert_allclose(colour_at(strip, 0, degrees), wanted, atol=4)
    image = strip.grab().toImage()
    y = round(strip.frame.row_box(0).top() + 4)

    def roughness(start: float, end: float) -> int:
        """The greatest step in lightness from one pixel to the next."""
        pixels = range(place(strip, 0, start).x(), place(strip, 0, end).x())
        return int(np.abs(np.diff([image.pixelColor(x, y).lightness() for x in pixels])).max())

    assert roughness(24, 38) > 30
    assert roughness(-35, -5) < 8


def test_a_stale_strip_is_faint(strip):
    fresh = colour_at(strip, 0, -30)
    strip.show_stale(True)
    assert colour_at(strip, 0, -30).min() > fresh.min() + 40


def test_the_playhead_is_drawn_where_the_turn_is(strip):
    strip.show_turn(math.radians(-20))
    image = strip.grab().toImage()
    x, y = place(strip, 2, -20).x(), round(strip.frame.row_box(2).center().y())
    hues = [image.pixelColor(at, y).name() for at in range(x - 2, x + 3)]
    assert Theme(Choice.LIGHT).colours.accent in hues


def test_where_the_steering_is_stopped_the_axis_is_barred_as_far_as_the_lock(strip):
    strip.show_stops([math.radians(24.3)], "Stopped.")
    strip.show_turn(math.radians(-30))
    image = strip.grab().toImage()
    bad = Theme(Choice.LIGHT).colours.bad

    def barred(degrees: float) -> bool:
        x = place(strip, 0, degrees).x()
        return bad in [image.pixelColor(x, y).name() for y in range(AXIS - 6, AXIS)]

    assert [barred(at) for at in (-38, 0, 23, 26, 38)] == [False, False, False, True, True]


def test_a_steering_that_cannot_be_turned_is_barred_to_both_sides(strip):
    strip.show_stops([0.0], "The steering cannot be turned.")
    image = strip.grab().toImage()
    bad = Theme(Choice.LIGHT).colours.bad
    for degrees in (-30, 30):
        x = place(strip, 0, degrees).x()
        assert bad in [image.pixelColor(x, y).name() for y in range(AXIS - 6, AXIS)]


def test_a_mark_of_another_suspension_position_says_which(strip, made):
    rows = list(ribbons(made, 0.0, Colour.SLACK, UNKNOWN))
    before = strip.grab().toImage()
    rows[2] = replace(rows[2], fork="with the fork extended", short_here=False)
    strip.show_rows(made.sweep, rows)
    after = strip.grab().toImage()
    box = strip.frame.row_box(2)
    mark = strip.frame.mark_x(rows[2].mark_turn)
    beside = [round(mark + way * 30) for way in (-1, 1)]
    y = round(box.top() + 3)
    assert any(before.pixel(x, y) != after.pixel(x, y) for x in beside if 0 < x < strip.width())


def test_no_word_on_the_axis_is_half_covered_by_the_playhead(strip):
    """Beside the playhead's words a number is either whole or gone."""
    for degrees in (-36, -24, 16, 25, 35):
        strip.show_turn(math.radians(degrees))
        image = strip.grab().toImage()
        strip.show_turn(math.radians(0))
        free = strip.grab().toImage()
        for place, text in axis_words(strip.frame):
            if text == "0°" or abs(place.center().x() - strip.frame.x_of(0.0)) < 80:
                continue
            columns = range(round(place.left()) + 1, round(place.right()) - 1)
            y = range(round(place.top()), round(place.bottom()))
            panel = image.pixel(2, 2)
            same = all(image.pixel(x, v) == free.pixel(x, v) for x in columns for v in y)
            ink = [v for v in y for x in columns if image.pixel(x, v) == free.pixel(x, v) != panel]
            assert same or not ink, (degrees, text)


def test_the_degrees_under_the_playheads_words_can_be_read(strip):
    """32 degrees to the left is written over 30: both are there."""

    def number(turn: float) -> list[int]:
        strip.show_turn(math.radians(turn))
        image = strip.grab().toImage()
        (place,) = [
            box for box, text in axis_words(strip.frame) if text == "30°" and box.left() > mid
        ]
        columns = range(round(place.left()) + 2, round(place.right()) - 2)
        lines = range(round(place.top()) + 3, round(place.bottom()) - 2)
        return [image.pixel(x, y) for y in lines for x in columns]

    mid = strip.frame.x_of(0.0)
    under, free = number(32.0), number(-20.0)
    assert len({*free}) > 4  # something is written there
    differing = sum(a != b for a, b in zip(under, free, strict=True))
    assert differing < 0.05 * len(free)
