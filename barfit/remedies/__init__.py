"""What can be done about each line that does not fit, computed and ranked.

Every remedy is the whole setup with one thing changed, turned from lock to lock again. What it
leaves as it is, is not solved again.
"""

from barfit.remedies.bars import as_low_as_stock
from barfit.remedies.remedy import FIRST_LOOK, Change, Means, Remedies, Remedy, lower_bar
from barfit.remedies.search import Tell, Trying, remedies

__all__ = [
    "FIRST_LOOK",
    "Change",
    "Means",
    "Remedies",
    "Remedy",
    "Tell",
    "Trying",
    "as_low_as_stock",
    "lower_bar",
    "remedies",
]
