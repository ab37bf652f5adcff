"""The rods of a finished sweep, as the solver left them: one batch per span, one rod per pose."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from barfit.analysis.spans import batch, held
from barfit.analysis.sweep import LineSweep, SpanSweep, Sweep
from barfit.mechanics.reactions import edge_tensions
from barfit.mechanics.rod import Rods, State

_TOUCH = 1e-6  # mm, what two places along a line may differ by and be the same


def at_rest(sweep: Sweep, swept: LineSweep, span: SpanSweep) -> tuple[Rods, State, np.ndarray]:
    """The rods of one span at every pose, their state, and which of them are at rest.

    The batch runs over suspension positions first, then turn angles: (T·A,) rods. Not at rest
    (False in the last array) are those that did not converge, and those laid along their taut path
    because the line is too short there; their nodes are nan.
    """
    case = span.case
    turns, travels = (grid.ravel() for grid in np.meshgrid(sweep.angles, swept.travels))
    one, moving = batch([case], [held(sweep.setup, case, turns, travels)])
    rods = replace(
        one.take(np.zeros(turns.size, int)),
        **{name: value[:, 0] for name, value in vars(moving).items()},
    )
    edge = np.full(turns.size, case.length / (case.nodes - 1))
    reaches = (span.taut_edge.ravel() <= edge) & (span.slack.ravel() >= 0.0)
    good = swept.converged.ravel() & reaches
    inside = (swept.arc > case.start_at - _TOUCH) & (swept.arc < case.end_at + _TOUCH)
    nodes = swept.shapes[:, :, inside].reshape(turns.size, case.nodes, 3)
    at = swept.stations_at[:, :, case.first + 1 : case.last].reshape(turns.size, -1)
    state = State(
        np.where(good[:, None, None], nodes, np.nan),
        np.zeros((turns.size, case.nodes - 1)),
        edge,
        (at - case.start_at) / edge[:, None],
        np.zeros(rods.guides.shape),
    )
    state.tensions = edge_tensions(rods, state)
    return rods, state, good
