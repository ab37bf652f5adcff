"""What a line lacks, and the same setup turned again with the line that much longer."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from barfit.analysis import LineFinding, Sweep, sweep
from barfit.catalogue import line_kinds
from barfit.model import Hold, Line

# Between the turn angles at which a lengthened line is laid out. At 8° one fell into another shape.
STEP = math.radians(3.0)


def growths(finding: LineFinding, line: Line) -> tuple[float, ...]:
    """By how much each stretch between two fittings or clips has to grow, whole mm.

    What it is short of the length it needs, and then from the least slack up to the slack to aim
    for, as far as the longest sensible length allows. All 0 where the line needs no more than it
    has, or its clips can be slid; nan where that is not known.
    """
    kind = line_kinds()[line.kind]
    spans = len(finding.clipped.spans) if finding.clipped else 1
    if math.isnan(finding.margin):
        return (math.nan,) * spans
    if finding.margin >= 0.0 or (finding.clipped and finding.clipped.cured):
        return (0.0,) * spans
    aim = kind.target_slack - kind.least_slack
    if finding.clipped:
        short = [-span.spare for span in finding.clipped.spans]
        return tuple(math.ceil(lack + aim) if lack > 0.0 else 0.0 for lack in short)
    lack = -finding.margin
    longest = finding.window.longest if finding.window else math.nan
    if math.isfinite(longest):
        aim = max(min(aim, longest - line.length - lack), 0.0)
    return (float(math.ceil(lack + aim)),)


def grown(line: Line, by: tuple[float, ...]) -> Line:
    """The line with its stretches that much longer; its clips grip it where they then have to."""
    stations, so_far, stretch = [], 0.0, 0
    for station in line.stations:
        if station.hold is Hold.CLIP:
            so_far += by[stretch]
            stretch += 1
            station = replace(station, at_length=(station.at_length or 0.0) + so_far)
        stations.append(station)
    return replace(line, length=line.length + sum(by), stations=tuple(stations))


def lengthened(swept: Sweep, by: Mapping[str, tuple[float, ...]]) -> Sweep | None:
    """The setup turned again with nothing but the lines that grow, as long as they will be.

    None where no line grows. Clips of lines that are left out are in nobody's way.
    """
    lines = tuple(
        grown(line, by[line.name])
        for line in swept.setup.lines
        if line.name in by and sum(by[line.name]) > 0.0
    )
    if not lines:
        return None
    return sweep(replace(swept.setup, lines=lines), stock=swept.stock, step=STEP)
