"""Hydraulic hoses: what fitting other bars means for them beyond length.

A hose that has to be replaced is looked at as it will be: turned from lock to lock once more at
the length to order, its clips where they then grip it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from barfit.analysis import LineFinding, Sweep, banjos
from barfit.analysis.rest import line_rests
from barfit.analysis.touching import Touch, touches
from barfit.analysis.twist import line_twist
from barfit.catalogue import limit
from barfit.geometry.frames import Array
from barfit.model import Body, Role, Setup
from barfit.trade import hose_path
from barfit.trade.circuit_figures import CircuitFigures, circuit_figures, lever, swell
from barfit.trade.circuits import Circuit, Section, circuits
from barfit.trade.hose_order import needs_replacing, order_length
from barfit.trade.hose_path import Rise, Spot
from barfit.trade.hydraulics import bore_area
from barfit.trade.judged import Grade, Judged, at_most, noted
from barfit.trade.laid import Laid, lay_out

TWIST_OVER = 300.0  # mm of hose over which its twist is told
_LOST = Spot(math.nan, 0.0, 0.0)
_SAME = {"rad": math.radians(1.0), "mm": 1.0}  # that much worse than with the stock bars is not
INSIDE = -0.5  # mm of gap: deeper than the shapes are known, a hose runs into what spins


@dataclass(frozen=True)
class Volumes:
    """What is in a hose and what it swells by: mm³, mm of the lever, at 1000 psi.

    ``swell`` is the most that the standard lets it grow, ``likely_swell`` what such a hose is
    likely to; ``travel`` and ``likely_travel`` what the fingers move on account of it (with what
    the fluid in it is compressed), ``added`` what a new length is likely to add, None where the
    hose stays. ``holds`` is the fluid in it.
    """

    swell: Judged
    likely_swell: Judged
    travel: Judged
    likely_travel: Judged
    added: Judged | None
    holds: Judged


@dataclass(frozen=True)
class Eye:
    """The banjo at one end. ``angle`` rad, its own or what the way the hose leaves asks for;
    ``off`` how far the two are apart, None where not both are known.
    """

    part: str
    angle: Judged
    off: Judged | None


@dataclass(frozen=True)
class Twists:
    """How a hose is turned about itself, rad.

    ``turning``: over 300 mm by steering and suspension, None where neither twists it.
    ``clocking``: of its eyes as the bars ask for it, beside how the hose as it is was made up; None
    where it has not two.
    ``forced``: over 300 mm by keeping the hose as it is clocked, None where that cannot be told
    or it is replaced. ``eyes``: its banjos.
    """

    turning: Judged | None
    clocking: Judged | None
    forced: Judged | None
    eyes: tuple[Eye, ...]


@dataclass(frozen=True)
class Lie:
    """Where a hose lies: least gaps to ``wheel``, ``disc`` (None where the machine has none that is
    known) and ``fork``, mm, with the part of the fork that it ``touches`` hardest, None for none;
    ``fitting_bend`` (rad) within ``run`` mm of a rigid end; its ``high_spots``, each one of
    ``rises``.
    """

    wheel: Judged
    disc: Judged | None
    fork: Judged
    touches: Touch | None
    fitting_bend: Judged
    run: float
    high_spots: Judged
    rises: tuple[Rise, ...]


@dataclass(frozen=True)
class HoseFigures:
    """One hydraulic hose, between two parts of its circuit, ``first`` nearer to the master
    cylinder. ``length`` mm is that to order where it is ``replaced``.
    """

    line: str
    circuit: str
    first: str
    second: str
    on_bar: bool
    replaced: bool
    length: Judged
    joints: Judged
    washers: Judged
    volumes: Volumes
    twists: Twists
    lie: Lie


@dataclass(frozen=True)
class Hydraulics:
    """All hydraulic hoses, circuit after circuit from the master cylinder on, and the circuits."""

    hoses: tuple[HoseFigures, ...] = ()
    circuits: tuple[CircuitFigures, ...] = ()


def hydraulics(swept: Sweep, stock: Sweep, findings: tuple[LineFinding, ...]) -> Hydraulics:
    """The figures of every hydraulic hose and circuit.

    ``stock`` is the same setup swept with its stock bars (it may be ``swept`` itself). Raises what
    `barfit.analysis.sweep` raises.
    """
    found = {finding.line: finding for finding in findings}
    made = circuits(swept.setup)
    lengths = {
        one.line.name: order_length(found[one.line.name], one.line)
        for circuit in made
        for one in circuit.sections
        if needs_replacing(found[one.line.name])
    }
    laid = lay_out(swept, found, lengths)
    figures = tuple(
        _figures(one, circuit, laid[one.line.name], swept, stock, one.line.name in lengths)
        for circuit in made
        for one in circuit.sections
    )
    filled = tuple(
        circuit_figures(circuit, laid, {name for name in lengths if circuit.has(name)}, swept.setup)
        for circuit in made
    )
    return Hydraulics(figures, filled)


def _figures(
    one: Section, circuit: Circuit, laid: Laid, swept: Sweep, stock: Sweep, replaced: bool
) -> HoseFigures:
    line, setup = one.line, swept.setup
    before = Laid(stock, stock.line(line.name), line.length)
    opened = circuit.opened({line.name} if replaced else ())
    return HoseFigures(
        line=line.name,
        circuit=circuit.name,
        first=one.first.part,
        second=one.second.part,
        on_bar=one.on_bar,
        replaced=replaced,
        length=noted(laid.length, stock=line.length if replaced else math.nan),
        joints=noted(float(len(opened))),
        washers=noted(float(sum(joint.washers for joint in opened))),
        volumes=_volumes(one, circuit, laid.length, setup, replaced),
        twists=_twists(one, laid, before, replaced),
        lie=_lie(laid, before, setup, replaced),
    )


# --- volumes -------------------------------------------------------------------------------------


def _volumes(
    one: Section, circuit: Circuit, length: float, setup: Setup, replaced: bool
) -> Volumes:
    installed, area = one.line.length, bore_area(one.known.bore)

    def travel(volume: float, mm: float) -> float:
        return lever(circuit, volume, area * mm)

    def beside(value: float, stock: float) -> Judged:
        """With the stock bars' own hose beside it, where it is another."""
        return noted(value, stock=stock if replaced else math.nan)

    grown, stock = swell(one, length)[0], swell(one, installed)[0]
    likely, stock_likely = swell(one, length, True)[0], swell(one, installed, True)[0]
    likely_travel, before = travel(likely, length), travel(stock_likely, installed)
    added = at_most(likely_travel - before, limit(setup, "hose_lever_travel"))
    return Volumes(
        swell=beside(grown, stock),
        likely_swell=beside(likely, stock_likely),
        travel=beside(travel(grown, length), travel(stock, installed)),
        likely_travel=beside(likely_travel, before),
        added=added if replaced else None,
        holds=beside(area * length, area * installed),
    )


# --- twist and eyes ------------------------------------------------------------------------------


def _held(
    spot: Spot, top: float, stock: float, unit: str, least: bool = False, hits: float = -math.inf
) -> Judged:
    """A figure against its limit, a caution only where the new bars make it worse than it was;
    where it is beyond and no worse it is held against no limit.

    With ``least`` it should not fall below the limit; at ``hits`` or below it is not acceptable,
    whatever it was, and from there to nothing always a caution.
    """
    sign = -1.0 if least else 1.0
    value = spot.value
    beyond = sign * value > sign * top
    worse = not sign * value <= sign * stock + _SAME[unit]  # also where that is not known
    if math.isnan(value):
        grade = Grade.NOT_KNOWN
    elif value <= hits:
        grade = Grade.REJECT
    elif not beyond:
        grade = Grade.FINE
    elif worse or (least and value <= 0.0):
        grade = Grade.CAUTION
    else:
        grade, top = Grade.NOTE, math.nan
    return Judged(value, grade, top, stock, spot.turn, spot.travel)


def _rate(laid: Laid) -> Spot | None:
    """The greatest twist over 300 mm of a hose that turning the bar twists; None for others."""
    found = line_twist(laid.sweep, laid.line, line_rests(laid.sweep, laid.line))
    if found is None:
        return None
    return Spot(found.rate * TWIST_OVER, found.turn, found.travel)


def _turning(laid: Laid, before: Laid) -> Judged | None:
    found, was = _rate(laid), _rate(before)
    if found is None:
        return None
    stock = was.value if was is not None else 0.0
    most = limit(laid.sweep.setup, "hose_twist")
    return _held(found if laid.known else _LOST, most, stock, "rad")


def _twists(one: Section, laid: Laid, before: Laid, replaced: bool) -> Twists:
    wanted, stock = _clocking(one, laid), _clocking(one, before)
    made = one.known.clocking if one.known.clocking is not None else stock
    forced = None
    if not replaced and not math.isnan(wanted):
        off = abs(hose_path.turned(wanted - made)) * TWIST_OVER / one.line.length
        forced = at_most(off, limit(laid.sweep.setup, "hose_twist"))
    eyes = [_eye(one, last, laid) for last in (False, True)]
    found = tuple(eye for eye in eyes if eye is not None)
    return Twists(
        turning=_turning(laid, before),
        clocking=noted(wanted, stock=made) if len(found) == 2 else None,
        forced=forced,
        eyes=found,
    )


def _clocking(one: Section, laid: Laid) -> float:
    shape = hose_path.as_fitted(laid.sweep, laid.line)
    bolts = [_bolt(one, last, laid) for last in (False, True)]
    if shape is None or not laid.known or bolts[0] is None or bolts[1] is None:
        return math.nan
    return hose_path.clocking(shape, bolts[0], bolts[1])


def _bolt(one: Section, last: bool, laid: Laid) -> Array | None:
    fitted = one.known.end if last else one.known.start
    setup = laid.sweep.setup
    return banjos.bolt(setup, setup.bars(laid.sweep.stock), one.line, last, fitted)


def _eye(one: Section, last: bool, laid: Laid) -> Eye | None:
    fitted = one.known.end if last else one.known.start
    if not fitted.banjo:
        return None
    part = one.second.part if one.second.last is last else one.first.part
    bolt, shape = _bolt(one, last, laid), hose_path.as_fitted(laid.sweep, laid.line)
    leaves = math.nan
    if bolt is not None and shape is not None:
        leaves = hose_path.eye_angle(bolt, shape[-2] - shape[-1] if last else shape[1] - shape[0])
    given = fitted.eye_angle
    off = None
    if given is not None and not math.isnan(leaves):
        off = at_most(abs(given - leaves), limit(laid.sweep.setup, "hose_eye_angle"))
    return Eye(part, noted(given if given is not None else leaves), off)


# --- where it lies -------------------------------------------------------------------------------


def _lie(laid: Laid, before: Laid, setup: Setup, replaced: bool) -> Lie:
    machine = setup.machine
    wheel = hose_path.wheel_distance(machine)
    disc = hose_path.disc_distance(machine, hose_path.brake_sides(setup))
    run = limit(setup, "hose_fitting_run") * setup.line(laid.line.name).diameter

    def both(of: Callable[[Laid], Spot]) -> tuple[Spot, float]:
        return of(laid) if laid.known else _LOST, of(before).value

    def to_wheel(hose: Laid) -> Spot:
        return hose_path.gap(hose.sweep, hose.line, Body.LOWER_FORK, wheel)

    def to_disc(hose: Laid) -> Spot:
        assert disc is not None
        return hose_path.gap(hose.sweep, hose.line, Body.LOWER_FORK, disc, clear=True)

    def to_fork(hose: Laid) -> Spot:
        return hose_path.fork_gap(hose.sweep, hose.line)

    def at_ends(hose: Laid) -> Spot:
        return hose_path.fitting_bend(hose.sweep, hose.line, run)

    def least(name: str, of: Callable[[Laid], Spot]) -> Judged:
        spot, stock = both(of)
        return _held(spot, limit(setup, name), stock, "mm", least=True, hits=INSIDE)

    fork, fork_before = both(to_fork)
    touching = _touching_fork(laid)
    bend, bend_before = both(at_ends)
    now, was = _rises(setup, laid), _rises(setup, before)
    return Lie(
        wheel=least("hose_wheel_gap", to_wheel),
        disc=None if disc is None else least("hose_disc_gap", to_disc),
        fork=_fork(fork, fork_before, touching),
        touches=touching,
        fitting_bend=_held(bend, limit(setup, "hose_fitting_bend"), bend_before, "rad"),
        run=run,
        high_spots=_high_spots(now, was, replaced),
        rises=now or (),
    )


def _touching_fork(laid: Laid) -> Touch | None:
    """Which part of the fork it presses on, the hardest; None for none."""
    legs = {s.name for s in laid.sweep.setup.machine.solids if s.role is Role.FORK_TUBE}
    found = touches(laid.sweep, laid.line) if laid.known else ()
    return next((touch for touch in found if touch.part in legs), None)


def _fork(gap: Spot, stock: float, touching: Touch | None) -> Judged:
    """The gap to the fork: a caution where it rubs there."""
    found = noted(gap.value, stock=stock, turn=gap.turn, travel=gap.travel)
    if touching is None or not touching.rubs:
        return found
    return replace(
        found, grade=Grade.CAUTION, turn=touching.worst_turn, travel=touching.worst_travel
    )


def _rises(setup: Setup, laid: Laid) -> tuple[Rise, ...] | None:
    shape = hose_path.as_fitted(laid.sweep, laid.line)
    if shape is None or not laid.known:
        return None
    return hose_path.rises(shape, laid.line.arc, limit(setup, "hose_high_spot"))


def _high_spots(
    now: tuple[Rise, ...] | None, before: tuple[Rise, ...] | None, opened: bool
) -> Judged:
    """How many there are: a caution in a hose that is opened."""
    if now is None:
        return noted(math.nan)
    stock = math.nan if before is None else float(len(before))
    grade = Grade.CAUTION if now and opened else Grade.NOTE
    return Judged(float(len(now)), grade, stock=stock)
