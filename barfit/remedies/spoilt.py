"""What a change of the bar or of a control does to the bar's other figures: hands and hard parts,
reservoirs, straights, clamps and the heights that a place allows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from barfit.model import Setup
from barfit.trade.clearances import clearances
from barfit.trade.judged import Grade, Judged
from barfit.trade.on_bar import fit_figures, reservoir_figures, straight_figures
from barfit.trade.rider import height_figures, seat_point
from barfit.trade.sizes import room

_BAD = (Grade.CAUTION, Grade.REJECT)
_TELLING = {"mm": 1.0, "rad": math.radians(1.0)}  # less than that is no worse than it was


@dataclass(frozen=True)
class Spoilt:
    """A figure that is not as it should be with a change made.

    ``what`` names it, as the remark about it is named; ``about`` is the control or the side;
    ``part`` of the bar comes near the ``other``, "" for nothing. ``unit`` is mm or rad.
    ``was`` is the same as it is now.
    """

    what: str
    about: str
    now: Judged
    was: Judged
    part: str = ""
    other: str = ""
    unit: str = "mm"

    @property
    def worse(self) -> bool:
        """Whether the change makes it worse, not only leaves it as bad as it is."""
        if self.was.grade not in _BAD:
            return True
        return self._off(self.now) > self._off(self.was) + _TELLING[self.unit]

    @property
    def forbids(self) -> bool:
        """Whether it makes the bars not acceptable."""
        return self.now.grade is Grade.REJECT

    @staticmethod
    def _off(one: Judged) -> float:
        return abs(one.value - one.limit)


def spoilt(before: Setup, after: Setup) -> tuple[Spoilt, ...]:
    """What is not as it should be in a changed setup: all that is worse than before, and what
    forbids the bars as it did before.
    """
    was = {(one.what, one.about): one.judged for one in _figures(before)}
    found = [
        Spoilt(
            one.what,
            one.about,
            one.judged,
            was.get((one.what, one.about), one.judged),
            one.part,
            one.other,
            one.unit,
        )
        for one in _figures(after)
        if one.judged.grade in _BAD
    ]
    return tuple(one for one in found if one.worse or one.forbids)


@dataclass(frozen=True)
class _Figure:
    """A figure of the bar; fields as in `Spoilt`."""

    what: str
    about: str
    judged: Judged
    part: str = ""
    other: str = ""
    unit: str = "mm"


@lru_cache(maxsize=64)
def _figures(setup: Setup) -> tuple[_Figure, ...]:
    """Every figure of the bar. Those of lines, which a change may move, are not among them."""
    new, stock = setup.new, setup.stock
    found: list[_Figure] = []
    for one in clearances(setup, new, stock):
        what = "hand_gap" if one.hand else "hard_gap"
        about = f"{one.side} hand" if one.hand else f"{one.side} controls and bar"
        found.append(_Figure(what, about, one.gap, one.part, one.other))
    for control in setup.controls:
        if room(control).reservoir is None:
            continue
        lid = reservoir_figures(setup, new, stock, control)
        for what, judged in (
            ("reservoir_tilt_straight", lid.straight),
            ("reservoir_tilt", lid.worst),
            ("reservoir_tilt_parked", lid.parked),
        ):
            found.append(_Figure(what, control.name, judged, unit="rad"))
    for end in straight_figures(setup, new, stock):
        found.append(_Figure("bar_straight", str(end.side), end.straight, end.outermost))
    clamped = fit_figures(setup, new, stock).clamp_spare
    if clamped is not None:
        found.append(_Figure("clamp_spare", "", clamped))
    heights = height_figures(setup, False, seat_point(setup)[0])
    for what, judged in (
        ("height_over_seat", heights.over_seat),
        ("height_over_shoulders", heights.over_shoulders),
        ("height_over_fastening", heights.over_fastening),
        ("overall_width", heights.width),
    ):
        found.append(_Figure(what, "", judged))
    return tuple(found)
