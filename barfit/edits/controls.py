"""Controls on the bar and their outlets."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from barfit.edits.names import beside, checked_name, find, fresh_name, replaced, without
from barfit.model import Control, How, Line, OutletPlace, Setup, Station


def change_control(setup: Setup, name: str, /, **fields: Any) -> Setup:
    """Fields of a control changed (its name: `rename_control`)."""
    changed = replace(find(setup.controls, name), **fields)
    return replace(setup, controls=replaced(setup.controls, name, changed))


def change_outlet(setup: Setup, control: str, outlet: str, /, **fields: Any) -> Setup:
    """Fields of one of a control's outlets changed."""
    outlets = find(setup.controls, control).outlets
    changed = replace(find(outlets, outlet), **fields)
    return change_control(setup, control, outlets=replaced(outlets, outlet, changed))


def add_control(setup: Setup, control: Control) -> Setup:
    """One more control, under a fresh name where its own is taken."""
    control = replace(control, name=fresh_name(control.name, [one.name for one in setup.controls]))
    return replace(setup, controls=(*setup.controls, control))


def add_outlet(setup: Setup, control: str) -> Setup:
    """One more outlet of a control, at first where its last one is."""
    outlets = find(setup.controls, control).outlets
    name = fresh_name("outlet", [one.name for one in outlets])
    added = replace(outlets[-1], name=name, measured=How.NOT_MEASURED)
    return change_control(setup, control, outlets=(*outlets, added))


def delete_outlet(setup: Setup, control: str, outlet: str) -> Setup:
    """A control without that outlet. Raises ValueError for the last, and while a line is at it."""
    own = find(setup.controls, control)
    outlets = without(own.outlets, outlet)
    place = OutletPlace(control, outlet)
    held = [
        line.name
        for line in setup.lines
        for way in (line.stations, *(one.stations for one in line.routings))
        if any(station.place == place for station in way)
    ]
    if held:
        raise ValueError(f"'{held[0]}' leaves there; delete or move that first.")
    if not outlets:
        raise ValueError(f"It is the last outlet of '{control}': a control needs one.")
    return change_control(setup, control, outlets=outlets)


def rename_control(setup: Setup, name: str, new: str) -> Setup:
    """A control renamed; lines that start at it follow. Raises ValueError where that is taken."""
    others = [one.name for one in setup.controls if one.name != name]
    new = checked_name(new, others, "control")

    def follows(station: Station) -> Station:
        place = station.place
        if isinstance(place, OutletPlace) and place.control == name:
            return replace(station, place=replace(place, control=new))
        return station

    def followed(line: Line) -> Line:
        ways = tuple(
            replace(way, stations=tuple(map(follows, way.stations))) for way in line.routings
        )
        return replace(line, stations=tuple(map(follows, line.stations)), routings=ways)

    lines = tuple(map(followed, setup.lines))
    return replace(change_control(setup, name, name=new), lines=lines)


def duplicate_control(setup: Setup, name: str) -> Setup:
    """A copy of a control behind it, under a fresh name; no line starts at it yet."""
    taken = [one.name for one in setup.controls]
    copy = replace(find(setup.controls, name), name=fresh_name(name, taken))
    return replace(setup, controls=beside(setup.controls, name, copy))


def delete_control(setup: Setup, name: str) -> Setup:
    """The setup without that control. Raises ValueError while a line starts or ends at it."""
    control = find(setup.controls, name)
    held = [
        line.name
        for line in setup.lines
        if any(
            _at(way, control) for way in (line.stations, *(one.stations for one in line.routings))
        )
    ]
    if held:
        raise ValueError(
            f"'{name}' holds {' and '.join(repr(one) for one in held)}; delete or move that first."
        )
    return replace(setup, controls=without(setup.controls, name))


def _at(stations: tuple[Station, ...], control: Control) -> bool:
    return any(
        isinstance(one.place, OutletPlace) and one.place.control == control.name for one in stations
    )
