"""`barfit remedies`: what can be done about each line that does not fit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import typer

from barfit.analysis import LineFinding, findings, sweep
from barfit.commands.many import answer_each
from barfit.commands.shared import (
    FITS,
    MISFITS,
    AsJson,
    Files,
    Unusable,
    judged,
    output,
    progress_bar,
)
from barfit.model import Setup
from barfit.remedies import Remedies
from barfit.remedies import remedies as solve
from barfit.report.choices import choice_sentences
from barfit.report.phrases import capital, listed
from barfit.report.remedies import (
    nothing_sentence,
    refusals,
    remedies_values,
    remedy_table,
)
from barfit.report.remedy_limits import cap_sentence, lower_bar_sentence
from barfit.report.sentences import CAUTION, sentence

_SWEPT = 0.25  # of the time


@dataclass(frozen=True)
class _Cured:
    """What can be done about the lines of a file: about all of them, or the one asked for alone.
    ``fits`` is as of `check`.
    """

    file: str
    setup: Setup
    findings: Sequence[LineFinding]
    remedies: Sequence[Remedies]
    fits: bool
    alone: bool

    @property
    def status(self) -> int:
        return FITS if self.fits else MISFITS


def remedies(
    files: Files,
    line: Annotated[
        str | None,
        typer.Option("--line", metavar="LINE", help="Show this line alone."),
    ] = None,
    as_json: AsJson = False,
) -> int:
    """What can be done about each line that does not fit, best first.

    Clips, guides, fittings, controls and the bar are moved, other lengths, extensions and splices
    tried, each turned from lock to lock again with that one thing changed: the margin shown (mm or
    inches, as the file has them) is the one it then has. What surely cures comes first, what costs
    least first among that; what the rules of the trade forbid is named with the reason. It takes a
    while: a minute for many lines. Of several files, or a folder, one line each.

    \b
    Examples:
      barfit remedies my-bike.toml
      barfit remedies my-bike.toml --line "clutch cable"
      barfit remedies garage/ --json > garage.json

    \b
    Exit status, that of check, of several files the worst:
      0  every line fits as it is
      1  some line does not, or the bars cannot be used as they are
      2  a file or an option cannot be used
    """
    return answer_each(
        files,
        as_json,
        lambda file, setup, label: _cured(file, setup, line, label),
        lambda one: {
            "file": one.file,
            **remedies_values(one.setup, one.findings, one.remedies),
        },
        _print,
        lambda one: f"{one.file}: {_summary(one)}",
    )[0]


def _cured(file: str, setup: Setup, line: str | None, label: str) -> _Cured:
    names = [one.name for one in setup.lines]
    if line is not None and line not in names:
        raise Unusable(f"--line '{line}': is not a line of {file}; known: {', '.join(names)}.")
    with progress_bar(label or "Trying remedies") as tell:
        swept, stock = sweep(setup), sweep(setup, stock=True)
        found = findings(swept, progress=lambda share: tell(_SWEPT * share))
        as_is = judged(swept, stock, found)
        every = solve(
            swept,
            stock,
            found,
            as_is.trade,
            progress=lambda share: tell(_SWEPT + (1.0 - _SWEPT) * share),
            only=line,
        )
    shown = [one for one in every if line is None or one.line == line]
    return _Cured(file, setup, found, shown, as_is.checked.fits, line is not None)


# --- what is shown -------------------------------------------------------------------------------


def _summary(one: _Cured) -> str:
    """How many lines need something, and for which nothing was found, in a few words."""
    bad = [each for each in one.remedies if each.ranked]
    if not bad:
        return "the line may stay as it is" if one.alone else "every line may stay as it is"
    best = [each.taken(None) for each in bad]
    surely = sum(remedy is not None and remedy.cures for remedy in best)
    may = [each.line for each, remedy in zip(bad, best, strict=True) if remedy and not remedy.cures]
    nothing = [each.line for each, remedy in zip(bad, best, strict=True) if remedy is None]
    count = len(bad)
    told = [f"{count} lines to see to" if count > 1 else "one line to see to"]
    if surely == count:
        told.append("each can be cured" if count > 1 else "it can be cured")
    elif surely:
        told.append(f"{surely} can be cured")
    if may:
        told.append(f"something may do for the {listed(may)}")
    if nothing:
        told.append(f"nothing found for the {listed(nothing)}")
    return "; ".join(told)


def _print(one: _Cured) -> None:
    setup, console = one.setup, output()

    def say(text: str) -> None:
        console.print(text, highlight=False, markup=False, soft_wrap=not console.is_terminal)

    say(f"{setup.machine.name}: what can be done")
    of_line = {finding.line: finding for finding in one.findings}
    for each in one.remedies:
        say("")
        say(sentence(of_line[each.line], setup.line(each.line), setup.unit, setup.machine))
        if not each.ranked:
            continue
        if any(remedy.offered for remedy in each.ranked):
            console.print(remedy_table(each, setup.unit))
        for text in choice_sentences(setup, one.remedies, [each.line]):
            say(text)
        if capped := cap_sentence(each, setup.unit):
            say(capped)
        for text in refusals(each, setup.unit):
            say(text)
        if nothing := nothing_sentence(each):
            say(capital(nothing))
    offered = [each for about in one.remedies for each in about.ranked if each.offered]
    if any(math.isnan(each.sigma) for each in offered):
        say("")
        say("± ?: how far off that margin may be is not known.")
    if not one.alone and (lower := lower_bar_sentence(one.remedies, setup.unit)):
        say("")
        say(lower)
    say("")
    say(CAUTION)
