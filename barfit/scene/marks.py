"""What is written beside a line in trouble, and where: colour alone never says it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from barfit.analysis.findings import LineFinding, Verdict
from barfit.analysis.sweep import LineSweep
from barfit.scene.colours import CAUTION, NOTE, TROUBLE
from barfit.scene.track import LinePose
from barfit.units import format_length

_NEAR = math.radians(3.0)  # of a pinch: it is as good as there


@dataclass(frozen=True, eq=False)
class Mark:
    """A few words at a point (3,) of a line."""

    line: str
    words: str
    point: np.ndarray
    colour: str
    named: bool = True  # whether it is also written which line it is of


def contacts(
    name: str,
    pose: LinePose,
    swept: LineSweep,
    finding: LineFinding | None,
    cell: tuple[int, int],
    angles: np.ndarray,
) -> list[Mark]:
    """Where a line is pinched and what it touches in one pose of its sweep.

    ``cell`` is the pose's nearest suspension position and angle (of ``angles``, rad) in the table;
    the places are those of that cell, on the line as it lies in ``pose``.
    """
    found = []
    for pinch in finding.pinches if finding is not None else ():
        near = abs(pinch.turn - angles[cell[1]]) <= _NEAR
        if near and math.isclose(pinch.travel, swept.travels[cell[0]], abs_tol=0.5):
            where = _place(pose, swept.arc, pinch.at)
            found.append(Mark(name, "pinched", where, TROUBLE, named=False))
    rubs = {touch.part for touch in finding.touches if touch.rubs} if finding is not None else set()
    for pressing in swept.pressing:
        if not pressing.force[cell].any():
            continue
        does = "rubs on" if pressing.part in rubs else "touches"
        colour = CAUTION if pressing.part in rubs else NOTE
        where = _place(pose, swept.arc, float(pressing.at[cell]))
        words = f"{does} {_short(pressing.part)}"
        found.append(Mark(name, words, where, colour, named=False))
    return found


def _short(part: str) -> str:
    """A part's name without whose it is: "'tie' of the clutch cable" as "tie"."""
    return part.partition("' of the ")[0].strip("'")


def _place(pose: LinePose, arc: np.ndarray, at: float) -> np.ndarray:
    """The point (3,) that lies ``at`` mm along a line."""
    return np.array([np.interp(at, arc, pose.points[:, axis]) for axis in range(3)])


def mark(
    name: str, pose: LinePose, arc: np.ndarray, finding: LineFinding | None, unit: str
) -> Mark | None:
    """The mark of one line in one pose; None where nothing is wrong with it there.

    Without a finding only what needs no limits can be said: short, or not known.
    """
    if not pose.known:
        return Mark(name, "not known", pose.points[len(arc) // 2], CAUTION)
    if pose.slack < 0.0:
        return Mark(name, f"slack {_slack(pose.slack, unit)}", _tightest(pose, arc), TROUBLE)
    if finding is None:
        return None
    if finding.verdict is Verdict.BEND_TOO_TIGHT and pose.radius < finding.allowed_radius:
        least = format_length(finding.allowed_radius, unit)
        words = f"bend {format_length(pose.radius, unit)}, least {least}"
        return Mark(name, words, pose.points[int(np.argmax(pose.curvature))], TROUBLE)
    if pose.slack < finding.least:
        words = f"slack only {_slack(pose.slack, unit)}"
        return Mark(name, words, _tightest(pose, arc), CAUTION)
    if finding.verdict is Verdict.TOO_LONG and pose.slack > finding.max_excess:
        words = f"slack {_slack(pose.slack, unit)}"
        return Mark(name, words, pose.points[len(arc) // 2], CAUTION)
    return None


def elsewhere(name: str, pose: LinePose, arc: np.ndarray, finding: LineFinding, unit: str) -> Mark:
    """The mark of a selected line that is in trouble, though not in this pose."""
    words = finding.verdict.value
    worst, tightest = turn_words(finding.worst_turn), turn_words(finding.radius_turn)
    if finding.worst_travel:  # without it, the angle alone would name a pose that is fine
        worst += f", fork {'compressed' if finding.worst_travel > 0.0 else 'extended'}"
    if finding.verdict is Verdict.SHORT:
        words = f"slack {_slack(finding.slack, unit)} at {worst}"
    elif finding.verdict is Verdict.BEND_TOO_TIGHT:
        words = f"bend {format_length(finding.min_radius, unit)} at {tightest}"
    elif finding.verdict is Verdict.PINCHED and finding.pinches:
        pinch = finding.pinches[0]
        return Mark(
            name, f"pinched at {turn_words(pinch.turn)}", _place(pose, arc, pinch.at), CAUTION
        )
    elif finding.verdict is Verdict.RUBS and finding.touches:
        rub = max(finding.touches, key=lambda touch: touch.sliding)
        return Mark(name, f"rubs on {rub.part}", _place(pose, arc, rub.at), CAUTION)
    elif finding.verdict is Verdict.UNCERTAIN:
        much = format_length(abs(finding.margin), unit, with_unit=False)
        band = format_length(finding.sure.two_sigma, unit)
        sign = "\u2212" if finding.margin < 0.0 else "+"
        words = f"margin {sign}{much} ± {band}"
    elif finding.verdict is Verdict.MARGINAL:
        words = f"slack {_slack(finding.slack, unit)} at {worst}"
    return Mark(name, words, _tightest(pose, arc), CAUTION)


def _slack(mm: float, unit: str) -> str:
    """A slack with a true minus sign, which one just below zero keeps; what would be rounded to
    nothing is given more closely.
    """
    text = format_length(mm, unit)
    if text.startswith("0 "):
        text = format_length(mm, unit, decimals=1 if unit == "mm" else 2)
    text = text.replace("-", "\u2212")
    return f"\u2212{text}" if mm < 0.0 and not text.startswith("\u2212") else text


def _tightest(pose: LinePose, arc: np.ndarray) -> np.ndarray:
    """The middle of the stretch that has least to spare."""
    k = int(np.argmin(pose.segment_slack))
    middle = 0.5 * (pose.stations_at[k] + pose.stations_at[k + 1])
    return pose.points[int(np.argmin(np.abs(arc - middle)))]


def turn_words(angle: float) -> str:
    """A turn of the steering in words: "24° left"."""
    degrees = round(abs(math.degrees(angle)))
    if degrees == 0:
        return "straight ahead"
    return f"{degrees}° {'left' if angle > 0.0 else 'right'}"
