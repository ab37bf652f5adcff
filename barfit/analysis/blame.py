"""Where no length helps: the station at which a bend stays too sharp however long the line is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.analysis.lengths import LONGEST, SpanNeed
from barfit.analysis.probes import Probe, all_spans, taut_batches
from barfit.analysis.spans import SpanCase
from barfit.analysis.sweep import Sweep
from barfit.mechanics.newton import newton
from barfit.mechanics.rod import Rods, State, curvature
from barfit.mechanics.start import LET_OUT, rescue
from barfit.model import Hold


@dataclass(frozen=True)
class Blame:
    """The ``station``, held so, near which a bend stays sharper than allowed: at the best length
    its radius is ``radius`` mm. The pose (rad, mm) is the one at which no length helps. ``hole``:
    it is where the line comes out of the bar.
    """

    station: str
    hold: Hold
    radius: float
    turn: float
    travel: float
    hole: bool = False

    def words(self) -> str:
        """What is wrong and what would mend it."""
        cure = {
            Hold.FITTING: "turn that fitting",
            Hold.CLIP: "turn or move that clip",
            Hold.GUIDE: "move that guide",
        }[self.hold]
        if self.hole:
            cure = "take a hole that faces another way"
        return f"no length makes the bend near '{self.station}' wide enough: {cure}"


def blames(sweep: Sweep, needs: dict[str, list[SpanNeed]]) -> dict[str, Blame | None]:
    """For each line, by name, what is to blame where no length of one of its spans helps."""
    out: dict[str, Blame | None] = {line.name: None for line in sweep.lines}
    flat = [need for line in sweep.lines for need in needs[line.name]]
    spans = all_spans(sweep)
    stuck = [
        Probe(k, need.bend_turn, need.bend_travel)
        for k, need in enumerate(flat)
        if need.known and np.isnan(need.bend)
    ]
    for found in taut_batches(sweep, spans, stuck):
        good = np.flatnonzero(found.converged)
        rods, state = found.rods.take(good), found.state.take(good)
        for row, (sharpest, at) in zip(good, _widest(rods, state), strict=True):
            probe, case = stuck[found.rows[row]], found.cases[row]
            name = case.line.name
            if out[name] is None:
                station = _nearest(case, at)
                out[name] = Blame(
                    case.layout.names[station],
                    case.layout.holds[station],
                    1.0 / sharpest,
                    probe.turn,
                    probe.travel,
                    hole=case.layout.inside is not None and station == 1,
                )
    return out


def _widest(rods: Rods, state: State) -> list[tuple[float, np.ndarray]]:
    """For each rod the least curvature (1/mm) that its sharpest bend can have, whatever the length,
    and how far along (share of the rod) from that bend each station is, first to last."""
    best = np.full(rods.size, np.inf)
    away: list[np.ndarray] = [np.empty(0)] * rods.size
    rows = np.arange(rods.size)
    longest = LONGEST * state.length + 60.0
    while len(rows):
        bend = curvature(rods.take(rows), state)
        for k, row in enumerate(rows):
            if bend[k].max() < best[row]:
                best[row] = bend[k].max()
                top = state.nodes.shape[1] - 1
                used = rods.guide_stiffness[row] > 0.0
                at = np.concatenate(([0.0], state.guide_at[k][used], [float(top)]))
                away[row] = np.abs(at - float(bend[k].argmax())) / top
        state.edge = state.edge * (1.0 + LET_OUT)
        outcome = newton(rods.take(rows), state)
        rescue(rods.take(rows), state, outcome)
        stay = np.flatnonzero(outcome.converged & (state.length < longest[rows]))
        rows, state = rows[stay], state.take(stay)
    return list(zip(best, away, strict=True))


def _nearest(case: SpanCase, away: np.ndarray) -> int:
    """The number of the station of a span that is least far away."""
    return case.first + int(np.argmin(away))
