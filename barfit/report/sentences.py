"""Findings in plain words, for someone at the bench."""

from __future__ import annotations

import math
from collections.abc import Iterable

from barfit.analysis import LineFinding, Verdict
from barfit.model import Body, Line, Machine, PointPlace
from barfit.report.sureness import uncertain_sentence
from barfit.units import format_angle, format_length

CAUTION = (
    "A prediction, not a release: before riding, turn the bar lock to lock by hand and work the "
    "fork through its travel. For brakes, throttle and steering the machine's service manual and "
    "local law decide."
)


_LEAST = {"mm": "1 mm", "in": "1/16 in"}  # what a length that shows as 0 is less than


def sentence(finding: LineFinding, line: Line, unit: str, machine: Machine | None = None) -> str:
    """What was found for one line, in one sentence; lengths in ``unit``.

    With the ``machine`` a turn to its lock is called full lock.
    """
    name = capital(line.name)

    def length(mm: float) -> str:
        text = format_length(mm, unit)
        return text if not text.startswith("0 ") else f"less than {_LEAST[unit]}"

    pose = _pose_words(finding, line, machine)
    if finding.verdict is Verdict.NOT_KNOWN:
        return f"Whether the {line.name} reaches is not known: {finding.why or 'no reason given'}."
    if finding.verdict is Verdict.UNCERTAIN:
        return uncertain_sentence(finding, line, unit)
    if finding.verdict is Verdict.SHORT and varies(finding) and crosses_steering(line):
        return f"{name} {_goes_tight(finding)}; {pose} it is {length(-finding.slack)} short."
    if finding.verdict is Verdict.SHORT:
        return f"{name} is {length(-finding.slack)} short {pose}."
    if finding.verdict is Verdict.BEND_TOO_TIGHT:
        radius, allowed = length(finding.min_radius), length(finding.allowed_radius)
        where = f" {_at(finding.radius_turn, machine)}" if crosses_steering(line) else ""
        return (
            f"{name} bends to a radius of {radius}{where}, tighter than the {allowed} allowed"
            f"{_remedy(finding, unit)}."
        )
    if finding.verdict is Verdict.TOO_LONG:
        return (
            f"{name} is too long: it hangs up to {length(finding.excess)} slack, and more than "
            f"{length(finding.max_excess)} is a loop that snags."
        )
    if finding.verdict is Verdict.MARGINAL:
        if finding.slack < finding.least:
            return (
                f"{name} just reaches: {pose} it keeps {length(finding.slack)} to spare, less "
                f"than the {length(finding.least)} it should."
            )
        return f"{name} reaches, but has nothing in hand for its bends{_remedy(finding, unit)}."
    return f"{name} reaches from lock to lock, with {length(finding.slack)} to spare {pose}."


def snap_sentence(finding: LineFinding, line: Line) -> str:
    """A warning that a line may flip over between two turn angles; "" where none does."""
    if not finding.snaps:
        return ""
    first, last = turn_words(min(finding.snaps)), turn_words(max(finding.snaps))
    between = f"at {first}" if first == last else f"between {first} and {last}"
    return (
        f"{capital(line.name)} may flip over {between}: turning back, it lies differently from "
        "the way out."
    )


def summary(findings: Iterable[LineFinding]) -> str:
    """How many lines fit, in one sentence."""
    found = list(findings)
    doubtful = sum(finding.verdict is Verdict.UNCERTAIN for finding in found)
    misfits = [f for f in found if not (f.fits or f.verdict is Verdict.UNCERTAIN)]
    if doubtful and not misfits:
        whether = f"{doubtful} of {len(found)} lines fit" if doubtful > 1 else "one line fits"
        return f"Whether {whether} is uncertain{', the rest do' if doubtful < len(found) else ''}."
    if doubtful:
        return (
            f"{len(misfits)} of {len(found)} lines {'do' if len(misfits) > 1 else 'does'} not fit, "
            f"and whether {doubtful} more {'do' if doubtful > 1 else 'does'} is uncertain."
        )
    if not misfits:
        return "Every line fits." if len(found) != 1 else "The line fits."
    if len(misfits) == len(found):
        return (
            f"None of {len(found)} lines fits as it is." if len(found) > 1 else "It does not fit."
        )
    return f"{len(misfits)} of {len(found)} lines {'do' if len(misfits) > 1 else 'does'} not fit."


def turn_words(turn: float) -> str:
    """A turn angle in words: "24° left", "40° right", "straight ahead"."""
    degrees = format_angle(abs(turn))
    if degrees == "0°":
        return "straight ahead"
    return f"{degrees} {'left' if turn > 0 else 'right'}"


def varies(finding: LineFinding) -> bool:
    """Whether the slack changes over the sweep."""
    return not finding.excess - finding.slack < 1.0


def crosses_steering(line: Line) -> bool:
    """Whether the line runs from what turns to the frame; if not, it does not feel the turn."""
    fixed = {
        isinstance(station.place, PointPlace) and station.place.body is Body.FRAME
        for station in line.stations
    }
    return len(fixed) == 2


def travel_words(travel: float) -> str:
    """A suspension position in words; "" at ride height."""
    if abs(travel) < 0.5:
        return ""
    return "with the fork compressed" if travel > 0 else "with the fork extended"


def capital(name: str) -> str:
    """A name as it begins a sentence."""
    return name[:1].upper() + name[1:]


def _goes_tight(finding: LineFinding) -> str:
    """At which turn to either side the line goes tight, as a verb and its object."""
    angles = [angle for angle in (finding.tight_right, finding.tight_left) if angle is not None]
    words = [turn_words(angle) for angle in angles]
    if "straight ahead" in words or not words:
        return "is too short even straight ahead" if words else "is too short"
    return f"goes tight at {' and '.join(words)}"


def _pose_words(finding: LineFinding, line: Line, machine: Machine | None) -> str:
    if not varies(finding):
        return "at every turn"
    travel = travel_words(finding.worst_travel)
    if not crosses_steering(line):
        return travel or "at every turn"
    return _at(finding.worst_turn, machine) + (f" {travel}" if travel else "")


def _at(turn: float, machine: Machine | None) -> str:
    """A turn angle as part of a sentence: "at 24° left", "at full left lock", "straight ahead"."""
    if machine is not None:
        lock = machine.lock_left if turn > 0 else machine.lock_right
        if math.isclose(abs(turn), lock, abs_tol=1e-6):
            return f"at full {'left' if turn > 0 else 'right'} lock"
    words = turn_words(turn)
    return words if words == "straight ahead" else f"at {words}"


def _remedy(finding: LineFinding, unit: str) -> str:
    """What would open a bend: a longer line, or why no length does."""
    if finding.why:
        return f"; {finding.why}"
    if finding.margin < 0.0:
        needed, installed = (format_length(mm, unit) for mm in (finding.needed, finding.installed))
        return f"; it takes {needed} instead of {installed} to open the bend"
    return ""
