"""Where the window's tests run, and what must be left when one ends.

With a display (Xvfb will do) everything runs. Without one the windows are drawn into memory, and
what needs OpenGL is skipped.
"""

from __future__ import annotations

import gc
import multiprocessing
import os
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QSettings
from PySide6.QtWidgets import QApplication, QMessageBox
from shiboken6 import isValid

sys.path.insert(0, str(Path(__file__).parent))

from made import InstantWorker, StubViewport
from sweeps import path, setup

from barfit.session import Session
from barfit.ui.settings import Settings
from barfit.ui.theme import Choice, Theme
from barfit.ui.window import Window
from barfit.ui.worker import Worker

HAS_DISPLAY = sys.platform != "linux" or bool(os.environ.get("DISPLAY"))


def pytest_configure(config: pytest.Config) -> None:
    if not HAS_DISPLAY:
        os.environ["QT_QPA_PLATFORM"] = "offscreen"


@pytest.fixture
def display() -> None:
    """For tests that draw through OpenGL inside a window."""
    if not HAS_DISPLAY or os.environ.get("QT_QPA_PLATFORM") == "offscreen":
        pytest.skip("no display: OpenGL inside a window needs one (Xvfb will do)")


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))


@pytest.fixture(autouse=True)
def unsaved_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody is there to answer when a window with unsaved changes is closed after a test."""
    buttons = QMessageBox.StandardButton
    monkeypatch.setattr(QMessageBox, "question", lambda *args: buttons.Discard)


@pytest.fixture(autouse=True)
def nothing_left(qapp: QApplication, request: pytest.FixtureRequest) -> Iterator[None]:
    """The test that leaves a window, a viewport, a thread or a process behind is the one to fail,
    and not a later one that crashes on it.
    """
    yield
    request.node.funcargs.clear()  # pytest would keep the window until the next test
    for _ in range(3):
        qapp.processEvents()
        qapp.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        gc.collect()
    assert left_running() == []
    # what has outlived a test is kept for good (modules, made sweeps): not to be walked through
    # again after each of some hundred tests, which took longer than the tests themselves
    gc.freeze()


def left_running() -> list[object]:
    """What only a window that is still alive may have."""
    found: list[object] = [*multiprocessing.active_children()]
    # the solver's own threads live as long as the process (`barfit.mechanics.cores`)
    names = ("barfit sweep", "barfit results")
    found += [thread for thread in threading.enumerate() if thread.name.startswith(names)]
    if "pyvistaqt" in sys.modules:
        from pyvistaqt import QtInteractor

        found += [thing for thing in gc.get_objects() if isinstance(thing, QtInteractor)]
    windows = [thing for thing in gc.get_objects() if isinstance(thing, Window)]
    return found + [window for window in windows if isValid(window)]


@pytest.fixture
def make_window(qtbot, settings) -> Callable[..., Window]:
    """Makes a window with a stub viewport and made-up results; shown, and with its results."""

    def make(stem: str = "tall-bar-cruiser", worker: object = None, show: bool = True) -> Window:
        session = Session(setup(stem), path(stem), settings.unit)
        worker = worker or InstantWorker()
        window = Window(
            session,
            StubViewport(),
            worker,
            Theme(Choice.LIGHT),
            settings,
            second=InstantWorker(),
            third=InstantWorker(),
        )
        qtbot.addWidget(window)
        if show:
            window.resize(1280, 800)
            with qtbot.waitActive(window):  # shortcuts work in the active window only
                window.show()
                window.activateWindow()
        if isinstance(worker, InstantWorker) and not worker.held:
            qtbot.waitUntil(lambda: not session.stale(True))
            window.player.pause()
            session.turn_to(0.0)
        return window

    return make


@pytest.fixture
def window(make_window) -> Window:
    return make_window()


@pytest.fixture
def worker(qtbot) -> Iterator[Worker]:
    made = Worker()
    yield made
    made.stop()
