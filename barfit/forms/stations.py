"""The form of one station of a line: how it holds the line, what it rides on, and where."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from barfit import edits
from barfit.forms.fields import (
    Field,
    Group,
    along_bar,
    choice,
    coordinates,
    fields_of,
    needed,
)
from barfit.model import BarPlace, Body, Hold, Line, OutletPlace, PointPlace, Setup, Station
from barfit.scenario.schema import StationTable

_FROM_CLAMP = "From where the steering axis leaves the top clamp's upper face; may be negative."
_ON_BAR, _AT_CONTROL = "the bar", "a control"
_GUIDE = "guide, ring or grommet: it slides"
_CLIP = "clip: grips it"
_LOOSE, _TIGHT = "loose tie: it slides", "tight tie or clip: grips it"


def station_form(setup: Setup, line: str, index: int) -> tuple[Group, ...]:
    """One station of a line. Raises KeyError."""
    own = setup.line(line)
    station = own.stations[index]

    def change(key: str, value: Any) -> Setup:
        return edits.change_station(setup, line, index, **{key: value})

    def fields(*keys: str, values: object = station) -> tuple[Field, ...]:
        return fields_of(StationTable, values, change, form="station", keys=keys)

    found = [*fields("name"), *_held(setup, own, index), *_where(setup, own, index)]
    if station.direction is not None:
        key = "exit" if station.hold is Hold.FITTING else "direction"
        (way,) = needed(fields(key, values={key: station.direction}))
        turned = replace(way, change=lambda _key, value: change("direction", value))
        found += coordinates(turned)
    if not isinstance(station.place, OutletPlace):
        found += needed(fields("stub")) if station.hold is Hold.FITTING else ()
        found += needed(fields("at_length")) if station.at_length is not None else ()
        found += needed(fields("measured"))
    return (Group(f"{str(station.hold).capitalize()}: {station.name}", tuple(found), "station"),)


def _held(setup: Setup, line: Line, index: int) -> tuple[Field, ...]:
    """How it holds the line, which is to be chosen between its ends, and what it rides on."""
    station = line.stations[index]
    place = station.place
    on_bar = isinstance(place, BarPlace)
    if station.hold is Hold.FITTING:
        return (_end_on(setup, line, index),)
    known = {_LOOSE if on_bar else _GUIDE: Hold.GUIDE, _TIGHT if on_bar else _CLIP: Hold.CLIP}

    def hold(value: Hold) -> Setup:
        return edits.hold_as(setup, line.name, index, value)

    def ride(body: Body | None) -> Setup:
        if body is None:
            return edits.put_station_on_bar(setup, line.name, index)
        return edits.put_station_on(setup, line.name, index, body)

    bodies: dict[str, Body | None] = {str(body): body for body in Body}
    on = None if not isinstance(place, PointPlace) else place.body
    return (
        choice("hold", station.hold, known, hold, "Change how it is held"),
        choice("on", on, bodies | {_ON_BAR: None}, ride, form="station"),
    )


def _end_on(setup: Setup, line: Line, index: int) -> Field:
    """What an end of the line is on: a control, or a body of the machine."""
    place = line.stations[index].place
    outlets = _outlets(setup, line, index)
    known: dict[str, Body | None] = {str(body): body for body in Body}
    if outlets:
        known = {_AT_CONTROL: None, **known}

    def ride(body: Body | None) -> Setup:
        if body is None:
            return edits.put_station_at(setup, line.name, index, next(iter(outlets.values())))
        return edits.take_station_off(setup, line.name, index, body)

    on = place.body if isinstance(place, PointPlace) else None
    return choice("on", on, known, ride, form="station")


def _outlets(setup: Setup, line: Line, index: int) -> dict[str, OutletPlace]:
    """Where the line could leave a control, by its words: the free ones first, without the outlet
    at its other end.
    """
    other = line.stations[-1 if index == 0 else 0].place
    used = {station.place for one in setup.lines for station in one.stations}
    every = [
        OutletPlace(control.name, outlet.name)
        for control in setup.controls
        for outlet in control.outlets
    ]
    every.sort(key=lambda place: place in used)
    return {_outlet_words(one): one for one in every if one != other}


def _outlet_words(place: OutletPlace) -> str:
    return f"{place.control}, {place.outlet}"


def _where(setup: Setup, line: Line, index: int) -> tuple[Field, ...]:
    """Where it is."""
    station: Station = line.stations[index]
    place = station.place
    if isinstance(place, OutletPlace):
        outlets = _outlets(setup, line, index)

        def leave(outlet: OutletPlace) -> Setup:
            return edits.put_station_at(setup, line.name, index, outlet)

        return (choice("leaves", place, outlets, leave, "Change outlet"),)

    def placed(key: str, value: Any) -> Setup:
        key = "distance" if key in ("from_end", "from_centre") else key
        moved = replace(place, **{key: value})
        return edits.change_station(setup, line.name, index, place=moved)

    if isinstance(place, PointPlace):
        (where,) = needed(
            fields_of(StationTable, place, placed, form="station", keys=("position",))
        )
        return coordinates(replace(where, tip=_FROM_CLAMP), short=True)

    def other_end(centre: bool) -> Setup:
        return edits.measure_from(setup, line.name, index, centre)

    far = "from_centre" if place.from_centre else "from_end"
    values = {far: place.distance, "side": place.side, "forward": place.forward, "up": place.up}
    keys = ("side", far, "forward", "up")
    side, *rest = needed(fields_of(StationTable, values, placed, form="station", keys=keys))
    return (side, along_bar(place.from_centre, other_end), *rest)
