"""The ways a line can go, in numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

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
    acceptable. Other fields as in `LineFinding`.
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
    )


def better(one: WayNumbers, other: WayNumbers) -> dict[str, int]:
    """Which of two ways is better, number by number: 1 the first, 2 the second, 0 neither.

    Keyed by field. A length needed is neither good nor bad; more margin and slack are better
    unless one of the two is too long; a number that is not known is never better, nor worse.
    """
    signs = {"min_radius": 1.0, "total_bend": -1.0}
    if Verdict.TOO_LONG not in (one.verdict, other.verdict):
        signs |= {"margin": 1.0, "slack": 1.0}
    found = {"needed": 0, "margin": 0, "slack": 0}
    for field, sign in signs.items():
        gain = sign * (getattr(one, field) - getattr(other, field))
        telling = abs(gain) >= _TELLING.get(field, 1.0)  # False for nan
        found[field] = (1 if gain > 0.0 else 2) if telling else 0
    counts = (
        ("verdict", ORDER[one.verdict], ORDER[other.verdict]),
        ("rejected", len(one.rejected), len(other.rejected)),
        ("rubs", len(one.rubs) + one.pinches, len(other.rubs) + other.pinches),
        ("stops", _stopped(one), _stopped(other)),
    )
    for field, a, b in counts:
        found[field] = 1 if a < b else 2 if b < a else 0
    return found


def _stopped(way: WayNumbers) -> float:
    """How much of the turn is lost to the line, rad: -inf where none is."""
    turns = [abs(stop.turn) for stop in (way.stops.right, way.stops.left) if stop is not None]
    return -min(turns) if turns else -math.inf
