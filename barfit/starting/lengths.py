"""Lengths of lines that a machine has not had yet, so that they fit its own stock bars."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import replace

import numpy as np

from barfit import edits
from barfit.analysis import LineSweep, sweep
from barfit.analysis.lengths import SpanNeed, span_needs
from barfit.catalogue import line_kinds
from barfit.model import Line, Setup

_STEP = math.radians(4.0)  # between turn angles: at 8° some led past a handlebar fell over it
_SNUG = 1.0  # mm over what a span needs that nothing moves (estimate)
_ROUND = 5.0  # mm


def cut_to_length(setup: Setup, names: Collection[str]) -> Setup:
    """The setup with its lines of these ``names`` as long as they need to be with the stock bars.

    Each span between fittings and clips is turned from lock to lock, fork extended to compressed,
    and gets what it needs there for reach and bends, and beyond that the slack its kind of line is
    ordered with: a maker leaves as much. Clips grip it where that puts them. A line for which no
    length is found stays as it is. Raises as `barfit.analysis.sweep` does.
    """
    swept = sweep(setup, stock=True, step=_STEP, only=names, settle=False)
    needs = span_needs(swept)
    for line in swept.lines:
        if _known(needs[line.name]):
            setup = _cut(setup, line, needs[line.name])
    return setup


def _known(needs: list[SpanNeed]) -> bool:
    return all(math.isfinite(one.least) for one in needs)


def _cut(setup: Setup, swept: LineSweep, needs: list[SpanNeed]) -> Setup:
    own = setup.line(swept.name)
    cases = [span.case for span in swept.spans]
    first = cases[0]
    begin = float(first.layout.at_length[first.first]) if first.first > 0 else 0.0
    parts = []
    for case, need in zip(cases, needs, strict=True):
        stubs = case.layout.stubs[[case.first, case.last]].sum()
        parts.append(float(need.least + stubs) + (_spare(own) if case.least > 0.0 else _SNUG))
    length = _ROUND * math.ceil((begin + sum(parts)) / _ROUND)
    moving = [k for k, case in enumerate(cases) if case.least > 0.0] or [0]
    parts[moving[-1]] += length - begin - sum(parts)
    ends = begin + np.cumsum(parts)
    grips = {
        case.layout.names[case.last]: round(float(end), 1)
        for case, end in zip(cases, ends, strict=True)
    }
    stations = tuple(
        replace(one, at_length=grips[one.name]) if one.at_length is not None else one
        for one in own.stations
    )
    return edits.change_line(setup, swept.name, length=length, stations=stations)


def _spare(line: Line) -> float:
    return line_kinds()[line.kind].target_slack
