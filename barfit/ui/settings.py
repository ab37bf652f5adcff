"""What the program remembers between two starts."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

from barfit.ui.theme import Choice, TypeSize
from barfit.units import UNITS

RECENT = 8


class Settings:
    """Reads and writes the user's settings. Anything unreadable counts as not set."""

    def __init__(self, store: QSettings) -> None:
        self._store = store

    @property
    def unit(self) -> str | None:
        """The length unit the user chose, None before any choice."""
        unit = self._store.value("unit")
        return unit if unit in UNITS else None

    @unit.setter
    def unit(self, unit: str) -> None:
        self._store.setValue("unit", unit)

    @property
    def theme(self) -> Choice:
        """Light, dark or as the system."""
        try:
            return Choice(self._store.value("theme"))
        except ValueError:
            return Choice.SYSTEM

    @theme.setter
    def theme(self, choice: Choice) -> None:
        self._store.setValue("theme", str(choice))

    @property
    def type_size(self) -> TypeSize:
        """How large the type is to be, from the next start on."""
        try:
            return TypeSize(self._store.value("type"))
        except ValueError:
            return TypeSize.SYSTEM

    @type_size.setter
    def type_size(self, size: TypeSize) -> None:
        self._store.setValue("type", str(size))

    @property
    def recent(self) -> list[Path]:
        """The files last opened that still exist, newest first."""
        stored = self._store.value("recent")
        names = stored if isinstance(stored, list) else [stored] if stored else []
        return [Path(name) for name in names if isinstance(name, str) and Path(name).is_file()]

    def add_recent(self, path: Path) -> None:
        """Put a file first among those last opened."""
        path = path.absolute()
        others = [known for known in self.recent if known != path]
        self._store.setValue("recent", [str(known) for known in [path, *others][:RECENT]])

    @property
    def folds(self) -> list[str]:
        """Which sections of the side panels were opened and shut."""
        stored = self._store.value("folds")
        words = stored if isinstance(stored, list) else [stored]
        return [word for word in words if isinstance(word, str)]

    @folds.setter
    def folds(self, words: list[str]) -> None:
        self._store.setValue("folds", words)

    def load_bytes(self, name: str) -> QByteArray | None:
        """A piece of window geometry."""
        stored = self._store.value(name)
        return stored if isinstance(stored, QByteArray) else None

    def save_bytes(self, name: str, value: QByteArray) -> None:
        """Keep a piece of window geometry."""
        self._store.setValue(name, value)
