"""The real viewport in the real window. Needs a display."""

from __future__ import annotations

import math
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from made import InstantWorker
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication
from sweeps import path, setup

from barfit.scene.colours import SCALES, THEMES, Colour
from barfit.scene.pick import in_picture
from barfit.session import Session
from barfit.ui.theme import Choice, Theme
from barfit.ui.viewport import Viewport
from barfit.ui.window import Window
from barfit.ui.worker import Worker

pytestmark = [pytest.mark.gl, pytest.mark.usefixtures("display")]


@pytest.fixture
def make(qtbot, settings):
    """Makes a shown window with a real viewport."""

    def make_window(worker=None, stem="tall-bar-cruiser", watched=True) -> Window:
        viewport = Viewport()
        session = Session(setup(stem), path(stem))
        worker = worker or InstantWorker()
        window = Window(session, viewport, worker, Theme(Choice.LIGHT), settings)
        if watched:
            qtbot.addWidget(window)
        window.resize(1100, 760)
        with qtbot.waitActive(window):  # shortcuts work in the active window only
            window.show()
            window.activateWindow()
        return window

    return make_window


@pytest.fixture
def window(qtbot, make) -> Window:
    window = make()
    qtbot.waitUntil(lambda: not window.session.stale(True))
    window.player.pause()
    window.session.turn_to(0.0)
    qtbot.wait(50)
    return window


def pixels(window: Window) -> np.ndarray:
    """What the viewport shows, (H, W, 3)."""
    image = window.viewport.canvas.grabFramebuffer()
    image = image.convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1)
    return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).astype(int)


def clear_place(window: Window, line: str) -> QPoint | None:
    """A place, in the canvas's own coordinates, where no other line is near this one."""
    canvas, scene = window.viewport.canvas, window.viewport.scene
    ratio = canvas.devicePixelRatioF()
    flat, _ = in_picture(scene.plotter.renderer, scene.line_points(line))
    about = [(x, y) for x in (-5, 0, 5) for y in (-5, 0, 5)]
    for spot in flat:
        if all(scene.pick(spot[0] + x, spot[1] + y, 9.0) == line for x, y in about):
            return QPoint(round(spot[0] / ratio), round(canvas.height() - 1 - spot[1] / ratio))
    return None


def test_the_picture_shows_the_lines_of_the_result(window):
    scene = window.viewport.scene
    window.session.select(None)  # a selected line draws the others back
    shown = pixels(window)
    assert len(np.unique(shown.reshape(-1, 3), axis=0)) > 1000
    assert scene.sweep is window.session.result().sweep
    for line in scene.setup.lines:
        assert scene.line_actor(line.name).GetVisibility()
        assert len(scene.line_points(line.name)) > 2
        values = scene.line_values(line.name)
        wanted = SCALES[Colour.SLACK].colours(values, THEMES["light"].unknown)
        np.testing.assert_allclose(scene.line_colours(line.name), wanted, atol=1)


def test_the_pose_drawn_is_the_pose_of_the_numbers(qtbot, window):
    scene = window.viewport.scene
    before = pixels(window)
    for turn in (-0.5, 0.0, 0.37):
        window.session.turn_to(turn)
        assert scene.turn == turn
    assert np.abs(pixels(window) - before).max() > 50


def test_playing_draws_frames_and_asks_for_one_at_a_time(qtbot, window):
    painted: list[float] = []
    window.viewport.canvas.painted.connect(painted.append)
    turns: list[float] = []
    window.player.moved.connect(turns.append)
    window.player.play()
    qtbot.waitUntil(lambda: len(turns) > 10, timeout=20_000)
    window.player.pause()
    assert len(painted) >= 5
    assert len(painted) <= len(turns) + 3


def test_dragging_in_the_picture_turns_the_view_with_one_frame_a_move(qtbot, window):
    canvas = window.viewport.canvas
    before = np.array(canvas.camera.position)
    selected = window.session.selected
    painted: list[float] = []
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=QPoint(200, 200))
    qtbot.wait(20)
    canvas.painted.connect(painted.append)
    for x in (220, 240, 260, 280):
        qtbot.mouseMove(canvas, QPoint(x, 200))
        QApplication.processEvents()
    assert len(painted) <= 4
    qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=QPoint(280, 200))
    assert np.linalg.norm(np.array(canvas.camera.position) - before) > 10
    assert window.session.selected == selected  # a drag is no click


def test_a_click_on_a_line_selects_it(qtbot, window):
    clicked = 0
    for line in window.session.setup.lines:
        window.session.select(None)
        at = clear_place(window, line.name)
        if at is not None:
            qtbot.mouseClick(window.viewport.canvas, Qt.MouseButton.LeftButton, pos=at)
            assert window.session.selected == line.name
            clicked += 1
    assert clicked >= 2  # made-up lines are straight and hide each other
    window.session.select(None)
    qtbot.mouseClick(window.viewport.canvas, Qt.MouseButton.LeftButton, pos=QPoint(5, 5))
    assert window.session.selected is None


def test_keys_over_the_picture_are_the_windows(qtbot, window):
    canvas = window.viewport.canvas
    canvas.setFocus()
    shown = pixels(window)
    for letter in "srpeqijv":  # the plotter's own: wireframe, reset, pick, exit and more
        qtbot.keyClick(canvas, letter)
    assert canvas.iren is not None
    window.viewport.view("three-quarter")
    qtbot.keyClick(canvas, Qt.Key.Key_Right)
    assert math.degrees(window.session.pose.turn) != 0.0
    window.session.turn_to(0.0)
    assert np.abs(pixels(window) - shown).mean() < 1.0


def test_views_look_from_where_they_say(qtbot, window):
    camera = window.viewport.canvas.camera
    window.do("frame")
    for name, axis, sign in (("front", 0, 1), ("left", 1, 1), ("right", 1, -1), ("top", 2, 1)):
        window.viewport.view(name)
        way = np.array(camera.position) - np.array(camera.focal_point)
        assert np.abs(way).argmax() == axis
        assert np.sign(way[axis]) == sign


def test_a_standard_view_is_fitted_anew_when_the_window_changes(qtbot, window):
    camera = window.viewport.canvas.camera
    far = np.linalg.norm(np.array(camera.position) - np.array(camera.focal_point))
    window.resize(960, 1000)  # now the width decides
    qtbot.wait(100)
    now = np.linalg.norm(np.array(camera.position) - np.array(camera.focal_point))
    assert now != pytest.approx(far, rel=1e-3)


def test_the_ghost_and_the_dark_theme_change_the_picture(qtbot, window):
    light = pixels(window)
    window.do("ghost")
    window.commands.ghost.setChecked(True)
    window.do("ghost")
    assert np.abs(pixels(window) - light).max() > 20
    window.commands.ghost.setChecked(False)
    window.do("ghost")
    window.deeds.use_theme(Choice.DARK)
    assert pixels(window).mean() < light.mean() - 60


def test_switching_bars_draws_the_other_result(qtbot, window):
    scene = window.viewport.scene
    window.do("bars")
    assert scene.stock
    assert scene.sweep is window.session.result(True).sweep
    window.open(path("old-twin"))
    assert scene.sweep is None
    qtbot.waitUntil(lambda: scene.sweep is not None)
    assert scene.setup == setup("old-twin")


def test_a_picture_is_what_is_shown(window, tmp_path):
    window.deeds.save_picture(tmp_path / "picture.png")
    image = QImage(str(tmp_path / "picture.png"))
    assert image.size() == window.viewport.canvas.grabFramebuffer().size()
    window.deeds.save_picture(tmp_path / "nowhere" / "picture.png")
    assert "No such file" in window.message.text


def test_closing_during_a_running_sweep_leaves_nothing_twenty_times(qtbot, make):
    for _ in range(20):
        worker = Worker()
        window = make(worker, watched=False)
        parts: list[float] = []
        worker.progressed.connect(parts.append)
        qtbot.waitUntil(lambda parts=parts: max(parts, default=0.0) > 0.0, timeout=30_000)
        process, reader = worker._process, worker._reader
        assert process.is_alive()
        assert worker.busy
        window.close()
        assert worker._process is None
        assert not reader.is_alive()
        window.deleteLater()
    # the fixture then looks for what is left: viewports, threads, processes


def test_a_real_sweep_arrives_and_plays(qtbot, make):
    window = make(Worker(), "old-twin")
    qtbot.waitUntil(lambda: window.player.playing, timeout=60_000)
    qtbot.waitUntil(lambda: not window.session.stale(True), timeout=60_000)
    assert window.viewport.scene.sweep is window.session.result().sweep
    qtbot.waitUntil(lambda: not window.progress.isVisible(), timeout=10_000)


SCALED = """
import sys
sys.path.insert(0, {here!r})
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from made import InstantWorker
from sweeps import path, setup
from PySide6.QtCore import QSettings
from barfit.session import Session
from barfit.ui.app import application
from barfit.ui.settings import Settings
from barfit.ui.theme import Choice, Theme
from barfit.ui.viewport import Viewport
from barfit.ui.window import Window
from test_viewport_gl import clear_place

if __name__ == "__main__":
    app = application()
    viewport = Viewport()
    store = QSettings({store!r}, QSettings.Format.IniFormat)
    session = Session(setup(), path())
    window = Window(session, viewport, InstantWorker(), Theme(Choice.LIGHT), Settings(store))
    window.resize(960, 640)
    window.show()
    QTest.qWait(500)
    window.player.pause()
    session.turn_to(0.0)
    QTest.qWait(200)
    assert viewport.canvas.devicePixelRatioF() == 1.5
    for line in session.setup.lines:
        session.select(None)
        at = clear_place(window, line.name)
        if at is not None:
            QTest.mouseClick(viewport.canvas, Qt.MouseButton.LeftButton, pos=at)
            print(session.selected == line.name)
    window.close()
"""


def test_picking_is_right_at_a_fractional_scale(tmp_path):
    script = tmp_path / "scaled.py"
    here, store = str(Path(__file__).parent), str(tmp_path / "settings.ini")
    script.write_text(SCALED.format(here=here, store=store))
    done = subprocess.run(
        [sys.executable, str(script)],
        env={**os.environ, "QT_SCALE_FACTOR": "1.5"},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    told = done.stdout.split()
    assert len(told) >= 2
    assert set(told) == {"True"}


RUN = """
import sys
from pathlib import Path
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from barfit.ui.app import application, run

if __name__ == "__main__":
    app = application()

    def look() -> None:
        for window in QApplication.topLevelWidgets():
            if hasattr(window, "session"):
                print(window.session.setup.title, "|", window.message.text, "|", window.isVisible())
        QApplication.quit()

    QTimer.singleShot(2500, look)
    sys.exit(run(Path(sys.argv[1]) if len(sys.argv) > 1 else None))
"""


@pytest.mark.parametrize("bad", [False, True])
def test_run_opens_a_file_or_a_bundled_machine_and_ends_cleanly(tmp_path, bad):
    script = tmp_path / "start.py"
    script.write_text(RUN)
    file = tmp_path / "bad.toml" if bad else path("old-twin")
    done = subprocess.run(
        [sys.executable, str(script), str(file)],
        env={**os.environ, "XDG_CONFIG_HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    title, message, visible = done.stdout.strip().split(" | ")
    assert visible == "True"
    assert (title == setup("old-twin").title) is not bad
    assert (f"{file} does not exist" in message) is bad
    assert "Error" not in done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="it has no such signals")
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_window_told_to_end_from_outside_leaves_nothing_behind(tmp_path, number):
    """Its worker's process goes with it, and nobody complains of something leaked."""
    with subprocess.Popen(
        [sys.executable, "-m", "barfit", "open", str(path("old-twin"))],
        env={**os.environ, "XDG_CONFIG_HOME": str(tmp_path)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as running:
        children = Path(f"/proc/{running.pid}/task/{running.pid}/children")
        end = time.monotonic() + 60.0
        while time.monotonic() < end and len(children.read_text().split()) < 2:
            time.sleep(0.1)  # a process that tracks resources, and the worker's
        started = [int(pid) for pid in children.read_text().split()]
        assert len(started) == 2
        time.sleep(1.0)  # it is at work
        running.send_signal(number)
        told = running.communicate(timeout=30)
    assert running.returncode == 0
    assert told == ("", "")
    end = time.monotonic() + 10.0  # the tracker ends by itself once nobody holds its pipe
    left = started
    while left and time.monotonic() < end:
        time.sleep(0.1)
        left = [pid for pid in left if Path(f"/proc/{pid}").exists()]
    assert left == []
