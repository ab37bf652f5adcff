"""The commands. Window and drawing libraries are imported only by what needs them."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated, NoReturn

import typer

import barfit
from barfit import scenario
from barfit.commands.check import check, print_check, status_of
from barfit.commands.export import export
from barfit.commands.film import film
from barfit.commands.many import targets
from barfit.commands.order import order
from barfit.commands.picture import picture, worst_turn, write_picture
from barfit.commands.plan import plan
from barfit.commands.remedies import remedies
from barfit.commands.shared import (
    FITS,
    INTERRUPTED,
    UNUSABLE,
    File,
    Unusable,
    check_setup,
    load_setup,
    say,
    told_fault,
)
from barfit.commands.sheet import sheet
from barfit.display import no_display
from barfit.report.phrases import turn_words

# What a wrong command line raises. Typer brings click along under a name that depends on its
# version; this one does not.
_UsageError: type[Exception] = typer.BadParameter.__mro__[1]

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
        if status == INTERRUPTED:  # typer makes that of Ctrl-C and says nothing
            say("Stopped.")
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


app.command()(check)
app.command()(picture)
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
    print_check(setup, checked)
    (target,) = targets([str(path)], None, (".png",), "picture")
    turn = worst_turn(setup, checked.findings)
    write_picture(target, swept, checked.findings, turn)
    print(f"\nWrote {target}: {turn_words(turn)}.")
    return status_of(checked)
