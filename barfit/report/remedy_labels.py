"""What a remedy is called, in a few words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from barfit.remedies import Change, Means, Remedy
from barfit.remedies.remedy import Moved
from barfit.report.phrases import capital, listed
from barfit.units import format_angle, format_length

WAYS = (("forward", "back"), ("to the left", "to the right"), ("up", "down"))
_SIDEWAYS = 0.15  # of a move: less than that to one side is not named in a label


def label(remedy: Remedy, unit: str) -> str:
    """What is to be done, in a few words: "Next size sold, 150 mm longer"."""
    match remedy.means:
        case Means.LEAVE:
            return "Leave it as it is"
        case Means.MOVE_CLIP | Means.REROUTE:
            return _led(remedy, unit)
        case Means.TURN_FITTING:
            return _turned(remedy)
        case Means.ROLL_BAR:
            if math.isnan(remedy.by):
                return "Roll the bar"
            way = "back" if remedy.by > 0.0 else "forward"
            return f"Roll the bar {way} {format_angle(abs(remedy.by))}"
        case Means.MOVE_CONTROL:
            if math.isnan(remedy.by):
                return f"Move the {remedy.at}"
            way = "inward" if remedy.by > 0.0 else "outward"
            return f"Move the {remedy.at} {format_length(abs(remedy.by), unit)} {way}"
        case Means.THROUGH_BAR:
            return f"Through the bar, '{remedy.at}'" if remedy.at else "Through the bar"
        case Means.LOWER_BAR:
            much = "" if math.isnan(remedy.by) else f" {format_length(remedy.by, unit)}"
            return f"Take a bar{much} lower" if much else "Take a lower bar"
    return _length(remedy, unit)


def short_label(remedy: Remedy) -> str:
    """The same without figures."""
    if remedy.means in (Means.MOVE_CLIP, Means.REROUTE):
        return _led(remedy)
    if remedy.means is Means.MOVE_CONTROL:
        return f"Move the {remedy.at}"
    return capital(str(remedy.means))


def key_words(key: str) -> str:
    """A remedy that is gone, by its key: "leave out 'guide low on the down tube'"."""
    name, _, at = key.partition(":")
    means, _, change = name.partition("-")
    known = next((one for one in Means if one.name.lower() == means), None)
    how = next((one for one in Change if change and one.replace(" ", "_") == change), Change.ITEM)
    if known is None:
        return key
    if how is Change.DROP and at:
        return f"leave out '{at}'"
    if how is Change.OTHER_WAY and at:
        return f"lead it '{at}'"
    return f"{known}, '{at}'" if at else str(known)


def ways_words(by: Sequence[float], unit: str, least: float) -> str:
    """A move as a rider says it, "20 mm forward and 12 mm down": ``by`` mm forward, to the left
    and up; what is below ``least`` mm is not named.
    """
    return listed(
        [
            f"{format_length(abs(mm), unit)} {plus if mm > 0.0 else minus}"
            for (plus, minus), mm in zip(WAYS, by, strict=True)
            if abs(mm) >= least
        ]
    )


def along_words(remedy: Remedy) -> str:
    """Which way along the line a clip is slid: "away from the clutch perch"."""
    way = "away from" if remedy.by > 0.0 else "towards"
    return f"{way} '{remedy.setup.line(remedy.line).stations[0].name}'"


def _led(remedy: Remedy, unit: str = "") -> str:
    """Clips and guides moved or left out, and other ways to go; figures where ``unit`` is given."""
    what = "clip" if remedy.means is Means.MOVE_CLIP else "guide"
    far = "" if math.isnan(remedy.by) or not unit else format_length(abs(remedy.by), unit)
    match remedy.change:
        case Change.DROP:
            return f"Leave out '{remedy.at}'"
        case Change.SLIDE:
            return f"Slide '{remedy.at}'" + (f" {far} {along_words(remedy)}" if far else "")
        case Change.SHIFT:
            way = _way(remedy.moves, unit) if unit else ""
            return f"Move '{remedy.at}'" + (f" {way}" if way else f" by {far}" if far else "")
        case Change.OTHER_SIDE:
            return "Lead it past the other side of the head tube"
        case Change.OTHER_WAY:
            return f"Lead it '{remedy.at}'"
    return f"Move the {what} '{remedy.at}'"


def _way(moves: Sequence[Moved], unit: str) -> str:
    """Where to a guide is moved, in the main; "" unless it is one."""
    if len(moves) != 1:
        return ""
    by = [end - start for start, end in zip(moves[0].start, moves[0].end, strict=True)]
    return ways_words(by, unit, _SIDEWAYS * math.hypot(*by))


def _turned(remedy: Remedy) -> str:
    if not remedy.at:
        return "Turn the fitting"
    much = "" if math.isnan(remedy.by) else f" by {format_angle(abs(remedy.by))}"
    if remedy.change is Change.EYE:
        # the bolt points to its head, and a turn is right-handed about it
        way = "" if not much else " anticlockwise" if remedy.by > 0.0 else " clockwise"
        return f"Clock the eye at the {remedy.at}{much}{way}, seen onto the bolt's head"
    way = "" if not much else ", front edge " + ("up" if remedy.by > 0.0 else "down")
    return f"Turn the {remedy.at}{much}{way}"


def _length(remedy: Remedy, unit: str) -> str:
    if remedy.why_not and math.isnan(remedy.length):
        return capital(str(remedy.means))
    much, whole = (format_length(mm, unit) for mm in (abs(remedy.longer), remedy.length))
    match remedy.means:
        case Means.NEXT_SIZE:
            return f"Next size sold, {much} longer"
        case Means.MADE_UP:
            return f"Made up to {whole}"
        case Means.SHORTER:
            return f"One {much} shorter, {whole}"
        case Means.EXTENSION:
            return f"Plug-in extension of {much}"
    return f"Splice in {much}"
