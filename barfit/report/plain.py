"""Numbers as plain values: rounded to what they are good for, None where not known.

JSON has neither nan nor inf.
"""

from __future__ import annotations

import math


def known(value: float, digits: int = 2) -> float | None:
    """A number rounded to so many decimals, or None."""
    return round(value, digits) if math.isfinite(value) else None


def degrees(angle: float | None, digits: int = 2) -> float | None:
    """An angle (rad) in degrees, or None."""
    return None if angle is None else known(math.degrees(angle), digits)
