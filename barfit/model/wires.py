"""The wires of a harness or lead."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Use(StrEnum):
    """What a circuit is for; it decides how much voltage it may lose."""

    LAMP = "lamp feed"
    SUPPLY = "supply"
    HEATER = "heater"
    SIGNAL = "signal"
    GROUND = "ground"
    SENSOR = "sensor"


@dataclass(frozen=True)
class Circuit:
    """``count`` equal wires of one circuit.

    ``gauge`` is the key of the table of gauges ("0.75 mm²", "AWG 18"); ``current`` in A. Each is
    None where it is not known.
    """

    name: str
    use: Use
    gauge: str | None = None
    current: float | None = None
    count: int = 1


@dataclass(frozen=True)
class Plug:
    """A plug on the line. Lengths mm, across the line; a round one has a ``diameter``.

    ``hole`` is the diameter of a hole it has to pass when the line is fitted, None for none.
    """

    name: str
    width: float | None = None
    height: float | None = None
    diameter: float | None = None
    poles: int | None = None
    hole: float | None = None


@dataclass(frozen=True)
class Wires:
    """What a harness or lead is made of.

    ``sleeve`` is the inside diameter (mm) of the sleeve it is in, None where that is not known;
    ``supply`` the voltage of the machine.
    """

    circuits: tuple[Circuit, ...]
    connectors: tuple[Plug, ...] = ()
    screened: bool = False
    sleeve: float | None = None
    supply: float = 12.0
