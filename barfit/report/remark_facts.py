"""Remarks as short facts under headings: what a side panel lists of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from barfit.report.facts import Fact, Section
from barfit.report.phrases import capital
from barfit.report.remarks import Remark, worst_first

ALL_BARS = "The bars as a whole"


def remark_sections(
    remarks: Sequence[Remark], unit: str, stock: bool = False
) -> tuple[Section, ...]:
    """Remarks about one line, a section to a topic. With ``stock`` bars shown the figures are
    those of the stock bars, and nothing is said of them twice.
    """
    return _sections(remarks, lambda remark: str(remark.topic), unit, stock)


def part_sections(remarks: Sequence[Remark], unit: str, stock: bool = False) -> tuple[Section, ...]:
    """Remarks of one topic, a section to a part, those that need minding first."""
    sections = _sections(remarks, lambda one: capital(one.about) or ALL_BARS, unit, stock)
    return tuple(sorted(sections, key=lambda section: not section.grave))


def _sections(
    remarks: Sequence[Remark], heading: Callable[[Remark], str], unit: str, stock: bool
) -> tuple[Section, ...]:
    sections = []
    for head in dict.fromkeys(heading(remark) for remark in remarks):
        own = [remark for remark in remarks if heading(remark) == head]
        notes = tuple(filter(None, (remark.words() for remark in worst_first(own))))
        sections.append(Section(head, tuple(_fact(one, unit, stock) for one in own), notes))
    return tuple(sections)


def _fact(remark: Remark, unit: str, stock: bool) -> Fact:
    before = "" if stock else remark.stock_text(unit)
    limit = remark.limit_text(unit)
    told = (f"stock {before}" if before else "", f"limit {limit}" if limit else "")
    return Fact(
        remark.label,
        remark.value_text(unit),
        remark.words(),
        remark.judged.turn,
        remark.judged.travel,
        ", ".join(filter(None, told)),
        remark.grade,
    )
