"""Parts of the machine that lines must not pass through."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from barfit.model.bodies import Body, Vec
from barfit.model.measured import How, Measured


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
    """A part of the machine that lines must not pass through. ``measured``: how its place and size
    were found.
    """

    name: str
    role: Role
    body: Body
    shape: Shape
    measured: Measured = How.TAPE
