from __future__ import annotations

import math
from dataclasses import fields, replace

import pytest

from barfit.catalogue import (
    LineKind,
    data_dir,
    line_kinds,
    line_property,
    scenario_dir,
    swivels,
    twisting_stiffness,
)
from barfit.model import Setup
from barfit.units import parse_weight

KEYS = {
    "throttle_pull",
    "throttle_return",
    "throttle_single",
    "choke_cable",
    "clutch_cable",
    "front_brake_cable",
    "speedometer_cable",
    "brake_hose",
    "clutch_hose",
    "switch_harness",
    "ride_by_wire_lead",
    "heated_grip_lead",
    "accessory_lead",
}


def test_every_kind_is_there() -> None:
    assert set(line_kinds()) == KEYS


@pytest.mark.parametrize("key", sorted(KEYS))
def test_a_kind_is_sound(key: str) -> None:
    kind = line_kinds()[key]
    assert kind.name == key
    assert kind.label
    assert kind.source, "every number has its source or says estimate"
    assert kind.family in ("cable", "hose", "harness", "lead")
    for field in fields(LineKind):
        value = getattr(kind, field.name)
        if isinstance(value, float):
            assert value > 0.0, field.name
    assert kind.least_slack < kind.target_slack
    assert kind.max_bow > kind.min_radius
    assert kind.min_radius >= 3 * kind.outside_diameter  # no line takes less
    assert 1e-4 < kind.weight < 1e-2  # N/mm: 10 g/m to 1 kg/m
    assert 1e3 < kind.bending_stiffness < 1e6  # N·mm²


def test_numbers_that_decide_verdicts() -> None:
    hose = line_kinds()["brake_hose"]
    assert (hose.min_radius, hose.least_slack, hose.target_slack) == (45.0, 15.0, 25.0)
    assert (hose.max_bow, hose.increment) == (140.0, 25.0)
    assert hose.bending_stiffness == 20_000.0
    assert hose.weight == parse_weight("110 g/m")
    assert line_kinds()["switch_harness"].increment == 100.0
    assert line_kinds()["clutch_cable"].min_radius == 80.0


def test_a_line_s_own_value_comes_first(cruiser: Setup) -> None:
    line = cruiser.line("front brake hose")
    assert line_property(line, "min_radius") == 45.0
    assert line_property(replace(line, min_radius=60.0), "min_radius") == 60.0
    assert line_property(replace(line, weight=0.002), "weight") == 0.002
    assert line_property(line, "axial_stiffness") == 10_000.0
    with pytest.raises(KeyError):
        line_property(replace(line, kind="rope"), "min_radius")


def test_only_cables_turn_in_their_fittings() -> None:
    assert {kind.family for kind in line_kinds().values() if kind.swivels} == {"cable"}


def test_twist_of_a_line_comes_from_its_kind_unless_it_says(cruiser: Setup) -> None:
    line = cruiser.line("front brake hose")
    assert not swivels(line)
    assert swivels(replace(line, swivels=True))
    assert twisting_stiffness(line) == 20_000.0
    assert twisting_stiffness(replace(line, bending_stiffness=30_000.0)) == 30_000.0
    assert twisting_stiffness(replace(line, twisting_stiffness=5_000.0)) == 5_000.0
    assert line_kinds()["brake_hose"].max_twist == pytest.approx(math.radians(0.12))  # 120°/m
    with pytest.raises(KeyError):
        swivels(replace(line, kind="rope"))


def test_the_folders_are_found() -> None:
    assert (data_dir() / "line_kinds.toml").is_file()
    assert list(scenario_dir().glob("*.toml"))
