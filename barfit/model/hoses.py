"""What a hydraulic hose is made of, how its ends are bolted on, and what drives it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from barfit.model.bodies import Vec


class Construction(StrEnum):
    """How a hose is built; it decides how much it swells."""

    LOW_EXPANSION = "rubber, low expansion"
    REGULAR = "rubber, regular"
    BRAIDED = "braided"


class Fluid(StrEnum):
    """Kinds of fluid by the name on the reservoir's cap."""

    DOT_3 = "DOT 3"
    DOT_4 = "DOT 4"
    DOT_5_1 = "DOT 5.1"
    DOT_5 = "DOT 5"
    MINERAL = "mineral oil"

    @property
    def base(self) -> str:
        """What it is made of: only fluids of one base can be in one circuit."""
        return {Fluid.DOT_5: "silicone", Fluid.MINERAL: "mineral oil"}.get(self, "glycol")


@dataclass(frozen=True)
class HoseEnd:
    """How one end is fitted.

    ``part`` is what it is bolted to (None: as its station, or its control, is called); hoses of a
    circuit whose ends name one part are joined through it. ``banjo`` is false for a union or flare
    nut, which has no sealing washers. ``eye_angle`` (rad) is how far the hose leaves out of the
    plane of the banjo's eye; ``bolt`` the way the bolt points from the part to its head, in the
    axes of the end's exit. ``double``: another hose's eye is on the same bolt. ``bleeder``: whether
    there is a bleed screw at the part; None is not known.
    """

    part: str | None = None
    banjo: bool = True
    eye_angle: float | None = None
    bolt: Vec | None = None
    double: bool = False
    bleeder: bool | None = None


@dataclass(frozen=True)
class Hose:
    """A hydraulic hose beyond its path; what is None is as its kind has it, or not known.

    ``circuit`` joins the sections between a master cylinder and what it works. ``bore`` mm.
    ``clocking`` (rad) is how far the last eye of the hose as it is was turned against the first,
    clockwise seen from the first end along the hose, when it was made up.
    """

    circuit: str | None = None
    bore: float | None = None
    construction: Construction | None = None
    fluid: Fluid | None = None
    clocking: float | None = None
    start: HoseEnd = field(default_factory=HoseEnd)
    end: HoseEnd = field(default_factory=HoseEnd)


@dataclass(frozen=True)
class Master:
    """A master cylinder: ``bore`` mm; ``lever_ratio`` is the travel of the fingers over that of the
    piston; ``piston_area`` mm² of all pistons that press from one side at the far end;
    ``reservoir`` mm³ it holds. What is None is not known.
    """

    bore: float
    lever_ratio: float
    piston_area: float | None = None
    reservoir: float | None = None
