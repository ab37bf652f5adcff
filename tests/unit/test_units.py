from __future__ import annotations

import contextlib
import math
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from barfit.units import (
    angle_literal,
    format_angle,
    format_length,
    length_in,
    length_literal,
    parse_angle,
    parse_length,
    parse_weight,
    weight_literal,
)

lengths = st.floats(-5000, 5000, allow_nan=False)
units = st.sampled_from(["mm", "in"])


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("12 1/2 in", 317.5),
        ('12.5"', 317.5),
        ("12½ in", 317.5),
        ("12-1/2 in", 317.5),
        ("12 1⁄2″", 317.5),
        ("12,5 inch", 317.5),
        ("318 mm", 318.0),
        ("318mm", 318.0),
        ("31.8 cm", 318.0),
        ("31,8 CM", 318.0),
        ("0.318 m", 318.0),
        (".5 in", 12.7),
        ("3/8 in", 9.525),
        ("¾ in", 19.05),
        ("1' 2 1/2\"", 368.3),
        ("1 ft 2.5 in", 368.3),
        ("1ft 2½", 368.3),
        ("6 ft", 1828.8),
        ("-3 in", -76.2),
        ("− 3 in", -76.2),
        ("+3 in", 76.2),
        (" 3 in ", 76.2),
        ("0,125 in", 3.175),
    ],
)
def test_lengths_as_people_write_them(text: str, mm: float) -> None:
    assert parse_length(text) == mm  # exactly: the arithmetic is in fractions


def test_a_bare_number_is_in_the_unit_of_the_file() -> None:
    assert parse_length(12.5, "in") == parse_length("12.5", "in") == parse_length("12 1/2", "in")
    assert parse_length(12.5, "in") == 317.5
    assert parse_length(318, "mm") == parse_length("318", "mm") == 318.0
    assert parse_length("318 mm", "in") == 318.0


@pytest.mark.parametrize(
    "value",
    [
        "",
        "   ",
        "long",
        "12 1/2 1/2 in",
        "12 in 3 in",
        "2 in 1 ft",
        "1/0 in",
        "5 furlong",
        "--3 in",
        "1 2 in",
        "nan",
        "inf mm",
        "1e3 mm",
        "12 in and a bit",
        True,
        False,
        None,
        [12],
        {"mm": 12},
        math.nan,
        math.inf,
        -math.inf,
    ],
)
def test_what_is_not_a_length_is_refused_in_a_sentence(value: object) -> None:
    with pytest.raises(ValueError, match=r"(is not|unknown unit|divides by zero).*12 1/2 in"):
        parse_length(value)


@pytest.mark.parametrize("value", [10**400, -(10**400), "9" * 400])
def test_a_number_beyond_any_float_is_refused(value: object) -> None:
    with pytest.raises(ValueError, match="far too large"):
        parse_length(value)


def test_a_comma_that_may_part_thousands_is_refused() -> None:
    with pytest.raises(ValueError, match=r"two ways.*write 1234 "):
        parse_length("1,234 mm")


@pytest.mark.parametrize(
    ("mm", "text"),
    [
        (317.5, "12 1/2 in"),
        (25.4, "1 in"),
        (12.7, "1/2 in"),
        (1.5875, "1/16 in"),
        (317.4, "12 1/2 in"),
        (25.2, "1 in"),
        (0.0, "0 in"),
        (-0.3, "0 in"),
        (-317.5, "-12 1/2 in"),
    ],
)
def test_inches_to_the_nearest_sixteenth(mm: float, text: str) -> None:
    assert format_length(mm, "in") == text


def test_other_ways_to_show_a_length() -> None:
    assert format_length(317.5) == "318 mm"
    assert format_length(317.5, decimals=1) == "317.5 mm"
    assert format_length(317.5, "in", sixteenths=False) == "12.50 in"
    assert format_length(317.5, "in", decimals=1) == "12.5 in"
    assert format_length(12.2, signed=True, with_unit=False) == "+12"
    assert format_length(-12.2, signed=True) == "-12 mm"
    assert format_length(0.2, signed=True) == format_length(-0.2) == "0 mm"
    assert format_length(math.nan) == "–"
    assert format_length(math.inf) == "∞"


@given(lengths)
def test_shown_inches_read_back_within_half_a_sixteenth(mm: float) -> None:
    back = parse_length(format_length(mm, "in"))
    assert abs(back - mm) <= 25.4 / 32 + 1e-9


@given(lengths)
def test_shown_millimetres_read_back_within_half_a_millimetre(mm: float) -> None:
    assert abs(parse_length(format_length(mm)) - mm) <= 0.5


@given(st.integers(0, 400), st.integers(0, 15))
def test_fractions_are_exact(whole: int, sixteenths: int) -> None:
    exact = float((Fraction(whole) + Fraction(sixteenths, 16)) * Fraction(254, 10))
    assert parse_length(f"{whole} {sixteenths}/16 in") == exact
    assert parse_length(whole + sixteenths / 16, "in") == exact
    assert length_in(exact, "in") == pytest.approx(whole + sixteenths / 16, abs=1e-12)


@given(lengths, units)
def test_a_written_length_reads_back_exactly(mm: float, unit: str) -> None:
    assert parse_length(length_literal(mm, unit), unit) == mm


@given(st.floats(-10, 10))
def test_a_written_angle_reads_back_exactly(rad: float) -> None:
    assert parse_angle(angle_literal(rad)) == rad


@given(st.floats(0, 1))
def test_a_written_weight_reads_back_exactly(weight: float) -> None:
    assert parse_weight(weight_literal(weight)) == weight


def test_written_values_are_short_where_they_can_be() -> None:
    assert length_literal(318.0, "mm") == 318
    assert length_literal(317.5, "in") == 12.5
    assert length_literal(740.0, "in") == "740 mm"  # 29.13385… would say less
    assert length_literal(355.6, "in") == 14
    assert angle_literal(math.radians(30.0)) == 30
    assert angle_literal(math.radians(24.5)) == 24.5


@given(st.text(max_size=20))
def test_no_text_makes_the_reader_stumble(text: str) -> None:
    for parse in (parse_length, parse_angle, parse_weight):
        with contextlib.suppress(ValueError):  # refusing is fine, anything else is not
            assert math.isfinite(parse(text))


@pytest.mark.parametrize(
    ("value", "degrees"),
    [(30, 30.0), (24.5, 24.5), ("24.5°", 24.5), ("-24 deg", -24.0), ("24,5", 24.5)],
)
def test_angles(value: object, degrees: float) -> None:
    assert parse_angle(value) == pytest.approx(math.radians(degrees), abs=1e-15)


def test_an_angle_in_radians() -> None:
    assert parse_angle("0.43 rad") == 0.43


@pytest.mark.parametrize("value", [True, math.nan, math.inf, "left", "", None, "1e999"])
def test_what_is_not_an_angle_is_refused(value: object) -> None:
    with pytest.raises(ValueError, match=r"is not|far too large"):
        parse_angle(value)


def test_angles_are_shown_without_a_negative_zero() -> None:
    assert format_angle(math.radians(-0.2)) == "0°"
    assert format_angle(math.radians(-24.4)) == "-24°"
    assert format_angle(math.radians(24.46), 1) == "24.5°"
    assert format_angle(math.nan) == "–"


def test_weight_is_mass_times_standard_gravity() -> None:
    # 110 g/m weigh 0.110 kg × 9.80665 m/s² per metre
    assert parse_weight(110) == parse_weight("110 g/m") == pytest.approx(1.0787315e-3, rel=1e-12)
    assert parse_weight("0.001 N/mm") == 0.001


@given(lengths, units)
def test_formatting_never_shows_a_signed_zero(mm: float, unit: str) -> None:
    text = format_length(mm, unit, signed=True)
    assume(text.split()[0].strip("+-") == "0")
    assert text[0] not in "+-"
