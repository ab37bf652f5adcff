"""`barfit export`: the designer's data."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from barfit.analysis import sweep
from barfit.commands.shared import (
    FITS,
    File,
    StockBars,
    Turn,
    Unusable,
    asked_turn,
    load_setup,
    progress_bar,
    within_locks,
    writable,
)
from barfit.export import write_csv, write_npz
from barfit.report.files import not_written
from barfit.report.phrases import turn_words


def export(
    file: File,
    csv: Annotated[
        str | None,
        typer.Option("--csv", metavar="DIR", help="Two tables into a folder, made if need be."),
    ] = None,
    npz: Annotated[
        str | None, typer.Option("--npz", metavar="FILE", help="NumPy arrays in one .npz file.")
    ] = None,
    gltf: Annotated[
        str | None,
        typer.Option("--gltf", metavar="FILE", help="One pose as a model: a binary glTF, .glb."),
    ] = None,
    turn: Turn = "0",
    stock: StockBars = False,
) -> int:
    """Write the sweep as data: every line's centreline and numbers, and the scene as a model.

    Tables and arrays hold every pose, with units in their headings: slack, smallest radius,
    tension, and the points of each centreline. What is not known is empty or nan. The model
    (glTF 2.0, metres, y up) is of the pose at --turn, with a node for each line.
    """
    if csv is None and npz is None and gltf is None:
        raise Unusable("Say what to write: --csv DIR, --npz FILE or --gltf FILE.")
    angle = asked_turn(turn)
    if csv is not None:
        folder = Path(csv)
        if folder.exists() and not folder.is_dir():
            raise Unusable(f"{folder} is a file; name a folder for the tables.")
        if not folder.parent.is_dir():
            raise Unusable(f"{folder}: there is no folder {folder.parent}.")
    for text, ending, what in ((npz, ".npz", "arrays are"), (gltf, ".glb", "the model is")):
        if text is None:
            continue
        if Path(text).suffix.lower() != ending:
            raise Unusable(f"{text}: {what} written as {ending}; end its name in that.")
        writable(Path(text), what.rpartition(" ")[0])
    setup = load_setup(file)
    within_locks(setup, angle, turn)
    with progress_bar("Turning lock to lock") as tell:
        swept = sweep(setup, stock=stock, progress=tell)
    wrote: list[str] = []
    target = ""  # a full disk does not say of which file it was
    try:
        if csv is not None:
            target = csv
            wrote += [str(path) for path in write_csv(swept, Path(csv))]
        if npz is not None:
            target = npz
            write_npz(swept, Path(npz))
            wrote.append(npz)
        if gltf is not None:
            from barfit.scene.gltf import scene_glb

            model = scene_glb(swept, angle)
            target = gltf
            Path(gltf).write_bytes(model)
            wrote.append(f"{gltf} ({turn_words(angle)})")
    except OSError as error:
        raise Unusable(not_written(error.filename or target, error)) from None
    print("\n".join(f"Wrote {one}." for one in wrote))
    return FITS
