"""Beginning a setup of one's own: from the nearest of the invented machines, or from next to
nothing.
"""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from itertools import pairwise

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from barfit import scenario
from barfit.catalogue import line_kinds
from barfit.model import Setup
from barfit.report.phrases import capital, listed
from barfit.starting import (
    EXCHANGED,
    LABELS,
    Brake,
    Candidate,
    Clutch,
    Exchange,
    Kind,
    Throttle,
    Traits,
    Wiring,
    bare_start,
    begin,
    begin_to_fit,
    candidates,
    first_lines,
    plain_name,
)
from barfit.ui.questions import Questions, asked
from barfit.ui.rows import Row, Rows
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Choices, label, prose

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
    "engine and other solids stay those of that machine until you change them (F2). Brake lines "
    "that are exchanged are made as long as the stock bars ask for."
)
_BARE_TOLD = (
    "Fork, head tube and bars as a first guess from the {near}, and one line with its control. "
    "Other controls, lines and solids are yours to add."
)
_OTHER_KIND = "Rake, fork and solids stay this machine's until you measure and change them."
_BY_HAND = "None of the machines can lend that here: add its control and lines by hand."


class NewSetup(Questions):
    """Asks for a name, for what is plain to see of the machine, and which machine to begin from.
    ``wanted`` gives the setup to begin with.
    """

    def __init__(self, parent: QWidget, unit: str) -> None:
        super().__init__(parent, "New setup", "A setup of your own", "Begin")
        self._unit = unit
        self._machines = [scenario.load(path) for path in scenario.bundled()]
        self._found: tuple[Candidate, ...] = ()
        self._picked: object = None
        self.name = QLineEdit("My machine")
        self.name.selectAll()
        self.asked: dict[str, Choices] = {}
        self.list = Rows("Machines to begin from, the nearest first")
        self.list.setWordWrap(True)
        self.list.picked.connect(self._pick)
        self.first = Choices()
        self._first = QWidget()
        self._differs = prose(Type.SMALL)
        self.go.setDefault(True)
        self.go.setToolTip("Close this and go on to measuring")
        self.go.clicked.connect(self._begin)
        self._lay_out()
        self._rank()
        self.name.setFocus()

    def _lay_out(self) -> None:
        rows: list[tuple[str, QWidget, str]] = [
            ("Called", self.name, "What your machine is called")
        ]
        for key, words, known, tip in _QUESTIONS:
            box = Choices()
            for one in known:
                box.addItem(capital(str(one)), one)
            box.setCurrentIndex(box.findData(getattr(Traits(), key)))
            box.currentIndexChanged.connect(self._rank)
            self.asked[key] = box
            rows.append((words, box, tip))
        left = QVBoxLayout()
        left.setSpacing(GRID)
        left.addWidget(label("Your machine", Type.STRONG))
        left.addLayout(asked(rows, 30 * GRID))
        left.addStretch(1)
        tip = "The first line; it brings the control that it leaves. Others are added later."
        first = asked([("First line", self.first, tip)], 24 * GRID)
        first.setContentsMargins(0, 0, 0, 0)
        self._first.setLayout(first)
        self._differs.setMinimumHeight(12 * GRID)
        self._differs.setAlignment(Qt.AlignmentFlag.AlignTop)
        right = QVBoxLayout()
        right.setSpacing(GRID)
        right.addWidget(label("Begin from", Type.STRONG))
        right.addWidget(self.list, 1)
        right.addWidget(self._first)
        right.addWidget(self._differs)
        both = QHBoxLayout()
        both.setSpacing(4 * GRID)
        both.addLayout(left)
        both.addLayout(right, 1)
        hint = prose(muted=True)
        hint.setText(_HINT)
        self.lay_out(hint, both)
        self.resize(104 * GRID, 66 * GRID)
        order = (self.name, *self.asked.values(), self.list, self.first, self.go, self.cancel)
        for before, after in pairwise(order):
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
        kept = self.first.currentData()
        self.first.clear()
        for kind in first_lines(self._near):
            self.first.addItem(capital(line_kinds()[kind].label), kind)
        self.first.setCurrentIndex(max(self.first.findData(kept), 0))
        self._show_differs()

    @property
    def _near(self) -> list[Setup]:
        """The machines, the nearest first."""
        return [one.setup for one in self._found]

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
        """What is not as asked for, and what is done about it."""
        self._first.setVisible(self._picked == _BARE)
        if self._picked == _BARE:
            near = plain_name(self._found[0].setup.machine.name)
            self._differs.setText(_BARE_TOLD.format(near=near))
            return
        one = self._found[int(str(self._picked))]
        begun, exchanges = begin(one.setup, "it", self._answered(), self._near)
        done = {exchange.trait: exchange for exchange in exchanges}
        told = [
            f"{says} {_what_is_done(key, done.get(key))}"
            for key, says in zip(one.keys, one.differs, strict=True)
        ]
        told.append(f"Its lines then: {', '.join(line.name for line in begun.lines)}.")
        self._differs.setText("\n".join(told))

    def _begin(self) -> None:
        name = self.name.text().strip()
        if not name or not name.isprintable():
            self._differs.setText("Your machine needs a name of at least one letter.")
            self.name.setFocus()
            return
        QApplication.setOverrideCursor(Qt.CursorShape.WaitCursor)  # some lines are solved for
        try:
            chosen = self._chosen(name)
        finally:
            QApplication.restoreOverrideCursor()
        self.wanted.emit(replace(chosen, unit=self._unit))
        self.accept()

    def _chosen(self, name: str) -> Setup:
        if self._picked == _BARE:
            kind = self.first.currentData()
            return bare_start(self._found[0].setup, name, kind, self._near)
        near = self._found[int(str(self._picked))].setup
        return begin_to_fit(near, name, self._answered(), self._near)


def _what_is_done(trait: str, exchange: Exchange | None) -> str:
    """What is done about a trait that is not as asked for, in a sentence."""
    if exchange is None:
        return _BY_HAND if trait in EXCHANGED else _OTHER_KIND
    donor = plain_name(exchange.donor)
    if trait == "wiring":
        if not donor:
            return "Its wires are led along the bars here; the holes are left out."
        return f"Its wires are led inside the bars here, through holes as on the {donor}."
    gone, came = listed(list(exchange.gone)), listed(list(exchange.came))
    if not donor:
        return f"Its {gone} and {LABELS[trait]} control are left out."
    if not gone:
        return f"Added, not measured, from the {donor}: {came}."
    return f"Its {gone} is exchanged for that of the {donor}, not measured: {came}."
