"""Control cables: what a route does to a wire that slides in its conduit.

A cable that has to be replaced is looked at as it will be: turned from lock to lock once more at
the length to order, the other of a throttle pair with it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from barfit.analysis import LineFinding, LineSweep, Sweep, Verdict
from barfit.catalogue import limit, line_kinds, line_property
from barfit.geometry import curve
from barfit.model import Line
from barfit.trade import conduit
from barfit.trade.cable_data import Inside, inside, preferred_radius
from barfit.trade.cable_growth import Growth, growth
from barfit.trade.free_play import FreePlay, free_play
from barfit.trade.judged import Grade, Judged, at_least, at_most, no_worse_noted, noted
from barfit.trade.laid import Laid, lay_out
from barfit.trade.lengthened import STEP
from barfit.trade.poses import greatest, least, pose_of_greatest, pose_of_least

# what a weak spring has to close or let go by itself, and turning the bar must never work
_SAME = math.radians(1.0)  # no more bend than that beyond the stock bars' is none
_CRITICAL = ("throttle_pull", "throttle_return", "throttle_single", "front_brake_cable")


@dataclass(frozen=True)
class Friction:
    """What a wire that slides feels of its route, at the pose at which the cable bends most.

    ``hand_force`` is the pull at lever or grip over the load at the far end (a ratio); its limit is
    that of the stock bars with the rise that is allowed. ``return_force`` is the share of a pull
    at the far end that gets back to lever or grip. ``rise`` is by what share the hand force exceeds
    that with the stock bars, for the least and the most coefficient of friction.
    ``pull`` is the force on the wire, N, where the setup tells it for the stock bars. ``stretch``
    is the wire's under that pull, ``backlash`` what it shifts in its bends when the pull
    reverses, both mm.
    """

    hand_force: Judged
    return_force: Judged
    rise: tuple[float, float]
    pull: Judged | None
    stretch: Judged
    backlash: Judged


@dataclass(frozen=True)
class CableFigures:
    """One control cable.

    ``total_bend``, rad, is the greatest over the sweep, ``bend_growth`` how much that is more than
    with the stock bars, ``radius`` the smallest, mm; ``preferred_radius`` is kinder to it. They and
    friction are those of a cable of ``length`` mm: as it is, or as it is to be ordered ``longer``
    mm longer; not known where that one does not reach everywhere. ``play`` is that
    of the cable as it is. ``friction`` and ``play`` are None for a speedometer cable: its core
    turns instead of sliding. ``growth`` says what to replace it with, None where it may stay.
    """

    line: str
    kind: str
    verdict: Verdict
    total_bend: Judged
    bend_growth: Judged
    radius: Judged
    preferred_radius: float
    friction: Friction | None
    play: FreePlay | None
    growth: Growth | None
    length: Judged
    longer: float


@dataclass(frozen=True)
class _Case:
    """One cable over the sweep, as it is ``now`` and was ``then`` with the stock bars, and ``laid``
    at the length at which it stays. ``bend`` and ``before`` (T, A), rad, are its total bend as laid
    and with the stock bars: all nan where it is not long enough at every pose, nan where it was
    not.
    """

    sweep: Sweep
    line: Line
    now: LineSweep
    then: LineSweep
    laid: Laid
    bend: np.ndarray
    before: np.ndarray


def cables(
    swept: Sweep, stock: Sweep, findings: tuple[LineFinding, ...]
) -> tuple[CableFigures, ...]:
    """The figures of every control cable, in the lines' order.

    ``stock`` is the same setup swept with its stock bars in the same steps (it may be ``swept``
    itself); ``findings`` are those of ``swept``. Raises what `barfit.analysis.sweep` raises.
    """
    kinds, setup = line_kinds(), swept.setup
    mine = [line for line in setup.lines if kinds[line.kind].family == "cable"]
    growths = {line.name: growth(setup, line, findings) for line in mine}
    lengths = {
        line.name: line.length + grows.order
        for line in mine
        if (grows := growths[line.name]) is not None
    }
    found = {finding.line: finding for finding in findings}
    laid = lay_out(swept, found, lengths, STEP)
    return tuple(
        _figures(_case(swept, stock, line, laid[line.name]), found[line.name], growths[line.name])
        for line in mine
    )


def total_bend(line: LineSweep) -> np.ndarray:
    """The angle ∫κ ds (T, A), rad, through which a line bends from end to end at each pose.

    nan where the pose is not known. Of a fitting without a rigid end half a step of the mesh is not
    seen: some 3° where the line bends most sharply just there.
    """
    return np.where(line.converged, curve.total_bend(line.shapes), math.nan)


def _case(swept: Sweep, stock: Sweep, line: Line, laid: Laid) -> _Case:
    then = stock.line(line.name)
    bend = np.where((laid.line.slack >= 0.0).all(), total_bend(laid.line), math.nan)
    if np.isnan(bend).any():
        bend = np.full_like(bend, math.nan)  # what is left out may be the worst
    before = np.where(then.slack >= 0.0, total_bend(then), math.nan)
    return _Case(swept, line, swept.line(line.name), then, laid, bend, before)


def _figures(case: _Case, finding: LineFinding, grows: Growth | None) -> CableFigures:
    line, setup = case.line, case.sweep.setup
    held = inside(line)
    bend, before = greatest(case.bend), greatest(case.before)
    at = pose_of_greatest(case.laid.sweep, case.laid.line, case.bend)
    radii = np.where(np.isfinite(case.bend), case.laid.line.min_radius, math.nan)
    radii_before = np.where(np.isfinite(case.before), case.then.min_radius, math.nan)
    return CableFigures(
        line=line.name,
        kind=line.kind,
        verdict=finding.verdict,
        total_bend=no_worse_noted(
            at_most(bend, limit(setup, "cable_total_bend"), stock=before, **at), _SAME
        ),
        bend_growth=at_most(bend - before, limit(setup, "cable_bend_growth"), **at),
        radius=at_least(
            least(radii),
            line_property(line, "min_radius"),
            stock=least(radii_before),
            **pose_of_least(case.laid.sweep, case.laid.line, radii),
        ),
        preferred_radius=preferred_radius(line),
        friction=_friction(case, held) if held else None,
        play=_play(case, held, finding) if held else None,
        growth=grows,
        length=noted(case.laid.length, stock=line.length if grows else math.nan),
        longer=grows.order if grows else 0.0,
    )


def _friction(case: _Case, held: Inside) -> Friction:
    line, setup = case.line, case.sweep.setup
    bend, before = greatest(case.bend), greatest(case.before)
    at = pose_of_greatest(case.laid.sweep, case.laid.line, case.bend)
    ratio, ratio_before = (
        float(conduit.pull_ratio(held.friction.usual, x)) for x in (bend, before)
    )
    back, back_before = 1.0 / ratio, 1.0 / ratio_before
    low, high = (
        float(conduit.pull_ratio(mu, bend - before)) - 1.0
        for mu in (held.friction.least, held.friction.most)
    )
    far = held.pull / ratio_before  # the load at the far end stays what it is
    return Friction(
        hand_force=at_most(
            ratio,
            ratio_before * (1.0 + limit(setup, "cable_hand_force")),
            stock=ratio_before,
            **at,
        ),
        return_force=(
            at_least(
                back,
                back_before * (1.0 - limit(setup, "cable_return_force")),
                stock=back_before,
                **at,
            )
            if line.kind in _CRITICAL
            else noted(back, stock=back_before, **at)
        ),
        rise=(low, high),
        pull=noted(far * ratio, stock=held.pull, **at) if held.pull_given else None,
        stretch=noted(
            conduit.stretch(case.laid.length, far * ratio, far, held.area, held.modulus),
            stock=conduit.stretch(line.length, held.pull, far, held.area, held.modulus),
            **at,
        ),
        backlash=noted(
            float(conduit.backlash(held.clearance, bend)),
            stock=float(conduit.backlash(held.clearance, before)),
            **at,
        ),
    )


def _play(case: _Case, held: Inside, finding: LineFinding) -> FreePlay:
    return free_play(
        case.sweep,
        case.now,
        case.then,
        held,
        (total_bend(case.now), total_bend(case.then)),
        finding.sure.slack_by,
        finding.stops,
        Grade.REJECT if case.line.kind in _CRITICAL else Grade.CAUTION,
    )
