"""What a dialog that asks for a few things is made of."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QLayout,
    QVBoxLayout,
    QWidget,
)

from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, Choices, label


class Questions(QDialog):
    """Asks under a heading; ``go``, at its foot, does ``deed`` with the answers. ``wanted`` gives
    what came of it.
    """

    wanted = Signal(object)

    def __init__(self, parent: QWidget, title: str, heading: str, deed: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setModal(True)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._heading = heading
        self.go, self.cancel = Button(deed), Button("Cancel")
        self.go.setProperty("role", "main")
        for button in (self.go, self.cancel):
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.setAutoDefault(False)  # Return enters what was typed in a field, no more
        self.cancel.clicked.connect(self.reject)

    def lay_out(self, *parts: QWidget | QLayout) -> None:
        """The parts one under the other between heading and buttons."""
        buttons = QHBoxLayout()
        buttons.setSpacing(GRID)
        buttons.addStretch(1)
        buttons.addWidget(self.cancel)
        buttons.addWidget(self.go)
        column = QVBoxLayout(self)
        column.setContentsMargins(3 * GRID, 3 * GRID, 3 * GRID, 2 * GRID)
        column.setSpacing(2 * GRID)
        column.addWidget(label(self._heading, Type.TITLE))
        for part in parts:
            if isinstance(part, QWidget):
                column.addWidget(part)
            else:
                column.addLayout(part)
        column.addLayout(buttons)

    def fit(self) -> None:
        """As large as what it asks for takes (Qt's own way stops at two thirds of the screen)."""
        layout = self.layout()
        assert layout is not None
        layout.activate()
        width = self.sizeHint().width()
        self.resize(width, max(layout.totalHeightForWidth(width), self.sizeHint().height()))


def asked(rows: Sequence[tuple[str, QWidget, str]], width: int) -> QGridLayout:
    """Questions, each its words, where it is answered and a tip, in two columns; answers are at
    least ``width`` px wide.
    """
    grid = QGridLayout()
    grid.setHorizontalSpacing(2 * GRID)
    grid.setVerticalSpacing(GRID)
    grid.setColumnMinimumWidth(0, 9 * GRID)  # one column with those of another group
    grid.setColumnMinimumWidth(1, width)
    grid.setColumnStretch(1, 1)
    for row, (words, widget, tip) in enumerate(rows):
        widget.setAccessibleName(words)
        if tip:
            widget.setAccessibleDescription(tip)
            widget.setToolTip(tip)
        if isinstance(widget, Choices):
            widget.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        grid.addWidget(label(words), row, 0)
        grid.addWidget(widget, row, 1)
    return grid
