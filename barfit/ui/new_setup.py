"""Beginning a setup of one's own: from the nearest of the invented machines, or from next to
nothing.
"""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QDialog, QGridLayout, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from barfit import scenario
from barfit.model import Setup
from barfit.report.phrases import capital, listed
from barfit.starting import (
    Brake,
    Candidate,
    Clutch,
    Kind,
    Throttle,
    Traits,
    Wiring,
    bare_start,
    candidates,
    fresh_start,
)
from barfit.ui.rows import Row, Rows
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, Choices, label, prose

_QUESTIONS: tuple[tuple[str, str, type[StrEnum], str], ...] = (
    ("kind", "Machine", Kind, "What kind of machine it is"),
    ("throttle", "Throttle", Throttle, "What leads from the right grip to the engine"),
    ("clutch", "Clutch", Clutch, "A cable at the lever, or a reservoir and a hose"),
    ("brake", "Front brake", Brake, "Follow the hose or cable from the right lever downward"),
    ("wiring", "Switch wires", Wiring, "Tied along the bar, or led inside it"),
)
_BARE = "bare"
_HINT = (
    "The nearest machine lends its figures as a first guess. All of them count as not measured "
    "until you have held a tape to them, and the answer says how much that leaves open. Tank, "
    "engine and other solids stay those of that machine until you change them (F2)."
)


class NewSetup(QDialog):
    """Asks for a name, for what is plain to see of the machine, and which machine to begin from.
    ``wanted`` gives the setup to begin with.
    """

    wanted = Signal(object)

    def __init__(self, parent: QWidget, unit: str) -> None:
        super().__init__(parent)
        self.setWindowTitle("New setup")
        self.setModal(True)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._unit = unit
        self._machines = [scenario.load(path) for path in scenario.bundled()]
        self._found: tuple[Candidate, ...] = ()
        self._picked: object = None
        self.name = QLineEdit("My machine")
        self.name.setAccessibleName("What your machine is called")
        self.name.selectAll()
        self.asked: dict[str, Choices] = {}
        self.list = Rows("Machines to begin from, the nearest first")
        self.list.setWordWrap(True)
        self.list.picked.connect(self._pick)
        self._differs = prose(Type.SMALL)
        self.start = Button("Begin")
        self.start.setProperty("role", "main")
        self.start.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.start.setDefault(True)
        self.start.setToolTip("Close this and go on to measuring")
        self.start.clicked.connect(self._begin)
        self.cancel = Button("Cancel")
        self.cancel.clicked.connect(self.reject)
        self._lay_out()
        self._rank()
        self.name.setFocus()

    def _lay_out(self) -> None:
        asked = QGridLayout()
        asked.setHorizontalSpacing(2 * GRID)
        asked.setVerticalSpacing(GRID)
        asked.addWidget(label("Called"), 0, 0)
        asked.addWidget(self.name, 0, 1)
        for row, (key, words, known, tip) in enumerate(_QUESTIONS, start=1):
            box = Choices()
            box.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            box.setAccessibleName(words)
            box.setAccessibleDescription(tip)
            box.setToolTip(tip)
            for one in known:
                box.addItem(capital(str(one)), one)
            box.setCurrentIndex(box.findData(getattr(Traits(), key)))
            box.currentIndexChanged.connect(self._rank)
            self.asked[key] = box
            asked.addWidget(label(words), row, 0)
            asked.addWidget(box, row, 1)
        asked.setRowStretch(len(_QUESTIONS) + 1, 1)
        asked.setColumnMinimumWidth(1, 30 * GRID)
        left = QVBoxLayout()
        left.setSpacing(GRID)
        left.addWidget(label("Your machine", Type.STRONG))
        left.addLayout(asked)
        right = QVBoxLayout()
        right.setSpacing(GRID)
        right.addWidget(label("Begin from", Type.STRONG))
        right.addWidget(self.list, 1)
        self._differs.setMinimumHeight(9 * GRID)
        self._differs.setAlignment(Qt.AlignmentFlag.AlignTop)
        right.addWidget(self._differs)
        both = QHBoxLayout()
        both.setSpacing(4 * GRID)
        both.addLayout(left)
        both.addLayout(right, 1)
        hint = prose(muted=True)
        hint.setText(_HINT)
        buttons = QHBoxLayout()
        buttons.setSpacing(GRID)
        buttons.addStretch(1)
        buttons.addWidget(self.cancel)
        buttons.addWidget(self.start)
        column = QVBoxLayout(self)
        column.setContentsMargins(3 * GRID, 3 * GRID, 3 * GRID, 2 * GRID)
        column.setSpacing(2 * GRID)
        column.addWidget(label("A setup of your own", Type.TITLE))
        column.addWidget(hint)
        column.addLayout(both, 1)
        column.addLayout(buttons)
        self.resize(100 * GRID, 58 * GRID)
        for before, after in zip(
            (self.name, *self.asked.values(), self.list, self.start),
            (*self.asked.values(), self.list, self.start, self.cancel),
            strict=True,
        ):
            QWidget.setTabOrder(before, after)

    def _rank(self) -> None:
        """The machines by what was answered; the nearest is picked."""
        self._found = candidates(self._answered(), self._machines)
        rows = [
            Row(self._words(one), at, " ".join(one.differs)) for at, one in enumerate(self._found)
        ]
        rows.append(Row("Next to nothing: fork, bars and one line", _BARE, "You add the rest"))
        self._picked = 0
        self.list.show_rows(rows, 0)
        self._show_differs()

    def _answered(self) -> Traits:
        found = {key: box.currentData() for key, box in self.asked.items()}
        return Traits(  # Qt hands back plain texts
            Kind(found["kind"]),
            Throttle(found["throttle"]),
            Clutch(found["clutch"]),
            Brake(found["brake"]),
            Wiring(found["wiring"]),
        )

    def _words(self, one: Candidate) -> str:
        name = one.setup.machine.name
        if not one.other:
            return f"{name}: as yours"
        return f"{name}: other {listed(list(one.other))}"

    def _pick(self, value: object) -> None:
        self._picked = value
        self._show_differs()

    def _show_differs(self) -> None:
        if self._picked == _BARE:
            near = self._found[0].setup.machine.name
            told = (
                f"Fork, head tube and bars as a first guess from the {near}, and one throttle "
                "line. Controls, lines and solids are yours to add."
            )
        else:
            one = self._found[int(str(self._picked))]
            lines = ", ".join(line.name for line in one.setup.lines)
            told = "\n".join([*one.differs, f"Its lines: {lines}."])
        self._differs.setText(told)

    def _begin(self) -> None:
        name = self.name.text().strip()
        if not name or not name.isprintable():
            self._differs.setText("Your machine needs a name of at least one letter.")
            self.name.setFocus()
            return
        self.wanted.emit(replace(self._chosen(name), unit=self._unit))
        self.accept()

    def _chosen(self, name: str) -> Setup:
        if self._picked == _BARE:
            return bare_start(self._found[0].setup, name)
        return fresh_start(self._found[int(str(self._picked))].setup, name)
