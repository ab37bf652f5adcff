"""A setup turned from lock to lock: one immutable table per line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.model import Setup


@dataclass(frozen=True, eq=False)
class LineSweep:
    """One line over T suspension positions and A turn angles. Arrays are read-only.

    ``travels`` (T,) mm, compression positive; a single 0 for a line with no point on the lower
    fork. ``slack``, ``taut``, ``min_radius`` (mm), ``tension`` (N), ``converged`` and
    ``same_way_back`` (bool) are (T, A). ``slack`` is installed minus taut length (of the span
    with least to spare, where clips divide the line); negative is stretch.
    ``shapes`` (T, A, M, 3) mm are centrelines from fitting to fitting with their rigid stubs, M
    points at the arc lengths ``arc`` (M,) mm, for the body positions of that pose.
    ``stations_at`` (T, A, S) mm is where along the settled line each station holds it;
    ``segment_slack`` (T, A, S-1) mm is what each stretch between two stations has to spare.
    ``radii`` (T, A, M) mm is the radius of curvature along the line (inf where straight).
    Where a pose did not converge its numbers are NaN and its shape is not to be trusted.
    """

    name: str
    travels: np.ndarray
    taut: np.ndarray
    slack: np.ndarray
    min_radius: np.ndarray
    tension: np.ndarray
    converged: np.ndarray
    same_way_back: np.ndarray
    shapes: np.ndarray
    arc: np.ndarray
    stations_at: np.ndarray
    segment_slack: np.ndarray
    radii: np.ndarray


@dataclass(frozen=True, eq=False)
class Sweep:
    """All lines over the turn ``angles`` (A,) rad, from right lock (negative) to left lock."""

    setup: Setup
    stock: bool
    angles: np.ndarray
    lines: tuple[LineSweep, ...]

    def line(self, name: str) -> LineSweep:
        """The sweep of the line of that name. Raises KeyError."""
        for line in self.lines:
            if line.name == name:
                return line
        raise KeyError(name)
