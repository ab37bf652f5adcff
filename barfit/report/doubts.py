"""What a setup says that can hardly be meant, in words."""

from __future__ import annotations

from collections.abc import Sequence

from barfit.analysis.plausible import Unusual, unusual
from barfit.analysis.problems import doubts, problems
from barfit.model import Line, Setup
from barfit.units import format_angle, format_length, length_in


def doubt_sentences(setup: Setup, stock: bool, unit: str = "") -> list[str]:
    """A sentence on each dimension far from what is usual and on each place inside a solid, with
    these bars; lengths in ``unit``, by default the file's. Raises LayoutError.
    """
    shown = unit or setup.unit
    told = [_sentence(one, setup.unit, shown) for one in unusual(setup, stock)]
    return told + _plug_doubts(setup, shown) + doubts(setup, stock)


def all_doubts(setup: Setup, unit: str) -> list[str]:
    """The sentences for both sets of bars, each once. Bars that cannot be laid out at all are
    told elsewhere; of them only the dimensions are looked at.
    """
    told: list[str] = []
    told += _plug_doubts(setup, unit)
    can_be_laid_out = not problems(setup)
    for stock in (True, False):
        said = [_sentence(one, setup.unit, unit) for one in unusual(setup, stock)]
        said += doubts(setup, stock) if can_be_laid_out else []
        told += [text for text in said if text not in told]
    return told


_SAME_PLUG = 1.0  # mm by which the sizes of one plug may differ: estimate


def _plug_doubts(setup: Setup, unit: str) -> list[str]:
    """Lines whose two lists of plugs, by wires and by what must pass the bar, disagree in the
    largest.
    """
    told = []
    for line in setup.lines:
        wires, bar = _largest_plugs(line)
        if wires and bar and max(abs(a - b) for a, b in zip(wires, bar, strict=True)) > _SAME_PLUG:
            one, other = (
                " × ".join(
                    format_length(mm, unit, decimals=2 if unit == "in" else 1) for mm in size
                )
                for size in (wires, bar)
            )
            told.append(
                f"The largest plug of the {line.name} is {one} under 'wires' and {other} under "
                "'through_bar': check both in the file."
            )
    return told


def _largest_plugs(line: Line) -> tuple[tuple[float, float] | None, tuple[float, float] | None]:
    """How wide and high (mm, the greater first) the largest plug is in either list; None where the
    list is not there.
    """
    wires = [
        (one.diameter, one.diameter) if one.diameter is not None else (one.width, one.height)
        for one in (line.wires.connectors if line.wires else ())
    ]
    bar = [
        (one.width, one.height) for one in (line.through_bar.connectors if line.through_bar else ())
    ]

    def largest(sizes: Sequence[tuple[float | None, float | None]]) -> tuple[float, float] | None:
        known = [(max(a, b), min(a, b)) for a, b in sizes if a is not None and b is not None]
        return max(known, key=lambda size: size[0] * size[1], default=None)

    return largest(wires), largest(bar)


def _sentence(one: Unusual, file_unit: str, unit: str) -> str:
    usual = one.usual

    def shown(value: float) -> str:
        if usual.angle:
            return format_angle(value)
        small = unit == "mm" and abs(value) < 50.0 and abs(value - round(value)) > 0.05
        return format_length(value, unit, decimals=1 if small else None)

    besides = "" if usual.besides is None else f" (or {shown(usual.besides)})"
    text = (
        f"The {one.what} of the {one.thing} is {shown(one.value)}, where {shown(usual.low)} to "
        f"{shown(usual.high)}{besides} is usual ({usual.source})"
    )
    if not one.meant:
        return f"{text}: check it in the file."
    number = f"{length_in(one.value, file_unit):g} {one.meant}"
    return f'{text}: if {number} is meant, write "{number}".'
