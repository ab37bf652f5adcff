"""A figure of the trade held against its limit."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum


class Grade(StrEnum):
    """What a figure means for the job, in order of how bad it is."""

    NOTE = "for information"
    FINE = "fine"
    NOT_KNOWN = "not known"
    CAUTION = "caution"
    REJECT = "not acceptable"


@dataclass(frozen=True)
class Judged:
    """A figure, the same with the stock bars, and the limit it is held against.

    All three in the units used inside (mm, N, rad, V …); nan where there is none. ``turn`` (rad)
    and ``travel`` (mm) are the pose at which it has this value, None where it hangs on no pose.
    """

    value: float
    grade: Grade
    limit: float = math.nan
    stock: float = math.nan
    turn: float | None = None
    travel: float | None = None


def noted(
    value: float,
    *,
    stock: float = math.nan,
    turn: float | None = None,
    travel: float | None = None,
) -> Judged:
    """A figure that nothing limits; not known where it is nan."""
    grade = Grade.NOT_KNOWN if math.isnan(value) else Grade.NOTE
    return Judged(value, grade, stock=stock, turn=turn, travel=travel)


def at_most(
    value: float,
    limit: float,
    *,
    beyond: Grade = Grade.CAUTION,
    stock: float = math.nan,
    turn: float | None = None,
    travel: float | None = None,
) -> Judged:
    """A figure that should not exceed ``limit``; ``beyond`` is what it is where it does."""
    return _held(value, limit, value <= limit, beyond, stock, turn, travel)


def no_worse_noted(judged: Judged, same: float = 0.0) -> Judged:
    """A caution for what is too great, for information where it is no more than ``same`` greater
    than with the stock bars: other bars have not made it worse.
    """
    if judged.grade is Grade.CAUTION and judged.value <= judged.stock + same:
        return replace(judged, grade=Grade.NOTE)
    return judged


def at_least(
    value: float,
    limit: float,
    *,
    beyond: Grade = Grade.CAUTION,
    stock: float = math.nan,
    turn: float | None = None,
    travel: float | None = None,
) -> Judged:
    """A figure that should not fall below ``limit``; ``beyond`` is what it is where it does."""
    return _held(value, limit, value >= limit, beyond, stock, turn, travel)


def _held(
    value: float,
    limit: float,
    keeps: bool,
    beyond: Grade,
    stock: float,
    turn: float | None,
    travel: float | None,
) -> Judged:
    if math.isnan(value) or math.isnan(limit):
        return Judged(value, Grade.NOT_KNOWN, limit, stock, turn, travel)
    return Judged(value, Grade.FINE if keeps else beyond, limit, stock, turn, travel)
