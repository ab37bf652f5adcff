"""Where the bars put the rider's hands, what that does to the steering, and what a place allows."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from barfit.analysis import Sweep
from barfit.catalogue import limit
from barfit.geometry.frames import LEFT, Array, steering_axis, trail
from barfit.geometry.parts import shape_distance
from barfit.geometry.pose import BarShape, bar_shape
from barfit.geometry.swing import turned
from barfit.model import BarSet, Box, Ellipsoid, Machine, Role, Setup, Shape, Side
from barfit.trade.judged import Grade, Judged, at_least, at_most, noted
from barfit.trade.sizes import Figure, bar_row, figure, posture

_NEAR = 0.01  # mm from a surface counts as on it


@dataclass(frozen=True)
class HandFigures:
    """Where the left hand is straight ahead, and how it has moved from the stock bars, mm and rad.

    ``moved_in`` is toward the middle. ``sweep`` is how far the grip points to the rear, seen from
    above, ``downsweep`` how far down, both of the bar as it stands in its clamps, level ground;
    ``wrist`` the angle between the grip now and with the stock bars.
    """

    moved_up: Judged
    moved_back: Judged
    moved_in: Judged
    sweep: Judged
    downsweep: Judged
    wrist: Judged


@dataclass(frozen=True)
class SteeringFigures:
    """What the bars do to the steering.

    ``arm`` (mm) is the distance of the grip's middle from the steering axis, ``arm_ratio`` the
    same over that of the stock bars; the force at the grip for the same torque goes with its
    inverse. ``travel`` (mm) is how far a hand goes from lock to lock, along its arc; ``across`` how
    far apart the two places are. ``trail`` (mm) is the machine's: no bars change it.
    """

    arm: Judged
    arm_ratio: Judged
    travel: Judged
    across: Judged
    trail: Judged


@dataclass(frozen=True)
class ReachFigures:
    """Whether the rider reaches the bars.

    ``share`` of the straight arm that the grips take straight ahead, sitting upright; ``lean``
    (rad) how far the rider leans forward to hold them at ease, ``lean_turned`` how far for the
    far hand at the worst turn, arm straight. ``most_lean`` stands for "not even then".
    """

    share: Judged
    lean: Judged
    lean_turned: Judged
    most_lean: float


@dataclass(frozen=True)
class HeightFigures:
    """Heights of the highest part of the grips and the overall width, mm, held against
    `PlaceLimits`; for information where the user gives none. Over seat and shoulders they are not
    known where the seat is not.
    """

    over_seat: Judged
    over_shoulders: Judged
    over_fastening: Judged
    width: Judged


@dataclass(frozen=True)
class RiderFigures:
    """All of one set of bars. ``seat_estimated``: the seat point is off the machine's seat."""

    hand: HandFigures
    steering: SteeringFigures
    reach: ReachFigures | None
    heights: HeightFigures
    seat_estimated: bool


def rider(swept: Sweep) -> RiderFigures:
    """The figures of the bars of ``swept``, beside those of the stock bars."""
    setup = swept.setup
    shape, before = (
        bar_shape(setup.machine, bars) for bars in (setup.bars(swept.stock), setup.stock)
    )
    seat, estimated = seat_point(setup)
    return RiderFigures(
        hand=hand_figures(shape, before),
        steering=steering_figures(setup.machine, shape, before),
        reach=None if seat is None else reach_figures(setup, shape, before, seat, swept.angles),
        heights=height_figures(setup, swept.stock, seat),
        seat_estimated=estimated,
    )


# --- hands ---------------------------------------------------------------------------------------


def grip_middle(shape: BarShape, side: Side) -> tuple[Array, Array]:
    """The middle of a grip and the way (3,) the tube runs there, outward; straight ahead."""
    point, outward, *_ = shape.at(side, 0.5 * shape.grip_length, from_centre=False)
    return point, outward


def grip_angles(outward: Array) -> tuple[float, float]:
    """Sweep and downsweep (rad) of a left grip that runs along ``outward`` (3,), as a hand feels
    them: seen from above and against level ground, whatever rake and roll have made of the bar's.
    """
    level = math.hypot(outward[0], outward[1])
    return math.atan2(-outward[0], outward[1]), math.atan2(-outward[2], level)


def hand_figures(shape: BarShape, stock: BarShape) -> HandFigures:
    """The left hand's; the right hand's are the mirror image."""
    (now, along), (before, was) = (grip_middle(bars, Side.LEFT) for bars in (shape, stock))
    moved = now - before
    (sweep, down), (old_sweep, old_down) = grip_angles(along), grip_angles(was)
    wrist = math.atan2(float(np.linalg.norm(np.cross(along, was))), float(along @ was))
    return HandFigures(
        moved_up=noted(float(moved[2])),
        moved_back=noted(-float(moved[0])),
        moved_in=noted(-float(moved[1])),
        sweep=noted(sweep, stock=old_sweep),
        downsweep=noted(down, stock=old_down),
        wrist=noted(wrist),
    )


# --- steering ------------------------------------------------------------------------------------


def steering_figures(machine: Machine, shape: BarShape, stock: BarShape) -> SteeringFigures:
    """Lever arm, hand travel and trail: trail = (R sin(rake) - offset) / cos(rake)."""
    arm, before = (lever_arm(machine, bars) for bars in (shape, stock))
    whole = machine.lock_left + machine.lock_right
    ground, _ = trail(machine.wheel_radius, machine.rake, machine.fork_offset)
    return SteeringFigures(
        arm=noted(arm, stock=before),
        arm_ratio=noted(arm / before),
        travel=noted(hand_travel(arm, whole), stock=hand_travel(before, whole)),
        across=noted(hand_displacement(arm, whole), stock=hand_displacement(before, whole)),
        trail=noted(ground, stock=ground),
    )


def lever_arm(machine: Machine, shape: BarShape) -> float:
    """How far the grip's middle is from the steering axis, mm."""
    point, _ = grip_middle(shape, Side.LEFT)
    return float(np.linalg.norm(np.cross(point, steering_axis(machine.rake))))


def hand_travel(arm: float, turn: float) -> float:
    """How far (mm) a point at ``arm`` from the axis goes in a turn of ``turn`` rad: its arc."""
    return arm * turn


def hand_displacement(arm: float, turn: float) -> float:
    """How far apart (mm) two places are of a point at ``arm`` from the axis, ``turn`` rad apart."""
    return 2.0 * arm * math.sin(0.5 * turn)


# --- reach ---------------------------------------------------------------------------------------


def reach_figures(
    setup: Setup, shape: BarShape, stock: BarShape, seat: Array, angles: Array
) -> ReachFigures:
    """Reach from the shoulders of a rider on ``seat`` (3,), who leans forward about the hips."""
    body, rules = figure(setup.rider), posture()
    most = math.radians(rules["most_lean"])
    at_ease = rules["elbow_bent"] * body.reach

    def ahead(bars: BarShape) -> tuple[float, float]:
        hands = _hands(setup.machine, bars, np.zeros(1))
        distance = float(hand_distance(hands, seat, body, 0.0).max())
        return distance / body.reach, lean_to_reach(hands[:, 0], seat, body, at_ease, most)

    def at_worst(bars: BarShape) -> tuple[float, float]:
        hands = _hands(setup.machine, bars, angles)
        # the far hand is farthest at the same turn whatever the lean, or very nearly so
        worst = int(np.argmax(hand_distance(hands, seat, body, 0.5 * most).max(axis=0)))
        lean = lean_to_reach(hands[:, worst], seat, body, body.reach, most)
        return lean, float(angles[worst])

    (share, lean), (old_share, old_lean) = ahead(shape), ahead(stock)
    (turned_lean, turn), (old_turned, _) = at_worst(shape), at_worst(stock)
    return ReachFigures(
        share=noted(share, stock=old_share),
        lean=noted(lean, stock=old_lean),
        lean_turned=at_most(turned_lean, limit(setup, "rider_lean"), stock=old_turned, turn=turn),
        most_lean=most,
    )


def hand_distance(hands: Array, seat: Array, body: Figure, lean: float) -> Array:
    """From each shoulder to its hand (2, A), mm, for hands (2, A, 3), the left one first.

    √(fore and aft² + height² + (half width - half the shoulders')²), each seen from the shoulder
    of a rider who leans forward by ``lean`` rad about the seat point.
    """
    height = body.shoulder_height
    shoulder = seat + height * np.array([math.sin(lean), 0.0, math.cos(lean)])
    outward = 0.5 * body.shoulder_width * LEFT
    shoulders = np.array([shoulder + outward, shoulder - outward])
    distance: Array = np.linalg.norm(hands - shoulders[:, None], axis=-1)
    return distance


def lean_to_reach(hands: Array, seat: Array, body: Figure, reach: float, most: float) -> float:
    """The least lean forward (rad) at which both hands (2, 3) are within ``reach`` mm of their
    shoulders; ``most`` where they are not within it at any lean up to that.
    """

    def over(lean: float) -> float:
        return float(hand_distance(hands[:, None], seat, body, lean).max()) - reach

    leans = np.linspace(0.0, most, 121)
    beyond = np.array([over(float(lean)) for lean in leans])
    within = np.flatnonzero(beyond <= 0.0)
    if not len(within):
        return most
    first = int(within[0])
    return 0.0 if first == 0 else float(brentq(over, leans[first - 1], leans[first]))


def _hands(machine: Machine, shape: BarShape, angles: Array) -> Array:
    """Both grips' middles (2, A, 3) at every turn (A,), the left one first."""
    axis = steering_axis(machine.rake)
    sides = (grip_middle(shape, side)[0] for side in (Side.LEFT, Side.RIGHT))
    return np.array([turned(np.tile(point, (len(angles), 1)), axis, angles) for point in sides])


# --- the seat ------------------------------------------------------------------------------------


def seat_point(setup: Setup) -> tuple[Array | None, bool]:
    """Where the hips are on the loaded seat (3,), and whether that is only estimated.

    As the file says; else on top of the machine's seat, a hand's breadth or two behind its front,
    and as far down as a seat gives (estimates, in ``assets/riders.toml``). None where there is no
    seat, or one whose front is not known.
    """
    if setup.rider.seat is not None:
        return np.array(setup.rider.seat), False
    for solid in setup.machine.solids:
        extent = _extent(solid.shape) if solid.role is Role.SEAT else None
        if extent is None:
            continue
        middle, half_length, half_height = extent
        behind = min(posture()["behind_seat_front"], half_length)
        top = middle + np.array([half_length - behind, 0.0, half_height])
        return _on_top(solid.shape, top) - [0.0, 0.0, posture()["seat_gives"]], True
    return None, True


def _extent(shape: Shape) -> tuple[Array, float, float] | None:
    """Middle, half the length and what is surely above the top of a seat's shape."""
    if isinstance(shape, Box):
        return np.array(shape.centre), 0.5 * shape.size[0], float(np.linalg.norm(shape.size))
    if isinstance(shape, Ellipsoid):
        return np.array(shape.centre), shape.semi_axes[0], 2.0 * max(shape.semi_axes)
    return None


def _on_top(shape: Shape, above: Array) -> Array:
    """Straight down from ``above`` (3,) to the surface, by steps as long as the distance."""
    point = above.copy()
    for _ in range(1000):
        gap = float(shape_distance(shape, point[None])[0])
        if gap < _NEAR:
            break
        point[2] -= gap
    return point


# --- heights and width ---------------------------------------------------------------------------


def height_figures(setup: Setup, stock: bool, seat: Array | None) -> HeightFigures:
    """What laws on handlebars measure, straight ahead."""
    allowed, nan = setup.place_limits, math.nan
    shoulders = figure(setup.rider).shoulder_height

    def measured(bars: BarSet) -> tuple[float, float, float, float]:
        shape = bar_shape(setup.machine, bars)
        top, over_seat = highest_of_grip(shape), nan
        if seat is not None:
            over_seat = top - float(seat[2])
        width = 2.0 * float(shape.left[-1][1])
        return over_seat, over_seat - shoulders, top - float(shape.pivot[2]), width

    seated, shoulder, fastening, width = measured(setup.bars(stock))
    was_seated, was_shoulder, was_fastening, was_width = measured(setup.stock)
    across = _allowed(width, allowed.width, was_width)
    if across.grade is not Grade.REJECT and allowed.least_width is not None:
        narrow = at_least(width, allowed.least_width, beyond=Grade.REJECT, stock=was_width)
        across = across if narrow.grade is Grade.FINE and allowed.width is not None else narrow
    return HeightFigures(
        over_seat=_allowed(seated, allowed.over_seat, was_seated),
        over_shoulders=_allowed(shoulder, allowed.over_shoulders, was_shoulder),
        over_fastening=_allowed(fastening, allowed.over_fastening, was_fastening),
        width=across,
    )


def highest_of_grip(shape: BarShape) -> float:
    """How high the top of the grip's rubber is where it is highest, mm above the origin."""
    radius = 0.5 * shape.grip_diameter + bar_row()["grip_wall"]
    ends = [shape.at(Side.LEFT, at, from_centre=False) for at in (0.0, shape.grip_length)]
    return max(
        float(point[2]) + radius * math.hypot(outward[0], outward[1]) for point, outward, *_ in ends
    )


def _allowed(value: float, most: float | None, stock: float) -> Judged:
    if most is None:
        return noted(value, stock=stock)
    return at_most(value, most, beyond=Grade.REJECT, stock=stock)
