"""The ways a line can go: pick one, try another, let go of those not wanted, compare two."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QMenu,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from barfit import edits
from barfit.compare import WayNumbers, alike, better
from barfit.compare.words import ROWS, way_text
from barfit.model import Line
from barfit.report.phrases import capital
from barfit.ui.icons import Worn
from barfit.ui.theme import GRID, Theme, Type
from barfit.ui.widgets import Button, Choices, label, prose, rule
from barfit.ui.words import typeset


class WayButton(Button):
    """A way's name, cut short where there is no room; the one in use has a tick."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self._name = name
        self.setProperty("role", "row")
        self.setCheckable(True)
        self.setToolTip(capital(name))
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def show_used(self, used: bool) -> None:
        """Whether the line goes this way now."""
        self.setChecked(used)
        self.setAccessibleName(f"Way to go: {self._name}{', in use' if used else ''}")
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The name may now be cut elsewhere."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        words = f"{'✓  ' * self.isChecked()}{capital(self._name)}"
        room = self.width() - 3 * GRID
        cut = self.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, room)
        if cut != self.text():
            self.setText(cut)


class Ways(QWidget):
    """``picked``, ``deleted`` and ``kept`` tell a way's name, ``added`` that another is to be
    tried, ``compared`` the way to hold against the one in use, "" for none.
    """

    picked = Signal(str)
    added = Signal()
    deleted = Signal(str)
    kept = Signal(str)
    compared = Signal(str)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._line: Line | None = None
        self._names: list[str] = []
        self._changing = False
        self.buttons: dict[str, WayButton] = {}
        self._group = QButtonGroup(self)
        self.heading = label("Ways to go", Type.STRONG)
        self.compare = Button("Compare")
        self.compare.setCheckable(True)
        self.compare.setProperty("role", "segment")
        self.compare.setToolTip("Hold another way against this one: numbers here, ribbons below")
        self.compare.setAccessibleName("Compare ways to go")
        self.compare.clicked.connect(self._compare_clicked)
        head = QHBoxLayout()
        head.addWidget(self.heading, 1)
        head.addWidget(self.compare)
        self._list = QVBoxLayout()
        self._list.setSpacing(2)
        self.other = Choices()
        self.other.setAccessibleName("Way to compare with")
        self.other.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.other.activated.connect(lambda _: self.compared.emit(self.other.currentData()))
        self.table = ComparedTable()
        self.add, self.keep, self.drop = (
            Button("Try another way"),
            Button("Keep only this"),
            Button("Delete…"),
        )
        self.add.setToolTip("A copy of the way it goes now under another name, to be changed below")
        Worn(self.add, "add", theme)
        Worn(self.drop, "delete", theme)
        self.keep.setToolTip("Let go of every other way")
        self.drop.setToolTip("Let go of a way it does not go now")
        self._menu = QMenu(self.drop)
        self.drop.setMenu(self._menu)
        self.add.clicked.connect(self.added)
        self.keep.clicked.connect(lambda: self.kept.emit(self._line.routing if self._line else ""))
        buttons = QGridLayout()
        buttons.setSpacing(GRID)
        buttons.addWidget(self.add, 0, 0, Qt.AlignmentFlag.AlignLeft)
        buttons.addWidget(self.keep, 0, 1)
        buttons.addWidget(self.drop, 1, 0, Qt.AlignmentFlag.AlignLeft)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        column.addLayout(head)
        column.addLayout(self._list)
        column.addWidget(self.other)
        column.addWidget(self.table)
        column.addLayout(buttons)
        column.addWidget(rule())
        self.hide()

    def show_line(self, line: Line | None, changing: bool, compared: str) -> None:
        """The ways of this line; ``changing`` shows what can be done to them, ``compared`` is the
        one held against that in use, "" for none.
        """
        self._line, self._changing = line, changing
        names = sorted(edits.routing_names(line), key=str.casefold) if line is not None else []
        self.setVisible(line is not None and (changing or bool(names)))
        if line is None:
            return
        if names != self._names:
            self._make_buttons(names)
        for name, one in self.buttons.items():
            one.show_used(name == line.routing)
        others = [name for name in names if name != line.routing]
        self.heading.setText("Ways to go" if names else "It can go one way")
        self.compare.setVisible(bool(names))
        self.compare.setChecked(bool(compared))
        self.compare.setText("Stop comparing" if compared else "Compare")
        self._fill(others, compared)
        self.other.setVisible(bool(compared) and len(others) > 1)
        self.table.setVisible(bool(compared))
        self.add.setVisible(changing)
        for button in (self.keep, self.drop):
            button.setVisible(changing and bool(names))

    def _make_buttons(self, names: list[str]) -> None:
        for old in self.buttons.values():
            self._group.removeButton(old)
            old.hide()
            old.deleteLater()
        self._names, self.buttons = names, {}
        for name in names:
            button = WayButton(name)
            button.clicked.connect(lambda _=False, name=name: self.picked.emit(name))
            self._group.addButton(button)
            self._list.addWidget(button)
            self.buttons[name] = button

    def _fill(self, others: list[str], compared: str) -> None:
        self.other.clear()
        self._menu.clear()
        for name in others:
            self.other.addItem(f"with: {name}", name)
            action = self._menu.addAction(capital(name).replace("&", "&&"))
            action.triggered.connect(lambda _=False, name=name: self.deleted.emit(name))
        if compared in others:
            self.other.setCurrentIndex(others.index(compared))

    def _compare_clicked(self, on: bool) -> None:
        first = self.other.itemData(0) if self.other.count() else ""
        self.compared.emit(first if on else "")


class ComparedTable(QWidget):
    """Two ways side by side, number by number; the better one is marked in words,
    and where they differ by less than can be told, that.
    """

    def __init__(self) -> None:
        super().__init__()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(GRID)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(1, 1)
        self._grid.setColumnStretch(2, 1)
        self._texts: list[list[str]] = []

    def show_waiting(self, why: str) -> None:
        """That one of the two is not worked out, and why."""
        self._clear()
        text = prose(Type.SMALL, muted=True)
        text.setText(why)
        self._texts = [[why]]
        self._grid.addWidget(text, 0, 0, 1, 3)

    def show_ways(self, used: WayNumbers, other: WayNumbers, unit: str) -> None:
        """The way in use beside another."""
        self._clear()
        winner, same = better(used, other), alike(used, other)
        self._put("", ("this way", "other way"), 0)
        for row, (field, term) in enumerate(ROWS.items(), start=1):
            texts = [typeset(way_text(way, field, unit)) for way in (used, other)]
            if winner[field]:
                texts[winner[field] - 1] += "\nbetter"
            elif field in same:
                texts[1] += "\nabout the same"
            self._put(term, (texts[0], texts[1]), row, winner[field])
        for way in (used, other):
            for why in way.rejected:
                text = prose(Type.SMALL)
                text.setText(f"{capital(way.name)}: {why}")
                self._texts.append([text.text()])
                self._grid.addWidget(text, self._grid.rowCount(), 0, 1, 3)

    @property
    def texts(self) -> list[list[str]]:
        """What stands in the table, row by row."""
        return self._texts

    def _put(self, term: str, texts: Sequence[str], row: int, better: int = 0) -> None:
        self._texts.append([term, *texts])
        top = Qt.AlignmentFlag.AlignTop
        self._grid.addWidget(label(term, Type.SMALL, muted=True), row, 0, top)
        for at, text in enumerate(texts, start=1):
            cell = prose(Type.STRONG if at == better else Type.BODY, muted=row == 0)
            cell.setText(text)
            cell.setAccessibleName(f"{term}, {'this' if at == 1 else 'other'} way: {text}")
            cell.setAlignment(Qt.AlignmentFlag.AlignRight | top)
            self._grid.addWidget(cell, row, at, top)

    def _clear(self) -> None:
        self._texts = []
        while item := self._grid.takeAt(0):
            if widget := item.widget():
                widget.hide()
                widget.deleteLater()
