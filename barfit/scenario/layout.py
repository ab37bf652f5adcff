"""A `Setup` as the tables and plain values of a scenario file, in the order they are written."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from barfit.model import (
    Bar,
    BarPlace,
    BarSet,
    Capsule,
    ClipOn,
    Control,
    ControlSize,
    Ellipsoid,
    FoundSlack,
    Hold,
    How,
    Line,
    Machine,
    Measured,
    Mesh,
    OutletPlace,
    Routing,
    Setup,
    Solid,
    Station,
    ThroughBar,
    Uncertainty,
    Vec,
)
from barfit.scenario.cables import cable_table
from barfit.scenario.hoses import hose_table, master_table
from barfit.scenario.job import job_table
from barfit.scenario.limits import limit_tables
from barfit.scenario.parts import NO_RISER
from barfit.scenario.rider import rider_tables
from barfit.scenario.through_bar import connector_row, hole_row
from barfit.scenario.wires import wires_table
from barfit.units import angle_literal, length_literal, weight_literal

Value = float | str | list[Any] | dict[str, Any]


class Inline(dict[str, Any]):
    """A table that is written on one line."""


def tables(setup: Setup, format_version: int) -> dict[str, Any]:
    """The whole file. Numbers are in the setup's unit and in degrees; defaults are left out."""
    writer = _Writer(setup.unit)
    found: dict[str, Any] = {"format": format_version, "unit": setup.unit, "title": setup.title}
    if setup.note:
        found["note"] = setup.note
    found["machine"] = writer.machine(setup.machine)
    found["bars"] = {
        "stock": writer.bar_set(setup.stock),
        "new": ({"name": setup.new.name} if setup.new.name else {}) | writer.bar_set(setup.new),
    }
    if setup.other_bars:
        found["bars"]["others"] = {bars.name: writer.bar_set(bars) for bars in setup.other_bars}
    found["controls"] = {control.name: writer.control(control) for control in setup.controls}
    for key, given in (("rider", setup.rider), ("place_limits", setup.place_limits)):
        if told := rider_tables(given, setup.unit):
            found[key] = told
    found["lines"] = {line.name: writer.line(line) for line in setup.lines}
    if setup.uncertainty != Uncertainty():
        found["uncertainty"] = writer.uncertainty(setup.uncertainty)
    if setup.limits:
        found["limits"] = limit_tables(setup.limits, setup.unit)
    if told := job_table(setup.job, setup.unit, Inline):
        found["job"] = told
    return found


class _Writer:
    """Turns parts of a setup into tables, lengths in ``unit``."""

    def __init__(self, unit: str) -> None:
        self.unit = unit

    def length(self, mm: float) -> float | str:
        return length_literal(mm, self.unit)

    def point(self, point: Vec) -> list[float | str]:
        return [self.length(mm) for mm in point]

    def uncertainty(self, given: Uncertainty) -> dict[str, Any]:
        write = {
            "angle": angle_literal,
            "unmeasured_angle": angle_literal,
            "stiffness": _short,
        }
        return {
            field.name: write.get(field.name, self.length)(getattr(given, field.name))
            for field in fields(given)
            if getattr(given, field.name) != field.default
        }

    def measured(self, how: Measured | None, default: Measured | None = How.TAPE) -> dict[str, Any]:
        """The key that says how something was found, where it is not the default."""
        if how is None or how == default:
            return {}
        return {"measured": str(how) if isinstance(how, How) else self.length(how)}

    def found_slack(self, found: FoundSlack) -> Inline:
        lengths = {key: getattr(found, key) for key in ("right", "straight", "left", "length")}
        known = {key: self.length(mm) for key, mm in lengths.items() if mm is not None}
        return Inline(**known, **self.measured(found.measured, None))

    def machine(self, machine: Machine) -> dict[str, Any]:
        found: dict[str, Any] = {
            "name": machine.name,
            **({"note": machine.note} if machine.note else {}),
            "rake": angle_literal(machine.rake),
            "lock_left": angle_literal(machine.lock_left),
            "lock_right": angle_literal(machine.lock_right),
            **(
                {"stand_lean": angle_literal(machine.stand_lean)}
                if machine.stand_lean is not None
                else {}
            ),
            **({"fuelling": str(machine.fuelling)} if machine.fuelling is not None else {}),
            **self.measured(machine.measured),
            "fork": {
                "offset": self.length(machine.fork_offset),
                "length": self.length(machine.fork_length),
                "spread": self.length(machine.fork_spread),
                "tube_diameter": self.length(machine.fork_tube_diameter),
                "lower_clamp": self.length(machine.lower_clamp),
                "travel": self.length(machine.travel),
                "sag": self.length(machine.sag),
            },
            "head_tube": {
                "top": self.length(machine.head_tube_top),
                "bottom": self.length(machine.head_tube_bottom),
                "diameter": self.length(machine.head_tube_diameter),
            },
            "wheel": {
                "radius": self.length(machine.wheel_radius),
                "width": self.length(machine.wheel_width),
            },
            "risers": {
                "foot": self.length(machine.riser_foot),
                "spacing": self.length(machine.riser_spacing),
            },
        }
        if machine.disc is not None:
            found["disc"] = {
                "radius": self.length(machine.disc.radius),
                "offset": self.length(machine.disc.offset),
                "thickness": self.length(machine.disc.thickness),
            }
        if machine.solids:
            found["solids"] = {solid.name: self.solid(solid) for solid in machine.solids}
        return found

    def solid(self, solid: Solid) -> dict[str, Any]:
        shape = solid.shape
        found: dict[str, Any] = {"role": str(solid.role), "on": str(solid.body)}
        found |= self.measured(solid.measured)
        if isinstance(shape, Capsule):
            found["capsule"] = Inline(
                start=self.point(shape.start),
                end=self.point(shape.end),
                radius=self.length(shape.radius),
            )
            return found
        pitch = {"pitch": angle_literal(shape.pitch)} if shape.pitch else {}
        if isinstance(shape, Mesh):
            found["mesh"] = Inline(
                file=shape.file,
                unit=str(shape.unit),
                **({"position": self.point(shape.position)} if any(shape.position) else {}),
                **pitch,
                **({"yaw": angle_literal(shape.yaw)} if shape.yaw else {}),
            )
            return found
        if isinstance(shape, Ellipsoid):
            found["ellipsoid"] = Inline(
                centre=self.point(shape.centre), semi_axes=self.point(shape.semi_axes), **pitch
            )
            return found
        rounding = {"rounding": self.length(shape.rounding)} if shape.rounding else {}
        found["box"] = Inline(
            centre=self.point(shape.centre), size=self.point(shape.size), **pitch, **rounding
        )
        return found

    def bar_set(self, bars: BarSet) -> dict[str, Any]:
        if isinstance(bars.bar, ClipOn):
            found = {"clip_ons": self.clip_ons(bars.bar)}
            if bars.riser == NO_RISER:
                return found
        else:
            found = {"bar": self.bar(bars.bar)}
        found["riser"] = {
            "name": bars.riser.name,
            "height": self.length(bars.riser.height),
            **({"setback": self.length(bars.riser.setback)} if bars.riser.setback else {}),
            **self.measured(bars.riser.measured),
            **self.given(bars.riser, "bore", "clamp_width"),
        }
        return found

    def bar(self, bar: Bar) -> dict[str, Any]:
        found: dict[str, Any] = {"name": bar.name}
        for key in (
            "width",
            "rise",
            "pullback",
            "centre_width",
            "tube_diameter",
            "grip_diameter",
            "bend_radius",
            "hand_straight",
            "grip_length",
        ):
            found[key] = self.length(getattr(bar, key))
        found |= _hand_angles(bar) | self.measured(bar.measured) | self.given(bar, "clamp_zone")
        found |= self.holes(bar)
        if bar.shoulder is not None:
            found["shoulder"] = {
                "half_width": self.length(bar.shoulder.half_width),
                "height": self.length(bar.shoulder.height),
                "forward": self.length(bar.shoulder.forward),
            }
        return found

    def clip_ons(self, bar: ClipOn) -> dict[str, Any]:
        found: dict[str, Any] = {"name": bar.name}
        for key in (
            "height",
            "forward",
            "outward",
            "length",
            "tube_diameter",
            "grip_diameter",
            "grip_length",
        ):
            found[key] = self.length(getattr(bar, key))
        return found | _hand_angles(bar) | self.measured(bar.measured) | self.holes(bar)

    def holes(self, bar: Bar | ClipOn) -> dict[str, Any]:
        """The keys about wires inside the bar: its wall and its holes."""
        found: dict[str, Any] = {} if bar.wall is None else {"wall": self.length(bar.wall)}
        if bar.holes:
            found["holes"] = [Inline(hole_row(hole, self.length)) for hole in bar.holes]
        return found

    def through_bar(self, through: ThroughBar) -> dict[str, Any]:
        found: dict[str, Any] = {"entry": through.entry, "exit": through.exit}
        if through.lead_in is not None:
            found["lead_in"] = self.length(through.lead_in)
        if through.connectors:
            rows = (connector_row(connector, self.length) for connector in through.connectors)
            found["connectors"] = [Inline(row) for row in rows]
        return found

    def control(self, control: Control) -> dict[str, Any]:
        found: dict[str, Any] = {
            "kind": str(control.kind),
            "side": str(control.side),
            "inboard": self.length(control.inboard),
        }
        if control.rotation:
            found["rotation"] = angle_literal(control.rotation)
        found |= self.measured(control.measured)
        if control.size is not None:
            found["size"] = self.size(control.size)
        found["outlets"] = {
            outlet.name: {
                "offset": self.point(outlet.offset),
                "exit": _plain(outlet.exit),
                **({"stub": self.length(outlet.stub)} if outlet.stub else {}),
                **self.measured(outlet.measured),
            }
            for outlet in control.outlets
        }
        if control.master is not None:
            found["master"] = master_table(control.master, self.unit)
        return found

    def given(self, part: Any, *keys: str) -> dict[str, Any]:
        """Those lengths of a part that are known."""
        known = {key: getattr(part, key) for key in keys}
        return {key: self.length(mm) for key, mm in known.items() if mm is not None}

    def size(self, size: ControlSize) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for field in fields(size):
            value = getattr(size, field.name)
            if value is None:
                continue
            if field.name == "lid_up":
                found[field.name] = _plain(value)
            else:
                found[field.name] = (
                    self.point(value) if isinstance(value, tuple) else self.length(value)
                )
        return found

    def line(self, line: Line) -> dict[str, Any]:
        found: dict[str, Any] = {
            "kind": line.kind,
            "diameter": self.length(line.diameter),
            "length": self.length(line.length),
        }
        if line.min_radius is not None:
            found["min_radius"] = self.length(line.min_radius)
        if line.bending_stiffness is not None:
            found["bending_stiffness"] = _short(line.bending_stiffness)
        if line.twisting_stiffness is not None:
            found["twisting_stiffness"] = _short(line.twisting_stiffness)
        if line.swivels is not None:
            found["swivels"] = line.swivels
        if line.weight is not None:
            found["weight"] = weight_literal(line.weight)
        if line.note:
            found["note"] = line.note
        found |= self.measured(line.measured, None)
        if line.found_slack is not None:
            found["found_slack"] = self.found_slack(line.found_slack)
        if line.routing:
            found["routing"] = line.routing
        found["stations"] = [self.station(station) for station in line.stations]
        if line.through_bar is not None:
            found["through_bar"] = self.through_bar(line.through_bar)
        if line.hose is not None:
            found["hose"] = hose_table(line.hose, self.unit)
        if line.wires is not None:
            found["wires"] = {
                key: [Inline(row) for row in value] if isinstance(value, list) else value
                for key, value in wires_table(line.wires, self.length).items()
            }
        if line.routings:
            found["routings"] = {one.name: self.routing(one, line) for one in line.routings}
        if line.cable is not None:
            found["cable"] = cable_table(line.cable, self.unit)
        return found

    def routing(self, routing: Routing, line: Line) -> dict[str, Any]:
        found: dict[str, Any] = {}
        if routing.length != line.length:
            found["length"] = self.length(routing.length)
        if routing.found_slack is not None:
            found["found_slack"] = self.found_slack(routing.found_slack)
        found["stations"] = [self.station(station) for station in routing.stations]
        if routing.through_bar is not None:
            found["through_bar"] = self.through_bar(routing.through_bar)
        return found

    def station(self, station: Station) -> Inline:
        found = Inline(name=station.name, hold=str(station.hold))
        place = station.place
        if isinstance(place, OutletPlace):
            found |= {"control": place.control, "outlet": place.outlet}
        elif isinstance(place, BarPlace):
            found |= {"on": "bar", "side": str(place.side)}
            found["from_centre" if place.from_centre else "from_end"] = self.length(place.distance)
            for key in ("forward", "up"):
                if getattr(place, key):
                    found[key] = self.length(getattr(place, key))
        else:
            found |= {"on": str(place.body), "position": self.point(place.position)}
        if station.direction is not None:
            key = "exit" if station.hold is Hold.FITTING else "direction"
            found[key] = _plain(station.direction)
        if station.stub:
            found["stub"] = self.length(station.stub)
        if station.at_length is not None:
            found["at_length"] = self.length(station.at_length)
        found |= self.measured(station.measured)
        return found


def _hand_angles(bar: Bar | ClipOn) -> dict[str, Any]:
    angles = {"sweep": bar.sweep, "downsweep": bar.downsweep}
    if bar.roll:
        angles["roll"] = bar.roll
    return {key: angle_literal(rad) for key, rad in angles.items()}


def _plain(direction: Vec) -> list[float]:
    return [_short(number) for number in direction]


def _short(number: float) -> float:
    """A whole number without its decimal point."""
    return int(number) if float(number).is_integer() and abs(number) < 1e15 else number
