"""Dimensions that can hardly be meant: far from what is usual, as when inches stand in a mm file.

They are doubts and not errors: somebody may have built just that. Lower and upper ends of what is
usual are common practice for bars, locks and forks of road machines, the rest estimates; they are
wide, so that a doubt is worth reading.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from barfit.catalogue import line_kinds
from barfit.model import Bar, Line, Setup

MM_PER_INCH = 25.4  # exact


@dataclass(frozen=True)
class Usual:
    """What is usual of a dimension: ``low`` to ``high``, mm or (``angle``) rad; ``besides``, a
    single value that is usual too; ``source``, where that comes from.
    """

    low: float
    high: float
    angle: bool = False
    besides: float | None = None
    source: str = "estimate"

    def holds(self, value: float) -> bool:
        """Whether a value is usual."""
        return self.low <= value <= self.high or value == self.besides


@dataclass(frozen=True)
class Unusual:
    """The dimension ``what`` of ``thing`` and what would be usual of it.

    ``meant``: the unit ("in", "mm") in which the bare number would be usual, "" where in neither.
    """

    thing: str
    what: str
    value: float
    usual: Usual
    meant: str = ""


def _degrees(low: float, high: float, source: str = "estimate") -> Usual:
    return Usual(math.radians(low), math.radians(high), angle=True, source=source)


PRACTICE = "common practice"

BAR: Mapping[str, tuple[str, Usual]] = {
    "width": ("width", Usual(550.0, 1050.0, source=PRACTICE)),
    "rise": ("rise", Usual(25.0, 510.0, besides=0.0, source=PRACTICE)),  # 0: a flat bar
    "pullback": ("pullback", Usual(25.0, 420.0, source=PRACTICE)),
    "centre_width": ("width between the lower corners", Usual(80.0, 350.0)),
    "tube_diameter": ("tube diameter", Usual(20.0, 40.0, source=PRACTICE)),
    "grip_diameter": ("diameter at the grips", Usual(20.0, 30.0, source=PRACTICE)),
    "sweep": ("sweep", _degrees(-5.0, 60.0)),
    "downsweep": ("downsweep", _degrees(-25.0, 40.0)),
}
CLIP_ON: Mapping[str, tuple[str, Usual]] = {
    "length": ("length", Usual(150.0, 400.0)),
    "tube_diameter": BAR["tube_diameter"],
    "grip_diameter": BAR["grip_diameter"],
}
RISER: Mapping[str, tuple[str, Usual]] = {
    "height": ("height", Usual(5.0, 400.0, besides=0.0)),
}
MACHINE: Mapping[str, tuple[str, Usual]] = {
    "rake": ("rake", _degrees(18.0, 45.0, PRACTICE)),
    "lock_left": ("lock to the left", _degrees(20.0, 60.0, PRACTICE)),
    "lock_right": ("lock to the right", _degrees(20.0, 60.0, PRACTICE)),
    "fork_length": ("length of the fork", Usual(400.0, 1300.0)),
    "fork_spread": ("spread of the fork tubes", Usual(120.0, 320.0)),
    "fork_tube_diameter": ("diameter of the fork tubes", Usual(22.0, 65.0, source=PRACTICE)),
    "travel": ("travel of the fork", Usual(40.0, 360.0, besides=0.0, source=PRACTICE)),
    "wheel_radius": ("radius of the front wheel", Usual(170.0, 420.0)),
}
LENGTH = Usual(150.0, 3500.0)
DIAMETER: Mapping[str, Usual] = {
    "cable": Usual(3.0, 14.0),
    "hose": Usual(4.0, 20.0),
    "harness": Usual(3.0, 35.0),
    "lead": Usual(1.5, 16.0),
}


def unusual(setup: Setup, stock: bool) -> tuple[Unusual, ...]:
    """Every dimension of the machine, of these bars and of the lines that is far from usual."""
    bars, which = setup.bars(stock), "stock" if stock else "new"
    found = [*_rows("machine", setup.machine, MACHINE, setup.unit)]
    bar = BAR if isinstance(bars.bar, Bar) else CLIP_ON
    found += _rows(f"{which} bar", bars.bar, bar, setup.unit)
    if isinstance(bars.bar, Bar):
        found += _rows(f"{which} riser", bars.riser, RISER, setup.unit)
    for line in setup.lines:
        found += _line(line, setup.unit)
    return tuple(found)


def _rows(
    thing: str, part: object, rows: Mapping[str, tuple[str, Usual]], unit: str
) -> Iterator[Unusual]:
    for name, (what, usual) in rows.items():
        yield from _judged(thing, what, float(getattr(part, name)), usual, unit)


def _line(line: Line, unit: str) -> Iterator[Unusual]:
    yield from _judged(line.name, "length", line.length, LENGTH, unit)
    family = line_kinds()[line.kind].family
    yield from _judged(line.name, "diameter", line.diameter, DIAMETER[family], unit)


def _judged(thing: str, what: str, value: float, usual: Usual, unit: str) -> Iterator[Unusual]:
    if usual.holds(value):
        return
    meant = ""
    if not usual.angle:
        other, factor = ("in", MM_PER_INCH) if unit == "mm" else ("mm", 1.0 / MM_PER_INCH)
        meant = other if usual.low <= value * factor <= usual.high else ""
    yield Unusual(thing, what, value, usual, meant)
