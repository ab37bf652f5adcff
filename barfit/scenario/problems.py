"""What is wrong with a scenario file, as data and as a report."""

from __future__ import annotations

import difflib
import itertools
import re
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong: where in the file ("" for all of it), what, and what would help."""

    place: str
    message: str
    hint: str = ""

    def __str__(self) -> str:
        told = f"{self.place}: {self.message}" if self.place else self.message
        return f"{told}; {self.hint}" if self.hint else told


class ScenarioError(ValueError):
    """A scenario that cannot be used. ``str()`` is the report of every problem in it."""

    def __init__(self, name: str, problems: Iterable[Problem]) -> None:
        self.name = name
        self.problems = tuple(problems)
        super().__init__(self.report())

    def report(self) -> str:
        """Every problem with its place and hint: one line, or a headline and a line each."""
        if len(self.problems) == 1:
            only = self.problems[0]
            predicate = not only.place and only.message[:1].islower()  # "is a folder"
            return f"{self.name} {only}" if predicate else f"{self.name}: {only}"
        lines = "".join(f"\n  {problem}" for problem in self.problems)
        return f"{self.name}: {len(self.problems)} problems{lines}"


# Words of the trade that stand for the same thing; what is sold as a "clutch wire" is a cable.
_SAME = (
    frozenset({"cable", "wire"}),
    frozenset({"hose", "line", "pipe"}),
    frozenset({"harness", "loom", "wiring"}),
    frozenset({"lead", "wire", "cord"}),
)
_NEAR = 0.6  # similarity from which a word counts as near
_TIE = 0.05  # nearer to each other than this, two words are named both


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint towards the nearest known word, or two that are as near, or the list of them all
    where none is. Words of the trade that stand for the same thing count as the same.
    """
    words = list(known)
    near = {one: _likeness(word.lower(), one.lower()) for one in words}
    best = max(near.values(), default=0.0)
    if best >= _NEAR:
        told = sorted((one for one in words if near[one] > best - _TIE), key=lambda w: -near[w])
        choice = "' or '".join(told[:2])
        return f"did you mean '{choice}'?"
    return f"known: {', '.join(words)}" if words else ""


def _likeness(word: str, known: str) -> float:
    """How alike two words are, 0 to 1: the best over all that the typed one may stand for."""
    parts = re.split(r"([_\s-]+)", word)
    ways = [
        [part, *sorted(set().union(*(same for same in _SAME if part in same)) - {part})]
        for part in parts
    ]
    return max(
        difflib.SequenceMatcher(None, "".join(way), known).ratio()
        for way in itertools.islice(itertools.product(*ways), _MOST_WAYS)
    )


_MOST_WAYS = 64  # a word of the file may be of any length


def path_of(*parts: str | int) -> str:
    """A place in the file, like "lines.clutch.stations[2]"; counts are shown from 1."""
    place = ""
    for part in parts:
        if isinstance(part, int):
            place += f"[{part + 1}]"
        else:
            bare = part.isascii() and part.replace("-", "_").isidentifier()
            name = part if bare else f'"{part}"'
            place += f".{name}" if place else name
    return place
