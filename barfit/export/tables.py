"""A sweep as tables: comma-separated values as RFC 4180 has them, UTF-8, units in the headings.

What is not known is an empty cell. Axes follow ISO 8855: x forward, y left, z up, in mm from where
the steering axis pierces the top face of the top clamp; a turn to the left is positive, and so is
compression of the fork.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from barfit.analysis import LineSweep, Sweep

CENTRELINES = "centrelines.csv"
NUMBERS = "sweep.csv"

_POSE = ("line", "turn (deg)", "fork travel (mm)")


def write_csv(sweep: Sweep, folder: Path) -> tuple[Path, ...]:
    """Write two tables into a folder, which is made where it is not there; gives their paths.

    ``sweep.csv`` has a row for each line and pose, ``centrelines.csv`` one for each point of each.
    Raises OSError.
    """
    folder.mkdir(exist_ok=True)
    numbers, centrelines = folder / NUMBERS, folder / CENTRELINES
    _write(
        numbers,
        (
            *_POSE,
            "slack (mm)",
            "taut length (mm)",
            "smallest radius (mm)",
            "tension (N)",
            "known (1 or 0)",
        ),
        (row for line in sweep.lines for row in _numbers(sweep, line)),
    )
    _write(
        centrelines,
        (*_POSE, "along the line (mm)", "x (mm)", "y (mm)", "z (mm)", "radius (mm)"),
        (row for line in sweep.lines for row in _points(sweep, line)),
    )
    return numbers, centrelines


def _write(path: Path, heading: Sequence[str], rows: Iterator[list[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(heading)
        writer.writerows(rows)


def _poses(sweep: Sweep, line: LineSweep) -> Iterator[tuple[int, int, list[str]]]:
    for t, travel in enumerate(line.travels):
        for a, angle in enumerate(sweep.angles):
            yield t, a, [line.name, _text(math.degrees(angle), 3), _text(travel, 2)]


def _numbers(sweep: Sweep, line: LineSweep) -> Iterator[list[str]]:
    for t, a, pose in _poses(sweep, line):
        values = (line.slack[t, a], line.taut[t, a], line.min_radius[t, a], line.tension[t, a])
        yield [*pose, *(_text(value, 3) for value in values), str(int(line.converged[t, a]))]


def _points(sweep: Sweep, line: LineSweep) -> Iterator[list[str]]:
    """Poses that are not known have no points: their shape is not to be trusted."""
    for t, a, pose in _poses(sweep, line):
        if not line.converged[t, a]:
            continue
        table = np.column_stack((line.arc, line.shapes[t, a], line.radii[t, a]))
        for row in table.tolist():
            yield [*pose, *(_text(value, 3) for value in row)]


def _text(value: float, decimals: int) -> str:
    """A plain number; "" for one that is not known; "inf" for the radius of a straight."""
    if math.isnan(value):
        return ""
    text = f"{value:.{decimals}f}"
    return "0" if not text.strip("-0.") else text
