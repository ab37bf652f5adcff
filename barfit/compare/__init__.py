"""Alternatives held against each other: ways for a line to go, and bars to fit.

Each is judged as the setup it would be if it were in use: whole sweep, whole findings. Nothing is
taken over from one to the other.
"""

from barfit.compare.bars import BarsNumbers, bars, bars_numbers, ranked
from barfit.compare.trials import Trial, Trials, judge, made, question
from barfit.compare.ways import WayNumbers, alike, better, doubt, way_numbers, ways

__all__ = [
    "BarsNumbers",
    "Trial",
    "Trials",
    "WayNumbers",
    "alike",
    "bars",
    "bars_numbers",
    "better",
    "doubt",
    "judge",
    "made",
    "question",
    "ranked",
    "way_numbers",
    "ways",
]
