"""`barfit remedies`: what can be done about each line that does not fit."""

from __future__ import annotations

import json
from typing import Annotated

import typer

from barfit.analysis import findings, sweep
from barfit.commands.shared import (
    FITS,
    MISFITS,
    File,
    Unusable,
    load_setup,
    output,
    progress_bar,
)
from barfit.remedies import remedies as solve
from barfit.report.phrases import capital
from barfit.report.remedies import (
    gone_sentence,
    lower_bar_sentence,
    nothing_sentence,
    refusals,
    remedies_values,
    remedy_table,
)
from barfit.report.sentences import CAUTION, sentence
from barfit.trade import trade
from barfit.workshop.orders import chosen_for

_SWEPT = 0.25  # of the time


def remedies(
    file: File,
    line: Annotated[
        str | None,
        typer.Option("--line", metavar="LINE", help="Show this line alone."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for other programs.")] = False,
) -> int:
    """What can be done about each line that does not fit, best first.

    Clips, guides, fittings, controls and the bar are moved, other lengths, extensions and splices
    tried, each turned from lock to lock again with that one thing changed: the margin shown is the
    one it then has. What surely cures comes first, what costs least first among that; what the
    rules of the trade forbid is named with the reason. It takes a while: a minute for many lines.

    Exit status: 0 every line fits, 1 some line does not, 2 the file cannot be used.
    """
    setup = load_setup(file)
    names = [one.name for one in setup.lines]
    if line is not None and line not in names:
        raise Unusable(f"--line '{line}': is not a line of {file}; known: {', '.join(names)}.")
    with progress_bar("Trying remedies") as tell:
        swept, stock = sweep(setup), sweep(setup, stock=True)
        found = findings(swept, progress=lambda share: tell(_SWEPT * share))
        figures = trade(swept, stock, found)
        every = solve(
            swept,
            stock,
            found,
            figures,
            progress=lambda share: tell(_SWEPT + (1.0 - _SWEPT) * share),
            only=line,
        )
    fits = all(finding.fits for finding in found)
    shown = [one for one in every if line is None or one.line == line]
    if as_json:
        print(json.dumps(remedies_values(setup, found, shown), ensure_ascii=False, indent=2))
        return FITS if fits else MISFITS
    console = output()

    def say(text: str) -> None:
        console.print(text, highlight=False, markup=False, soft_wrap=not console.is_terminal)

    say(f"{setup.machine.name}: what can be done")
    of_line = {finding.line: finding for finding in found}
    for one in shown:
        say("")
        say(sentence(of_line[one.line], setup.line(one.line), setup.unit, setup.machine))
        if not one.ranked:
            continue
        if any(remedy.offered for remedy in one.ranked):
            console.print(remedy_table(one, setup.unit))
        if gone := gone_sentence(one, chosen_for(setup, one.line)):
            say(gone)
        for text in refusals(one, setup.unit):
            say(text)
        if nothing := nothing_sentence(one):
            say(capital(nothing))
    if line is None and (lower := lower_bar_sentence(every, setup.unit)):
        say("")
        say(lower)
    say("")
    say(CAUTION)
    return FITS if fits else MISFITS
