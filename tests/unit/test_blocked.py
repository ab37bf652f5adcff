"""What has to be mended before any work: the same in the window and on the command line."""

from __future__ import annotations

from dataclasses import replace

import pytest
from made_findings import finding
from made_orders import bundled

from barfit.analysis import Verdict
from barfit.report.quantities import Quantity
from barfit.report.remarks import Remark, Topic, still_rejects
from barfit.trade import Grade, Judged
from barfit.workshop import Order
from barfit.workshop.blocked import blocked
from barfit.workshop.together import Together

SETUP = bundled("old-twin")
DONE = Together(SETUP)


@pytest.mark.parametrize(
    ("order", "done", "rejected", "stops"),
    [
        (Order(), DONE, False, False),
        (Order(), DONE, True, True),
        (Order(lower_by=15.0), DONE, False, True),
        (Order(open_lines=("clutch cable",)), DONE, False, True),
        (Order(), replace(DONE, clash=("clutch cable",)), False, True),
        (Order(), replace(DONE, problems=("The clip is too far.",)), False, True),
    ],
)
def test_what_is_in_the_way(order: Order, done: Together, rejected: bool, stops: bool) -> None:
    assert blocked(order, done, None, rejected) is stops


@pytest.mark.parametrize("verdict", [*Verdict])
def test_only_a_line_that_does_not_fit_then_is_in_the_way(verdict: Verdict) -> None:
    fits = (Verdict.REACHES, Verdict.UNCERTAIN, Verdict.RUBS)
    one = finding(verdict)
    assert blocked(Order(), DONE, [one], False) is (verdict not in fits and not one.fits)


def remark(about: str, line: bool) -> Remark:
    judged = Judged(value=0.0, grade=Grade.REJECT)
    return Remark("free_play", Topic.ON_BAR, about, "free play", judged, Quantity.LENGTH, line=line)


def test_what_is_said_with_everything_done_counts_and_else_what_no_line_is_seen_to_for() -> None:
    hand, cable = remark("left hand", False), remark("clutch cable", True)
    assert still_rejects([hand, cable], [hand]) == [hand]
    assert still_rejects([hand, cable], None) == [hand, cable]
    assert still_rejects([hand, cable], None, ["clutch cable"]) == [hand]
