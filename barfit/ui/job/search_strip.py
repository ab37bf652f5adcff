"""How far the search for what can be done about the lines is, over the parts that hang on it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QProgressBar, QVBoxLayout

from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import label, prose


class SearchStrip(QFrame):
    """A bar with its number, what is being tried, and that nothing beneath is complete."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("offer")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._told, self._now = prose(Type.STRONG), prose(Type.SMALL)
        self._number = label(step=Type.STRONG)
        self.bar = QProgressBar()
        self.bar.setTextVisible(False)
        self.bar.setRange(0, 100)
        self.bar.setAccessibleName("How far the search is")
        top = QHBoxLayout()
        top.setSpacing(2 * GRID)
        top.addWidget(self._told, 1)
        top.addWidget(self._number, 0, Qt.AlignmentFlag.AlignTop)
        column = QVBoxLayout(self)
        column.setContentsMargins(3 * GRID, GRID, 3 * GRID, GRID)
        column.setSpacing(GRID // 2)
        column.addLayout(top)
        column.addWidget(self.bar)
        column.addWidget(self._now)
        self.hide()

    @property
    def text(self) -> str:
        """All that is said; "" while it is hidden."""
        if self.isHidden():
            return ""
        shown = (one.text() for one in (self._told, self._number, self._now))
        return "\n".join(filter(None, shown))

    def show_search(self, told: str, now: str, part: float | None) -> None:
        """``told`` how it stands, ``now`` what is being tried, ``part`` how far it is (None: it has
        not begun, or broke off); all of it gone with nothing told.
        """
        self._told.setText(told)
        self._now.setText(now)
        self._now.setVisible(bool(now))
        for shown in (self._number, self.bar):
            shown.setVisible(part is not None)
        if part is not None:
            self.bar.setValue(round(100.0 * part))
            self._number.setText(f"{100.0 * part:.0f} %")
        self.setVisible(bool(told))
