"""A plain list of rows, one of which is picked, by mouse or keys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QListWidget, QListWidgetItem

_KEYS = frozenset({Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Home, Qt.Key.Key_End})


@dataclass(frozen=True)
class Row:
    """A row: its words, the value it stands for, and more about it."""

    words: str
    value: object
    tip: str = ""


class Rows(QListWidget):
    """``picked`` tells the value of the row that was picked by the user."""

    picked = Signal(object)

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setUniformItemSizes(False)
        self._rows: tuple[Row, ...] = ()
        self._filling = False
        self.currentRowChanged.connect(self._changed)

    def show_rows(self, rows: Sequence[Row], value: object) -> None:
        """Show these, and which of them is picked, without telling."""
        self._filling = True
        if tuple(rows) != self._rows:
            self._rows = tuple(rows)
            self.clear()
            for row in rows:
                item = QListWidgetItem(row.words)
                item.setToolTip(row.tip)
                item.setData(
                    Qt.ItemDataRole.AccessibleTextRole,
                    ". ".join(filter(None, (row.words, row.tip))),
                )
                self.addItem(item)
        values = [row.value for row in rows]
        self.setCurrentRow(values.index(value) if value in values else -1)
        self._filling = False

    @property
    def rows(self) -> tuple[Row, ...]:
        """What is shown."""
        return self._rows

    def event(self, event: QEvent) -> bool:
        """Claim its keys before they are taken for the window's shortcuts."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() in _KEYS
        ):
            event.accept()
            return True
        return super().event(event)

    def _changed(self, row: int) -> None:
        if not self._filling and 0 <= row < len(self._rows):
            self.picked.emit(self._rows[row].value)
