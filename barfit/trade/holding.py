"""Whether a line is properly laid: how far it may hang between two holds, what it may lie on.

A maker's own layout is the measure: what is no worse than with the stock bars is no fault.
"""

from __future__ import annotations

from collections.abc import Iterable

from barfit.analysis.obstacles import BAR
from barfit.analysis.touching import RUB_FORCE, Touch
from barfit.model import BarPlace, Line, Machine, Role

# Common practice: no more of a line than this (mm) hangs between two holds, unless its maker let as
# much hang. Aircraft, where nothing steers past it, allow 24 in between supports of a hose (FAA
# AC 43.13-1B, from memory); at the bars the loop has to be held closer. The number is an estimate.
HANGS = 450.0
_NO_FARTHER = 1.1  # times what hung before is as much; estimate
PRESSED = 20.0  # N on a hard part that does not slide along the line: more flattens it; estimate
HARMFUL = (Role.ENGINE, Role.STOP)  # what is hot, and what strikes


def hangs(unheld: float, before: float) -> bool:
    """Whether ``unheld`` mm between two holds are too many, the longest stretch of the line being
    ``before`` mm with all its holds; not where it is not known (nan).
    """
    return unheld > max(HANGS, _NO_FARTHER * before)


def lies_on(
    machine: Machine, line: Line, now: Iterable[Touch], stock: Iterable[Touch]
) -> tuple[str, ...]:
    """The parts that a line lies on and should not, the hardest pressed first: what is hot or
    strikes and is touched at all, what is hard and pressed harder than `PRESSED`. What is tied
    to the bar may lie on it.

    ``now`` and ``stock`` are what it touches, as it would be and with the stock bars: pressed as
    hard with these, a part is none of them.
    """
    roles = {solid.name: solid.role for solid in machine.solids}
    was = {touch.part: touch.force for touch in stock}
    tied = any(isinstance(station.place, BarPlace) for station in line.stations)

    def wrong(touch: Touch) -> bool:
        if roles.get(touch.part) in HARMFUL:
            return touch.part not in was or touch.force > was[touch.part] + RUB_FORCE
        return touch.force > max(PRESSED, was.get(touch.part, 0.0) + RUB_FORCE)

    return tuple(
        touch.part
        for touch in sorted(now, key=lambda one: -one.force)
        if wrong(touch) and not (tied and touch.part == BAR)
    )
