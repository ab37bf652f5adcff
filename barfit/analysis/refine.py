"""The greatest value of smooth functions of the pose, between the poses of a sweep.

All functions are searched at once: what one round asks of them is one batch for the solver.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from barfit.analysis.probes import Probe

_SHRINK = 3.0
ROUNDS = 8
GAIN = 0.02  # mm: a search ends when its parabolas promise less

Values = Callable[[list[Probe]], np.ndarray]


@dataclass(frozen=True)
class Top:
    """The greatest value found for a span, mm, at a turn angle (rad) and travel (mm)."""

    span: int
    value: float
    turn: float
    travel: float


@dataclass(frozen=True)
class Box:
    """Within which poses to look: turn angles (rad) and travels (mm), least and greatest."""

    turn: tuple[float, float]
    travel: tuple[float, float]


def starts(
    span: int, values: np.ndarray, angles: np.ndarray, travels: np.ndarray, most: int = 3
) -> list[Top]:
    """The tops of a table of values (T, A), highest first, that might be the highest between
    its poses: each a maximum along the turn, and not lower than a parabola could make up for.
    """
    known = np.where(np.isnan(values), -np.inf, values)
    if not np.isfinite(known).any():
        return []
    padded = np.pad(known, ((0, 0), (1, 1)), constant_values=-np.inf)
    peak = (known >= padded[:, :-2]) & (known >= padded[:, 2:]) & np.isfinite(known)
    # half a step beside the top of a parabola its value is an eighth of the second difference less
    with np.errstate(invalid="ignore"):
        bends = np.abs(np.diff(known, 2, axis=1))
    rise = 0.25 * float(np.nanmax(np.where(np.isfinite(bends), bends, 0.0), initial=0.0)) + GAIN
    order = np.argwhere(peak & (known >= known.max() - rise))
    order = order[np.argsort([-known[tuple(at)] for at in order], kind="stable")]
    return [
        Top(span, float(known[at, turn]), float(angles[turn]), float(travels[at]))
        for at, turn in order[:most]
    ]


def highest(
    value: Values,
    tops: Sequence[Top],
    boxes: Sequence[Box],
    steps: Sequence[tuple[float, float]],
    rounds: int = ROUNDS,
    gain: float = GAIN,
) -> list[Top]:
    """Climb from each top (in its own box, with its own first steps in turn and travel) to the
    maximum beside it: parabolas through the neighbours along both axes, whose tops are then
    asked for in earnest; along an axis on which that is less than a step away, the next step is a
    third. A search ends when its parabolas promise less than ``gain`` mm. Nothing is taken from
    them unasked, so the answer is never less than the start. Unknown values (nan) are not climbed
    to.
    """
    tops, now = list(tops), [np.array(step) for step in steps]
    active = [k for k, step in enumerate(now) if step.any()]
    for _ in range(rounds):
        before = {k: tops[k] for k in active}
        beside = {k: _beside(tops[k], boxes[k], now[k]) for k in active}
        found = _asked(value, [probe for k in active for probe in beside[k]])
        vertices, still = [], []
        for k in active:
            here = [found.pop(0) for _ in beside[k]]
            vertex, promised = _vertex(tops[k], here, boxes[k])
            best = max((tops[k], *here), key=_known)
            if best is not tops[k] or promised > gain:
                still.append(k)
                vertices.append((k, vertex))
            tops[k] = best
        for (k, _), there in zip(
            vertices, _asked(value, [vertex for _, vertex in vertices]), strict=True
        ):
            tops[k] = max(tops[k], there, key=_known)
            moved = tops[k].turn - before[k].turn, tops[k].travel - before[k].travel
            now[k] = np.where(np.abs(moved) < 0.99 * now[k], now[k] / _SHRINK, now[k])
        active = still
        if not active:
            break
    return tops


def _known(top: Top) -> float:
    return top.value if np.isfinite(top.value) else -np.inf


def _asked(value: Values, probes: list[Probe]) -> list[Top]:
    if not probes:
        return []
    return [
        Top(probe.span, float(found), probe.turn, probe.travel)
        for probe, found in zip(probes, value(probes), strict=True)
    ]


def _beside(top: Top, box: Box, step: np.ndarray) -> list[Probe]:
    """The neighbours of a top along both axes, as far as they lie in its box."""
    low_turn, high_turn = (float(np.clip(top.turn + d, *box.turn)) for d in (-step[0], step[0]))
    low, high = (float(np.clip(top.travel + d, *box.travel)) for d in (-step[1], step[1]))
    out = [Probe(top.span, turn, top.travel) for turn in (low_turn, high_turn) if turn != top.turn]
    return out + [
        Probe(top.span, top.turn, travel) for travel in (low, high) if travel != top.travel
    ]


def _vertex(top: Top, beside: list[Top], box: Box) -> tuple[Probe, float]:
    """Where the parabolas along both axes have their tops, and how much they promise, mm."""
    along = [(one.turn, one.value) for one in beside if one.turn != top.turn]
    turn, gain = _parabola((top.turn, top.value), along)
    across = [(one.travel, one.value) for one in beside if one.travel != top.travel]
    travel, more = _parabola((top.travel, top.value), across)
    probe = Probe(top.span, float(np.clip(turn, *box.turn)), float(np.clip(travel, *box.travel)))
    return probe, gain + more


def _parabola(middle: tuple[float, float], ends: list[tuple[float, float]]) -> tuple[float, float]:
    """The top of the parabola through three points, no further out than they are, and its rise
    above the middle one; the middle one itself where there are not three or it has no top.
    """
    x, y = middle
    if len(ends) < 2 or not all(np.isfinite(value) for _, value in ends):
        return x, 0.0
    (x0, y0), (x1, y1) = ends
    slope0, slope1 = (y - y0) / (x - x0), (y1 - y) / (x1 - x)
    bend = (slope1 - slope0) / (x1 - x0)
    if bend >= 0.0:
        return x, 0.0
    slope = slope0 + bend * (x - x0)
    at = float(np.clip(x - 0.5 * slope / bend, min(x0, x1), max(x0, x1)))
    return at, slope * (at - x) + bend * (at - x) ** 2
