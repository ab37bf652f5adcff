"""How something was found, and how far off it may be."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum


class How(StrEnum):
    """How a place or a dimension was found."""

    TAPE = "tape"
    EYEBALLED = "eyeballed"
    NOT_MEASURED = "not measured"


Measured = How | float
"""How something was found, or the standard deviation of its lengths, mm."""


@dataclass(frozen=True)
class Uncertainty:
    """Standard deviations of what the setup says, where it says nothing nearer.

    ``tape`` and ``eyeballed`` mm, of each coordinate of a place and each length of a bar;
    ``length`` mm, of installed lengths and of where clips grip; ``angle`` rad, of bar angles, exits
    and locks; ``stiffness``, the share by which a bending stiffness may be off; ``found_slack`` mm,
    of slack measured on the machine. ``unmeasured`` mm and ``unmeasured_angle`` rad of what is not
    measured yet: taken from a machine of the same kind, or a guess. The defaults are estimates; 0
    is "known exactly".
    """

    tape: float = 3.0
    eyeballed: float = 10.0
    length: float = 3.0
    angle: float = math.radians(2.0)
    stiffness: float = 0.3
    found_slack: float = 5.0
    unmeasured: float = 25.0
    unmeasured_angle: float = math.radians(5.0)

    def of(self, measured: Measured) -> float:
        """The standard deviation of a length found in that way, mm."""
        if not isinstance(measured, How):
            return measured
        words = {
            How.TAPE: self.tape,
            How.EYEBALLED: self.eyeballed,
            How.NOT_MEASURED: self.unmeasured,
        }
        return words[measured]

    def angle_of(self, measured: Measured) -> float:
        """The standard deviation of an angle of a part whose lengths were found so, rad."""
        return self.unmeasured_angle if measured is How.NOT_MEASURED else self.angle


EXACT = Uncertainty(0.0, 0.0, 0.0, 0.0, 0.0, unmeasured=0.0, unmeasured_angle=0.0)
"""Everything is as the setup says, but for what says otherwise itself."""
