"""Where the way back differs from the way out, as stretches of turn angles."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from barfit.analysis import Sweep, sweep
from barfit.analysis.snaps import Snap, snaps
from barfit.model import Setup


def same(setup: Setup, *ways: list[int]) -> tuple[Sweep, tuple[Snap, ...]]:
    """The snaps of a line that lies otherwise on the way back at these poses, travel by travel."""
    swept = sweep(replace(setup, lines=(setup.lines[0],)), step=math.radians(10.0))
    table = np.ones((len(ways), len(swept.angles)), bool)
    for row, poses in enumerate(ways):
        table[row, poses] = False
    travels = np.array([-45.0, 0.0, 75.0])[: len(ways)]
    line = replace(swept.lines[0], travels=travels, same_way_back=table)
    return swept, snaps(swept, line)


def test_every_stretch_is_told_apart(cruiser: Setup) -> None:
    swept, found = same(cruiser, [0, 1, 5], [], [8])
    turn = swept.angles
    assert found == (
        Snap(turn[0], turn[1], -45.0),
        Snap(turn[5], turn[5], -45.0),
        Snap(turn[8], turn[8], 75.0),
    )


def test_a_line_that_comes_back_as_it_went_does_not_snap(cruiser: Setup) -> None:
    assert same(cruiser, [])[1] == ()
