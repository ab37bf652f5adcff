"""What a setup says that can hardly be meant, in words."""

from __future__ import annotations

from barfit.analysis.plausible import Unusual, unusual
from barfit.analysis.problems import doubts, problems
from barfit.model import Setup
from barfit.units import format_angle, format_length, length_in


def doubt_sentences(setup: Setup, stock: bool, unit: str = "") -> list[str]:
    """A sentence on each dimension far from what is usual and on each place inside a solid, with
    these bars; lengths in ``unit``, by default the file's. Raises LayoutError.
    """
    told = [_sentence(one, setup.unit, unit or setup.unit) for one in unusual(setup, stock)]
    return told + doubts(setup, stock)


def all_doubts(setup: Setup, unit: str) -> list[str]:
    """The sentences for both sets of bars, each once. Bars that cannot be laid out at all are
    told elsewhere; of them only the dimensions are looked at.
    """
    told: list[str] = []
    can_be_laid_out = not problems(setup)
    for stock in (True, False):
        said = [_sentence(one, setup.unit, unit) for one in unusual(setup, stock)]
        said += doubts(setup, stock) if can_be_laid_out else []
        told += [text for text in said if text not in told]
    return told


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
