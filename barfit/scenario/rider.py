"""``[rider]`` and ``[place_limits]``: who sits on it, and what a place asks of its bars."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from barfit.model import PlaceLimits, Rider
from barfit.scenario import schema
from barfit.scenario.reader import Reader
from barfit.units import format_length, length_literal


def read_rider(raw: Any, reader: Reader) -> Rider | None:
    """``[rider]``; None after telling what is wrong."""
    own = reader.table(raw, schema.RiderTable, ("rider",))
    return Rider(**own.model_dump()) if own else None


def read_place_limits(raw: Any, reader: Reader) -> PlaceLimits | None:
    """``[place_limits]``; None after telling what is wrong."""
    own = reader.table(raw, schema.PlaceLimitsTable, ("place_limits",))
    values = reader.values(raw, schema.PlaceLimitsTable)
    narrowest, widest = values.get("least_width"), values.get("width")
    if narrowest is not None and widest is not None and narrowest > widest:
        least, most = (format_length(mm, reader.unit) for mm in (narrowest, widest))
        place = ("place_limits", "least_width")
        reader.tell(place, f"{least} is more than the width allowed, {most}")
    return PlaceLimits(**own.model_dump()) if own else None


def rider_tables(given: Rider | PlaceLimits, unit: str) -> dict[str, Any]:
    """Either table as it is written; what is as by default is left out."""
    found: dict[str, Any] = {}
    for field in fields(given):
        value = getattr(given, field.name)
        if value == field.default:
            continue
        if isinstance(value, str):
            found[field.name] = str(value)
        elif isinstance(value, tuple):
            found[field.name] = [length_literal(mm, unit) for mm in value]
        else:
            found[field.name] = length_literal(value, unit)
    return found
