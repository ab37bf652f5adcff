"""Several scenario files, or folders of them, at once: what is answered of each, where each result
goes, and that what is wrong with one keeps none of the others back."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Protocol, TypeVar

from barfit import scenario
from barfit.commands.shared import (
    FITS,
    UNUSABLE,
    Unusable,
    load_setup,
    say,
    told_fault,
    writable,
)
from barfit.model import Setup
from barfit.report.results import RESULT_FORMAT


class Answer(Protocol):
    """What a command found out about one file."""

    @property
    def status(self) -> int:
        """The exit status it asks for."""


A = TypeVar("A", bound=Answer)


def scenario_files(given: Sequence[str]) -> list[str]:
    """The scenario files that are meant, those of folders by name, each once. Raises Unusable for a
    folder without any.
    """
    found: dict[str, None] = {}
    for one in given:
        if not Path(one).is_dir():
            found[one] = None
            continue
        inside = sorted(str(path) for path in Path(one).glob("*.toml"))
        if not inside:
            raise Unusable(f"{one}: there is no scenario file (.toml) in this folder.")
        found |= dict.fromkeys(inside)
    return list(found)


def answer_each(
    given: Sequence[str],
    as_json: bool,
    made: Callable[[str, Setup, str], A],
    values: Callable[[A], dict[str, Any]],
    whole: Callable[[A], None],
    line: Callable[[A], str],
) -> tuple[int, list[A]]:
    """Prints what is ``made`` of each file (from its name, its setup and a label for the progress):
    of one all of it (``whole``), of several a ``line`` each as soon as it is known, or ``values``
    as JSON: a list where several files, or a folder, were ``given``. Gives the worst status and the
    answers.

    Of several, what is wrong with one, or with the program over it, keeps none of the others back.
    Raises ScenarioError or Unusable where the only one cannot be used.
    """
    paths = scenario_files(given)
    only = len(paths) == 1
    listed = not only or any(Path(one).is_dir() for one in given)
    found: list[A] = []
    told: list[dict[str, Any]] = []
    bad: list[str] = []
    status = FITS
    for number, file in enumerate(paths, 1):
        try:
            one = made(file, load_setup(file), _label(number, paths))
            said = values(one) if as_json else {}
            text = "" if as_json or only else line(one)
        except BrokenPipeError:
            raise
        except Exception as error:
            fault = told_fault(file, error)
            if only:
                if as_json:
                    wrong = failure_values(fault, file)
                    _print_json([wrong] if listed else wrong)
                raise fault from error
            say(_of_file(file, fault))
            said = failure_values(fault, file)
            text = f"{file}: cannot be used" if fault is error else str(fault)
            bad.append(file)
            status = UNUSABLE
        else:
            found.append(one)
            status = max(status, one.status)
        told.append(said)
        if text and not as_json:
            print(text, flush=True)
    if as_json:
        _print_json(told if listed else told[0])
    elif only:
        whole(found[0])
    _tell_unusable(bad, len(paths))
    return status, found


def for_each(paths: Sequence[str], made: Callable[[int, Setup, str], None]) -> int:
    """Calls ``made`` with the number of each file, its setup and a label for the progress, "" where
    it is the only one. Of several, those that cannot be used are told at once and again at the end.

    Gives the exit status. Raises ScenarioError or Unusable where the only one cannot be used.
    """
    bad: list[str] = []
    for number, file in enumerate(paths):
        try:
            made(number, load_setup(file), _label(number + 1, paths))
        except BrokenPipeError:
            raise
        except Exception as error:
            fault = told_fault(file, error)
            if len(paths) == 1:
                raise fault from error
            say(_of_file(file, fault))
            bad.append(file)
    _tell_unusable(bad, len(paths))
    return UNUSABLE if bad else FITS


def targets(paths: Sequence[str], out: str | None, endings: Sequence[str], what: str) -> list[Path]:
    """Where the result of each file goes: ``out``, or under its own name with the first of the
    ``endings`` into the folder ``out`` or the current one. Refuses places where none can be,
    before anything is computed; ``what`` is made, as "film".
    """
    folder = None if out is None else Path(out)
    if folder is None or folder.is_dir():
        found = [(folder or Path()) / f"{name}{endings[0]}" for name in own_names(paths, what)]
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


def own_names(paths: Sequence[str], what: str) -> list[str]:
    """The name of each file without its ending, for what is made of it. Refuses two alike."""
    names = [Path(path).stem for path in paths]
    if len(set(names)) < len(names):
        raise Unusable(f"Two of the files have the same name; write their {what}s one by one.")
    return names


def failure_values(error: Exception, file: str = "") -> dict[str, Any]:
    """The problems of a file that cannot be used, for JSON."""
    if not isinstance(error, scenario.ScenarioError):
        error = scenario.ScenarioError(file, [scenario.Problem("", str(error))])
    return {
        "result_format": RESULT_FORMAT,
        "file": error.name,
        "problems": [
            {"place": found.place or None, "message": found.message, "hint": found.hint or None}
            for found in error.problems
        ],
    }


def _label(number: int, paths: Sequence[str]) -> str:
    """What the progress is of, "" where there is but one file."""
    if len(paths) == 1:
        return ""
    return f"{Path(paths[number - 1]).name}, {number} of {len(paths)}"


def _of_file(file: str, fault: Exception) -> str:
    said = str(fault)
    return said if file in said else f"{file}: {said}"


def _print_json(values: Any) -> None:
    print(json.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))


def _tell_unusable(bad: Sequence[str], of: int) -> None:
    """Which of several files could not be used, where any."""
    if bad:
        say(f"{len(bad)} of {of} files could not be used: {', '.join(bad)}.")
