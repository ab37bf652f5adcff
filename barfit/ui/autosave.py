"""Keeps a copy of unsaved changes a moment after each edit, and removes it once they are saved.

Writing a copy takes a tenth of a second or two, mostly to bring the text up to date, so it is done
on a thread of its own; one after the other, so that the last is what counts.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from barfit.recovery import Left, RecoveryError, Store
from barfit.session import Session

PAUSE = 1000  # ms from an edit to its copy; a drag is copied as often


class Autosave(QObject):
    """Follows a session. ``refused`` tells a sentence when copies cannot be kept, once."""

    refused = Signal(str)
    _done = Signal(str)  # from the thread: what went wrong, or ""

    def __init__(self, session: Session, store: Store, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.store = store
        self._session = session
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="barfit unsaved changes")
        self._told = ""
        self._stopped = False
        self._kept = False  # whether a copy was asked for since the last was dropped
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(PAUSE)
        self._timer.timeout.connect(self._keep)
        self._done.connect(self._hear, Qt.ConnectionType.QueuedConnection)
        session.setup_changed.connect(self._changed)
        session.file_changed.connect(self._changed)

    def take_over(self, left: Left) -> None:
        """Go on with a copy that was left behind as the one of this window."""
        self._timer.stop()
        self._thread.submit(self.store.take_over, left).result()
        self._kept = True

    def stop(self, keep: bool) -> None:
        """Write what is unsaved now, or with ``keep`` false remove the copy; nothing after that."""
        due, self._stopped = self._timer.isActive(), True
        self._timer.stop()
        if keep and due:
            self._keep()
        elif not keep:
            self._drop()
        self._thread.shutdown()
        self.store.close()

    def _changed(self) -> None:
        if self._stopped:
            return
        if not self._session.changed:
            self._timer.stop()
            self._drop()
        elif not self._timer.isActive():  # not put off by the next edit: a drag has many
            self._timer.start()

    def _keep(self) -> None:
        session = self._session
        self._kept = True
        what = session.setup, session.path, session.known, session.undo_name or ""
        self._submit(lambda: self.store.keep(*what))

    def _drop(self) -> None:
        if self._kept:
            self._kept = False
            self._submit(self.store.drop)

    def _submit(self, work: Callable[[], None]) -> None:
        def run() -> None:
            try:
                work()
            except RecoveryError as error:
                self._done.emit(str(error))
            else:
                self._done.emit("")

        self._thread.submit(run)

    def _hear(self, problem: str) -> None:
        if problem and problem != self._told:
            self.refused.emit(problem)
        self._told = problem
