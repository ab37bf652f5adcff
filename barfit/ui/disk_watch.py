"""Notices that the session's file was changed by another program.

Editors often write a new file and put it in the old one's place, after which the old one is no
longer watched; so its folder is watched too. Some file systems tell nothing; so the file is also
looked at when the window comes to the front.
"""

from __future__ import annotations

import os
from pathlib import Path

from PySide6.QtCore import QFileSystemWatcher, QObject, Qt, QTimer
from PySide6.QtGui import QGuiApplication

from barfit.session import Session

PAUSE = 300  # ms, in which another program may finish what it is writing


class DiskWatch(QObject):
    """Has a session look at its file when there is reason to."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._watcher = QFileSystemWatcher(self)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(PAUSE)
        self._timer.timeout.connect(self.look)
        self._watcher.fileChanged.connect(lambda _: self._timer.start())
        self._watcher.directoryChanged.connect(self._folder_changed)
        app = QGuiApplication.instance()
        assert isinstance(app, QGuiApplication)
        self._app = app
        self._app.applicationStateChanged.connect(self._state_changed)
        self._stopped = False
        session.opened.connect(self._watch)
        session.file_changed.connect(self._watch)
        self._watch()

    def look(self) -> None:
        """Look at the file now."""
        if not self._stopped:
            self._session.look_at_file()
            self._watch()

    def stop(self) -> None:
        """Look no more."""
        self._stopped = True
        self._timer.stop()
        self._app.applicationStateChanged.disconnect(self._state_changed)
        self._follow(set())

    def _folder_changed(self, _: str) -> None:
        if not self._timer.isActive():  # not put off by the next change: a busy folder has many
            self._timer.start()

    def _state_changed(self, state: Qt.ApplicationState) -> None:
        if state is Qt.ApplicationState.ApplicationActive:
            self.look()

    def _watch(self) -> None:
        """Watch the session's file and its folder, and that of what it links to."""
        path = self._session.path
        if self._stopped or path is None:
            self._follow(set())
            return
        files = {path.absolute(), _resolved(path)}
        places = {str(place) for file in files for place in (file, file.parent)}
        self._follow({place for place in places if os.path.exists(place)})

    def _follow(self, wanted: set[str]) -> None:
        watched = {*self._watcher.files(), *self._watcher.directories()}
        if gone := list(watched - wanted):
            self._watcher.removePaths(gone)
        if new := list(wanted - watched):
            self._watcher.addPaths(new)


def _resolved(path: Path) -> Path:
    try:
        return path.resolve()
    except (OSError, RuntimeError):  # RuntimeError: links that go round in a circle
        return path.absolute()
