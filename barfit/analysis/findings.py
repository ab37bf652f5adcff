"""What a sweep means for each line: a verdict with its numbers, as plain data."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Verdict(StrEnum):
    """In order of how bad it is."""

    REACHES = "reaches"
    MARGINAL = "marginal"
    TOO_LONG = "too long"
    BEND_TOO_TIGHT = "bend too tight"
    SHORT = "short"
    NOT_KNOWN = "not known"


@dataclass(frozen=True)
class LineFinding:
    """The verdict on one line. Lengths mm, angles rad; nan where a number is not known.

    ``slack`` is the least over the sweep, at ``worst_turn`` and ``worst_travel``; ``excess`` the
    greatest. ``taut_length`` is the greatest taut length over the sweep, ``bend_length`` the least
    length at which no radius falls below ``allowed_radius`` (nan: no length helps; 0: the bend
    never decides). ``needed`` is the larger of the two plus ``least`` (the least slack the line's
    kind should keep); ``margin`` = installed - needed. ``target`` is the slack to aim for when
    ordering. ``tight_right`` and ``tight_left`` are the turn angles (signed) at which the line
    goes tight on the way to that lock, None where it does not. ``snaps`` are turn angles at which
    the way back differs from the way out. ``why`` says why a verdict is not known or no length
    helps.
    """

    line: str
    verdict: Verdict
    installed: float
    slack: float
    worst_turn: float
    worst_travel: float
    excess: float
    taut_length: float
    bend_length: float
    needed: float
    margin: float
    least: float
    target: float
    max_excess: float
    min_radius: float
    radius_turn: float
    allowed_radius: float
    tight_right: float | None
    tight_left: float | None
    snaps: tuple[float, ...]
    why: str = ""

    @property
    def fits(self) -> bool:
        """Whether the line may stay as it is (a marginal one may not)."""
        return self.verdict is Verdict.REACHES
