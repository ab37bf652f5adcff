"""`barfit picture`: one pose as a PNG, without a window."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from barfit.analysis import LineFinding, Sweep
from barfit.analysis.stops import crosses_steering
from barfit.commands.shared import (
    FITS,
    File,
    StockBars,
    Turn,
    Unusable,
    View,
    asked_turn,
    check_setup,
    known_view,
    load_setup,
    within_locks,
    writable,
)
from barfit.model import Setup
from barfit.report.files import not_written
from barfit.report.phrases import turn_words
from barfit.report.sentences import (
    varies,
)


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
    target = picture_target(out, file)
    angle = asked_turn(turn)
    for name, size in (("--width", width), ("--height", height)):
        if not 100 <= size <= 8000:
            raise Unusable(f"{name} {size} is outside 100 to 8000 pixels.")
    setup = load_setup(file)
    within_locks(setup, angle, turn)
    known_view(view)
    swept, checked = check_setup(setup, stock)
    write_picture(target, swept, checked.findings, angle, size=(width, height), view=view)
    print(f"Wrote {target}: {setup.title}, {turn_words(angle)}.")
    return FITS


def picture_target(out: str | None, file: str) -> Path:
    """Where a picture goes: a PNG in a folder that is there and can be written."""
    target = Path(out) if out is not None else Path(f"{Path(file).stem}.png")
    if target.suffix.lower() != ".png":
        raise Unusable(f"{target}: a picture is written as PNG; end its name in .png.")
    writable(target, "the picture")
    return target


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
