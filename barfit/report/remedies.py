"""What can be done about a line, in words, as tables for a terminal and as plain values."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from rich import box
from rich.table import Table
from rich.text import Text

from barfit.analysis import LineFinding, Verdict
from barfit.catalogue import limit
from barfit.model import Setup
from barfit.remedies import Change, Means, Remedies, Remedy, as_low_as_stock, lower_bar
from barfit.report.phrases import capital, listed, within
from barfit.report.plain import degrees, known
from barfit.report.remedy_effects import effect_values, effects, how_text, short_effects
from barfit.report.results import RESULT_FORMAT
from barfit.report.sentences import sentence
from barfit.report.sureness import band
from barfit.units import format_angle, format_length

_ANGLES = (Means.TURN_FITTING, Means.ROLL_BAR)


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


def remedy_sentence(remedy: Remedy, unit: str) -> str:
    """What is to be done and what comes of it, in one sentence.

    "Roll the bar back 6°: margin 4 ± 9 mm; the clutch cable then is 3 mm short."
    """
    told = label(remedy, unit)
    if remedy.why_not:
        return f"{told}: no, {remedy.why_not}."
    if remedy.together:
        told += f", the {listed(list(remedy.together))} with it"
    after = _outcome(remedy, unit)
    if remedy.more_bend > limit(remedy.setup, "cable_bend_growth"):
        much = format_angle(remedy.more_bend)
        after += f"; it bends {much} more than with the stock bars, so it works harder"
    for name, margin in zip(remedy.worse, remedy.worse_margins, strict=True):
        short = "" if math.isnan(margin) else f" {format_length(-margin, unit)}"
        after += f"; the {name} then {f'is{short} short' if short else 'is worse off'}"
    for effect in effects(remedy, unit):
        after += f"; {effect}"
    return f"{told}: {after}."


def lower_bar_sentence(found: Sequence[Remedies], unit: str) -> str:
    """How much lower a bar would have to be for every line to stay; "" where that is not known or
    nothing is wrong.
    """
    by = lower_bar(found)
    if not by > 0.0:
        return ""
    only = [one.line for one in found if one.lower_bar_only]
    much = format_length(by, unit)
    begin = f"Nothing else works for the {listed(only)}: take a lower bar. " if only else ""
    lowest = [
        min(
            (one for one in each.ranked if one.means is Means.LOWER_BAR and _may(one)),
            key=lambda one: one.by,
        )
        for each in found
        if each.ranked
    ]
    unsure = [f"the {one.line}" for one in lowest if not one.cures]
    told = f"{begin}With a bar {much} lower every line could stay as it is"
    if unsure:
        told = f"{begin}With a bar {much} lower every line may be long enough as it is; "
        told += f"of {listed(unsure)} that is not sure"
    if any(one.by == by and as_low_as_stock(one.setup) for one in lowest):
        told += ". That is as low as the stock bar"
    return f"{told}."


def _may(remedy: Remedy) -> bool:
    return remedy.cures or remedy.may_cure


def nothing_sentence(found: Remedies) -> str:
    """That nothing was found that helps a line; "" where something was, or it may stay."""
    if not found.ranked or found.taken(None) is not None:
        return ""
    return (
        f"Nothing that was tried lets the {found.line} fit: another way to go, or other bars, "
        "have to be found."
    )


def gone_sentence(found: Remedies, chosen: str | None) -> str:
    """That what was ``chosen`` for a line (the key of a remedy) can no longer be done, and what
    stands in its place; "" where it can, or nothing was chosen.
    """
    if not found.ranked or not found.gone(chosen):
        return ""
    reason = next((one.why_not for one in found.ranked if one.key == chosen), "")
    because = f": {reason}" if reason else " with the setup as it now is"
    instead = "the best there is stands in its place" if found.taken(None) else "choose anew"
    return (
        f"What was chosen for the {found.line} ({key_words(chosen or '')}) cannot be done any "
        f"more{because}; {instead}."
    )


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


def remedy_table(found: Remedies, unit: str) -> Table:
    """One row per remedy that can be taken, best first."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column("What to do")
    for heading in ("Length", "Margin"):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("Then")
    best = found.taken(None)
    for remedy in found.ranked:
        if remedy.why_not:
            continue
        done = label(remedy, unit)
        if remedy.together:
            done += f", the {listed(list(remedy.together))} with it"
        table.add_row(
            Text(done, style="bold" if remedy is best else ""),
            format_length(remedy.length, unit),
            _margin(remedy, unit),
            _then(remedy, unit),
        )
    return table


def refusals(found: Remedies) -> list[str]:
    """What cannot be done and why, as phrases, those of one reason together."""
    why: dict[str, list[str]] = {}
    for remedy in found.ranked:
        if remedy.why_not:
            names = why.setdefault(remedy.why_not, [])
            name = _short(remedy)
            if name not in names:
                names.append(name)
    return [
        f"{listed([names[0], *map(within, names[1:])])}: {reason}" for reason, names in why.items()
    ]


def remedies_values(
    setup: Setup, findings: Iterable[LineFinding], found: Sequence[Remedies]
) -> dict[str, Any]:
    """All of it for JSON: lengths mm, angles degrees; what is not known is None."""
    by_line = {finding.line: finding for finding in findings}
    return {
        "result_format": RESULT_FORMAT,
        "title": setup.title,
        "machine": setup.machine.name,
        "lower_bar": known(lower_bar(found)),
        "lines": [
            {
                "line": one.line,
                "verdict": str(by_line[one.line].verdict),
                "fits": by_line[one.line].fits,
                "margin": known(by_line[one.line].margin),
                "sentence": sentence(
                    by_line[one.line], setup.line(one.line), setup.unit, setup.machine
                ),
                "best": best.key if (best := one.taken(None)) else None,
                "remedies": [remedy_values(remedy, setup.unit) for remedy in one.ranked],
            }
            for one in found
        ],
    }


def remedy_values(remedy: Remedy, unit: str) -> dict[str, Any]:
    """One remedy for JSON."""
    by = degrees(remedy.by) if remedy.means in _ANGLES else known(remedy.by)
    return {
        "key": remedy.key,
        "means": str(remedy.means),
        "change": str(remedy.change) or None,
        "at": remedy.at or None,
        "by": by,
        "label": label(remedy, unit),
        "sentence": remedy_sentence(remedy, unit),
        "verdict": str(remedy.verdict),
        "cures": remedy.cures,
        "may_cure": remedy.may_cure,
        "margin": known(remedy.margin),
        "margin_sigma": known(remedy.sigma),
        "gain": known(remedy.gain),
        "length": known(remedy.length),
        "longer": known(remedy.longer),
        "more_bend": degrees(remedy.more_bend),
        "together": list(remedy.together),
        "worse": [
            {"line": name, "margin": known(margin)}
            for name, margin in zip(remedy.worse, remedy.worse_margins, strict=True)
        ],
        "how": how_text(remedy, unit) or None,
        **effect_values(remedy),
        "why_not": remedy.why_not or None,
    }


def _led(remedy: Remedy, unit: str) -> str:
    """Clips and guides moved or left out, and other ways to go."""
    what = "clip" if remedy.means is Means.MOVE_CLIP else "guide"
    far = "" if math.isnan(remedy.by) else f" by {format_length(abs(remedy.by), unit)}"
    match remedy.change:
        case Change.DROP:
            return f"Leave out '{remedy.at}'"
        case Change.SLIDE | Change.SHIFT:
            verb = "Slide" if remedy.change is Change.SLIDE else "Move"
            return f"{verb} '{remedy.at}'{far}"
        case Change.OTHER_SIDE:
            return "Lead it past the other side of the head tube"
        case Change.OTHER_WAY:
            return f"Lead it '{remedy.at}'"
    return f"Move the {what} '{remedy.at}'"


def _turned(remedy: Remedy) -> str:
    if not remedy.at:
        return "Turn the fitting"
    much = "" if math.isnan(remedy.by) else f" by {format_angle(abs(remedy.by))}"
    if remedy.change is Change.EYE:
        return f"Clock the eye at the {remedy.at}{much}"
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


def _short(remedy: Remedy) -> str:
    """What would be done, without figures."""
    if remedy.means in (Means.MOVE_CLIP, Means.REROUTE):
        return _led(remedy, "mm").partition(" by ")[0]
    if remedy.means is Means.MOVE_CONTROL:
        return f"Move the {remedy.at}"
    return capital(str(remedy.means))


def _margin(remedy: Remedy, unit: str) -> str:
    return band(remedy.margin, 2.0 * remedy.sigma, unit, signed=True)


def _outcome(remedy: Remedy, unit: str) -> str:
    if remedy.verdict is Verdict.REACHES:
        return f"margin {_margin(remedy, unit)}"
    if remedy.margin < 0.0:
        lacks = band(-remedy.margin, 2.0 * remedy.sigma, unit)
        return f"it still lacks {lacks}"
    return f"margin {_margin(remedy, unit)}, {_SAID.get(remedy.verdict, 'but it does not fit')}"


_SAID = {
    Verdict.UNCERTAIN: "which is not sure enough before it is measured again",
    Verdict.RUBS: "but it rubs, so it needs a sleeve there",
    Verdict.TOO_LONG: "but it is then too long",
    Verdict.BEND_TOO_TIGHT: "but it bends too tightly",
    Verdict.PINCHED: "but it is pinched",
    Verdict.NOT_KNOWN: "but whether it fits is not known",
}


def _then(remedy: Remedy, unit: str) -> str:
    told = [str(remedy.verdict)]
    if remedy.more_bend > limit(remedy.setup, "cable_bend_growth"):
        told.append(f"bends {format_angle(remedy.more_bend)} more")
    for name, margin in zip(remedy.worse, remedy.worse_margins, strict=True):
        short = "worse" if math.isnan(margin) else f"{format_length(-margin, unit)} short"
        told.append(f"{name} {short}")
    told += short_effects(remedy, unit)
    return "; ".join(told)
