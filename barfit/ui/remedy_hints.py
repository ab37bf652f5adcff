"""What can be done about the selected line, the best first, on the line's own side."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from barfit.remedies import Remedies, Remedy
from barfit.report.remedies import nothing_sentence, remedy_sentence
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, label, prose
from barfit.ui.words import typeset

SHOWN = 3
LOOKING = "What can be done about it is being worked out …"


class RemedyHints(QWidget):
    """``asked`` wants all that can be done, on the job page."""

    asked = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._told = [prose() for _ in range(SHOWN + 2)]
        self._all = Button("All that can be done…")
        self._all.setProperty("role", "quiet")
        self._all.setToolTip("The job page: remedies, order, cost, work, check list (F6)")
        self._all.clicked.connect(self.asked)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        column.addWidget(label("What to do", Type.STRONG))
        for told in self._told:
            column.addWidget(told)
        column.addWidget(self._all)
        self.hide()

    @property
    def text(self) -> str:
        """What is said."""
        return (
            "" if self.isHidden() else "\n".join(filter(None, (one.text() for one in self._told)))
        )

    def _say(self, texts: list[str]) -> None:
        """Each thing in a paragraph of its own."""
        texts = [text for text in texts if text]
        for at, one in enumerate(self._told):
            one.setText(typeset(texts[at]) if at < len(texts) else "")
            one.setVisible(at < len(texts))

    def show_remedies(
        self,
        misfit: bool,
        found: Remedies | None,
        unit: str,
        why: str,
        taken: Remedy | None = None,
        said: Sequence[str] = (),
    ) -> None:
        """What is done about a line that does not fit (``taken``), and the best of what else can
        be; without any yet, ``why``. What was chosen and is not done is ``said`` before that.
        """
        self.setVisible(misfit and (found is None or bool(found.ranked)))
        self._all.setVisible(found is not None)
        if found is None:
            self._say([why or LOOKING])
            return
        told = [nothing_sentence(found), *said]
        if taken is not None:
            told.append(f"On the job page: {remedy_sentence(taken, unit)}")
        others = [one for one in found.ranked if one.offered and one is not taken]
        lead = "Or" if taken is not None else "May help"
        told += [f"{lead}: {remedy_sentence(one, unit)}" for one in others[: SHOWN - 1]]
        self._say(told)
