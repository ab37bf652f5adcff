"""What of a setup is measured, what to measure next, and where the tape goes for it."""

from barfit.measuring.order import Weighed, settled, weighed, worst_known
from barfit.measuring.pages import Page, page
from barfit.measuring.things import Part, Thing, count, mark, things, unmeasured_sentence

__all__ = [
    "Page",
    "Part",
    "Thing",
    "Weighed",
    "count",
    "mark",
    "page",
    "settled",
    "things",
    "unmeasured_sentence",
    "weighed",
    "worst_known",
]
