"""What a line touches, rubs on and is pinched by, in words and as plain values."""

from __future__ import annotations

from typing import Any

from barfit.analysis import LineFinding
from barfit.analysis.touching import Pinch, Touch
from barfit.model import Line, Machine
from barfit.report.phrases import at_turn, capital, listed, travel_words
from barfit.report.plain import degrees
from barfit.units import format_length


def pinch_sentence(
    finding: LineFinding, line: Line, unit: str, machine: Machine | None = None
) -> str:
    """Where a line is pinched worst; "" where it is not."""
    if not finding.pinches:
        return ""
    worst = finding.pinches[0]
    pose = _pose(worst.turn, worst.travel, machine)
    more = len(finding.pinches) - 1
    others = f" ({more} other {'place' if more == 1 else 'places'} like it)" if more else ""
    return (
        f"{capital(line.name)} is pinched {pose} between the {worst.steered} and the "
        f"{worst.standing}, after '{worst.after}': they leave {format_length(worst.gap, unit)} "
        f"where it needs {format_length(worst.room, unit)}{others}."
    )


def rub_sentence(
    finding: LineFinding, line: Line, unit: str, machine: Machine | None = None
) -> str:
    """What a line rubs on; "" where it does not."""
    rubs = [touch for touch in finding.touches if touch.rubs]
    if not rubs:
        return ""
    said = [
        f"the {touch.part} (slides {format_length(touch.sliding, unit)}, pressed with up to "
        f"{force_words(touch.force)} {_pose(touch.worst_turn, touch.worst_travel, machine)})"
        for touch in rubs
    ]
    return f"{capital(line.name)} rubs on {listed(said)}."


def force_words(newton: float) -> str:
    """A force in words: "3 N"."""
    return "less than 1 N" if newton < 0.95 else f"{newton:.0f} N"


def touch_values(finding: LineFinding) -> dict[str, Any]:
    """The touches and pinches of a line for JSON."""
    return {
        "touches": [_touch(touch) for touch in finding.touches],
        "pinches": [_pinch(pinch) for pinch in finding.pinches],
    }


def _touch(touch: Touch) -> dict[str, Any]:
    return {
        "part": touch.part,
        "on": str(touch.body),
        "turns": [[degrees(first), degrees(last)] for first, last in touch.turns],
        "force": round(touch.force, 2),
        "turn": degrees(touch.worst_turn),
        "travel": round(touch.worst_travel, 1),
        "at": round(touch.at, 1),
        "after": touch.after,
        "point": [round(value, 1) for value in touch.point],
        "sliding": round(touch.sliding, 1),
        "rubs": touch.rubs,
    }


def _pinch(pinch: Pinch) -> dict[str, Any]:
    return {
        "steered": pinch.steered,
        "standing": pinch.standing,
        "gap": round(pinch.gap, 1),
        "room": round(pinch.room, 1),
        "turn": degrees(pinch.turn),
        "travel": round(pinch.travel, 1),
        "at": round(pinch.at, 1),
        "after": pinch.after,
        "point": [round(value, 1) for value in pinch.point],
    }


def _pose(turn: float, travel: float, machine: Machine | None) -> str:
    return f"{at_turn(turn, machine)} {travel_words(travel, machine)}".strip()
