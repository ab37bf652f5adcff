"""A pose, and the numbers of a line there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.analysis import LineSweep, Sweep


@dataclass(frozen=True)
class Pose:
    """``turn`` rad, positive to the left; ``travel`` mm from ride height, compression positive."""

    turn: float = 0.0
    travel: float = 0.0


def travel_row(line: LineSweep, travel: float) -> int:
    """The row of the suspension position nearest to ``travel`` (mm) that the line was swept at."""
    return int(np.argmin(np.abs(line.travels - travel)))


@dataclass(frozen=True)
class PoseNumbers:
    """One line at one pose: mm and N; nan where the pose beside it did not converge."""

    slack: float
    min_radius: float
    tension: float


def at_pose(sweep: Sweep, line: str, pose: Pose) -> PoseNumbers:
    """A line's numbers at a pose, linear between the angles of the sweep.

    Raises KeyError for an unknown line.
    """
    swept = sweep.line(line)
    row = travel_row(swept, pose.travel)
    slack, radius, tension = (
        float(np.interp(pose.turn, sweep.angles, table[row]))
        for table in (swept.slack, swept.min_radius, swept.tension)
    )
    return PoseNumbers(slack, radius, tension)
