"""The keys of the window and a word about what the program is for."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QDialog, QGridLayout, QVBoxLayout, QWidget

from barfit import __version__
from barfit.report.sentences import CAUTION
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, label, prose

PURPOSE = (
    "It predicts whether cables, hoses and harnesses still reach when a motorcycle gets other "
    "handlebars, and is as good as the measurements it is given."
)
MOUSE = (
    "On the strip: drag to turn, click a ribbon to go there, the wheel turns by a degree.\n"
    "In the picture: drag to look round, Shift and drag to move, the wheel comes closer.\n"
    "A click with the right button says what can be done with a thing."
)


class Notice(QDialog):
    """A dialog to read and close; the window stays usable meanwhile."""

    def __init__(self, title: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.body = QVBoxLayout()
        self.body.setSpacing(2 * GRID)
        close = Button("Close")
        close.setDefault(True)
        close.clicked.connect(self.close)
        column = QVBoxLayout(self)
        column.setContentsMargins(3 * GRID, 3 * GRID, 3 * GRID, 2 * GRID)
        column.setSpacing(2 * GRID)
        column.addLayout(self.body)
        column.addWidget(close, 0, Qt.AlignmentFlag.AlignRight)


class KeysDialog(Notice):
    """Every command that has a key."""

    def __init__(self, actions: dict[str, QAction], parent: QWidget) -> None:
        super().__init__("Keys", parent)
        grid = QGridLayout()
        grid.setHorizontalSpacing(3 * GRID)
        grid.setVerticalSpacing(GRID // 2)
        keyed = [action for action in actions.values() if not action.shortcut().isEmpty()]
        half = (len(keyed) + 1) // 2
        for at, action in enumerate(keyed):
            row, column = at % half, 2 * (at // half)
            keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
            grid.addWidget(label(keys, Type.STRONG), row, column)
            grid.addWidget(label(command_words(action)), row, column + 1)
        self.body.addLayout(grid)
        self.body.addWidget(label(MOUSE, muted=True))


class AboutDialog(Notice):
    """What the program is for and where its word ends."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__("About barfit", parent)
        self.body.addWidget(label(f"barfit {__version__}", Type.TITLE))
        for text in (PURPOSE, CAUTION):
            paragraph = prose()
            paragraph.setText(text)
            paragraph.setMinimumWidth(52 * GRID)
            self.body.addWidget(paragraph)


def command_words(action: QAction) -> str:
    """What a command does, in words that stand on their own."""
    return action.whatsThis() or action.text().replace("&", "").rstrip("…")
