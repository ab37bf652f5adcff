"""Files: opening and saving the session's setup, and asking before changes are lost."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from barfit import scenario
from barfit.model import Setup
from barfit.scenario import OnDisk
from barfit.session import Session
from barfit.ui import asking
from barfit.ui.new_setup import NewSetup
from barfit.ui.settings import Settings

SETUPS = "barfit setups (*.toml);;All files (*)"


class Documents(QObject):
    """What the File menu does. ``opened``, ``begun`` and ``saved`` tell that it was done,
    ``refused`` in a sentence that it was not.
    """

    opened = Signal()
    begun = Signal()
    saved = Signal()
    refused = Signal(str)

    def __init__(self, window: QWidget, session: Session, settings: Settings) -> None:
        super().__init__(window)
        self._window = window
        self._session = session
        self._settings = settings

    def open(self, path: Path) -> None:
        """Open a file instead, unless the user would rather keep what is unsaved."""
        if self.may_leave() and self._session.open(path):
            self._settings.add_recent(path)
            self.opened.emit()

    def ask_open(self) -> None:
        """Open a file of the user's choice."""
        start = self._session.path.parent if self._session.path else Path.home()
        name, _ = QFileDialog.getOpenFileName(self._window, "Open a setup", str(start), SETUPS)
        if name:
            self.open(Path(name))

    def ask_new(self) -> None:
        """Begin a setup of the user's own, unless what is unsaved is rather kept."""
        asking_for = NewSetup(self._window, self._session.unit)
        asking_for.wanted.connect(self._begin)
        asking_for.open()

    def _begin(self, setup: Setup) -> None:
        if self.may_leave():
            self._session.begin(setup)
            self.begun.emit()

    def save(self) -> bool:
        """Save to the setup's own file, or ask for one; gives whether it is saved.

        The bundled examples are never written over.
        """
        path = self._session.path
        if path is None or _is_bundled(path):
            return self.save_as()
        state = self._session.look_at_file()
        if state in (OnDisk.CHANGED, OnDisk.UNREADABLE):
            why = "was changed by another program" if state is OnDisk.CHANGED else "cannot be read"
            question = f"“{path.name}” {why}. Save over it?"
            more = "What it holds now would be lost."
            over, other = "Save over it", "Save as…"
            answer = asking.ask(self._window, "Save", question, more, [other, over])
            if answer != over:
                return bool(answer) and self.save_as()
        return self._save_to(path)

    def save_as(self) -> bool:
        """Save to a file of the user's choice; gives whether it is saved."""
        path = self._session.path
        own = path is not None and path not in scenario.bundled()
        folder = path.parent if path is not None and own else Path.home()
        start = folder / (path.name if path is not None else f"{self._session.setup.title}.toml")
        name, _ = QFileDialog.getSaveFileName(self._window, "Save the setup", str(start), SETUPS)
        if not name:
            return False
        target = Path(name)
        if not target.suffix:
            target = target.with_suffix(".toml")
            question = f"“{target.name}” is there already. Save over it?"
            if target.exists() and not asking.ask(
                self._window, "Save", question, "What it holds now would be lost.", ["Save over it"]
            ):
                return False
        if _is_bundled(target):
            why = "is an example that comes with barfit; save it under another name"
            self.refused.emit(f"Not saved: {target} {why}.")
            return False
        return self._save_to(target)

    def may_leave(self) -> bool:
        """Whether the setup may be given up: it is saved, or the user says so."""
        if not self._session.changed:
            return True
        buttons = QMessageBox.StandardButton
        answer = QMessageBox.question(
            self._window,
            "Unsaved changes",
            f"Save the changes to “{self._session.setup.title}”?",
            buttons.Save | buttons.Discard | buttons.Cancel,
            buttons.Save,
        )
        if answer == buttons.Save:
            return self.save()
        return answer == buttons.Discard

    def _save_to(self, path: Path) -> bool:
        try:
            self._session.save(path)
        except scenario.ScenarioError as error:
            self.refused.emit(f"Not saved: {str(error).rstrip('.')}.")
            return False
        self._settings.add_recent(path)
        self.saved.emit()
        return True


def _is_bundled(path: Path) -> bool:
    """Whether it is one of the examples, which are never written over."""
    return path.resolve() in {file.resolve() for file in scenario.bundled()}
