"""Wires side by side: copper, bundles, sleeves and plugs. Pure functions; lengths mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

from barfit.catalogue import COPPER, Gauge

WARMER = 0.00393  # per kelvin: how much more copper resists when warmer (IEC 60028)
LAY = 1.2  # a bundle of n wires of diameter d is about 1.2 d √n thick (common practice)

# Diameter of the smallest circle round so many equal circles, in theirs: of 1 to 6 and 7 proved
# (Pirl 1969, from memory), of 19 that of the hexagonal layers wires lie in.
_EXACT = {
    1: 1.0,
    2: 2.0,
    3: 1.0 + 2.0 / math.sqrt(3.0),
    4: 1.0 + math.sqrt(2.0),
    5: 1.0 + math.sqrt(2.0 * (1.0 + 1.0 / math.sqrt(5.0))),
    6: 3.0,
    7: 3.0,
    19: 5.0,
}


def solid_resistance(area: float) -> float:
    """Resistance, Ω/mm at 20 °C, of solid copper of that area (mm²): 0.017241 Ω·mm²/m over it."""
    return COPPER / area


def resistance(gauge: Gauge, temperature: float = 20.0) -> float:
    """Resistance of a wire, Ω/mm, at a temperature in °C (IEC 60028: 0.00393 per kelvin)."""
    return gauge.resistance * (1.0 + WARMER * (temperature - 20.0))


def voltage_drop(current: float, length: float, per_length: float, ways: int = 2) -> float:
    """Voltage lost along a wire, V: ohmic, ``ways`` times ``length`` (2: out and back)."""
    return ways * length * current * per_length


def bundle_diameter(outsides: Sequence[float]) -> float:
    """Diameter of a bundle of wires of these outside diameters.

    Equal wires: exact for 1 to 7 and for 19, else 1.2 d √n. Unequal ones count as so many equal
    ones of the same area in all. 0 for none.
    """
    if not outsides:
        return 0.0
    equal = math.sqrt(sum(d * d for d in outsides) / len(outsides))
    return equal * _EXACT.get(len(outsides), LAY * math.sqrt(len(outsides)))


def fill(outsides: Sequence[float], inside: float) -> float:
    """Share of a sleeve's area that its wires fill."""
    return sum(d * d for d in outsides) / inside**2


def fill_limit(count: int) -> str:
    """The key of the limit of fill for so many wires."""
    return {1: "fill_one_wire", 2: "fill_two_wires"}.get(count, "fill_more_wires")


def jams(outsides: Sequence[float], inside: float, jam: tuple[float, float]) -> bool:
    """Whether three wires may wedge side by side in a sleeve (NFPA 70 chapter 9 table 1, note)."""
    if len(outsides) != 3:
        return False
    return jam[0] <= inside / (sum(outsides) / 3.0) <= jam[1]


def sleeve_size(
    outsides: Sequence[float],
    most: float,
    sizes: Sequence[float],
    jam: tuple[float, float],
    least: float = 0.0,
) -> float:
    """The smallest of the ``sizes`` (inside diameters) that the wires fill to the share ``most`` or
    less, that does not jam them, and through which ``least`` goes; nan where none is wide enough.
    """
    wide = max(least, bundle_diameter(outsides))
    return next(
        (
            size
            for size in sorted(sizes)
            if size >= wide and fill(outsides, size) <= most and not jams(outsides, size, jam)
        ),
        math.nan,
    )


def passing_size(width: float | None, height: float | None, diameter: float | None) -> float:
    """Diameter of the smallest round hole that a plug goes through end on: its own, or its
    diagonal; nan where its size is not known.
    """
    if diameter is not None:
        return diameter
    return math.nan if width is None or height is None else math.hypot(width, height)
