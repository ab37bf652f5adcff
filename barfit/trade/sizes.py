"""How much room parts on the bar take, and how large riders are: as said, or from the tables."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any

from barfit.catalogue import data_dir, limit
from barfit.model import Control, Machine, Rider, Riser, Setup, Vec

_LEAST_LEVER = 90.0  # mm outward; no lever is shorter


@dataclass(frozen=True)
class Room:
    """How much room one control takes, mm; as `barfit.model.ControlSize`, with nothing left open.

    ``radius`` 0 is a thin clamp. ``lever`` are pivot, knee and tip, empty where it has none.
    """

    width: float
    radius: float
    lever: tuple[Vec, ...]
    lever_radius: float
    reservoir: Vec | None
    reservoir_size: Vec
    mirror: Vec | None
    mirror_radius: float


@dataclass(frozen=True)
class Figure:
    """A rider's sizes, mm. ``shoulder_height`` above the loaded seat, slump taken off."""

    shoulder_height: float
    reach: float
    shoulder_width: float


def room(control: Control) -> Room:
    """The room a control takes."""
    row, own, bar = _sizes()[control.kind.value], control.size, bar_row()
    lever = tuple(_vec(point) for point in row.get("lever", ()))
    if lever:
        outward, forward, up = lever[-1]
        most = max(control.inboard - bar["lever_short_of_end"], _LEAST_LEVER)
        lever = (*lever[:-1], _own(own, "lever_tip", (min(outward, most), forward, up)))
    return Room(
        width=_own(own, "width", row["width"]),
        radius=_own(own, "radius", row["radius"]),
        lever=lever,
        lever_radius=float(row.get("lever_radius", 0.0)),
        reservoir=_own(own, "reservoir", _vec(row["reservoir"]) if "reservoir" in row else None),
        reservoir_size=_own(own, "reservoir_size", _vec(row.get("reservoir_size", (0, 0, 0)))),
        mirror=own.mirror if own else None,
        mirror_radius=_own(own, "mirror_radius", bar["mirror_radius"]),
    )


def clamp_width(setup: Setup, riser: Riser) -> float:
    """How much of the bar one riser clamp covers, mm."""
    return limit(setup, "clamp_width") if riser.clamp_width is None else riser.clamp_width


def stand_lean(machine: Machine) -> float:
    """How far the machine leans to the left on its side stand, rad."""
    if machine.stand_lean is not None:
        return machine.stand_lean
    return math.radians(bar_row()["stand_lean"])


def figure(rider: Rider) -> Figure:
    """A rider's sizes."""
    row = _riders()[rider.build.value]
    erect = row["shoulder_height"] if rider.shoulder_height is None else rider.shoulder_height
    slump = posture()["slump"] if rider.slump is None else rider.slump
    return Figure(
        shoulder_height=erect - slump,
        reach=row["reach"] if rider.reach is None else rider.reach,
        shoulder_width=row["shoulder_width"]
        if rider.shoulder_width is None
        else rider.shoulder_width,
    )


def bar_row() -> dict[str, float]:
    """What the table of sizes says of every bar, in mm and degrees."""
    row: dict[str, float] = _sizes()["bar"]
    return row


def posture() -> dict[str, float]:
    """What the table of riders says of how they sit, in mm, degrees and shares."""
    row: dict[str, float] = _riders()["posture"]
    return row


def _own(own: Any, name: str, other: Any) -> Any:
    """The setup's word where there is one."""
    value = getattr(own, name, None)
    return other if value is None else value


def _vec(numbers: Any) -> Vec:
    x, y, z = map(float, numbers)
    return (x, y, z)


@cache
def _sizes() -> dict[str, Any]:
    return tomllib.loads((data_dir() / "control_sizes.toml").read_text(encoding="utf-8"))


@cache
def _riders() -> dict[str, Any]:
    return tomllib.loads((data_dir() / "riders.toml").read_text(encoding="utf-8"))
