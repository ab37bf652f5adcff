"""Several scenario files, or folders of them, at once: where each result goes, and that what is
wrong with one keeps none of the others back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from barfit.commands.shared import (
    FITS,
    UNUSABLE,
    Unusable,
    load_setup,
    say,
    tell_unusable,
    told_fault,
    writable,
)
from barfit.model import Setup


def targets(paths: Sequence[str], out: str | None, endings: Sequence[str], what: str) -> list[Path]:
    """Where the result of each file goes: ``out``, or under its own name with the first of the
    ``endings`` into the folder ``out`` or the current one. Refuses places where none can be,
    before anything is computed; ``what`` is made, as "film".
    """
    names = [f"{Path(path).stem}{endings[0]}" for path in paths]
    folder = None if out is None else Path(out)
    if folder is None or folder.is_dir():
        if len(set(names)) < len(names):
            raise Unusable(f"Two of the files have the same name; write their {what}s one by one.")
        found = [(folder or Path()) / name for name in names]
    elif folder.suffix.lower() not in endings:
        kinds = " or ".join(ending[1:].upper() for ending in endings)
        named = " or ".join(endings)
        raise Unusable(f"{out}: a {what} is written as {kinds}; end its name in {named}.")
    elif len(paths) > 1:
        raise Unusable(f"{out} is one file for {len(paths)} {what}s; name a folder that is there.")
    else:
        found = [folder]
    for target in found:
        writable(target, f"the {what}")
    return found


def for_each(paths: Sequence[str], made: Callable[[int, Setup, str], None]) -> int:
    """Calls ``made`` with the number of each file, its setup and a label for the progress, "" where
    it is the only one. Of several, those that cannot be used are told at once and again at the end.

    Gives the exit status. Raises ScenarioError or Unusable where the only one cannot be used.
    """
    bad: list[str] = []
    for number, file in enumerate(paths):
        label = f"{Path(file).name}, {number + 1} of {len(paths)}" if len(paths) > 1 else ""
        try:
            made(number, load_setup(file), label)
        except BrokenPipeError:
            raise
        except Exception as error:
            fault = told_fault(file, error)
            if len(paths) == 1:
                raise fault from error
            said = str(fault)
            say(said if file in said else f"{file}: {said}")
            bad.append(file)
    tell_unusable(bad, len(paths))
    return UNUSABLE if bad else FITS
