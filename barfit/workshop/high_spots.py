"""Where air stays in the hoses of a circuit: where it has to be looked for when one bleeds."""

from __future__ import annotations

from dataclasses import dataclass

from barfit.trade import Hydraulics
from barfit.trade.circuits import Circuit


@dataclass(frozen=True)
class HighSpot:
    """A place of a hose in which air stays, ``along`` mm from its first station, ``after``."""

    line: str
    after: str
    along: float


def high_spots(figures: Hydraulics | None, circuit: Circuit) -> tuple[HighSpot, ...]:
    """Those of the hoses of a circuit, in order; none where nothing is known of them."""
    if figures is None:
        return ()
    starts = {one.line.name: one.line.stations[0].name for one in circuit.sections}
    return tuple(
        HighSpot(hose.line, starts[hose.line], rise.at)
        for hose in figures.hoses
        if hose.line in starts
        for rise in hose.lie.rises
    )
