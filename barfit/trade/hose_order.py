"""Which hoses have to be replaced, how long the new one is, and how it then lies."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis import LineFinding, LineSweep, Sweep, Verdict, sweep
from barfit.catalogue import line_kinds
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


def needs_replacing(finding: LineFinding) -> bool:
    """Whether a hose has to go: it is too short or too long, and sliding its clips is no cure."""
    if finding.verdict is Verdict.TOO_LONG:
        return True
    clipped = finding.clipped
    if clipped is not None and clipped.slides and clipped.total_short == 0.0:
        return False
    wrong = (Verdict.SHORT, Verdict.MARGINAL, Verdict.BEND_TOO_TIGHT, Verdict.PINCHED)
    return finding.verdict in wrong and finding.margin < 0.0


def order_length(finding: LineFinding, line: Line) -> float:
    """The length to order, mm: what is needed with the slack to aim for instead of the least, up
    to the next size of those sold in steps from the one that is there. nan where not known.
    """
    step = line_kinds()[line.kind].increment
    wanted = finding.needed - finding.least + finding.target
    if not math.isfinite(wanted):
        return math.nan
    return line.length + math.ceil((wanted - line.length) / step - 1e-9) * step


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
    swept: Sweep, found: Mapping[str, LineFinding], lengths: Mapping[str, float]
) -> dict[str, Laid]:
    """Every line as it will be: as swept, or turned once more at the length to order.

    ``lengths`` are those to order, by line name. Raises what `barfit.analysis.sweep` raises.
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
        again = sweep(replace(setup, lines=longer), stock=swept.stock)
        laid |= {line.name: Laid(again, again.line(line.name), line.length) for line in longer}
    return laid
