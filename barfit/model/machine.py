"""The front of one machine."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from barfit.model.measured import How, Measured
from barfit.model.solids import Solid


class Fuelling(StrEnum):
    """How the engine gets its fuel; it decides what taking the tank off means."""

    CARBURETTOR = "carburettor"
    INJECTION = "injection"


@dataclass(frozen=True)
class Disc:
    """A brake disc: ``offset`` from the middle of the wheel to the middle of its thickness, mm.

    There is one on each side on which a hose ends on the lower fork.
    """

    radius: float
    offset: float
    thickness: float = 5.0


@dataclass(frozen=True)
class Machine:
    """The front of one machine.

    Distances "below the origin" run down the steering axis and are positive. ``lock_left`` and
    ``lock_right`` are both positive angles. ``travel`` is the whole suspension travel; ``sag`` is
    how much of it is used at ride height, so the fork can extend by ``sag`` and be compressed by
    ``travel - sag``. ``riser_foot`` is how far forward of the steering axis, square to it, the
    risers stand on the top clamp. ``stand_lean`` is how far it leans to the left on its side stand;
    None where that is not known. ``disc``: the front brake's, where that is known. ``measured``:
    how the locks and the risers' foot were found. ``fuelling`` None where nobody said.
    """

    name: str
    note: str
    rake: float
    fork_offset: float
    fork_length: float
    fork_spread: float
    fork_tube_diameter: float
    head_tube_top: float
    head_tube_bottom: float
    head_tube_diameter: float
    lower_clamp: float
    lock_left: float
    lock_right: float
    travel: float
    sag: float
    wheel_radius: float
    wheel_width: float
    riser_foot: float
    riser_spacing: float
    solids: tuple[Solid, ...] = ()
    stand_lean: float | None = None
    disc: Disc | None = None
    measured: Measured = How.TAPE
    fuelling: Fuelling | None = None
