"""What the turn strip shows of a result, as plain data."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis import LineFinding, LineSweep, Sweep, Verdict
from barfit.compare import Trial
from barfit.report.facts import fork_only
from barfit.report.phrases import capital
from barfit.scene.colours import SCALES, Colour
from barfit.session import Result, travel_row


@dataclass(frozen=True, eq=False)
class Ribbon:
    """One line over the turn, at one suspension position.

    ``slack`` (A,) mm, nan where not known; ``colours`` (A, 3) from 0 to 255. ``mark_turn`` rad is
    where the worst pose lies; ``mark_here`` says whether it is at this suspension position.
    ``fork`` says where a line is short that is short away from ride height only ("with the fork
    extended"); ``short_here`` whether it is at this suspension position. ``way`` names another way
    for the line to go, "" for the one it goes now.
    """

    name: str
    verdict: Verdict
    slack: np.ndarray
    colours: np.ndarray
    mark_turn: float
    mark_here: bool
    fork: str = ""
    short_here: bool = True
    way: str = ""

    @property
    def label(self) -> str:
        """What stands beside it."""
        return f"or: {self.way}" if self.way else capital(self.name)

    @property
    def verdict_words(self) -> str:
        """The verdict, and the fork's position where it holds for that alone."""
        return f"{self.verdict} {self.fork}".strip()


def ribbons(result: Result, travel: float, mode: Colour, unknown: str) -> tuple[Ribbon, ...]:
    """A ribbon per line at the suspension position nearest to ``travel`` (mm).

    Coloured like the line in the viewport: by the same scale, ``unknown`` where not known.
    """
    return tuple(
        _ribbon(result.sweep.line(finding.line), finding, travel, mode, unknown)
        for finding in result.findings
    )


def with_way(
    rows: tuple[Ribbon, ...],
    trial: Trial,
    line: str,
    way: str,
    travel: float,
    mode: Colour,
    unknown: str,
) -> tuple[Ribbon, ...]:
    """The rows with another way for one of the lines to go under its own."""
    swept = trial.sweep.line(line)
    other = replace(_ribbon(swept, trial.finding(line), travel, mode, unknown), way=way)
    return tuple(one for row in rows for one in ((row, other) if row.name == line else (row,)))


def _ribbon(
    line: LineSweep, finding: LineFinding, travel: float, mode: Colour, unknown: str
) -> Ribbon:
    row = travel_row(line, travel)
    slack = np.where(line.converged[row], line.slack[row], np.nan)
    values = {
        Colour.SLACK: slack,
        Colour.BEND: line.min_radius[row] / finding.allowed_radius,
        Colour.PULL: line.tension[row],
    }[mode]
    colours = SCALES[mode].colours(values, unknown)
    turn = finding.worst_turn
    here = travel_row(line, finding.worst_travel) == row
    if finding.verdict is Verdict.BEND_TOO_TIGHT:
        turn, here = finding.radius_turn, True
    fork = fork_only(finding, line)
    short = bool((slack < 0.0).any())
    return Ribbon(finding.line, finding.verdict, slack, colours, turn, here, fork, short)


def stretches(angles: np.ndarray, values: np.ndarray) -> list[tuple[float, float]]:
    """The intervals (rad) over which ``values`` (A,) are below zero, ends between two angles
    by straight line. Unknown values (nan) belong to none.
    """
    found: list[tuple[float, float]] = []
    start: float | None = None
    for here in range(len(angles)):
        below = values[here] < 0
        before = here > 0 and values[here - 1] < 0
        if below and not before:
            start = _crossing(angles, values, here - 1) if here else float(angles[0])
        elif before and not below:
            assert start is not None
            found.append((start, _crossing(angles, values, here - 1)))
            start = None
    if start is not None:
        found.append((start, float(angles[-1])))
    return found


def unknown_stretches(sweep: Sweep, values: np.ndarray) -> list[tuple[float, float]]:
    """The intervals (rad) over which ``values`` (A,) are nan, half a step beyond on each side."""
    angles = sweep.angles
    middles = (angles[1:] + angles[:-1]) / 2
    edges = np.concatenate([angles[:1], middles, angles[-1:]])
    found: list[tuple[float, float]] = []
    for at in np.flatnonzero(np.isnan(values)):
        if found and found[-1][1] == edges[at]:
            found[-1] = (found[-1][0], float(edges[at + 1]))
        else:
            found.append((float(edges[at]), float(edges[at + 1])))
    return found


def _crossing(angles: np.ndarray, values: np.ndarray, at: int) -> float:
    """Where the straight line between two neighbours crosses zero; midway beside a nan."""
    a, b = values[at], values[at + 1]
    part = 0.5 if np.isnan(a) or np.isnan(b) else a / (a - b)
    return float(angles[at] + part * (angles[at + 1] - angles[at]))
