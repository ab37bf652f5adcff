"""``[lines.….wires]``: the wires of a harness or lead, out of a file and into one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, TypeVar

from barfit.catalogue import wire_table
from barfit.model import Circuit, Plug, Use, Wires
from barfit.scenario.reader import Parts, Reader
from barfit.scenario.schema import Table
from barfit.scenario.values import Choice, Length, Share, Value, Words, YesOrNo, shown

T = TypeVar("T", Circuit, Plug)


@dataclass(frozen=True)
class WireGauge(Value):
    """One of the gauges in the table, by its cross-section or its AWG number."""

    def read(self, value: object, unit: str) -> str:
        """See the class."""
        known = wire_table().gauges
        hint = f"the gauges known are {', '.join(known)}"
        if not isinstance(value, str):
            raise ValueError(f"{shown(value)} is not a gauge; {hint}")
        text = " ".join(value.split()).replace("mm2", "mm²").replace("1.0 mm²", "1 mm²")
        for name in known:
            if text.lower() == name.lower():
                return name
        raise ValueError(f"{value!r} is not a gauge; {hint}")


@dataclass(frozen=True)
class Whole(Value):
    """A whole number from ``low`` to ``high``."""

    low: int
    high: int

    def read(self, value: object, unit: str) -> int:
        """See the class."""
        if isinstance(value, bool) or not isinstance(value, int):
            raise ValueError(f"{shown(value)} is not a whole number")
        if not self.low <= value <= self.high:
            raise ValueError(f"{shown(value)} is outside {self.low} to {self.high}")
        return value


class WiresTable(Table):
    """``[lines.….wires]`` without its circuits and connectors."""

    screened: Annotated[bool, YesOrNo()] = False
    sleeve: Annotated[float | None, Length(1, 80)] = None
    supply: Annotated[float, Share(5.0, 60.0, "give volts, as a plain number")] = 12.0


class CircuitTable(Table):
    """One of its circuits."""

    name: Annotated[str, Words(filled=True)]
    gauge: Annotated[str | None, WireGauge()] = None
    current: Annotated[
        float | None, Share(0.0, 60.0, "give amperes, as a plain number: watts over volts")
    ] = None
    use: Annotated[Use, Choice(Use)]
    count: Annotated[int, Whole(1, 60)] = 1


class ConnectorTable(Table):
    """One of its connectors."""

    name: Annotated[str, Words(filled=True)]
    width: Annotated[float | None, Length(1, 150)] = None
    height: Annotated[float | None, Length(1, 150)] = None
    diameter: Annotated[float | None, Length(1, 150)] = None
    poles: Annotated[int | None, Whole(1, 100)] = None
    hole: Annotated[float | None, Length(1, 300)] = None


def read_wires(raw: Any, family: str, place: Parts, reader: Reader) -> Wires | None:
    """The wires, or None after telling what is wrong with them."""
    own = reader.table(raw, WiresTable, place, others=("circuits", "connectors"))
    if not isinstance(raw, dict):
        return None
    if family not in ("harness", "lead"):
        reader.tell(place, "does not belong here", "only a harness or a lead has wires")
        return None
    circuits = _rows(raw, "circuits", _circuit, place, reader)
    connectors = _rows(raw, "connectors", _connector, place, reader)
    if circuits == ():
        reader.tell((*place, "circuits"), "is missing", "list the wires, row by row")
        return None
    if own is None or circuits is None or connectors is None:
        return None
    return Wires(circuits, connectors, own.screened, own.sleeve, own.supply)


def wires_table(wires: Wires, length: Callable[[float], float | str]) -> dict[str, Any]:
    """The table as it is written; ``length`` writes a length in the file's unit."""
    found: dict[str, Any] = {}
    if wires.screened:
        found["screened"] = True
    if wires.sleeve is not None:
        found["sleeve"] = length(wires.sleeve)
    if wires.supply != Wires.supply:
        found["supply"] = wires.supply
    found["circuits"] = [
        {
            "name": one.name,
            **({"gauge": one.gauge} if one.gauge else {}),
            **({"current": one.current} if one.current is not None else {}),
            "use": str(one.use),
            **({"count": one.count} if one.count != 1 else {}),
        }
        for one in wires.circuits
    ]
    if wires.connectors:
        found["connectors"] = [_connector_row(one, length) for one in wires.connectors]
    return found


def _connector_row(one: Plug, length: Callable[[float], float | str]) -> dict[str, Any]:
    row: dict[str, Any] = {"name": one.name}
    for key in ("width", "height", "diameter"):
        if getattr(one, key) is not None:
            row[key] = length(getattr(one, key))
    if one.poles is not None:
        row["poles"] = one.poles
    if one.hole is not None:
        row["hole"] = length(one.hole)
    return row


def _rows(
    raw: dict[str, Any],
    key: str,
    read: Callable[[Any, Parts, Reader], T | None],
    place: Parts,
    reader: Reader,
) -> tuple[T, ...] | None:
    """A list of rows with names of their own, or None after telling what is wrong with it."""
    rows = raw.get(key, [])
    here: Parts = (*place, key)
    if not isinstance(rows, list):
        reader.tell(here, f"{shown(rows)} is not a list of rows")
        return None
    found = [read(row, (*here, index), reader) for index, row in enumerate(rows)]
    for index, one in enumerate(found):
        if one and one.name in {other.name for other in found[:index] if other}:
            reader.tell((*here, index, "name"), f"{one.name!r} is there twice")
    return None if None in found else tuple(one for one in found if one)


def _circuit(raw: Any, place: Parts, reader: Reader) -> Circuit | None:
    own = reader.table(raw, CircuitTable, place)
    if own is None:
        return None
    return Circuit(own.name, own.use, own.gauge, own.current, own.count)


def _connector(raw: Any, place: Parts, reader: Reader) -> Plug | None:
    own = reader.table(raw, ConnectorTable, place)
    if own is None:
        return None
    flat = own.width is not None or own.height is not None
    if flat == (own.diameter is not None) or (own.width is None) != (own.height is None):
        hint = "give 'width' and 'height', or 'diameter' for a round one"
        reader.tell(place, "needs its size across", hint)
        return None
    return Plug(**own.model_dump())
