"""What is said over every part of the page: one line of it, which opens."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, label, prose

OPEN, SHUT = "Read all", "Close"


class Banner(QFrame):
    """One line, as much of it as there is room for, and under it all of it where that is asked
    for. Hidden while there is nothing to be said.
    """

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("message")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._brief = ""
        self._line: QLabel = label(step=Type.STRONG)
        self._line.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._all = prose()
        self.toggle = Button(OPEN)
        self.toggle.clicked.connect(self._turn)
        top = QHBoxLayout()
        top.setSpacing(2 * GRID)
        top.addWidget(self._line, 1)
        top.addWidget(self.toggle)
        column = QVBoxLayout(self)
        column.setContentsMargins(3 * GRID, GRID // 2, 2 * GRID, GRID // 2)
        column.setSpacing(GRID // 2)
        column.addLayout(top)
        column.addWidget(self._all)
        self._all.hide()
        self.hide()

    def show_words(self, brief: str, whole: str) -> None:
        """Say this in brief, and the whole of it where it is opened; "" says nothing."""
        if whole != self._all.text():
            self._all.setText(whole)
            self._open(False)
        self._brief = brief
        self._line.setToolTip(whole)
        self._fit()
        self.setVisible(bool(brief))

    @property
    def text(self) -> str:
        """All that is said; "" for nothing."""
        return "" if self.isHidden() else self._all.text()

    @property
    def opened(self) -> bool:
        """Whether all of it stands there."""
        return not self._all.isHidden()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """More or less of the line has room."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Type of another size is cut elsewhere."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit()

    def _fit(self) -> None:
        metrics = self._line.fontMetrics()
        room = max(self._line.width(), 1)
        self._line.setText(metrics.elidedText(self._brief, Qt.TextElideMode.ElideRight, room))

    def _turn(self) -> None:
        self._open(not self.opened)

    def _open(self, on: bool) -> None:
        self._all.setVisible(on)
        self.toggle.setText(SHUT if on else OPEN)
        self.toggle.setAccessibleName(f"{self.toggle.text()}: {self._brief}")
        parent: QWidget | None = self.parentWidget()
        if parent is not None:
            parent.updateGeometry()
