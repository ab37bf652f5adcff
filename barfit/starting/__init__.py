"""A setup of one's own begun from the nearest of the invented machines, or from next to nothing."""

from barfit.starting.exchange import EXCHANGED, Exchange, exchanged
from barfit.starting.fresh import (
    bare_start,
    begin,
    begin_to_fit,
    first_lines,
    fresh_start,
    plain_name,
)
from barfit.starting.nearest import LABELS, Candidate, candidates
from barfit.starting.new_parts import (
    add_new_line,
    free_outlets,
    nearest_first,
    usual_control,
    usual_end,
    usual_outlet,
    usual_start,
)
from barfit.starting.traits import Brake, Clutch, Kind, Throttle, Traits, Wiring, traits_of

__all__ = [
    "EXCHANGED",
    "LABELS",
    "Brake",
    "Candidate",
    "Clutch",
    "Exchange",
    "Kind",
    "Throttle",
    "Traits",
    "Wiring",
    "add_new_line",
    "bare_start",
    "begin",
    "begin_to_fit",
    "candidates",
    "exchanged",
    "first_lines",
    "free_outlets",
    "fresh_start",
    "nearest_first",
    "plain_name",
    "traits_of",
    "usual_control",
    "usual_end",
    "usual_outlet",
    "usual_start",
]
