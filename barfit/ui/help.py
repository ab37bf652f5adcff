"""The keys of the window and a word about what the program is for."""

from __future__ import annotations

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QMessageBox,
    QVBoxLayout,
    QWidget,
)

from barfit import __version__
from barfit.ui.meaning import AUTHORITY
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import label

SAFETY = (
    "barfit predicts whether cables, hoses and harnesses still reach when a motorcycle gets other "
    "handlebars. A prediction is as good as the measurements it is given. Before riding, turn the "
    "bars from lock to lock with the wheel on the ground and off it, and look at and feel every "
    "line: nothing may pull, pinch or rub, the throttle must snap shut, the brakes must hold. "
    f"{AUTHORITY}"
)


class KeysDialog(QDialog):
    """Every command that has a key."""

    def __init__(self, actions: dict[str, QAction], parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("Keys")
        grid = QGridLayout()
        grid.setHorizontalSpacing(4 * GRID)
        grid.setVerticalSpacing(GRID // 2)
        keyed = [action for action in actions.values() if not action.shortcut().isEmpty()]
        half = (len(keyed) + 1) // 2
        for at, action in enumerate(keyed):
            row, column = at % half, 2 * (at // half)
            keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
            grid.addWidget(label(keys, Type.STRONG), row, column)
            text = action.text().replace("&", "").rstrip("…")
            grid.addWidget(label(text), row, column + 1)
        mouse = label(
            "On the strip: drag to turn, click a ribbon to go there, the wheel turns by a degree.\n"
            "In the picture: drag to look round, Shift and drag to move, the wheel comes closer.",
            muted=True,
        )
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.close)
        column_layout = QVBoxLayout(self)
        column_layout.setContentsMargins(3 * GRID, 3 * GRID, 3 * GRID, 2 * GRID)
        column_layout.setSpacing(2 * GRID)
        column_layout.addLayout(grid)
        column_layout.addWidget(mouse)
        column_layout.addWidget(buttons)


def about(parent: QWidget) -> None:
    """Show what the program is for and where its word ends, without blocking."""
    box = QMessageBox(parent)
    box.setWindowTitle("About barfit")
    box.setText(f"barfit {__version__}")
    box.setInformativeText(SAFETY)
    box.open()
