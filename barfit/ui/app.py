"""Starting the window."""

from __future__ import annotations

import signal
import socket
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QSettings, QSocketNotifier
from PySide6.QtWidgets import QApplication

from barfit import scenario
from barfit.recovery import Store, default_folder
from barfit.session import Session
from barfit.ui.faults import SEND
from barfit.ui.marks import window_icon
from barfit.ui.settings import Settings
from barfit.ui.theme import Theme, enlarge
from barfit.ui.viewport import Viewport
from barfit.ui.window import Window
from barfit.ui.worker import Worker

ENDING = (signal.SIGINT, signal.SIGTERM)


def run(path: Path | None = None) -> int:
    """Open the window on a scenario file, or on a bundled machine; gives the exit status.

    A file that cannot be used is told in the window, over a bundled machine. Raises
    ScenarioError when the bundled machine itself cannot be read.
    """
    app = application()
    with end_signals() as told:  # before the window: it starts a process that must go with it
        window = make_window(Settings(QSettings("barfit", "barfit")))
        told.activated.connect(window.leave)
        install_excepthook(window)
        if path is not None:
            window.open(path)
        elif not window.settings.recent:
            window.beginning.offer()
        window.show()
        return app.exec()


def application() -> QApplication:
    """The application, made on first use."""
    app = QApplication.instance()
    if not isinstance(app, QApplication):
        app = QApplication(sys.argv[:1])
    app.setApplicationName("barfit")
    app.setStyle("Fusion")  # the same everywhere, and it takes our palette whole
    app.setWindowIcon(window_icon())
    return app


def make_window(settings: Settings) -> Window:
    """A window on a bundled machine."""
    enlarge(settings.type_size)
    viewport = Viewport()  # before the window: see viewport.py
    path = scenario.first()
    assert path is not None, "barfit comes with scenarios"
    session = Session(scenario.load(path), path, settings.unit)
    store = Store(default_folder())
    return Window(session, viewport, Worker(), Theme(settings.theme), settings, store)


@contextmanager
def end_signals() -> Iterator[QSocketNotifier]:
    """Within it, being told to end (SIGINT, SIGTERM) activates what is handed out, in Qt's turn.

    Python's own handlers run only when Qt next calls Python, which can be never: the number of the
    signal is written to a socket that wakes Qt up. It waits there if Qt is not yet running.
    """
    ours, theirs = socket.socketpair()
    for end in (ours, theirs):
        end.setblocking(False)
    bell = QSocketNotifier(ours.fileno(), QSocketNotifier.Type.Read)
    wakes = signal.set_wakeup_fd(theirs.fileno())
    before = {number: signal.signal(number, lambda *_: None) for number in ENDING}
    try:
        yield bell
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        signal.set_wakeup_fd(wakes)
        bell.setEnabled(False)
        for end in (ours, theirs):
            end.close()


def install_excepthook(window: Window) -> None:
    """From now on a fault in a handler is shown and logged, and the window lives on."""

    def tell(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        traceback.print_exception(kind, error, trace)
        if not issubclass(kind, KeyboardInterrupt):
            window.message.say(
                f"The program is at fault, and what you see may be out of date. {SEND} "
                f"({kind.__name__}: {error})"
            )

    sys.excepthook = tell
