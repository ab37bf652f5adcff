"""`barfit film`: the sweep as a film."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated

import typer

from barfit.analysis import sweep
from barfit.commands.shared import (
    FITS,
    File,
    StockBars,
    Unusable,
    View,
    check_setup,
    known_view,
    load_setup,
    progress_bar,
    writable,
)


def film(
    file: File,
    out: Annotated[
        str | None,
        typer.Option(
            "--out", "-o", metavar="FILM", help="An .mp4 or .gif. Default: FILE.mp4 here."
        ),
    ] = None,
    view: View = "three-quarter",
    stock: StockBars = False,
    stock_ghost: Annotated[
        bool, typer.Option("--stock-ghost", help="Show the stock bars and lines behind, pale.")
    ] = False,
    size: Annotated[
        str, typer.Option(metavar="WxH", help="Width and height in pixels, even numbers.")
    ] = "1280x720",
    seconds: Annotated[float, typer.Option(help="How long one turn there and back takes.")] = 8.0,
) -> int:
    """Film a setup turned from lock to lock and back, as MP4 or GIF, without a window.

    Every picture is a solved pose, the fork at ride height; the caption names the turn and the line
    that is worst off there. The film ends as it begins, so it can be shown in a loop.
    """
    target = Path(out) if out is not None else Path(f"{Path(file).stem}.mp4")
    if stock and stock_ghost:
        raise Unusable("--stock shows the stock bars already; leave out --stock-ghost.")
    pixels = _size(size)
    known_view(view)
    from barfit.film import FilmError, refused
    from barfit.film import film as write
    from barfit.scene import PictureError

    if why := refused(target, pixels, seconds):
        raise Unusable(why)
    writable(target, "the film")
    setup = load_setup(file)
    ghost = sweep(setup, stock=True) if stock_ghost else None
    swept, checked = check_setup(setup, stock, ghost)
    try:
        with progress_bar("Drawing") as tell:
            write(
                target,
                swept,
                checked.findings,
                size=pixels,
                seconds=seconds,
                view=view,
                stock_ghost=ghost,
                unit=setup.unit,
                progress=tell,
            )
    except (FilmError, PictureError) as error:
        raise Unusable(str(error)) from None
    except OSError as error:
        raise Unusable(f"{target} cannot be written: {error.strerror or error}.") from None
    print(f"Wrote {target}: {setup.title}, lock to lock and back in {seconds:g} s.")
    return FITS


def _size(text: str) -> tuple[int, int]:
    """Width and height in pixels."""
    found = re.fullmatch(r"\s*(\d{1,5})\s*[xX×]\s*(\d{1,5})\s*", text)
    if found is None:
        raise Unusable(f"--size {text}: is not a size; give width x height in pixels: 1280x720.")
    return int(found[1]), int(found[2])
