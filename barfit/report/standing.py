"""How the figures beyond length stand, counted: of a line, of a topic and altogether."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from barfit.analysis import LineFinding, Verdict
from barfit.report.phrases import listed
from barfit.report.remarks import BADNESS, Remark, Topic
from barfit.report.sentences import summary
from barfit.trade import Grade

_WRONG = {  # what it means for the bars that a figure not about a line is not acceptable
    "hand_gap": "the bars trap a hand",
    "hard_gap": "hard parts meet before the stops",
    "clamp_spare": "the risers do not clamp the bar on its straight",
    "riser_bore": "the bar does not fit its risers",
    "control_bore": "the controls do not fit the bar",
    "hole_room": "a hole does not take its grommet",
    "hole_to_clamp": "a hole lies under a clamp",
    "height_over_seat": "the grips are not at a height this place allows",
    "height_over_shoulders": "the grips are not at a height this place allows",
    "height_over_fastening": "the grips are not at a height this place allows",
    "overall_width": "the bars are not of a width this place allows",
}


@dataclass(frozen=True)
class Standing:
    """How many of some remarks need minding."""

    worst: Grade
    rejected: int
    cautions: int

    @property
    def grave(self) -> bool:
        """Whether any needs minding."""
        return self.rejected + self.cautions > 0

    def words(self) -> str:
        """The count, the gravest first: "1 not acceptable, 2 cautions"; or the worst grade."""
        told = []
        if self.rejected:
            told.append(f"{self.rejected} not acceptable")
        if self.cautions:
            told.append(f"{self.cautions} caution{'s' if self.cautions > 1 else ''}")
        return ", ".join(told) or str(self.worst)


def standing(remarks: Iterable[Remark]) -> Standing:
    """How these stand. Raises ValueError where there are none."""
    grades = [remark.grade for remark in remarks]
    return Standing(
        max(grades, key=BADNESS.__getitem__),
        grades.count(Grade.REJECT),
        grades.count(Grade.CAUTION),
    )


def standing_of_lines(remarks: Iterable[Remark]) -> dict[str, Standing]:
    """How the remarks about each line stand; lines without any are left out."""
    own: dict[str, list[Remark]] = {}
    for remark in remarks:
        if remark.line:
            own.setdefault(remark.about, []).append(remark)
    return {name: standing(said) for name, said in own.items()}


def standing_of_topics(remarks: Iterable[Remark]) -> dict[Topic, Standing]:
    """How the remarks that are about no line stand, topic by topic in their order."""
    own: dict[Topic, list[Remark]] = {}
    for remark in remarks:
        if not remark.line:
            own.setdefault(remark.topic, []).append(remark)
    return {topic: standing(said) for topic, said in own.items()}


def whole_summary(findings: Iterable[LineFinding], remarks: Iterable[Remark]) -> str:
    """How many lines fit, what else forbids the bars, and how many cautions there are."""
    found, said = list(findings), list(remarks)
    lengths = summary(found)
    wrong = _forbidding(found, said)
    if wrong:
        fit = all(finding.fits or finding.verdict is Verdict.UNCERTAIN for finding in found)
        lengths = f"{lengths.rstrip('.')}{', but' if fit else ';'} {listed(wrong)}."
    cautions = sum(remark.grade is Grade.CAUTION for remark in said)
    if not cautions:
        return lengths
    return f"{lengths} {_count(cautions)} beyond length."


def _count(cautions: int) -> str:
    return f"{cautions} cautions" if cautions > 1 else "One caution"


def _forbidding(found: list[LineFinding], said: list[Remark]) -> list[str]:
    """What is not acceptable but for the lengths, each thing once."""
    told = [
        _WRONG.get(remark.key, f"'{remark.label.lower()}' is not acceptable")
        for remark in said
        if remark.grade is Grade.REJECT and not remark.line
    ]
    lines = standing_of_lines(said)
    bad = [f.line for f in found if f.fits and f.line in lines and lines[f.line].rejected]
    if len(bad) == 1:
        told.append(f"the {bad[0]} reaches and is still not acceptable")
    elif bad:
        told.append(f"{len(bad)} lines reach and are still not acceptable")
    return list(dict.fromkeys(told))


def topic_lead(stands: Standing) -> str:
    """What the figures of a topic come to, in one sentence."""
    if stands.rejected:
        return "Do not ride with these bars before what is not acceptable is put right."
    if stands.cautions:
        return f"See to {'these' if stands.cautions > 1 else 'this'} before riding."
    if stands.worst is Grade.NOT_KNOWN:
        return "What is known speaks for these bars, but not everything is known."
    return "Nothing here speaks against these bars."
