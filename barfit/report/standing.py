"""How the figures beyond length stand, counted: of a line and of a topic."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from barfit.report.remarks import BADNESS, Remark, Topic
from barfit.trade import Grade


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


def topic_lead(stands: Standing) -> str:
    """What the figures of a topic come to, in one sentence."""
    if stands.rejected:
        return "Do not ride with these bars before what is not acceptable is put right."
    if stands.cautions:
        return f"See to {'these' if stands.cautions > 1 else 'this'} before riding."
    if stands.worst is Grade.NOT_KNOWN:
        return "What is known speaks for these bars, but not everything is known."
    return "Nothing here speaks against these bars."
