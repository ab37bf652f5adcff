"""Where lines stop the bar: the turn angles at which they go tight."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Protocol

import numpy as np

from barfit.analysis.lengths import SpanNeed, box, first_steps
from barfit.analysis.probes import Probe, Spans, all_spans, taut_lengths
from barfit.analysis.refine import Box, Top, highest
from barfit.analysis.sweep import LineSweep, SpanSweep, Sweep
from barfit.analysis.verdicts import Verdict
from barfit.catalogue import line_kinds
from barfit.model import Body, Line, PointPlace

_CLOSE = math.radians(0.01)  # a turn angle this well enclosed is good to a tenth of a degree
_MOST_STEPS = 30
_RIGHT, _LEFT = 0, 1
NO_MORE: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True)
class Stop:
    """A line goes tight at this turn angle (rad, signed; 0: it is too short even straight ahead)
    with the suspension at ``travel`` (mm), the position at which it does so first.
    """

    turn: float
    travel: float


@dataclass(frozen=True)
class LineStops:
    """Where a line goes tight on the way to each lock; None where it does not."""

    right: Stop | None = None
    left: Stop | None = None


NO_STOPS = LineStops()


@dataclass(frozen=True)
class SteeringStop:
    """What stops the steering short of its lock: the line that goes tight first, and where;
    ``certain`` is whether that line is surely too short. A control cable, which is ``pulled`` out
    of its seat there, stops nothing.
    """

    line: str
    turn: float
    travel: float
    certain: bool = True
    pulled: bool = False


@dataclass(frozen=True)
class SteeringStops:
    """What stops the steering to either side; None where every line lets it reach its lock."""

    right: SteeringStop | None
    left: SteeringStop | None

    @property
    def ahead(self) -> bool:
        """Whether a line is surely too short even straight ahead."""
        both = (self.right, self.left)
        return any(stop is not None and stop.turn == 0.0 and stop.certain for stop in both)


class _Tight(Protocol):
    """What `steering_stops` needs of a finding."""

    @property
    def line(self) -> str: ...
    @property
    def verdict(self) -> Verdict: ...
    @property
    def stops(self) -> LineStops: ...


def crosses_steering(line: Line) -> bool:
    """Whether the line runs from what turns to the frame; if not, it does not feel the turn."""
    fixed = {
        isinstance(station.place, PointPlace) and station.place.body is Body.FRAME
        for station in line.stations
    }
    return len(fixed) == 2


def steering_stops(found: Iterable[_Tight], lines: Iterable[Line]) -> SteeringStops:
    """The first of all lines to stop the bar on its way to each lock.

    Only lines between what turns and the frame can: the others turn along.
    """
    kinds = line_kinds()
    crossing = {line.name: kinds[line.kind].family for line in lines if crosses_steering(line)}
    mine = [finding for finding in found if finding.line in crossing]

    def first(side: str) -> SteeringStop | None:
        stops = [
            SteeringStop(
                finding.line,
                stop.turn,
                stop.travel,
                certain=finding.verdict is not Verdict.UNCERTAIN,
                pulled=crossing[finding.line] == "cable",
            )
            for finding in mine
            if (stop := getattr(finding.stops, side)) is not None
        ]
        # of those too short straight ahead one that holds the bar, before one that does not
        return min(
            stops,
            key=lambda stop: (abs(stop.turn), not stop.certain, stop.pulled),
            default=None,
        )

    return SteeringStops(first("right"), first("left"))


@dataclass(frozen=True)
class _Bracket:
    """Between two turn angles a span goes tight: slack ``spare`` >= 0 at ``loose``, and ``lack``
    < 0 at ``tight``, mm, with the suspension at ``travel``.
    """

    span: int
    side: int
    travel: float
    loose: float
    spare: float
    tight: float
    lack: float


def line_stops(
    sweep: Sweep, needs: dict[str, list[SpanNeed]], more: Mapping[str, float] = NO_MORE
) -> dict[str, LineStops]:
    """Where each line goes tight, by name: turn angles to better than a tenth of a degree.

    Lines named in ``more`` have so much more slack than the sweep says, mm.

    Between the poses of the sweep the angle is closed in on with real taut lengths, all lines and
    both sides together. Where the suspension matters, the turn so found is tried at other travels,
    and where the line is tight there already, the angle is sought at that travel.
    """
    spans = [(line, _with(span, more.get(line.name, 0.0))) for line, span in all_spans(sweep)]
    flat = [need for line in sweep.lines for need in needs[line.name]]
    found: dict[tuple[int, int], Stop] = {}
    brackets = []
    for k, (line, span) in enumerate(spans):
        for side in (_RIGHT, _LEFT):
            for travel, at in zip(line.travels, range(len(line.travels)), strict=True):
                here = _bracket(sweep, k, span, side, at, float(travel))
                if isinstance(here, _Bracket):
                    brackets.append(here)
                elif here is not None:
                    _keep(found, k, side, here)
            between = _dip(sweep, k, line, span, side, flat[k])
            if between is not None:
                brackets.append(between)
    for bracket, turn in zip(brackets, _closed_in(sweep, spans, brackets), strict=True):
        _keep(found, bracket.span, bracket.side, Stop(turn, bracket.travel))
    sooner = _at_other_travels(sweep, spans, found)
    for bracket, turn in zip(sooner, _closed_in(sweep, spans, sooner), strict=True):
        _keep(found, bracket.span, bracket.side, Stop(turn, bracket.travel))
    out = {}
    for line in sweep.lines:
        mine = [k for k, (other, _) in enumerate(spans) if other is line]
        out[line.name] = LineStops(*(_first(found, mine, side) for side in (_RIGHT, _LEFT)))
    return out


def _with(span: SpanSweep, more: float) -> SpanSweep:
    """A span with so much more slack, mm."""
    case = replace(span.case, end_at=span.case.end_at + more)
    return replace(span, case=case, slack=span.slack + more) if more else span


def _keep(found: dict[tuple[int, int], Stop], span: int, side: int, stop: Stop) -> None:
    """Remember a stop if it is the first on its side; of two alike, that nearer ride height."""
    old = found.get((span, side))
    if old is None or (round(abs(stop.turn), 6), abs(stop.travel)) < (
        round(abs(old.turn), 6),
        abs(old.travel),
    ):
        found[span, side] = stop


def _first(found: dict[tuple[int, int], Stop], spans: list[int], side: int) -> Stop | None:
    stops = [found[k, side] for k in spans if (k, side) in found]
    return min(stops, key=lambda stop: abs(stop.turn), default=None)


def _side(sweep: Sweep, side: int) -> np.ndarray:
    """The numbers of the turn angles from straight ahead to a lock."""
    middle = int(np.flatnonzero(sweep.angles == 0.0)[0])
    return np.arange(middle, -1, -1) if side == _RIGHT else np.arange(middle, len(sweep.angles))


def _bracket(
    sweep: Sweep, k: int, span: SpanSweep, side: int, at: int, travel: float
) -> _Bracket | Stop | None:
    """The poses between which a span first goes tight; a stop where the pose before is unknown or
    there is none.
    """
    order = _side(sweep, side)
    slack = span.slack[at, order]
    below = np.flatnonzero(slack < 0.0)
    if not len(below):
        return None
    n = int(below[0])
    angles = sweep.angles[order]
    if n == 0 or not np.isfinite(slack[n - 1]):
        return Stop(float(angles[n]), travel)
    return _Bracket(
        k,
        side,
        travel,
        float(angles[n - 1]),
        float(slack[n - 1]),
        float(angles[n]),
        float(slack[n]),
    )


def _dip(
    sweep: Sweep, k: int, line: LineSweep, span: SpanSweep, side: int, need: SpanNeed
) -> _Bracket | None:
    """A span that is tight at its worst pose alone, between poses of the sweep that are not."""
    lack = span.case.length - need.taut
    if not (lack < 0.0 and (need.turn < 0.0) == (side == _RIGHT) and need.turn != 0.0):
        return None
    order = _side(sweep, side)
    nearer = order[np.abs(sweep.angles[order]) < abs(need.turn)]
    at = int(np.argmin(np.abs(line.travels - need.travel)))
    spare = float(span.slack[at, nearer[-1]]) if len(nearer) else math.nan
    if not spare >= 0.0:
        return None
    loose = float(sweep.angles[nearer[-1]])
    return _Bracket(k, side, need.travel, loose, spare, need.turn, lack)


def _closed_in(sweep: Sweep, spans: Spans, brackets: Sequence[_Bracket]) -> list[float]:
    """The turn angles at which the slack is zero, by false position (Illinois rule)."""
    loose = np.array([bracket.loose for bracket in brackets])
    tight = np.array([bracket.tight for bracket in brackets])
    spare = np.array([bracket.spare for bracket in brackets])
    lack = np.array([bracket.lack for bracket in brackets])
    lengths = np.array([spans[bracket.span][1].case.length for bracket in brackets])
    turn = loose + (tight - loose) * spare / np.maximum(spare - lack, 1e-300)
    for _ in range(_MOST_STEPS):
        open_ = np.flatnonzero((np.abs(tight - loose) > _CLOSE) & np.isfinite(turn))
        if not len(open_):
            break
        # a little past the zero, so that the other side closes in too
        aim = turn[open_] + np.sign(tight - loose)[open_] * 0.3 * _CLOSE
        probes = [
            Probe(brackets[int(k)].span, float(at), brackets[int(k)].travel)
            for k, at in zip(open_, aim, strict=True)
        ]
        slack = lengths[open_] - taut_lengths(sweep, spans, probes)
        over = slack >= 0.0
        lack[open_] = np.where(over, 0.5 * lack[open_], slack)
        spare[open_] = np.where(over, slack, 0.5 * spare[open_])
        loose[open_], tight[open_] = (
            np.where(over, aim, loose[open_]),
            np.where(over, tight[open_], aim),
        )
        turn[open_] = np.where(
            np.isnan(slack),
            np.nan,
            (loose + (tight - loose) * spare / np.maximum(spare - lack, 1e-300))[open_],
        )
    # where a pose on the way was not solved, the sweep's own last tight pose is what is known
    return [
        float(at) if np.isfinite(at) else bracket.tight
        for at, bracket in zip(turn, brackets, strict=True)
    ]


def _at_other_travels(
    sweep: Sweep, spans: Spans, found: dict[tuple[int, int], Stop]
) -> list[_Bracket]:
    """Brackets at the travels where spans are tight before the stops found so far."""
    keys, tops, boxes, steps = [], [], [], []
    for (k, side), stop in found.items():
        line, span = spans[k]
        step = first_steps(sweep, line, span.taut_length)[1]
        if step and stop.turn != 0.0:
            keys.append((k, side))
            tops.append(Top(k, span.case.length, stop.turn, stop.travel))
            boxes.append(Box((stop.turn, stop.turn), box(sweep, line).travel))
            steps.append((0.0, step))
    found_tops = highest(lambda probes: taut_lengths(sweep, spans, probes), tops, boxes, steps)
    worse = [
        (key, top)
        for key, top in zip(keys, found_tops, strict=True)
        if top.value > spans[top.span][1].case.length + 0.02
    ]
    ahead = taut_lengths(sweep, spans, [Probe(top.span, 0.0, top.travel) for _, top in worse])
    out = []
    for ((k, side), top), straight in zip(worse, ahead, strict=True):
        length = spans[k][1].case.length
        if straight <= length:
            out.append(
                _Bracket(k, side, top.travel, 0.0, length - straight, top.turn, length - top.value)
            )
        else:
            found[k, side] = Stop(0.0, top.travel)
    return out
