"""What is to be said beyond length: every figure of the trade as a remark, in words."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from barfit.model import Setup
from barfit.report.phrases import capital, within
from barfit.report.plain import degrees, known
from barfit.report.quantities import Quantity, quantity_text, quantity_value
from barfit.trade import Grade, Judged

BADNESS = {grade: rank for rank, grade in enumerate(Grade)}


class Topic(StrEnum):
    """What a remark is about; the value is its heading."""

    CABLE = "Control cable"
    HOSE = "Hydraulic hose"
    HARNESS = "Wires"
    THROUGH_BAR = "Through the bar"
    ON_BAR = "On the bar"
    RIDER = "Rider and handling"


@dataclass(frozen=True)
class Remark:
    """One figure in words.

    ``about`` is the name of the line (where ``line`` is true) or of the part; "" for the bars as
    a whole. ``key`` names the figure for programs. ``sentence`` says what it means, "" where term
    and value say all; ``hint`` what would help; ``caution`` what can hurt. ``other_way`` is the
    term for a figure below zero, whose size is shown then: "moved down", 20 mm.
    ``act`` is true of what has to be done whatever its grade: it belongs to the short report.
    """

    key: str
    topic: Topic
    about: str
    term: str
    judged: Judged
    quantity: Quantity
    sentence: str = ""
    hint: str = ""
    caution: str = ""
    line: bool = False
    act: bool = False
    other_way: str = ""

    @property
    def label(self) -> str:
        """Its term as people read it, beside `value_text`."""
        return self.other_way if self._turned else self.term

    @property
    def _turned(self) -> bool:
        return bool(self.other_way) and self.judged.value < 0.0

    def _shown(self, value: float) -> float:
        return -value if self._turned else value

    @property
    def grade(self) -> Grade:
        """What it means for the job."""
        return self.judged.grade

    def value_text(self, unit: str) -> str:
        """The figure with its unit; lengths in ``unit``."""
        return quantity_text(self._shown(self.judged.value), self.quantity, unit)

    def limit_text(self, unit: str) -> str:
        """Its limit with the unit; "" where it has none."""
        limit = self.judged.limit
        return "" if limit != limit else quantity_text(limit, self.quantity, unit)

    def stock_text(self, unit: str) -> str:
        """The same with the stock bars; "" where that is not known."""
        stock = self._shown(self.judged.stock)
        return "" if stock != stock else quantity_text(stock, self.quantity, unit)

    def figure(self, unit: str) -> str:
        """The bare figure as a sentence: "Clutch cable: free play changes by 3 mm (limit 1 mm)."""
        limit = self.limit_text(unit)
        about = f"{capital(self.about)}: " if self.about else ""
        label = within(self.label) if about else self.label
        return f"{about}{label} {self.value_text(unit)}{f' (limit {limit})' if limit else ''}."

    def words(self) -> str:
        """Sentence, hint and caution in a row."""
        return " ".join(filter(None, (self.sentence, self.hint, self.caution)))


def rejects(remarks: Iterable[Remark]) -> list[Remark]:
    """What makes the bars unacceptable, the worst first."""
    return [one for one in worst_first(remarks) if one.judged.grade is Grade.REJECT]


def still_rejects(
    as_is: Iterable[Remark], then: Iterable[Remark] | None, seen_to: Collection[str] = ()
) -> list[Remark]:
    """What makes the bars unacceptable with everything done that is to be done, the worst first: of
    ``then``, what is said with that done. Where it was not turned so (None) of what is said
    ``as_is``, but of the lines that are ``seen_to``.
    """
    if then is not None:
        return rejects(then)
    return [one for one in rejects(as_is) if not (one.line and one.about in seen_to)]


def worst_first(remarks: Iterable[Remark]) -> tuple[Remark, ...]:
    """The gravest first, otherwise in their order."""
    return tuple(sorted(remarks, key=lambda remark: -BADNESS[remark.grade]))


def grave(remarks: Iterable[Remark]) -> tuple[Remark, ...]:
    """Those that need minding or ask for something to be done, the gravest first."""
    bad = (Grade.CAUTION, Grade.REJECT)
    return tuple(r for r in worst_first(remarks) if r.act or r.grade in bad)


def rejected(remarks: Iterable[Remark]) -> bool:
    """Whether any figure makes the bars unacceptable as they are."""
    return any(remark.grade is Grade.REJECT for remark in remarks)


def remark_values(remark: Remark, setup: Setup) -> dict[str, Any]:
    """A remark as plain values for JSON."""
    judged = remark.judged
    return {
        "key": remark.key,
        "topic": str(remark.topic),
        "line": remark.about if remark.line else None,
        "part": remark.about if not remark.line and remark.about else None,
        "term": remark.term,
        "grade": str(remark.grade),
        "unit": remark.quantity.unit,
        "value": quantity_value(judged.value, remark.quantity),
        "stock": quantity_value(judged.stock, remark.quantity),
        "limit": quantity_value(judged.limit, remark.quantity),
        "turn": degrees(judged.turn),
        "travel": None if judged.travel is None else known(judged.travel),
        "sentence": remark.sentence or None,
        "hint": remark.hint or None,
        "caution": remark.caution or None,
        "act": remark.act,
    }
