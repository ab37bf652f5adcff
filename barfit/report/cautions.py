"""Cautions in few words: a line for each thing to be minded, however many lines it is about."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from barfit.report.phrases import capital, listed
from barfit.report.remarks import Remark, worst_first
from barfit.trade import Grade


def cautions(remarks: Iterable[Remark]) -> list[Remark]:
    """What is to be minded and is not refused, what can hurt people before all else."""
    found = [one for one in worst_first(remarks) if one.grade is Grade.CAUTION]
    return sorted(found, key=lambda one: not one.caution)


def caution_lines(remarks: Iterable[Remark]) -> list[str]:
    """A line for each thing to be minded: what it is and what helps. What several have in common is
    said of the first of them, and the others are named.
    """
    alike: dict[str, list[Remark]] = {}
    for one in cautions(remarks):
        alike.setdefault(one.key, []).append(one)
    return [_line(some) for some in alike.values()]


def cautions_count(before: Iterable[Remark], after: Iterable[Remark] | None) -> str:
    """How many cautions there are as it is, and with all done that is to be done (None where that
    is nothing); "" where there are none at all.
    """
    now = len(cautions(before))
    if after is None:
        return f"Cautions beyond length: {now}." if now else ""
    then = len(cautions(after))
    if not now and not then:
        return ""
    told = f"{now or 'none'} as it is, {then or 'none'} with all of this done"
    return f"Cautions beyond length: {told}."


def refused_line(refused: Sequence[Remark]) -> str:
    """What makes the bars unacceptable with all done that is chosen, in one line; "" for none."""
    if not refused:
        return ""
    count = f"{len(refused)} things are not" if len(refused) > 1 else "Not"
    told = refused[0].sentence or brief(refused[0])
    return f"{count} acceptable with what is chosen. {told}"


def refused_text(refused: Iterable[Remark]) -> str:
    """All of it, a paragraph to a thing: what it is, what helps, what can hurt."""
    return "\n".join(one.words() for one in refused)


def _line(some: Sequence[Remark]) -> str:
    first, *others = some
    told = brief(first)
    if others:
        told += f"; likewise {_names(first, others)}"
    return " ".join(filter(None, (f"{told}.", first.hint)))


def _names(first: Remark, others: Sequence[Remark]) -> str:
    """What else it is about; of a bar's two ends the side alone."""
    if not first.line and {_sideless(one.about) for one in (first, *others)} == {
        _sideless(first.about)
    }:
        return f"on the {listed([one.about.partition(' ')[0] for one in others])}"
    return listed([f"the {one.about}" for one in others])


def _sideless(name: str) -> str:
    return name.removeprefix("left ").removeprefix("right ")


def brief(remark: Remark) -> str:
    """What a remark says before it goes into limits, without its full stop; where it has no
    sentence, its term.
    """
    if not remark.sentence:
        return f"{capital(remark.about)}: {remark.label}" if remark.about else capital(remark.label)
    first, *others = re.split(r"[;:.]\s", remark.sentence.rstrip("."))
    if others and first == capital(remark.about):
        return f"{first}: {others[0]}"
    return first
