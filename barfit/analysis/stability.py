"""Whether the shapes that decide a verdict are stable, by the second variation of the energy."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from barfit.analysis.lengths import SpanNeed
from barfit.analysis.probes import Probe, TautBatch, all_spans, taut_batches
from barfit.analysis.rest import Rest
from barfit.analysis.sweep import LineSweep, Sweep
from barfit.analysis.tables import STIFF
from barfit.analysis.window import SpanLongest
from barfit.mechanics.stability import stiffness
from barfit.mechanics.start import let_out

_NOTHING = 1e-6  # N/mm: rounding makes no more of none; the softest real lines have a hundred times


class Decides(StrEnum):
    """What a pose decides about a line."""

    TAUT = "taut length"
    BEND = "bend-limited length"
    RADIUS = "smallest radius"
    LONGEST = "longest length"


@dataclass(frozen=True)
class DecidingPose:
    """A shape that decides a number of a finding: the span between the stations ``between`` at a
    turn angle (rad) and travel (mm), ``length`` mm long. ``stiffness`` (N/mm) is how stiffly it
    holds against its softest change of shape: above 0 it is stable, at 0 it may swing round
    without effort, as one bowed between two fittings in line; nan where no rest shape was found.
    """

    decides: Decides
    between: tuple[str, str]
    turn: float
    travel: float
    length: float
    stiffness: float

    @property
    def stable(self) -> bool:
        """Whether the shape is known and at rest for good."""
        return self.stiffness > -_NOTHING


def deciding_poses(
    sweep: Sweep,
    needs: dict[str, list[SpanNeed]],
    longest: dict[str, list[SpanLongest]],
    rests: dict[str, tuple[Rest, ...]],
) -> dict[str, tuple[DecidingPose, ...]]:
    """The shapes that decide about each line, by name, each with its stability.

    The shape of smallest radius is the sweep's own, out of ``rests``; the others are drawn taut or
    let out to their lengths.
    """
    out: dict[str, tuple[DecidingPose, ...]] = {line.name: () for line in sweep.lines}
    asked: list[tuple[str, DecidingPose, Probe]] = []
    for number, (line, span) in enumerate(all_spans(sweep)):
        k = [other is span for other in line.spans].index(True)
        names = span.case.layout.names
        between = names[span.case.first], names[span.case.last]
        for decides, turn, travel, length in _shapes(needs[line.name][k], longest[line.name][k]):
            pose = DecidingPose(decides, between, turn, travel, length, math.nan)
            asked.append((line.name, pose, Probe(number, turn, travel)))
        out[line.name] += _sharpest(sweep, line, rests[line.name][k], between)
    values = np.full(len(asked), np.nan)
    for found in taut_batches(sweep, all_spans(sweep), [probe for _, _, probe in asked]):
        poses = [asked[row][1] for row in found.rows]
        values[found.rows] = _stiffnesses(found, poses)
    for (name, pose, _), value in zip(asked, values, strict=True):
        out[name] += (replace(pose, stiffness=float(value)),)
    return out


def _sharpest(
    sweep: Sweep, line: LineSweep, rest: Rest, between: tuple[str, str]
) -> tuple[DecidingPose, ...]:
    """The shape of smallest radius of a span in the sweep; none where it never has slack."""
    radii = np.where(rest.good, rest.span.min_radius.ravel(), np.nan)
    if not np.isfinite(radii).any():
        return ()
    row = int(np.nanargmin(radii))
    at, turn = divmod(row, len(sweep.angles))
    one = np.array([row])
    return (
        DecidingPose(
            Decides.RADIUS,
            between,
            float(sweep.angles[turn]),
            float(line.travels[at]),
            rest.span.case.length,
            float(stiffness(rest.rods.take(one), rest.state.take(one))[0]),
        ),
    )


def _shapes(need: SpanNeed, most: SpanLongest) -> list[tuple[Decides, float, float, float]]:
    """What lengths decide about a span: at which turn and travel, and how long."""
    out = [(Decides.TAUT, need.turn, need.travel, need.taut)] if math.isfinite(need.taut) else []
    if need.bend > 0.0:
        out.append((Decides.BEND, need.bend_turn, need.bend_travel, need.bend))
    if math.isfinite(most.length):
        out.append((Decides.LONGEST, most.turn, most.travel, most.length))
    return out


def _stiffnesses(found: TautBatch, poses: Sequence[DecidingPose]) -> np.ndarray:
    """Stiffnesses (B,): of the taut rods as they are, of the others let out to their lengths."""
    out = np.full(len(poses), np.nan)
    taut = np.array([pose.decides is Decides.TAUT for pose in poses])
    drawn = np.flatnonzero(taut & found.converged)
    if len(drawn):
        rods = found.rods.take(drawn)
        stiff = replace(rods, ea=np.full(rods.size, STIFF))
        out[drawn] = stiffness(stiff, found.state.take(drawn))
    loose = np.flatnonzero(~taut & found.converged)
    if len(loose):
        rods, state = found.rods.take(loose), found.state.take(loose)
        lengths = np.array([poses[int(k)].length for k in loose])
        outcome = let_out(rods, state, np.maximum(lengths, state.length))
        out[loose] = np.where(outcome.converged, stiffness(rods, state), np.nan)
    return out
