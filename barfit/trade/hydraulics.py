"""Pressure, volume and travel in a hydraulic circuit: mm, N, MPa (N/mm²), mm³.

Pascal's law and the volumes of round bores; a hose's growth as the US federal standard on brake
hoses states it (49 CFR 571.106, Table I): added volume per length of free hose at a pressure.
"""

from __future__ import annotations

import math

# exact: pound, standard gravity and inch by definition
MPA_PER_PSI = 0.45359237 * 9.80665 / 25.4**2
GROWTH_PER_CC_PER_FOOT = 1000.0 / 304.8  # mm³ of volume per mm of hose; also cm³/m


def bore_area(bore: float) -> float:
    """The area of a round bore, mm²."""
    return 0.25 * math.pi * bore * bore


def pressure(force: float, lever_ratio: float, bore: float) -> float:
    """The pressure (MPa) in a master cylinder of that bore under ``force`` (N) on the lever."""
    return force * lever_ratio / bore_area(bore)


def lever_travel(volume: float, lever_ratio: float, bore: float) -> float:
    """How far the fingers move (mm) to press ``volume`` (mm³) out of a master cylinder."""
    return volume / bore_area(bore) * lever_ratio


def compressed(volume: float, at: float, bulk_modulus: float) -> float:
    """How much less ``volume`` (mm³) of fluid takes up at a pressure ``at`` (MPa)."""
    return volume * at / bulk_modulus
