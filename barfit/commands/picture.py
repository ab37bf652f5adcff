"""`barfit picture`: one pose as a PNG, without a window."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from barfit.analysis import LineFinding, Sweep
from barfit.analysis.stops import crosses_steering
from barfit.commands.many import for_each, scenario_files, targets
from barfit.commands.shared import (
    Files,
    StockBars,
    Turn,
    Unusable,
    View,
    asked_turn,
    check_setup,
    known_view,
    within_locks,
)
from barfit.model import Setup
from barfit.report.files import not_written
from barfit.report.phrases import turn_words
from barfit.report.sentences import varies


def picture(
    files: Files,
    turn: Turn = "0",
    out: Annotated[
        str | None,
        typer.Option(
            "--out",
            "-o",
            metavar="PNG",
            help="A .png; of several files a folder. Default: FILE.png here.",
        ),
    ] = None,
    stock: StockBars = False,
    width: Annotated[int, typer.Option(help="Width in pixels.")] = 1600,
    height: Annotated[int, typer.Option(help="Height in pixels.")] = 1000,
    view: View = "three-quarter",
) -> int:
    """Draw a setup at one turn angle into a PNG, without a window.

    Lines are coloured by their slack in that pose. Of several files, or a folder, one picture each;
    what is wrong with one keeps none of the others back.

    \b
    Examples:
      barfit picture my-bike.toml --turn 24
      barfit picture my-bike.toml --turn "24 right" --view rider -o right.png
      barfit picture garage/ -o pictures/

    \b
    Exit status:
      0  every picture was written
      2  a file or an option cannot be used, or nothing can be written there
    """
    paths = scenario_files(files)
    places = targets(paths, out, (".png",), "picture")
    angle = asked_turn(turn)
    for name, size in (("--width", width), ("--height", height)):
        if not 100 <= size <= 8000:
            raise Unusable(f"{name} {size} is outside 100 to 8000 pixels.")
    known_view(view)

    def made(number: int, setup: Setup, label: str) -> None:
        target = places[number]
        within_locks(setup, angle, turn)
        swept, checked = check_setup(setup, stock, label=label)
        write_picture(target, swept, checked.findings, angle, size=(width, height), view=view)
        print(f"Wrote {target}: {setup.title}, {turn_words(angle)}.", flush=True)

    return for_each(paths, made)


def write_picture(
    target: Path,
    swept: Sweep,
    found: Sequence[LineFinding],
    turn: float,
    **options: Any,
) -> None:
    """Draw one pose into a PNG; ``options`` as of `barfit.scene.picture`. Raises Unusable."""
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


def worst_turn(setup: Setup, found: Sequence[LineFinding]) -> float:
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
