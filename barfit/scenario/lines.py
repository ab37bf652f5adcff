"""Lines and their stations out of a scenario file, with the checks across them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from barfit.catalogue import line_kinds
from barfit.model import (
    BarPlace,
    Body,
    Control,
    FoundSlack,
    Hold,
    How,
    Line,
    OutletPlace,
    Place,
    PointPlace,
    Routing,
    Station,
    Wires,
)
from barfit.scenario.cables import read_cable
from barfit.scenario.hoses import read_hose
from barfit.scenario.problems import did_you_mean
from barfit.scenario.reader import Parts, Reader
from barfit.scenario.schema import (
    FoundSlackTable,
    LineTable,
    Ride,
    RoutingTable,
    StationTable,
)
from barfit.scenario.through_bar import read_through_bar
from barfit.scenario.values import LEAST_FOUND, shown
from barfit.scenario.wires import read_wires
from barfit.units import format_length

Controls = Mapping[str, Control | None]  # None: there, but with a problem of its own

_READ_APART = ("stations", "found_slack", "through_bar", "routings", "cable", "hose", "wires")

# Which keys go with which kind of place, besides name, hold and what the hold asks for.
_PLACE_KEYS = {
    "outlet": {"control", "outlet"},
    "bar": {"on", "side", "from_end", "from_centre", "forward", "up", "measured"},
    "point": {"on", "position", "measured"},
}
_NEEDED = {"outlet": ("control", "outlet"), "bar": ("side",), "point": ("position",)}


def read_line(name: str, raw: Any, controls: Controls, reader: Reader) -> Line | None:
    """The line of that name, or None after telling what is wrong with it."""
    place = ("lines", name)
    own = reader.table(raw, LineTable, place, others=_READ_APART)
    if not isinstance(raw, dict):
        return None
    kinds = line_kinds()
    kind = raw.get("kind")
    if isinstance(kind, str) and kind.strip() and kind not in kinds:
        told = f"{kind!r} is not a known kind of line"
        reader.tell((*place, "kind"), told, did_you_mean(kind, kinds))
    stations = _read_stations(raw.get("stations"), controls, (*place, "stations"), reader)
    if stations and own:
        _check_clips(stations, own.length, (*place, "stations"), reader)
    found = _read_found_slack(raw, place, reader)
    through = read_through_bar(raw, place, reader)
    routings = _read_routings(raw, own, controls, place, reader)
    cable = read_cable(raw, place, reader)
    wires: Wires | None = None
    if "wires" in raw and isinstance(kind, str) and kind in kinds:
        wires = read_wires(raw["wires"], kinds[kind].family, (*place, "wires"), reader)
    hose = None
    if "hose" in raw:
        hose = read_hose(raw["hose"], kind, (*place, "hose"), reader)
    if own is None or stations is None or own.kind not in kinds:
        return None
    return Line(
        name=name,
        kind=own.kind,
        diameter=own.diameter if own.diameter is not None else kinds[own.kind].outside_diameter,
        length=own.length,
        stations=stations,
        min_radius=own.min_radius,
        bending_stiffness=own.bending_stiffness,
        weight=own.weight,
        note=own.note,
        measured=own.measured,
        found_slack=found,
        swivels=own.swivels,
        twisting_stiffness=own.twisting_stiffness,
        routing=own.routing,
        routings=routings,
        through_bar=through,
        cable=cable,
        wires=wires,
        hose=hose,
    )


def _read_routings(
    raw: dict[str, Any], line: LineTable | None, controls: Controls, place: Parts, reader: Reader
) -> tuple[Routing, ...]:
    """The other ways a line could go."""
    if "routings" not in raw:
        return ()
    here = (*place, "routings")
    if line and not line.routing.strip():
        hint = "a line with more than one way to go needs a name for the way it goes now"
        reader.tell(place, "'routing' is missing", hint)
    found = []
    for name, one in reader.tables(raw, "routings", place).items():
        if line and name == line.routing:
            reader.tell((*here, name), "is the name of the way the line goes now", "use another")
        own = reader.table(one, RoutingTable, (*here, name), others=_READ_APART[:-1])
        if own is None or not isinstance(one, dict):
            continue
        stations = _read_stations(one.get("stations"), controls, (*here, name, "stations"), reader)
        slack = _read_found_slack(one, (*here, name), reader)
        through = read_through_bar(one, (*here, name), reader)
        if stations is None or line is None:
            continue
        length = line.length if own.length is None else own.length
        _check_clips(stations, length, (*here, name, "stations"), reader)
        found.append(Routing(name, length, stations, slack, through))
    return tuple(found)


def _read_found_slack(line: dict[str, Any], line_place: Parts, reader: Reader) -> FoundSlack | None:
    if "found_slack" not in line:
        return None
    raw, place = line["found_slack"], (*line_place, "found_slack")
    own = reader.table(raw, FoundSlackTable, place)
    if own and own.right is own.straight is own.left is None:
        hint = "give one of 'right', 'straight' and 'left', as found with the stock bars"
        reader.tell(place, "says no slack", hint)
    if own and isinstance(own.measured, float) and own.measured < LEAST_FOUND:
        least = format_length(LEAST_FOUND, reader.unit, decimals=3 if reader.unit == "in" else 1)
        reader.tell((*place, "measured"), f"nobody measures slack better than {least}")
    return FoundSlack(**own.model_dump()) if own else None


def _read_stations(
    raw: Any, controls: Controls, place: Parts, reader: Reader
) -> tuple[Station, ...] | None:
    if raw is None or raw == []:
        reader.tell(place, "is missing", "a line needs a fitting at either end")
        return None
    if not isinstance(raw, list):
        reader.tell(place, f"{shown(raw)} is not a list of stations")
        return None
    read = [_read_station(one, controls, (*place, index), reader) for index, one in enumerate(raw)]
    if len(raw) < 2:
        reader.tell(place, "has only one station", "a line needs two fittings")
    for index, station in enumerate(read):
        if station is None:
            continue
        here = (*place, index)
        end = index in (0, len(read) - 1)
        if end and len(raw) > 1 and station.hold is not Hold.FITTING:
            told = f"a line cannot {'end' if index else 'start'} with a {station.hold}"
            reader.tell((*here, "hold"), told, "its ends are fittings")
        if not end and station.hold is Hold.FITTING:
            told = "a fitting can only be the first or the last station"
            reader.tell((*here, "hold"), told, "use 'clip' or 'guide' in between")
        if station.name in {other.name for other in read[:index] if other}:
            reader.tell((*here, "name"), f"{station.name!r} is there twice in this line")
        if index and (before := read[index - 1]) and before.place == station.place:
            told = f"is at the same place as '{before.name}'"
            reader.tell(here, told, "two stations of a line need some distance")
    if len(read) > 2 and read[0] and read[-1] and read[0].place == read[-1].place:
        told = f"the line ends where it starts, at '{read[0].name}'"
        reader.tell((*place, len(read) - 1), told)
    return None if None in read else tuple(station for station in read if station)


def _read_station(raw: Any, controls: Controls, place: Parts, reader: Reader) -> Station | None:
    own = reader.table(raw, StationTable, place)
    if own is None:
        return None
    wrongs = 0

    def wrong(key: str, message: str, hint: str = "") -> None:
        nonlocal wrongs
        wrongs += 1
        reader.tell((*place, key) if key else place, message, hint)

    where = _where(own)
    if where is None:
        wrong("", "does not say where it is", "give 'control' and 'outlet', or 'on'")
    else:
        _check_keys(own, where, wrong)
        _check_outlet(own, controls, wrong)
    if where is None or wrongs:
        return None
    return Station(
        name=own.name,
        hold=own.hold,
        place=_place(own, where),
        direction=own.exit if own.hold is Hold.FITTING else own.direction,
        stub=own.stub or 0.0,
        at_length=own.at_length,
        measured=How.TAPE if own.measured is None else own.measured,
    )


def _where(own: StationTable) -> str | None:
    if own.control is not None or own.outlet is not None:
        return "outlet"
    if own.on is None:
        return None
    return "bar" if own.on is Ride.BAR else "point"


def _check_keys(own: StationTable, where: str, wrong: Callable[..., None]) -> None:
    """Which keys a station needs and may have follows from its hold and its place."""
    needed = list(_NEEDED[where])
    allowed = {"name", "hold"} | _PLACE_KEYS[where]
    if own.hold is Hold.FITTING and where == "bar":
        wrong("hold", "a fitting is not held beside the bar", "use 'clip' or 'guide' there")
        return
    if own.hold is not Hold.FITTING and where == "outlet":
        wrong("hold", f"a {own.hold} is not at an outlet", "only a fitting is")
        return
    if own.hold is Hold.FITTING and where == "point":
        needed.append("exit")
        allowed |= {"exit", "stub"}
    if own.hold is Hold.CLIP:
        needed.append("at_length")
        allowed.add("at_length")
        if where == "point":
            needed.append("direction")
            allowed.add("direction")
    if where == "bar" and (own.from_end is None) == (own.from_centre is None):
        wrong("", "needs one distance along the bar", "give 'from_end' or 'from_centre'")
    for key in needed:
        if getattr(own, key) is None:
            wrong("", f"'{key}' is missing", _WHY_NEEDED.get(key, ""))
    for key in own.model_fields_set - allowed:
        wrong("", f"'{key}' does not belong here", _why_not(key, own.hold, where))


_WHY_NEEDED = {
    "exit": "the way the line points as it leaves this fitting",
    "direction": "the way the line runs through this clip",
    "at_length": "where along the line, from its first fitting, the clip grips it",
    "outlet": "name one of the control's outlets",
    "control": "name the control whose outlet this is",
    "side": "'left' or 'right'",
}


def _why_not(key: str, hold: Hold, where: str) -> str:
    if where == "outlet" and key == "measured":
        return "say it at the control and its outlet"
    if where == "outlet":
        return "the outlet says where the line starts and how it leaves"
    if key == "direction" and hold is Hold.FITTING:
        return "a fitting has 'exit', the way the line points as it leaves it"
    if key == "exit" and hold is Hold.CLIP and where == "point":
        return "a clip has 'direction', the way the line runs through it"
    if key in ("exit", "direction", "stub", "at_length"):
        return f"a {hold} on the {where if where == 'bar' else 'machine'} has none"
    return "it goes with another kind of place"


def _check_outlet(own: StationTable, controls: Controls, wrong: Callable[..., None]) -> None:
    if own.control is None:
        return
    if own.control not in controls:
        told = f"there is no control {own.control!r}"
        wrong("control", told, did_you_mean(own.control, controls))
        return
    control = controls[own.control]
    outlets = [outlet.name for outlet in control.outlets] if control else []
    if control and own.outlet is not None and own.outlet not in outlets:
        told = f"control {own.control!r} has no outlet {own.outlet!r}"
        wrong("outlet", told, did_you_mean(own.outlet, outlets))


def _place(own: StationTable, where: str) -> Place:
    if where == "outlet":
        return OutletPlace(own.control or "", own.outlet or "")
    if where == "bar" and own.side is not None:
        distance = own.from_end if own.from_end is not None else own.from_centre
        return BarPlace(
            side=own.side,
            distance=distance or 0.0,
            from_centre=own.from_centre is not None,
            forward=own.forward or 0.0,
            up=own.up or 0.0,
        )
    return PointPlace(Body(str(own.on)), own.position or (math.nan,) * 3)


def _check_clips(
    stations: tuple[Station, ...], length: float, place: Parts, reader: Reader
) -> None:
    """Clips grip the line one after the other, inside its length."""
    before, who = 0.0, "the first fitting"
    for index, station in enumerate(stations):
        at = station.at_length
        if at is None:
            continue
        here = (*place, index, "at_length")
        told, whole = (format_length(mm, reader.unit) for mm in (at, length))
        if at >= length:
            reader.tell(here, f"{told} is beyond the end of the line, which is {whole} long")
        elif at <= before:
            hint = "clips grip the line one after the other"
            reader.tell(here, f"{told} is not beyond {who}", hint)
        before = max(at, before)
        who = f"the clip '{station.name}', at {format_length(before, reader.unit)}"
