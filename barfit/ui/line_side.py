"""The right side: the selected line's verdict, numbers, slack curve and what it means."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from barfit import catalogue
from barfit.analysis import Sweep
from barfit.model import Line
from barfit.report.facts import SLACK_HERE, chief_facts, further_facts
from barfit.report.phrases import capital
from barfit.report.remark_facts import remark_sections
from barfit.report.sentences import sentence
from barfit.session import Pose, Result, at_pose
from barfit.ui.fact_list import FactList
from barfit.ui.folds import Folds
from barfit.ui.icons import Worn
from barfit.ui.line_change import LineChange
from barfit.ui.mark_label import MarkLabel
from barfit.ui.remedy_hints import RemedyHints
from barfit.ui.slack_curve import CurveKey, SlackCurve
from barfit.ui.theme import GRID, Theme, Type
from barfit.ui.ways import Ways
from barfit.ui.widgets import Button, Segments, label, prose, rule, scrolled_side
from barfit.ui.words import caution, kind_text, length_text, meaning, typeset


class LineSide(QScrollArea):
    """All about one line: what was found, or what of it can be changed.

    ``worst_asked`` wants its worst pose, ``turned`` rad a turn, ``pose_asked`` a turn and a travel
    (mm, or None); ``page_picked`` tells whether it is to be changed.
    """

    worst_asked = Signal()
    pose_asked = Signal(float, object)
    turned = Signal(float)
    page_picked = Signal(object)

    def __init__(self, theme: Theme, folds: Folds) -> None:
        super().__init__()
        self.setAccessibleName("Selected line")
        side = scrolled_side(self)
        self._name = label(step=Type.TITLE)
        self._name.setWordWrap(True)
        self._kind = label(step=Type.SMALL, muted=True)
        self._here = label(step=Type.STRONG)
        self._here.setWordWrap(True)
        self._here.setToolTip("In the pose shown: slack, and the smallest radius along the line")
        self._here.hide()
        self._movers = prose()
        self._movers.hide()
        self._mark = MarkLabel(theme)
        self._word = label(step=Type.STRONG)
        self._sentence = prose(Type.LEAD)
        self._worst = Button("Worst pose")
        self._worst.setToolTip("Turn the bars to where this line is worst off (W)")
        Worn(self._worst, "worst", theme)
        self._worst.clicked.connect(self.worst_asked)
        self.chief, self.slack = FactList(), FactList()
        self.grave, self.further = FactList(folds), FactList(folds)
        self._lists = (self.chief, self.grave, self.slack, self.further)
        for facts in self._lists:
            facts.pose_asked.connect(self.pose_asked)
        self.curve = SlackCurve(theme)
        self.curve.turned.connect(self.turned)
        self._curve_head = label("Slack over the turn", Type.STRONG)
        self._key = CurveKey(theme)
        self._meaning = prose()
        self.remedies = RemedyHints()
        self._caution = QFrame()
        self._caution.setObjectName("caution")
        self._caution_text = prose(Type.SMALL)
        framed = QVBoxLayout(self._caution)
        framed.setContentsMargins(GRID + 4, 0, 0, 0)
        framed.addWidget(self._caution_text)

        verdict = QHBoxLayout()
        verdict.setSpacing(GRID)
        verdict.addWidget(self._mark)
        verdict.addWidget(self._word, 1)
        verdict.addWidget(self._worst)
        self.pages = Segments(
            [
                ("Answer", False, "What was found about this line"),
                ("Change", True, "Its kind, length and stations"),
            ],
            "Line",
        )
        self.pages.show_value(False)
        self.pages.picked.connect(self.page_picked)
        self.change = LineChange(theme)
        self.change.hide()
        self.ways = Ways(theme)
        self._answer = QWidget()
        whole = QVBoxLayout(side)
        whole.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        whole.setSpacing(GRID)
        whole.addWidget(self._name)
        whole.addWidget(self._kind)
        whole.addWidget(self._here)
        whole.addWidget(self._movers)
        whole.addWidget(self.pages)
        whole.addWidget(self.ways)
        whole.addWidget(self._answer)
        whole.addWidget(self.change)
        whole.addStretch(1)
        column = QVBoxLayout(self._answer)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        column.addLayout(verdict)
        column.addWidget(self._sentence)
        column.addWidget(self._meaning)
        column.addWidget(self.remedies)
        column.addWidget(self._caution)
        column.addWidget(rule())
        column.addWidget(self.chief)
        column.addWidget(self.grave)
        column.addWidget(self.slack)
        column.addWidget(self._curve_head)
        column.addWidget(self._key)
        column.addWidget(self.curve)
        column.addWidget(self.further)

    def show_page(self, change: bool) -> None:
        """Show what can be changed, or what was found."""
        self.pages.show_value(change)
        self.change.setVisible(change)
        self._answer.setVisible(not change)

    @property
    def changing(self) -> bool:
        """Whether the page on which the line can be changed is shown."""
        return not self._answer.isVisibleTo(self)

    def show_line(
        self, line: Line | None, result: Result | None, pose: Pose, unit: str, why: str
    ) -> None:
        """Show a line; without a result only its name is known, and ``why`` it is no more than
        that; without a line nothing is.
        """
        finding = result.finding(line.name) if line is not None and result is not None else None
        kind = catalogue.line_kinds()[line.kind] if line is not None else None
        self._name.setText(capital(line.name) if line is not None else "No line selected")
        self._kind.setText(
            kind_text(line, kind, unit)
            if line is not None and kind is not None
            else "Pick one in the list or the strip."
        )
        self._here.setText("")
        self._here.hide()
        self._mark.show_mark(finding.verdict if finding else None)
        self._word.setText(capital(finding.verdict) if finding else "")
        self._worst.setVisible(finding is not None)
        if line is not None and finding is None:
            self._sentence.setText(why)
        for widget in (self._meaning, self._curve_head, self._key, self.curve):
            widget.setVisible(finding is not None)
        self._caution.setVisible(kind is not None and bool(caution(kind)))
        if kind is not None:
            self._caution_text.setText(caution(kind))
        if line is None or result is None or finding is None or kind is None:
            if line is None:
                self._sentence.setText("")
            for facts in self._lists:
                facts.show_sections(())
            self.curve.show_line(None, None, 0.0, unit)
            return
        self._sentence.setText(typeset(sentence(finding, line, unit, result.sweep.setup.machine)))
        self._meaning.setText(typeset(meaning(finding, line, kind, unit)))
        *length, slack = chief_facts(finding, line, unit, result.sweep.setup.machine)
        self.chief.show_sections(tuple(length))
        self.slack.show_sections((slack,))
        own = [one for one in result.remarks(unit) if one.line and one.about == line.name]
        said = remark_sections(own, unit, result.sweep.stock)
        self.grave.show_sections(tuple(section for section in said if section.grave))
        rest = tuple(section for section in said if not section.grave)
        self.further.show_sections((*further_facts(finding, line, unit), *rest))
        self.curve.show_line(result.sweep, finding, pose.travel, unit)
        self._key.show_levels(finding.least, finding.target, unit)
        self._curve_head.setText(f"Slack over the turn, {unit}")
        self.show_pose(line, result.sweep, pose, unit)

    def show_pose(self, line: Line, sweep: Sweep, pose: Pose, unit: str) -> None:
        """Only the pose has changed: the numbers here and the curve's cursor.

        They come out of ``sweep``, which the picture is of.
        """
        here = at_pose(sweep, line.name, pose)
        slack, radius = length_text(here.slack, unit), length_text(here.min_radius, unit)
        self._here.setText(f"Here: slack {slack}, radius {radius}")
        self._here.show()
        if self.slack.text(SLACK_HERE) is not None:
            self.slack.show_value(SLACK_HERE, slack)
        self.curve.show_turn(pose.turn)

    def show_movers(self, words: str) -> None:
        """What moves each stretch of the line; "" shows nothing."""
        self._movers.setText(typeset(words))
        self._movers.setVisible(bool(words))

    @property
    def movers_text(self) -> str:
        """What is said to move the line."""
        return self._movers.text()

    @property
    def here_text(self) -> str:
        """The numbers of the pose shown; "" where there are none."""
        return self._here.text()

    def text(self, term: str) -> str:
        """What stands beside a term; a dash where it is not listed."""
        texts = (facts.text(term) for facts in self._lists)
        return next((text for text in texts if text is not None), "–")

    @property
    def sentence_text(self) -> str:
        """The sentence shown."""
        return self._sentence.text()
