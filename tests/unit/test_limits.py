"""Limits out of the table and out of a scenario, and figures held against them."""

from __future__ import annotations

import math

import pytest

from barfit import scenario
from barfit.catalogue import limit, limits
from barfit.report.quantities import Quantity, quantity_text, quantity_value
from barfit.scenario import ScenarioError, dumps, loads
from barfit.trade.judged import Grade, at_least, at_most, noted

TEXT = scenario.bundled()[0].read_text(encoding="utf-8")


def test_every_limit_is_inside_its_own_range_and_names_its_source() -> None:
    for one in limits().values():
        assert one.least <= one.value <= one.most, one.name
        assert one.label
        assert one.source, one.name


def test_a_scenario_may_set_its_own_and_keeps_it_when_saved() -> None:
    setup = loads(TEXT + "\n[limits]\ncable_total_bend = 300\n")
    assert limit(setup, "cable_total_bend") == pytest.approx(math.radians(300))
    again = loads(dumps(setup))
    assert again.limits == setup.limits
    assert limit(loads(TEXT), "cable_total_bend") == limits()["cable_total_bend"].value


def test_a_limit_that_is_unknown_or_absurd_is_told() -> None:
    with pytest.raises(ScenarioError) as told:
        loads(TEXT + "\n[limits]\ncable_totl_bend = 300\n")
    assert "cable_total_bend" in str(told.value)
    with pytest.raises(ScenarioError) as told:
        loads(TEXT + "\n[limits]\ncable_total_bend = 9000\n")
    assert "limits.cable_total_bend: 9000° is outside 30° to 1440°" in str(told.value)


def test_what_is_not_known_is_never_fine() -> None:
    assert noted(math.nan).grade is Grade.NOT_KNOWN
    assert at_most(math.nan, 1.0).grade is Grade.NOT_KNOWN
    assert at_least(1.0, math.nan).grade is Grade.NOT_KNOWN
    assert at_most(2.0, 1.0, beyond=Grade.REJECT).grade is Grade.REJECT
    assert at_least(2.0, 1.0, beyond=Grade.REJECT).grade is Grade.FINE


@pytest.mark.parametrize(
    ("value", "quantity", "text", "plain"),
    [
        (25.4, Quantity.LENGTH, "25 mm", 25.4),
        (2.36, Quantity.LENGTH, "2.4 mm", 2.36),
        (-0.5, Quantity.LENGTH, "−0.5 mm", -0.5),
        (math.pi, Quantity.ANGLE, "180°", 180.0),
        (-math.pi / 9.0, Quantity.ANGLE, "−20°", -20.0),
        (1.234, Quantity.RATIO, "1.23 ×", 1.234),
        (0.4, Quantity.SHARE, "40 %", 0.4),
        (35_392.0, Quantity.VOLUME, "35.4 cm³", 35.392),
        (9_994.0, Quantity.VOLUME, "9.99 cm³", 9.994),
        (0.007, Quantity.SHARE, "0.7 %", 0.007),
        (0.0838, Quantity.VOLTAGE, "0.084 V", 0.0838),
        (0.326, Quantity.VOLTAGE, "0.33 V", 0.326),
        (1608.0, Quantity.VOLUME, "1.61 cm³", 1.608),
        (0.0084, Quantity.RESISTANCE, "8.4 mΩ", 8.4),
        (3.0, Quantity.COUNT, "3", 3.0),
        (math.nan, Quantity.FORCE, "not known", None),
    ],
)
def test_figures_are_written_in_the_unit_they_are_known_by(
    value: float, quantity: Quantity, text: str, plain: float | None
) -> None:
    assert quantity_text(value, quantity, "mm") == text
    assert quantity_value(value, quantity) == plain


def test_small_lengths_are_told_in_decimals_in_inches_too() -> None:
    assert quantity_text(2.36, Quantity.LENGTH, "in") == "0.09 in"
    assert quantity_text(25.4, Quantity.LENGTH, "in") == "1 in"
