"""What a hose's way through the machine means: gaps, rises, bends at its ends, eyes. mm, rad."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.signal import find_peaks

from barfit.analysis import LineSweep, Sweep
from barfit.geometry.frames import local_to_machine, rotation
from barfit.geometry.parts import shape_distance
from barfit.geometry.pose import motions, travels
from barfit.model import Body, Machine, PointPlace, Role, Setup, Solid

Array = npt.NDArray[np.float64]
Distance = Callable[[Array], Array]  # of points (M, 3) straight ahead at ride height: (M,)

_NEAR_HOLD = 40.0  # mm along the line: a clip's or fitting's own place is not a gap


@dataclass(frozen=True)
class Spot:
    """A figure at the pose at which it is worst; nan where it is known at none."""

    value: float
    turn: float
    travel: float


@dataclass(frozen=True)
class Rise:
    """A place in which air stays: ``at`` mm along the hose from its first fitting, ``height`` mm
    above the higher of the lows on either side.
    """

    at: float
    height: float


# --- gaps ----------------------------------------------------------------------------------------


def wheel_distance(machine: Machine) -> Distance:
    """Signed distance from the wheel: a flat disc made round by half the tyre's width.

    That is exact for a tyre of round section from the tread inward to its widest, and takes the
    rim to be as wide as the tyre.
    """
    axle, half = _axle(machine), 0.5 * machine.wheel_width

    def distance(points: Array) -> Array:
        across, out = _in_wheel(points - axle)
        flat = np.maximum(out - (machine.wheel_radius - half), 0.0)
        return np.asarray(np.hypot(flat, across) - half)

    return distance


def disc_distance(machine: Machine, sides: set[int]) -> Distance | None:
    """Distance from the brake discs on these sides (1 is left, -1 right); None where not known."""
    disc = machine.disc
    if disc is None or not sides:
        return None
    axle = _axle(machine)

    def distance(points: Array) -> Array:
        _, out = _in_wheel(points - axle)
        beyond = np.maximum(out - disc.radius, 0.0)
        gaps = [
            np.hypot(
                beyond,
                np.maximum(
                    np.abs(points[:, 1] - axle[1] - side * disc.offset) - 0.5 * disc.thickness, 0.0
                ),
            )
            for side in sides
        ]
        return np.asarray(np.min(gaps, axis=0))

    return distance


def gap(swept: Sweep, line: LineSweep, body: Body, distance: Distance, clear: bool = False) -> Spot:
    """The least gap between the surface of a line and a part that rides on ``body``.

    Over every turn and, where the line itself stays still, every end of the fork's travel. With
    ``clear`` places within 40 mm of a station are left out.
    """
    machine = swept.setup.machine
    slides = travels(machine) if body is Body.LOWER_FORK else line.travels
    slides = line.travels if len(line.travels) > 1 else slides
    shape = (len(slides), len(swept.angles))
    points = np.broadcast_to(line.shapes, (*shape, *line.shapes.shape[2:]))
    turns, shifts = motions(machine, body, swept.angles, slides)
    still = np.einsum("taji,tamj->tami", turns, points - shifts[:, :, None, :])
    found = distance(still.reshape(-1, 3)).reshape(*shape, -1)
    if clear:
        near = np.abs(line.arc[:, None] - line.stations_at[:, :, None, :]).min(axis=-1)
        found = np.where(near < _NEAR_HOLD, np.inf, found)
    least = found.min(axis=-1) - 0.5 * swept.setup.line(line.name).diameter
    return worst(np.where(line.converged, least, math.nan), swept.angles, slides, np.nanargmin)


def fork_gap(swept: Sweep, line: LineSweep) -> Spot:
    """The least gap to a fork tube, places within 40 mm of a station left out; nan without one."""

    def distance_of(solid: Solid) -> Distance:
        return lambda points: np.asarray(shape_distance(solid.shape, points))

    found = [
        gap(swept, line, solid.body, distance_of(solid), clear=True)
        for solid in swept.setup.machine.solids
        if solid.role is Role.FORK_TUBE
    ]
    known = [spot for spot in found if math.isfinite(spot.value)]
    return min(known, key=lambda spot: spot.value, default=Spot(math.nan, 0.0, 0.0))


def brake_sides(setup: Setup) -> set[int]:
    """The sides on which a brake hose ends on the lower fork: 1 is left, -1 right."""
    places = [line.stations[-1].place for line in setup.lines if line.kind == "brake_hose"]
    points = [
        place.position
        for place in places
        if isinstance(place, PointPlace) and place.body is Body.LOWER_FORK
    ]
    return {1 if point[1] > 0.0 else -1 for point in points}


def _axle(machine: Machine) -> Array:
    return local_to_machine(machine.rake, machine.fork_offset, 0.0, -machine.fork_length)


def _in_wheel(points: Array) -> tuple[Array, Array]:
    """How far points (M, 3) from the axle are across the wheel, and out from its axis."""
    return points[:, 1], np.hypot(points[:, 0], points[:, 2])


def worst(
    table: Array, angles: Array, slides: Array, pick: Callable[[Array], np.intp] = np.nanargmax
) -> Spot:
    """The worst of a (T, A) table and its pose; nan where none is known."""
    if not np.isfinite(table).any():
        return Spot(math.nan, 0.0, 0.0)
    at, turn = np.unravel_index(int(pick(table)), table.shape)
    return Spot(float(table[at, turn]), float(angles[turn]), float(slides[at]))


# --- at the fittings -----------------------------------------------------------------------------


def fitting_bend(swept: Sweep, line: LineSweep, run: float) -> Spot:
    """The most by which a hose bends over its first ``run`` mm out of either rigid end, rad.

    Its direction there is interpolated between the middles of the edges of its mesh.
    """
    stubs = _stubs(line)
    found = np.maximum(
        _end_bend(line.shapes, line.arc, stubs[0], run),
        _end_bend(line.shapes[:, :, ::-1], line.arc[-1] - line.arc[::-1], stubs[1], run),
    )
    return worst(np.where(line.converged, found, math.nan), swept.angles, line.travels)


def _end_bend(shapes: Array, arc: Array, stub: float, run: float) -> Array:
    """The turn (T, A) between the first edge's direction and that ``run`` past the stub."""
    edges = np.diff(shapes, axis=2)
    edges = edges / np.linalg.norm(edges, axis=-1, keepdims=True)
    out = edges[:, :, 0]
    middle = 0.5 * (arc[1:] + arc[:-1])
    free = np.flatnonzero(middle > stub)
    at = np.concatenate(([stub], middle[free]))
    upper = min(max(int(np.searchsorted(at, stub + run)), 1), len(at) - 1)
    part = (stub + run - at[upper - 1]) / (at[upper] - at[upper - 1])
    before = out if upper == 1 else edges[:, :, free[upper - 2]]
    there = (1.0 - part) * before + part * edges[:, :, free[upper - 1]]
    cosine = np.sum(out * there, axis=-1) / np.linalg.norm(there, axis=-1)
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)))


def _stubs(line: LineSweep) -> tuple[float, float]:
    first, last = line.spans[0].case, line.spans[-1].case
    return first.start_at, float(line.arc[-1]) - last.end_at


# --- as fitted: straight ahead at ride height ----------------------------------------------------


def as_fitted(swept: Sweep, line: LineSweep) -> Array | None:
    """The centreline (M, 3) in which it is fitted; None where that is not known."""
    row = int(np.argmin(np.abs(line.travels)))
    column = int(np.argmin(np.abs(swept.angles)))
    return line.shapes[row, column] if line.converged[row, column] else None


def rises(shape: Array, arc: Array, height: float) -> tuple[Rise, ...]:
    """The high spots along a centreline (M, 3), ends left out, that stand ``height`` mm or more
    over both sides (the prominence of a peak).
    """
    peaks, told = find_peaks(shape[:, 2], prominence=height)
    return tuple(
        Rise(float(arc[peak]), float(rise))
        for peak, rise in zip(peaks, told["prominences"], strict=True)
    )


def falls_from(shape: Array, from_last: bool, height: float) -> bool:
    """Whether a hose goes down by ``height`` mm or more from that end before it rises above it."""
    z = shape[::-1, 2] if from_last else shape[:, 2]
    above = np.flatnonzero(z > z[0] + 1e-6)
    before = z[: above[0]] if len(above) else z
    return bool(before.min() <= z[0] - height)


def eye_angle(bolt: Array, leaving: Array) -> float:
    """How far a hose that leaves along ``leaving`` leans out of the plane of its eye, rad."""
    return abs(math.asin(float(np.clip(bolt @ leaving / np.linalg.norm(leaving), -1.0, 1.0))))


_STEEPEST = math.radians(75.0)  # nearer to the bolt than this an eye shows no way round


def clocking(shape: Array, first: Array, last: Array) -> float:
    """How far the last eye is turned against the first in a hose without twist, rad.

    The first bolt's direction is carried along the centreline (M, 3) without turning about it
    (parallel transport, edge by edge); positive is clockwise seen along the hose from its first
    end. nan where a hose leaves almost along its bolt.
    """
    edges = np.diff(shape, axis=0)
    edges = edges / np.linalg.norm(edges, axis=1, keepdims=True)
    if max(eye_angle(first, edges[0]), eye_angle(last, edges[-1])) > _STEEPEST:
        return math.nan
    carried = first
    for before, after in pairwise(edges):
        axis = np.cross(before, after)
        size = float(np.linalg.norm(axis))
        if size > 1e-12:
            carried = rotation(axis, math.atan2(size, float(before @ after))) @ carried
    along = edges[-1]
    return math.atan2(
        float(along @ np.cross(carried, last)),
        float(carried @ last - (carried @ along) * (last @ along)),
    )


def turned(angle: float) -> float:
    """An angle brought between minus and plus half a turn, rad; nan stays."""
    return math.remainder(angle, 2.0 * math.pi)
