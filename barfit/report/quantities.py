"""Figures of the trade as text and as plain values: what kind of quantity, in which unit."""

from __future__ import annotations

import math
from enum import StrEnum

from barfit.report.plain import degrees, known
from barfit.units import format_angle, format_length


class Quantity(StrEnum):
    """What a number measures; the value is the unit it has in JSON, but for fine lengths."""

    LENGTH = "mm"
    FINE_LENGTH = "fine mm"  # of tubes and bores: to a hundredth
    ANGLE = "°"
    RATIO = "×"
    SHARE = "share"
    COUNT = "count"
    AREA = "mm²"
    VOLUME = "cm³"
    FORCE = "N"
    PRESSURE = "MPa"
    VOLTAGE = "V"
    RESISTANCE = "mΩ"

    @property
    def unit(self) -> str:
        """The unit it has in JSON."""
        return "mm" if self is Quantity.FINE_LENGTH else self.value


_INSIDE = {Quantity.VOLUME: 1000.0, Quantity.RESISTANCE: 0.001}  # of the shown unit, in ours
_DECIMALS = {
    Quantity.COUNT: 0,
    Quantity.AREA: 1,
    Quantity.FORCE: 0,
    Quantity.RESISTANCE: 1,
}


def quantity_text(value: float, quantity: Quantity, unit: str) -> str:
    """A figure with its unit: "212°", "1.32 ×", "43 %"; "not known" for nan. Lengths in ``unit``,
    to a tenth of a mm below 10 mm.

    Volumes come in mm³ and are shown in cm³ (from 10 on with one decimal), resistances in Ω and
    are shown in mΩ.
    """
    if math.isnan(value):
        return "not known"
    if quantity is Quantity.LENGTH:
        # of what is small whole mm and sixteenths tell too little
        small = (2 if unit == "in" else 1) if abs(value) < 9.95 else None
        return format_length(value, unit, decimals=small).replace("-", "−")
    if quantity is Quantity.FINE_LENGTH:
        number, _, name = format_length(value, unit, decimals=2).partition(" ")
        whole, _, part = number.partition(".")
        return f"{whole}.{part.rstrip('0') or '0'} {name}".replace("-", "−")
    if quantity is Quantity.ANGLE:
        return format_angle(value).replace("-", "−")
    if quantity is Quantity.SHARE:
        return f"{100.0 * value:.2g} %" if abs(value) < 0.1 else f"{100.0 * value:.0f} %"
    if quantity is Quantity.VOLTAGE and abs(value) < 0.1:
        return f"{value:.3f} V"
    shown = value / _INSIDE.get(quantity, 1.0)
    decimals = _DECIMALS.get(quantity, 2)
    if quantity is Quantity.VOLUME and abs(shown) >= 9.995:
        decimals = 1
    number = f"{shown:.{decimals}f}"
    return number if quantity is Quantity.COUNT else f"{number} {quantity.value}"


def quantity_value(value: float, quantity: Quantity) -> float | None:
    """The figure for JSON, in the unit that the quantity names; None where not known."""
    if quantity is Quantity.ANGLE:
        return degrees(value)
    return known(value / _INSIDE.get(quantity, 1.0), 4)
