"""How far lines are twisted, in words and as plain values."""

from __future__ import annotations

import math
from typing import Any

from barfit.analysis import LineFinding, Twist
from barfit.report.phrases import capital, travel_words, turn_words
from barfit.report.plain import degrees, known
from barfit.units import format_angle

_METRE = 1000.0  # mm


def twist_sentence(finding: LineFinding) -> str:
    """That a line is twisted more than its kind allows, and what would ease it; "" if it is not."""
    twist = finding.twist
    if twist is None or not twist.too_much:
        return ""
    words = turn_words(twist.turn)
    where = words if words == "straight ahead" else f"at {words}"
    travel = travel_words(twist.travel)
    first, last = twist.stations
    return (
        f"{capital(finding.line)} is twisted by {format_angle(abs(twist.greatest))} {where}"
        f"{' ' + travel if travel else ''}, between '{first}' and '{last}': "
        f"{_per_metre(twist.rate)} per metre, more than the {_per_metre(twist.allowed)} it should "
        f"take; {_remedy(twist)}."
    )


def _remedy(twist: Twist) -> str:
    if twist.evened <= twist.allowed:
        middle = format_angle(0.5 * abs(twist.most + twist.least))
        return f"fitted straight ahead with {middle} of twist the other way it keeps to that"
    return "a longer line or a fitting that swivels eases it"


def _per_metre(rate: float) -> str:
    return format_angle(rate * _METRE)


def twist_values(twist: Twist | None) -> dict[str, Any] | None:
    """The twist of a line for JSON: angles in degrees, None where not known."""
    if twist is None:
        return None
    return {
        "greatest": degrees(twist.greatest, 3),
        "least": degrees(twist.least, 3),
        "most": degrees(twist.most, 3),
        "per_metre": degrees(twist.rate * _METRE, 3),
        "allowed_per_metre": degrees(twist.allowed * _METRE, 3),
        "too_much": twist.too_much if math.isfinite(twist.rate) else None,
        "between": list(twist.stations),
        "twist_turn": degrees(twist.turn, 3),
        "twist_travel": known(twist.travel, 3),
        "twisting_moment": known(twist.moment / _METRE, 3),
        "poses_not_known": twist.unknown,
    }
