"""`barfit check` with what may be had instead: every set of bars of a file, every way of a line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from barfit import compare as comparing
from barfit import scenario
from barfit.analysis import problems
from barfit.commands.many import answer_each
from barfit.commands.shared import (
    FITS,
    MISFITS,
    Unusable,
    heading,
    output,
    progress_bar,
)
from barfit.compare.words import (
    bars_table,
    bars_values,
    least_sentence,
    rejected_sentences,
    stay_text,
    ways_table,
    ways_values,
)
from barfit.model import Setup
from barfit.report.sentences import CAUTION


@dataclass(frozen=True)
class _BarsOfFile:
    """A file's setup and what each set of its bars means, those in use first."""

    file: str
    setup: Setup
    columns: Sequence[comparing.BarsNumbers]

    @property
    def status(self) -> int:
        return FITS if self.columns[0].fits else MISFITS


@dataclass(frozen=True)
class _WaysOfFile:
    """A file's setup and what each way of its ``line`` means, the one in use first."""

    file: str
    setup: Setup
    line: str
    ways: Sequence[comparing.WayNumbers]

    @property
    def status(self) -> int:
        return FITS if self.ways[0].fits else MISFITS


def check_bars(files: Sequence[str], as_json: bool) -> int:
    """Every set of bars of each file, line by line, and which of them needs least."""
    return answer_each(
        files,
        as_json,
        _bars,
        lambda one: {"file": one.file, **bars_values(one.setup, one.columns)},
        _print_bars,
        lambda one: f"{one.file}: {_bars_line(one.columns)}",
    )[0]


def check_ways(files: Sequence[str], line: str, as_json: bool) -> int:
    """Every way for one line of each file to go, number by number."""
    return answer_each(
        files,
        as_json,
        lambda file, setup, label: _ways(file, setup, line, label),
        lambda one: {"file": one.file, **ways_values(one.setup, one.line, one.ways)},
        _print_ways,
        lambda one: f"{one.file}: {_ways_line(one)}",
    )[0]


def _trials(choices: Sequence[tuple[str, Setup]], label: str) -> list[comparing.Trial]:
    """Each of these setups judged, with a progress bar where it takes long."""
    found = []
    with progress_bar(label or "Turning lock to lock") as tell:
        for done, (_, setup) in enumerate(choices):

            def progress(share: float, done: int = done) -> None:
                tell((done + share) / len(choices))

            found.append(comparing.judge(setup, progress))
    return found


def _bars(file: str, setup: Setup, label: str) -> _BarsOfFile:
    choices = comparing.bars(setup)
    _usable(file, choices, "bars")
    judged = zip(choices, _trials(choices, label), strict=True)
    columns = comparing.ranked(
        [comparing.bars_numbers(one, name, name == setup.new.title) for (name, _), one in judged]
    )
    return _BarsOfFile(file, setup, columns)


def _ways(file: str, setup: Setup, line: str, label: str) -> _WaysOfFile:
    names = [one.name for one in setup.lines]
    if line not in names:
        raise Unusable(f"--routings '{line}': is not a line of {file}; known: {', '.join(names)}.")
    choices = comparing.ways(setup, line)
    _usable(file, choices, f"lines.{line}.routings")
    trials = _trials(choices, label)
    numbers = [
        comparing.way_numbers(trial, line, name, done == 0)
        for done, ((name, _), trial) in enumerate(zip(choices, trials, strict=True))
    ]
    return _WaysOfFile(file, setup, line, numbers)


def _usable(file: str, choices: Sequence[tuple[str, Setup]], place: str) -> None:
    """Refuses alternatives that cannot be laid out, all of them at once."""
    found = [
        scenario.Problem(place, f"'{name}': {text}")
        for name, setup in choices
        for text in problems(setup)
    ]
    if found:
        raise scenario.ScenarioError(file, found)


# --- what is shown -------------------------------------------------------------------------------


def _bars_line(columns: Sequence[comparing.BarsNumbers]) -> str:
    said = least_sentence(columns)
    return said if said and len(columns) > 1 else f"one set of bars; {stay_text(columns[0])} stay"


def _ways_line(one: _WaysOfFile) -> str:
    told = [f"{way.name} ({way.verdict})" for way in one.ways]
    return f"{one.line}: {', '.join(told)}"


def _print_bars(one: _BarsOfFile) -> None:
    setup, columns, console = one.setup, one.columns, output()
    console.print(f"{setup.machine.name}: bars to fit", highlight=False, markup=False)
    console.print(bars_table(columns, setup.unit))
    for text in (least_sentence(columns), *rejected_sentences(columns), "", CAUTION):
        console.print(text, highlight=False, markup=False, soft_wrap=not console.is_terminal)


def _print_ways(one: _WaysOfFile) -> None:
    console = output()
    title = f"{heading(one.setup, False)}\nWays for the {one.line} to go"
    console.print(title, highlight=False, markup=False)
    console.print(ways_table(one.ways, one.setup.unit))
    for way in one.ways:
        for why in way.rejected:
            console.print(f"'{way.name}': {why}", highlight=False, markup=False)
    console.print(CAUTION, highlight=False, markup=False, soft_wrap=not console.is_terminal)
