"""The numbers of a setup that were measured, and so may be off: each as one uncertain input.

Coordinates of stations and outlets, the trade dimensions of bars and risers (which move all
controls together), where controls and ties sit along the bar, the ways fittings and clips point,
lengths, stiffnesses and the locks. All are taken as independent.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from barfit.catalogue import line_property
from barfit.model import (
    Bar,
    BarPlace,
    BarSet,
    ClipOn,
    Control,
    How,
    Line,
    Outlet,
    OutletPlace,
    PointPlace,
    Setup,
    Station,
    Vec,
)

Key = tuple[str | int, ...]
Change = Callable[[Setup, float], Setup]
StationChange = Callable[[Station, float], Station]

STIFFNESS = "line's bending stiffness"
_MACHINE_AXES = ("forward", "sideways", "up")
_BAR_AXES = ("outward", "forward", "up")
_BAR_LENGTHS = ("width", "rise", "pullback", "centre_width", "hand_straight")
_CLIP_ON_LENGTHS = ("height", "forward", "outward", "length")
_BAR_ANGLES = ("sweep", "downsweep", "roll")


@dataclass(frozen=True)
class Input:
    """One number that may be off by ``sd`` (mm, rad, or a share of it).

    ``key`` is the same with stock and new bars where one error counts for both. ``thing`` is what
    to measure again, ``part`` which number of it ("" where it has but one). ``lines`` are those
    it may touch. ``moved(setup, by)`` is the setup with it larger by that much.
    """

    key: Key
    thing: str
    part: str
    sd: float
    lines: frozenset[str]
    moved: Change

    @property
    def words(self) -> str:
        """As in "clutch cable perch, outlet forward"."""
        return f"{self.thing}, {self.part}" if self.part else self.thing


def inputs(setup: Setup, stock: bool) -> tuple[Input, ...]:
    """Every input that is not known exactly, with the stock or the new bars."""
    found = [
        *_machine(setup),
        *_bars(setup, stock),
        *(one for control in setup.controls for one in _control(setup, control, stock)),
        *(one for line in setup.lines for one in _line(setup, line, stock)),
    ]
    return tuple(one for one in found if one.sd > 0.0 and one.lines)


def alone(setup: Setup, line: str) -> Setup:
    """The setup with that line alone and the controls it comes from: quick to lay out."""
    kept = setup.line(line)
    names = {s.place.control for s in kept.stations if isinstance(s.place, OutletPlace)}
    controls = tuple(control for control in setup.controls if control.name in names)
    return replace(setup, lines=(kept,), controls=controls)


# --- machine and bars ----------------------------------------------------------------------------


def _machine(setup: Setup) -> Iterator[Input]:
    every = frozenset(line.name for line in setup.lines)
    sure, how = setup.uncertainty, setup.machine.measured
    for name, sd, lines, words in (
        ("lock_right", sure.angle_of(how), every, "right lock"),
        ("lock_left", sure.angle_of(how), every, "left lock"),
        ("riser_foot", sure.of(how), _on_bar(setup), "foot of the risers"),
    ):

        def moved(setup: Setup, by: float, name: str = name) -> Setup:
            machine = setup.machine
            return replace(setup, machine=replace(machine, **{name: getattr(machine, name) + by}))

        yield Input(("machine", name), words, "", sd, lines, moved)


def _bars(setup: Setup, stock: bool) -> Iterator[Input]:
    bars = setup.bars(stock)
    lines, sure = _on_bar(setup), setup.uncertainty
    lengths = _BAR_LENGTHS if isinstance(bars.bar, Bar) else _CLIP_ON_LENGTHS
    spread = dict.fromkeys(lengths, sure.of(bars.bar.measured))
    spread |= dict.fromkeys(_BAR_ANGLES, sure.angle_of(bars.bar.measured))
    thing = "stock bar" if stock else "new bar"
    for name, sd in spread.items():
        key: Key = ("bar", _era(setup, stock), name)
        yield Input(key, thing, name.replace("_", " "), sd, lines, _bar_change("bar", name))
    yield from _holes(setup, stock)
    if isinstance(bars.bar, ClipOn):
        return
    era = _era_of(setup.stock.riser == setup.new.riser, stock)
    for name in ("height", "setback"):
        sd = sure.of(bars.riser.measured)
        yield Input(("riser", era, name), "riser", name, sd, lines, _bar_change("riser", name))


def _holes(setup: Setup, stock: bool) -> Iterator[Input]:
    """Where the holes are that lines go through."""
    bar, sure = setup.bars(stock).bar, setup.uncertainty
    for hole in bar.holes:
        lines = frozenset(
            line.name
            for line in setup.lines
            if line.through_bar and hole.name in (line.through_bar.entry, line.through_bar.exit)
        )
        for name, words, sd in (
            ("distance", "place along the bar", sure.of(bar.measured)),
            ("facing", "facing", sure.angle_of(bar.measured)),
        ):
            key: Key = ("hole", _era(setup, stock), hole.name, name)
            moved = _hole_change(hole.name, name)
            yield Input(key, f"hole '{hole.name}'", words, sd, lines, moved)


def _hole_change(hole: str, name: str) -> Change:
    """Changes a number of a hole in both sets of bars, as `_bar_change` does."""

    def larger(bars: BarSet, by: float) -> BarSet:
        holes = (
            replace(one, **{name: getattr(one, name) + by}) if one.name == hole else one
            for one in bars.bar.holes
        )
        return replace(bars, bar=replace(bars.bar, holes=tuple(holes)))

    def moved(setup: Setup, by: float) -> Setup:
        return replace(setup, stock=larger(setup.stock, by), new=larger(setup.new, by))

    return moved


def _bar_change(part: str, name: str) -> Change:
    """Changes a dimension of both sets of bars: only one of them is looked at at a time."""

    def moved(setup: Setup, by: float) -> Setup:
        return replace(setup, stock=larger(setup.stock, by), new=larger(setup.new, by))

    def larger(bars: BarSet, by: float) -> BarSet:
        old = getattr(bars, part)
        if not hasattr(old, name):  # a bar beside clip-ons
            return bars
        return replace(bars, **{part: replace(old, **{name: getattr(old, name) + by})})

    return moved


def _era(setup: Setup, stock: bool) -> str:
    """What is set up anew with other bars does not share its error with the stock ones."""
    return _era_of(setup.stock.bar == setup.new.bar, stock)


def _era_of(same: bool, stock: bool) -> str:
    return "both" if same else "stock" if stock else "new"


def _on_bar(setup: Setup) -> frozenset[str]:
    return frozenset(
        line.name
        for line in setup.lines
        if any(isinstance(s.place, OutletPlace | BarPlace) for s in line.stations)
    )


# --- controls ------------------------------------------------------------------------------------


def _control(setup: Setup, control: Control, stock: bool) -> Iterator[Input]:
    sure = setup.uncertainty
    lines = _of_control(setup, control.name)
    for name, sd in (
        ("inboard", sure.of(control.measured)),
        ("rotation", sure.angle_of(control.measured)),
    ):
        key: Key = ("control", control.name, _era(setup, stock), name)
        yield Input(key, control.name, name, sd, lines, _control_change(control.name, name))
    for outlet in control.outlets:
        where = _of_control(setup, control.name, outlet.name)
        key = ("outlet", control.name, outlet.name)
        name = "outlet" if len(control.outlets) == 1 else f"outlet '{outlet.name}'"
        change = partial(_outlet_change, control.name, outlet.name)
        sd = sure.of(outlet.measured)
        for axis, way in enumerate(_BAR_AXES):
            moved = change("offset", partial(_shifted, axis))
            yield Input((*key, axis), control.name, f"{name} {way}", sd, where, moved)
        for axis in _tilt_axes(outlet.exit):
            part = f"{name} pointing {_BAR_AXES[axis]}"
            moved = change("exit", partial(_tilted, axis))
            angle = sure.angle_of(outlet.measured)
            yield Input((*key, "exit", axis), control.name, part, angle, where, moved)


def _control_change(name: str, number: str) -> Change:
    def moved(setup: Setup, by: float) -> Setup:
        controls = (
            replace(c, **{number: getattr(c, number) + by}) if c.name == name else c
            for c in setup.controls
        )
        return replace(setup, controls=tuple(controls))

    return moved


def _outlet_change(
    control: str, outlet: str, vector: str, change: Callable[[Vec, float], Vec]
) -> Change:
    def changed(old: Outlet, by: float) -> Outlet:
        if vector == "offset":
            return replace(old, offset=change(old.offset, by))
        return replace(old, exit=change(old.exit, by))

    def moved(setup: Setup, by: float) -> Setup:
        controls = []
        for c in setup.controls:
            if c.name == control:
                outlets = (changed(o, by) if o.name == outlet else o for o in c.outlets)
                c = replace(c, outlets=tuple(outlets))
            controls.append(c)
        return replace(setup, controls=tuple(controls))

    return moved


def _of_control(setup: Setup, control: str, outlet: str | None = None) -> frozenset[str]:
    return frozenset(
        line.name
        for line in setup.lines
        if any(
            isinstance(s.place, OutletPlace)
            and s.place.control == control
            and outlet in (None, s.place.outlet)
            for s in line.stations
        )
    )


# --- lines ---------------------------------------------------------------------------------------


def _line(setup: Setup, line: Line, stock: bool) -> Iterator[Input]:
    sure = setup.uncertainty
    only = frozenset((line.name,))
    sd = sure.length if line.measured is None else sure.of(line.measured)
    longer = _line_change(line.name, _longer)
    yield Input(("length", line.name), "line's length", "", sd, only, longer)
    stiffer = _line_change(line.name, _stiffer)
    key: Key = ("stiffness", line.name)
    yield Input(key, STIFFNESS, "", sure.stiffness, only, stiffer)
    for index, station in enumerate(line.stations):
        for part, own_key, sd, change in _station_changes(setup, station, stock):
            key = ("station", line.name, index, *own_key)
            moved = _line_change(line.name, partial(_with_station, index, change))
            yield Input(key, station.name, part, sd, only, moved)


def _line_change(name: str, change: Callable[[Line, float], Line]) -> Change:
    def moved(setup: Setup, by: float) -> Setup:
        lines = (change(line, by) if line.name == name else line for line in setup.lines)
        return replace(setup, lines=tuple(lines))

    return moved


def _longer(line: Line, by: float) -> Line:
    return replace(line, length=line.length + by)


def _stiffer(line: Line, by: float) -> Line:
    stiffness = line_property(line, "bending_stiffness")
    return replace(line, bending_stiffness=stiffness * math.exp(by))


def _with_station(index: int, change: StationChange, line: Line, by: float) -> Line:
    stations = list(line.stations)
    stations[index] = change(stations[index], by)
    return replace(line, stations=tuple(stations))


def _station_changes(
    setup: Setup, station: Station, stock: bool
) -> Iterator[tuple[str, Key, float, StationChange]]:
    """What may be off about one station: in words, its key, its deviation and the change."""
    sure, place = setup.uncertainty, station.place
    sd = sure.of(station.measured)
    if isinstance(place, PointPlace):
        for axis, way in enumerate(_MACHINE_AXES):
            yield way, (axis,), sd, partial(_moved_point, axis)
    elif isinstance(place, BarPlace):
        era = _era(setup, stock)  # ties on the bar are put on again
        yield "place along the bar", (era,), sd, partial(_moved_on_bar, "distance")
        for name in ("forward", "up"):
            yield name, (name,), sd, partial(_moved_on_bar, name)
    if station.direction is not None:
        for axis in _tilt_axes(station.direction):
            part = f"pointing {_MACHINE_AXES[axis]}"
            angle = sure.angle_of(station.measured)
            yield part, ("tilt", axis), angle, partial(_tilted_station, axis)
    if station.at_length is not None:
        along = sd if station.measured is How.NOT_MEASURED else sure.length
        yield "place along the line", ("at length",), along, _slid


def _moved_point(axis: int, station: Station, by: float) -> Station:
    place = station.place
    assert isinstance(place, PointPlace)
    return replace(station, place=replace(place, position=_shifted(axis, place.position, by)))


def _moved_on_bar(name: str, station: Station, by: float) -> Station:
    place = station.place
    assert isinstance(place, BarPlace)
    return replace(station, place=replace(place, **{name: getattr(place, name) + by}))


def _tilted_station(axis: int, station: Station, by: float) -> Station:
    assert station.direction is not None
    return replace(station, direction=_tilted(axis, station.direction, by))


def _slid(station: Station, by: float) -> Station:
    assert station.at_length is not None
    return replace(station, at_length=station.at_length + by)


def _shifted(axis: int, point: Vec, by: float) -> Vec:
    x, y, z = (value + by * (k == axis) for k, value in enumerate(point))
    return (x, y, z)


def _tilt_axes(direction: Vec) -> list[int]:
    """The two axes that a direction can best be tilted towards: those it has least of."""
    return sorted(sorted(range(3), key=lambda k: abs(direction[k]))[:2])


def _tilted(axis: int, direction: Vec, by: float) -> Vec:
    """A direction (its unit vector) turned by ``by`` rad towards one of its `_tilt_axes`.

    The two ways to turn are square to the direction and to each other.
    """
    square = [np.array(direction) / np.linalg.norm(direction)]
    for k in _tilt_axes(direction):
        towards = np.eye(3)[k]
        towards = towards - sum((towards @ other) * other for other in square)
        square.append(towards / np.linalg.norm(towards))
    way = square[1 + _tilt_axes(direction).index(axis)]
    x, y, z = (math.cos(by) * square[0] + math.sin(by) * way).tolist()
    return (x, y, z)
