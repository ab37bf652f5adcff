"""Copper, bundles and sleeves against published tables."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barfit.catalogue import awg_diameter, limits, wire_table
from barfit.trade.bundles import (
    bundle_diameter,
    fill,
    fill_limit,
    jams,
    passing_size,
    resistance,
    sleeve_size,
    solid_resistance,
    voltage_drop,
)

AWG = [  # number, diameter mm, area mm², Ω/km at 20 °C: ASTM B258 with 0.017241 Ω·mm²/m
    (12, 2.0525, 3.3088, 5.211),
    (14, 1.6277, 2.0809, 8.285),
    (16, 1.2908, 1.3087, 13.174),
    (18, 1.0237, 0.8230, 20.948),
    (20, 0.8118, 0.5176, 33.308),
    (22, 0.6438, 0.3255, 52.962),
    (24, 0.5106, 0.2047, 84.213),
]


@pytest.mark.parametrize(("number", "diameter", "area", "per_km"), AWG)
def test_awg_sizes(number: int, diameter: float, area: float, per_km: float) -> None:
    gauge = wire_table().gauges[f"AWG {number}"]
    assert awg_diameter(number) == pytest.approx(diameter, abs=6e-5)
    assert gauge.area == pytest.approx(area, abs=6e-5)
    assert gauge.resistance * 1e6 == pytest.approx(per_km, abs=6e-4)


@pytest.mark.parametrize(  # two tables of wire sizes on the web, which round differently
    ("number", "diameter", "per_km"),
    [(18, 1.0236, 20.94), (20, 0.8128, 33.29), (24, 0.5105, 84.20), (12, 2.0523, 5.21)],
)
def test_awg_sizes_of_other_tables(number: int, diameter: float, per_km: float) -> None:
    assert awg_diameter(number) == pytest.approx(diameter, rel=1.3e-3)
    assert wire_table().gauges[f"AWG {number}"].resistance * 1e6 == pytest.approx(per_km, rel=1e-3)


@pytest.mark.parametrize(  # IEC 60228 class 5, largest resistance at 20 °C, Ω/km
    ("name", "per_km"),
    [("0.5 mm²", 39.0), ("0.75 mm²", 26.0), ("1 mm²", 19.5), ("1.5 mm²", 13.3), ("2.5 mm²", 7.98)],
)
def test_flexible_conductors(name: str, per_km: float) -> None:
    gauge = wire_table().gauges[name]
    assert gauge.resistance * 1e6 == pytest.approx(per_km)
    # the standard's largest is some per cent above solid copper of that area
    assert 1.0 < gauge.resistance / solid_resistance(gauge.area) < 1.2


def test_standard_copper() -> None:
    # IEC 60028: 1 mm² of 1 m has 0.017241 Ω, 0.00393 per kelvin more when warmer
    assert solid_resistance(1.0) * 1000.0 == pytest.approx(0.017241)
    gauge = wire_table().gauges["1 mm²"]
    assert resistance(gauge, 60.0) == pytest.approx(gauge.resistance * (1.0 + 40.0 * 0.00393))


@pytest.mark.parametrize(  # V = 2 L I R' by hand, AWG wire, share of 12 V
    ("number", "current", "length", "volts", "share"),
    [
        (18, 5.0, 400.0, 0.0838, 0.0070),
        (20, 2.0, 300.0, 0.0400, 0.0033),
        (16, 10.0, 500.0, 0.1317, 0.0110),
        (22, 1.0, 500.0, 0.0530, 0.0044),
    ],
)
def test_voltage_lost_both_ways(
    number: int, current: float, length: float, volts: float, share: float
) -> None:
    lost = voltage_drop(current, length, resistance(wire_table().gauges[f"AWG {number}"]))
    assert lost == pytest.approx(volts, abs=6e-5)
    assert lost / 12.0 == pytest.approx(share, abs=6e-5)


def test_bundles_of_equal_wires() -> None:
    # layers of equal circles: one round one 3 d, two round one 5 d
    assert bundle_diameter([2.0] * 7) == pytest.approx(6.0)
    assert bundle_diameter([2.0] * 19) == pytest.approx(10.0)
    assert bundle_diameter([2.0] * 2) == pytest.approx(4.0)
    # three circles in one: 1 + 2/√3 = 2.1547, five: 2.7013 (Kravitz 1967, from memory)
    assert bundle_diameter([1.0] * 3) == pytest.approx(2.1547, abs=1e-4)
    assert bundle_diameter([1.0] * 5) == pytest.approx(2.7013, abs=1e-4)
    # else the rule of the trade
    assert bundle_diameter([2.0] * 8) == pytest.approx(6.7882, abs=1e-4)
    # it is near the densest packing of 12 and 16: 4.0296 and 4.6154 (from memory)
    assert bundle_diameter([1.0] * 12) == pytest.approx(4.0296, rel=0.05)
    assert bundle_diameter([1.0] * 16) == pytest.approx(4.6154, rel=0.05)


def test_a_bundle_of_unequal_wires_counts_by_area() -> None:
    mixed = [1.4, 1.4, 1.9, 1.9, 1.9, 2.4, 2.4, 1.6]
    equal = math.sqrt(sum(d * d for d in mixed) / len(mixed))
    assert bundle_diameter(mixed) == pytest.approx(bundle_diameter([equal] * len(mixed)))
    assert bundle_diameter(list(reversed(mixed))) == pytest.approx(bundle_diameter(mixed))


@given(st.lists(st.floats(0.8, 4.0), min_size=1, max_size=40))
def test_a_bundle_is_never_thinner_than_its_copper_and_insulation(outsides: list[float]) -> None:
    whole = bundle_diameter(outsides)
    assert whole**2 >= sum(d * d for d in outsides) * (1.0 - 1e-12)
    assert whole >= max(outsides) * (1.0 - 1e-12)


def test_fill_is_that_of_conduit() -> None:
    # NFPA 70 chapter 9 table 1: one wire 53 %, two 31 %, more 40 %
    shares = [limits()[fill_limit(count)].value for count in (1, 2, 3, 40)]
    assert shares == [0.53, 0.31, 0.40, 0.40]
    # seven wires of 2 mm at 40 %: 8.37 mm inside at least; nineteen 13.78 mm
    for count, inside in ((7, 8.3666), (19, 13.7840)):
        assert fill([2.0] * count, inside) == pytest.approx(0.40, abs=1e-5)


@given(
    st.lists(st.floats(1.0, 3.5), min_size=1, max_size=30),
    st.floats(0.0, 20.0),
)
def test_the_sleeve_is_the_next_size_up(outsides: list[float], least: float) -> None:
    table = wire_table()
    most = limits()[fill_limit(len(outsides))].value
    size = sleeve_size(outsides, most, table.sleeves, table.jam, least)

    def suits(inside: float) -> bool:
        wide = inside >= max(least, bundle_diameter(outsides))
        return wide and fill(outsides, inside) <= most and not jams(outsides, inside, table.jam)

    smaller = [one for one in table.sleeves if math.isnan(size) or one < size]
    assert not any(suits(one) for one in smaller)
    assert math.isnan(size) or suits(size)


def test_three_wires_that_would_jam_get_a_wider_sleeve() -> None:
    # NFPA 70 chapter 9: they may jam where inside over wire is 2.8 to 3.2
    table = wire_table()
    assert [jams([2.0] * 3, inside, table.jam) for inside in (5.5, 5.7, 6.0, 6.5)] == [
        False,
        True,
        True,
        False,
    ]
    assert not jams([2.0] * 4, 6.0, table.jam)
    assert sleeve_size([2.0] * 3, 0.40, table.sleeves, table.jam) == 8.0


def test_plugs_pass_end_on() -> None:
    assert passing_size(30.0, 40.0, None) == pytest.approx(50.0)
    assert passing_size(None, None, 18.0) == 18.0
    assert math.isnan(passing_size(None, None, None))


def test_gauges_grow_in_every_way_and_name_their_source() -> None:
    gauges = sorted(wire_table().gauges.values(), key=lambda gauge: gauge.area)
    assert all(gauge.source for gauge in gauges)
    for system in ("mm²", "AWG"):
        own = [gauge for gauge in gauges if system in gauge.name]
        for small, large in itertools.pairwise(own):
            assert small.resistance > large.resistance
            assert small.conductor < large.conductor
            assert small.outside < large.outside
        for gauge in own:  # strands do not fill the circle round them
            assert gauge.conductor > math.sqrt(4.0 * gauge.area / math.pi)
            assert gauge.strand < gauge.conductor < gauge.outside
