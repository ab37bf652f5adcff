"""The tables of a scenario file: which keys each has and what they may hold.

Every table is read on its own, so that a mistake in one does not hide a mistake in another.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import BaseModel, ConfigDict

from barfit.model import (
    SLANT,
    Body,
    Build,
    ControlKind,
    FileUnit,
    Fuelling,
    Hold,
    How,
    Lining,
    Measured,
    Role,
    Side,
    Vec,
)
from barfit.scenario.values import (
    LEAST_FOUND,
    WIDEST,
    Angle,
    Choice,
    Direction,
    Force,
    Found,
    Length,
    Point,
    Share,
    Stiffness,
    Weight,
    Words,
    YesOrNo,
)


class Table(BaseModel):
    """A table of the file. Unknown keys are refused; values come through the readers above."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, strict=True)


_LOCK_WHY = "; the steering of a motorcycle turns about 25° to 45° to each side"
_Lock = Annotated[float, Angle(5, 80, _LOCK_WHY)]
_Name = Annotated[str, Words(filled=True)]
_OFFSET = "[outward, forward, up]"  # the axes of what sits on a bar
_Note = Annotated[str, Words()]
_Found = Annotated[Measured, Found()]
_Wall = Annotated[float | None, Length(1, 10)]
_Spread = Annotated[float | None, Length(0.0, WIDEST)]


class MachineTable(Table):
    """``[machine]`` without its sub-tables."""

    name: _Name
    note: _Note = ""
    rake: Annotated[float, Angle(0, 60)]
    lock_left: _Lock
    lock_right: _Lock
    stand_lean: Annotated[float | None, Angle(0, 30)] = None
    fuelling: Annotated[Fuelling | None, Choice(Fuelling)] = None
    measured: _Found = How.TAPE


class ForkTable(Table):
    """``[machine.fork]``."""

    offset: Annotated[float, Length(-200, 300)]
    length: Annotated[float, Length(200, 2000)]
    spread: Annotated[float, Length(60, 500)]
    tube_diameter: Annotated[float, Length(15, 100)]
    lower_clamp: Annotated[float, Length(50, 600)]
    travel: Annotated[float, Length(0, 500)]
    sag: Annotated[float, Length(0, 500)]


class HeadTubeTable(Table):
    """``[machine.head_tube]``."""

    top: Annotated[float, Length(0, 500)]
    bottom: Annotated[float, Length(20, 800)]
    diameter: Annotated[float, Length(20, 150)]


class WheelTable(Table):
    """``[machine.wheel]``."""

    radius: Annotated[float, Length(100, 600)]
    width: Annotated[float, Length(30, 400)]


class DiscTable(Table):
    """``[machine.disc]``: the front brake's disc or discs."""

    radius: Annotated[float, Length(40, 300)]
    offset: Annotated[float, Length(0, 200)]
    thickness: Annotated[float, Length(1, 20)] = 5.0


class RisersTable(Table):
    """``[machine.risers]``: where on the top clamp the risers stand."""

    foot: Annotated[float, Length(-200, 200)]
    spacing: Annotated[float, Length(20, 300)]


class SolidTable(Table):
    """One of ``[machine.solids]``; its shape is a sub-table of it."""

    role: Annotated[Role, Choice(Role)]
    on: Annotated[Body, Choice(Body)]
    measured: _Found = How.TAPE


class CapsuleTable(Table):
    """A round bar with round ends."""

    start: Annotated[Vec, Point()]
    end: Annotated[Vec, Point()]
    radius: Annotated[float, Length(0.5, 1000)]


class EllipsoidTable(Table):
    """An ellipsoid."""

    centre: Annotated[Vec, Point()]
    semi_axes: Annotated[Vec, Point(0.5, 2000)]
    pitch: Annotated[float, Angle(-180, 180)] = 0.0


class BoxTable(Table):
    """A box with rounded edges."""

    centre: Annotated[Vec, Point()]
    size: Annotated[Vec, Point(1, 4000)]
    pitch: Annotated[float, Angle(-180, 180)] = 0.0
    rounding: Annotated[float, Length(0, 1000)] = 0.0


class MeshTable(Table):
    """A closed surface out of a mesh file."""

    file: _Name
    unit: Annotated[FileUnit, Choice(FileUnit)]
    position: Annotated[Vec, Point()] = (0.0, 0.0, 0.0)
    pitch: Annotated[float, Angle(-180, 180)] = 0.0
    yaw: Annotated[float, Angle(-180, 180)] = 0.0


class BarTable(Table):
    """``[bars.….bar]``: a one-piece bar."""

    name: _Name
    width: Annotated[float, Length(300, 3000)]
    rise: Annotated[float, Length(-300, 1500)]
    pullback: Annotated[float, Length(-300, 1000)]
    centre_width: Annotated[float, Length(20, 1000)]
    tube_diameter: Annotated[float, Length(15, 60)]
    grip_diameter: Annotated[float, Length(15, 60)]
    bend_radius: Annotated[float, Length(10, 500)]
    hand_straight: Annotated[float, Length(50, 600)]
    grip_length: Annotated[float, Length(50, 300)]
    sweep: Annotated[float, Angle(-30, 89)]
    downsweep: Annotated[float, Angle(-45, 89)]
    roll: Annotated[float, Angle(-90, 90)] = 0.0
    measured: _Found = How.TAPE
    wall: _Wall = None
    clamp_zone: Annotated[float | None, Length(20, 600)] = None


class ShoulderTable(Table):
    """``[bars.….bar.shoulder]``: an extra corner between centre section and hand straight."""

    half_width: Annotated[float, Length(10, 1500)]
    height: Annotated[float, Length(-300, 1500)]
    forward: Annotated[float, Length(-1000, 500)]


class ClipOnTable(Table):
    """``[bars.….clip_ons]``: a pair of separate bars."""

    name: _Name
    height: Annotated[float, Length(-400, 400)]
    forward: Annotated[float, Length(-200, 200)]
    outward: Annotated[float, Length(-50, 200)]
    length: Annotated[float, Length(100, 600)]
    tube_diameter: Annotated[float, Length(15, 60)]
    grip_diameter: Annotated[float, Length(15, 60)]
    grip_length: Annotated[float, Length(50, 300)]
    sweep: Annotated[float, Angle(-30, 89)]
    downsweep: Annotated[float, Angle(-45, 89)]
    roll: Annotated[float, Angle(-90, 90)] = 0.0
    measured: _Found = How.TAPE
    wall: _Wall = None


class HoleTable(Table):
    """One of a bar's holes for wires."""

    name: _Name
    side: Annotated[Side, Choice(Side)]
    from_end: Annotated[float | None, Length(0, 1500)] = None
    from_centre: Annotated[float | None, Length(0, 1500)] = None
    facing: Annotated[float, Angle(-180, 180)]
    diameter: Annotated[float, Length(2, 40)]
    length: Annotated[float | None, Length(2, 80)] = None
    slant: Annotated[float, Angle(20, 90)] = SLANT


class RiserTable(Table):
    """``[bars.….riser]``."""

    name: _Name
    height: Annotated[float, Length(0, 600)]
    setback: Annotated[float, Length(-300, 300)] = 0.0
    measured: _Found = How.TAPE
    bore: Annotated[float | None, Length(15, 60)] = None
    clamp_width: Annotated[float | None, Length(5, 150)] = None


class ControlTable(Table):
    """One of ``[controls]`` without its outlets."""

    kind: Annotated[ControlKind, Choice(ControlKind)]
    side: Annotated[Side, Choice(Side)]
    inboard: Annotated[float, Length(0, 1500)]
    rotation: Annotated[float, Angle(-180, 180)] = 0.0
    measured: _Found = How.TAPE


class ControlSizeTable(Table):
    """``[controls."…".size]``: how much room it takes."""

    width: Annotated[float | None, Length(1, 200)] = None
    radius: Annotated[float | None, Length(8, 100)] = None
    lever_tip: Annotated[Vec | None, Point(-300, 300, _OFFSET)] = None
    reservoir: Annotated[Vec | None, Point(-300, 300, _OFFSET)] = None
    reservoir_size: Annotated[Vec | None, Point(5, 200, _OFFSET)] = None
    lid_up: Annotated[Vec | None, Direction(_OFFSET)] = None
    mirror: Annotated[Vec | None, Point(-500, 500, _OFFSET)] = None
    mirror_radius: Annotated[float | None, Length(10, 200)] = None


class OutletTable(Table):
    """One of a control's outlets."""

    offset: Annotated[Vec, Point(-300, 300, _OFFSET)]
    exit: Annotated[Vec, Direction(_OFFSET)]
    stub: Annotated[float, Length(0, 300)] = 0.0
    measured: _Found = How.TAPE


class LineTable(Table):
    """One of ``[lines]`` without its stations; ``kind`` is looked up in the catalogue."""

    kind: _Name
    diameter: Annotated[float | None, Length(0.5, 60)] = None
    length: Annotated[float, Length(10, 5000)]
    min_radius: Annotated[float | None, Length(1, 1000)] = None
    bending_stiffness: Annotated[float | None, Stiffness()] = None
    twisting_stiffness: Annotated[float | None, Stiffness()] = None
    swivels: Annotated[bool | None, YesOrNo()] = None
    weight: Annotated[float | None, Weight()] = None
    note: _Note = ""
    measured: Annotated[Measured | None, Found()] = None
    routing: Annotated[str, Words()] = ""


class RoutingTable(Table):
    """One of a line's ``routings`` without its stations: another way for it to go."""

    length: Annotated[float | None, Length(10, 5000)] = None


class FoundSlackTable(Table):
    """``found_slack`` of a line: its surplus on the machine as it stands."""

    right: Annotated[float | None, Length(0, 1000)] = None
    straight: Annotated[float | None, Length(0, 1000)] = None
    left: Annotated[float | None, Length(0, 1000)] = None
    measured: Annotated[Measured | None, Found()] = None
    length: Annotated[float | None, Length(10, 5000)] = None


class ThroughBarTable(Table):
    """``through_bar`` of a line, without its connectors."""

    entry: _Name
    exit: _Name
    lead_in: Annotated[float | None, Length(0, 1000)] = None


class ConnectorTable(Table):
    """One of a line's ``connectors``."""

    name: _Name
    width: Annotated[float, Length(1, 100)]
    height: Annotated[float, Length(1, 100)]
    length: Annotated[float | None, Length(1, 200)] = None


class CableTable(Table):
    """``[lines.….cable]``: the inside of a control cable."""

    wire: Annotated[float | None, Length(0.3, 8)] = None
    bore: Annotated[float | None, Length(0.5, 15)] = None
    lining: Annotated[Lining | None, Choice(Lining)] = None
    free_play: Annotated[float | None, Length(0, 30)] = None
    pull: Annotated[float | None, Force(0.1, 5000)] = None


class UncertaintyTable(Table):
    """``[uncertainty]``: standard deviations where nothing nearer is said."""

    tape: _Spread = None
    eyeballed: _Spread = None
    length: _Spread = None
    angle: Annotated[float | None, Angle(0, 30)] = None
    stiffness: Annotated[float | None, Share(0.0, 2.0)] = None
    found_slack: Annotated[float | None, Length(LEAST_FOUND, WIDEST)] = None
    unmeasured: _Spread = None
    unmeasured_angle: Annotated[float | None, Angle(0, 30)] = None


class Ride(StrEnum):
    """What a station that is not at a control's outlet sits on."""

    FRAME = Body.FRAME.value
    STEERING = Body.STEERING.value
    LOWER_FORK = Body.LOWER_FORK.value
    BAR = "bar"


class StationTable(Table):
    """One of a line's stations: at an outlet, on a body of the machine, or beside the bar."""

    name: _Name
    hold: Annotated[Hold, Choice(Hold)]
    control: Annotated[str | None, Words(filled=True)] = None
    outlet: Annotated[str | None, Words(filled=True)] = None
    on: Annotated[Ride | None, Choice(Ride)] = None
    position: Annotated[Vec | None, Point()] = None
    side: Annotated[Side | None, Choice(Side)] = None
    from_end: Annotated[float | None, Length(0, 1500)] = None
    from_centre: Annotated[float | None, Length(0, 1500)] = None
    forward: Annotated[float | None, Length(-200, 200)] = None
    up: Annotated[float | None, Length(-200, 200)] = None
    exit: Annotated[Vec | None, Direction()] = None
    direction: Annotated[Vec | None, Direction()] = None
    stub: Annotated[float | None, Length(0, 300)] = None
    at_length: Annotated[float | None, Length(0, 5000)] = None
    measured: Annotated[Measured | None, Found()] = None


class RiderTable(Table):
    """``[rider]``: who sits on it."""

    build: Annotated[Build, Choice(Build)] = Build.MAN_50
    seat: Annotated[Vec | None, Point()] = None
    shoulder_height: Annotated[float | None, Length(200, 1000)] = None
    reach: Annotated[float | None, Length(200, 1200)] = None
    shoulder_width: Annotated[float | None, Length(150, 700)] = None
    slump: Annotated[float | None, Length(0, 150)] = None


class PlaceLimitsTable(Table):
    """``[place_limits]``: what the law of a place allows."""

    over_seat: Annotated[float | None, Length(0, 2000)] = None
    over_fastening: Annotated[float | None, Length(0, 2000)] = None
    over_shoulders: Annotated[float | None, Length(-1000, 1000)] = None
    width: Annotated[float | None, Length(300, 3000)] = None
    least_width: Annotated[float | None, Length(100, 2000)] = None
