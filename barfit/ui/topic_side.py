"""The right side in place of a line: all that is to be said of one topic."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QVBoxLayout

from barfit.report.phrases import capital
from barfit.report.remark_facts import part_sections
from barfit.report.remarks import Topic
from barfit.report.standing import standing, topic_lead
from barfit.session import Result
from barfit.ui.fact_list import FactList
from barfit.ui.folds import Folds
from barfit.ui.mark_label import MarkLabel
from barfit.ui.theme import GRID, Theme, Type
from barfit.ui.widgets import label, prose, rule, scrolled_side
from barfit.ui.words import AUTHORITY

ABOUT = {
    Topic.ON_BAR: "Room for hands and hard parts, reservoirs, clamps and straight ends.",
    Topic.HOSE: "The circuits from lever to caliper or slave: joints, fluid, air, lever travel.",
    Topic.THROUGH_BAR: "The holes through which wires go into and out of the bar.",
    Topic.RIDER: "What the bars change for hands, reach, steering and what a place allows.",
}


class TopicSide(QScrollArea):
    """``pose_asked`` wants a turn (rad) and a travel (mm, or None)."""

    pose_asked = Signal(float, object)

    def __init__(self, theme: Theme, folds: Folds) -> None:
        super().__init__()
        side = scrolled_side(self)
        self._name = label(step=Type.TITLE)
        self._name.setWordWrap(True)
        self._about = prose(Type.SMALL, muted=True)
        self._mark = MarkLabel(theme)
        self._word = label(step=Type.STRONG)
        self._lead = prose(Type.LEAD)
        self.facts = FactList(folds)
        self.facts.pose_asked.connect(self.pose_asked)
        self._authority = prose(Type.SMALL, muted=True)
        self._authority.setText(AUTHORITY)
        standing_row = QHBoxLayout()
        standing_row.setSpacing(GRID)
        standing_row.addWidget(self._mark)
        standing_row.addWidget(self._word, 1)
        column = QVBoxLayout(side)
        column.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        column.setSpacing(GRID)
        column.addWidget(self._name)
        column.addWidget(self._about)
        column.addLayout(standing_row)
        column.addWidget(self._lead)
        column.addWidget(rule())
        column.addWidget(self.facts)
        column.addWidget(self._authority)
        column.addStretch(1)
        self._shown: Topic | None = None

    def show_topic(self, topic: Topic, result: Result | None, unit: str, why: str) -> None:
        """All about a topic; where there is no result yet, ``why`` there is none."""
        if topic is not self._shown:
            self.verticalScrollBar().setValue(0)
        self._shown = topic
        self._name.setText(str(topic))
        self._about.setText(ABOUT.get(topic, ""))
        own = []
        if result is not None:
            own = [one for one in result.remarks(unit) if one.topic is topic and not one.line]
        stands = standing(own) if own else None
        self._mark.show_mark(stands.worst if stands else None)
        self._word.setText(capital(stands.words()) if stands else "")
        missing = why if result is None else "With these bars there is nothing to say of it."
        self._lead.setText(topic_lead(stands) if stands else missing)
        stock = result is not None and result.sweep.stock
        self.facts.show_sections(part_sections(own, unit, stock))

    @property
    def lead(self) -> str:
        """The sentence over the figures."""
        return self._lead.text()
