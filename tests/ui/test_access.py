"""For everybody: contrast, colour-blindness, the keyboard alone, larger type.

Contrast is measured as WCAG 2.2 defines it (success criteria 1.4.3, 1.4.11 and 2.4.7). Colour
vision without one kind of cone is simulated as in Machado, Oliveira and Fernandes, "A
Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE TVCG 15(6), 2009,
with their matrices for severity 1.0, and distances are those of CIELAB 1976 (D65).
"""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QAccessible, QAction, QFont, QImage
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QScrollArea, QWidget
from sweeps import setup
from test_job_page import remedies
from test_looks import contrast, luminance

from barfit.analysis import Verdict
from barfit.scene.colours import BODY_COLOURS, CAUTION, NOTE, SCALES, THEMES, TROUBLE, Colour
from barfit.ui.show import PAPER
from barfit.ui.strip_paint import axis_words
from barfit.ui.theme import DARK, LIGHT, Colours, TypeSize, enlarge, palette, style_sheet
from barfit.ui.widgets import Option, Tick
from barfit.ui.window import Window

TEXT, SIGN = 4.5, 3.0  # least contrast of words, and of marks, edges and focus
PALETTES = pytest.mark.parametrize("c", [LIGHT, DARK], ids=["light", "dark"])

DEFICIENCIES = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
}
# A just noticeable difference is about 2.3 (Mahy, Van Eycken and Oosterlinck 1994). What must be
# told apart side by side gets four times that, what must be told at a glance eight (estimates).
APART, GLANCE = 10.0, 20.0


def lab(colour: str, eyes: str | None = None) -> np.ndarray:
    """CIELAB of "#rrggbb" as seen with these eyes."""
    parts = np.array([int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    if eyes is not None:
        linear = np.clip(np.array(DEFICIENCIES[eyes]) @ linear, 0.0, 1.0)
    xyz = (
        np.array(
            [
                [0.4124564, 0.3575761, 0.1804375],
                [0.2126729, 0.7151522, 0.0721750],
                [0.0193339, 0.1191920, 0.9503041],
            ]
        )
        @ linear
        / np.array([0.95047, 1.0, 1.08883])
    )
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(a: str, b: str, eyes: str | None = None) -> float:
    return float(np.linalg.norm(lab(a, eyes) - lab(b, eyes)))


def blend(over: str, under: str, alpha: float) -> str:
    """A colour laid over another."""
    parts = [
        round(alpha * int(over[at : at + 2], 16) + (1 - alpha) * int(under[at : at + 2], 16))
        for at in (1, 3, 5)
    ]
    return "#" + "".join(f"{part:02x}" for part in parts)


# colours


def test_distances_are_those_of_cielab():
    # white, black and the sRGB primaries in CIELAB under D65: tables of B. Lindbloom, from memory
    np.testing.assert_allclose(lab("#ffffff"), [100, 0, 0], atol=0.02)
    np.testing.assert_allclose(lab("#ff0000"), [53.24, 80.09, 67.20], atol=0.05)
    np.testing.assert_allclose(lab("#0000ff"), [32.30, 79.19, -107.86], atol=0.05)
    for eyes in DEFICIENCIES:  # what is grey stays grey
        assert abs(lab("#808080", eyes)[1:]).max() < 0.5
        # red and green of one lightness fall together
        assert distance("#c05050", "#6f7a3a", eyes) < 0.6 * distance("#c05050", "#6f7a3a")


def words_on_grounds(c: Colours) -> list[tuple[str, str, str, str]]:
    """Every colour of text and the grounds that the style sheet puts it on."""
    used = {
        "text": ("panel", "raised", "ground", "accent_wash", "message"),
        "muted": ("panel", "raised", "ground", "accent_wash"),
        "accent": ("panel", "raised", "accent_wash"),
        "on_accent": ("accent",),
        "warn": ("panel",),
        "bad": ("panel",),
    }
    return [
        (word, ground, getattr(c, word), getattr(c, ground))
        for word, grounds in used.items()
        for ground in grounds
    ]


@PALETTES
def test_words_stand_out(c):
    for word, ground, a, b in words_on_grounds(c):
        assert contrast(a, b) >= TEXT, (word, ground, contrast(a, b))


@PALETTES
def test_marks_edges_and_focus_stand_out(c):
    for verdict in Verdict:
        for ground in (c.panel, c.raised, c.accent_wash):
            assert contrast(c.verdict(verdict), ground) >= SIGN, (verdict, ground)
    for ground in (c.panel, c.raised, c.ground):
        assert contrast(c.accent, ground) >= SIGN  # focus, and where a playhead stands
    for ground in (c.panel, c.ground):
        assert contrast(c.text, ground) >= SIGN  # focus round what is filled with the accent
    for ground in (c.panel, c.raised):
        assert contrast(c.edge, ground) >= SIGN  # where a field begins
    assert contrast(c.bad, c.raised) >= SIGN  # the edge of a field that is refused
    for ground in (c.raised, c.panel, c.accent_wash):
        assert contrast(c.text, ground) >= SIGN  # icons on buttons and in menus
    assert contrast(c.on_accent, c.accent) >= SIGN  # and on the one that plays


@PALETTES
def test_words_over_a_picture_stand_out_whatever_is_behind(c):
    for behind in ("#000000", "#ffffff"):
        paper = blend(c.panel, behind, PAPER / 255)
        for words in (c.text, c.muted):
            assert contrast(words, paper) >= TEXT, (words, behind)
        for verdict in Verdict:
            assert contrast(c.verdict(verdict), paper) >= SIGN, (verdict, behind)
        assert contrast(c.accent, paper) >= SIGN


@pytest.mark.parametrize("name", THEMES)
def test_what_is_written_in_the_picture_stands_out(name):
    theme = THEMES[name]
    assert contrast(theme.text, theme.label) >= TEXT
    assert contrast(theme.quiet, theme.label) >= TEXT
    for sign in (TROUBLE, CAUTION, NOTE):
        assert contrast(sign, theme.label) >= SIGN, sign
    for ground in (theme.top, theme.bottom):
        assert contrast(theme.text, ground) >= TEXT


@pytest.mark.parametrize("eyes", [None, *DEFICIENCIES])
@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda theme: theme.name)
def test_bodies_and_what_other_bars_reach_are_told_apart_with_any_eyes(theme, eyes):
    colours = [*BODY_COLOURS.values(), theme.text, theme.untouched]
    for a, b in combinations(colours, 2):
        assert distance(a, b, eyes) >= GLANCE, (a, b)


@pytest.mark.parametrize("eyes", [None, *DEFICIENCIES])
@pytest.mark.parametrize("mode", Colour)
def test_scales_can_be_read_with_any_eyes(mode, eyes):
    stops = SCALES[mode].stops
    for (value, low), (_, high) in pairwise(stops):
        assert distance(low, high, eyes) >= APART, (mode, eyes, value)
    colours = dict(stops)
    ends = [stops[0][1], stops[-1][1]]
    assert distance(*ends, eyes) >= 2 * GLANCE
    if mode is Colour.SLACK:  # none left, enough, much
        for a, b in combinations((colours[0.0], colours[25.0], colours[75.0]), 2):
            assert distance(a, b, eyes) >= GLANCE
    if mode is Colour.BEND:
        assert distance(colours[0.8], colours[1.5], eyes) >= GLANCE
    # lightness falls away from the middle, so that a picture without colour still tells
    light = [luminance(colour) for _, colour in stops]
    middle = light.index(max(light))
    assert light[: middle + 1] == sorted(light[: middle + 1])
    assert light[middle:] == sorted(light[middle:], reverse=True)


@pytest.mark.parametrize("eyes", [None, *DEFICIENCIES])
@PALETTES
def test_verdicts_differ_in_colour_with_any_eyes(c, eyes):
    """Each has a shape and a word of its own too (test_looks.py)."""
    colours = {name: getattr(c, name) for name in ("good", "warn", "bad", "long", "unknown")}
    for (one, a), (two, b) in combinations(colours.items(), 2):
        assert distance(a, b, eyes) >= APART, (one, two, distance(a, b, eyes))


# the keyboard


def takes_focus(window: Window) -> list[QWidget]:
    """All that Tab can reach in the window as it stands."""
    return [
        widget
        for widget in window.findChildren(QWidget)
        if widget.focusPolicy() & Qt.FocusPolicy.TabFocus
        and widget.isVisible()
        and widget.isEnabled()
        and widget.focusProxy() is None
    ]


def reached_by_tab(window: Window) -> set[QWidget]:
    """All that Tab does reach from where the focus is."""
    seen: set[QWidget] = set()
    for _ in range(400):
        window.focusNextChild()
        now = QApplication.focusWidget()
        if now is None or now in seen:
            break
        seen.add(now)
    return seen


def picture(window: Window, widget: QWidget) -> np.ndarray:
    """What a widget and a little round it look like, (H, W, 3)."""
    corner = widget.mapTo(window, QPoint(0, 0))
    box = QRect(corner, widget.size()).adjusted(-4, -4, 4, 4).intersected(window.rect())
    if box.isEmpty():
        return np.zeros((0, 0, 3), np.uint8)
    image = window.grab(box).toImage().convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1)
    return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).copy()


def focus_shows(window: Window, widget: QWidget) -> bool:
    """Whether focus changes a fair number of points by a contrast of 3:1 or nearly."""
    window.body.setFocus()
    holder = widget.parentWidget()
    while holder is not None:
        if isinstance(holder, QScrollArea):
            holder.ensureWidgetVisible(widget)  # as Tab does
        holder = holder.parentWidget()
    before = picture(window, widget)
    widget.setFocus(Qt.FocusReason.TabFocusReason)
    after = picture(window, widget)
    if not after.size or before.shape != after.shape:
        return False
    changed = np.abs(before.astype(int) - after.astype(int)).max(axis=-1) > 60
    return int(changed.sum()) >= min(widget.width(), 24)


def test_only_one_page_of_a_line_is_there_to_tab_through(window):
    window.session.select(setup().lines[2].name)
    assert not window.line_side.change.isVisible()


def name_of(widget: QWidget) -> str:
    interface = QAccessible.queryAccessibleInterface(widget)
    return interface.text(QAccessible.Text.Name) if interface is not None else ""


def faults(window: Window) -> list[str]:
    """What can be reached but does not show it or has no name."""
    told = []
    for widget in takes_focus(window):
        what = f"{type(widget).__name__} {name_of(widget)!r} {widget.property('role') or ''}"
        if not name_of(widget).strip(" …"):
            told.append(f"no name: {what} in {type(widget.parentWidget()).__name__}")
        if not focus_shows(window, widget):
            told.append(f"focus does not show: {what}")
    return told


def test_everything_can_be_reached_shows_it_and_has_a_name(qtbot, window):
    assert "\n".join(faults(window)) == ""
    window.body.setFocus()
    missed = set(takes_focus(window)) - reached_by_tab(window)
    # of a switch, one word is reached by Tab and the others by the arrows
    missed = {one for one in missed if one.property("role") != "segment"}
    assert missed == set()


def test_the_bars_come_before_what_is_done_with_them(make_window):
    window = make_window("naked-standard")
    window.setup_side.page_picked.emit(True)
    table = window.setup_side.all_bars
    QApplication.processEvents()
    table.add.setFocus(Qt.FocusReason.TabFocusReason)
    for head in reversed(table.heads.values()):
        window.focusPreviousChild()
        assert QApplication.focusWidget() is head


def test_a_part_is_found_by_its_first_letters(qtbot, window):
    qtbot.keyClick(window, Qt.Key.Key_F2)
    parts = window.body.change_side.parts
    assert QApplication.focusWidget() is parts
    qtbot.keyClick(parts, Qt.Key.Key_Home)
    first = window.body.change_side.part
    for letter in "machine":
        qtbot.keyClick(parts, letter)
    assert window.body.change_side.part.kind == "machine"
    qtbot.wait(QApplication.keyboardInputInterval() + 100)  # a new word
    for letter in first.title.lower():
        qtbot.keyClick(parts, letter)
    assert window.body.change_side.part == first
    qtbot.keyClick(parts, Qt.Key.Key_End)
    assert parts.currentIndex() == parts.count() - 1
    assert window.session.pose.turn == 0.0  # and the bars did not turn


def test_the_forms_can_be_reached_show_it_and_have_names(qtbot, window):
    qtbot.keyClick(window, Qt.Key.Key_F2)
    parts = window.body.change_side.parts
    told = []
    for row in range(min(parts.count(), 3)):
        parts.setCurrentIndex(row)
        QApplication.processEvents()
        told += faults(window)
    assert "\n".join(told) == ""


def test_the_job_can_be_reached_shows_it_and_has_names(qtbot, window):
    window.session.propose(window.session.setup, remedies(window))
    qtbot.keyClick(window, Qt.Key.Key_F6)
    told = []
    for part in window.desk.page.names:
        window.desk.page.show_part(part)
        ticks = [one for one in window.desk.page.findChildren(Tick) if one.isVisible()]
        qtbot.waitUntil(lambda: all(one.height() >= 14 for one in ticks))  # noqa: B023
        told += faults(window)
    assert "\n".join(told) == ""


@PALETTES
@pytest.mark.parametrize("kind", [Tick, Option])
@pytest.mark.parametrize("on", [False, True], ids=["off", "on"])
def test_a_box_to_tick_stands_out(qtbot, c, kind, on):
    app = QApplication.instance()
    before = app.palette(), app.styleSheet()
    app.setPalette(palette(c))
    app.setStyleSheet(style_sheet(c))
    side = QWidget()
    side.setObjectName("side")
    qtbot.addWidget(side)
    box = kind(side)
    box.setChecked(on)
    image = side.grab(box.geometry()).toImage()
    seen = {image.pixelColor(x, y).name() for x in range(20) for y in range(20)}
    app.setPalette(before[0])
    app.setStyleSheet(before[1])
    assert max(contrast(colour, c.panel) for colour in seen) >= SIGN


def test_the_show_can_be_reached_shows_it_and_has_names(qtbot, window):
    qtbot.keyClick(window, Qt.Key.Key_F5)
    window.player.pause()
    view = window.showing.view
    assert name_of(view).startswith("The throttle return cable goes tight first")
    for button in view.findChildren(QPushButton):
        assert name_of(button)


# larger type


@pytest.fixture
def larger(qtbot, make_window, qapp):
    """A window where the system's type is half as large again."""
    plain = QFont(qapp.font())
    made = QFont(plain)
    made.setPointSizeF(1.5 * plain.pointSizeF())
    qapp.setFont(made)
    yield make_window()
    qapp.setFont(plain)


def test_the_size_of_type_is_picked_in_the_menu_and_kept(qapp, window):
    action = next(
        one for one in window.findChildren(QAction) if one.whatsThis().endswith("largest")
    )
    action.trigger()
    assert window.settings.type_size is TypeSize.LARGEST
    assert "started again" in window.message.text
    before = QFont(qapp.font())
    enlarge(window.settings.type_size)
    try:
        assert qapp.font().pointSizeF() == pytest.approx(1.5 * before.pointSizeF())
    finally:
        qapp.setFont(before)


def cut_off(window: Window) -> list[str]:
    """Labels and buttons whose words do not fit in them, or reach out of what holds them."""
    told = []
    for widget in window.findChildren(QWidget):
        if not isinstance(widget, QLabel | QPushButton) or not widget.isVisible():
            continue
        if not widget.text():
            continue
        if isinstance(widget, QLabel) and widget.wordWrap():
            if widget.height() < widget.heightForWidth(widget.width()) - 1:  # rounding
                told.append(f"too low: {widget.text()!r}")
        elif widget.width() < widget.minimumSizeHint().width():
            told.append(f"too narrow: {widget.text()!r}")
        elif widget.height() < widget.minimumSizeHint().height():
            told.append(f"too low: {widget.text()!r}")
        holder = widget.parentWidget()
        if holder is not None and widget.geometry().right() > holder.width():
            told.append(f"reaches out: {widget.text()!r}")
    for area in window.findChildren(QScrollArea):
        inside = area.widget()
        if area.isVisible() and inside is not None and inside.width() > area.viewport().width():
            told.append(f"wider than it is shown: {area.accessibleName()!r}")
    strip = window.strip
    if strip.isVisible():
        if strip.frame.row_box(0).height() < strip.fontMetrics().height() - 1:
            told.append("names run into each other in the strip")
        words = axis_words(strip.frame)
        if any(a[0].intersects(b[0]) for a, b in combinations(words, 2)):
            told.append("words over the strip's axis run into each other")
    if window.minimumSizeHint().width() > window.width():
        told.append(f"the window asks for {window.minimumSizeHint().width()} px")
    return told


def test_larger_type_is_not_cut_off(qtbot, larger):
    larger.resize(1280, 800)
    qtbot.wait(50)
    assert "\n".join(cut_off(larger)) == ""
    table = larger.setup_side.lines
    metrics = larger.fontMetrics()
    for row in range(table.model().rowCount()):
        assert table.rowHeight(row) >= 2 * metrics.height()
    larger.resize(1920, 1080)
    qtbot.wait(50)
    assert "\n".join(cut_off(larger)) == ""


def test_larger_type_is_not_cut_off_in_the_forms(qtbot, larger):
    qtbot.keyClick(larger, Qt.Key.Key_F2)
    larger.session.select(larger.session.setup.lines[0].name)
    larger.resize(1280, 800)
    qtbot.wait(50)
    assert "\n".join(cut_off(larger)) == ""


def test_larger_type_is_not_cut_off_in_the_show(qtbot, larger):
    qtbot.keyClick(larger, Qt.Key.Key_F5)
    for number in range(3):
        assert larger.showing.at == number
        qtbot.waitUntil(lambda: not cut_off(larger), timeout=2000)
        qtbot.keyClick(larger.showing.view, Qt.Key.Key_Right)
