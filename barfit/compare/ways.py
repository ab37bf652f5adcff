"""The ways a line can go, in numbers."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any

from barfit import edits
from barfit.analysis import Verdict
from barfit.analysis.stops import LineStops
from barfit.compare.trials import Trial
from barfit.edits.alternatives import FIRST
from barfit.model import Setup

ORDER = {verdict: rank for rank, verdict in enumerate(Verdict)}
_TELLING = {"total_bend": math.radians(1.0)}  # a smaller difference is none; lengths: 1 mm


@dataclass(frozen=True)
class WayNumbers:
    """One way for a line to go, judged; lengths mm, angles rad, nan where not known.

    ``used`` says whether the line goes that way now. ``two_sigma`` is half the band of the margin;
    ``touches`` and ``rubs`` are the parts it lies against and those of them it rubs on;
    ``pinches`` counts the places where it is pinched; ``rejected`` says what else is not
    acceptable, ``depth`` mm how deep it is in what it runs into. ``doubts`` is what one standard
    deviation of each measured thing moves the margin by, mm: of a station by the station itself,
    so that only what stands in the same place counts as the same thing in two ways. Other fields
    as in `LineFinding`.
    """

    name: str
    used: bool
    verdict: Verdict
    installed: float
    needed: float
    margin: float
    two_sigma: float
    slack: float
    min_radius: float
    allowed_radius: float
    total_bend: float
    touches: tuple[str, ...]
    rubs: tuple[str, ...]
    pinches: int
    stops: LineStops
    rejected: tuple[str, ...]
    depth: float = 0.0
    doubts: tuple[tuple[Hashable, float], ...] = ()

    @property
    def fits(self) -> bool:
        """Whether the line may stay as it is, going this way."""
        return self.verdict is Verdict.REACHES and not self.rejected


def ways(setup: Setup, line: str) -> tuple[tuple[str, Setup], ...]:
    """The name of every way a line can go with the setup where it goes that way, the way in use
    first. Raises KeyError for an unknown line.
    """
    own = setup.line(line)
    if not own.routings:
        return ((own.routing or FIRST, setup),)
    return tuple((name, edits.use_routing(setup, line, name)) for name in edits.routing_names(own))


def way_numbers(trial: Trial, line: str, name: str, used: bool) -> WayNumbers:
    """The numbers of a line in the setup where it goes that way. Raises KeyError."""
    found = trial.finding(line)
    odd = 0.5 * found.sure.two_sigma - found.sure.sigma  # what slack found contradicts it by
    return WayNumbers(
        name=name,
        used=used,
        verdict=found.verdict,
        installed=found.installed,
        needed=found.needed,
        margin=found.margin,
        two_sigma=found.sure.two_sigma,
        slack=found.slack,
        min_radius=found.min_radius,
        allowed_radius=found.allowed_radius,
        total_bend=trial.bend(line),
        touches=tuple(touch.part for touch in found.touches),
        rubs=tuple(touch.part for touch in found.touches if touch.rubs),
        pinches=len(found.pinches),
        stops=found.stops,
        rejected=trial.refusals(line),
        depth=trial.depth(line),
        doubts=(
            *((_thing(trial.setup, key), mm) for key, mm in found.sure.slopes),
            (("slack found", name), odd),
        ),
    )


def _thing(setup: Setup, key: tuple[str | int, ...]) -> Hashable:
    """What is measured, told apart over the ways of a line: stations are numbered in each anew."""
    if key[0] != "station":
        return key
    return (setup.line(str(key[1])).stations[int(key[2])], *key[3:])


def doubt(one: WayNumbers, other: WayNumbers) -> float:
    """Half the band (95 %) of the difference of two ways' margins, mm; nan where not known.

    What both ways share moves both margins, so that its error cancels as far as it moves them
    alike: that of the line's own length wholly. The variance is the sum of the squares of what each
    thing moves the difference by (JCGM 100:2008, 5.1, for the difference). What slack found on the
    machine tells only narrows this and is left out, but for where it contradicts the setup.
    """
    if math.isnan(one.two_sigma) or math.isnan(other.two_sigma):
        return math.nan
    a, b = dict(one.doubts), dict(other.doubts)
    return 2.0 * math.hypot(*(a.get(thing, 0.0) - b.get(thing, 0.0) for thing in {*a, *b}))


def alike(one: WayNumbers, other: WayNumbers) -> frozenset[str]:
    """The fields in which two ways differ, and by no more than they are unsure of."""
    if Verdict.TOO_LONG in (one.verdict, other.verdict):
        return frozenset()
    band = doubt(one, other)
    return frozenset(
        field
        for field in ("margin", "slack")
        if 1.0 <= abs(getattr(one, field) - getattr(other, field)) < band
    )


def better(one: WayNumbers, other: WayNumbers) -> dict[str, int]:
    """Which of two ways is better, number by number: 1 the first, 2 the second, 0 neither.

    Keyed by field. A length needed is neither good nor bad; more margin and slack are better
    unless one of the two is too long, and by more than the two are unsure of independently (see
    `doubt`); a number that is not known is never better, nor worse.
    """
    band = doubt(one, other)
    least = dict.fromkeys(("margin", "slack"), math.inf if math.isnan(band) else max(1.0, band))
    least |= _TELLING
    signs = {"min_radius": 1.0, "total_bend": -1.0}
    if Verdict.TOO_LONG not in (one.verdict, other.verdict):
        signs |= {"margin": 1.0, "slack": 1.0}
    found = {"needed": 0, "margin": 0, "slack": 0}
    for field, sign in signs.items():
        gain = sign * (getattr(one, field) - getattr(other, field))
        telling = abs(gain) >= least.get(field, 1.0)  # False for nan
        found[field] = (1 if gain > 0.0 else 2) if telling else 0
    counts: tuple[tuple[str, Any, Any], ...] = (
        ("verdict", ORDER[one.verdict], ORDER[other.verdict]),
        ("rejected", _wrong(one), _wrong(other)),
        ("rubs", len(one.rubs) + one.pinches, len(other.rubs) + other.pinches),
        ("stops", _stopped(one), _stopped(other)),
    )
    for field, a, b in counts:
        found[field] = 1 if a < b else 2 if b < a else 0
    return found


def _wrong(way: WayNumbers) -> tuple[int, int]:
    """How much of a way is not acceptable: how many figures, then how deep it runs into a part."""
    return len(way.rejected), round(way.depth)


def _stopped(way: WayNumbers) -> float:
    """How much of the turn is lost to the line, rad: -inf where none is."""
    turns = [abs(stop.turn) for stop in (way.stops.right, way.stops.left) if stop is not None]
    return -min(turns) if turns else -math.inf
