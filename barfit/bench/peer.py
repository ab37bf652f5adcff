"""The solver beside the boundary-value solver of `barfit.bench.kirchhoff`, on the same spans.

The peer runs as it comes (default tolerance, a mesh of 41 places, Jacobians differenced), and with
the coarsest mesh and loosest tolerance that are still as accurate as ours on that span: what it
could do at best, since nobody knows them beforehand; lastly with its Jacobians derived by hand as
well. Only the time inside scipy's solve_bvp counts against it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from functools import partial
from statistics import median

import numpy as np

from barfit.bench.kirchhoff import (
    Clamped,
    Effort,
    Reference,
    hermite,
    pulled_curve,
    settle_bvp,
    taut_bvp,
)
from barfit.bench.space_checks import PULL, SPANS, clamped, worst_point
from barfit.bench.speed import BAND, OWN_BAND, band_floor, own_band
from barfit.bench.timing import Timing, timed
from barfit.geometry.frames import rotation, steering_axis
from barfit.mechanics import Span, settle, taut
from barfit.mechanics.rod import Rods
from barfit.mechanics.settle import batch_of_one
from barfit.mechanics.start import pulled, settled
from barfit.mechanics.track import Holds, follow

TARGET = 40.0  # times faster
_POSES = 12  # a degree apart, after the first: ours follows them all
_PEER_POSES = (2, 7)  # the peer is timed at these
_RAKE = math.radians(25)
_PLAIN = Effort(1e-3, 41, jacobians=False)
_TUNED = [_PLAIN] + [Effort(t, n, jacobians=False) for n in (9, 15, 25) for t in (0.1, 0.01)]
_DERIVED = [replace(effort, jacobians=True) for effort in _TUNED]
# The peer's name, how it may work, how many times faster ours should be.
_PEERS = (
    ("solve_bvp, defaults", [_PLAIN], TARGET),
    ("solve_bvp, as accurate as ours", _TUNED, TARGET),
    ("the same, Jacobians by hand", _DERIVED, None),
)


@dataclass(frozen=True)
class _Task:
    """One span to be settled or, with a pull, drawn taut, and how far ours is off (mm)."""

    span: Clamped
    length: float
    pull: float | None
    exact: Reference
    ours: float
    guesses: tuple[np.ndarray, ...]

    def run(self, guess: np.ndarray, effort: Effort) -> Reference:
        if self.pull is None:
            return settle_bvp(self.span, self.length, guess, effort)
        return taut_bvp(self.span, self.pull, guess, effort)

    def off(self, found: Reference) -> float:
        """The worst point, or for a taut rod the length, mm; infinite where not converged."""
        if not found.converged:
            return math.inf
        if self.pull is not None:
            return abs(found.length - self.exact.length)
        share = np.linspace(0, 1, 41)
        apart = found.at(share * found.length) - self.exact.at(share * self.exact.length)
        return float(np.linalg.norm(apart, axis=1).max())

    def quickest(self, efforts: Iterable[Effort], repeats: int) -> float:
        """The peer's median seconds at the quickest effort that is as accurate as ours, or nan."""
        good = []
        for effort in efforts:
            for guess in self.guesses:
                found = self.run(guess, effort)
                if self.off(found) <= self.ours:
                    good.append((found.seconds, effort, guess))
        if not good:
            return math.nan
        _, effort, guess = min(good, key=lambda one: one[0])
        return median(self.run(guess, effort).seconds for _ in range(repeats))


def against_peer(repeats: int) -> list[Timing]:
    """Settling and drawing taut from nothing, from the pose before, and as a batch of lines."""
    spans = [turned(span) for span in SPANS.values()]
    first = [make(poses, 0) for poses in spans for make in (_settling, _pulling)]
    later = [
        make(poses, k) for poses in spans for k in _PEER_POSES for make in (_settling, _pulling)
    ]
    cold_peer = _peers(first, repeats, len(spans))
    warm_peer = _peers(later, repeats, len(spans) * len(_PEER_POSES))
    cold = sum(timed(partial(_from_nothing, poses[0]), repeats) for poses in spans) / len(spans)
    alone = sum(_follow_seconds([poses], repeats) for poses in spans) / len(spans)
    batch = _follow_seconds(spans, repeats) / len(spans)
    found = []
    for what, ours, peers in (
        ("from nothing", cold, cold_peer),
        ("from the pose before", alone, warm_peer),
        (f"the same, {len(spans)} lines in one batch", batch, warm_peer),
    ):
        what = f"settle and draw taut, {what}"
        for (name, _, times), peer in zip(_PEERS, peers, strict=True):
            found.append(Timing(what, ours, None, name, peer, times))
    return found


def batch_steps(repeats: int) -> list[Timing]:
    """One Newton step of one line among others in a batch, beside what only solves its band."""
    lines = [turned(span) for span in SPANS.values()]
    rods, moving = together(lines)
    nodes, lengths = lines[0][0].nodes, np.array([poses[0].length for poses in lines])
    first, _ = settled(rods, lengths, nodes)
    poses = list(range(_POSES))
    outcomes = [outcome for _, _, outcome in follow(rods, moving, poses, first)]
    steps = sum(int(outcome.steps.sum()) for outcome in outcomes)
    seconds = timed(lambda: list(follow(rods, moving, poses, first)), 5 * repeats) / steps
    what = f"a Newton step of a line, {len(lines)} lines in one batch"
    third = 1 / 3  # at most three times as long as the floor
    return [
        Timing(what, seconds, None, BAND, band_floor(rods, first, repeats), third),
        Timing(what, seconds, None, OWN_BAND, own_band(rods, first, repeats)),
    ]


def _peers(tasks: list[_Task], repeats: int, share: int) -> list[float]:
    """Seconds of each peer for all the tasks, per line and pose."""
    return [
        sum(task.quickest(efforts, repeats) for task in tasks) / share for _, efforts, _ in _PEERS
    ]


def turned(span: Span) -> list[Span]:
    """The span with its end carried round a raked steering axis, a degree at a time."""
    out = []
    for pose in range(_POSES + 1):
        turn = rotation(steering_axis(_RAKE), math.radians(pose))
        end = turn @ np.asarray(span.end, dtype=float)
        direction = turn @ np.asarray(span.end_direction, dtype=float)
        out.append(replace(span, end=end, end_direction=direction))
    return out


def _settling(poses: list[Span], pose: int) -> _Task:
    """Settle at a pose: the peer starts from the poses before, or from a cubic at the first."""

    def exact_at(k: int) -> Reference:
        return settle_bvp(clamped(poses[k]), poses[k].length, settle(poses[k]).points)

    span, exact = poses[pose], exact_at(pose)
    if pose:
        guesses = _from_before(exact_at(pose - 1), exact_at(pose - 2))
    else:
        guesses = (hermite(clamped(span), span.length),)
    return _Task(clamped(span), span.length, None, exact, worst_point(settle(span), exact), guesses)


def _pulling(poses: list[Span], pose: int) -> _Task:
    """Draw taut at a pose: the peer starts from the poses before, or from pulled curves.

    From nothing ours refines its mesh; followed from pose to pose it keeps it, and is as
    accurate as that.
    """

    def exact_at(k: int) -> Reference:
        return taut_bvp(clamped(poses[k]), PULL, taut(poses[k], PULL).points)

    span, exact = poses[pose], exact_at(pose)
    ends = clamped(span)
    if pose:
        guesses = _from_before(exact_at(pose - 1), exact_at(pose - 2))
        state, _ = pulled(batch_of_one(span, PULL), np.array([PULL]), span.nodes)
        length = float(state.length[0])
    else:
        bend = math.sqrt(span.bending_stiffness / PULL)
        chord = float(np.linalg.norm(ends.end - ends.start))
        curves = [pulled_curve(ends, share * bend) for share in (1.0, 0.5)]
        guesses = (*curves, hermite(ends, 1.1 * chord))
        length = taut(span, PULL).length
    return _Task(ends, 0.0, PULL, exact, abs(length - exact.length), guesses)


def _from_before(last: Reference, earlier: Reference) -> tuple[np.ndarray, ...]:
    """First shapes for the next pose: the last one, and what changed before it once more."""
    one, two = last.points[::20], earlier.points[::20]
    return one, 2 * one - two


def _from_nothing(span: Span) -> None:
    settle(span)
    taut(span, PULL)


def _follow_seconds(lines: list[list[Span]], repeats: int) -> float:
    """Seconds per pose to settle a batch of lines and to draw it taut, from the pose before."""
    rods, moving = together(lines)
    pulls = np.full(rods.size, PULL)
    nodes, lengths = lines[0][0].nodes, np.array([poses[0].length for poses in lines])
    first, _ = settled(rods, lengths, nodes)
    drawn, _ = pulled(rods, pulls, nodes)
    poses = list(range(_POSES))

    def run() -> None:
        for _, _, outcome in follow(rods, moving, poses, first):
            assert outcome.converged.all()
        for _, _, outcome in follow(rods, moving, poses, drawn, pulls):
            assert outcome.converged.all()

    return timed(run, 5 * repeats) / _POSES  # a few ms each: more of them for a steady median


def together(lines: list[list[Span]]) -> tuple[Rods, Holds]:
    """The lines as one batch held as at the first pose, and their holds at the later ones."""

    def joined(pose: int) -> Rods:
        parts = [batch_of_one(poses[pose]) for poses in lines]
        names = [field.name for field in fields(Rods) if field.name != "solids"]
        whole = {name: np.concatenate([getattr(part, name) for part in parts]) for name in names}
        return replace(parts[0], **whole)  # type: ignore[arg-type]

    later = [joined(pose) for pose in range(1, _POSES + 1)]
    names = [field.name for field in fields(Holds)]
    held = {name: np.stack([getattr(rods, name) for rods in later]) for name in names}
    return joined(0), Holds(**held)
