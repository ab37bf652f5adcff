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
from barfit.remedies import FIRST_LOOK, Means, Remedies, Remedy, lower_bar
from barfit.report.phrases import listed, within
from barfit.report.plain import degrees, known
from barfit.report.remedy_effects import effect_values, effects, how_text, short_effects
from barfit.report.remedy_labels import key_words, label, short_label
from barfit.report.remedy_limits import cap_sentence, cap_values, stand_values
from barfit.report.results import RESULT_FORMAT
from barfit.report.sentences import sentence
from barfit.report.sureness import band
from barfit.units import format_angle, format_length

_ANGLES = (Means.TURN_FITTING, Means.ROLL_BAR)


def remedy_sentence(remedy: Remedy, unit: str) -> str:
    """What is to be done and what comes of it, in one sentence.

    "Roll the bar back 6°: margin 4 ± 9 mm; the clutch cable then is 3 mm short."
    """
    told = label(remedy, unit)
    if remedy.why_not:
        return f"{told}: no, {remedy.why_not}."
    if not remedy.offered:
        return f"{told}: {why_words(remedy, unit)}."
    if remedy.together:
        told += f", the {listed(list(remedy.together))} with it"
    after = _outcome(remedy, unit)
    if remedy.more_bend > limit(remedy.setup, "cable_bend_growth"):
        much = format_angle(remedy.more_bend)
        after += f"; it bends {much} more than with the stock bars, so it works harder"
    for name, margin in zip(remedy.worse, remedy.worse_margins, strict=True):
        after += (
            f"; whether the {name} then fits is not known"
            if math.isnan(margin)
            else f"; the {name} then is about {format_length(-margin, unit)} short"
        )
    for effect in effects(remedy, unit):
        after += f"; {effect}"
    return f"{told}: {after}."


def nothing_sentence(found: Remedies) -> str:
    """That nothing was found that helps a line; "" where something was, or it may stay."""
    if not found.ranked or found.taken(None) is not None:
        return ""
    if any(one.offered and one.bent_before for one in found.ranked):
        return (
            f"Nothing that was tried lets the {found.line} fit: it bends more tightly than it may "
            "with the stock bars already. Measure that place again, and look at it on the machine."
        )
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
    reason = next(
        (one.why_not or "it is not enough" for one in found.ranked if one.key == chosen), ""
    )
    because = f": {reason}" if reason else " with the setup as it now is"
    instead = "the best there is stands in its place" if found.taken(None) else "choose anew"
    return (
        f"What was chosen for the {found.line} ({key_words(chosen or '')}) cannot be done any "
        f"more{because}; {instead}."
    )


def remedy_table(found: Remedies, unit: str) -> Table:
    """One row per remedy that can be taken, best first."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column("What to do")
    for heading in ("Length", "Margin"):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("Then")
    best = found.taken(None)
    for remedy in found.ranked:
        if not remedy.offered:
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


def why_words(remedy: Remedy, unit: str) -> str:
    """Why a remedy cannot be taken, as a phrase; "" where it can.

    What surely does not suffice says what it gains and still lacks: about, by a first look.
    """
    if remedy.offered or remedy.why_not:
        return remedy.why_not
    if not remedy.margin < 0.0:
        return _NO.get(remedy.verdict, "whether it then fits is not known")
    looked = f", by a first look (± {format_length(FIRST_LOOK, unit)})" if remedy.first_look else ""
    return f"not enough{looked}: {_gains(remedy, unit)}"


def refusals(found: Remedies, unit: str) -> list[str]:
    """What is not enough and what it gains, and what cannot be done and why, as sentences; those of
    one reason together.
    """
    told = []
    for look, lead in ((False, "Not enough"), (True, "Not enough, by a first look")):
        gains = [
            f"{label(one, unit)}, {_gains(one, unit)}"
            for one in found.ranked
            if not one.offered and not one.why_not and one.margin < 0.0 and one.first_look is look
        ]
        if gains:
            within_mm = f" (± {format_length(FIRST_LOOK, unit)})" if look else ""
            told.append(f"{lead}{within_mm}: {'; '.join([gains[0], *map(within, gains[1:])])}.")
    why: dict[str, list[str]] = {}
    for remedy in found.ranked:
        if remedy.offered or (not remedy.why_not and remedy.margin < 0.0):
            continue
        names = why.setdefault(why_words(remedy, unit), [])
        name = short_label(remedy) if remedy.why_not else label(remedy, unit)
        if name not in names:
            names.append(name)
    for reason, names in why.items():
        told.append(f"Not: {listed([names[0], *map(within, names[1:])])}: {reason}.")
    return told


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
                "no_sure_length": cap_values(one.cap, cap_sentence(one, setup.unit)),
                "with_lowest_bar": stand_values(one.lowest),
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
        "offered": remedy.offered,
        "first_look": remedy.first_look,
        "verdict": str(remedy.verdict),
        "cures": remedy.cures,
        "may_cure": remedy.may_cure,
        "bent_before": remedy.bent_before,
        "margin": known(remedy.margin),
        "margin_sigma": known(remedy.sigma),
        "gain": known(remedy.gain),
        "length": known(remedy.length),
        "longer": known(remedy.longer),
        "more_bend": degrees(remedy.more_bend),
        "together": list(remedy.together),
        "too_long": list(remedy.too_long),
        "worse": [
            {"line": name, "margin": known(margin)}
            for name, margin in zip(remedy.worse, remedy.worse_margins, strict=True)
        ],
        "how": how_text(remedy, unit) or None,
        **effect_values(remedy),
        "why_not": why_words(remedy, unit) or None,
    }


def _margin(remedy: Remedy, unit: str) -> str:
    return _within(remedy.margin, remedy, unit, signed=True)


def _within(mm: float, remedy: Remedy, unit: str, signed: bool = False) -> str:
    """A length with how far off it may be, where that is not known too: "12 ± ? mm"."""
    if not math.isnan(remedy.sigma):
        return band(mm, 2.0 * remedy.sigma, unit, signed)
    if math.isnan(mm):
        return format_length(mm, unit)
    return f"{format_length(mm, unit, with_unit=False, signed=signed)} ± ? {unit}"


def _gains(remedy: Remedy, unit: str) -> str:
    """What a remedy that does not suffice gains: "gains 9 mm, still lacks 11 ± 11 mm".

    However little is known of that, its slack alone may surely be too little.
    """
    lacks = (
        format_length(-remedy.margin, unit)
        if remedy.first_look
        else _within(-remedy.margin, remedy, unit)
    )
    if not remedy.first_look and not 2.0 * remedy.sigma <= -remedy.margin:
        lacks += " (that its slack is too little is sure)"
    gains = "" if math.isnan(remedy.gain) else f"gains {format_length(remedy.gain, unit)}, "
    return f"{gains}still lacks {lacks}"


def _outcome(remedy: Remedy, unit: str) -> str:
    if remedy.verdict is Verdict.REACHES:
        return f"margin {_margin(remedy, unit)}"
    if remedy.margin < 0.0:
        lacks = _within(-remedy.margin, remedy, unit)
        return f"it then lacks {lacks}, so whether it fits is uncertain"
    said = _SAID.get(remedy.verdict, "but it does not fit")
    if remedy.verdict is Verdict.UNCERTAIN and math.isnan(remedy.sigma):
        said = "and how far off that may be is not known"
    return f"margin {_margin(remedy, unit)}, {said}"


_SAID = {
    Verdict.UNCERTAIN: "which is not sure enough before it is measured again",
    Verdict.RUBS: "but it rubs, so it needs a sleeve there",
    Verdict.BEND_TOO_TIGHT: "but it bends more tightly than it may, as it does with the stock bars",
}
_NO = {
    Verdict.TOO_LONG: "it is then too long",
    Verdict.BEND_TOO_TIGHT: "it then bends too tightly",
    Verdict.PINCHED: "it is then pinched",
}


def _then(remedy: Remedy, unit: str) -> str:
    told = [str(remedy.verdict)]
    if remedy.bent_before:
        told[0] += ", as with the stock bars"
    if remedy.more_bend > limit(remedy.setup, "cable_bend_growth"):
        told.append(f"bends {format_angle(remedy.more_bend)} more")
    for name, margin in zip(remedy.worse, remedy.worse_margins, strict=True):
        short = f"about {format_length(-margin, unit)} short"
        told.append(f"{name} {'not known' if math.isnan(margin) else short}")
    told += short_effects(remedy, unit)
    return "; ".join(told)
