"""The check list as plain lines of text, for a terminal or a file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from barfit.model import Setup, Tick
from barfit.report.checklist import (
    RULES,
    brake_caution,
    caution_text,
    check_title,
    disagreement,
    do_text,
    expected_text,
    found_text,
    signed_text,
    where_texts,
    why_text,
)
from barfit.report.phrases import capital
from barfit.workshop.check import Answer, Check, Topic, tick_of

BLANK = "______"


def checklist_lines(found: Sequence[Check], setup: Setup) -> list[str]:
    """The whole list with what is ticked, found and signed. What is said of one check is not said
    again of the next of its topic.
    """
    told = ["Check list before riding", RULES]
    for topic in Topic:
        mine = [one for one in found if one.topic is topic]
        if mine:
            told += ["", capital(topic), *_topic(topic, mine, setup)]
    return [*told, "", signed_text(setup, found)]


def _topic(topic: Topic, mine: Sequence[Check], setup: Setup) -> Iterator[str]:
    unit, job = setup.unit, setup.job
    if topic is Topic.BRAKES and (caution := brake_caution(setup)):
        yield caution
    said: set[str] = set()
    before: list[str] = []
    for check in mine:
        tick = tick_of(job, check.key)
        yield f"  [{'x' if tick.done else ' '}] {check_title(check)}{_answer(check, tick, unit)}"
        texts = [do_text(check), f"{why_text(check)} {caution_text(check)}".strip()]
        for text in texts[topic is Topic.SLACK :]:  # of slack its title says it all
            if text not in said:
                yield f"      {text}"
                said.add(text)
        where = where_texts(check, unit, setup.machine)
        if where != before:
            yield from (f"      - {text}" for text in where)
        before = where
        if tick.note and check.answer is not Answer.TEXT:
            yield f"      Note: {tick.note}"
        if odd := disagreement(check, tick, unit):
            yield f"      {odd}"


def _answer(check: Check, tick: Tick, unit: str) -> str:
    """What stands behind the title: a number or words, or a blank for them."""
    if check.answer is Answer.NUMBER:
        blank = f"{BLANK} {unit if check.unit == 'mm' else check.unit}"
        return f": {found_text(check, tick, unit) or blank} ({expected_text(check, unit)})"
    return f": {tick.note or BLANK}" if check.answer is Answer.TEXT else ""
