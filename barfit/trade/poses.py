"""Extremes of tables over the poses of a sweep, (T, A), nan where not known."""

from __future__ import annotations

import math
from typing import TypedDict

import numpy as np

from barfit.analysis import LineSweep, Sweep


class Pose(TypedDict, total=False):
    """The pose of a figure, rad and mm, as `Judged` takes it; empty where there is none."""

    turn: float
    travel: float


def greatest(table: np.ndarray) -> float:
    """The greatest value; nan where none is known."""
    return float(np.nanmax(table)) if np.isfinite(table).any() else math.nan


def least(table: np.ndarray) -> float:
    """The least value; nan where none is known."""
    return -greatest(-table)


def pose_of_greatest(sweep: Sweep, line: LineSweep, table: np.ndarray) -> Pose:
    """Where the greatest value is; empty where none is known."""
    if not np.isfinite(table).any():
        return {}
    at, turn = np.unravel_index(int(np.nanargmax(table)), table.shape)
    return {"turn": float(sweep.angles[turn]), "travel": float(line.travels[at])}


def pose_of_least(sweep: Sweep, line: LineSweep, table: np.ndarray) -> Pose:
    """Where the least value is; empty where none is known."""
    return pose_of_greatest(sweep, line, -table)
