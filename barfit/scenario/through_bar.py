"""Holes in a bar, and lines that go through them, out of a scenario file and back."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from barfit.catalogue import line_kinds
from barfit.model import SLANT, BarSet, Connector, Hole, Line, OutletPlace, ThroughBar
from barfit.scenario.problems import did_you_mean
from barfit.scenario.reader import Parts, Reader
from barfit.scenario.schema import ConnectorTable, HoleTable, ThroughBarTable
from barfit.scenario.values import shown
from barfit.units import angle_literal, format_length

Write = Callable[[float], float | str]
_INSIDE = ("harness", "lead")  # families of lines that may run inside a bar


def read_holes(
    raw: Any, tube: float, wall: float | None, place: Parts, reader: Reader
) -> tuple[Hole, ...]:
    """The ``holes`` of a bar of that tube diameter and wall (mm), after telling what is wrong."""
    found: list[Hole] = []
    for index, one in enumerate(_rows(raw, place, reader)):
        here = (*place, index)
        own = reader.table(one, HoleTable, here)
        if own is None:
            continue
        if (own.from_end is None) == (own.from_centre is None):
            told = "needs one distance along the bar"
            reader.tell(here, told, "give 'from_end' or 'from_centre'")
        if own.name in {hole.name for hole in found}:
            reader.tell((*here, "name"), f"{own.name!r} is there twice in this bar")
        across = tube - 2.0 * (wall or 0.0)
        if own.diameter >= across:
            told, most = (format_length(mm, reader.unit) for mm in (own.diameter, across))
            what = f"{told} is not less than the tube is wide inside, {most}"
            reader.tell((*here, "diameter"), what)
        if own.length is not None and own.length < own.diameter:
            told, least = (format_length(mm, reader.unit) for mm in (own.length, own.diameter))
            what = f"{told} along the bar is less than the {least} across"
            reader.tell((*here, "length"), what, "an oval hole is longer along the bar")
        distance = own.from_end if own.from_end is not None else own.from_centre
        found.append(
            Hole(
                name=own.name,
                side=own.side,
                distance=distance or 0.0,
                from_centre=own.from_centre is not None,
                facing=own.facing,
                diameter=own.diameter,
                length=own.length,
                slant=own.slant,
            )
        )
    return tuple(found)


def read_through_bar(line: dict[str, Any], line_place: Parts, reader: Reader) -> ThroughBar | None:
    """``through_bar`` of a line or of another way for it, where it is there and in order."""
    if "through_bar" not in line:
        return None
    raw, place = line["through_bar"], (*line_place, "through_bar")
    own = reader.table(raw, ThroughBarTable, place, ("connectors",))
    if own is None:
        return None
    if own.entry == own.exit:
        reader.tell(place, "goes in and out at the same hole", "it needs two")
    rows = _rows(raw.get("connectors", []), (*place, "connectors"), reader)
    read = [
        reader.table(one, ConnectorTable, (*place, "connectors", index))
        for index, one in enumerate(rows)
    ]
    connectors = tuple(Connector(**table.model_dump()) for table in read if table)
    return ThroughBar(own.entry, own.exit, own.lead_in, connectors)


def check_through_bar(line: Line, bars: Iterable[BarSet], reader: Reader) -> None:
    """Tells what keeps a line, the way it goes or could go, from being led through any of the bars
    of a file.
    """
    here: Parts = ("lines", line.name)
    ways = [(here, line.stations, line.through_bar)]
    for one in line.routings:
        ways.append(((*here, "routings", one.name), one.stations, one.through_bar))
    drilled = [[hole.name for hole in one.bar.holes] for one in bars]
    known = dict.fromkeys(name for names in drilled for name in names)
    for parts, stations, through in ways:
        if through is None:
            continue
        place = (*parts, "through_bar")
        for key in ("entry", "exit"):
            name = getattr(through, key)
            if name not in known:
                hint = did_you_mean(name, known) or "list them in the 'holes' of a bar"
                reader.tell((*place, key), f"no bars have a hole {name!r}", hint)
        both = {through.entry, through.exit}
        if both <= set(known) and not any(both <= set(names) for names in drilled):
            reader.tell(place, "goes in at a hole of one bar and out at one of another")
        if line_kinds()[line.kind].family not in _INSIDE:
            told = f"a line of kind '{line.kind}' is not led inside a bar"
            reader.tell(place, told, "wires are: harnesses and leads")
        if not isinstance(stations[0].place, OutletPlace):
            told = "a line that is led inside the bar starts at a control's outlet"
            reader.tell(place, told, "the first of its stations has 'control' and 'outlet'")


def hole_row(hole: Hole, length: Write) -> dict[str, Any]:
    """A hole as it is written, lengths by ``length``."""
    return {
        "name": hole.name,
        "side": str(hole.side),
        "from_centre" if hole.from_centre else "from_end": length(hole.distance),
        "facing": angle_literal(hole.facing),
        "diameter": length(hole.diameter),
        **({} if hole.length is None else {"length": length(hole.length)}),
        **({} if hole.slant == SLANT else {"slant": angle_literal(hole.slant)}),
    }


def connector_row(connector: Connector, length: Write) -> dict[str, Any]:
    """A connector as it is written, lengths by ``length``."""
    sizes = {key: getattr(connector, key) for key in ("width", "height", "length")}
    return {"name": connector.name} | {
        key: length(mm) for key, mm in sizes.items() if mm is not None
    }


def _rows(raw: Any, place: Parts, reader: Reader) -> list[Any]:
    if isinstance(raw, list):
        return raw
    reader.tell(place, f"{shown(raw)} is not a list of rows")
    return []
