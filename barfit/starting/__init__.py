"""A setup of one's own begun from the nearest of the invented machines, or from next to nothing."""

from barfit.starting.fresh import bare_start, fresh_start
from barfit.starting.nearest import Candidate, candidates
from barfit.starting.new_parts import (
    add_new_line,
    free_outlets,
    nearest_first,
    usual_control,
    usual_end,
)
from barfit.starting.traits import Brake, Clutch, Kind, Throttle, Traits, Wiring, traits_of

__all__ = [
    "Brake",
    "Candidate",
    "Clutch",
    "Kind",
    "Throttle",
    "Traits",
    "Wiring",
    "add_new_line",
    "bare_start",
    "candidates",
    "free_outlets",
    "fresh_start",
    "nearest_first",
    "traits_of",
    "usual_control",
    "usual_end",
]
