"""`barfit check`: which lines reach, in a table, sentences or JSON; stock bars beside new ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import typer
from rich.console import Console

from barfit.analysis import Sweep
from barfit.analysis.stops import steering_stops
from barfit.commands.alternatives import check_bars, check_ways
from barfit.commands.many import answer_each
from barfit.commands.shared import (
    FITS,
    MISFITS,
    AsJson,
    Files,
    StockBars,
    Unusable,
    check_setup,
    heading,
    output,
)
from barfit.measuring import unmeasured_sentence
from barfit.model import Setup
from barfit.report.doubts import doubt_sentences
from barfit.report.headline import headline
from barfit.report.remarks import grave, worst_first
from barfit.report.results import Checked, results
from barfit.report.sentences import (
    CAUTION,
    clip_sentence,
    sentence,
    snap_sentence,
    stays_sentence,
    stops_sentence,
    window_sentence,
)
from barfit.report.sureness import found_slack_sentences, order_sentence
from barfit.report.table import check_table, compare_table, remark_table
from barfit.report.torque import torque_sentences
from barfit.report.touching import pinch_sentence, rub_sentence
from barfit.report.twist import twist_sentence

REMEDIES = (
    "What can be done about each line, which may be something else than replacing it: "
    "`barfit remedies`."
)


@dataclass(frozen=True)
class _CheckedFile:
    """A file's setup and what was found with each set of bars, the one that counts last."""

    file: str
    setup: Setup
    checked: tuple[Checked, ...]

    @property
    def status(self) -> int:
        return status_of(self.checked[-1])


def check(
    files: Files,
    as_json: AsJson = False,
    compare: Annotated[bool, typer.Option("--compare", help="Stock bars beside new ones.")] = False,
    stock: StockBars = False,
    everything: Annotated[
        bool,
        typer.Option("--all", help="Every figure beyond length, also those that are fine."),
    ] = False,
    bars: Annotated[
        bool, typer.Option("--bars", help="All bars in the file: which of them needs least.")
    ] = False,
    routings: Annotated[
        str | None,
        typer.Option("--routings", metavar="LINE", help="All ways for a line to go, in numbers."),
    ] = None,
) -> int:
    """Turn a setup lock to lock and tell which lines do not reach.

    The table has a row for each line: its length, the shortest and the longest that will do, what
    is left (± twice the standard deviation of what was measured) and where it is worst. Lengths are
    in the file's unit, mm or inches; torques in N·m. Of several files, or a folder, the top line of
    each is shown.

    \b
    Examples:
      barfit check my-bike.toml
      barfit check my-bike.toml --compare --all
      barfit check my-bike.toml --routings "clutch cable"
      barfit check garage/ --json > garage.json

    \b
    Exit status, of several files the worst:
      0  every line fits
      1  some line does not, or the bars cannot be used as they are
      2  a file or an option cannot be used

    With --compare and --bars it is that of the new bars, with --routings that of the line as it
    goes now.
    """
    if bars or routings is not None:
        others = {"--compare": compare, "--stock": stock, "--all": everything, "--bars": bars}
        option = "--bars" if routings is None else "--routings"
        for other, given in others.items():
            if given and other != option:
                raise Unusable(f"{option} shows a table of its own; leave out {other}.")
        return (
            check_bars(files, as_json) if routings is None else check_ways(files, routings, as_json)
        )
    if compare and stock:
        raise Unusable("--compare already shows the stock bars; leave out --stock.")
    which = (True, False) if compare else (stock,)
    return answer_each(
        files,
        as_json,
        lambda file, setup, label: _checked(file, setup, which, label),
        lambda one: {"file": one.file, **results(one.setup, one.checked)},
        lambda one: _print(one, everything),
        lambda one: f"{one.file}: {_top_line(one.setup, one.checked[-1])}",
    )[0]


def _checked(file: str, setup: Setup, which: tuple[bool, ...], label: str) -> _CheckedFile:
    checked = []
    before: Sweep | None = None
    for stock in which:
        swept, one = check_setup(setup, stock, before, label)
        before = swept if stock else before
        checked.append(one)
    return _CheckedFile(file, setup, tuple(checked))


def status_of(checked: Checked) -> int:
    """The exit status that says whether every line fits."""
    return FITS if checked.fits else MISFITS


def _top_line(setup: Setup, checked: Checked) -> str:
    return headline(checked.findings, checked.remarks, setup).words


def _print(one: _CheckedFile, everything: bool) -> None:
    if len(one.checked) == 1:
        print_check(one.setup, one.checked[0], everything)
        return
    before, after = one.checked
    console = output()
    for stock in (True, False):
        console.print(heading(one.setup, stock), highlight=False)
    console.print(compare_table(before.findings, after.findings, one.setup.unit))
    _print_sentences(console, one.setup, after, everything)


def print_check(setup: Setup, checked: Checked, everything: bool = False) -> None:
    """The table, the sentences, and with ``everything`` each figure beyond length."""
    console = output()
    console.print(heading(setup, checked.stock), highlight=False)
    console.print(check_table(setup, checked.findings))
    _print_sentences(console, setup, checked, everything)


def _print_sentences(console: Console, setup: Setup, checked: Checked, everything: bool) -> None:
    """The top line, what the file can hardly mean, a sentence for each line that does
    not fit, what is to be said beyond length (everything, or what needs minding), and what to mind.
    """
    found = checked.findings
    unmeasured = unmeasured_sentence(setup, found)
    told = [*filter(None, (unmeasured,)), *doubt_sentences(setup, checked.stock)]
    top = headline(found, checked.remarks, setup)
    stops = steering_stops(found, setup.lines)
    stopped = stops_sentence(stops, setup.machine)
    if stopped and not stops.ahead and stopped[1:-1] not in top.words:
        told.append(stopped)
    for finding in found:
        line = setup.line(finding.line)
        if not finding.fits:
            told.append(sentence(finding, line, setup.unit, setup.machine))
        more = (
            order_sentence(finding, line, setup.unit),
            stays_sentence(finding, line, setup.unit),
            clip_sentence(finding, line, setup.unit),
            window_sentence(finding, line, setup.unit),
            snap_sentence(finding, line, setup.machine),
            pinch_sentence(finding, line, setup.unit, setup.machine),
            rub_sentence(finding, line, setup.unit, setup.machine),
        )
        told += [text for text in more if text and text not in told]
        told += found_slack_sentences(finding, line, setup.unit)
        if twisted := twist_sentence(finding):
            told.append(twisted)
    said_of = worst_first(checked.remarks) if everything else grave(checked.remarks)
    # of all figures the table below tells the bare ones
    bare = (lambda _: "") if everything else (lambda one: one.figure(setup.unit))
    told += filter(None, (remark.words() or bare(remark) for remark in said_of))
    if not checked.stock and not all(finding.fits for finding in found):
        told.append(REMEDIES)
    said = [top.words, *told, *torque_sentences(found), ""]
    for text in said:
        console.print(text, highlight=False, markup=False, soft_wrap=not console.is_terminal)
    if everything:
        console.print(remark_table(checked.remarks, setup.unit, checked.stock))
    elif rest := len(checked.remarks) - len(said_of):
        text = f"{rest} more figure{'s' * (rest > 1)} beyond length: --all shows them."
        console.print(text, "", highlight=False, markup=False, sep="\n")
    console.print(CAUTION, highlight=False, markup=False, soft_wrap=not console.is_terminal)
