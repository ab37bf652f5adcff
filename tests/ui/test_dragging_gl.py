"""Stations drawn about in the real viewport, by mouse and keys. Needs a display."""

from __future__ import annotations

import os
import subprocess
import sys

import numpy as np
import pytest
from made import InstantWorker
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication
from sweeps import path, setup

from barfit.geometry.pose import body_motion, layout
from barfit.model import Hold, OutletPlace, PointPlace
from barfit.scenario import dumps
from barfit.scene.pick import in_picture
from barfit.session import Session, at_pose
from barfit.ui.theme import Choice, Theme
from barfit.ui.viewport import Viewport
from barfit.ui.window import Window
from barfit.ui.words import length_text

pytestmark = [pytest.mark.gl, pytest.mark.usefixtures("display")]
LEFT = Qt.MouseButton.LeftButton
TURN = 0.3


@pytest.fixture
def changing(qtbot, settings) -> Window:
    """A window with its forms open, turned a little to the left, on a line with a clip or guide."""
    session = Session(setup("naked-standard"), path("naked-standard"))
    window = Window(session, Viewport(), InstantWorker(), Theme(Choice.LIGHT), settings)
    qtbot.addWidget(window)
    window.resize(1280, 800)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    qtbot.waitUntil(lambda: not session.stale(True))
    window.player.pause()
    session.turn_to(TURN)
    session.select(a_line(session.setup))
    qtbot.keyClick(window, Qt.Key.Key_F2)
    qtbot.wait(30)
    return window


def a_line(setup) -> str:
    """A line that ends at a point of the machine and has something to delete."""
    return next(
        line.name
        for line in setup.lines
        if isinstance(line.stations[-1].place, PointPlace)
        and any(
            one.hold is not Hold.FITTING and isinstance(one.place, PointPlace)
            for one in line.stations
        )
    )


def held(window: Window, fitting: bool = False) -> int:
    """A station that is a point of the machine."""
    line = window.session.setup.line(window.session.selected)
    return next(
        k
        for k, one in enumerate(line.stations)
        if isinstance(one.place, PointPlace) and (one.hold is Hold.FITTING) is fitting
    )


def spot(window: Window, point: np.ndarray) -> QPoint:
    """Where a point (3,) is in the canvas's own coordinates."""
    canvas = window.viewport.canvas
    ratio = canvas.devicePixelRatioF()
    (flat,), _ = in_picture(window.viewport.scene.plotter.renderer, point[None])
    return QPoint(round(flat[0] / ratio), round(canvas.height() - 1 - flat[1] / ratio))


def mark(window: Window, number: int) -> QPoint:
    return spot(window, window.viewport.scene.stations.points[number])


def drawn(qtbot, window: Window) -> None:
    """Handles are laid out as a frame is drawn."""
    with qtbot.waitSignal(window.viewport.canvas.painted, timeout=10000):
        window.viewport.canvas.update()


def draw(qtbot, window: Window, start: QPoint, by: QPoint, steps: int = 3) -> None:
    """Press and move, without letting go."""
    canvas = window.viewport.canvas
    qtbot.mousePress(canvas, LEFT, pos=start)
    for k in range(1, steps + 1):
        qtbot.mouseMove(canvas, start + by * k / steps)
        qtbot.wait(5)
        QApplication.processEvents()


def let_go(qtbot, window: Window, at: QPoint) -> None:
    qtbot.mouseRelease(window.viewport.canvas, LEFT, pos=at)


def test_stations_are_marked_only_while_changing(qtbot, changing):
    marks = changing.viewport.scene.stations
    line = changing.session.setup.line(changing.session.selected)
    places = layout(changing.session.setup, changing.session.setup.new)[line.name]
    assert len(marks.points) == len(line.stations)
    machine = changing.session.setup.machine
    for point, body, straight in zip(marks.points, places.bodies, places.points, strict=True):
        turned, shift = body_motion(machine, body, TURN, 0.0)
        np.testing.assert_allclose(point, turned @ straight + shift, atol=1e-6)
    changing.body.change_side.done.emit()
    assert len(marks.points) == 0


def test_a_station_is_drawn_in_the_plane_of_the_view_as_one_step(qtbot, changing):
    session, number = changing.session, held(changing)
    before, file = session.setup, dumps(session.setup)
    name = before.line(session.selected).stations[number].name
    start = mark(changing, number)
    draw(qtbot, changing, start, QPoint(40, -25))
    assert session.setup is before  # nothing enters the document on the way
    assert session.station == number
    glance = changing.viewport.scene.sweep
    here = at_pose(glance, session.selected, session.pose)
    words = changing.changing.reshaping.readout.text()
    assert changing.changing.reshaping.readout.isVisible()
    assert f"slack {length_text(here.slack, session.unit)}" in words
    assert length_text(here.slack, session.unit) in changing.line_side.here_text
    drawn = mark(changing, number)
    assert (
        drawn - (start + QPoint(40, -25))
    ).manhattanLength() <= 25  # caught by a surface, or not
    let_go(qtbot, changing, start + QPoint(40, -25))
    assert not changing.changing.reshaping.readout.isVisible()
    assert session.undo_name == f"Move {name} of {session.selected}"
    assert (mark(changing, number) - drawn).manhattanLength() <= 2
    moved = session.setup.line(session.selected).stations[number].place.position
    assert np.linalg.norm(np.subtract(moved, old_place(before, session, number))) > 10.0
    session.undo()
    assert session.setup == before
    assert dumps(session.setup) == file


def old_place(setup, session, number):
    return setup.line(session.selected).stations[number].place.position


@pytest.mark.parametrize(("key", "axis"), [("X", 0), ("Y", 1), ("Z", 2)])
def test_a_held_key_keeps_it_on_an_axis(qtbot, changing, key, axis):
    session, number = changing.session, held(changing)
    scene = changing.viewport.scene
    before = scene.stations.points[number].copy()
    start = mark(changing, number)
    draw(qtbot, changing, start, QPoint(8, 8), 1)
    qtbot.keyPress(changing, getattr(Qt.Key, f"Key_{key}"))
    for step in (12, 24, 36):
        qtbot.mouseMove(changing.viewport.canvas, start + QPoint(step, -step))
        qtbot.wait(5)
    moved = scene.stations.points[number] - before
    assert np.abs(np.delete(moved, axis)).max() < 1e-6
    assert abs(moved[axis]) > 1.0
    let_go(qtbot, changing, start + QPoint(36, -36))
    qtbot.keyRelease(changing, getattr(Qt.Key, f"Key_{key}"))
    assert session.undo_name is not None
    np.testing.assert_allclose(scene.stations.points[number] - before, moved, atol=1e-6)


def test_esc_gives_a_drag_up(qtbot, changing):
    session, number = changing.session, held(changing)
    before, shown = session.setup, mark(changing, number)
    draw(qtbot, changing, shown, QPoint(30, 10))
    assert mark(changing, number) != shown
    qtbot.keyClick(changing, Qt.Key.Key_Escape)
    assert session.setup is before
    assert session.undo_name is None
    assert not session.changed
    assert mark(changing, number) == shown
    assert changing.viewport.scene.sweep is session.result().sweep
    let_go(qtbot, changing, shown + QPoint(30, 10))
    assert session.setup is before


def test_a_fitting_on_a_control_stays_and_the_window_says_why(qtbot, changing):
    session = changing.session
    assert isinstance(session.setup.line(session.selected).stations[0].place, OutletPlace)
    before = session.setup
    draw(qtbot, changing, mark(changing, 0), QPoint(30, 10))
    assert "move the control" in changing.message.text
    assert session.setup is before
    let_go(qtbot, changing, mark(changing, 0))


def test_a_fitting_turns_by_the_tip_of_its_arrow(qtbot, changing):
    session, number = changing.session, held(changing, fitting=True)
    session.select_station(number)
    qtbot.wait(20)
    drawn(qtbot, changing)
    tip = changing.viewport.scene.rings.tip
    before = session.setup.line(session.selected).stations[number]
    start = spot(changing, tip)
    draw(qtbot, changing, start, QPoint(25, 15))
    let_go(qtbot, changing, start + QPoint(25, 15))
    after = session.setup.line(session.selected).stations[number]
    assert session.undo_name == f"Turn {before.name} of {session.selected}"
    assert after.place == before.place
    assert np.linalg.norm(after.direction) == pytest.approx(1.0)
    assert np.linalg.norm(np.subtract(after.direction, before.direction)) > 0.05


def test_a_double_click_puts_a_guide_in_and_delete_takes_it_out(qtbot, changing):
    session, scene = changing.session, changing.viewport.scene
    before = session.setup
    count = len(before.line(session.selected).stations)
    points = scene.line_points(session.selected)
    marks = scene.stations.points
    away = np.linalg.norm(points[:, None] - marks[None], axis=2).min(1)
    middle = points[int(away.argmax())].copy()
    qtbot.mouseDClick(changing.viewport.canvas, LEFT, pos=spot(changing, middle))
    line = session.setup.line(session.selected)
    assert len(line.stations) == count + 1
    added = line.stations[session.station]
    assert added.hold is Hold.GUIDE
    put = scene.stations.points[session.station]
    assert np.linalg.norm(put - middle) < 12.0
    qtbot.keyClick(changing, Qt.Key.Key_Delete)
    assert session.setup == before
    assert session.station == 0  # no neighbour, which a second Delete would take
    qtbot.keyClick(changing, Qt.Key.Key_Delete)
    assert session.setup == before
    assert "needs both its fittings" in changing.message.text


def on_a_fine_screen(file: str, picked: str, count: int) -> None:
    """Run the tests of a file that are ``picked``, so many, once more on a fine screen."""
    if "QT_SCALE_FACTOR" in os.environ:
        pytest.skip("this is the fine screen")
    words = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", file, "-k", picked]
    done = subprocess.run(
        words,
        env={**os.environ, "QT_SCALE_FACTOR": "1.5"},
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-2000:]
    assert f"{count} passed" in done.stdout


def test_picking_is_right_on_a_fine_screen():
    """The same with one and a half pixels of the screen to each of Qt's."""
    on_a_fine_screen(__file__, "drawn_in_the_plane or double_click or by_the_tip", 3)
