"""What a line keeps whatever its length: how it lies drawn taut, what it needs, and how that hangs
on what was measured. Found once, it is lent to lines that differ in nothing else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from barfit.analysis.drawn import Drawn
from barfit.analysis.inputs import Input, Key
from barfit.analysis.lengths import SpanNeed, span_needs
from barfit.analysis.once import Once
from barfit.analysis.slopes import Gauge, Slopes, slopes
from barfit.analysis.spans import SpanCase
from barfit.analysis.sweep import SpanSweep, Sweep
from barfit.analysis.work import Work
from barfit.mechanics.rod import State
from barfit.model import Setup

_Asked = tuple[str, tuple[Gauge, ...], tuple[tuple[Key, float], ...]]


class Lender:
    """Lends what was found for a sweep's lines to sweeps of the same lines at other lengths.

    Several threads may ask at once.
    """

    def __init__(self, swept: Sweep) -> None:
        self.swept = swept
        self._needs: Once[str, list[SpanNeed]] = Once()
        self._looked: dict[tuple[Setup, str], Sweep] = {}
        self._slopes: Once[_Asked, Slopes] = Once()

    def taut(self, case: SpanCase, angles: np.ndarray) -> Drawn | None:
        """The span that is the same but for its length, drawn taut at every pose; None where there
        is none.
        """
        if not np.array_equal(angles, self.swept.angles):
            return None
        return _alike(self.swept, case)

    def ahead(self, setup: Setup, case: SpanCase) -> State | None:
        """The rods of that span straight ahead, in a sweep that was kept of that setup."""
        looked = self._looked.get((setup, case.line.name))
        span = _alike(looked, case) if looked is not None else None
        return None if span is None else span.ahead

    def keep(self, looked: Sweep) -> None:
        """Keep a sweep: another one of its setup, at more turn angles, then begins as it did."""
        for line in looked.lines:
            self._looked[looked.setup, line.name] = looked

    def needs(self, there: Sweep, work: Work | None = None) -> dict[str, list[SpanNeed]]:
        """As `barfit.analysis.lengths.span_needs`."""
        if not self._lent(there):
            return span_needs(there, work)

        def found(name: str) -> list[SpanNeed]:
            alone = replace(self.swept, lines=(self.swept.line(name),))
            return self._needs.of(name, lambda: span_needs(alone)[name])

        return {line.name: found(line.name) for line in there.lines}

    def slopes(self, there: Sweep, gauges: Sequence[Gauge], inputs: Sequence[Input]) -> Slopes:
        """As `barfit.analysis.slopes.slopes`."""
        if len(there.lines) != 1 or not self._lent(there):
            return slopes(there, gauges, inputs)
        known = tuple((one.key, one.sd) for one in inputs)
        asked = there.lines[0].name, tuple(gauges), known
        return self._slopes.of(asked, lambda: slopes(there, gauges, inputs))

    def _lent(self, there: Sweep) -> bool:
        """Whether every span of a sweep lies drawn taut as was lent to it."""
        return all(
            len(line.spans) == len(mine.spans)
            and all(
                one.taut_edge is other.taut_edge
                for one, other in zip(line.spans, mine.spans, strict=True)
            )
            for line, mine in ((one, self.swept.line(one.name)) for one in there.lines)
        )


def _alike(swept: Sweep, case: SpanCase) -> SpanSweep | None:
    """The span of a sweep that is the same but for its length; None where there is none, or not
    all of it was solved.
    """
    for line in swept.lines:
        for span in line.spans if line.name == case.line.name else ():
            if _same_but_length(span.case, case):
                whole = span.ahead is not None and np.isfinite(span.taut_edge).all()
                return span if whole else None
    return None


def _same_but_length(one: SpanCase, other: SpanCase) -> bool:
    """Whether two spans are the same rod, held alike among the same things, but for the length."""
    plain = ("first", "last", "nodes", "min_radius", "ei", "ea", "weight", "twisting", "least")
    if any(getattr(one, name) != getattr(other, name) for name in plain):
        return False
    a, b = one.layout, other.layout
    if (a.names, a.bodies, a.holds) != (b.names, b.bodies, b.holds):
        return False
    if (one.around is None) is not (
        other.around is None
    ) or one.line.diameter != other.line.diameter:
        return False
    arrays = [(a.points, b.points), (a.directions, b.directions), (a.stubs, b.stubs)]
    if one.around is not None and other.around is not None:
        arrays += zip(one.around.solids, other.around.solids, strict=True)
        arrays.append((one.around.blind(one.line.name), other.around.blind(other.line.name)))
    return all(np.array_equal(p, q, equal_nan=True) for p, q in arrays)
