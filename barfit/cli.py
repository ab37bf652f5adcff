"""The commands. Window and drawing libraries are imported only by what needs them."""

from __future__ import annotations

import json
import math
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer
from rich.console import Console

import barfit
from barfit import compare as comparing
from barfit import scenario
from barfit.analysis import LineFinding, Sweep, problems
from barfit.analysis.stops import crosses_steering, steering_stops
from barfit.commands.export import export
from barfit.commands.film import film
from barfit.commands.order import order
from barfit.commands.plan import plan
from barfit.commands.remedies import remedies
from barfit.commands.shared import (
    FITS,
    INTERRUPTED,
    MISFITS,
    UNUSABLE,
    File,
    StockBars,
    Turn,
    Unusable,
    View,
    asked_turn,
    check_setup,
    failure_values,
    known_view,
    load_setup,
    output,
    progress_bar,
    say,
    told_fault,
    within_locks,
    writable,
)
from barfit.commands.sheet import sheet
from barfit.compare.words import (
    bars_table,
    bars_values,
    least_sentence,
    rejected_sentences,
    ways_table,
    ways_values,
)
from barfit.display import no_display
from barfit.measuring import unmeasured_sentence
from barfit.model import Setup
from barfit.report.doubts import doubt_sentences
from barfit.report.files import not_written
from barfit.report.headline import headline
from barfit.report.phrases import turn_words
from barfit.report.remarks import grave, worst_first
from barfit.report.results import Checked, results
from barfit.report.sentences import (
    CAUTION,
    clip_sentence,
    sentence,
    snap_sentence,
    stays_sentence,
    stops_sentence,
    varies,
    window_sentence,
)
from barfit.report.sureness import found_slack_sentences, order_sentence
from barfit.report.table import check_table, compare_table, remark_table
from barfit.report.torque import torque_sentences
from barfit.report.touching import pinch_sentence, rub_sentence
from barfit.report.twist import twist_sentence

# What a wrong command line raises. Typer brings click along under a name that depends on its
# version; this one does not.
_UsageError: type[Exception] = typer.BadParameter.__mro__[1]

REMEDIES = (
    "What can be done about each line, which may be something else than replacing it: "
    "`barfit remedies`."
)

app = typer.Typer(
    help="Will a motorcycle's cables, hoses and harnesses still reach with other handlebars?",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def main() -> NoReturn:
    """Runs the command line and exits with its status."""
    for stream in (sys.stdout, sys.stderr):  # a terminal without ° must not stop a check
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Runs one command and returns its exit status. Bad input is told on stderr, in a sentence."""
    try:
        status = app(arguments, prog_name="barfit", standalone_mode=False)
        return status if isinstance(status, int) else FITS
    except (scenario.ScenarioError, Unusable) as error:
        say(str(error))
    except _UsageError as error:
        say(error.format_message())  # type: ignore[attr-defined]
        context = getattr(error, "ctx", None)
        if context is not None:
            say(context.get_usage())
    except (typer.Abort, KeyboardInterrupt):
        say("Stopped.")
        return INTERRUPTED
    except BrokenPipeError:  # whoever read the output has gone
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except Exception as error:  # a person sees a sentence, whatever went wrong
        say(str(told_fault("", error)))
    return UNUSABLE


@app.callback(invoke_without_command=True)
def start(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False,
) -> int:
    """Without a command: open the window on a bundled scenario."""
    if version:
        print(f"barfit {barfit.__version__}")
    elif context.invoked_subcommand is None:
        return _window(None)
    return FITS


@app.command("open")
def open_file(file: File) -> int:
    """Open the window on a scenario file."""
    return _window(Path(file))


@app.command()
def check(
    file: File,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for other programs.")] = False,
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

    Exit status: 0 every line fits, 1 some line does not or the bars cannot be used as they are, 2
    the file cannot be used. With --compare and --bars the status is that of the new bars, with
    --routings that of the line as it goes now.
    """
    if bars or routings is not None:
        others = {"--compare": compare, "--stock": stock, "--all": everything, "--bars": bars}
        option = "--bars" if routings is None else "--routings"
        for other, given in others.items():
            if given and other != option:
                raise Unusable(f"{option} shows a table of its own; leave out {other}.")
        return _check_bars(file, as_json) if routings is None else _ways(file, routings, as_json)
    if compare and stock:
        raise Unusable("--compare already shows the stock bars; leave out --stock.")
    if as_json:
        return _check_json(file, (True, False) if compare else (stock,))
    setup = load_setup(file)
    if compare:
        return _compare(setup, everything)
    checked = check_setup(setup, stock)[1]
    _print_check(setup, checked, everything)
    return _status(checked)


@app.command()
def picture(
    file: File,
    turn: Turn = "0",
    out: Annotated[
        str | None, typer.Option("--out", "-o", metavar="PNG", help="Default: FILE.png here.")
    ] = None,
    stock: StockBars = False,
    width: Annotated[int, typer.Option(help="Width in pixels.")] = 1600,
    height: Annotated[int, typer.Option(help="Height in pixels.")] = 1000,
    view: View = "three-quarter",
) -> int:
    """Draw a setup at one turn angle into a PNG, without a window."""
    target = _target(out, file)
    angle = asked_turn(turn)
    for name, size in (("--width", width), ("--height", height)):
        if not 100 <= size <= 8000:
            raise Unusable(f"{name} {size} is outside 100 to 8000 pixels.")
    setup = load_setup(file)
    within_locks(setup, angle, turn)
    known_view(view)
    swept, checked = check_setup(setup, stock)
    _write_picture(target, swept, checked.findings, angle, size=(width, height), view=view)
    print(f"Wrote {target}: {setup.title}, {turn_words(angle)}.")
    return FITS


app.command()(film)
app.command()(export)
app.command()(sheet)
app.command()(order)
app.command()(remedies)
app.command()(plan)


@app.command()
def bench(
    accuracy: Annotated[
        bool, typer.Option("--accuracy", help="Every check against the outside instead of speed.")
    ] = False,
    repeats: Annotated[int, typer.Option(help="How often to time; the median counts.")] = 5,
) -> int:
    """Measure the solver's speed on this computer, or check its accuracy."""
    if not 1 <= repeats <= 1000:
        raise Unusable(f"--repeats {repeats} is outside 1 to 1000.")
    from barfit.bench import main as run_bench

    return run_bench(accuracy, repeats)


def _bundled() -> Path:
    """The bundled scenario to begin with."""
    path = scenario.first()
    if path is None:
        raise Unusable("No bundled scenario was found; name a file: barfit open FILE.")
    return path


def _status(checked: Checked) -> int:
    return FITS if checked.fits else MISFITS


def _print_check(setup: Setup, checked: Checked, everything: bool = False) -> None:
    console = output()
    console.print(_heading(setup, checked.stock), highlight=False)
    console.print(check_table(setup, checked.findings))
    _print_sentences(console, setup, checked, everything)


def _compare(setup: Setup, everything: bool) -> int:
    swept, before = check_setup(setup, True)
    after = check_setup(setup, False, swept)[1]
    console = output()
    for stock in (True, False):
        console.print(_heading(setup, stock), highlight=False)
    console.print(compare_table(before.findings, after.findings, setup.unit))
    _print_sentences(console, setup, after, everything)
    return _status(after)


def _trials(choices: Sequence[tuple[str, Setup]]) -> list[comparing.Trial]:
    """Each of these setups judged, with a progress bar where it takes long."""
    found = []
    with progress_bar("Turning lock to lock") as tell:
        for done, (_, setup) in enumerate(choices):

            def progress(share: float, done: int = done) -> None:
                tell((done + share) / len(choices))

            found.append(comparing.judge(setup, progress))
    return found


def _check_bars(file: str, as_json: bool) -> int:
    """Every set of bars of a file, line by line, and which of them needs least."""
    setup = _asked(file, as_json)
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


def _ways(file: str, line: str, as_json: bool) -> int:
    """Every way for one line to go, number by number."""
    setup = _asked(file, as_json)
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
        heading = f"{_heading(setup, False)}\nWays for the {line} to go"
        console.print(heading, highlight=False, markup=False)
        console.print(ways_table(numbers, setup.unit))
        for way in numbers:
            for why in way.rejected:
                console.print(f"'{way.name}': {why}", highlight=False, markup=False)
        console.print(CAUTION, highlight=False, markup=False, soft_wrap=not console.is_terminal)
    return FITS if numbers[0].fits else MISFITS


def _asked(file: str, as_json: bool) -> Setup | None:
    """The setup of a file; None where it cannot be used and JSON was to say why."""
    try:
        return load_setup(file)
    except scenario.ScenarioError as error:
        if not as_json:
            raise
        print(json.dumps(failure_values(error), ensure_ascii=False, indent=2))
        say(str(error))
        return None


def _usable(file: str, choices: Sequence[tuple[str, Setup]], place: str) -> None:
    """Refuses alternatives that cannot be laid out, all of them at once."""
    found = [
        scenario.Problem(place, f"'{name}': {text}")
        for name, setup in choices
        for text in problems(setup)
    ]
    if found:
        raise scenario.ScenarioError(file, found)


def _print_sentences(console: Console, setup: Setup, checked: Checked, everything: bool) -> None:
    """The top line, what the file can hardly mean, a sentence for each line that does
    not fit, what is to be said beyond length (everything, or what needs minding), and what to mind.
    """
    found = checked.findings
    unmeasured = unmeasured_sentence(setup, found)
    told = [*filter(None, (unmeasured,)), *doubt_sentences(setup, checked.stock)]
    top = headline(found, checked.remarks, setup)
    stopped = stops_sentence(steering_stops(found, setup.lines), setup.machine)
    if stopped and stopped[1:-1] not in top.words:
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


def _heading(setup: Setup, stock: bool) -> str:
    bars = setup.bars(stock)
    which = "stock bars" if stock else "new bars"
    return f"{setup.machine.name}, {which}: {bars.bar.name} on {bars.riser.name}"


def _check_json(file: str, which: tuple[bool, ...]) -> int:
    """Prints the results, or the problems of the file, as JSON."""
    setup = _asked(file, True)
    if setup is None:
        return UNUSABLE
    checked = []
    before: Sweep | None = None
    for stock in which:
        swept, one = check_setup(setup, stock, before)
        before = swept if stock else before
        checked.append(one)
    print(json.dumps(results(setup, checked), ensure_ascii=False, indent=2, allow_nan=False))
    return _status(checked[-1])


def _window(given: Path | None) -> int:
    """The window on a file or, with none, on a bundled scenario.

    Where there is no display: the check and a picture instead.
    """
    missing = no_display()
    if not missing:
        from barfit.ui.app import run as run_window

        return run_window(given)
    print(f"{missing}, so here is the check and a picture instead of the window.\n")
    path = given or _bundled()
    setup = load_setup(str(path))
    swept, checked = check_setup(setup, False)
    _print_check(setup, checked)
    target = _target(None, str(path))
    turn = _worst_turn(setup, checked.findings)
    _write_picture(target, swept, checked.findings, turn)
    print(f"\nWrote {target}: {turn_words(turn)}.")
    return _status(checked)


def _worst_turn(setup: Setup, found: Sequence[LineFinding]) -> float:
    """The turn angle at which the line that feels the turn most is worst off; else 0."""
    feels = [
        finding
        for finding in found
        if math.isfinite(finding.slack)
        and varies(finding)
        and crosses_steering(setup.line(finding.line))
    ]
    worst = min(feels, key=lambda finding: finding.slack - finding.least, default=None)
    return worst.worst_turn if worst else 0.0


def _target(out: str | None, file: str) -> Path:
    """Where a picture goes: a PNG in a folder that is there and can be written."""
    target = Path(out) if out is not None else Path(f"{Path(file).stem}.png")
    if target.suffix.lower() != ".png":
        raise Unusable(f"{target}: a picture is written as PNG; end its name in .png.")
    writable(target, "the picture")
    return target


def _write_picture(
    target: Path,
    swept: Sweep,
    found: Sequence[LineFinding],
    turn: float,
    **options: Any,
) -> None:
    from barfit.scene import PictureError
    from barfit.scene import picture as draw

    try:
        png = draw(swept, found, turn, unit=swept.setup.unit, **options)
    except PictureError as error:
        raise Unusable(str(error)) from None
    try:
        target.write_bytes(png)
    except OSError as error:
        raise Unusable(not_written(target, error)) from None
