"""What must be right on the bar itself: how it is clamped, what is clamped to it, how it sits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import reduce
from operator import add

import numpy as np

from barfit.analysis import LineSweep, Sweep
from barfit.catalogue import limit
from barfit.geometry.frames import Array, steering_axis
from barfit.geometry.pose import BarShape, bar_shape, held_frame
from barfit.geometry.solids import capsule
from barfit.geometry.swing import Rods, turned
from barfit.model import Bar, BarSet, Control, Line, Machine, OutletPlace, Setup, Side, Vec
from barfit.trade.clearances import Clearance, body_rods, clearances, lever_rods, tube_rods
from barfit.trade.judged import Grade, Judged, at_least, at_most
from barfit.trade.sizes import clamp_width, room, stand_lean

EXIT_LENGTH = 60.0  # mm of a hose that must be clear where it leaves its master cylinder
_EXIT_STEP = 2.0
_AS_STOCK = 1.0  # mm: no less straight than the stock bar has


@dataclass(frozen=True)
class ReservoirFigures:
    """How a reservoir's lid is tilted from level (rad): ``straight`` ahead, at the ``worst`` turn,
    and at the worst turn ``parked`` on the side stand. ``assumed`` says that the lid was taken to
    be level with the stock bars.
    """

    control: str
    straight: Judged
    worst: Judged
    parked: Judged
    lean: float
    assumed: bool


@dataclass(frozen=True)
class ExitFigures:
    """The least ``gap`` (mm) of a hose's first 60 mm to ``other``, of a control's hose."""

    control: str
    line: str
    other: str
    gap: Judged


@dataclass(frozen=True)
class StraightFigures:
    """Straight tube (mm) at one end of the bar, and how much grip and controls ``need``.

    The limit is the lesser of the need and of what the stock bar has: what is clamped on its bend
    today may stay as it is.
    """

    side: Side
    straight: Judged
    need: float
    outermost: str


@dataclass(frozen=True)
class FitFigures:
    """Whether the bar goes into its clamps and the controls onto it, mm.

    ``clamp_spare`` is what the clamp zone (or, where ``knurled`` is false, the straight middle of
    the bar) is wider than the risers from outside to outside. ``riser_bore`` and ``control_bore``
    are by how much the bar is thicker than what must hold it, and what it must hold: the risers'
    ``bore``, the stock bar's grip zone. None, as ``clamp_spare``, where there are no risers.
    """

    clamp_spare: Judged | None
    knurled: bool
    riser_bore: Judged | None
    bore: float
    tube: float
    control_bore: Judged
    stock_grip: float
    grip: float


@dataclass(frozen=True)
class OnBarFigures:
    """All of one set of bars."""

    clearances: tuple[Clearance, ...]
    reservoirs: tuple[ReservoirFigures, ...]
    exits: tuple[ExitFigures, ...]
    straights: tuple[StraightFigures, ...]
    fit: FitFigures


def on_bar(swept: Sweep, stock: Sweep) -> OnBarFigures:
    """The figures of the bars of ``swept``, beside those of the stock bars, swept as ``stock``."""
    setup = swept.setup
    barset, before = setup.bars(swept.stock), setup.bars(True)
    return OnBarFigures(
        clearances=clearances(setup, barset, before),
        reservoirs=tuple(
            reservoir_figures(setup, barset, before, control)
            for control in setup.controls
            if room(control).reservoir is not None
        ),
        exits=tuple(_exits(swept, stock)),
        straights=tuple(straight_figures(setup, barset, before)),
        fit=fit_figures(setup, barset, before),
    )


# --- reservoirs ----------------------------------------------------------------------------------


def reservoir_figures(
    setup: Setup, barset: BarSet, stock: BarSet, control: Control
) -> ReservoirFigures:
    """How level a reservoir is.

    Where the file does not say which way its lid faces, the lid is level with the stock bars
    straight ahead: makers shape the casting for the bars it comes on (common practice).
    """
    machine = setup.machine
    given = control.size.lid_up if control.size else None
    lean = stand_lean(machine)
    now, before = (_lid(machine, bars, stock, control, given) for bars in (barset, stock))

    def judged(key: str, vertical: Array, turns: bool) -> Judged:
        low, high = (-machine.lock_right, machine.lock_left) if turns else (0.0, 0.0)
        tilt, turn = worst_tilt(now, machine.rake, vertical, low, high)
        was, _ = worst_tilt(before, machine.rake, vertical, low, high)
        return at_most(tilt, limit(setup, key), stock=was, turn=turn)

    upright, leaning = leaning_vertical(0.0), leaning_vertical(lean)
    return ReservoirFigures(
        control=control.name,
        straight=judged("reservoir_tilt_straight", upright, False),
        worst=judged("reservoir_tilt", upright, True),
        parked=judged("reservoir_tilt", leaning, True),
        lean=lean,
        assumed=given is None,
    )


def leaning_vertical(lean: float) -> Array:
    """The way up (3,), seen from a machine that leans to its left by ``lean`` rad."""
    return np.array([0.0, -math.sin(lean), math.cos(lean)])


def worst_tilt(
    lid: Array, rake: float, vertical: Array, low: float, high: float
) -> tuple[float, float]:
    """The greatest angle (rad) between a lid that faces ``lid`` (3,) straight ahead and the
    ``vertical`` (3,), and the turn at which it is, from ``low`` to ``high``.

    Turned by d about the axis a, the lid's part along the vertical v is a sinusoid of d
    (Rodrigues): (lid·a)(a·v) + C cos d + S sin d, with C = lid·v - (lid·a)(a·v), S = (a × lid)·v.
    It is least at an end or at atan2(-S, -C).
    """
    axis = steering_axis(rake)
    still = float(lid @ axis) * float(axis @ vertical)
    cos, sin = float(lid @ vertical) - still, float(np.cross(axis, lid) @ vertical)
    trough = math.atan2(-sin, -cos)
    turns = [0.0, low, high, *([trough] if low < trough < high else [])]
    along = [still + cos * math.cos(turn) + sin * math.sin(turn) for turn in turns]
    least = min(range(len(turns)), key=along.__getitem__)
    # acos loses half its digits near level, where the length of the cross product keeps them
    facing = turned(lid[None], axis, np.array([turns[least]]))[0]
    return math.atan2(float(np.linalg.norm(np.cross(facing, vertical))), along[least]), turns[least]


def _lid(
    machine: Machine, barset: BarSet, stock: BarSet, control: Control, given: Vec | None
) -> Array:
    """The unit direction (3,) in which the lid faces straight ahead."""
    _, *axes = held_frame(bar_shape(machine, barset), control)
    if given is None:
        _, *level = held_frame(bar_shape(machine, stock), control)
        own = np.array(level) @ np.array([0.0, 0.0, 1.0])
    else:
        own = np.array(given) / np.linalg.norm(given)
    facing: Array = own @ np.array(axes)
    return facing


# --- hoses at their master cylinders -------------------------------------------------------------


def _exits(swept: Sweep, stock: Sweep) -> list[ExitFigures]:
    """Every line that leaves a control with a reservoir."""
    setup = swept.setup
    masters = {c.name: c for c in setup.controls if room(c).reservoir is not None}
    found = []
    for line in setup.lines:
        for last in (False, True):
            place = line.stations[-1 if last else 0].place
            if isinstance(place, OutletPlace) and place.control in masters:
                control = masters[place.control]
                gap, other, turn, travel = exit_gap(swept, line, control, last)
                before, *_ = exit_gap(stock, line, control, last)
                least = limit(setup, "hose_exit_gap")
                judged = at_least(gap, least, stock=before, turn=turn, travel=travel)
                found.append(ExitFigures(control.name, line.name, other, judged))
    return found


def exit_gap(
    swept: Sweep, line: Line, control: Control, last: bool
) -> tuple[float, str, float | None, float | None]:
    """How near a line comes to the bar and to other controls within 60 mm of its fitting.

    Gap (mm, surface to surface, over all poses that are known; nan where none is), to what, and
    at which turn and travel. ``last``: its last fitting is the one at the control.
    """
    setup = swept.setup
    shape = bar_shape(setup.machine, setup.bars(swept.stock))
    others = [c for c in setup.controls if c.side is control.side and c is not control]
    rods = reduce(add, [_whole_tube(shape, control.side), *body_rods(shape, others)])
    rods = reduce(add, lever_rods(shape, others), rods)
    own = swept.line(line.name)
    points = _first_stretch(own, last)
    poses, count = own.converged.shape, points.shape[2]
    back = np.repeat(np.tile(-swept.angles, poses[0]), count)
    points = turned(points.reshape(-1, 3), steering_axis(setup.machine.rake), back)
    gaps = np.array(
        [
            capsule(points, start, end, radius)
            for start, end, radius in zip(rods.starts, rods.ends, rods.radii, strict=True)
        ]
    ).reshape(-1, *poses, count)
    gaps = np.where(own.converged[None, :, :, None], gaps - 0.5 * line.diameter, np.nan)
    if not np.isfinite(gaps).any():
        return math.nan, "", None, None
    rod, travel, turn, _ = np.unravel_index(np.nanargmin(gaps), gaps.shape)
    least = float(gaps[rod, travel, turn].min())
    return least, rods.names[rod], float(swept.angles[turn]), float(own.travels[travel])


def _first_stretch(line: LineSweep, last: bool) -> Array:
    """Points (T, A, K, 3), 2 mm apart, of the line's 60 mm at its first or last fitting."""
    arc, shapes = line.arc, line.shapes
    if last:
        arc, shapes = arc[-1] - arc[::-1], shapes[:, :, ::-1]
    at = np.arange(0.0, min(EXIT_LENGTH, arc[-1]) + 1e-9, _EXIT_STEP)
    before = np.clip(np.searchsorted(arc, at, side="right") - 1, 0, len(arc) - 2)
    share = ((at - arc[before]) / (arc[before + 1] - arc[before]))[:, None]
    points: Array = (1.0 - share) * shapes[:, :, before] + share * shapes[:, :, before + 1]
    return points


def _whole_tube(shape: BarShape, side: Side) -> Rods:
    """The tube of one side, with what is under the grip."""
    inner, end = (shape.at(side, at, from_centre=False)[0] for at in (shape.grip_length, 0.0))
    tube = tube_rods(shape, side)
    return tube + Rods.of(tube.names[0], np.array([inner, end]), 0.5 * shape.grip_diameter)


# --- clamps and controls -------------------------------------------------------------------------


def fit_figures(setup: Setup, barset: BarSet, stock: BarSet) -> FitFigures:
    """Whether the bar fits its risers, and the stock bar's controls fit it.

    Clamp: zone - (riser spacing + width of one riser clamp), and no clamp on a bend or a taper.
    """
    bar = barset.bar
    clamped = isinstance(bar, Bar)
    bore = _bore(barset, stock)
    thicker = bar.grip_diameter - stock.bar.grip_diameter
    return FitFigures(
        clamp_spare=at_least(
            _clamp_spare(setup, barset),
            limit(setup, "clamp_spare"),
            beyond=Grade.REJECT,
            stock=_clamp_spare(setup, stock),
        )
        if clamped
        else None,
        knurled=isinstance(bar, Bar) and bar.clamp_zone is not None,
        riser_bore=_either_way(bar.tube_diameter - bore, limit(setup, "riser_bore"))
        if clamped
        else None,
        bore=bore,
        tube=bar.tube_diameter,
        control_bore=_either_way(thicker, limit(setup, "control_bore")),
        stock_grip=stock.bar.grip_diameter,
        grip=bar.grip_diameter,
    )


def _clamp_spare(setup: Setup, barset: BarSet) -> float:
    """mm; nan for clip-ons. What is said to be clamped is never more than what is straight."""
    bar = barset.bar
    if not isinstance(bar, Bar):
        return math.nan
    zone = middle_straight(bar_shape(setup.machine, barset))
    if bar.clamp_zone is not None:
        zone = min(zone, bar.clamp_zone)
    return zone - setup.machine.riser_spacing - clamp_width(setup, barset.riser)


def middle_straight(shape: BarShape) -> float:
    """How wide the straight middle of a one-piece bar is, from bend to bend, mm."""
    return 2.0 * _straight_run(shape, from_end=False)


def _straight_run(shape: BarShape, *, from_end: bool) -> float:
    pieces = shape.line.pieces[::-1] if from_end else shape.line.pieces
    length = 0.0
    for piece in pieces:
        if not math.isinf(piece.radius):
            break
        length += piece.length
    return length


def _bore(barset: BarSet, stock: BarSet) -> float:
    """The risers' bore: as said; else, for the stock risers, what they hold today; else nan."""
    if barset.riser.bore is not None:
        return barset.riser.bore
    if barset.riser != stock.riser:
        return math.nan
    return stock.bar.tube_diameter


def _either_way(difference: float, allowed: float) -> Judged:
    """A difference that must not exceed ``allowed`` up or down."""
    held = at_most(abs(difference), allowed, beyond=Grade.REJECT)
    return Judged(difference, held.grade, allowed)


def straight_figures(setup: Setup, barset: BarSet, stock: BarSet) -> list[StraightFigures]:
    """How much straight tube there is at either end, and how much is needed."""
    have, had = (
        _straight_run(bar_shape(setup.machine, bars), from_end=True) for bars in (barset, stock)
    )
    found = []
    for side in Side:
        ends = {"grip": barset.bar.grip_length}
        for control in setup.controls:
            if control.side is side:
                ends[control.name] = control.inboard + 0.5 * room(control).width
        outermost = max(ends, key=ends.__getitem__)
        need = ends[outermost]
        grade = at_least(have, min(need, had - _AS_STOCK)).grade
        straight = Judged(have, grade, min(need, had), stock=had)
        found.append(StraightFigures(side, straight, need, outermost))
    return found
