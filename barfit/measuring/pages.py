"""One thing to measure as a page: what to do, the fields it fills, a picture of where the tape goes
for each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from barfit import edits, forms
from barfit.edits.names import find
from barfit.forms import Field, Group, drawings, tape
from barfit.forms.drawings import View
from barfit.geometry.frames import Array
from barfit.geometry.pose import LayoutError, layout
from barfit.measuring.things import Part, Thing
from barfit.model import BarPlace, ClipOn, Hold, PointPlace, Setup

_BAR = ("width", "rise", "pullback", "centre_width", "hand_straight")
_BAR_ANGLES = ("sweep", "downsweep", "roll")
_CLIP_ONS = ("height", "forward", "outward", "length", *_BAR_ANGLES)
_RISER = ("height", "setback")
_MACHINE = ("rake", "lock_right", "lock_left", "offset", "length", "lower_clamp", "foot")
_LINE = ("length", "right", "straight", "left")
_SOLID = (
    *(
        f"{key}_{way}"
        for key in ("start", "end", "centre", "semi_axes", "size", "position")
        for way in ("forward", "left", "up")
    ),
    *("radius", "pitch", "rounding", "yaw"),
)
_NOT_MEASURED = ("name", "hold", "on", "leaves", "measured", "kind", "side", "note")

_DEEDS = {
    Part.MACHINE: (
        "Upright on a stand, on level ground. Hold a phone's spirit level or an angle gauge along "
        "the fork for the rake; lay it across the top clamp and turn to each stop for the locks."
    ),
    Part.BAR: (
        "On the bench: end to end, then lay a straightedge across both ends and measure to the "
        "clamp's centre. In the shop the maker's list has the same figures."
    ),
    Part.RISER: "From the top clamp's upper face up to the middle of the bar, along the fork.",
    Part.CONTROL: (
        "From the bar end along the bar to the middle of the clamp; then from the bar's centre to "
        "where the line comes out."
    ),
    Part.LINE: (
        "Lay a string along the whole line, fitting to fitting, and measure the string. Worth more "
        "than any tape: with the stock bars on, pull it taut by hand at each lock and straight "
        "ahead, and measure what is to spare."
    ),
    Part.SOLID: (
        "Steering straight ahead, machine upright. From the middle of the stem nut to its middle, "
        "or to both its round ends; then how large it is. Where lines lie against it counts most."
    ),
    Part.STATION: (
        "Steering straight ahead, machine upright. Zero is the middle of the stem nut, on the "
        "upper face of the top clamp: from there level forward, level to the left, and plumb up; "
        "back, right and down are negative."
    ),
}
_ON_BAR = "Along the bar to where the tie is; then how far it holds the line off the bar's middle."


@dataclass(frozen=True)
class Page:
    """``deed`` says what to do; ``views`` are the pictures of each group, by its drawing."""

    deed: str
    groups: tuple[Group, ...]
    views: Mapping[str, tuple[View, ...]]


def page(setup: Setup, thing: Thing, unit: str, path: Array | None = None) -> Page:
    """The page of a thing. ``path`` (n, 3) is how its line lies straight ahead at ride height, by
    default from station to station. Raises KeyError, IndexError.
    """
    make = {
        Part.MACHINE: _machine,
        Part.BAR: _bar,
        Part.RISER: _riser,
        Part.CONTROL: _control,
        Part.SOLID: _solid,
    }.get(thing.part)
    if make is not None:
        return make(setup, thing)
    if path is None:
        path = stations_path(setup, thing.which)
    return (
        _line(setup, thing, unit, path) if thing.part is Part.LINE else _station(setup, thing, path)
    )


def stations_path(setup: Setup, line: str) -> Array:
    """The way of a line from station to station (n, 3), with the stock bars; (0, 3) where it cannot
    be laid out.
    """
    try:
        points: Array = layout(setup, setup.stock)[line].points
    except (LayoutError, ValueError):
        return np.zeros((0, 3))
    return points


def _machine(setup: Setup, thing: Thing) -> Page:
    side, _front, locks = drawings.machine_views(setup)
    groups = _picked(forms.machine_form(setup), _MACHINE)
    views = {group.drawing: (side, locks) for group in groups}
    return Page(_DEEDS[Part.MACHINE], groups, views)


def _bar(setup: Setup, thing: Thing) -> Page:
    stock = thing.which == "stock"
    clip_ons = isinstance(setup.bars(stock).bar, ClipOn)
    keys = _CLIP_ONS if clip_ons else (*_BAR, *_BAR_ANGLES)
    groups = _picked(forms.bars_form(setup, stock)[:2], keys)
    if thing.which == "both":
        groups = _for_both(setup, groups, edits.change_bar)
    return Page(_DEEDS[Part.BAR], groups, {"bar": drawings.bar_views(setup, stock)})


def _riser(setup: Setup, thing: Thing) -> Page:
    stock = thing.which == "stock"
    found = [one for one in forms.bars_form(setup, stock) if one.drawing == "riser"]
    groups = _picked(found, _RISER)
    if thing.which == "both":
        groups = _for_both(setup, groups, edits.change_riser)
    return Page(_DEEDS[Part.RISER], groups, {"riser": drawings.riser_views(setup, stock)})


def _control(setup: Setup, thing: Thing) -> Page:
    control = find(setup.controls, thing.which)
    form = forms.control_form(setup, thing.which)
    own = _picked(form[:1], ("inboard", "rotation"))
    outlets = [one for one in form if one.drawing.startswith("outlet")]
    views = {"control": drawings.control_views(setup, False, control)}
    for one in control.outlets:
        views[f"outlet {one.name}"] = drawings.control_views(setup, False, control, one.name)
    return Page(_DEEDS[Part.CONTROL], (*own, *_without(outlets)), views)


def _solid(setup: Setup, thing: Thing) -> Page:
    groups = _picked(forms.solid_form(setup, thing.which)[1:], _SOLID)
    views = tape.solid_views(setup, find(setup.machine.solids, thing.which))
    return Page(_DEEDS[Part.SOLID], groups, {group.drawing: views for group in groups})


def _line(setup: Setup, thing: Thing, unit: str, path: Array) -> Page:
    line = setup.line(thing.which)
    groups = _picked(forms.line_form(setup, thing.which, unit), _LINE)
    views = tape.line_views(setup, path, line.diameter)
    return Page(_DEEDS[Part.LINE], groups, {group.drawing: views for group in groups})


def _station(setup: Setup, thing: Thing, path: Array) -> Page:
    station = setup.line(thing.which).stations[thing.station]
    groups = _without(forms.station_form(setup, thing.which, thing.station))
    deed = _DEEDS[Part.STATION]
    views: tuple[View, ...] = ()
    if isinstance(station.place, PointPlace):
        views = tape.point_views(setup, station.place.position, path)
    elif isinstance(station.place, BarPlace):
        deed, views = _ON_BAR, tape.bar_place_views(setup, False, station.place)
    if station.hold is Hold.CLIP:
        deed += " How far along the line the clip grips it counts from the line's first fitting."
    return Page(deed, groups, {group.drawing: views for group in groups})


def _picked(groups: Iterable[Group], keys: tuple[str, ...]) -> tuple[Group, ...]:
    """The groups with these of their fields; those with none are left out."""
    found = []
    for group in groups:
        fields = tuple(one for one in group.fields if one.key in keys)
        if fields:
            found.append(replace(group, fields=fields, actions=()))
    return tuple(found)


def _without(groups: Iterable[Group]) -> tuple[Group, ...]:
    """The groups without what no tape tells."""
    return tuple(
        replace(
            group,
            fields=tuple(one for one in group.fields if one.key not in _NOT_MEASURED),
            actions=(),
        )
        for group in groups
    )


def _for_both(
    setup: Setup, groups: tuple[Group, ...], change: Callable[..., Setup]
) -> tuple[Group, ...]:
    """Fields that change what stock and new bars have in common in both."""

    def both(key: str, value: Any) -> Setup:
        return change(change(setup, True, **{key: value}), False, **{key: value})

    def linked(field: Field) -> Field:
        return replace(field, change=both)

    return tuple(
        replace(
            group,
            heading=group.heading.removesuffix(", new"),
            fields=tuple(map(linked, group.fields)),
        )
        for group in groups
    )
