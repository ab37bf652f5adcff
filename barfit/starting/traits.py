"""What kind of machine a setup is, and how its controls work: read off the setup itself."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from barfit.catalogue import line_kinds
from barfit.model import (
    Body,
    ControlKind,
    Line,
    OutletPlace,
    PointPlace,
    Role,
    Setup,
    Side,
    ThroughBar,
)

_LAID_BACK = math.radians(29.0)  # rake; common practice calls a fork raked out from about there


class Kind(StrEnum):
    """What kind of machine it is."""

    STANDARD = "standard or naked"
    CRUISER = "cruiser, fork raked out"
    TOURING = "touring, fairing on the fork"


class Throttle(StrEnum):
    """What leads from the grip to the engine."""

    CABLE = "by cable"
    WIRE = "by wire"


class Clutch(StrEnum):
    """What leads from the lever to the clutch."""

    CABLE = "by cable"
    HYDRAULIC = "hydraulic"
    NONE = "none on the bar"


class Brake(StrEnum):
    """Which way the front brake goes."""

    DIRECT = "hose straight to the caliper"
    SPLITTER = "splitter at the lower clamp"
    MODULATOR = "through a modulator on the frame"
    DRUM = "cable to a drum"
    NONE = "none on the bar"


class Wiring(StrEnum):
    """Where the wires of the switches lie."""

    ALONG = "along the bar"
    INSIDE = "inside the bar"


@dataclass(frozen=True)
class Traits:
    """What a person can tell of a machine at a glance, and what decides which lines it has."""

    kind: Kind = Kind.STANDARD
    throttle: Throttle = Throttle.CABLE
    clutch: Clutch = Clutch.CABLE
    brake: Brake = Brake.DIRECT
    wiring: Wiring = Wiring.ALONG


def traits_of(setup: Setup) -> Traits:
    """The traits of a setup, by its lines, its fork and its solids."""
    kinds = {line.kind for line in setup.lines}
    clutch = Clutch.CABLE if "clutch_cable" in kinds else Clutch.NONE
    return Traits(
        kind=_kind(setup),
        throttle=Throttle.WIRE if "ride_by_wire_lead" in kinds else Throttle.CABLE,
        clutch=Clutch.HYDRAULIC if "clutch_hose" in kinds else clutch,
        brake=_brake(setup),
        wiring=Wiring.INSIDE if any(line.through_bar for line in setup.lines) else Wiring.ALONG,
    )


def lines_of(setup: Setup, trait: str) -> tuple[str, ...]:
    """The names of the lines that a trait ("throttle", "clutch", "brake") is about."""
    kinds = {
        "throttle": ("throttle_pull", "throttle_return", "throttle_single", "ride_by_wire_lead"),
        "clutch": ("clutch_cable", "clutch_hose"),
        "brake": ("brake_hose", "front_brake_cable"),
    }.get(trait, ())
    return tuple(line.name for line in setup.lines if line.kind in kinds)


def leads_inside(setup: Setup) -> tuple[tuple[str, Side, ThroughBar], ...]:
    """The kind of each line that is led inside the bar, the side of its control, and its way."""
    sides = {control.name: control.side for control in setup.controls}
    found = []
    for line in setup.lines:
        start = line.stations[0].place
        if line.through_bar is not None and isinstance(start, OutletPlace):
            found.append((line.kind, sides[start.control], line.through_bar))
    return tuple(found)


def _kind(setup: Setup) -> Kind:
    fairing = any(
        solid.role is Role.FAIRING and solid.body is Body.STEERING for solid in setup.machine.solids
    )
    if fairing:
        return Kind.TOURING
    return Kind.CRUISER if setup.machine.rake >= _LAID_BACK else Kind.STANDARD


def _brake(setup: Setup) -> Brake:
    """By where the hose from the master cylinder ends."""
    masters = {one.name for one in setup.controls if one.kind is ControlKind.BRAKE_MASTER}
    for line in setup.lines:
        if line.kind == "front_brake_cable":
            return Brake.DRUM
        if line_kinds()[line.kind].family == "hose" and _leaves(line, masters):
            end = line.stations[-1].place
            body = end.body if isinstance(end, PointPlace) else Body.STEERING
            return {
                Body.LOWER_FORK: Brake.DIRECT,
                Body.STEERING: Brake.SPLITTER,
                Body.FRAME: Brake.MODULATOR,
            }[body]
    return Brake.NONE


def _leaves(line: Line, controls: set[str]) -> bool:
    start = line.stations[0].place
    return isinstance(start, OutletPlace) and start.control in controls
