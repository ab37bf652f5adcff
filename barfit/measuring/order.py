"""What to measure next: what the worst line's margin hangs on most, after what everything does."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from barfit.analysis import LineFinding, Verdict
from barfit.analysis.inputs import Key
from barfit.measuring.things import Part, Thing, lain_against, things
from barfit.model import How, Setup

_BADNESS = {verdict: rank for rank, verdict in enumerate(Verdict)}
# What every line hangs on: without it no other measurement means anything.
_MUST = (
    Thing(Part.BAR, "both"),
    Thing(Part.BAR, "new"),
    Thing(Part.BAR, "stock"),
    Thing(Part.RISER, "both"),
    Thing(Part.RISER, "new"),
    Thing(Part.RISER, "stock"),
    Thing(Part.MACHINE),
)


TELLING = 0.5  # mm of the worst line's spread from where on something is said to tell


@dataclass(frozen=True)
class Weighed:
    """A thing that is not measured yet. ``share`` mm is what of the worst line's standard deviation
    comes from it, nan where that is not known; ``must``: everything hangs on it.
    """

    thing: Thing
    share: float
    must: bool


def worst_known(findings: Sequence[LineFinding]) -> LineFinding | None:
    """The worst line: of those whose spread is known, if there are any; None without lines."""
    known = [one for one in findings if one.sure.parts] or list(findings)
    return min(known, key=lambda one: (-_BADNESS[one.verdict], one.margin), default=None)


def weighed(setup: Setup, findings: Sequence[LineFinding]) -> tuple[Weighed, ...]:
    """What is not measured yet, in the order in which to measure it.

    Bars, risers and locks come first. Then what makes most of the worst line's spread; then what
    makes most of any other line's. How much a solid makes is not known: those that the worst line
    lies against come after what is sure to tell. Without findings, in the order of `things`.
    """
    every = things(setup, findings)
    left = [one for one in every if one.how(setup) is How.NOT_MEASURED]
    worst = worst_known(findings)
    mine = _shares(worst) if worst is not None else {}
    against = lain_against(worst) if worst is not None else frozenset()
    most: dict[Thing, float] = {}
    for finding in findings:
        for thing, mm in _shares(finding).items():
            most[thing] = max(most.get(thing, 0.0), mm)

    def rank(thing: Thing) -> tuple[int, float, float]:
        place = _MUST.index(thing) if thing in _MUST else len(_MUST)
        solid = thing.part is Part.SOLID
        own = TELLING if solid and thing.which in against else mine.get(thing, 0.0)
        return place, -own, -most.get(thing, 0.0)

    unknown = math.nan if worst is None or not mine else 0.0

    def share(thing: Thing) -> float:
        return math.nan if thing.part is Part.SOLID else mine.get(thing, unknown)

    return tuple(Weighed(thing, share(thing), thing in _MUST) for thing in sorted(left, key=rank))


def settled(sigma: float, setup: Setup, thing: Thing, share: float) -> float:
    """The standard deviation of a margin, mm, once that thing is measured with a tape: of
    independent errors the variances add up (JCGM 100:2008, 5.1.2).
    """
    sure = setup.uncertainty
    ratio = sure.tape / sure.unmeasured if sure.unmeasured > 0.0 else 1.0
    left = sigma**2 - share**2 * (1.0 - min(ratio, 1.0) ** 2)
    return math.sqrt(max(left, 0.0))


def _shares(finding: LineFinding) -> Mapping[Thing, float]:
    """What of a line's spread comes from each thing, mm."""
    squares: dict[Thing, float] = {}
    for key, mm in finding.sure.parts:
        thing = thing_of(key)
        if thing is not None:
            squares[thing] = squares.get(thing, 0.0) + mm**2
    return {thing: math.sqrt(square) for thing, square in squares.items()}


def thing_of(key: Key) -> Thing | None:
    """The thing that an uncertain input belongs to; None for what no tape tells."""
    kind = str(key[0])
    if kind == "machine":
        return Thing(Part.MACHINE)
    if kind in ("bar", "hole"):
        return Thing(Part.BAR, str(key[1]))
    if kind == "riser":
        return Thing(Part.RISER, str(key[1]))
    if kind in ("control", "outlet"):
        return Thing(Part.CONTROL, str(key[1]))
    if kind == "length":
        return Thing(Part.LINE, str(key[1]))
    if kind == "station":
        return Thing(Part.STATION, str(key[1]), int(key[2]))
    return None
