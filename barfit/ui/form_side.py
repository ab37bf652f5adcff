"""What the sides with forms on the left are made of."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from barfit.ui.drawing import Drawing
from barfit.ui.form import Form
from barfit.ui.icons import Worn
from barfit.ui.theme import GRID, Theme, Type
from barfit.ui.widgets import Button, label, on_escape, scrolled_side


class FormSide(QWidget):
    """A title with the way back beside it, a ``head`` that stays in sight with the ``drawing`` last
    in it, and the ``form``, which scrolls. ``edited`` as a form has it; ``done`` asks to go back.
    """

    edited = Signal(object, str, object)
    done = Signal()

    def __init__(self, theme: Theme, title: str, fields: str) -> None:
        """``fields`` is what the form is called for those who cannot see it."""
        super().__init__()
        self.setObjectName("side")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.back = Button("Back")
        self.back.setAccessibleName("Back to the answer")
        self.back.setToolTip("Back to the answer (Esc)")
        Worn(self.back, "back", theme)
        self.back.clicked.connect(self.done)
        self.drawing = Drawing(theme)
        self.form = Form(self.drawing)
        scroll = QScrollArea()
        scroll.setAccessibleName(fields)
        self.inner = QVBoxLayout(scrolled_side(scroll))
        # less the frame of the scroll
        self.inner.setContentsMargins(2 * GRID - 2, GRID // 2, 2 * GRID - 2, 2 * GRID)
        self.inner.setSpacing(GRID // 2)
        self.inner.addWidget(self.form)
        top = QHBoxLayout()
        top.addWidget(label(title, Type.TITLE), 1)
        top.addWidget(self.back)
        self.head = QVBoxLayout()
        self.head.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 0)
        self.head.setSpacing(GRID)
        self.head.addLayout(top)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(0)
        self.column.addLayout(self.head)
        self.column.addWidget(scroll, 1)
        on_escape(self, self.done.emit)
