"""The data tables of ``assets/``: kinds of line, limits that things are held against, prices."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from barfit.model import Circuit, Line, Range, Setup, Use, Wires
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


@dataclass(frozen=True)
class Gauge:
    """One size of wire: mm and mm²; ``resistance`` Ω/mm of the copper at 20 °C.

    ``conductor`` is the diameter over all strands, ``strand`` that of one, ``outside`` that over
    the insulation.
    """

    name: str
    area: float
    resistance: float
    conductor: float
    strand: float
    outside: float
    source: str


@dataclass(frozen=True)
class WireTable:
    """What is known about wires. Lengths mm.

    ``kinds`` has what a kind of line holds where it does not say. A joint is ``barrel`` long; its
    sleeve has that ``wall`` and laps the insulation by ``overlap`` or ``overlap_diameters`` times
    the wire's, whichever is more. ``sleeves`` are inside diameters sold; three wires wedge in one
    of ``jam`` times their diameter. ``plug_in`` are lengths of extensions sold; ``terminal`` is
    the width of one out of its plug.
    """

    gauges: MappingProxyType[str, Gauge]
    kinds: MappingProxyType[str, Wires]
    barrel: float
    wall: float
    overlap: float
    overlap_diameters: float
    sleeves: tuple[float, ...]
    jam: tuple[float, float]
    plug_in: tuple[float, ...]
    terminal: float


@dataclass(frozen=True)
class PriceRow:
    """One row of the table of prices.

    ``price`` is of one, as it is sold (``each`` says what one is), in the table's currency;
    ``days`` until it is here.
    """

    name: str
    label: str
    price: Range
    days: Range
    each: str
    source: str


@dataclass(frozen=True)
class PriceTable:
    """What things cost, in one ``currency``: invented ranges. ``shop_rate`` is for an hour."""

    currency: str
    source: str
    shop_rate: Range
    items: MappingProxyType[str, PriceRow]


COPPER = 1.7241e-5  # Ω·mm at 20 °C: annealed copper of IEC 60028, 0.017241 Ω·mm²/m


def awg_diameter(number: int) -> float:
    """Diameter, mm, of a solid wire of an American wire gauge (ASTM B258)."""
    return float(0.127 * 92.0 ** ((36 - number) / 39))


def data_dir() -> Path:
    """The folder of the data tables. Raises FileNotFoundError where it is not installed."""
    return _beside_package("assets")


def scenario_dir() -> Path:
    """The folder of the bundled scenarios. Raises FileNotFoundError where it is not installed."""
    return _beside_package("scenarios")


@cache
def line_kinds() -> MappingProxyType[str, LineKind]:
    """Every kind of line by its key in a scenario."""
    rows = tomllib.loads((data_dir() / "line_kinds.toml").read_text(encoding="utf-8"))
    return MappingProxyType({name: _line_kind(name, row) for name, row in rows.items()})


@cache
def limits() -> MappingProxyType[str, Limit]:
    """Every limit by its key."""
    rows = tomllib.loads((data_dir() / "limits.toml").read_text(encoding="utf-8"))
    return MappingProxyType({name: _limit(name, row) for name, row in rows.items()})


@cache
def wire_table() -> WireTable:
    """What is known about wires."""
    rows = tomllib.loads((data_dir() / "wires.toml").read_text(encoding="utf-8"))
    joint = {key: float(value) for key, value in rows["joint"].items() if key != "source"}
    low, high = rows["sleeve"]["jam"]
    return WireTable(
        gauges=MappingProxyType({name: _gauge(name, row) for name, row in rows["gauges"].items()}),
        kinds=MappingProxyType({name: _kind_wires(row) for name, row in rows["kinds"].items()}),
        sleeves=tuple(float(size) for size in rows["sleeve"]["sizes"]),
        jam=(float(low), float(high)),
        plug_in=tuple(float(length) for length in rows["extension"]["plug_in"]),
        terminal=float(rows["terminal"]["width"]),
        **joint,
    )


@cache
def price_table() -> PriceTable:
    """What parts, materials and an hour of a workshop cost."""
    rows = tomllib.loads((data_dir() / "prices.toml").read_text(encoding="utf-8"))
    items = {
        name: PriceRow(
            name=name,
            label=row["label"],
            price=_range(row["price"]),
            days=_range(row["days"]),
            each=row["each"],
            source=row["source"],
        )
        for name, row in rows["items"].items()
    }
    about = rows["about"]
    rate = _range(rows["labour"]["shop_rate"])
    return PriceTable(about["currency"], about["source"], rate, MappingProxyType(items))


def line_wires(line: Line) -> Wires | None:
    """The line's own wires, or what its kind holds; None where neither is known."""
    return line.wires or wire_table().kinds.get(line.kind)


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


def _line_kind(name: str, row: dict[str, object]) -> LineKind:
    numbers = {
        key: float(value)
        for key, value in row.items()
        if isinstance(value, int | float) and not isinstance(value, bool)
    }
    numbers["weight"] = parse_weight(row["weight"])
    numbers["max_twist"] = math.radians(numbers["max_twist"]) / 1000.0  # from degrees per metre
    return LineKind(name=name, **{**row, **numbers})  # type: ignore[arg-type]


def _limit(name: str, row: dict[str, object]) -> Limit:
    numbers = {key: float(row[key]) for key in ("value", "least", "most")}  # type: ignore[arg-type]
    if row["unit"] == "deg":
        numbers = {key: math.radians(value) for key, value in numbers.items()}
    return Limit(name=name, **{**row, **numbers})  # type: ignore[arg-type]


def _gauge(name: str, row: dict[str, Any]) -> Gauge:
    if "awg" in row:
        area = 0.25 * math.pi * awg_diameter(row["awg"]) ** 2
        resistance = COPPER / area
    else:
        area, resistance = float(row["area"]), float(row["resistance"]) * 1e-6  # from mΩ/m
    across = {key: float(row[key]) for key in ("conductor", "strand", "outside")}
    return Gauge(name=name, area=area, resistance=resistance, source=row["source"], **across)


def _kind_wires(row: dict[str, Any]) -> Wires:
    circuits = tuple(Circuit(**{**one, "use": Use(one["use"])}) for one in row["circuits"])
    return Wires(circuits, screened=row["screened"])


def _range(ends: list[float]) -> Range:
    least, most = map(float, ends)
    return (least, most)
