"""What the bar and everything on it comes near as the steering turns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, reduce
from operator import add

import numpy as np

from barfit.catalogue import limit
from barfit.geometry.frames import MIRROR, Array, steering_axis
from barfit.geometry.parts import shape_distance
from barfit.geometry.pose import BarShape, bar_shape, held_frame
from barfit.geometry.swing import Distance, Nearest, Rods, first_below, least_gap
from barfit.model import BarSet, Body, Control, Machine, Role, Setup, Shape, Side, Solid, Vec
from barfit.trade.judged import Grade, Judged, at_least
from barfit.trade.sizes import bar_row, room

BAR = "handlebar"
_CLAMP_WALL = 6.0  # mm of metal round the bar in a thin clamp; estimate
# What steers and may come too near the bar. Clamps, fork tubes and what is marked as "other" are
# left out: they hold the bar, and touch it.
_STEERED = (Role.FAIRING, Role.INSTRUMENT, Role.HEADLAMP, Role.TANK)


@dataclass(frozen=True)
class Clearance:
    """What one side of the bar comes nearest to, over every turn between the locks.

    ``hand`` is true for grip and levers, false for tube, housings, reservoirs and mirrors.
    ``part`` of the bar and ``other`` of the machine are the nearest two; ``steered`` says that
    the other turns along, so that no turn changes the gap. ``first`` is the turn at which the gap
    first falls to its limit on the way to where it is least (rad), None where it never does.
    """

    side: Side
    hand: bool
    part: str
    other: str
    steered: bool
    gap: Judged
    first: float | None


def clearances(setup: Setup, barset: BarSet, stock: BarSet) -> tuple[Clearance, ...]:
    """The least gaps of either side's hand and hard parts; () where the machine has no solids.

    Below its limit a hand's gap is a trap: not acceptable. Hard parts too near call for caution,
    touching is not acceptable.
    """
    found = []
    for side in Side:
        for hand in (True, False):
            now = _least(setup.machine, barset, setup.controls, side, hand)
            if now is None:
                continue
            before = _least(setup.machine, stock, setup.controls, side, hand)
            found.append(_judged(setup, barset, now, before))
    return tuple(found)


@dataclass(frozen=True, eq=False)
class _Meeting:
    """The nearest of one side's parts and a solid."""

    side: Side
    hand: bool
    part: str
    solid: Solid
    nearest: Nearest


@lru_cache(maxsize=64)
def _least(
    machine: Machine, barset: BarSet, controls: tuple[Control, ...], side: Side, hand: bool
) -> _Meeting | None:
    rods = _rods(machine, barset, controls, side, hand)
    axis = steering_axis(machine.rake)
    best: _Meeting | None = None
    for solid in _nearest_first(machine, rods):
        steered = solid.body is not Body.FRAME
        found = least_gap(
            rods,
            _distance(solid.shape),
            axis,
            0.0 if steered else -machine.lock_right,
            0.0 if steered else machine.lock_left,
            below=np.inf if best is None else best.nearest.gap,
        )
        if found is not None:
            best = _Meeting(side, hand, rods.names[found.rod], solid, found)
    return best


def _judged(setup: Setup, barset: BarSet, now: _Meeting, before: _Meeting | None) -> Clearance:
    gap = now.nearest.gap
    least = limit(setup, "hand_gap" if now.hand else "hard_gap")
    grade = Grade.REJECT if now.hand or gap < 0.0 else Grade.CAUTION
    steered = now.solid.body is not Body.FRAME
    first = None
    if gap < least and not steered:
        rods = _rods(setup.machine, barset, setup.controls, now.side, now.hand)
        first = first_below(
            rods,
            _distance(now.solid.shape),
            steering_axis(setup.machine.rake),
            least,
            now.nearest.turn,
        )
    return Clearance(
        side=now.side,
        hand=now.hand,
        part=now.part,
        other=now.solid.name,
        steered=steered,
        gap=at_least(
            gap,
            least,
            beyond=grade,
            stock=np.nan if before is None else before.nearest.gap,
            turn=None if steered else now.nearest.turn,
        ),
        first=first,
    )


def _nearest_first(machine: Machine, rods: Rods) -> list[Solid]:
    """What may be met, the nearest straight ahead first: that drops most others at once."""
    chosen = [
        solid
        for solid in machine.solids
        if solid.body is Body.FRAME or (solid.body is Body.STEERING and solid.role in _STEERED)
    ]
    middles = 0.5 * (rods.starts + rods.ends)
    return sorted(chosen, key=lambda solid: float(np.min(shape_distance(solid.shape, middles))))


def _distance(shape: Shape) -> Distance:
    return lambda points: shape_distance(shape, points)


# --- the parts as round rods ---------------------------------------------------------------------


def _rods(
    machine: Machine, barset: BarSet, controls: tuple[Control, ...], side: Side, hand: bool
) -> Rods:
    """Grip and levers of one side, or all else of it, straight ahead."""
    shape = bar_shape(machine, barset)
    own = [control for control in controls if control.side is side]
    if hand:
        return reduce(add, [grip_rods(shape, side), *lever_rods(shape, own)])
    return reduce(add, [tube_rods(shape, side), *body_rods(shape, own)])


def grip_rods(shape: BarShape, side: Side) -> Rods:
    """One grip with its rubber."""
    inner, end = (shape.at(side, at, from_centre=False)[0] for at in (shape.grip_length, 0.0))
    radius = 0.5 * shape.grip_diameter + bar_row()["grip_wall"]
    return Rods.of(f"{side} grip", np.array([inner, end]), radius)


def tube_rods(shape: BarShape, side: Side) -> Rods:
    """The bare tube of one side, from the centre to the grip; a tapered one as thick all over."""
    course = shape.left * (1.0 if side is Side.LEFT else MIRROR)
    along = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(course, axis=0), axis=1))))
    inner = shape.at(side, shape.grip_length, from_centre=False)[0]
    course = np.vstack((course[along < along[-1] - shape.grip_length - 1e-6], inner))
    return Rods.of(BAR, course, 0.5 * shape.tube_diameter)


def lever_rods(shape: BarShape, controls: Sequence[Control]) -> list[Rods]:
    """The levers of some controls, let go."""
    return [
        Rods.of(f"lever of the {control.name}", _places(shape, control, *own.lever), r)
        for control in controls
        if (own := room(control)).lever and (r := own.lever_radius) > 0.0
    ]


def body_rods(shape: BarShape, controls: Sequence[Control]) -> list[Rods]:
    """Housings, reservoirs and mirrors of some controls."""
    tube = 0.5 * shape.tube_diameter
    found = []
    for control in controls:
        own = room(control)
        radius = own.radius or tube + _CLAMP_WALL
        half = max(0.5 * own.width - radius, 0.0)
        ends = _places(shape, control, (-half, 0.0, 0.0), (half, 0.0, 0.0))
        found.append(Rods.of(control.name, ends, radius))
        if own.reservoir is not None:
            long, *across = own.reservoir_size
            radius = 0.5 * max(across)
            half = max(0.5 * long - radius, 0.0)
            outward, forward, up = own.reservoir
            inner, outer = (outward - half, forward, up), (outward + half, forward, up)
            ends = _places(shape, control, inner, outer)
            found.append(Rods.of(f"reservoir of the {control.name}", ends, radius))
        if own.mirror is not None:
            name = f"mirror on the {control.name}"
            stem = _places(shape, control, (0.0, 0.0, 0.0), own.mirror)
            found.append(Rods.of(name, stem, bar_row()["mirror_stem"]))
            found.append(Rods.of(name, stem[[1, 1]], own.mirror_radius))
    return found


def _places(shape: BarShape, control: Control, *offsets: Vec) -> Array:
    """Places (N, 3) given from a control, straight ahead."""
    point, *axes = held_frame(shape, control)
    placed: Array = point + np.array(offsets) @ np.array(axes)
    return placed
