"""How a lower bar stands to what makes bars unacceptable, in words."""

from __future__ import annotations

from dataclasses import replace

from made_orders import bundled, remedy

from barfit.remedies import Means, Remedies
from barfit.remedies.spoilt import Spoilt
from barfit.report.lower_bars import relation_sentence
from barfit.report.quantities import Quantity
from barfit.report.remarks import Remark, Topic
from barfit.trade import Grade, Judged

SETUP = bundled("tall-bar-cruiser")
HIGH = Judged(497.0, Grade.REJECT, 381.0, 300.0)
TRAPPED = Judged(8.0, Grade.REJECT, 25.0, 40.0)


def told(*rejected: Remark, spoilt: tuple[Spoilt, ...] = (), by: float = 175.0) -> str:
    lower = replace(remedy(SETUP, "clutch cable", Means.LOWER_BAR), by=by, spoilt=spoilt)
    found = (Remedies("clutch cable", (lower,)), Remedies("front brake hose"))
    return relation_sentence(found, rejected, "mm")


def height(judged: Judged = HIGH) -> Remark:
    return Remark("height_over_seat", Topic.RIDER, "", "Grips high", judged, Quantity.LENGTH)


def hand() -> Remark:
    return Remark("hand_gap", Topic.ON_BAR, "left grip", "Hand gap", TRAPPED, Quantity.LENGTH)


def test_the_height_allowed_and_the_lower_bar_are_told_in_one() -> None:
    # by hand: 497 less 381
    assert told(height()) == (
        "These bars have to come at least 116 mm lower for the height allowed over the loaded seat "
        "in any case. The bar 175 mm lower would mend that too."
    )


def test_what_a_lower_bar_leaves_is_said() -> None:
    still = Spoilt("height_over_seat", "", HIGH, HIGH)
    assert told(height(), spoilt=(still,), by=60.0).endswith(
        "With the bar 60 mm lower that is still not acceptable: grips high."
    )
    trapped = Spoilt("hand_gap", "left hand", TRAPPED, TRAPPED)
    assert told(hand(), spoilt=(trapped,)) == (
        "With the bar 175 mm lower that is still not acceptable: hand gap (left grip)."
    )
    assert told(hand()) == "The bar 175 mm lower would mend that too."
    only_cautioned = replace(still, now=replace(HIGH, grade=Grade.CAUTION))
    assert told(height(), spoilt=(only_cautioned,)).endswith("would mend that too.")


def test_nothing_is_said_where_nothing_is_wrong_or_no_such_bar_is_known() -> None:
    assert told() == ""
    assert relation_sentence((Remedies("clutch cable"),), (height(),), "mm") == ""


def test_what_the_search_does_not_look_at_is_not_promised() -> None:
    bore = Remark("riser_bore", Topic.ON_BAR, "", "Bore of the risers", TRAPPED, Quantity.LENGTH)
    assert told(bore) == ("Whether the bar 175 mm lower mends bore of the risers is not looked at.")
