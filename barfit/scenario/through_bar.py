"""Holes in a bar, and lines that go through them, out of a scenario file and back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from barfit.catalogue import line_kinds
from barfit.model import SLANT, Connector, Hole, ThroughBar
from barfit.scenario.problems import did_you_mean
from barfit.scenario.reader import Parts, Reader
from barfit.scenario.schema import ConnectorTable, HoleTable, ThroughBarTable
from barfit.scenario.values import shown
from barfit.units import angle_literal, format_length

Write = Callable[[float], float | str]
INSIDE = ("harness", "lead")  # families of lines that may run inside a bar


def read_holes(
    raw: Any, tube: float, wall: float | None, place: Parts, reader: Reader
) -> tuple[Hole, ...]:
    """The ``holes`` of a bar of that tube diameter and wall (mm), after telling what is wrong."""
    found: list[Hole] = []
    names: list[object] = []
    for index, one in enumerate(_rows(raw, place, reader)):
        here = (*place, index)
        own = reader.table(one, HoleTable, here)
        if not isinstance(one, dict):
            continue
        _check_hole(reader.values(one, HoleTable), one, tube - 2.0 * (wall or 0.0), here, reader)
        name = one.get("name")
        if isinstance(name, str) and name in names:
            reader.tell((*here, "name"), f"{name!r} is there twice in this bar")
        names.append(name)
        if own is None:
            continue
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


def _check_hole(
    values: dict[str, Any], raw: dict[str, Any], across: float, place: Parts, reader: Reader
) -> None:
    """Tells where the ``values`` of a hole that could be read contradict each other or the tube,
    ``across`` mm wide inside.
    """
    if ("from_end" in raw) == ("from_centre" in raw):
        told = "needs one distance along the bar"
        reader.tell(place, told, "give 'from_end' or 'from_centre'")
    diameter, length = values.get("diameter"), values.get("length")
    if diameter is None:
        return
    if diameter >= across:
        told, most = (format_length(mm, reader.unit) for mm in (diameter, across))
        what = f"{told} is not less than the tube is wide inside, {most}"
        reader.tell((*place, "diameter"), what)
    if length is not None and length < diameter:
        told, least = (format_length(mm, reader.unit) for mm in (length, diameter))
        what = f"{told} along the bar is less than the {least} across"
        reader.tell((*place, "length"), what, "an oval hole is longer along the bar")


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


def hole_names(bars: dict[str, Any]) -> list[list[str]]:
    """The names of the holes of each of the ``bars`` of a file, as they stand in it."""
    others = bars.get("others")
    sets = [bars.get("stock"), bars.get("new")]
    sets += others.values() if isinstance(others, dict) else ()
    tubes = [one.get(key) for one in _tables(sets) for key in ("bar", "clip_ons")]
    holes = [_tables(tube.get("holes")) for tube in _tables(tubes)]
    return [[row["name"] for row in rows if isinstance(row.get("name"), str)] for rows in holes]


def _tables(raw: object) -> list[dict[str, Any]]:
    """Those of a list that are tables."""
    return [one for one in raw if isinstance(one, dict)] if isinstance(raw, list) else []


def check_through_bar(name: str, raw: Any, drilled: list[list[str]], reader: Reader) -> None:
    """Tells what keeps a line, the way it goes or could go, from being led through any of the bars
    of a file, whose holes' names are ``drilled``. Looks at what stands in the file, so that a
    mistake elsewhere in it hides nothing.
    """
    if not isinstance(raw, dict):
        return
    here: Parts = ("lines", name)
    ways: list[tuple[Parts, dict[str, Any]]] = [(here, raw)]
    if isinstance(routings := raw.get("routings"), dict):
        tables = [(key, one) for key, one in routings.items() if isinstance(one, dict)]
        ways += [((*here, "routings", key), one) for key, one in tables]
    known = dict.fromkeys(hole for names in drilled for hole in names)
    for parts, way in ways:
        through = way.get("through_bar")
        if not isinstance(through, dict):
            continue
        place = (*parts, "through_bar")
        both = {key: through.get(key) for key in ("entry", "exit")}
        for key, hole in both.items():
            if isinstance(hole, str) and hole not in known:
                hint = did_you_mean(hole, known) or "list them in the 'holes' of a bar"
                reader.tell((*place, key), f"no bars have a hole {hole!r}", hint)
        ends = [hole for hole in both.values() if isinstance(hole, str) and hole in known]
        if len(ends) == 2 and not any(set(ends) <= set(names) for names in drilled):
            reader.tell(place, "goes in at a hole of one bar and out at one of another")
        kind = raw.get("kind")
        known_kind = line_kinds().get(kind) if isinstance(kind, str) else None
        if known_kind and known_kind.family not in INSIDE:
            told = f"a line of kind '{kind}' is not led inside a bar"
            reader.tell(place, told, "wires are: harnesses and leads")
        stations = way.get("stations")
        first = stations[0] if isinstance(stations, list) and stations else None
        if isinstance(first, dict) and "control" not in first and "outlet" not in first:
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
