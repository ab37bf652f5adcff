"""What is wrong with a scenario file, as data and as a report."""

from __future__ import annotations

import difflib
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


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint towards the nearest known word, or the list of them where none is near."""
    words = list(known)
    near = difflib.get_close_matches(word.lower(), [w.lower() for w in words], n=1, cutoff=0.6)
    if near:
        match = next(w for w in words if w.lower() == near[0])
        return f"did you mean '{match}'?"
    return f"known: {', '.join(words)}" if words else ""


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
