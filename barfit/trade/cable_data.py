"""What is typical of control cables, out of ``assets/cables.toml``."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any

from barfit.catalogue import data_dir
from barfit.model import Cable, Line, Lining


@dataclass(frozen=True)
class Friction:
    """A coefficient of friction: its range, and what is counted with."""

    least: float
    usual: float
    most: float


@dataclass(frozen=True)
class Inside:
    """The inside of one control cable that slides, mm and N.

    ``area`` (mm²) is the wire's metal and ``modulus`` (N/mm²) that metal's. ``pull_given``: whether
    the setup says how hard the wire is pulled, or the kind does. Free play is commonly set to
    ``least_play`` … ``most_play``.
    """

    wire: float
    bore: float
    friction: Friction
    free_play: float
    least_play: float
    most_play: float
    pull: float
    pull_given: bool
    area: float
    modulus: float

    @property
    def clearance(self) -> float:
        """Between wire and bore, diametral: the bore less the wire, mm."""
        return self.bore - self.wire


def inside(line: Line) -> Inside | None:
    """What the setup says of the inside of this cable, and its kind where it says nothing.

    None for a cable whose core turns. Raises KeyError for a line that is no control cable.
    """
    tables = _tables()
    row = tables["kinds"][line.kind]
    if "wire" not in row:
        return None
    own = line.cable or Cable()
    wire, bore = _wire_and_bore(own, row)
    lining = own.lining if own.lining is not None else Lining(row["lining"])
    friction = tables["linings"][lining]
    return Inside(
        wire=wire,
        bore=bore,
        friction=Friction(*(float(friction[key]) for key in ("least", "usual", "most"))),
        free_play=float(own.free_play if own.free_play is not None else row["free_play"]),
        least_play=float(row["least_play"]),
        most_play=float(row["most_play"]),
        pull=float(own.pull if own.pull is not None else row["pull"]),
        pull_given=own.pull is not None,
        area=float(tables["wire"]["fill"]) * 0.25 * math.pi * wire**2,
        modulus=float(tables["wire"]["modulus"]),
    )


def preferred_radius(line: Line) -> float:
    """The radius, mm, that is kinder to this cable than the least allowed. Raises KeyError."""
    return float(_tables()["kinds"][line.kind]["preferred_radius"])


def _wire_and_bore(own: Cable, row: dict[str, Any]) -> tuple[float, float]:
    """Both diameters; where only one is given, the other keeps the kind's clearance."""
    clearance = float(row["bore"] - row["wire"])
    if own.wire is not None:
        return own.wire, own.bore if own.bore is not None else own.wire + clearance
    if own.bore is not None:
        # a wire fills at least half of its bore, however narrow that is
        return max(own.bore - clearance, 0.5 * own.bore), own.bore
    return float(row["wire"]), float(row["bore"])


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads((data_dir() / "cables.toml").read_text(encoding="utf-8"))
