"""How far a control can be slid along the bar before it meets what is fixed there."""

from __future__ import annotations

from dataclasses import dataclass

from barfit.geometry.pose import bar_shape
from barfit.model import BarSet, ClipOn, Control, ControlKind, Setup
from barfit.trade.sizes import clamp_width, room

# what goes under the grip or is closed round its end
_AT_THE_GRIP = (ControlKind.GRIP_HEATER, ControlKind.GRIP_SENSOR)


@dataclass(frozen=True)
class Slide:
    """The least and the most a control may be inboard of the bar end, mm, on the stock and on the
    new bars alike; and what it meets there ("the grip"), as words.
    """

    least: float
    most: float
    outward: str
    inward: str

    def held(self, inboard: float) -> tuple[float, str]:
        """The nearest place there is to one that is wanted, and what holds it; "" for nothing."""
        if inboard < self.least:
            return self.least, self.outward
        if inboard > self.most:
            return self.most, self.inward
        return inboard, ""


def slide(setup: Setup, control: Control) -> Slide:
    """How far a control can go, with all of its clamp on the tube.

    Outward to the grip, inward to the risers' clamps (or a clip-on's inner end). Where it sits
    beyond that already it may stay. Other controls do not stop it: housings share their clamps.
    Raises BarError for bars that cannot be built.
    """
    half = 0.5 * room(control).width
    outer, inner = [], []
    for barset in (setup.bars(True), setup.bars(False)):
        shape = bar_shape(setup.machine, barset)
        grip = 0.0 if control.kind in _AT_THE_GRIP else shape.grip_length
        outer.append((grip + half, "the grip" if grip else "the bar end"))
        inner.append((shape.length - _clamped(setup, barset) - half, _what_clamps(barset)))
    least, outward = max(outer)
    most, inward = min(inner)
    return Slide(min(least, control.inboard), max(most, control.inboard), outward, inward)


def _clamped(setup: Setup, barset: BarSet) -> float:
    """How much of one side of the bar, from its centre, the risers take, mm."""
    if isinstance(barset.bar, ClipOn):
        return 0.0
    return 0.5 * (setup.machine.riser_spacing + clamp_width(setup, barset.riser))


def _what_clamps(barset: BarSet) -> str:
    return "the clip-on's inner end" if isinstance(barset.bar, ClipOn) else "the riser's clamp"
