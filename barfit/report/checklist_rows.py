"""The check list as rows under their topics: what is said of one is not said again of the next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from barfit.model import Setup, Tick
from barfit.report.checklist import (
    caution_text,
    check_title,
    disagreement,
    do_text,
    expected_text,
    found_text,
    where_texts,
    why_text,
)
from barfit.workshop.check import Check, Topic, tick_of


@dataclass(frozen=True)
class CheckRow:
    """One check with its answer, in words: what to ``do`` and ``why``, and the ``places`` to look
    at; what a row before it under its topic says is left out. ``found`` and ``expected`` are of a
    number; ``odd`` says that they disagree; "" for nothing.
    """

    check: Check
    tick: Tick
    title: str
    do: str
    why: str
    places: tuple[str, ...]
    found: str
    expected: str
    odd: str

    @property
    def texts(self) -> tuple[str, ...]:
        """What to do and why, as far as it is said."""
        return tuple(filter(None, (self.do, self.why)))


def check_rows(
    found: Sequence[Check], setup: Setup, unit: str
) -> list[tuple[Topic, list[CheckRow]]]:
    """All rows, topic by topic, those that there are."""
    told = []
    for topic in Topic:
        mine = [one for one in found if one.topic is topic]
        if mine:
            told.append((topic, list(_rows(mine, setup, unit))))
    return told


def _rows(checks: Sequence[Check], setup: Setup, unit: str) -> Iterable[CheckRow]:
    said: set[str] = set()
    for check in checks:
        tick = tick_of(setup.job, check.key)
        texts = (do_text(check), f"{why_text(check)} {caution_text(check)}".strip())
        do, why = ("" if text in said else text for text in texts)
        places = [one for one in where_texts(check, unit, setup.machine) if one not in said]
        said |= {*texts, *places}
        yield CheckRow(
            check,
            tick,
            check_title(check),
            do,
            why,
            tuple(places),
            found_text(check, tick, unit),
            expected_text(check, unit),
            disagreement(check, tick, unit),
        )
