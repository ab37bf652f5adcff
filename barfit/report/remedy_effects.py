"""What a remedy does besides making a line reach, and how exactly it is done, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from barfit.model import Vec
from barfit.remedies import Change, Remedy
from barfit.remedies.freed import Freed
from barfit.remedies.remedy import Moved
from barfit.remedies.spoilt import Spoilt
from barfit.report.phrases import listed, turn_words
from barfit.report.plain import degrees, known
from barfit.report.remedy_labels import WAYS, along_words, ways_words
from barfit.trade.holding import HANGS
from barfit.units import format_angle, format_length

_SMALL = 0.5  # mm a place may be off either way and is still called the same


def effects(remedy: Remedy, unit: str) -> list[str]:
    """What it leaves worse or unheld, as clauses of a sentence."""
    told = [_spoilt(one, unit) for one in remedy.spoilt]
    if remedy.elsewhere is not None:
        one, other = remedy.elsewhere.between
        told.append(
            f"that is what it has between '{one}' and '{other}', which it leaves as it is; where "
            f"it is longer it has {format_length(remedy.elsewhere.grown, unit)}"
        )
    if remedy.too_long:
        told.append(f"the {listed(list(remedy.too_long))} then {_are(remedy.too_long)} too long")
    if remedy.freed is not None:
        told += _freed(remedy.freed, remedy.lies_on, unit)
    if remedy.lies_on:
        told.append(
            f"it lies on the {listed(list(remedy.lies_on))}, as it does not with the stock bars"
        )
    return told


def short_effects(remedy: Remedy, unit: str) -> list[str]:
    """The same as the entries of a table's cell."""
    told = [_spoilt(one, unit) for one in remedy.spoilt]
    if remedy.elsewhere is not None:
        told.insert(0, f"{format_length(remedy.elsewhere.grown, unit)} where it is longer")
    told += [f"{name} too long" for name in remedy.too_long]
    if remedy.freed is not None and math.isfinite(remedy.freed.unheld):
        told.append(f"{format_length(remedy.freed.unheld, unit)} of it unheld")
        if (bare := remedy.freed.bare) is not None:
            told.append(f"{format_length(bare.gap, unit)} to the {bare.part}")
    if remedy.lies_on:
        told.append(f"lies on the {listed(list(remedy.lies_on))}")
    return told


def _are(names: Sequence[str]) -> str:
    return "is" if len(names) == 1 else "are"


def _spoilt(one: Spoilt, unit: str) -> str:
    angle = one.unit == "rad"
    now, was, limit = (
        format_angle(mm) if angle else format_length(mm, unit)
        for mm in (one.now.value, one.was.value, one.now.limit)
    )
    still = "" if one.worse else "still "
    before = f" ({was} as it is)" if one.worse and not math.isnan(one.was.value) else ""
    if one.what in ("hand_gap", "hard_gap"):
        part, at_grip = one.part, one.what == "hand_gap" and "lever" not in one.part
        who = f"a hand at the {part}" if at_grip else part
        who = f"the {who}" if not who.startswith("a hand") else who
        need = "the hand is trapped" if one.forbids else f"it should keep {limit}"
        return f"{who} {still}has only {now} to the {one.other}{before}: {need}"
    if one.what.startswith("reservoir"):
        where = {
            "reservoir_tilt_straight": "straight ahead",
            "reservoir_tilt_parked": "on the side stand",
        }.get(one.what, "at its worst turn")
        return (
            f"the reservoir of the {one.about} {still}tilts {now} {where}{before}, {limit} at most"
        )
    if one.what == "bar_straight":
        return (
            f"the {one.about} end of the bar {still}has {now} of straight{before}, {limit} needed"
        )
    if one.what == "clamp_spare":
        return f"the risers {still}reach beyond the straight of the bar"
    if one.what == "overall_width":
        return f"the bar is {still}{now} wide, {limit} is allowed"
    return f"the grips are {still}at {now}, {limit} is allowed"


def _freed(one: Freed, told_of: Sequence[str], unit: str) -> list[str]:
    """``told_of`` are parts of which it is said already that it lies on them."""
    told = []
    if math.isfinite(one.unheld):
        much = format_length(one.unheld, unit)
        told.append(
            f"nothing then holds it over {much} from '{one.between[0]}' to '{one.between[1]}'"
        )
        if one.hangs:
            told[-1] += f", more than the {format_length(HANGS, unit)} that are usual (estimate)"
    near = one.bare or (one.nears[0] if one.nears else None)
    if near is not None and math.isfinite(near.gap):
        gap, was, keeps = (format_length(mm, unit) for mm in (near.gap, near.was, near.keeps))
        if near is one.bare:
            told.append(
                f"it comes within {gap} of the {near.part} at {turn_words(near.turn)} ({was} with "
                f"it), {keeps} should stay"
            )
        elif near.part not in one.touches:
            told.append(f"it keeps {gap} from the {near.part}")
    else:
        told.append("look that it stays clear of stops and of what is hot")
    if touched := [part for part in dict.fromkeys(one.touches) if part not in told_of]:
        told.append(f"it touches the {listed(touched)}")
    return told


def how_text(remedy: Remedy, unit: str) -> str:
    """How exactly a line is laid or held otherwise: which hold goes from where to where, seen
    straight ahead at ride height; "" where the name of the remedy says it all.
    """
    if remedy.change is Change.DROP:
        told = [f"Leave out '{remedy.at}'", *effects(remedy, unit)]
        return f"{'; '.join(told)}."
    if remedy.change is Change.SLIDE and not math.isnan(remedy.by):
        much = format_length(abs(remedy.by), unit)
        return f"Slide '{remedy.at}' {much} along it, {along_words(remedy)}."
    return " ".join(_moved(one, unit) for one in remedy.moves)


def _moved(one: Moved, unit: str) -> str:
    by = [end - start for start, end in zip(one.start, one.end, strict=True)]
    return (
        f"Move '{one.station}' {ways_words(by, unit, _SMALL)}: from {_place(one.start, unit)} to "
        f"{_place(one.end, unit)}, measured from where the steering axis meets the top clamp."
    )


def _place(point: Vec, unit: str) -> str:
    """A place as three lengths: "120 mm back, 30 mm to the left, 85 mm down"."""
    told = [
        f"{format_length(abs(mm), unit)} {plus if mm > 0.0 else minus}"
        for (plus, minus), mm in zip(WAYS, point, strict=True)
        if abs(mm) >= _SMALL
    ]
    return ", ".join(told) or "there"


def effect_values(remedy: Remedy) -> dict[str, Any]:
    """For JSON: mm, degrees; what is not known is None."""
    return {
        "spoilt": [
            {
                "figure": one.what,
                "about": one.about or None,
                "value": degrees(one.now.value) if one.unit == "rad" else known(one.now.value),
                "as_it_is": degrees(one.was.value) if one.unit == "rad" else known(one.was.value),
                "limit": degrees(one.now.limit) if one.unit == "rad" else known(one.now.limit),
                "grade": str(one.now.grade),
            }
            for one in remedy.spoilt
        ],
        "lies_on": list(remedy.lies_on),
        "decides": None
        if remedy.elsewhere is None
        else {
            "between": list(remedy.elsewhere.between),
            "margin_where_longer": known(remedy.elsewhere.grown),
        },
        "unheld": None
        if remedy.freed is None
        else {
            "length": known(remedy.freed.unheld),
            "too_long": remedy.freed.hangs,
            "between": list(remedy.freed.between),
            "keeps_off": [
                {
                    "part": one.part,
                    "gap": known(one.gap),
                    "with_it": known(one.was),
                    "should_be": known(one.keeps),
                }
                for one in remedy.freed.nears
            ],
            "touches": list(remedy.freed.touches),
        },
        "moves": [
            {
                "station": one.station,
                "from": [known(mm) for mm in one.start],
                "to": [known(mm) for mm in one.end],
            }
            for one in remedy.moves
        ],
    }
