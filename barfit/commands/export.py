"""`barfit export`: the designer's data."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from barfit.analysis import sweep
from barfit.commands.many import for_each, own_names, scenario_files, targets
from barfit.commands.shared import (
    Files,
    StockBars,
    Turn,
    Unusable,
    asked_turn,
    progress_bar,
    within_locks,
)
from barfit.export import write_csv, write_npz
from barfit.model import Setup
from barfit.report.files import not_written
from barfit.report.phrases import turn_words


def export(
    files: Files,
    csv: Annotated[
        str | None,
        typer.Option(
            "--csv",
            metavar="DIR",
            help="Two tables into a folder, made if need be; of several files a folder each in it.",
        ),
    ] = None,
    npz: Annotated[
        str | None,
        typer.Option(
            "--npz", metavar="NPZ", help="NumPy arrays in one .npz; of several files a folder."
        ),
    ] = None,
    gltf: Annotated[
        str | None,
        typer.Option(
            "--gltf",
            metavar="GLB",
            help="One pose as a model, binary glTF, .glb; of several files a folder.",
        ),
    ] = None,
    turn: Turn = "0",
    stock: StockBars = False,
) -> int:
    """Write the sweep as data: every line's centreline and numbers, and the scene as a model.

    Tables (CSV) and arrays (NPZ) hold every pose: slack, smallest radius and length in mm, tension
    in N, and the points of each centreline in mm; turns are degrees in tables and radians in
    arrays, as their headings and names say. What is not known is empty or nan. The model (glTF
    2.0, metres, y up, z forward) is of the pose at --turn, with a node for each line, coloured by
    slack as in the window. FORMAT.md tells every column. Of several files, or a folder, one of each
    a file; what is wrong with one keeps none of the others back.

    \b
    Examples:
      barfit export my-bike.toml --csv tables/
      barfit export my-bike.toml --npz sweep.npz --gltf left.glb --turn 30
      barfit export garage/ --csv tables/ --stock

    \b
    Exit status:
      0  everything was written
      2  a file or an option cannot be used, or nothing can be written there
    """
    if csv is None and npz is None and gltf is None:
        raise Unusable("Say what to write: --csv DIR, --npz NPZ or --gltf GLB.")
    angle = asked_turn(turn)
    paths = scenario_files(files)
    folders = [] if csv is None else _folders(paths, Path(csv))
    arrays = [] if npz is None else targets(paths, npz, (".npz",), "NumPy file")
    models = [] if gltf is None else targets(paths, gltf, (".glb",), "model")

    def made(number: int, setup: Setup, label: str) -> None:
        within_locks(setup, angle, turn)
        with progress_bar(label or "Turning lock to lock") as tell:
            swept = sweep(setup, stock=stock, progress=tell)
        target = Path()  # a full disk does not say of which file it was
        try:
            if folders:
                target = folders[number]
                target.parent.mkdir(exist_ok=True)
                for path in write_csv(swept, target):
                    _tell(str(path))
            if arrays:
                target = arrays[number]
                write_npz(swept, target)
                _tell(str(target))
            if models:
                from barfit.scene.gltf import scene_glb

                model = scene_glb(swept, angle)
                target = models[number]
                target.write_bytes(model)
                _tell(f"{target} ({turn_words(angle)})")
        except OSError as error:
            raise Unusable(not_written(error.filename or target, error)) from None

    return for_each(paths, made)


def _folders(paths: Sequence[str], folder: Path) -> list[Path]:
    """Where the tables of each file go: ``folder``, or one in it under the name of each of several.
    Refuses places where none can be.
    """
    found = [folder] if len(paths) == 1 else [folder / one for one in own_names(paths, "table")]
    for one in (folder, *found):
        if one.exists() and not one.is_dir():
            raise Unusable(f"{one} is a file; name a folder for the tables.")
    if not folder.parent.is_dir():
        raise Unusable(f"{folder}: there is no folder {folder.parent}.")
    return found


def _tell(what: str) -> None:
    print(f"Wrote {what}.", flush=True)
