"""The data of one setup: a machine, two sets of bars, its controls and its lines.

Everything here is frozen and made of plain numbers and tuples, so that two setups can be
compared with ``==``, kept in an undo list and handed to a worker without a copy.

Units: mm, rad. Axes follow ISO 8855: x forward, y left, z up. The origin is where the steering
axis pierces the top face of the top clamp, with the machine upright, the steering straight ahead
and the suspension at ride height. A turn to the left is positive. All positions below are given
for that state, whatever body they ride on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum

Vec = tuple[float, float, float]


class Body(StrEnum):
    """What a point rides on."""

    FRAME = "frame"
    STEERING = "steering"
    LOWER_FORK = "lower fork"


class Hold(StrEnum):
    """How a station holds the line.

    A fitting clamps position and direction; a clip does so too, and grips the line at a fixed
    place along it; a guide is a ring through which the line slides freely.
    """

    FITTING = "fitting"
    CLIP = "clip"
    GUIDE = "guide"


class Side(StrEnum):
    """The rider's left or right."""

    LEFT = "left"
    RIGHT = "right"


class Role(StrEnum):
    """What a solid of the machine stands for; it decides how it is drawn."""

    FORK_TUBE = "fork tube"
    HEAD_TUBE = "head tube"
    TANK = "tank"
    FRAME_TUBE = "frame tube"
    HEADLAMP = "headlamp"
    FAIRING = "fairing"
    INSTRUMENT = "instrument"
    SEAT = "seat"
    ENGINE = "engine"
    MODULATOR = "modulator"
    STOP = "steering stop"
    OTHER = "other"


class ControlKind(StrEnum):
    """What sits on the bar; it decides how it is drawn."""

    BRAKE_MASTER = "front brake master cylinder"
    CLUTCH_MASTER = "clutch master cylinder"
    CLUTCH_PERCH = "clutch cable perch"
    BRAKE_PERCH = "front brake cable perch"
    THROTTLE_HOUSING = "throttle housing"
    CHOKE_LEVER = "choke lever"
    SWITCH_HOUSING = "switch housing"
    GRIP_SENSOR = "throttle grip sensor"
    GRIP_HEATER = "grip heater"


class How(StrEnum):
    """How a place or a dimension was found."""

    TAPE = "tape"
    EYEBALLED = "eyeballed"


Measured = How | float
"""How something was found, or the standard deviation of its lengths, mm."""


@dataclass(frozen=True)
class Uncertainty:
    """Standard deviations of what the setup says, where it says nothing nearer.

    ``tape`` and ``eyeballed`` mm, of each coordinate of a place and each length of a bar;
    ``length`` mm, of installed lengths and of where clips grip; ``angle`` rad, of bar angles, exits
    and locks; ``stiffness``, the share by which a bending stiffness may be off; ``found_slack`` mm,
    of slack measured on the machine. The defaults are estimates; 0 is "known exactly".
    """

    tape: float = 3.0
    eyeballed: float = 10.0
    length: float = 3.0
    angle: float = math.radians(2.0)
    stiffness: float = 0.3
    found_slack: float = 5.0

    def of(self, measured: Measured) -> float:
        """The standard deviation of a length found in that way, mm."""
        if isinstance(measured, How):
            return self.tape if measured is How.TAPE else self.eyeballed
        return measured


EXACT = Uncertainty(0.0, 0.0, 0.0, 0.0, 0.0)
"""Everything is as the setup says, but for what says otherwise itself."""


@dataclass(frozen=True)
class Capsule:
    """A round bar with hemispherical ends."""

    start: Vec
    end: Vec
    radius: float


@dataclass(frozen=True)
class Ellipsoid:
    """An ellipsoid; ``pitch`` turns it nose up about the left-pointing axis through its centre."""

    centre: Vec
    semi_axes: Vec
    pitch: float = 0.0


@dataclass(frozen=True)
class Box:
    """A box of full ``size`` with edges rounded by ``rounding``; ``pitch`` as for an ellipsoid."""

    centre: Vec
    size: Vec
    pitch: float = 0.0
    rounding: float = 0.0


class FileUnit(StrEnum):
    """What one unit of length in a mesh file stands for; the files themselves do not say."""

    MILLIMETRE = "mm"
    CENTIMETRE = "cm"
    METRE = "m"
    INCH = "in"


@dataclass(frozen=True)
class Triangles:
    """A closed surface: corners and the three corners of each face, anticlockwise from outside.

    ``points`` are (N, 3) float64, mm, and ``faces`` (F, 3) int32, row by row, in the machine's
    own byte order. They are bytes because a setup is compared at every edit and sent to another
    process: with bytes that costs microseconds, with a tuple of every number a tenth of a second.
    """

    points: bytes = field(repr=False)
    faces: bytes = field(repr=False)


@dataclass(frozen=True)
class Mesh:
    """A closed surface out of a mesh file.

    ``file`` is the file's name, from the scenario's folder where it is not absolute, and ``unit``
    what it is measured in. ``surface`` is what was read there: a setup holds all it needs, and
    nothing after reading depends on a file that may have changed since. The surface is turned
    nose up by ``pitch``, then to the left by ``yaw``, both about the file's own origin, which
    then stands at ``position``.
    """

    file: str
    unit: FileUnit
    surface: Triangles = field(repr=False)
    position: Vec = (0.0, 0.0, 0.0)
    pitch: float = 0.0
    yaw: float = 0.0


Shape = Capsule | Ellipsoid | Box | Mesh


@dataclass(frozen=True)
class Solid:
    """A part of the machine that lines must not pass through."""

    name: str
    role: Role
    body: Body
    shape: Shape


@dataclass(frozen=True)
class Machine:
    """The front of one machine.

    Distances "below the origin" run down the steering axis and are positive. ``lock_left`` and
    ``lock_right`` are both positive angles. ``travel`` is the whole suspension travel; ``sag`` is
    how much of it is used at ride height, so the fork can extend by ``sag`` and be compressed by
    ``travel - sag``. ``riser_foot`` is how far forward of the steering axis, square to it, the
    risers stand on the top clamp.
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
class Bar:
    """A one-piece handlebar by its trade dimensions.

    ``width`` end to end; ``rise`` from the clamp centre to the inner end of the hand straight, its
    highest point; ``pullback`` from the clamp centre rearward to the bar end; ``centre_width``
    between the two lower corners; ``hand_straight`` the straight outer part that carries grip and
    controls; ``sweep`` and ``downsweep`` the angles by which it points rearward and down;
    ``bend_radius`` of the centreline; ``roll`` in the clamp, positive turning the grips rearward
    and down. All before roll. ``measured``: how its lengths were found.
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


@dataclass(frozen=True)
class ClipOn:
    """A pair of separate bars, each clamped round a fork tube.

    ``height`` of the clamp centre above the top face of the top clamp, along the steering axis
    (negative: below it); ``forward`` and ``outward`` how far the bar's inner end stands from the
    fork tube's centre, square to the steering axis; ``length`` from there to the bar end;
    ``sweep``, ``downsweep`` and ``roll`` (about the fork tube, grips rearward) as for a bar.
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


@dataclass(frozen=True)
class Riser:
    """What stands between the top clamp and the bar: height up the axis, setback to the rear."""

    name: str
    height: float
    setback: float = 0.0
    measured: Measured = How.TAPE


@dataclass(frozen=True)
class BarSet:
    """A handlebar on its risers. The riser of a clip-on is not used."""

    bar: Bar | ClipOn
    riser: Riser


@dataclass(frozen=True)
class Outlet:
    """Where a line leaves a control.

    ``offset`` and ``exit`` are (outward along the grip, forward, up) from the bar's centreline at
    the control, in the control's own level attitude; the line points along ``exit`` as it leaves.
    ``stub`` is the rigid, straight metal end (ferrule, elbow, crimp) before the line can bend.
    """

    name: str
    offset: Vec
    exit: Vec
    stub: float = 0.0
    measured: Measured = How.TAPE


@dataclass(frozen=True)
class Control:
    """Something clamped to the bar: ``inboard`` of the bar end, measured along the bar.

    ``rotation`` turns it about the bar from the attitude in which its lever is level with the bar
    at no roll (positive: front edge up). Rolling the bar carries it along. ``measured``: how
    ``inboard`` was found.
    """

    name: str
    kind: ControlKind
    side: Side
    inboard: float
    rotation: float
    outlets: tuple[Outlet, ...]
    measured: Measured = How.TAPE


@dataclass(frozen=True)
class PointPlace:
    """A point of the machine."""

    body: Body
    position: Vec


@dataclass(frozen=True)
class OutletPlace:
    """An outlet of a control on the bar."""

    control: str
    outlet: str


@dataclass(frozen=True)
class BarPlace:
    """A place beside the bar, ``distance`` along its centreline from the end or the centre.

    ``forward`` and ``up`` are offsets from the centreline, in the attitude of a control there.
    """

    side: Side
    distance: float
    from_centre: bool
    forward: float
    up: float


Place = PointPlace | OutletPlace | BarPlace


@dataclass(frozen=True)
class Station:
    """One place where a line is held.

    ``direction``: for a fitting the way the line points as it leaves it; for a clip the way the
    line runs, first station to last; none for a guide, and none where the place gives it (an
    outlet; a clip on the bar). ``stub``: rigid straight end of a fitting. ``at_length``: where
    along the line a clip grips it, from the first fitting. ``measured``: how its place was found;
    that of an outlet is told by the control.
    """

    name: str
    hold: Hold
    place: Place
    direction: Vec | None = None
    stub: float = 0.0
    at_length: float | None = None
    measured: Measured = How.TAPE


@dataclass(frozen=True)
class FoundSlack:
    """Surplus of a line on the machine as it stands, with its stock bars at ride height, mm.

    At full right lock, straight ahead and full left lock, each None where it was not looked at.
    ``measured``: how, or its standard deviation; None is the setup's.
    """

    right: float | None = None
    straight: float | None = None
    left: float | None = None
    measured: Measured | None = None


@dataclass(frozen=True)
class Line:
    """A cable, hose, harness or lead: a fitting, then guides and clips, then a fitting.

    ``length`` is the installed length between the two fittings' reference points, stubs included.
    ``swivels`` says whether its end fittings let it turn about itself. What is None comes from the
    kind's row in the catalogue. ``measured``: how ``length`` was found, None as the setup says of
    lengths. ``found_slack``: what was found on the stock machine.
    """

    name: str
    kind: str
    diameter: float
    length: float
    stations: tuple[Station, ...]
    min_radius: float | None = None
    bending_stiffness: float | None = None
    weight: float | None = None
    note: str = ""
    measured: Measured | None = None
    found_slack: FoundSlack | None = None
    swivels: bool | None = None
    twisting_stiffness: float | None = None


@dataclass(frozen=True)
class Setup:
    """All of one question: this machine, these bars against those, these lines.

    ``unit`` is the file's length unit, "mm" or "in": how bare numbers are written, and the first
    choice for showing lengths. ``source`` is the text the setup was read from; saving rewrites
    that text so that comments survive. ``folder`` is where it was, for the names of mesh files
    in it. Neither counts in comparisons.
    """

    title: str
    note: str
    unit: str
    machine: Machine
    stock: BarSet
    new: BarSet
    controls: tuple[Control, ...]
    lines: tuple[Line, ...]
    uncertainty: Uncertainty = Uncertainty()
    source: str = field(default="", compare=False, repr=False)
    folder: str = field(default="", compare=False, repr=False)

    def line(self, name: str) -> Line:
        """The line of that name. Raises KeyError."""
        for line in self.lines:
            if line.name == name:
                return line
        raise KeyError(name)

    def bars(self, stock: bool) -> BarSet:
        """The stock or the new bars."""
        return self.stock if stock else self.new
