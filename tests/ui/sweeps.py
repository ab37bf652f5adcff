"""Made-up results for a bundled setup. No Qt.

The slack is a plain curve over the turn, so that a test can say what the window must show.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np

from barfit import catalogue, scenario
from barfit.analysis import LineFinding, LineSweep, Sweep, Verdict
from barfit.analysis.stops import LineStops, Stop
from barfit.geometry.pose import layout, sweep_angles, travels
from barfit.model import Line, Setup
from barfit.remedies import Remedies, Tell
from barfit.session import Result

POINTS = 21


@cache
def setup(stem: str = "tall-bar-cruiser") -> Setup:
    """A bundled setup by its file's name."""
    return scenario.load(path(stem))


def path(stem: str = "tall-bar-cruiser") -> Path:
    """The file of a bundled setup."""
    return next(path for path in scenario.bundled() if path.stem == stem)


def slack_of(number: int, stock: bool, turn: np.ndarray) -> np.ndarray:
    """What the made-up line of that number has to spare, mm, at turns (rad).

    With new bars: line 0 goes tight at 20° left, line 1 at 10° right, the rest have spare.
    """
    degrees = np.degrees(turn)
    if stock or number > 1:
        return 40.0 + 5.0 * number - 0.2 * np.abs(degrees)
    return 20.0 - degrees if number == 0 else 30.0 + 3.0 * degrees


@cache
def result(setup: Setup, stock: bool = False) -> Result:
    """A made-up result for every line of a setup."""
    angles = sweep_angles(setup.machine)
    places = layout(setup, setup.bars(stock))
    made = [
        _line(line, number, stock, angles, travels(setup.machine), places[line.name].points)
        for number, line in enumerate(setup.lines)
    ]
    sweep = Sweep(setup, stock, angles, tuple(swept for swept, _ in made))
    return Result(sweep, tuple(finding for _, finding in made))


def compute(
    setup: Setup,
    stock: bool,
    progress: Callable[[float], None],
    cancelled: Callable[[], bool],
) -> Result:
    """Stands in for the real computation."""
    progress(0.5)
    return result(setup, stock)


def _line(
    line: Line, number: int, stock: bool, angles: np.ndarray, heights: np.ndarray, ends: np.ndarray
) -> tuple[LineSweep, LineFinding]:
    slack = np.tile(slack_of(number, stock, angles), (3, 1))
    slack[0] -= 5.0  # worst with the fork extended
    kind = catalogue.line_kinds()[line.kind]
    front = slack.shape
    stations = len(line.stations)
    part = np.linspace(0.0, 1.0, POINTS)[:, None]
    known = ends[~np.isnan(ends).any(axis=1)]
    shape = known[0] * (1 - part) + known[-1] * part
    swept = LineSweep(
        name=line.name,
        travels=heights,
        taut=line.length - slack,
        slack=slack,
        min_radius=np.full(front, 90.0),
        tension=np.maximum(-slack, 0.0),
        converged=np.ones(front, bool),
        same_way_back=np.ones(front, bool),
        shapes=np.broadcast_to(shape, (*front, POINTS, 3)),
        arc=np.linspace(0.0, line.length, POINTS),
        stations_at=np.broadcast_to(np.linspace(0, line.length, stations), (*front, stations)),
        segment_slack=np.repeat(slack[..., None], stations - 1, axis=-1),
        radii=np.full((*front, POINTS), 90.0),
    )
    worst = int(slack[0].argmin())
    least = float(slack.min())
    crossing = np.flatnonzero(slack[0] < 0)
    right = [angles[at] for at in crossing if angles[at] < 0]
    left = [angles[at] for at in crossing if angles[at] > 0]
    finding = LineFinding(
        line=line.name,
        verdict=Verdict.SHORT if least < 0 else Verdict.REACHES,
        installed=line.length,
        slack=least,
        worst_turn=float(angles[worst]),
        worst_travel=float(heights[0]),
        excess=float(slack.max()),
        taut_length=line.length - least,
        bend_length=0.0,
        needed=line.length - least + kind.least_slack,
        margin=least - kind.least_slack,
        least=kind.least_slack,
        target=kind.target_slack,
        max_excess=70.0,
        min_radius=90.0,
        radius_turn=float(angles[worst]),
        allowed_radius=kind.min_radius,
        stops=LineStops(
            Stop(float(max(right)), 0.0) if right else None,
            Stop(float(min(left)), 0.0) if left else None,
        ),
    )
    return swept, finding


def propose(
    setup: Setup,
    progress: Callable[[float], None],
    cancelled: Callable[[], bool],
    tell: Tell,
) -> tuple[Remedies, ...]:
    """Stands in for the search for remedies."""
    return ()
