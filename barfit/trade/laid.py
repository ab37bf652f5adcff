"""How lines lie once those that have to be replaced have the length to order."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis import LineFinding, LineSweep, Sweep, sweep
from barfit.model import Line


@dataclass(frozen=True, eq=False)
class Laid:
    """A line as it lies: in which sweep, and its length, mm; nan where that is not known."""

    sweep: Sweep
    line: LineSweep
    length: float

    @property
    def known(self) -> bool:
        """Whether it lies here at the length it is to have."""
        return math.isfinite(self.length)


def at_length(line: Line, finding: LineFinding, length: float) -> Line:
    """The line at another length, its clips moved along it so that every span keeps what it needs:
    what is added goes to the spans that are short, the rest to the one with least to spare.
    """
    clipped = finding.clipped
    if clipped is None:
        return replace(line, length=length, found_slack=None)
    spare = np.array([span.spare for span in clipped.spans])
    grown = np.maximum(-spare, 0.0) if length > line.length else np.zeros_like(spare)
    left = length - line.length - grown.sum()
    grown[int(np.argmin(spare) if left > 0.0 else np.argmax(spare + grown))] += left
    further = iter(np.cumsum(grown))
    stations = tuple(
        station
        if station.at_length is None
        else replace(station, at_length=station.at_length + float(next(further)))
        for station in line.stations
    )
    return replace(line, length=length, stations=stations, found_slack=None)


def lay_out(
    swept: Sweep,
    found: Mapping[str, LineFinding],
    lengths: Mapping[str, float],
    step: float = math.radians(1.0),
) -> dict[str, Laid]:
    """Every line as it will be: as swept, or turned once more at the length to order.

    ``lengths`` are those to order, by line name; ``step``, rad, is between the turn angles of
    those. Raises what `barfit.analysis.sweep` raises.
    """
    setup = swept.setup
    laid = {
        line.name: Laid(swept, swept.line(line.name), lengths.get(line.name, line.length))
        for line in setup.lines
    }
    longer = tuple(
        at_length(setup.line(name), found[name], length)
        for name, length in lengths.items()
        if math.isfinite(length)
    )
    if longer:
        again = sweep(replace(setup, lines=longer), stock=swept.stock, step=step)
        laid |= {line.name: Laid(again, again.line(line.name), line.length) for line in longer}
    return laid
