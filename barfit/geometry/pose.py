"""Where everything is: bodies turned and slid, bars in their clamps, the stations of each line.

All points are in machine axes, straight ahead at ride height, unless said otherwise. Lengths mm,
angles rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from barfit.geometry import bar as bars
from barfit.geometry.bar import BarError, Centreline
from barfit.geometry.frames import (
    LEFT,
    MIRROR,
    Array,
    attitude,
    local_to_machine,
    rotation,
    steering_axis,
    steering_frame,
)
from barfit.geometry.through import Inside, Mouth, led_inside
from barfit.model import (
    Bar,
    BarPlace,
    BarSet,
    Body,
    ClipOn,
    Control,
    Hold,
    Hole,
    Line,
    Machine,
    OutletPlace,
    PointPlace,
    Setup,
    Side,
    Station,
    Vec,
)

_RUN_STEP = 5.0  # mm

Frame = tuple[Array, Array, Array, Array]
"""A point and the unit directions outward, forward and up, each (3,)."""


class LayoutError(ValueError):
    """Lines that cannot be laid out; ``problems`` are whole sentences, the message all of them."""

    def __init__(self, problems: tuple[str, ...]) -> None:
        super().__init__("\n".join(problems))
        self.problems = problems


# --- bodies --------------------------------------------------------------------------------------


def body_motion(machine: Machine, body: Body, turn: float, travel: float) -> tuple[Array, Array]:
    """``R`` (3, 3) and ``t`` (3,) so that a point of that body is now at ``R @ point + t``.

    ``turn`` to the left and compression are positive. The lower fork slides along the steering
    axis before it turns about it; the slide is along the axis, so the order does not matter.
    """
    turns, shifts = motions(machine, body, np.array([turn]), np.array([travel]))
    return turns[0, 0], shifts[0, 0]


def motions(
    machine: Machine, body: Body, angles: npt.ArrayLike, travels: npt.ArrayLike
) -> tuple[Array, Array]:
    """As `body_motion` for every travel (T,) and turn (A,): (T, A, 3, 3) and (T, A, 3)."""
    angles = np.asarray(angles, dtype=float)
    slides = np.asarray(travels, dtype=float)
    axis = steering_axis(machine.rake)
    turned = np.zeros_like(angles) if body is Body.FRAME else angles
    slid = slides if body is Body.LOWER_FORK else np.zeros_like(slides)
    shape = (len(slides), len(angles), 3)
    turns = np.broadcast_to(rotation(axis, turned), (*shape, 3)).copy()
    shifts = np.broadcast_to(slid[:, None, None] * axis, shape).copy()
    return turns, shifts


def sweep_angles(machine: Machine, step: float = math.radians(1.0)) -> Array:
    """Turn angles (A,) from right lock to left lock, ascending.

    Whole multiples of ``step`` and both locks; straight ahead is exactly 0. Raises ValueError
    for a step that is not positive or a negative lock.
    """
    if not (math.isfinite(step) and step > 0.0):
        raise ValueError("the step between turn angles must be more than 0")
    right = _to_lock(machine.lock_right, step)
    left = _to_lock(machine.lock_left, step)
    return np.concatenate([-right[:0:-1], left])


def _to_lock(lock: float, step: float) -> Array:
    if not (math.isfinite(lock) and lock >= 0.0):
        raise ValueError("a lock angle must not be negative")
    if lock == 0.0:
        return np.zeros(1)
    # a multiple that is the lock but for rounding is not listed beside it
    between = np.arange(1, math.ceil(lock / step - 1e-6)) * step
    return np.concatenate([[0.0], between, [lock]])


def travels(machine: Machine) -> Array:
    """Suspension positions (3,): full extension, ride height, full compression."""
    return np.array([-machine.sag, 0.0, machine.travel - machine.sag])


# --- bars ----------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class BarShape:
    """A handlebar as it sits in its clamps. The right side is the mirror image of the left.

    ``left`` and ``right`` (N, 3) run from the bar's centre (a clip-on's inner end) to the bar
    end and are read-only; ``length`` is the developed length of one side.

    ``line`` is the left side in bar axes, which ``axes`` (3, 3) and ``origin`` (3,) bring into
    machine axes; ``roll`` (3, 3) then turns it about ``pivot`` (3,).
    """

    left: Array
    right: Array
    tube_diameter: float
    grip_diameter: float
    grip_length: float
    line: Centreline
    axes: Array
    origin: Array
    roll: Array
    pivot: Array

    @property
    def length(self) -> float:
        """Developed length of one side, mm."""
        return self.line.length

    def at(self, side: Side, distance: float, from_centre: bool) -> Frame:
        """Point, outward, forward and up (each (3,)) on the centreline.

        ``distance`` mm along the centreline from the centre (a clip-on's inner end) or from the
        bar end. Outward is along the tube toward the bar end; forward and up are level with the
        bar unrolled (see `barfit.geometry.frames.attitude`) and are carried along by its roll.
        Raises ValueError when the bar is shorter than that.
        """
        if not 0.0 <= distance <= self.length:
            raise ValueError(
                f"{distance:.0f} mm along the bar is off its end: "
                f"one side is {math.floor(self.length)} mm long"
            )
        point, tangent = self.line.at(distance if from_centre else self.length - distance)
        outward = self.axes @ tangent
        forward, up = attitude(outward)
        place = self._place(point[None, :])[0]
        frame = (place, self.roll @ outward, self.roll @ forward, self.roll @ up)
        if side is Side.LEFT:
            return frame
        return frame[0] * MIRROR, frame[1] * MIRROR, frame[2] * MIRROR, frame[3] * MIRROR

    def across(self, side: Side, distance: float, from_centre: bool) -> float:
        """A place on the bar as its distance from the centre: left positive, right negative."""
        from_middle = distance if from_centre else self.length - distance
        return from_middle if side is Side.LEFT else -from_middle

    def run(self, first: float, last: float) -> tuple[Array, Array]:
        """The centreline from one place to another, both as `across` has them: points (N, 3), and
        how far from the first each is (N,), 5 mm apart at most.
        """
        places = np.linspace(first, last, 2 + math.ceil(abs(last - first) / _RUN_STEP))
        from_centre = np.minimum(np.abs(places), self.length)
        points = self._place(np.array([self.line.at(float(u))[0] for u in from_centre]))
        points[places <= 0.0] *= MIRROR
        return points, np.abs(places - first)

    def _place(self, points: Array) -> Array:
        """Points (M, 3) of the left side: bar axes to machine axes, rolled."""
        return _placed(points, self.axes, self.origin, self.roll, self.pivot)


def _placed(points: Array, axes: Array, origin: Array, roll: Array, pivot: Array) -> Array:
    unrolled = origin + points @ axes.T
    placed: Array = pivot + (unrolled - pivot) @ roll.T
    return placed


@lru_cache(maxsize=32)
def bar_shape(machine: Machine, barset: BarSet) -> BarShape:
    """The bars of ``barset`` on ``machine``. Raises BarError when they cannot be built."""
    axes = steering_frame(machine.rake)
    bar = barset.bar
    if isinstance(bar, Bar):
        line = bars.one_piece(
            width=bar.width,
            rise=bar.rise,
            pullback=bar.pullback,
            centre_width=bar.centre_width,
            tube_diameter=bar.tube_diameter,
            grip_diameter=bar.grip_diameter,
            bend_radius=bar.bend_radius,
            hand_straight=bar.hand_straight,
            grip_length=bar.grip_length,
            sweep=bar.sweep,
            downsweep=bar.downsweep,
            shoulder=(bar.shoulder.half_width, bar.shoulder.height, bar.shoulder.forward)
            if bar.shoulder
            else None,
        )
        forward = machine.riser_foot - barset.riser.setback
        pivot = local_to_machine(machine.rake, forward, 0.0, barset.riser.height)
        origin = pivot
        # about the clamp line; a right-hand turn about "left" would bring the grips forward
        roll = rotation(LEFT, -bar.roll)
    else:
        line = bars.clip_on(
            length=bar.length,
            tube_diameter=bar.tube_diameter,
            grip_diameter=bar.grip_diameter,
            grip_length=bar.grip_length,
            sweep=bar.sweep,
            downsweep=bar.downsweep,
        )
        pivot, origin = _clip_on_places(machine, bar)
        roll = rotation(steering_axis(machine.rake), bar.roll)
    left = _placed(line.points, axes, origin, roll, pivot)
    right = left * MIRROR
    for array in (left, right):
        array.flags.writeable = False
    return BarShape(
        left=left,
        right=right,
        tube_diameter=bar.tube_diameter,
        grip_diameter=bar.grip_diameter,
        grip_length=bar.grip_length,
        line=line,
        axes=axes,
        origin=origin,
        roll=roll,
        pivot=pivot,
    )


def _clip_on_places(machine: Machine, bar: ClipOn) -> tuple[Array, Array]:
    """Centre of the left fork tube at the clamp, and the left bar's inner end before roll."""
    half_spread = 0.5 * machine.fork_spread
    if half_spread + bar.outward <= 0.0:
        raise BarError(
            f"the inner end {bar.outward:.10g} mm outward of the fork tube is across the middle "
            f"of the machine: it must be more than {-half_spread:.10g} mm"
        )
    tube = machine.fork_offset
    pivot = local_to_machine(machine.rake, tube, half_spread, bar.height)
    inner = local_to_machine(
        machine.rake, tube + bar.forward, half_spread + bar.outward, bar.height
    )
    return pivot, inner


def control_frame(setup: Setup, barset: BarSet, control: Control) -> Frame:
    """Point on the bar's centreline and outward, forward, up of a control, each (3,).

    Raises BarError for bars that cannot be built, ValueError where the bar is too short.
    """
    return held_frame(bar_shape(setup.machine, barset), control)


def held_frame(shape: BarShape, control: Control) -> Frame:
    """As `control_frame`, on bars that are built. Raises ValueError where they are too short."""
    point, outward, forward, up = shape.at(control.side, control.inboard, from_centre=False)
    cos, sin = math.cos(control.rotation), math.sin(control.rotation)
    return point, outward, cos * forward + sin * up, cos * up - sin * forward


# --- lines ---------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Layout:
    """The S stations of one line, straight ahead at ride height, first fitting to last.

    ``points`` (S, 3) mm; ``directions`` (S, 3) unit tangents along the line from first to last
    station (for the last fitting: minus the way it points), nan for a guide; ``stubs`` (S,) mm
    of rigid straight end; ``at_length`` (S,) mm where a clip grips the line, nan where free.
    Arrays are read-only. ``stations`` are those of the line, but for one led ``inside`` the bar:
    the second is then the hole where it comes out, and ties along the bar before that are left out.
    """

    names: tuple[str, ...]
    bodies: tuple[Body, ...]
    holds: tuple[Hold, ...]
    points: Array
    directions: Array
    stubs: Array
    at_length: Array
    stations: tuple[Station, ...]
    inside: Inside | None = None


@dataclass(frozen=True, eq=False)
class _Spot:
    """One station placed: ``direction`` as given or as its place gives it, None for none."""

    body: Body
    point: Array
    direction: Array | None
    stub: float


def layout(setup: Setup, barset: BarSet) -> dict[str, Layout]:
    """Every line's stations with these bars, by line name.

    Raises LayoutError with every problem found: a control or outlet that is not there, a bar
    that cannot be built or is too short, a direction missing or without length, two
    neighbouring stations in one place.
    """
    try:
        shape = bar_shape(setup.machine, barset)
    except BarError as error:
        raise LayoutError((f"Bars '{barset.bar.name}': {error}.",)) from error
    problems: list[str] = []
    outlets = _outlets(setup, shape, problems)
    layouts = {}
    for line in setup.lines:
        found: list[str] = []
        placed = _layout_line(line, shape, barset, outlets, setup, found)
        if placed is not None:
            layouts[line.name] = placed
        problems += [f"Line '{line.name}', {problem}." for problem in found]
    if problems:
        raise LayoutError(tuple(problems))
    return layouts


_Outlets = dict[tuple[str, str], _Spot | None]


def _outlets(setup: Setup, shape: BarShape, problems: list[str]) -> _Outlets:
    """Every outlet by (control, outlet) name; None where its control does not fit the bar."""
    spots: _Outlets = {}
    for control in setup.controls:
        try:
            point, *frame = held_frame(shape, control)
        except ValueError as error:
            problems.append(f"Control '{control.name}': {error}.")
            spots |= {(control.name, outlet.name): None for outlet in control.outlets}
            continue
        axes = np.column_stack(frame)
        for outlet in control.outlets:
            leaving = _unit(outlet.exit)
            if leaving is None:
                problems.append(
                    f"Control '{control.name}': the exit of outlet '{outlet.name}' "
                    "has no direction: give it three numbers that are not all 0."
                )
            spots[control.name, outlet.name] = (
                None
                if leaving is None
                else _Spot(
                    body=Body.STEERING,
                    point=point + axes @ np.array(outlet.offset),
                    direction=axes @ leaving,
                    stub=outlet.stub,
                )
            )
    return spots


def _layout_line(
    line: Line,
    shape: BarShape,
    barset: BarSet,
    outlets: _Outlets,
    setup: Setup,
    problems: list[str],
) -> Layout | None:
    """One line laid out; None, with the reasons in ``problems``, where it cannot be."""
    _check_holds(line, problems)
    inside = None
    if not problems:
        try:
            line, inside = _led_inside(line, shape, barset.bar, outlets, setup)
        except ValueError as error:
            problems.append(f"through the bar: {error}")
    spots = []
    for station in line.stations:
        try:
            spots.append(_spot(station, shape, outlets, setup))
        except ValueError as error:
            problems.append(f"station '{station.name}': {error}")
    if problems or None in spots:
        return None
    placed = [spot for spot in spots if spot is not None]
    points = np.array([spot.point for spot in placed])
    gaps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    for gap, (first, second) in zip(gaps, pairwise(line.stations), strict=True):
        if gap < 1e-3:
            problems.append(f"stations '{first.name}' and '{second.name}': they are in one place")
    directions = np.full_like(points, np.nan)
    for index, (station, spot) in enumerate(zip(line.stations, placed, strict=True)):
        if station.hold is Hold.GUIDE:
            continue
        direction = spot.direction
        if direction is None:
            problems.append(f"station '{station.name}': a {station.hold} there needs a direction")
            continue
        if station.hold is Hold.FITTING and index > 0:
            direction = -direction
        elif isinstance(station.place, BarPlace) and station.direction is None:
            # along the bar, whichever way the line goes
            course = points[min(index + 1, len(points) - 1)] - points[max(index - 1, 0)]
            direction = direction if direction @ course >= 0.0 else -direction
        directions[index] = direction
    if problems:
        return None
    at_length = [math.nan if s.at_length is None else s.at_length for s in line.stations]
    arrays = (points, directions, np.array([s.stub for s in placed]), np.array(at_length))
    for array in arrays:
        array.flags.writeable = False
    return Layout(
        tuple(station.name for station in line.stations),
        tuple(spot.body for spot in placed),
        tuple(station.hold for station in line.stations),
        *arrays,
        line.stations,
        inside,
    )


def _led_inside(
    line: Line, shape: BarShape, bar: Bar | ClipOn, outlets: _Outlets, setup: Setup
) -> tuple[Line, Inside | None]:
    """The line with its stations as they are inside these bars; as it is where they have neither
    of its holes. What is clamped by its hole is a clip: up to there nothing moves.

    Raises ValueError with the reason why it cannot be led so.
    """
    through = line.through_bar
    holes = {hole.name: hole for hole in bar.holes}
    if through is None or not {through.entry, through.exit} & set(holes):
        return line, None
    for name in (through.entry, through.exit):
        if name not in holes:
            raise ValueError(f"the bars have no hole '{name}'")
    entry, way_out = holes[through.entry], holes[through.exit]
    if isinstance(bar, ClipOn) and entry.side is not way_out.side:
        raise ValueError("the two bars of a pair of clip-ons are not one tube")
    first, *rest = line.stations
    start = _spot(first, shape, outlets, setup)
    if start is None or start.direction is None or not isinstance(first.place, OutletPlace):
        if start is not None:
            raise ValueError("a line that is led inside the bar starts at a control's outlet")
        return line, None
    came, goes = (shape.across(h.side, h.distance, h.from_centre) for h in (entry, way_out))
    toward = math.copysign(1.0, goes - came)
    from_control = next(
        shape.across(control.side, control.inboard, from_centre=False)
        for control in setup.controls
        if control.name == first.place.control
    )
    inner = [s for s in rest if not _is_passed(s, shape, (from_control, came, goes))]
    ties = [s for s in rest if s not in inner]
    exit_place = BarPlace(
        way_out.side,
        way_out.distance,
        way_out.from_centre,
        0.5 * shape.tube_diameter * math.cos(way_out.facing),
        0.5 * shape.tube_diameter * math.sin(way_out.facing),
    )
    hole = Station(way_out.name, Hold.CLIP, exit_place, measured=bar.measured)
    spots = [_spot(station, shape, outlets, setup) for station in (*ties, hole)]
    outside = [start.point, start.point + start.stub * start.direction]
    outside += [spot.point for spot in spots if spot is not None]
    inside = led_inside(
        start.point,
        start.direction,
        start.stub,
        _mouth(entry, shape, toward),
        *shape.run(came, goes),
        _mouth(way_out, shape, toward),
        0.5 * shape.tube_diameter,
        through.lead_in,
        float(np.linalg.norm(np.diff(outside, axis=0), axis=1).sum()),
    )
    x, y, z = inside.leaving.tolist()
    hole = replace(hole, direction=(x, y, z), at_length=inside.length)
    return replace(line, stations=(first, hole, *inner)), inside


def _is_passed(station: Station, shape: BarShape, way: Sequence[float]) -> bool:
    """Whether a station sits on the bar where a line runs inside it, by these places ``across``."""
    place = station.place
    if not isinstance(place, BarPlace):
        return False
    at = shape.across(place.side, place.distance, place.from_centre)
    return min(way) <= at <= max(way)


def _mouth(hole: Hole, shape: BarShape, toward: float) -> Mouth:
    """A hole as met by a line that runs to the left (``toward`` 1) or to the right (-1)."""
    point, outward, forward, up = shape.at(hole.side, hole.distance, hole.from_centre)
    leftward = outward if hole.side is Side.LEFT else -outward
    facing = math.cos(hole.facing) * forward + math.sin(hole.facing) * up
    return Mouth(point, toward * leftward, facing, hole.slant)


def _check_holds(line: Line, problems: list[str]) -> None:
    """A line starts and ends in a fitting and has none between."""
    if len(line.stations) < 2:
        problems.append("it needs at least two stations, a fitting at each end")
        return
    last = len(line.stations) - 1
    for index, station in enumerate(line.stations):
        if (index in (0, last)) != (station.hold is Hold.FITTING):
            wanted = "a fitting" if index in (0, last) else "a guide or a clip"
            problems.append(
                f"station '{station.name}': it is a {station.hold}, but there must be {wanted}"
            )


def _spot(station: Station, shape: BarShape, outlets: _Outlets, setup: Setup) -> _Spot | None:
    """A station placed; None where the control's own problem is already listed.

    Raises ValueError with the reason.
    """
    own = None
    if station.direction is not None:
        own = _unit(station.direction)
        if own is None:
            raise ValueError("its direction has no length: give three numbers that are not all 0")
    place = station.place
    if isinstance(place, PointPlace):
        return _Spot(place.body, np.array(place.position), own, station.stub)
    if isinstance(place, BarPlace):
        point, outward, forward, up = shape.at(place.side, place.distance, place.from_centre)
        point = point + place.forward * forward + place.up * up
        along = outward if station.hold is Hold.CLIP else None
        return _Spot(Body.STEERING, point, own if own is not None else along, station.stub)
    key = (place.control, place.outlet)
    if key not in outlets:
        raise ValueError(_unknown_outlet(place, setup))
    spot = outlets[key]
    if spot is None:
        return None
    direction = own if own is not None else spot.direction
    return _Spot(spot.body, spot.point, direction, station.stub or spot.stub)


def _unknown_outlet(place: OutletPlace, setup: Setup) -> str:
    for control in setup.controls:
        if control.name == place.control:
            known = ", ".join(f"'{outlet.name}'" for outlet in control.outlets) or "none"
            return f"control '{place.control}' has no outlet '{place.outlet}' (it has {known})"
    known = ", ".join(f"'{control.name}'" for control in setup.controls) or "none"
    return f"there is no control '{place.control}' on the bars (there are {known})"


def _unit(vector: Vec) -> Array | None:
    """The unit vector (3,) along ``vector``; None when it has no finite length but zero."""
    array = np.array(vector, dtype=float)
    length = float(np.linalg.norm(array))
    return array / length if math.isfinite(length) and length > 0.0 else None
