"""Fittings turned and controls moved: a housing rolled on the bar, a banjo's eye clocked about its
bolt, a perch put elsewhere on the straight at the bar's end.

A control sits alike on stock and new bars, so slack found with the stock bars tells no more about
the lines that leave it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np

from barfit import edits
from barfit.geometry.frames import rotation
from barfit.model import Control, ControlKind, HoseEnd, Line, OutletPlace, Setup, Station, Vec
from barfit.remedies.judging import Plan, refused, solved
from barfit.remedies.least import least_change
from barfit.remedies.remedy import Change, Means, Remedy
from barfit.remedies.trials import TELLING, Trials, hopeful
from barfit.trade.sizes import room

_HOUSING = math.radians(20.0)  # a housing may be rolled so far from where it is; estimate
_LEVER = math.radians(10.0)  # one with a lever or a reservoir, which are to stay in reach and level
_EYE = tuple(math.radians(a) for a in (-45.0, -20.0, 20.0, 45.0))  # a banjo's; estimate
_ALONG = 60.0  # mm a control is moved along the bar at most; estimate
_LEAST_MOVE = 3.0
_WORTH = (
    60.0  # mm: where more is lacking no fitting is turned; it is worth 5 to 25 (common practice)
)
_WITH_LEVER = (
    ControlKind.BRAKE_MASTER,
    ControlKind.CLUTCH_MASTER,
    ControlKind.CLUTCH_PERCH,
    ControlKind.BRAKE_PERCH,
)
Changed = Callable[[float], Setup]


def turned(trials: Trials, line: Line) -> Iterator[Remedy]:
    """Housings rolled on the bar and banjos clocked about their bolts."""
    if not trials.lacks(line.name):
        return
    if trials.margin(line.name, True) < -_WORTH:
        why = "it is worth some 25 mm at most (common practice)"
        yield refused(line.name, Means.TURN_FITTING, trials.setup, why)
        return
    for control in controls_of(trials.setup, line):
        most = _LEVER if control.kind in _WITH_LEVER else _HOUSING
        yield from _best(
            trials,
            line,
            Means.TURN_FITTING,
            control,
            partial(_rolled, trials.setup, control),
            (-most, most),
            math.radians(1.0),
        )
    for last in (False, True):
        yield from _clocked(trials, line, last)


def moved(trials: Trials, line: Line) -> Iterator[Remedy]:
    """Controls put elsewhere on the straight at the bar's end."""
    if not trials.lacks(line.name):
        return
    for control in controls_of(trials.setup, line):
        low, high = _range(trials, control)
        ways = [by for by in (low, high) if abs(by) >= _LEAST_MOVE]
        # along a straight no line gains more than its end is moved
        if ways and max(map(abs, ways)) < -trials.margin(line.name, False) - trials.band(line.name):
            why = "there is not enough straight bar to move it along"
            yield refused(line.name, Means.MOVE_CONTROL, trials.setup, why, control.name)
        elif ways:
            yield from _best(
                trials,
                line,
                Means.MOVE_CONTROL,
                control,
                partial(_along, trials.setup, control),
                tuple(ways),
                1.0,
            )


def controls_of(setup: Setup, line: Line) -> list[Control]:
    """The controls that a line leaves."""
    names = {one.place.control for one in line.stations if isinstance(one.place, OutletPlace)}
    return [control for control in setup.controls if control.name in names]


def lines_of(setup: Setup, control: Control) -> tuple[str, ...]:
    """The lines that leave a control, in the setup's order."""
    return tuple(
        line.name
        for line in setup.lines
        if any(one.name == control.name for one in controls_of(setup, line))
    )


def _best(
    trials: Trials,
    line: Line,
    means: Means,
    control: Control,
    changed: Changed,
    ends: tuple[float, ...],
    whole: float,
) -> Iterator[Remedy]:
    """The least change of a control, between ``ends`` and a multiple of ``whole``, that suffices;
    else the one that helps most; nothing where none helps.
    """
    lines = lines_of(trials.setup, control)
    tried = [(0.0, trials.margin(line.name, False))]
    tried += [(by, trials.spare(changed(by), lines)[line.name].margin) for by in ends]
    if max((m for _, m in tried[1:] if not math.isnan(m)), default=-math.inf) < (
        tried[0][1] + TELLING
    ):
        return
    by = least_change(tried, trials.band(line.name))
    if by == 0.0:
        return
    by = math.copysign(math.ceil(abs(by) / whole - 1e-6) * whole, by)
    by = max(min(ends), min(max(ends), by))
    setup = changed(by)
    spare = trials.spare(setup, lines)[line.name]
    others = tuple(name for name in lines if name != line.name)
    yield solved(trials, line.name, Plan(means, setup, control.name, by, touches=others), spare)


def _rolled(setup: Setup, control: Control, by: float) -> Setup:
    setup = edits.change_control(setup, control.name, rotation=control.rotation + by)
    return _unseen(setup, lines_of(setup, control))


def _along(setup: Setup, control: Control, by: float) -> Setup:
    setup = edits.change_control(setup, control.name, inboard=control.inboard + by)
    return _unseen(setup, lines_of(setup, control))


def _unseen(setup: Setup, lines: tuple[str, ...]) -> Setup:
    for name in lines:
        setup = edits.change_line(setup, name, found_slack=None)
    return setup


def _range(trials: Trials, control: Control) -> tuple[float, float]:
    """How far (mm, negative: outward) a control may go along the straight at its end of the bar,
    between grip and bend and what sits beside it; (0, 0) where that is not known.
    """
    figures = trials.figures.on_bar
    if figures is None:
        return 0.0, 0.0
    straight = next(
        (one.straight.value for one in figures.straights if one.side is control.side), math.nan
    )
    if math.isnan(straight):
        return 0.0, 0.0
    half = 0.5 * room(control).width
    low = trials.setup.bars(trials.swept.stock).bar.grip_length + half
    high = straight - half
    for other in trials.setup.controls:
        if other is control or other.side is not control.side:
            continue
        apart = abs(other.inboard - control.inboard)
        beside = half + 0.5 * room(other).width
        if apart < beside:
            continue  # the two share their place: one sits round or inside the other
        if other.inboard > control.inboard:
            high = min(high, other.inboard - beside)
        else:
            low = max(low, other.inboard + beside)
    inward = min(max(high - control.inboard, 0.0), _ALONG)
    outward = max(min(low - control.inboard, 0.0), -_ALONG)
    return float(math.ceil(outward)), float(math.floor(inward))


# --- banjos --------------------------------------------------------------------------------------


def _clocked(trials: Trials, line: Line, last: bool) -> Iterator[Remedy]:
    """An eye turned about its bolt, where the file says which way that points."""
    end: HoseEnd | None = (line.hose.end if last else line.hose.start) if line.hose else None
    if end is None or not end.banjo or end.bolt is None:
        return
    station = line.stations[-1 if last else 0]
    bolt = end.bolt
    tried = []
    for by in _EYE:
        setup = _eye_turned(trials.setup, line, station, last, bolt, by)
        tried.append((by, setup, trials.spare(setup, (line.name,))[line.name]))
    before = trials.margin(line.name, False)
    known = [one for one in tried if one[2].margin > before + TELLING]
    if not known:
        return
    enough = [one for one in known if hopeful(one[2], trials.found[line.name])]
    by, setup, spare = max(
        enough or known,
        key=lambda one: (one[2].margin >= 0.0, -abs(one[0]) if enough else 0.0, one[2].margin),
    )
    plan = Plan(Means.TURN_FITTING, setup, station.name, by, Change.EYE)
    yield solved(trials, line.name, plan, spare)


def _eye_turned(
    setup: Setup, line: Line, station: Station, last: bool, bolt: Vec, by: float
) -> Setup:
    """The line leaving its fitting ``by`` rad further round the bolt, seen against it."""
    spin = rotation(bolt, by)

    def spun(way: Vec) -> Vec:
        x, y, z = (float(value) for value in spin @ np.array(way))
        return x, y, z

    place = station.place
    if station.direction is not None:
        index = len(line.stations) - 1 if last else 0
        setup = edits.change_station(setup, line.name, index, direction=spun(station.direction))
    elif isinstance(place, OutletPlace):
        control = next(one for one in setup.controls if one.name == place.control)
        outlet = next(one for one in control.outlets if one.name == place.outlet)
        setup = edits.change_outlet(setup, control.name, outlet.name, exit=spun(outlet.exit))
    return _unseen(setup, (line.name,))
