"""``[limits]``: what a scenario holds things against, where it differs from the catalogue."""

from __future__ import annotations

from typing import Any

from barfit.catalogue import Limit, limits
from barfit.scenario.reader import Reader
from barfit.scenario.values import Angle, Length, Share, Value, shown
from barfit.units import angle_literal, length_literal


def read_limits(raw: Any, reader: Reader) -> tuple[tuple[str, float], ...]:
    """The limits that are set, in the file's order, after telling what is wrong with others."""
    if not isinstance(raw, dict):
        reader.tell(("limits",), f"{shown(raw)} is not a table of keys")
        return ()
    known = limits()
    reader.known_only(raw, known, ("limits",))
    found = []
    for name, value in raw.items():
        if name not in known:
            continue
        try:
            found.append((name, float(limit_reader(known[name]).read(value, reader.unit))))
        except ValueError as error:
            message, _, hint = str(error).partition("; ")
            reader.tell(("limits", name), message, hint)
    return tuple(found)


def limit_tables(given: tuple[tuple[str, float], ...], unit: str) -> dict[str, Any]:
    """The table as it is written, lengths in ``unit``."""
    return {name: _literal(limits()[name], value, unit) for name, value in given}


def limit_reader(limit: Limit) -> Value:
    """How a limit is read."""
    if limit.unit == "mm":
        return Length(limit.least, limit.most)
    if limit.unit == "deg":
        return Angle.between(limit.least, limit.most)
    name = {"V": "volts", "N": "newtons"}.get(limit.unit)
    return Share(limit.least, limit.most, f"give {name}, as a plain number" if name else "")


def _literal(limit: Limit, value: float, unit: str) -> float | str:
    if limit.unit == "mm":
        return length_literal(value, unit)
    return angle_literal(value) if limit.unit == "deg" else value
