"""What the commands share: files in, sweeps with a progress bar, and what cannot be used."""

from __future__ import annotations

import os
import sys
import time
import traceback
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn

from barfit import scenario
from barfit.analysis import LineFinding, Sweep, corrected, findings, problems, sweep
from barfit.model import Setup
from barfit.remedies import Remedies, Remedy, remedies
from barfit.report.files import not_used
from barfit.report.phrases import turn_words
from barfit.report.remarks import still_rejects
from barfit.report.results import Checked
from barfit.report.trade import remarks
from barfit.trade import Trade, trade
from barfit.units import parse_angle
from barfit.workshop import Order
from barfit.workshop.orders import taken
from barfit.workshop.together import Together, together

TOLD = "BARFIT_PROGRESS"  # set in the environment: progress in lines, for whoever started it
TRACED = "BARFIT_TRACEBACK"  # set in the environment: where a fault of the program arose, in full
FITS, MISFITS, UNUSABLE, INTERRUPTED = 0, 1, 2, 130

File = Annotated[str, typer.Argument(metavar="FILE", help="A scenario file (TOML).")]
Files = Annotated[
    list[str],
    typer.Argument(metavar="FILE", help="Scenario files (TOML), or folders of them."),
]
AsJson = Annotated[
    bool,
    typer.Option("--json", help="Print JSON for other programs, in mm and degrees: FORMAT.md."),
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


def load_setup(file: str) -> Setup:
    """The setup of a file that can be laid out. Raises ScenarioError."""
    setup = scenario.load(file)
    found = problems(setup)
    if found:
        raise scenario.ScenarioError(file, [scenario.Problem("", text) for text in found])
    return setup


def heading(setup: Setup, stock: bool) -> str:
    """Which machine and bars a table is of."""
    bars = setup.bars(stock)
    which = "stock bars" if stock else "new bars"
    return f"{setup.machine.name}, {which}: {bars.bar.name} on {bars.riser.name}"


def check_setup(
    setup: Setup, stock: bool, before: Sweep | None = None, label: str = ""
) -> tuple[Sweep, Checked]:
    """The sweep and what it means, with a progress bar where it takes long. ``before`` is the
    sweep with the stock bars where there is one already.
    """
    with progress_bar(label or "Turning lock to lock") as tell:
        swept = sweep(setup, stock=stock, progress=lambda share: tell(0.5 * share))
        found = findings(swept, progress=lambda share: tell(0.5 + 0.4 * share))
        if before is None:
            before = swept if stock else sweep(setup, stock=True)
        said = remarks(trade(swept, before, found), setup, setup.unit)
    right = corrected(swept, {one.line: one.sure.slack_by for one in found})
    return right, Checked(stock, found, said)


@dataclass(frozen=True)
class Judged:
    """A setup turned with its new bars, and what that means."""

    swept: Sweep
    checked: Checked
    trade: Trade


@dataclass(frozen=True)
class Worked:
    """A setup ``as_is``, what can be done about each line, and what is (``taken``, see
    `barfit.workshop.orders.taken`). ``together`` is the setup with all of that done at once;
    ``done`` what it then means: None where nothing is to be done, a lower bar is needed, or it
    cannot be laid out so.
    """

    setup: Setup
    as_is: Judged
    remedies: tuple[Remedies, ...]
    taken: Mapping[str, Remedy | None]
    together: Together
    done: Judged | None

    @property
    def checked(self) -> Checked:
        """What the new bars mean as it is."""
        return self.as_is.checked


def work_out(setup: Setup, label: str = "") -> Worked:
    """The new bars judged, remedies looked for and judged together, with a progress bar where it
    takes long.
    """
    with progress_bar(label or "Turning lock to lock") as tell:
        stock = sweep(setup, stock=True, progress=lambda part: tell(0.1 * part))
        swept = sweep(setup, progress=lambda part: tell(0.1 + 0.1 * part))
        found = findings(swept, progress=lambda part: tell(0.2 + 0.1 * part))
        as_is = judged(swept, stock, found)
        cures = remedies(
            swept, stock, found, as_is.trade, progress=lambda part: tell(0.3 + 0.5 * part)
        )
        decided = taken(setup, cures)
        all_done = together(setup, decided, found)
        done = None
        if all_done.setup != setup and not all_done.problems:
            after = sweep(all_done.setup, progress=lambda part: tell(0.8 + 0.1 * part))
            then = findings(after, progress=lambda part: tell(0.9 + 0.1 * part))
            done = judged(after, stock, then)
    return Worked(setup, as_is, cures, decided, all_done, done)


def judged(swept: Sweep, stock: Sweep, found: tuple[LineFinding, ...]) -> Judged:
    """New bars turned (``swept``), with what was ``found``, held against the ``stock`` ones."""
    figures = trade(swept, stock, found)
    said = remarks(figures, swept.setup, swept.setup.unit)
    return Judged(swept, Checked(False, found, said), figures)


@dataclass(frozen=True)
class OfFile:
    """What a command found out about one ``file``: how it was ``worked`` out, and what to order."""

    file: str
    worked: Worked
    order: Order

    @property
    def setup(self) -> Setup:
        """The file's setup."""
        return self.worked.setup

    @property
    def status(self) -> int:
        """As that of `check`."""
        return FITS if self.worked.checked.fits else MISFITS


def rejected_sentences(worked: Worked) -> list[str]:
    """What makes the bars unacceptable, with everything done that is to be done."""
    then = None if worked.done is None else worked.done.checked.remarks
    return [one.words() for one in still_rejects(worked.checked.remarks, then)]


def broke_off(file: str, error: Exception) -> str:
    """That a fault of the program (``error``) ended the work on a ``file``, "" where on none. Where
    it arose goes to the error stream where that is asked for.
    """
    if os.environ.get(TRACED):
        traceback.print_exception(error)
    said = " ".join(str(error).split())
    name = type(error).__name__ + (f": {said}" if said else "")
    where = f"{file}: " if file else ""
    return f"{where}barfit broke off here ({name}); please report it with the file."


def told_fault(file: str, error: Exception) -> Exception:
    """What is told of an ``error`` over a file: itself where it says what is wrong with that, or
    else, as Unusable, that the program broke off.
    """
    if isinstance(error, (scenario.ScenarioError, Unusable)):
        return error
    if isinstance(error, OSError) and (said := not_used(error)):
        return Unusable(said)
    return Unusable(broke_off(file, error))


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
    told = -1

    def tell(share: float) -> None:
        nonlocal told
        if os.environ.get(TOLD) and (percent := int(100.0 * share)) != told:
            told = percent
            say(f"{TOLD}: {label} {percent} %")
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
    print(text, file=sys.stderr, flush=True)
