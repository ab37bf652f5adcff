"""What can be done about one line: what lets it fit first, what wants minding under it, and what is
not enough. One of them is taken.
"""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QButtonGroup, QFrame, QGridLayout, QVBoxLayout

from barfit.remedies import Remedies, Remedy
from barfit.report.choices import choice_sentences
from barfit.report.phrases import capital
from barfit.report.remedies import nothing_sentence, refusals, remedy_sentence
from barfit.report.remedy_limits import cap_sentence
from barfit.report.remedy_standing import standing
from barfit.report.sentences import sentence
from barfit.ui.job.line_rows import SOUGHT
from barfit.ui.job.margin_bar import MarginBar, scale_of
from barfit.ui.job.rows import Sheet, same_focus
from barfit.ui.job.whole import Whole
from barfit.ui.mark_label import MarkLabel
from barfit.ui.theme import GRID, Theme, Type
from barfit.ui.widgets import Button, Option, label, prose
from barfit.ui.words import typeset

WIDEST = 170 * GRID  # px; half of it is margins and buttons
ROOM = 100 * GRID  # px, from which on margins are drawn beside the words
MARGIN = (
    "Margin is what a line has over what it needs: its bends and the slack it should keep are "
    "counted in already. After ± stands how far that may be off."
)
DRAWN = "Drawn: right of the stroke it has something to spare, left of it it lacks that much."
FITS, MINDED = "Lets it fit", "May do, but mind this"
NOT_ENOUGH = "Not enough, or cannot be done"


class MeansSheet(Sheet):
    """``taken`` gives the remedy to be done, ``tried`` one to be looked at in the machine."""

    taken = Signal(object)
    tried = Signal(object)

    def __init__(self, theme: Theme) -> None:
        super().__init__(widest=WIDEST)
        self._theme, self._unit = theme, "mm"
        self.setAccessibleName("What can be done")
        self._group = QButtonGroup(self)
        self._line: str | None = None
        self._scale = 1.0  # mm, what the margins of a line are drawn on
        self._margins: list[MarginBar] = []
        self.options: dict[tuple[str, str], Option] = {}

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Margins are drawn where words have room beside them."""
        super().resizeEvent(event)
        for bar in self._margins:
            bar.setVisible(self.viewport().width() > ROOM)

    def show_line(self, whole: Whole, line: str | None, unit: str) -> None:
        """All that can be done about a line of the job."""
        same = line == self._line
        self._line, self._unit = line, unit
        place = self.verticalScrollBar().value() if same else 0
        with same_focus(self):
            self._show(whole, line)
        self.verticalScrollBar().setValue(place)

    def _show(self, whole: Whole, line: str | None) -> None:
        self.clear()
        self._group, self.options, self._margins = QButtonGroup(self), {}, []
        if line is None:
            return
        self.add_heading(capital(line)).setContentsMargins(0, 0, 0, 0)
        setup = whole.setup
        finding = next(one for one in whole.findings if one.line == line)
        self.add_words().setText(
            typeset(sentence(finding, setup.line(line), self._unit, setup.machine))
        )
        about = next((one for one in whole.remedies if one.line == line), None)
        if about is None:
            self.add_words(step=Type.LEAD).setText(SOUGHT)
            return
        for text in (*choice_sentences(setup, whole.remedies, [line]), nothing_sentence(about)):
            if text:
                self.add_words(step=Type.LEAD).setText(typeset(text))
        self._show_means(about, whole.taken.get(line))

    def _show_means(self, about: Remedies, chosen: Remedy | None) -> None:
        offered = [one for one in about.ranked if one.offered]
        self._scale = scale_of([(one.margin, one.sigma) for one in offered])
        good = [one for one in offered if one.cures]
        for heading, group in ((FITS, good), (MINDED, [one for one in offered if one not in good])):
            if group:
                head = label(heading, Type.STRONG)
                head.setContentsMargins(0, GRID, 0, 0)
                self.column.addWidget(head)
            for remedy in group:
                card = self._card(remedy, remedy is chosen)
                self.column.addWidget(card)
                card.show()  # at once, or nothing in it could take the keyboard
        if capped := cap_sentence(about, self._unit):
            self.add_words().setText(typeset(capped))
        refused = refusals(about, self._unit)
        if refused:
            head = label(NOT_ENOUGH, Type.SMALL, muted=True)
            head.setContentsMargins(0, GRID, 0, 0)
            self.column.addWidget(head)
        for text in refused:
            self.add_words(muted=True, step=Type.SMALL).setText(typeset(text))
        if offered:
            note = self.add_words(muted=True, step=Type.SMALL)
            note.setContentsMargins(0, GRID, 0, 0)
            note.setText(f"{MARGIN} {DRAWN}" if self.viewport().width() > ROOM else MARGIN)

    def _card(self, remedy: Remedy, chosen: bool) -> QFrame:
        """One remedy: whether it is taken, what comes of it, how it stands."""
        told = remedy_sentence(remedy, self._unit)
        stands = standing(remedy)
        card = QFrame()
        card.setProperty("role", "taken" if chosen else "offered")
        option = Option()
        option.setAccessibleName(f"{remedy.line}: {told}")
        option.setToolTip("Order, cost, work and check list go by what is taken")
        option.setChecked(chosen)
        option.clicked.connect(lambda _=False: self.taken.emit(remedy))
        self._group.addButton(option)
        self.options[remedy.line, remedy.key] = option
        look = Button("Try it")
        look.setAccessibleName(f"Try it: {told}")
        look.setToolTip("Change the setup so, to look at it in the machine; undo takes it back")
        look.clicked.connect(lambda _=False: self.tried.emit(remedy))
        mark = MarkLabel(self._theme)
        mark.show_mark(stands.mark)
        mark.setToolTip(stands.words)
        what, after, *_ = (*told.split(": ", 1), "")
        words = QVBoxLayout()
        words.setSpacing(2)
        head = prose(Type.STRONG if chosen else Type.BODY)
        head.setText(typeset(f"{what} – taken" if chosen else what))
        words.addWidget(head)
        under = prose(Type.SMALL, muted=True)
        under.setText(typeset(f"{stands.words} {capital(after)}".strip()))
        words.addWidget(under)
        grid = QGridLayout(card)
        grid.setContentsMargins(GRID, GRID, GRID, GRID)
        grid.setHorizontalSpacing(GRID + GRID // 2)
        top = Qt.AlignmentFlag.AlignTop
        grid.addWidget(option, 0, 0, top)
        grid.addWidget(mark, 0, 1, top)
        grid.addLayout(words, 0, 2)
        bar = MarginBar(self._theme, remedy.margin, remedy.sigma, self._scale, stands.mark)
        bar.setToolTip("The margin and how far it may be off; left of the line it lacks")
        bar.setVisible(self.viewport().width() > ROOM)
        self._margins.append(bar)
        grid.addWidget(bar, 0, 3, Qt.AlignmentFlag.AlignVCenter)
        grid.addWidget(look, 0, 4, top)
        grid.setColumnStretch(2, 1)
        return card
