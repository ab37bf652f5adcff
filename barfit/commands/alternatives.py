"""`barfit check` with what may be had instead: every set of bars of a file, every way of a line."""

from __future__ import annotations

import json
from collections.abc import Sequence

from barfit import compare as comparing
from barfit import scenario
from barfit.analysis import problems
from barfit.commands.shared import (
    FITS,
    MISFITS,
    UNUSABLE,
    Unusable,
    asked,
    heading,
    output,
    progress_bar,
)
from barfit.compare.words import (
    bars_table,
    bars_values,
    least_sentence,
    rejected_sentences,
    ways_table,
    ways_values,
)
from barfit.model import Setup
from barfit.report.sentences import (
    CAUTION,
)


def _trials(choices: Sequence[tuple[str, Setup]]) -> list[comparing.Trial]:
    """Each of these setups judged, with a progress bar where it takes long."""
    found = []
    with progress_bar("Turning lock to lock") as tell:
        for done, (_, setup) in enumerate(choices):

            def progress(share: float, done: int = done) -> None:
                tell((done + share) / len(choices))

            found.append(comparing.judge(setup, progress))
    return found


def check_bars(file: str, as_json: bool) -> int:
    """Every set of bars of a file, line by line, and which of them needs least."""
    setup = asked(file, as_json)
    if setup is None:
        return UNUSABLE
    choices = comparing.bars(setup)
    _usable(file, choices, "bars")
    judged = zip(choices, _trials(choices), strict=True)
    columns = comparing.ranked(
        [comparing.bars_numbers(one, name, name == setup.new.title) for (name, _), one in judged]
    )
    if as_json:
        print(json.dumps(bars_values(setup, columns), ensure_ascii=False, indent=2))
    else:
        console = output()
        console.print(f"{setup.machine.name}: bars to fit", highlight=False, markup=False)
        console.print(bars_table(columns, setup.unit))
        for text in (least_sentence(columns), *rejected_sentences(columns), "", CAUTION):
            console.print(text, highlight=False, markup=False, soft_wrap=not console.is_terminal)
    return FITS if columns[0].fits else MISFITS


def check_ways(file: str, line: str, as_json: bool) -> int:
    """Every way for one line to go, number by number."""
    setup = asked(file, as_json)
    if setup is None:
        return UNUSABLE
    names = [one.name for one in setup.lines]
    if line not in names:
        raise Unusable(f"--routings '{line}': is not a line of {file}; known: {', '.join(names)}.")
    choices = comparing.ways(setup, line)
    _usable(file, choices, f"lines.{line}.routings")
    numbers = [
        comparing.way_numbers(trial, line, name, done == 0)
        for done, ((name, _), trial) in enumerate(zip(choices, _trials(choices), strict=True))
    ]
    if as_json:
        print(json.dumps(ways_values(setup, line, numbers), ensure_ascii=False, indent=2))
    else:
        console = output()
        title = f"{heading(setup, False)}\nWays for the {line} to go"
        console.print(title, highlight=False, markup=False)
        console.print(ways_table(numbers, setup.unit))
        for way in numbers:
            for why in way.rejected:
                console.print(f"'{way.name}': {why}", highlight=False, markup=False)
        console.print(CAUTION, highlight=False, markup=False, soft_wrap=not console.is_terminal)
    return FITS if numbers[0].fits else MISFITS


def _usable(file: str, choices: Sequence[tuple[str, Setup]], place: str) -> None:
    """Refuses alternatives that cannot be laid out, all of them at once."""
    found = [
        scenario.Problem(place, f"'{name}': {text}")
        for name, setup in choices
        for text in problems(setup)
    ]
    if found:
        raise scenario.ScenarioError(file, found)
