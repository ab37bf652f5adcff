"""Steering torque: what the elastic lines do to the bar at each turn angle.

The moment about the steering axis of everything a line does to stations that turn with the
steering. By virtual work that is minus the derivative of the line's potential (bending, weight,
guides, stretch, twist) by the turn angle; the tests and `barfit bench --accuracy` hold one against
the other. Positive: the line turns the bar to the left. A line at rest on the steering pulls it to
its lower side by its own weight, because the axis leans back.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from barfit.analysis.rest import Rest
from barfit.analysis.sweep import LineSweep, Sweep
from barfit.geometry.frames import steering_axis
from barfit.mechanics.contact import touches
from barfit.mechanics.reactions import moment_about, reactions
from barfit.model import Body

_MM_PER_M = 1e3


@dataclass(frozen=True)
class LineTorque:
    """Torque of one line on the steering, N·m, left positive.

    ``values[t][a]`` belongs to suspension position ``travels[t]`` mm and turn ``turns[a]`` rad; nan
    where it is not known: no rest shape was found, or the line is too short to get there, so that
    it stops the steering instead.
    """

    turns: tuple[float, ...]
    travels: tuple[float, ...]
    values: tuple[tuple[float, ...], ...]

    @property
    def at_ride_height(self) -> tuple[float, ...]:
        """The torque at every turn angle with the suspension at ride height."""
        return self.values[min(range(len(self.travels)), key=lambda t: abs(self.travels[t]))]

    @property
    def right_lock(self) -> float:
        """At full right lock, ride height."""
        return self.at_ride_height[0]

    @property
    def left_lock(self) -> float:
        """At full left lock, ride height."""
        return self.at_ride_height[-1]


def line_torque(sweep: Sweep, swept: LineSweep, rests: Sequence[Rest]) -> LineTorque:
    """The torque of one line over the sweep, from its spans at rest (`line_rests`)."""
    axis = steering_axis(sweep.setup.machine.rake)
    total = np.zeros(swept.converged.shape)
    for rest in rests:
        case = rest.span.case
        turning = [body is not Body.FRAME for body in case.layout.bodies]
        moment = np.where(rest.good, 0.0, np.nan)
        rows = np.flatnonzero(rest.good)
        held, state = rest.rods.take(rows), rest.state.take(rows)
        done = reactions(held, state)
        if turning[case.first]:
            moment[rows] += moment_about(axis, held.start, done.start_force)
            moment[rows] += done.start_moment @ axis
        if turning[case.last]:
            moment[rows] += moment_about(axis, held.end, done.end_force) + done.end_moment @ axis
        for k, station in enumerate(case.guides):
            if turning[station]:
                force = done.guide_force[:, k]
                moment[rows] += moment_about(axis, held.guides[:, k], force)
        pressed = _pressing(rest, rows, axis)
        # a span that nothing turns puts nothing on the bar, whatever its state
        if any(turning[case.first : case.last + 1]) or pressed.any():
            moment[rows] += pressed
            total += moment.reshape(total.shape)
    return LineTorque(
        turns=tuple(sweep.angles.tolist()),
        travels=tuple(swept.travels.tolist()),
        values=tuple(tuple(row) for row in (total / _MM_PER_M).tolist()),
    )


def _pressing(rest: Rest, rows: np.ndarray, axis: np.ndarray) -> np.ndarray:
    """Moment about the steering axis on what turns and a span presses on, at poses ``rows``."""
    around, found = rest.span.case.around, np.zeros(len(rows))
    if around is None:
        return found
    turning = np.array([around.bodies[part] is not Body.FRAME for part in around.part])
    for k in np.flatnonzero((rest.state.touch_force[rows] > 0.0).any(1)):
        on = touches(rest.rods, rest.state, int(rows[k]))
        mine = turning[on.solid]
        found[k] = -moment_about(axis, on.point[mine], on.force[mine]).sum()
    return found


def total_torque(torques: Iterable[LineTorque]) -> tuple[float, ...]:
    """The torque of all lines together at every turn angle, ride height, N·m.

    nan where that of any of them is not known. Empty without lines.
    """
    curves = [torque.at_ride_height for torque in torques]
    return tuple(math.fsum(values) for values in zip(*curves, strict=True))
