"""What the commands share: files in, sweeps with a progress bar, and what cannot be used."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn

from barfit import scenario
from barfit.analysis import Sweep, corrected, findings, problems, sweep
from barfit.model import Setup
from barfit.remedies import Remedies, Remedy, remedies
from barfit.report.phrases import turn_words
from barfit.report.remarks import worst_first
from barfit.report.results import RESULT_FORMAT, Checked
from barfit.report.trade import remarks
from barfit.trade import Grade, Trade, trade
from barfit.units import parse_angle
from barfit.workshop.orders import taken
from barfit.workshop.together import Together, together, together_findings

FITS, MISFITS, UNUSABLE, INTERRUPTED = 0, 1, 2, 130

File = Annotated[str, typer.Argument(metavar="FILE", help="A scenario file (TOML).")]
Files = Annotated[
    list[str],
    typer.Argument(metavar="FILE...", help="Scenario files (TOML), or folders of them."),
]
Turn = Annotated[
    str,
    typer.Option(metavar="DEG", help="Turn of the bar, left positive: 24, -24, '24 right'."),
]
View = Annotated[
    str,
    typer.Option(help="Where to look from: rider, front, left, right, top or three-quarter."),
]
StockBars = Annotated[bool, typer.Option("--stock", help="With the stock bars, not the new ones.")]


class Unusable(Exception):
    """Input that cannot be used; the text is a sentence for the user."""


def scenario_files(given: Sequence[str]) -> list[str]:
    """The scenario files that are meant, those of folders by name, each once."""
    found: dict[str, None] = {}
    for one in given:
        if not Path(one).is_dir():
            found[one] = None
            continue
        inside = sorted(str(path) for path in Path(one).glob("*.toml"))
        if not inside:
            raise Unusable(f"{one}: there is no scenario file (.toml) in this folder.")
        found |= dict.fromkeys(inside)
    return list(found)


def load_setup(file: str) -> Setup:
    """The setup of a file that can be laid out. Raises ScenarioError."""
    setup = scenario.load(file)
    found = problems(setup)
    if found:
        raise scenario.ScenarioError(file, [scenario.Problem("", text) for text in found])
    return setup


def check_setup(setup: Setup, stock: bool, before: Sweep | None = None) -> tuple[Sweep, Checked]:
    """The sweep and what it means, with a progress bar where it takes long. ``before`` is the
    sweep with the stock bars where there is one already.
    """
    with progress_bar("Turning lock to lock") as tell:
        swept = sweep(setup, stock=stock, progress=lambda share: tell(0.5 * share))
        found = findings(swept, progress=lambda share: tell(0.5 + 0.4 * share))
        if before is None:
            before = swept if stock else sweep(setup, stock=True)
        said = remarks(trade(swept, before, found), setup, setup.unit)
    right = corrected(swept, {one.line: one.sure.slack_by for one in found})
    return right, Checked(stock, found, said)


@dataclass(frozen=True)
class Worked:
    """A setup with its new bars judged, what can be done about each line, and what is (see
    `barfit.workshop.orders.taken`). ``done`` is the judgement with all of that done at once, with
    ``together`` what was judged: None where nothing is to be done, or a lower bar is needed.
    ``after`` is the sweep of that, and ``figures`` those of the trade; else as they are.
    """

    setup: Setup
    swept: Sweep
    checked: Checked
    trade: Trade
    remedies: tuple[Remedies, ...]
    taken: Mapping[str, Remedy | None]
    together: Together
    done: Checked | None
    after: Sweep
    figures: Trade


def work_out(setup: Setup, label: str = "Turning lock to lock") -> Worked:
    """The new bars judged, remedies looked for and judged together, with a progress bar where it
    takes long.
    """
    with progress_bar(label) as tell:
        stock = sweep(setup, stock=True, progress=lambda part: tell(0.1 * part))
        swept = sweep(setup, progress=lambda part: tell(0.1 + 0.1 * part))
        found = findings(swept, progress=lambda part: tell(0.2 + 0.1 * part))
        figures = trade(swept, stock, found)
        checked = Checked(False, found, remarks(figures, setup, setup.unit))
        cures = remedies(swept, stock, found, figures, progress=lambda part: tell(0.3 + 0.5 * part))
        decided = taken(setup, cures)
        all_done = together(setup, decided, found)
        done, after, since = None, swept, figures
        if (new := all_done.setup) != setup:
            after = sweep(new, progress=lambda part: tell(0.8 + 0.1 * part))
            then = together_findings(setup, stock, after)
            since = trade(after, stock, then)
            done = Checked(False, then, remarks(since, new, new.unit))
    return Worked(setup, swept, checked, figures, cures, decided, all_done, done, after, since)


def rejected_sentences(worked: Worked) -> list[str]:
    """What makes the bars unacceptable, with everything done that is to be done."""
    said = (worked.done or worked.checked).remarks
    return [one.words() for one in worst_first(said) if one.judged.grade is Grade.REJECT]


def failure_values(error: scenario.ScenarioError) -> dict[str, Any]:
    """The problems of a file that cannot be used, for JSON."""
    return {
        "result_format": RESULT_FORMAT,
        "file": error.name,
        "problems": [
            {"place": found.place or None, "message": found.message, "hint": found.hint or None}
            for found in error.problems
        ],
    }


def known_view(view: str) -> None:
    """Refuses a view that is not known, before anything is computed."""
    from barfit.scene import VIEWS

    if view not in VIEWS:
        raise Unusable(f"--view {view}: is not a view; known: {', '.join(VIEWS)}.")


def asked_turn(text: str) -> float:
    """The angle in rad that --turn asks for."""
    words = text.strip().lower()
    sign = 1.0
    for side, factor in (("left", 1.0), ("right", -1.0)):
        if words.endswith(side):
            words, sign = words.removesuffix(side).strip(), factor
    try:
        return sign * parse_angle(words if "°" in words or "rad" in words else float(words))
    except ValueError:
        raise Unusable(
            f"--turn {text}: is not an angle; give degrees like 24, -24 or '24 right'."
        ) from None


def within_locks(setup: Setup, angle: float, text: str) -> None:
    """Refuses an angle (rad), asked for as ``text``, to which the bar does not turn."""
    machine = setup.machine
    if not -machine.lock_right - 1e-9 <= angle <= machine.lock_left + 1e-9:
        raise Unusable(
            f"--turn {text}: the bar turns from {turn_words(-machine.lock_right)} to "
            f"{turn_words(machine.lock_left)}."
        )


def writable(target: Path, what: str) -> None:
    """Refuses a place where no file can be, before anything is computed. ``what`` is written."""
    if target.is_dir():
        raise Unusable(f"{target} is a folder; name a file for {what}.")
    if not target.parent.is_dir():
        raise Unusable(f"{target}: there is no folder {target.parent}.")


@contextmanager
def progress_bar(label: str) -> Iterator[Callable[[float], None]]:
    """Hands out a function that takes the share done; shows a bar when it takes over a second."""
    console = Console(stderr=True)
    bar = Progress(
        TextColumn(label),
        BarColumn(),
        TextColumn("{task.percentage:>3.0f} %"),
        console=console,
        transient=True,
    )
    task = bar.add_task(label, total=1.0)
    started = time.monotonic()

    def tell(share: float) -> None:
        if not console.is_terminal:
            return
        bar.update(task, completed=share)
        if not bar.live.is_started and time.monotonic() - started > 1.0:
            bar.start()

    try:
        yield tell
    finally:
        if bar.live.is_started:
            bar.stop()


def output() -> Console:
    """Standard output, wide enough for the table where it is not a terminal."""
    return Console() if sys.stdout.isatty() else Console(width=120)


def say(text: str) -> None:
    """One line on the error stream."""
    print(text, file=sys.stderr)
