"""Findings as tables for a terminal."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich import box
from rich.table import Table
from rich.text import Text

from barfit.analysis import LineFinding, Verdict
from barfit.analysis.stops import crosses_steering
from barfit.model import Line, Setup
from barfit.report.phrases import capital, turn_words
from barfit.report.remarks import Remark
from barfit.report.sentences import varies
from barfit.report.sureness import band
from barfit.trade import Grade, Judged
from barfit.units import format_length

# Colour comes on top of the word, never instead of it.
_STYLES = {
    Verdict.REACHES: "green",
    Verdict.RUBS: "yellow",
    Verdict.UNCERTAIN: "yellow",
    Verdict.MARGINAL: "bold yellow",
    Verdict.TOO_LONG: "cyan",
    Verdict.BEND_TOO_TIGHT: "magenta",
    Verdict.PINCHED: "bold red",
    Verdict.SHORT: "bold red",
    Verdict.NOT_KNOWN: "bold",
}


_GRADES = {
    Grade.NOTE: "dim",
    Grade.FINE: "green",
    Grade.NOT_KNOWN: "bold",
    Grade.CAUTION: "bold yellow",
    Grade.REJECT: "bold red",
}


def check_table(setup: Setup, findings: Sequence[LineFinding]) -> Table:
    """One row per line: verdict, lengths, the worst angle, the smallest radius against allowed.

    From the needed to the longest length is what is sensible.
    """
    unit = setup.unit
    table = _table()
    table.add_column("\nVerdict", no_wrap=True)
    for heading in (f"Installed\n{unit}", "Needed–\nlongest", f"Margin\n{unit}"):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("\nWorst at")
    table.add_column(f"Min. radius\n/ allowed, {unit}", justify="right", no_wrap=True)
    for finding in findings:
        table.add_row(
            finding.line,
            verdict_text(finding),
            number_text(finding.installed, unit),
            window_text(finding, unit),
            margin_text(finding, unit),
            _worst(finding, setup.line(finding.line)),
            " / ".join(number_text(r, unit) for r in (finding.min_radius, finding.allowed_radius)),
        )
    return table


def compare_table(stock: Sequence[LineFinding], new: Sequence[LineFinding], unit: str) -> Table:
    """Stock bars against new bars, one row per line, in the same order."""
    table = _table()
    table.add_column(f"Installed\n{unit}", justify="right", no_wrap=True)
    for bars in ("Stock bars", "New bars"):
        table.add_column(f"{bars}\nverdict", no_wrap=True)
        table.add_column(f"Margin\n{unit}", justify="right", no_wrap=True)
    table.add_column(f"Needed\n{unit}", justify="right", no_wrap=True)
    for before, after in zip(stock, new, strict=True):
        table.add_row(
            after.line,
            number_text(after.installed, unit),
            verdict_text(before),
            margin_text(before, unit),
            verdict_text(after),
            margin_text(after, unit),
            number_text(after.needed, unit),
        )
    return table


def remark_table(remarks: Sequence[Remark], unit: str, stock: bool = False) -> Table:
    """One row per figure beyond length: what it is now, with the stock bars, and its limit.

    Those of the ``stock`` bars themselves are not told twice.
    """
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for heading in ("About", "Figure"):
        table.add_column(heading)
    for heading in ("Value", "Limit") if stock else ("Value", "Stock bars", "Limit"):
        table.add_column(heading, justify="right", no_wrap=True)
    for heading in ("At", "Verdict"):
        table.add_column(heading, no_wrap=True)
    about = None
    for remark in remarks:
        head = capital(remark.about) or str(remark.topic)
        table.add_row(
            "" if head == about else head,
            remark.label,
            remark.value_text(unit),
            *(() if stock else (remark.stock_text(unit),)),
            remark.limit_text(unit),
            _pose(remark.judged),
            Text(str(remark.grade), style=_GRADES[remark.grade]),
        )
        about = head
    return table


def verdict_text(finding: LineFinding) -> Text:
    """The verdict's word in its colour."""
    return Text(str(finding.verdict), style=_STYLES[finding.verdict])


def _table() -> Table:
    """An empty table with its first column; where it is narrow, names break before numbers do."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column("\nLine")
    return table


def _worst(finding: LineFinding, line: Line) -> str:
    """The pose that decides its verdict: a turn angle, and the fork where it matters."""
    if math.isnan(finding.slack):
        return "–"
    if finding.verdict is Verdict.BEND_TOO_TIGHT and crosses_steering(line):
        return turn_words(finding.radius_turn)
    travel = finding.worst_travel
    fork = _fork(travel)
    if not varies(finding):
        return "every turn"
    if not crosses_steering(line):
        return f"fork {fork}" if fork else "every turn"
    turn = turn_words(finding.worst_turn)
    return f"{turn}, {fork}" if fork else turn


def _pose(judged: Judged) -> str:
    """The pose of a figure beyond length; "" where it hangs on none."""
    if judged.turn is None:
        return ""
    fork = _fork(judged.travel or 0.0)
    return f"{turn_words(judged.turn)}, {fork}" if fork else turn_words(judged.turn)


def _fork(travel: float) -> str:
    """Where the fork is, in short; "" at ride height."""
    return "" if abs(travel) < 0.5 else "compressed" if travel > 0 else "extended"


def margin_text(finding: LineFinding, unit: str) -> str:
    """The margin and the band it is in."""
    return band(finding.margin, finding.sure.two_sigma, unit, signed=True).removesuffix(f" {unit}")


def window_text(finding: LineFinding, unit: str) -> str:
    """Needed and longest length; the needed one alone where nothing limits the other."""
    needed, window = number_text(finding.needed, unit), finding.window
    if window is None or not math.isfinite(window.longest):
        return needed
    return f"{needed}–{number_text(window.longest, unit)}"


def number_text(mm: float, unit: str, signed: bool = False) -> str:
    """A length without its unit, which stands in the heading."""
    return format_length(mm, unit, with_unit=False, signed=signed)
