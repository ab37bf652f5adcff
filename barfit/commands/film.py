"""`barfit film`: the sweep as a film."""

from __future__ import annotations

import re
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Annotated

import typer

from barfit.analysis import Cancelled, sweep
from barfit.commands.many import for_each, scenario_files, targets
from barfit.commands.shared import (
    Files,
    StockBars,
    Unusable,
    View,
    check_setup,
    known_view,
    progress_bar,
)
from barfit.model import Setup
from barfit.report.files import not_written

# the words of `barfit.film.Fork`, which is imported with everything that draws only when needed
FORKS = ("ride-height", "extended", "compressed", "bounce")


def film(
    files: Files,
    out: Annotated[
        str | None,
        typer.Option(
            "--out",
            "-o",
            metavar="FILM",
            help="An .mp4 or .gif; of several files a folder. Default: FILE.mp4 here.",
        ),
    ] = None,
    view: View = "three-quarter",
    stock: StockBars = False,
    stock_ghost: Annotated[
        bool, typer.Option("--stock-ghost", help="Show the stock bars and lines behind, pale.")
    ] = False,
    fork: Annotated[
        str,
        typer.Option(help=f"How the fork stands: {', '.join(FORKS)} (at each lock)."),
    ] = FORKS[0],
    captions: Annotated[
        bool, typer.Option(help="Turn and worst line written into the picture, or no words.")
    ] = True,
    size: Annotated[
        str, typer.Option(metavar="WxH", help="Width and height in pixels, even numbers.")
    ] = "1280x720",
    seconds: Annotated[float, typer.Option(help="How long one turn there and back takes.")] = 8.0,
) -> int:
    """Film a setup turned from lock to lock and back, as MP4 or GIF, without a window.

    Every picture is a solved pose. The caption names the turn and the line that is worst off
    there. The film ends as it begins, so it can be shown in a loop. Of several files, or a folder,
    one film each; what is wrong with one keeps none of the others back.

    \b
    Examples:
      barfit film my-bike.toml --fork bounce
      barfit film my-bike.toml --stock-ghost --size 1920x1080 -o turn.mp4
      barfit film garage/ -o films/

    \b
    Exit status:
      0  every film was written
      2  a file or an option cannot be used, or nothing can be written there
    """
    paths = scenario_files(files)
    places = targets(paths, out, (".mp4", ".gif"), "film")
    if stock and stock_ghost:
        raise Unusable("--stock shows the stock bars already; leave out --stock-ghost.")
    if fork not in FORKS:
        raise Unusable(f"--fork {fork}: is not known; known: {', '.join(FORKS)}.")
    pixels = _size(size)
    known_view(view)
    from barfit.film import FilmError, Fork, refused
    from barfit.film import film as write
    from barfit.scene import PictureError

    if why := refused(places[0], pixels, seconds):
        raise Unusable(why)

    def made(number: int, setup: Setup, label: str) -> None:
        target = places[number]
        ghost = sweep(setup, stock=True) if stock_ghost else None
        swept, checked = check_setup(setup, stock, ghost, label)
        try:
            with (
                progress_bar(f"{label}: drawing" if label else "Drawing") as tell,
                _stopping() as stopped,
            ):
                write(
                    target,
                    swept,
                    checked.findings,
                    size=pixels,
                    seconds=seconds,
                    view=view,
                    stock_ghost=ghost,
                    fork=Fork(fork),
                    captions=captions,
                    unit=setup.unit,
                    progress=tell,
                    cancelled=stopped,
                )
        except Cancelled:
            raise KeyboardInterrupt from None
        except (FilmError, PictureError) as error:
            raise Unusable(str(error)) from None
        except OSError as error:
            raise Unusable(not_written(target, error)) from None
        told = f"lock to lock and back in {seconds:g} s"
        print(f"Wrote {target}: {setup.title}, {told}.", flush=True)

    return for_each(paths, made)


@contextmanager
def _stopping() -> Iterator[Callable[[], bool]]:
    """Hands out whether Ctrl-C was pressed since. As an exception it may arise in a call-back of
    the drawing library, which swallows it, and the film goes on.
    """
    pressed = threading.Event()
    before = signal.signal(signal.SIGINT, lambda *_: pressed.set())
    try:
        yield pressed.is_set
    finally:
        signal.signal(signal.SIGINT, before or signal.SIG_DFL)


def _size(text: str) -> tuple[int, int]:
    """Width and height in pixels."""
    found = re.fullmatch(r"\s*(\d{1,5})\s*[xX×]\s*(\d{1,5})\s*", text)
    if found is None:
        raise Unusable(f"--size {text}: is not a size; give width x height in pixels: 1280x720.")
    return int(found[1]), int(found[2])
