"""The finished sweep of a bundled machine against Kirchhoff's equations, line by line at the locks.

What the verdicts rest on (meshes, guides, warm starts, extrapolation) is checked here as it is
used, and not only rod by rod.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np

from barfit.analysis import sweep
from barfit.analysis.spans import held
from barfit.analysis.sweep import LineSweep, SpanSweep
from barfit.analysis.tables import PULL
from barfit.bench.check import Check, Rule
from barfit.bench.kirchhoff import Clamped, Effort, Reference, settle_bvp, taut_bvp
from barfit.bench.speed import bundled_setup
from barfit.model import Setup

_SOURCE = "Kirchhoff's equations, solve_bvp, with rings"


def lines_at_the_locks() -> list[Check]:
    """Shape and taut length of every span at both locks, with the stock bars."""
    setup = bundled_setup()
    swept = sweep(setup, stock=True, contact=False)
    found = []
    for line in swept.lines:
        for number, span in enumerate(line.spans):
            part = f", span {number + 1}" if len(line.spans) > 1 else ""
            for pose, side in ((0, "right"), (len(swept.angles) - 1, "left")):
                case = f"{line.name}{part}, {side} lock"
                turn = float(swept.angles[pose])
                found += _span_checks(case, setup, line, span, turn, pose)
    return found


def _span_checks(
    name: str, setup: Setup, line: LineSweep, span: SpanSweep, turn: float, pose: int
) -> list[Check]:
    case, travel = span.case, float(line.travels[0])
    start, first, end, last, rings = (
        value[0] for value in held(setup, case, np.array([turn]), np.array([travel]))[:5]
    )
    ends = Clamped(start, first, end, last, case.ei, case.weight, rings)
    drawn = _first(partial(taut_bvp, ends, PULL, span.taut_nodes[0, pose]))
    length = span.taut_length[0, pose] if drawn.converged else np.nan
    found = [Check(name, "taut length, mm", _SOURCE, drawn.length, float(length), 1e-3)]
    if span.slack[0, pose] > 0:
        flexible = (line.arc > case.start_at - 1e-6) & (line.arc < case.end_at + 1e-6)
        points = line.shapes[0, pose, flexible]
        twisted = replace(ends, twisting_moment=float(span.twist_moment[0, pose]))
        exact = _pushed(twisted, case.length, case.ea, points)
        at = np.linspace(0, exact.length, len(points))
        off = float(np.linalg.norm(points - exact.at(at), axis=1).max())
        off = off if exact.converged else np.nan
        found.append(Check(name, "worst point, mm", _SOURCE, 0.5, off, rule=Rule.AT_MOST))
    return found


def _pushed(ends: Clamped, length: float, stiffness: float, points: np.ndarray) -> Reference:
    """The rod at rest at the length its own tension stretches or pushes it to.

    A line's axial stiffness is real in a sweep, and the reference knows no stretch: its length is
    that of the line times 1 + mean tension / EA, found by repetition.
    """
    now = length
    for _ in range(4):
        exact = _first(partial(settle_bvp, ends, now, points))
        if not exact.converged:
            break
        now = length * (1 + float(exact.tensions.mean()) / stiffness)
    return exact


def _first(solve: Callable[[Effort], Reference]) -> Reference:
    """The first that converges; one mesh or another may not, from a coarse shape through rings."""
    for mesh in (15, 81, 41):
        found = solve(Effort(1e-5, mesh))
        if found.converged:
            break
    return found


GROUPS: tuple[Callable[[], list[Check]], ...] = (lines_at_the_locks,)
