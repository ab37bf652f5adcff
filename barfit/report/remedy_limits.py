"""What is said of all lines together with a lower bar, and of a line that no length makes sure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from barfit.analysis import Verdict
from barfit.analysis.stops import crosses_steering
from barfit.remedies import Means, Remedies, Remedy, as_low_as_stock, lower_bar
from barfit.remedies.remedy import Cap, Stand
from barfit.report.phrases import at_turn, listed, travel_words
from barfit.report.plain import degrees, known
from barfit.report.sentences import does_words
from barfit.units import format_length

_THEN = {
    Verdict.TOO_LONG: "be too long",
    Verdict.BEND_TOO_TIGHT: "bend too tightly",
    Verdict.PINCHED: "be pinched",
    Verdict.SHORT: "be too short",
    Verdict.MARGINAL: "be too short",
    Verdict.RUBS: "rub and need a sleeve",
}
_DOUBTED = (Verdict.UNCERTAIN, Verdict.NOT_KNOWN)


def lower_bar_sentence(found: Sequence[Remedies], unit: str) -> str:
    """How much lower a bar would have to be for every line to stay, and which all the same may not;
    "" where that is not known or nothing is wrong.
    """
    by = lower_bar(found)
    if not by > 0.0:
        return ""
    only = [one.line for one in found if one.lower_bar_only]
    begin = f"Nothing else works for the {listed(only)}: take a lower bar. " if only else ""
    lowest = [_least_drop(each) for each in found if each.ranked]
    stands = {one.line: one.verdict for one in lowest}
    stands |= {one.line: one.lowest.verdict for one in found if one.lowest is not None}
    wrong = _wrong(stands)
    doubted = [f"the {name}" for name, then in stands.items() if then in _DOUBTED]
    told = f"{begin}With a bar {format_length(by, unit)} lower "
    if wrong:
        told += f"{listed(wrong)}; "
    told += "every other line " if wrong else "every line "
    if doubted:
        told += f"may be long enough as it is; of {listed(doubted)} that is not sure"
    else:
        told += "could stay as it is"
    if any(one.by == by and as_low_as_stock(one.setup) for one in lowest):
        told += ". That is as low as the stock bar"
    return f"{told}."


def _wrong(stands: Mapping[str, Verdict]) -> list[str]:
    """What would be wrong, as clauses, the lines of one fault together."""
    faults: dict[str, list[str]] = {}
    for name, verdict in stands.items():
        if verdict in _THEN:
            faults.setdefault(_THEN[verdict], []).append(f"the {name}")
    return [f"{listed(names)} would {fault}" for fault, names in faults.items()]


def _least_drop(about: Remedies) -> Remedy:
    lower = [one for one in about.ranked if one.means is Means.LOWER_BAR and one.own_fits]
    return min(lower, key=lambda one: one.by)


def cap_sentence(found: Remedies, unit: str) -> str:
    """Why no length of a line is surely long enough, and what would make one so; "" where one is,
    or no length helps at all.
    """
    cap = found.cap
    if cap is None:
        return ""
    setup = found.ranked[0].setup

    def length(mm: float) -> str:
        return format_length(mm, unit)

    who = "it" if cap.line == found.line else f"the {cap.line} with it"
    told = (
        f"No length of the {found.line} is surely long enough: over {length(cap.longest)}, "
        f"{length(cap.room)} more than it needs, {who} {does_words(cap.window, unit)}"
        f"{_where(found)}"
    )
    if math.isnan(cap.known_to):
        worst = at_turn(cap.turn, setup.machine)
        return (
            f"{told}, and how far off what it needs may be is not known. Before ordering lay a "
            f"cord the way it will go and look {worst} (common practice)."
        )
    told += f", and what it needs is only known to ± {length(cap.known_to)}."
    again = listed([f"the {thing}" for thing in cap.things])
    if not again or not cap.room > 0.0:
        return told
    return (
        f"{told} Measure {again} again before ordering: once that is known to "
        f"± {length(cap.room)}, {length(cap.longest)} surely reach."
    )


def _where(found: Remedies) -> str:
    """At which pose the longest sensible length ends, and on which stretch, with a blank before."""
    cap = found.cap
    assert cap is not None
    line = found.ranked[0].setup.line(cap.line)
    pose = at_turn(cap.window.turn, None) if crosses_steering(line) else ""
    told = "".join(f" {word}" for word in (pose, travel_words(cap.window.travel)) if word)
    if cap.window.between != (line.stations[0].name, line.stations[-1].name):
        told += f" between '{cap.window.between[0]}' and '{cap.window.between[1]}'"
    return told


def cap_values(cap: Cap | None, sentence: str) -> dict[str, Any] | None:
    """For JSON: mm, degrees; what is not known is None."""
    if cap is None:
        return None
    return {
        "line": cap.line,
        "longest": known(cap.longest),
        "room": known(cap.room),
        "known_to": known(cap.known_to),
        "limit": str(cap.window.limit),
        "part": cap.window.part or None,
        "between": list(cap.window.between),
        "turn": degrees(cap.window.turn),
        "travel": known(cap.window.travel),
        "measure_again": list(cap.things),
        "sentence": sentence,
    }


def stand_values(stand: Stand | None) -> dict[str, Any] | None:
    """How a line stands with the lowest bar, for JSON: mm; what is not known is None."""
    if stand is None:
        return None
    return {
        "verdict": str(stand.verdict),
        "margin": known(stand.margin),
        "margin_sigma": known(stand.sigma),
    }
