"""Terminals follow from the wires of a line and from how many of their ends are pinned anew."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest
from made_orders import bundled, remedies, remedy

from barfit.catalogue import line_wires
from barfit.model import Setup
from barfit.remedies import Means
from barfit.workshop import LookUp, Why, order
from barfit.workshop.orders import OrderItem, taken
from barfit.workshop.schedule import schedule
from barfit.workshop.tasks import tasks

TOURING = bundled("touring-hydraulic")
HARNESS, LEAD = "left switch harness", "left heated-grip lead"


def pins(setup: Setup, line: str, means: Means, longer: float) -> list[OrderItem]:
    items = order(setup, remedies(remedy(setup, line, means, longer)), ()).items
    return [one for one in items if one.why in (Why.PINNED, Why.SLEEVED) and line in one.lines]


def wires(line: str) -> int:
    held = line_wires(TOURING.line(line))
    assert held is not None
    return sum(one.count for one in held.circuits)


def test_a_longer_branch_takes_a_terminal_for_every_wire_and_some_to_spare() -> None:
    count = wires(HARNESS)
    terminal, shrink = pins(TOURING, HARNESS, Means.MADE_UP, 60.0)
    assert terminal.quantity == math.ceil(1.1 * count)  # a tenth is crimped twice: estimate
    assert terminal.look_up == (LookUp.PLUG,)
    assert terminal.price == pytest.approx((0.4 * terminal.quantity, 1.5 * terminal.quantity))
    assert (shrink.item, shrink.quantity) == ("end_shrink", 2.0)


def test_an_extension_made_up_has_a_plug_at_either_end() -> None:
    assert pins(TOURING, HARNESS, Means.EXTENSION, 150.0) == []  # sold with both its plugs
    terminal, _ = pins(TOURING, HARNESS, Means.EXTENSION, 2000.0)  # longer than any that is sold
    assert terminal.quantity == math.ceil(2.2 * wires(HARNESS))


def test_a_lead_is_bought_with_its_plug() -> None:
    assert pins(TOURING, LEAD, Means.MADE_UP, 60.0) == []


def test_of_wires_nobody_knows_the_number_is_left_open() -> None:
    unknown = tuple(replace(one, wires=None) for one in TOURING.lines)
    setup = replace(TOURING, lines=unknown)
    terminal, _ = pins(setup, HARNESS, Means.MADE_UP, 60.0)
    assert math.isnan(terminal.quantity)
    assert terminal.price is None


def test_the_branch_is_not_pinned_before_its_terminals_are_here() -> None:
    found = remedies(remedy(TOURING, HARNESS, Means.MADE_UP, 60.0))
    items = order(TOURING, found, ()).items
    plan = schedule(TOURING.job, tasks(TOURING, taken(TOURING, found)), items, date(2026, 11, 28))
    (part,) = [one for one in plan.parts if one.item.item == "terminal"]
    assert part.needs_it == (f"longer_branch: {HARNESS}",)
