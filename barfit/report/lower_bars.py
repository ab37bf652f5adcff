"""What a lower bar would do besides: how much lower the lines ask for, beside what of the bars is
not acceptable.
"""

from __future__ import annotations

from collections.abc import Sequence

from barfit.remedies import Means, Remedies, lower_bar
from barfit.report.phrases import listed
from barfit.report.remarks import Remark
from barfit.units import format_length

_HEIGHTS = {
    "height_over_seat": "over the loaded seat",
    "height_over_shoulders": "over the shoulders",
    "height_over_fastening": "over the bar's fastening",
}


def relation_sentence(found: Sequence[Remedies], rejected: Sequence[Remark], unit: str) -> str:
    """How the bar that lets every line stay stands to what makes the bars unacceptable: whether it
    would mend that too; "" where nothing makes them so, or no such bar is known.

    What a lower bar leaves unacceptable is what its remedy says it spoils (`Remedy.spoilt`).
    """
    by = lower_bar(found)
    if not by > 0.0 or not rejected:
        return ""
    lowest = [
        one
        for each in found
        for one in each.ranked
        if one.means is Means.LOWER_BAR and one.by == by and not one.why_not
    ]
    if not lowest:
        return ""
    left = {spoilt.what for one in lowest for spoilt in one.spoilt if spoilt.forbids}
    much = format_length(by, unit)
    heights = [
        f"{format_length(one.judged.value - one.judged.limit, unit)} lower for the height allowed "
        f"{_HEIGHTS[one.key]}"
        for one in rejected
        if one.key in _HEIGHTS and one.judged.value > one.judged.limit
    ]
    others = [one for one in rejected if one.key not in _HEIGHTS]
    still = [one for one in rejected if one.key in left]
    mends = [one for one in rejected if one.key in _SEEN and one.key not in left]
    told = ""
    if heights:
        told = f"These bars have to come at least {listed(heights)} in any case. "
    if not still and len(mends) == len(rejected):
        return f"{told}The bar {much} lower would mend {_these(rejected)} too."
    if still:
        names = listed([_name(one) for one in still])
        return f"{told}With the bar {much} lower that is still not acceptable: {names}."
    unknown = [_name(one) for one in others if one.key not in _SEEN]
    return f"{told}Whether the bar {much} lower mends {listed(unknown)} is not looked at."


_SEEN = frozenset(
    {*_HEIGHTS, "hand_gap", "hard_gap", "clamp_spare", "overall_width", "bar_straight"}
)


def _these(rejected: Sequence[Remark]) -> str:
    return "that" if len(rejected) == 1 else "all of that"


def _name(one: Remark) -> str:
    name = one.label[:1].lower() + one.label[1:]
    return f"{name} ({one.about})" if one.about else name
