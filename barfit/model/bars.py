"""Handlebars by their trade dimensions, and the risers they stand on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from barfit.model.bodies import Side
from barfit.model.measured import How, Measured

SLANT = math.radians(45.0)  # of a line in a hole, where nothing is said (estimate)


@dataclass(frozen=True)
class Shoulder:
    """An extra corner of the bar between its centre section and the hand straight.

    Measured from the clamp centre to the corner, before its bend is rounded: half width outward,
    height up and distance forward (negative: to the rear).
    """

    half_width: float
    height: float
    forward: float


@dataclass(frozen=True)
class Hole:
    """A hole in the tube of a bar, for wires.

    ``distance`` along the bar to its middle, from the centre (a clip-on's inner end) or from the
    bar end; ``facing`` about the bar, 0 forward, positive up (rad), in the attitude of a control
    there. ``diameter`` across the bar; ``length`` along it where it is oval, else None. ``slant``
    is the angle (rad) between the bar and a line that goes through.
    """

    name: str
    side: Side
    distance: float
    from_centre: bool
    facing: float
    diameter: float
    length: float | None = None
    slant: float = SLANT

    @property
    def along(self) -> float:
        """How long it is along the bar, mm."""
        return self.diameter if self.length is None else self.length


@dataclass(frozen=True)
class Bar:
    """A one-piece handlebar by its trade dimensions.

    ``width`` end to end; ``rise`` from the clamp centre to the inner end of the hand straight, its
    highest point; ``pullback`` from the clamp centre rearward to the bar end; ``centre_width``
    between the two lower corners; ``hand_straight`` the straight outer part that carries grip and
    controls; ``sweep`` and ``downsweep`` the angles by which it points rearward and down;
    ``bend_radius`` of the centreline; ``roll`` in the clamp, positive turning the grips rearward
    and down. All before roll. ``measured``: how its lengths were found. ``wall`` of the tube, None
    where it is not known; ``holes`` for wires. ``clamp_zone``: the whole width in the middle that
    may be clamped (knurled, straight); None where that is not known.
    """

    name: str
    width: float
    rise: float
    pullback: float
    centre_width: float
    tube_diameter: float
    grip_diameter: float
    bend_radius: float
    hand_straight: float
    grip_length: float
    sweep: float
    downsweep: float
    roll: float = 0.0
    shoulder: Shoulder | None = None
    measured: Measured = How.TAPE
    wall: float | None = None
    holes: tuple[Hole, ...] = ()
    clamp_zone: float | None = None


@dataclass(frozen=True)
class ClipOn:
    """A pair of separate bars, each clamped round a fork tube.

    ``height`` of the clamp centre above the top face of the top clamp, along the steering axis
    (negative: below it); ``forward`` and ``outward`` how far the bar's inner end stands from the
    fork tube's centre, square to the steering axis; ``length`` from there to the bar end;
    ``sweep``, ``downsweep``, ``roll`` (about the fork tube, grips rearward), ``wall`` and ``holes``
    as for a bar.
    """

    name: str
    height: float
    forward: float
    outward: float
    length: float
    tube_diameter: float
    grip_diameter: float
    grip_length: float
    sweep: float
    downsweep: float
    roll: float = 0.0
    measured: Measured = How.TAPE
    wall: float | None = None
    holes: tuple[Hole, ...] = ()


@dataclass(frozen=True)
class Riser:
    """What stands between the top clamp and the bar: height up the axis, setback to the rear.

    ``bore`` is the diameter of bar that it clamps, ``clamp_width`` how much of the bar one of the
    two covers; None where that is not known.
    """

    name: str
    height: float
    setback: float = 0.0
    measured: Measured = How.TAPE
    bore: float | None = None
    clamp_width: float | None = None


@dataclass(frozen=True)
class BarSet:
    """A handlebar on its risers. The riser of a clip-on is not used.

    ``name`` is what this choice of bars is called among others, "" where it needs no name.
    """

    bar: Bar | ClipOn
    riser: Riser
    name: str = ""

    @property
    def title(self) -> str:
        """Its name, or else those of its parts."""
        if self.name:
            return self.name
        alone = isinstance(self.bar, ClipOn)
        return self.bar.name if alone else f"{self.bar.name} on {self.riser.name}"
