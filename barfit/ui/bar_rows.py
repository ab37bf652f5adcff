"""The trade dimensions of the bars, stock against new, as rows of text. No Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass

from barfit.model import Bar, BarSet, ClipOn
from barfit.ui.words import length_text
from barfit.units import format_angle, format_length

TERMS = {
    "Width": "Overall width, bar end to bar end.",
    "Rise": "How far the grips stand above the clamp centre, measured to the inner end of the\n"
    "hand straight.",
    "Pullback": "How far the bar ends lie behind the clamp centre.",
    "Centre width": "Between the two lower corners of the bar, where it leaves the centre.",
    "Tube": "Outside diameter of the bar in the clamp. The clamps must be of the same size.",
    "Sweep": "Angle by which the hand straight points rearward.",
    "Downsweep": "Angle by which the hand straight points down.",
    "Roll": "How far the bar is turned in its clamp. Positive rolls the grips rearward.",
    "Riser": "Height of the risers between the top clamp and the bar.",
    "Setback": "How far the risers move the bar to the rear.",
    "Clamp height": "Height of the clip-on's clamp over the top clamp; negative is below it.",
    "Length": "From the fork tube's clamp to the bar end.",
}


@dataclass(frozen=True)
class BarRow:
    """One dimension: its trade name, stock and new as text, and the difference, "" for none."""

    term: str
    stock: str
    new: str
    difference: str


def bar_rows(stock: BarSet, new: BarSet, unit: str) -> tuple[BarRow, ...]:
    """The dimensions both bars can be compared by, then those only one of them has.

    What is nought on both, such as a roll or a setback nobody uses, is left out.
    """
    ours, theirs = _dimensions(stock), _dimensions(new)
    terms = [*ours, *(term for term in theirs if term not in ours)]
    terms = [term for term in terms if not (_nought(ours, term) and _nought(theirs, term))]
    return tuple(_row(term, ours.get(term), theirs.get(term), unit) for term in terms)


@dataclass(frozen=True)
class _Angle:
    value: float


@dataclass(frozen=True)
class _Diameter:
    value: float


_Value = float | _Angle | _Diameter


def _dimensions(bars: BarSet) -> dict[str, _Value]:
    bar = bars.bar
    found: dict[str, _Value]
    if isinstance(bar, Bar):
        found = {
            "Width": bar.width,
            "Rise": bar.rise,
            "Pullback": bar.pullback,
            "Centre width": bar.centre_width,
        }
    else:
        found = {"Clamp height": bar.height, "Length": bar.length}
    found |= {
        "Tube": _Diameter(bar.tube_diameter),
        "Sweep": _Angle(bar.sweep),
        "Downsweep": _Angle(bar.downsweep),
        "Roll": _Angle(bar.roll),
    }
    if not isinstance(bar, ClipOn):
        found |= {"Riser": bars.riser.height, "Setback": bars.riser.setback}
    return found


def _nought(dimensions: dict[str, _Value], term: str) -> bool:
    value = dimensions.get(term, 0.0)
    return (value if isinstance(value, float | int) else value.value) == 0.0


def _row(term: str, stock: _Value | None, new: _Value | None, unit: str) -> BarRow:
    difference = ""
    if stock is not None and new is not None:
        change = _text(_minus(new, stock), unit, signed=True)
        nothing = _text(_minus(stock, stock), unit, signed=True)
        difference = "" if change == nothing else change
    return BarRow(term, _text(stock, unit), _text(new, unit), difference)


def _minus(a: _Value, b: _Value) -> _Value:
    """The difference, of the same kind."""
    if isinstance(a, _Angle) and isinstance(b, _Angle):
        return _Angle(a.value - b.value)
    if isinstance(a, _Diameter) and isinstance(b, _Diameter):
        return _Diameter(a.value - b.value)
    assert isinstance(a, float | int)
    assert isinstance(b, float | int)
    return a - b


def _text(value: _Value | None, unit: str, signed: bool = False) -> str:
    """Lengths without their unit, which heads the table; a tube's diameter to a tenth of a mm."""
    if value is None:
        return "–"
    if isinstance(value, _Angle):
        degrees = round(math.degrees(value.value), 1)
        plus = "+" if signed and degrees > 0 else ""
        text = format_angle(value.value, 0 if degrees == round(degrees) else 1)
        return plus + text.replace("-", "−")
    if isinstance(value, _Diameter):
        tenths = 1 if unit == "mm" else None
        text = format_length(value.value, unit, decimals=tenths, signed=signed, with_unit=False)
        return text.replace("-", "−")
    return length_text(value, unit, signed=signed, with_unit=False)
