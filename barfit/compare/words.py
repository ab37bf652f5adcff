"""Comparisons in words, as tables for a terminal, and as plain values for JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from rich import box
from rich.table import Table
from rich.text import Text

from barfit.analysis import LineFinding, Verdict
from barfit.analysis.stops import Stop
from barfit.compare.bars import BarsNumbers
from barfit.compare.ways import WayNumbers
from barfit.model import Setup
from barfit.report.headline import gist
from barfit.report.phrases import capital, listed, turn_words
from barfit.report.plain import degrees, known
from barfit.report.results import RESULT_FORMAT
from barfit.report.sureness import band
from barfit.report.table import verdict_text
from barfit.units import format_angle, format_length

ROWS = {  # of a comparison of two ways: the field it is judged by, and its term
    "verdict": "Verdict",
    "needed": "Needed",
    "margin": "Margin",
    "slack": "Least slack",
    "min_radius": "Smallest radius",
    "total_bend": "Total bend",
    "rubs": "Rubs, pinched",
    "stops": "Goes tight",
    "rejected": "Not acceptable",
}


def way_text(way: WayNumbers, field: str, unit: str) -> str:
    """One number of a way to go as text."""
    if field == "verdict":
        return str(way.verdict)
    if field == "margin":
        return band(way.margin, way.two_sigma, unit, signed=True)
    if field == "total_bend":
        return "–" if math.isnan(way.total_bend) else format_angle(way.total_bend)
    if field == "rubs":
        said = [f"rubs on the {way.rubs[0]}"] if len(way.rubs) == 1 else []
        said += [f"rubs on {len(way.rubs)} parts"] if len(way.rubs) > 1 else []
        said += [f"pinched in {way.pinches} place{'s' * (way.pinches > 1)}"] if way.pinches else []
        return ", ".join(said) or ("touches only" if way.touches else "no")
    if field == "rejected":
        deep = f", {format_length(way.depth, unit)} deep" if way.depth >= 0.5 else ""
        return f"{len(way.rejected)} of its figures{deep}" if way.rejected else "nothing"
    if field == "stops":
        turns = [stop.turn for stop in (way.stops.right, way.stops.left) if stop is not None]
        if any(turn == 0.0 for turn in turns):
            return "straight ahead"
        return listed([turn_words(turn, 1) for turn in turns]) if turns else "nowhere"
    return format_length(getattr(way, field), unit)


def ways_table(numbers: Sequence[WayNumbers], unit: str) -> Table:
    """One row a number, one column a way to go."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column("")
    for way in numbers:
        table.add_column(f"{capital(way.name)}{chr(10)}{'in use' if way.used else ''}")
    table.add_row("Installed", *(format_length(way.installed, unit) for way in numbers))
    for field, term in ROWS.items():
        table.add_row(term, *(way_text(way, field, unit) for way in numbers))
    return table


def bars_table(columns: Sequence[BarsNumbers], unit: str) -> Table:
    """One row a line with its verdict and margin, one column a set of bars; what they need below"""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column(f"Line\nmargins in {unit}")
    for one in columns:
        table.add_column(f"{capital(one.name)}\n{'the new bars' if one.used else ''}")
    for row, found in enumerate(columns[0].findings):
        table.add_row(found.line, *(_cell(one, one.findings[row], unit) for one in columns))
    table.add_section()
    table.add_row("Lines that stay", *(str(one.stay) for one in columns))
    table.add_row("need another length", *(str(one.change) for one in columns))
    table.add_row("need another way", *(str(one.move) for one in columns))
    table.add_row("uncertain or not known", *(str(one.unsure) for one in columns))
    table.add_row("Lacking altogether", *(lacking_text(one, unit) for one in columns))
    table.add_row("Rank (1 needs least)", *(rank_text(one) for one in columns))
    return table


def _cell(one: BarsNumbers, found: LineFinding, unit: str) -> Text:
    refused = found.line in dict(one.refused)
    margin = band(found.margin, found.sure.two_sigma, unit, signed=True).removesuffix(f" {unit}")
    if found.verdict is Verdict.BEND_TOO_TIGHT and math.isnan(found.margin):
        margin = "at any length"
    return Text.assemble(verdict_text(found), f"  {margin}{', not acceptable' * refused}")


def lacking_text(one: BarsNumbers, unit: str) -> str:
    """What all lines that are too short lack together; where it is nothing only if the uncertain
    ones reach, that.
    """
    if one.unsure and one.lacking < 0.5:
        return "uncertain"
    return "not known" if math.isnan(one.lacking) else format_length(one.lacking, unit)


def rank_text(one: BarsNumbers) -> str:
    """The rank of a set of bars, and that it is not acceptable."""
    return f"{one.rank}, not acceptable" if not one.acceptable else str(one.rank)


def need_words(one: BarsNumbers) -> str:
    """What a set of bars needs, in a few words: "3 stay, 4 change, 1 unsure"."""
    parts = (
        (one.stay, "stay"),
        (one.change, "change"),
        (one.move, "move"),
        (one.unsure, "unsure"),
    )
    return ", ".join(f"{count} {word}" for count, word in parts if count)


def stay_text(one: BarsNumbers) -> str:
    """How many lines stay, from how many surely do to how many may: "3 of 8", "3–5 of 8"."""
    most = one.stay + one.unsure
    stay = f"{one.stay}–{most}" if one.unsure else str(one.stay)
    return f"{stay} of {len(one.findings)}"


def least_sentence(columns: Sequence[BarsNumbers]) -> str:
    """Which bars need least, after what is not acceptable; "" where there is but one set and
    nothing forbids it.
    """
    banned = _banned_sentence(columns)
    if len(columns) < 2:
        return banned
    first = [one for one in columns if one.rank == 1]
    if len(first) == len(columns):
        return " ".join(filter(None, (banned, "All of these bars need as much.")))
    names = listed([f"'{one.name}'" for one in first])
    count, unsure = len(first[0].findings), first[0].unsure
    alone = len(first) == 1
    stay = "every line stays" if first[0].stay == count else f"{first[0].stay} of {count} stay"
    if unsure:
        stay = f"{first[0].stay} of {count} surely stay, {unsure} may or may not"
    told = f"{names} {'needs' if alone else 'need'} least: {stay}."
    return " ".join(filter(None, (banned, told)))


def _banned_sentence(columns: Sequence[BarsNumbers]) -> str:
    """Which bars are not acceptable as they are, and why where that is but one of them."""
    banned = [one for one in columns if not one.acceptable]
    if not banned:
        return ""
    if len(banned) == len(columns) > 1:
        return "None of these bars is acceptable as it is."
    names = listed([f"'{one.name}'" for one in banned])
    if len(banned) > 1:
        return f"Not acceptable as they are: {names}."
    line, why = next(iter((*banned[0].refused, *(("", why) for why in banned[0].rejected))))
    return f"{names} is not acceptable as it is: {gist(why, line)}."


def rejected_sentences(columns: Sequence[BarsNumbers]) -> list[str]:
    """Why bars are not acceptable but for lengths, a sentence each, that of lines first."""
    return [
        f"'{one.name}': {why}"
        for one in columns
        for why in (*(why for _, why in one.refused), *one.rejected)
    ]


def ways_values(setup: Setup, line: str, numbers: Sequence[WayNumbers]) -> dict[str, Any]:
    """The ways of a line for JSON: lengths mm, angles degrees, None where not known."""
    return {
        "result_format": RESULT_FORMAT,
        "title": setup.title,
        "machine": setup.machine.name,
        "line": line,
        "routings": [_way_values(way) for way in numbers],
    }


def _way_values(way: WayNumbers) -> dict[str, Any]:
    return {
        "routing": way.name,
        "in_use": way.used,
        "verdict": str(way.verdict),
        "installed": known(way.installed),
        "needed": known(way.needed),
        "margin": known(way.margin),
        "margin_sigma": known(0.5 * way.two_sigma),
        "slack": known(way.slack),
        "min_radius": known(way.min_radius),
        "allowed_radius": known(way.allowed_radius),
        "total_bend": degrees(way.total_bend),
        "touches": list(way.touches),
        "rubs": list(way.rubs),
        "pinches": way.pinches,
        "not_acceptable": list(way.rejected),
        "tight_right": _stop(way.stops.right),
        "tight_left": _stop(way.stops.left),
    }


def _stop(stop: Stop | None) -> dict[str, Any] | None:
    if stop is None:
        return None
    return {"turn": degrees(stop.turn), "travel": known(stop.travel)}


def bars_values(setup: Setup, columns: Sequence[BarsNumbers]) -> dict[str, Any]:
    """All sets of bars for JSON: lengths mm, None where not known."""
    return {
        "result_format": RESULT_FORMAT,
        "title": setup.title,
        "machine": setup.machine.name,
        "compared": [
            {
                "bars": one.name,
                "in_use": one.used,
                "rank": one.rank,
                "fits": one.fits,
                "not_acceptable": [*(why for _, why in one.refused), *one.rejected],
                "stay": one.stay,
                "change": one.change,
                "move": one.move,
                "unsure": one.unsure,
                "lacking": known(one.lacking),
                "lines": [
                    {
                        "line": found.line,
                        "verdict": str(found.verdict),
                        "fits": found.fits and found.line not in dict(one.refused),
                        "margin": known(found.margin),
                        "margin_sigma": known(found.sure.sigma),
                    }
                    for found in one.findings
                ],
            }
            for one in columns
        ],
    }
