"""The least change that does, out of a few that were tried."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise


def least_change(tried: Iterable[tuple[float, float]], wanted: float) -> float:
    """The least change, either way, with which a margin is ``wanted`` mm, or else 0, or else the
    one of those ``tried`` (change and margin; no change among them) with most; between them it is
    taken as linear. Those of which the margin is not known (nan) are left out.
    """
    known = sorted((one for one in tried if not math.isnan(one[1])), key=lambda one: abs(one[0]))
    for aim in (wanted, 0.0):
        reached = [
            found
            for sign in (1.0, -1.0)
            if not math.isnan(
                found := _crossing([one for one in known if sign * one[0] >= 0.0], aim)
            )
        ]
        if reached:
            return min(reached, key=abs)
    return max(known, key=lambda one: one[1], default=(0.0, 0.0))[0]


def _crossing(tried: list[tuple[float, float]], aim: float) -> float:
    """Where a margin first comes up to ``aim``, going from change to change; nan for nowhere."""
    for (a, low), (b, high) in pairwise(tried):
        if low < aim <= high:
            return a + (b - a) * (aim - low) / (high - low)
    return math.nan
