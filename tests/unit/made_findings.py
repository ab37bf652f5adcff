"""A finding made by hand, for tests of what is said about it."""

from __future__ import annotations

import math
from dataclasses import replace

from barfit.analysis import LineFinding, Verdict


def rad(degrees: float) -> float:
    return math.radians(degrees)


def finding(verdict: Verdict, **changes: object) -> LineFinding:
    """A finding on a throttle cable of 795 mm that reaches with 21 mm, but for the changes."""
    plain = LineFinding(
        line="throttle pull cable",
        verdict=verdict,
        installed=795.0,
        slack=21.0,
        worst_turn=rad(-40),
        worst_travel=0.0,
        excess=48.0,
        taut_length=774.0,
        bend_length=760.0,
        needed=786.0,
        margin=9.0,
        least=12.0,
        target=25.0,
        max_excess=70.0,
        min_radius=64.0,
        radius_turn=rad(12),
        allowed_radius=50.0,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]
