"""The data tables of ``assets/``: kinds of line, and limits that things are held against."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Literal

from barfit.model import Line, Setup
from barfit.units import parse_weight

Family = Literal["cable", "hose", "harness", "lead"]
Property = Literal["min_radius", "bending_stiffness", "axial_stiffness", "weight"]


@dataclass(frozen=True)
class LineKind:
    """One row of the table of line kinds.

    Lengths mm; ``bending_stiffness`` N·mm², ``axial_stiffness`` N, ``weight`` N/mm.
    ``least_slack`` is to be kept at the worst pose, ``target_slack`` aimed for when ordering;
    further than ``max_bow`` from its taut path a line hangs in a loop that snags. ``increment`` is
    the step in which longer ones are sold. ``swivels``: its end fittings let it turn about itself;
    where they do not, its twisting stiffness is ``twisting_ratio`` times the bending stiffness, and
    ``max_twist`` (rad/mm) is how far it may be twisted either way. ``source`` says where the
    numbers come from.
    """

    name: str
    label: str
    family: Family
    outside_diameter: float
    bending_stiffness: float
    axial_stiffness: float
    weight: float
    min_radius: float
    least_slack: float
    target_slack: float
    max_bow: float
    increment: float
    swivels: bool
    twisting_ratio: float
    max_twist: float
    source: str


@dataclass(frozen=True)
class Limit:
    """One row of the table of limits.

    ``value``, ``least`` and ``most`` (what a setup may set it to) are in mm, rad, or the ``unit``
    of the table where it is neither a length nor an angle. ``source`` says where it comes from.
    """

    name: str
    label: str
    value: float
    unit: str
    least: float
    most: float
    source: str


def data_dir() -> Path:
    """The folder of the data tables. Raises FileNotFoundError where it is not installed."""
    return _beside_package("assets")


def scenario_dir() -> Path:
    """The folder of the bundled scenarios. Raises FileNotFoundError where it is not installed."""
    return _beside_package("scenarios")


def line_kinds() -> MappingProxyType[str, LineKind]:
    """Every kind of line by its key in a scenario."""
    return _read_line_kinds(data_dir() / "line_kinds.toml")


def limits() -> MappingProxyType[str, Limit]:
    """Every limit by its key."""
    return _read_limits(data_dir() / "limits.toml")


def limit(setup: Setup, name: str) -> float:
    """A limit as this setup sets it, or as the table has it. Raises KeyError."""
    return dict(setup.limits).get(name, limits()[name].value)


def line_property(line: Line, name: Property) -> float:
    """The line's own value, or its kind's where the line gives none. Units as in `LineKind`.

    Raises KeyError for a kind that is not in the table.
    """
    own: float | None = getattr(line, name, None)
    return own if own is not None else float(getattr(line_kinds()[line.kind], name))


def swivels(line: Line) -> bool:
    """Whether the line's end fittings let it turn about itself. Raises KeyError as above."""
    return line.swivels if line.swivels is not None else line_kinds()[line.kind].swivels


def twisting_stiffness(line: Line) -> float:
    """The line's own twisting stiffness, N·mm², or its kind's share of its bending stiffness.

    Raises KeyError for a kind that is not in the table.
    """
    if line.twisting_stiffness is not None:
        return line.twisting_stiffness
    return line_kinds()[line.kind].twisting_ratio * line_property(line, "bending_stiffness")


@cache
def _beside_package(name: str) -> Path:
    package = Path(__file__).parent
    for folder in (package / name, package.parent / name):  # installed with it; a checkout
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"barfit's folder {name!r} is missing beside {package}")


@cache
def _read_line_kinds(path: Path) -> MappingProxyType[str, LineKind]:
    rows = tomllib.loads(path.read_text(encoding="utf-8"))
    return MappingProxyType({name: _line_kind(name, row) for name, row in rows.items()})


def _line_kind(name: str, row: dict[str, object]) -> LineKind:
    numbers = {
        key: float(value)
        for key, value in row.items()
        if isinstance(value, int | float) and not isinstance(value, bool)
    }
    numbers["weight"] = parse_weight(row["weight"])
    numbers["max_twist"] = math.radians(numbers["max_twist"]) / 1000.0  # from degrees per metre
    return LineKind(name=name, **{**row, **numbers})  # type: ignore[arg-type]


@cache
def _read_limits(path: Path) -> MappingProxyType[str, Limit]:
    rows = tomllib.loads(path.read_text(encoding="utf-8"))
    return MappingProxyType({name: _limit(name, row) for name, row in rows.items()})


def _limit(name: str, row: dict[str, object]) -> Limit:
    numbers = {key: float(row[key]) for key in ("value", "least", "most")}  # type: ignore[arg-type]
    if row["unit"] == "deg":
        numbers = {key: math.radians(value) for key, value in numbers.items()}
    return Limit(name=name, **{**row, **numbers})  # type: ignore[arg-type]
