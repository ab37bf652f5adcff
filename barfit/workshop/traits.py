"""What a machine has that tasks and checks speak of: nobody is told about what is not there."""

from __future__ import annotations

from enum import StrEnum

from barfit.catalogue import line_kinds
from barfit.model import Bar, ControlKind, Fuelling, Setup
from barfit.trade.cable_growth import PAIR
from barfit.trade.circuits import anti_lock_units, circuits


class Trait(StrEnum):
    """One thing that a machine has, as the table of tasks names it."""

    CLAMPED_BAR = "bar in clamps"
    HYDRAULICS = "hydraulics"
    ANTI_LOCK = "anti-lock"
    THROTTLE_CABLE = "throttle cable"
    THROTTLE_PAIR = "throttle pair"
    BY_WIRE = "throttle by wire"
    CHOKE = "choke cable"
    CLUTCH_CABLE = "clutch cable"
    BRAKE_CABLE = "brake cable"
    FREE_PLAY = "free play"
    FAULT_CODES = "fault codes"


def traits(setup: Setup) -> frozenset[Trait]:
    """What the machine has, by its lines, controls and solids.

    Free play is that of any cable but of one that only turns; fault codes are kept by what is
    electronic: a throttle by wire, an injection, an anti-lock unit.
    """
    kinds = {line.kind for line in setup.lines}
    found = circuits(setup)
    by_wire = any(control.kind is ControlKind.GRIP_SENSOR for control in setup.controls)
    anti_lock = any(anti_lock_units(setup, one) for one in found)
    throttle = any(kind.startswith("throttle_") for kind in kinds)
    hose = any(line_kinds()[kind].family == "hose" for kind in kinds)
    has = {
        Trait.CLAMPED_BAR: isinstance(setup.new.bar, Bar),
        Trait.HYDRAULICS: bool(found) or hose,
        Trait.ANTI_LOCK: anti_lock,
        Trait.THROTTLE_CABLE: throttle,
        Trait.THROTTLE_PAIR: kinds >= {*PAIR},
        Trait.BY_WIRE: by_wire,
        Trait.CHOKE: "choke_cable" in kinds,
        Trait.CLUTCH_CABLE: "clutch_cable" in kinds,
        Trait.BRAKE_CABLE: "front_brake_cable" in kinds,
        Trait.FREE_PLAY: throttle or bool(kinds & {"clutch_cable", "front_brake_cable"}),
        Trait.FAULT_CODES: by_wire or anti_lock or setup.machine.fuelling is Fuelling.INJECTION,
    }
    return frozenset(trait for trait, there in has.items() if there)
