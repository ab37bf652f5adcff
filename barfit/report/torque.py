"""What the lines do to the bar, in words and as plain values."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from barfit.analysis import LineFinding, LineTorque, Verdict
from barfit.analysis.torque import total_torque
from barfit.report.plain import degrees, known

_LEAST = 0.005  # N·m that counts
_MANY = 2  # more lines than this are counted, not named


def torque_sentences(findings: Sequence[LineFinding]) -> list[str]:
    """One sentence for each lock: the torque on the bar and the line that gives most of it."""
    known = [(found, found.torque) for found in findings if found.torque is not None]
    if not known:
        return []
    total = total_torque(torque for _, torque in known)
    return [
        _at_lock("right", total[0], [(found, torque.right_lock) for found, torque in known]),
        _at_lock("left", total[-1], [(found, torque.left_lock) for found, torque in known]),
    ]


def locks_sentence(findings: Sequence[LineFinding]) -> str:
    """The torque of all lines on the bar at both locks, in short; "" where there are no lines."""
    total = total_torque(found.torque for found in findings if found.torque is not None)
    if not total:
        return ""
    right, left = torque_words(total[0]), torque_words(total[-1])
    if math.isnan(total[0]) and math.isnan(total[-1]):
        told = []
        for side in ("right", "left"):
            lost = [f for f in findings if f.torque and math.isnan(_at(f.torque, side))]
            told.append(_why(lost))
        why = told[0]
        if told[0] != told[1]:
            why = f"at right lock {told[0]}, at left lock {told[1]}"
        return f"How far the lines turn the bar at the locks is not known: {why}."
    if right == left:
        return f"The lines turn the bar, at either lock: {right}."
    return f"The lines turn the bar: at right lock {right}, at left lock {left}."


def _at(torque: LineTorque, side: str) -> float:
    return torque.left_lock if side == "left" else torque.right_lock


def torque_words(torque: float) -> str:
    """A torque on the bar in words: "0.24 N·m to the left", "not at all", "not known"."""
    if math.isnan(torque):
        return "not known"
    return "not at all" if abs(torque) < _LEAST else _newton_metres(torque)


def _at_lock(side: str, total: float, parts: list[tuple[LineFinding, float]]) -> str:
    lost = [finding for finding, value in parts if math.isnan(value)]
    if lost:
        return f"Steering torque of the lines at full {side} lock is not known: {_why(lost)}."
    most, value = max(parts, key=lambda part: abs(part[1]))
    words = f"At full {side} lock the lines {_turns(total)}"
    if len(parts) == 1 or abs(value) < _LEAST:
        return f"{words}."
    return f"{words}; most comes from the {most.line} ({_newton_metres(value)})."


def _turns(torque: float) -> str:
    if abs(torque) < _LEAST:
        return "do not turn the bar"
    side = "left" if torque > 0.0 else "right"
    return f"turn the bar to the {side} with {abs(torque):.2f} N·m"


def _newton_metres(torque: float) -> str:
    return f"{abs(torque):.2f} N·m to the {'left' if torque > 0.0 else 'right'}"


def _why(lost: list[LineFinding]) -> str:
    unsettled = [finding for finding in lost if finding.verdict is Verdict.NOT_KNOWN]
    if unsettled:
        return f"no rest shape was found for {_names(unsettled)}"
    return f"{_names(lost)} {'is' if len(lost) == 1 else 'are'} too short to get there"


def _names(findings: list[LineFinding]) -> str:
    if len(findings) > _MANY:
        return f"{len(findings)} lines"
    return " and ".join(f"the {finding.line}" for finding in findings)


def torque_values(torque: LineTorque | None) -> list[float | None]:
    """The torque at every turn angle, ride height, N·m; None where not known."""
    return [] if torque is None else [known(value, 4) for value in torque.at_ride_height]


def total_values(findings: Sequence[LineFinding]) -> dict[str, Any]:
    """The turn angles in degrees and the torque of all lines together, for JSON."""
    torques = [finding.torque for finding in findings if finding.torque is not None]
    turns = torques[0].turns if torques else ()
    return {
        "turns": [degrees(turn, 4) for turn in turns],
        "steering_torque": [known(value, 4) for value in total_torque(torques)],
    }
