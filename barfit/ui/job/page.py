"""The page of the job: a list of its parts on the left, the one that is looked at beside it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from barfit.model import By
from barfit.ui.job.banner import Banner
from barfit.ui.job.rows import Sheet
from barfit.ui.job.search_strip import SearchStrip
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, Segments, label, on_escape, prose

WIDTH = 30 * GRID
LETTERS = 27  # of the longest name and what stands beside it, whatever the size of the type


class PartButton(Button):
    """The name of a part of the page; by Tab it takes Space and the arrows up and down."""

    taken = frozenset({Qt.Key.Key_Space, Qt.Key.Key_Up, Qt.Key.Key_Down})


class JobPage(QWidget):
    """``left`` asks for the machine again; ``by_picked`` who is to do the work, ``part_picked``
    which part is looked at.
    """

    left = Signal()
    part_picked = Signal(str)
    by_picked = Signal(object)

    def __init__(self, parts: Sequence[tuple[str, str, QWidget]], free: str) -> None:
        """``parts`` are (name, what it tells, widget); ``free`` names the one that waits for
        nothing.
        """
        super().__init__()
        self._free, self._waits = free, False
        self.setObjectName("side")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._title, self._about = label(step=Type.TITLE), prose(muted=True)
        self._title.setWordWrap(True)
        self.by = Segments(
            (
                ("At home", By.HOME, "You do the work"),
                ("In a shop", By.SHOP, "A workshop does it, by the hour"),
            ),
            "Who does the work",
        )
        self.by.picked.connect(self.by_picked)
        self.back = Button("Back to the machine")
        self.back.setToolTip("Esc or F6")
        self.back.clicked.connect(self.left)
        self._stack = QStackedWidget()
        self._group = QButtonGroup(self)
        self.names = [name for name, *_ in parts]
        menu = QVBoxLayout()
        menu.setContentsMargins(2 * GRID, 2 * GRID, GRID, 2 * GRID)
        menu.setSpacing(GRID // 2)
        for part in (self._title, self._about, self.by):
            menu.addWidget(part)
        menu.addSpacing(GRID)
        self._notes: dict[str, QLabel] = {}
        for number, (name, about, widget) in enumerate(parts):
            menu.addWidget(self._button(number, name, about))
            self._stack.addWidget(widget)
            widget.setAccessibleName(name)
        menu.addStretch(1)
        menu.addWidget(self.back)
        side = QWidget()
        side.setLayout(menu)
        side.setFixedWidth(max(WIDTH, LETTERS * self.fontMetrics().horizontalAdvance("0")))
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(side)
        self.banner = Banner()
        right = QVBoxLayout()
        right.setSpacing(0)
        right.addWidget(self.banner)
        self.search = SearchStrip()
        right.addWidget(self.search)
        right.addWidget(self._stack, 1)
        row.addLayout(right, 1)
        self._waiting = Sheet()
        self._why = self._waiting.add_words(step=Type.LEAD)
        self._stack.addWidget(self._waiting)
        self._group.idClicked.connect(self._pick)
        self._group.button(0).setChecked(True)
        on_escape(self, self.left.emit)

    def show_head(self, title: str, about: str, by: By, rejected: tuple[str, str]) -> None:
        """What job it is, how it stands, who does it, and over every part what makes the bars
        unacceptable: in brief, and all of it.
        """
        self.banner.show_words(*rejected)
        self._title.setText(title)
        self._about.setText(about)
        self.by.show_value(by)
        self._waits = False
        self._stack.setCurrentIndex(self._group.checkedId())

    def show_waiting(self, title: str, why: str, by: By) -> None:
        """There is nothing to show yet, and why; but for what waits for nothing."""
        self._title.setText(title)
        self._about.setText("")
        self.banner.show_words("", "")
        self._why.setText(why)
        self.by.show_value(by)
        self._waits = True
        self._show_stack()
        for name in self.names:
            self.show_note(name, "")

    @property
    def waiting_text(self) -> str:
        """Why there is nothing to show yet; "" where there is."""
        return self._why.text() if self._waits else ""

    def take_focus(self) -> None:
        """Let the keys go to the names of the parts."""
        self._group.button(self._group.checkedId()).setFocus()

    @property
    def part(self) -> str:
        """The name of the part that is looked at."""
        return self.names[self._group.checkedId()]

    @property
    def shown(self) -> QWidget | None:
        """The part that is looked at, or will be when there is nothing more to wait for."""
        return self._stack.widget(self._group.checkedId())

    def show_note(self, name: str, note: str) -> None:
        """A word or two beside the name of a part: how it stands."""
        self._notes[name].setText(note)
        self._group.button(self.names.index(name)).setAccessibleName(
            f"{name}: {note}" if note else name
        )

    def show_part(self, name: str) -> None:
        """Look at the part of that name. Raises ValueError."""
        number = self.names.index(name)
        self._group.button(number).setChecked(True)
        self._pick(number)

    def _pick(self, number: int) -> None:
        self._show_stack()
        # or the ring of the keyboard would stay on another name
        self._group.button(number).setFocus(Qt.FocusReason.OtherFocusReason)
        self.part_picked.emit(self.names[number])

    def _show_stack(self) -> None:
        if self._waits and self.part != self._free:
            self._stack.setCurrentWidget(self._waiting)
        else:
            self._stack.setCurrentIndex(self._group.checkedId())

    def _button(self, number: int, name: str, about: str) -> PartButton:
        button = PartButton(name)
        button.setProperty("role", "row")
        button.setCheckable(True)
        button.setToolTip(about)
        button.setCursor(Qt.CursorShape.PointingHandCursor)
        note = label(step=Type.SMALL, muted=True)
        note.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        inner = QHBoxLayout(button)
        inner.setContentsMargins(0, 0, GRID, 0)
        inner.addStretch(1)
        inner.addWidget(note)
        self._notes[name] = note
        self._group.addButton(button, number)
        return button
