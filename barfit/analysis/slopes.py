"""How needed lengths change with each uncertain input: central differences, all as one batch.

Every input is moved by up to its standard deviation to both sides in the setup itself, the lines
it touches are laid out again, and the rods at the deciding poses are solved from the unmoved ones.
So the slope is that of a chord over the range that counts. At a pose that decides because it is
the worst of a sweep, the slope there is the slope of the worst (Danskin's theorem, as long as no
other pose is about as bad; see `barfit.analysis.uncertainty`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis.inputs import Input, alone
from barfit.analysis.lengths import LONGEST
from barfit.analysis.probes import Probe, taut_batches
from barfit.analysis.spans import BodyMotions, Held, SpanCase, batch, body_motions, held, span_cases
from barfit.analysis.sweep import Sweep
from barfit.analysis.tables import PULL, STIFF
from barfit.mechanics.newton import newton
from barfit.mechanics.rod import Rods, State, curvature
from barfit.mechanics.start import let_out
from barfit.mechanics.taut import bend_limited
from barfit.mechanics.track import carried
from barfit.model import Machine, Setup

_FAR = 10.0  # mm; further than this one does not see the slope here
_STEEP = 15.0  # mm; a bend-limited length that varies by more is found anew for each input
_WILD = 100.0  # mm; a length that seems to vary by more is not known to depend on anything
_STEEPEST = 12  # inputs that are asked first whether a length varies by more than that
_STRETCH = 1.0  # mm by which a length is changed to see what that does to its sharpest bend


@dataclass(frozen=True)
class Gauge:
    """One length that one span needs at one pose: taut, or so long that no bend is too sharp.

    ``line`` and ``span`` count in the sweep; ``turn`` rad, ``travel`` mm; ``bend`` is the
    bend-limited length there (mm), None for the taut one.
    """

    line: int
    span: int
    turn: float
    travel: float
    bend: float | None = None


@dataclass(frozen=True, eq=False)
class Slopes:
    """Per standard deviation of each of n inputs, for K gauges: (K, n) mm each.

    ``needed`` of the length that the gauge stands for, ``length`` of the length the span has.
    nan where that could not be found. ``most`` is how steep at most the taut length can be there: a
    line is led to where its holds have moved by as much line as they have moved.
    """

    needed: np.ndarray
    length: np.ndarray
    most: np.ndarray

    @property
    def spare(self) -> np.ndarray:
        """Of what the span has to spare (K, n), mm."""
        return self.length - self.needed


@dataclass(frozen=True, eq=False)
class _Probe:
    """A gauge with one input moved by ``share`` of its standard deviation."""

    gauge: int
    input: int
    share: float
    case: SpanCase
    hold: Held


def slopes(sweep: Sweep, gauges: Sequence[Gauge], inputs: Sequence[Input]) -> Slopes:
    """The slopes of each gauge by each input."""
    shape = len(gauges), len(inputs)
    out = Slopes(np.zeros(shape), np.zeros(shape), np.zeros(shape))
    probes = _probes(sweep, gauges, inputs, out)
    spans = [(k, sweep.lines[g.line].spans[g.span].case.nodes) for k, g in enumerate(gauges)]
    for count in sorted({nodes for _, nodes in spans}):
        for bends in (False, True):
            mine = [
                k for k, nodes in spans if nodes == count and (gauges[k].bend is not None) is bends
            ]
            if mine:
                _solve(sweep, gauges, mine, [p for p in probes if p.gauge in mine], out, bends)
                flat = [k for k in mine if bends and not _spread(out, k) < _STEEP]
                if flat:
                    _chords(sweep, gauges, flat, [p for p in probes if p.gauge in flat], out)
    return out


def _probes(
    sweep: Sweep, gauges: Sequence[Gauge], inputs: Sequence[Input], out: Slopes
) -> list[_Probe]:
    """What is to be solved: nothing where an input leaves a span as it is. Fills in lengths."""
    found = []
    motions: dict[tuple[int, float], BodyMotions] = {}  # no input changes the axis they turn about
    of_line: dict[int, list[int]] = {}
    # nothing is laid out round the solids, and to tell machines with many apart takes long
    bare = replace(sweep.setup, machine=replace(sweep.setup.machine, solids=()))
    for k, gauge in enumerate(gauges):
        of_line.setdefault(gauge.line, []).append(k)
    for number, mine in of_line.items():
        name = sweep.lines[number].name
        setup = alone(bare, name)
        base = {k: _unmoved(sweep, gauges[k]) for k in mine}
        names = sweep.lines[number].spans[0].case.layout.names
        for j, one in enumerate(inputs):
            if name not in one.lines:
                continue
            share = min(1.0, _FAR / one.sd)
            sides = []
            for signed in (share, -share):
                moved = one.moved(setup, signed * one.sd)
                sides.append((signed, moved, _cases(moved, sweep.stock, names)))
            known = [side for side in sides if side[2] is not None]
            for k in mine:
                gauge, (case, hold) = gauges[k], base[k]
                if not known:
                    out.needed[k, j] = out.length[k, j] = out.most[k, j] = np.nan
                    continue
                lengths = []
                for signed, moved, cases in known:
                    assert cases is not None
                    # what is in a line's way stays where it is
                    there = replace(cases[gauge.span], nodes=case.nodes, around=case.around)
                    lengths.append((signed, there.length))
                    where = _pose(moved.machine, sweep.setup.machine, gauge)
                    key = k, float(where[0][0])
                    if key not in motions:
                        motions[key] = body_motions(moved, *where)
                    there_hold = held(moved, there, *where, motions[key])
                    if _differs(case, hold, there, there_hold):
                        found.append(_Probe(k, j, signed, there, there_hold))
                        way = _way(case, hold, there_hold) / abs(signed)
                        out.most[k, j] = np.maximum(out.most[k, j], way)
                out.length[k, j] = _slope(lengths, case.length)
    return found


def _cases(setup: Setup, stock: bool, names: tuple[str, ...]) -> list[SpanCase] | None:
    """The spans of a moved setup; None where it cannot be laid out, or no longer through all the
    stations of these names: a hole that moves past a tie makes another line of it.
    """
    try:
        cases = span_cases(setup, stock, contact=False)
    except ValueError:
        return None
    return cases if all(case.layout.names == names for case in cases) else None


def _unmoved(sweep: Sweep, gauge: Gauge) -> tuple[SpanCase, Held]:
    case = sweep.lines[gauge.line].spans[gauge.span].case
    return case, held(sweep.setup, case, np.array([gauge.turn]), np.array([gauge.travel]))


def _pose(moved: Machine, machine: Machine, gauge: Gauge) -> tuple[np.ndarray, np.ndarray]:
    """The gauge's pose with the moved machine: full lock stays full lock."""
    turn = gauge.turn
    for sign, name in ((1.0, "lock_left"), (-1.0, "lock_right")):
        if math.isclose(turn, sign * getattr(machine, name), abs_tol=1e-9):
            turn = sign * getattr(moved, name)
    return np.array([turn]), np.array([gauge.travel])


def _differs(case: SpanCase, hold: Held, there: SpanCase, there_hold: Held) -> bool:
    """Whether a moved span is another rod; its length is not part of it."""
    if (case.ei, case.ea, case.weight) != (there.ei, there.ea, there.weight):
        return True
    return any(not np.array_equal(a, b) for a, b in zip(hold, there_hold, strict=True))


def _way(case: SpanCase, hold: Held, there: Held) -> float:
    """How far (mm) the ends and guides of a rod have moved, all told; nan where they have not and
    it differs in something else. A clamp that turns leads the rod astray over the length on which
    a pulled rod bends (estimate).
    """
    lever = math.sqrt(case.ei / PULL)
    way = 0.0
    for weight, k in ((1.0, 0), (lever, 1), (1.0, 2), (lever, 3), (1.0, 4)):
        way += weight * float(np.linalg.norm(there[k] - hold[k], axis=-1).sum())
    return way or math.nan


def _slope(values: list[tuple[float, float]], middle: float) -> float:
    """The slope of (place, value) pairs: of both sides, or of the one there is."""
    (a, first), *others = values
    if not others:
        return (first - middle) / a
    b, second = others[0]
    return (first - second) / (a - b)


def _solve(
    sweep: Sweep,
    gauges: Sequence[Gauge],
    mine: list[int],
    probes: list[_Probe],
    out: Slopes,
    bends: bool,
) -> None:
    """Fill in the slopes of the needed lengths of gauges of one node count and one kind."""
    start, state = _start(sweep, [gauges[k] for k in mine])
    place = {k: row for row, k in enumerate(mine)}
    rows = np.array([place[p.gauge] for p in probes], dtype=int)
    if bends:
        begun = _let_out(start, state, np.array([gauges[k].bend for k in mine], dtype=float))
        sharpest = curvature(start, state).argmax(1)
        bend = curvature(start, state)[np.arange(len(mine)), sharpest]
        fall = _fall(start, state, sharpest)
        bend, fall = np.where(begun, bend, np.nan), np.where(begun, fall, np.nan)
    if not len(probes):
        return
    rods, _ = batch([p.case for p in probes], [p.hold for p in probes], start.guides.shape[1])
    moved = carried(start.take(rows), rods, state.take(rows))
    if bends:
        good = newton(rods, moved).converged
        sharp = curvature(rods, moved)[np.arange(len(rows)), sharpest[rows]]
        # the length at which the sharpest bend is again as it was
        values = (sharp - bend[rows]) / fall[rows]
        middle = np.zeros(len(mine))
    else:
        good = newton(_stiff(rods), moved, np.full(rods.size, PULL)).converged
        values, middle = moved.length, state.length
    _fill(
        out, probes, np.where(good, values, np.nan), dict(zip(mine, middle.tolist(), strict=True))
    )


def _fill(out: Slopes, probes: list[_Probe], values: np.ndarray, middle: dict[int, float]) -> None:
    """Slopes from what was found for each probe (nan: nothing) and, by gauge, with none moved."""
    found: dict[tuple[int, int], list[tuple[float, float]]] = {}
    for p, value in zip(probes, values, strict=True):
        pairs = found.setdefault((p.gauge, p.input), [])
        if np.isfinite(value):
            pairs.append((p.share, float(value)))
    for (k, j), pairs in found.items():
        out.needed[k, j] = _slope(pairs, middle[k]) if pairs else np.nan


def _spread(out: Slopes, gauge: int) -> float:
    """Standard deviation of the length that a gauge stands for, mm; nan where not known."""
    return float(np.linalg.norm(out.needed[gauge]))


def _chords(
    sweep: Sweep, gauges: Sequence[Gauge], mine: list[int], probes: list[_Probe], out: Slopes
) -> None:
    """Fill in the slopes of bend-limited lengths once more, each from lengths let out anew.

    Where a bend hardly opens with more length, its slope there says nothing of the lengths that a
    moved setup needs (seen: a clutch cable's ± 500 mm, from a bend that opens by 0.3 % in 5 mm).
    """
    start, state = _start(sweep, [gauges[k] for k in mine])
    place = {k: row for row, k in enumerate(mine)}
    middle = {k: gauges[k].bend or np.nan for k in mine}
    steep = {k: _steepest(out.needed[k]) for k in mine}
    # the steepest first: they alone are often too wild, and then the rest need not be asked
    for wanted in (True, False):
        asked = [p for p in probes if p.gauge in steep and (p.input in steep[p.gauge]) is wanted]
        if asked:
            rows = np.array([place[p.gauge] for p in asked], dtype=int)
            room = start.guides.shape[1]
            rods, _ = batch([p.case for p in asked], [p.hold for p in asked], room)
            moved = carried(start.take(rows), rods, state.take(rows))
            _fill(out, asked, _anew(rods, moved, asked), middle)
        for k in list(steep):
            known = [j for j in range(out.needed.shape[1]) if not wanted or j in steep[k]]
            if np.linalg.norm(out.needed[k, known]) > _WILD:
                # it jumps from one bend to another; no slope tells of that
                out.needed[k] = np.nan
                del steep[k]


def _steepest(needed: np.ndarray) -> set[int]:
    """The few inputs that a length seems to vary with most, by its slopes (n,)."""
    order = np.argsort(-np.nan_to_num(np.abs(needed)), kind="stable")
    return set(order[:_STEEPEST].tolist())


def _anew(rods: Rods, moved: State, probes: list[_Probe]) -> np.ndarray:
    """The bend-limited lengths (B,) of rods that begin as ``moved``; nan where not found."""
    good = newton(_stiff(rods), moved, np.full(rods.size, PULL)).converged
    values = np.full(rods.size, np.nan)
    some = np.flatnonzero(good)
    if len(some):
        radius = np.array([probes[k].case.min_radius for k in some])
        taut = moved.take(some)
        length = taut.length.copy()
        values[some] = np.maximum(
            length, bend_limited(rods.take(some), taut, radius, LONGEST * length + 60.0)
        )
    return values


def _start(sweep: Sweep, gauges: list[Gauge]) -> tuple[Rods, State]:
    """The taut rods of gauges at their very poses."""
    spans = [(sweep.lines[g.line], sweep.lines[g.line].spans[g.span]) for g in gauges]
    probes = [Probe(k, gauge.turn, gauge.travel) for k, gauge in enumerate(gauges)]
    (found,) = taut_batches(sweep, spans, probes)
    return found.rods, found.state


def _stiff(rods: Rods) -> Rods:
    return replace(rods, ea=np.full(rods.size, STIFF))


def _let_out(rods: Rods, state: State, length: np.ndarray) -> np.ndarray:
    """Bring taut rods to ``length`` (B,) in place; which converged there (B,)."""
    return let_out(rods, state, length).converged


def _fall(rods: Rods, state: State, node: np.ndarray) -> np.ndarray:
    """By how much the bend at one node of each rod opens per mm of length (B,), 1/mm²."""
    rows, edges = np.arange(rods.size), state.tensions.shape[1]
    bend = []
    for way in (1.0, -1.0):
        other = state.copy()
        other.edge = other.edge + way * _STRETCH / edges
        good = newton(rods, other).converged
        bend.append(np.where(good, curvature(rods, other)[rows, node], np.nan))
    fall = (bend[1] - bend[0]) / (2.0 * _STRETCH)
    return np.where(fall > 0.0, fall, np.nan)
