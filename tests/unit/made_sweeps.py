"""Sweeps made by hand, without a solver: lines that are arcs of a circle at every pose."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from barfit.analysis import LineSweep, Sweep
from barfit.model import Setup

RADIUS = 80.0
POINTS = 721


def arc(bend: float, radius: float = RADIUS, points: int = POINTS) -> np.ndarray:
    """Points (points, 3) of an arc through ``bend`` rad, with a straight rigid end either side."""
    at = np.linspace(0.0, bend, points)
    curve = radius * np.column_stack((np.sin(at), 1.0 - np.cos(at), 0.0 * at))
    end = np.array([math.cos(bend), math.sin(bend), 0.0])
    return np.vstack((curve[0] - [20.0, 0.0, 0.0], curve, curve[-1] + 20.0 * end))


def line_sweep(
    name: str, bends: np.ndarray, slack: np.ndarray, travels: tuple[float, ...] = (0.0,)
) -> LineSweep:
    """A line whose bend (rad) and slack (mm) at the poses (T, A) are given; nan: not converged."""
    front = np.shape(bends)
    good = np.isfinite(bends)
    shapes = np.array([[arc(bend if bend == bend else 0.1) for bend in row] for row in bends])
    count = shapes.shape[2]
    return LineSweep(
        name=name,
        travels=np.array(travels),
        taut=np.zeros(front),
        slack=np.where(good, slack, math.nan),
        min_radius=np.where(good, RADIUS, math.nan),
        tension=np.zeros(front),
        converged=good,
        same_way_back=np.ones(front, bool),
        shapes=shapes,
        arc=np.zeros(count),
        stations_at=np.zeros((*front, 2)),
        segment_slack=np.zeros((*front, 1)),
        radii=np.full((*front, count), RADIUS),
    )


def made_sweep(setup: Setup, angles: np.ndarray, *lines: LineSweep) -> Sweep:
    """A sweep of these lines of the setup, and of none else."""
    mine = [one.name for one in lines]
    kept = tuple(line for line in setup.lines if line.name in mine)
    return Sweep(replace(setup, lines=kept), False, angles, lines)
