"""The check list as plain lines of text, for a terminal or a file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from barfit.model import Setup
from barfit.report.checklist import RULES, brake_caution
from barfit.report.checklist_rows import CheckRow, check_rows
from barfit.report.phrases import capital
from barfit.report.signing import signed_text
from barfit.workshop.check import Answer, Check, Topic

BLANK = "______"


def checklist_lines(found: Sequence[Check], setup: Setup, refused: bool = False) -> list[str]:
    """The whole list with what is ticked, found and signed; ``refused`` as in `signed_text`."""
    told = ["Check list before riding", RULES]
    for topic, rows in check_rows(found, setup, setup.unit):
        told += ["", capital(topic), *_topic(topic, rows, setup)]
    return [*told, "", signed_text(setup, found, refused)]


def _topic(topic: Topic, rows: Sequence[CheckRow], setup: Setup) -> Iterator[str]:
    if topic is Topic.BRAKES and (caution := brake_caution(setup)):
        yield caution
    for row in rows:
        done = "x" if row.tick.done else " "
        yield f"  [{done}] {row.title}{_answer(row, setup.unit)}"
        texts = (row.why,) if topic is Topic.SLACK else row.texts  # its title says what to do
        yield from (f"      {text}" for text in texts if text)
        yield from (f"      - {text}" for text in row.places)
        if row.tick.note and row.check.answer is not Answer.TEXT:
            yield f"      Note: {row.tick.note}"
        if row.odd:
            yield f"      {row.odd}"


def _answer(row: CheckRow, unit: str) -> str:
    """What stands behind the title: a number or words, or a blank for them."""
    if row.check.answer is Answer.NUMBER:
        blank = f"{BLANK} {unit if row.check.unit == 'mm' else row.check.unit}"
        return f": {row.found or blank} ({row.expected})"
    return f": {row.tick.note or BLANK}" if row.check.answer is Answer.TEXT else ""
