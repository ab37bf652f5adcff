"""From the text of a scenario file to a `Setup`, telling every problem of the file at once."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from barfit import units
from barfit.catalogue import scenario_dir
from barfit.model import Setup
from barfit.scenario.job import read_job
from barfit.scenario.limits import read_limits
from barfit.scenario.lines import read_line
from barfit.scenario.meshes import Surfaces
from barfit.scenario.parts import (
    read_bar_set,
    read_control,
    read_machine,
    read_other_bars,
    read_uncertainty,
)
from barfit.scenario.problems import Problem, ScenarioError
from barfit.scenario.reader import Reader
from barfit.scenario.rider import read_place_limits, read_rider
from barfit.scenario.through_bar import check_through_bar, hole_names
from barfit.scenario.values import shown

FORMAT = 1
LARGEST = 5_000_000  # bytes

# How to bring a file of an older format to the next one, by the format it is written in.
UPGRADES: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}

_KEYS = (
    *("format", "unit", "title", "note"),
    *("machine", "bars", "controls", "lines", "uncertainty", "limits"),
    *("rider", "place_limits", "job"),
)


def load(path: str | Path) -> Setup:
    """The setup in the scenario file at ``path``. Raises ScenarioError."""
    name = str(path)
    return loads(_text(Path(path), name), name, Path(path).parent)


def loads(
    text: str, name: str = "scenario", folder: str | Path = "", surfaces: Surfaces | None = None
) -> Setup:
    """The setup in the text of a scenario file; ``name`` is what to call it in a report.

    Mesh files are looked for in ``folder`` unless they are known as ``surfaces``. Raises
    ScenarioError.
    """
    document = _document(text, name)
    problems: list[Problem] = []
    unit = document.get("unit")
    known = unit if unit in units.UNITS else "mm"
    reader = Reader(known, problems.append, Path(folder).absolute(), surfaces or {})
    setup = _setup(document, text, reader)
    if setup is None or problems:
        raise ScenarioError(name, problems)
    return setup


_FIRST = "naked-standard"


def bundled() -> list[Path]:
    """The scenario files that come with barfit, by name."""
    return sorted(scenario_dir().glob("*.toml"))


def first() -> Path | None:
    """The bundled scenario to begin with, in a window or without one; None where there is none."""
    paths = bundled()
    return next((path for path in paths if path.stem == _FIRST), next(iter(paths), None))


def _text(path: Path, name: str) -> str:
    """The text of a file that may not be one. Raises ScenarioError."""

    def refuse(message: str) -> ScenarioError:
        return ScenarioError(name, [Problem("", message)])

    try:
        size = path.stat().st_size
        if not path.is_file():
            what = "a folder" if path.is_dir() else "not a file"
            raise refuse(f"is {what}; a scenario is a TOML file")
        if size > LARGEST:
            raise refuse(f"is {size / 1e6:.0f} MB; a scenario is a text file of at most 5 MB")
        return path.read_bytes().decode("utf-8")
    except ScenarioError:
        raise
    except FileNotFoundError:
        raise refuse("does not exist") from None
    except UnicodeDecodeError as error:
        told = f"is not a UTF-8 text (byte {error.start + 1}); a scenario is a TOML file"
        raise refuse(told) from None
    except (OSError, ValueError) as error:  # ValueError: a name with a null character
        raise refuse(f"cannot be read: {getattr(error, 'strerror', None) or error}") from None


def _document(text: str, name: str) -> dict[str, Any]:
    """The tables of a TOML text of a format this barfit reads. Raises ScenarioError."""
    try:
        document = tomllib.loads(text.removeprefix("\ufeff"))
    except RecursionError:
        raise ScenarioError(name, [Problem("", "is nested too deeply")]) from None
    except ValueError as error:
        raise ScenarioError(name, [_toml_problem(str(error))]) from None
    written = document.get("format")
    if isinstance(written, bool) or not isinstance(written, int) or written < 1:
        told = "'format' is missing" if written is None else f"format: {shown(written)} is not one"
        hint = f"a scenario starts with 'format = {FORMAT}'"
        raise ScenarioError(name, [Problem("", f"{told}; {hint}")])
    if written > FORMAT:
        told = (
            f"was written by a newer barfit (file format {shown(written)}; this one reads up to"
            f" {FORMAT}); update barfit to open it"
        )
        raise ScenarioError(name, [Problem("", told)])
    for older in range(written, FORMAT):
        document = UPGRADES[older](document)
    return document


def _toml_problem(message: str) -> Problem:
    """What tomllib says, with the place in front."""
    match = re.fullmatch(r"(.*) \(at line (\d+), column (\d+)\)", message, re.DOTALL)
    if match is None:
        return Problem("", f"is not a TOML file: {message[:1].lower()}{message[1:]}")
    what, line, column = match.groups()
    return Problem(f"line {line}, column {column}", f"not TOML: {what[:1].lower()}{what[1:]}")


def _setup(document: dict[str, Any], source: str, reader: Reader) -> Setup | None:
    """The setup in the tables of a file, or None where a problem was reported."""
    unit = document.get("unit")
    if unit is None:
        reader.tell((), "'unit' is missing", 'write unit = "mm" or unit = "in"')
    elif unit not in units.UNITS:
        reader.tell(("unit",), f"{shown(unit)} is not a unit", "write 'mm' or 'in'")
    reader.known_only(document, _KEYS, ())
    texts = {key: document.get(key, "") for key in ("title", "note")}
    for key, text in texts.items():
        if not isinstance(text, str):
            reader.tell((key,), f"{shown(text)} is not a text")
    machine = read_machine(reader.tables(document, "machine", ()), reader)
    bars = reader.tables(document, "bars", ())
    reader.known_only(bars, ("stock", "new", "others"), ("bars",))
    stock, new = (read_bar_set(bars, which, reader) for which in ("stock", "new"))
    controls = {
        name: read_control(name, raw, reader)
        for name, raw in reader.tables(document, "controls", ()).items()
    }
    raw_lines = reader.tables(document, "lines", ())
    lines = [read_line(name, raw, controls, reader) for name, raw in raw_lines.items()]
    uncertainty = read_uncertainty(document.get("uncertainty", {}), reader)
    limits = read_limits(document.get("limits", {}), reader)
    others = read_other_bars(bars, reader)
    drilled = hole_names(bars)
    for name, raw in raw_lines.items():
        check_through_bar(name, raw, drilled, reader)
    rider = read_rider(document.get("rider", {}), reader)
    place_limits = read_place_limits(document.get("place_limits", {}), reader)
    kinds = {
        name: raw.get("kind") if isinstance(raw, dict) else None for name, raw in raw_lines.items()
    }
    job = read_job(document.get("job", {}), kinds, reader)
    if machine is None or stock is None or new is None or uncertainty is None:
        return None
    if rider is None or place_limits is None or job is None:
        return None
    return Setup(
        title=texts["title"] or machine.name,
        note=texts["note"],
        unit=reader.unit,
        machine=machine,
        stock=stock,
        new=new,
        controls=tuple(control for control in controls.values() if control),
        lines=tuple(line for line in lines if line),
        uncertainty=uncertainty,
        limits=limits,
        other_bars=others,
        rider=rider,
        place_limits=place_limits,
        job=job,
        source=source,
        folder=str(reader.folder),
    )
