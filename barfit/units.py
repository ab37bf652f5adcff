"""Lengths, angles and weights as people write them, and the exact factors between units.

Inside the program everything is mm, rad and N; this module is the edge where that is converted.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

MM_PER_INCH = 25.4  # exact by definition (international yard and pound agreement, 1959)
STANDARD_GRAVITY = 9.80665  # m/s², exact by convention (3rd CGPM, 1901)
UNITS = ("mm", "in")

_NEWTON_PER_MM = STANDARD_GRAVITY * 1e-6  # weight per length of 1 g/m

_INCH = Fraction(254, 10)
_IN_MM = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": _INCH,
    "inch": _INCH,
    "inches": _INCH,
    '"': _INCH,
    "ft": 12 * _INCH,
    "foot": 12 * _INCH,
    "feet": 12 * _INCH,
    "'": 12 * _INCH,
}
_ACCEPTED = 'a length is written like 318, "318 mm", "31.8 cm", "12 1/2 in" or "1 ft 2 in"'
_NUMBER = r"\d+\s+\d+/\d+|\d+/\d+|\d+(?:[.,]\d*)?|[.,]\d+"
_PART = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>[a-z]+|['\"])?\s*")
_ALIKE = str.maketrans({"″": '"', "”": '"', "′": "'", "’": "'", "−": "-", "⁄": "/", "\xa0": " "})
_DASHED_FRACTION = re.compile(r"(?<=\d)-(?=\d+/\d+)")
_THOUSANDS = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+")


def parse_length(value: object, unit: str = "mm") -> float:
    """The length in mm that ``value`` means; a bare number is in ``unit`` ("mm" or "in").

    Accepts a number, or text with or without a unit: decimals (point or comma), fractions
    ("12 1/2 in", "12½ in", "12-1/2 in") and feet with inches ("1' 2 1/2\\""). The arithmetic is
    exact, so that "12.5 in", "12 1/2 in" and 317.5 are the same float. Raises ValueError, with a
    sentence, for anything else; a bool, nan and inf are not lengths.
    """
    factor = _IN_MM[unit]
    if isinstance(value, str):
        return _finite(_length_text(value, factor), value)
    return _finite(_decimal(value, _ACCEPTED) * factor, value)


def length_in(mm: float, unit: str) -> float:
    """``mm`` as a number of ``unit`` ("mm" or "in")."""
    return mm / float(_IN_MM[unit])


def format_length(
    mm: float,
    unit: str = "mm",
    *,
    decimals: int | None = None,
    sixteenths: bool = True,
    signed: bool = False,
    with_unit: bool = True,
) -> str:
    """``mm`` for reading: whole mm, or inches to the nearest 1/16 ("12 1/2 in").

    ``decimals`` asks for that many decimals instead, in either unit; inches without
    ``sixteenths`` get two. ``signed`` puts a plus before a positive length. A length that is not
    known (nan) is a dash, an infinite one "∞". The text reads back through `parse_length`.
    """
    if math.isnan(mm):
        return "–"
    if math.isinf(mm):
        return "∞" if mm > 0 else "-∞"
    if unit == "in" and decimals is None and sixteenths:
        text = _in_sixteenths(abs(mm))
    else:
        places = decimals if decimals is not None else (2 if unit == "in" else 0)
        text = f"{length_in(abs(mm), unit):.{places}f}"
    if text.strip("0.") and (mm < 0 or signed):
        text = ("-" if mm < 0 else "+") + text
    return f"{text} {unit}" if with_unit else text


def parse_angle(value: object) -> float:
    """The angle in rad that ``value`` means: a number of degrees, or text ("24°", "0.4 rad").

    Raises ValueError with a sentence.
    """
    accepted = 'an angle is a number of degrees, or a text like "24.5°" or "0.43 rad"'
    if not isinstance(value, str):
        return math.radians(_finite(_decimal(value, accepted), value))
    match = re.fullmatch(
        r"([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d+)?)\s*(°|deg|degrees?|rad)?",
        value.translate(_ALIKE).strip().lower(),
    )
    if match is None:
        raise ValueError(f"{value!r} is not an angle; {accepted}")
    number = _finite(float(match[1].replace(",", ".")), value)
    return number if match[2] == "rad" else math.radians(number)


def format_angle(rad: float, decimals: int = 0) -> str:
    """``rad`` in degrees with its sign; a dash where it is not known."""
    if math.isnan(rad):
        return "–"
    text = f"{math.degrees(rad):.{decimals}f}"
    return f"{text.removeprefix('-') if not text.strip('-0.') else text}°"


def parse_weight(value: object) -> float:
    """Weight per length, N/mm: a number of grams per metre, or text ("110 g/m", "0.001 N/mm").

    Raises ValueError with a sentence.
    """
    accepted = 'a weight is a number of grams per metre, or a text like "110 g/m" or "0.001 N/mm"'
    if not isinstance(value, str):
        return _finite(_decimal(value, accepted), value) * _NEWTON_PER_MM
    match = re.fullmatch(r"([+-]?[\d.,]+(?:e[+-]?\d+)?)\s*(g/m|n/mm)?", value.strip().lower())
    try:
        number = float(match[1].replace(",", ".")) if match else math.nan
    except ValueError:
        number = math.nan
    if match is None or math.isnan(number):
        raise ValueError(f"{value!r} is not a weight; {accepted}")
    return number if match[2] == "n/mm" else number * _NEWTON_PER_MM


def length_literal(mm: float, unit: str) -> float | str:
    """The shortest way to write ``mm`` in a file of that unit so that it reads back exactly.

    A number where one will do, else a text in mm.
    """
    number = _shortest(length_in(mm, unit), lambda number: parse_length(number, unit) == mm)
    text = f"{_plain(mm)} mm"
    return text if number is None or len(text) < len(str(number)) else number


def angle_literal(rad: float) -> float | str:
    """The shortest way to write ``rad`` in degrees so that it reads back exactly."""
    number = _shortest(math.degrees(rad), lambda number: parse_angle(number) == rad)
    return number if number is not None else f"{rad!r} rad"


def weight_literal(weight: float) -> float | str:
    """The shortest way to write ``weight`` N/mm in g/m so that it reads back exactly."""
    grams = weight / _NEWTON_PER_MM
    number = _shortest(grams, lambda number: parse_weight(number) == weight)
    return number if number is not None else f"{weight!r} N/mm"


def _shortest(number: float, reads_back: Callable[[float], bool]) -> float | None:
    """``number`` with as few decimals as read back, an int where it is whole."""
    if number.is_integer() and abs(number) < 1e15:
        return int(number) if reads_back(number) else None
    for decimals in range(17):
        shorter = round(number, decimals)
        if reads_back(shorter):
            return int(shorter) if shorter.is_integer() else shorter
    return None


def _plain(number: float) -> str:
    """All digits of a float, without an exponent."""
    return format(Decimal(repr(number)), "f").removesuffix(".0")


def _length_text(text: str, bare: Fraction) -> Fraction:
    """The exact length in mm of a text; a number without unit counts ``bare`` mm."""
    rest = _DASHED_FRACTION.sub(" ", _spell_fractions(text.translate(_ALIKE))).strip().lower()
    sign = -1 if rest.startswith("-") else 1
    rest = rest[1:].strip() if rest[:1] in ("-", "+") else rest
    total = Fraction(0)
    feet = False
    at = 0
    while match := _PART.match(rest, at):
        number, name = match["number"], match["unit"]
        if name is not None and name not in _IN_MM:
            raise ValueError(f"{text!r} has an unknown unit {name!r}; {_ACCEPTED}")
        factor = _IN_MM[name] if name else _INCH if feet else bare
        if at and not (feet and factor == _INCH):  # only inches may follow, and only feet
            raise ValueError(f"{text!r} is not a length; {_ACCEPTED}")
        feet = factor == 12 * _INCH
        total += _exact(number, text) * factor
        at = match.end()
    if not at or at != len(rest):
        raise ValueError(f"{text!r} is not a length; {_ACCEPTED}")
    return sign * total


def _spell_fractions(text: str) -> str:
    """Replaces characters like ½ by " 1/2"."""
    spelled = []
    for character in text:
        name = unicodedata.decomposition(character)
        if name.startswith("<fraction>"):
            digits = "".join(chr(int(code, 16)) for code in name.split()[1:])
            spelled.append(" " + digits.replace("⁄", "/"))
        else:
            spelled.append(character)
    return "".join(spelled)


def _exact(number: str, text: str) -> Fraction:
    """The exact value of a decimal, a fraction or a whole number with a fraction."""
    if _THOUSANDS.fullmatch(number):
        plain = number.replace(",", "")
        raise ValueError(
            f"{text!r} can be read in two ways; write {plain} without the comma, or a point"
        )
    whole, _, fraction = number.replace(",", ".").rpartition(" ")
    try:
        return Fraction(fraction) + (Fraction(whole) if whole else 0)
    except ZeroDivisionError:
        raise ValueError(f"{text!r} divides by zero; {_ACCEPTED}") from None


def _decimal(value: object, accepted: str) -> Fraction:
    """A finite int or float as the exact decimal it is written as."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{_shown(value)} is not a number; {accepted}")
    if isinstance(value, int):
        return Fraction(value)
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a usable number; {accepted}")
    return Fraction(repr(value))


def _finite(value: Fraction | float, written: object) -> float:
    """``value`` as a float. Raises ValueError where it is too big for one."""
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise ValueError(f"{written!s:.20}… is far too large")
    return number


def _shown(value: object) -> str:
    """A value as the file writes it, roughly."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return repr(value) if isinstance(value, int | float | str) else f"a {type(value).__name__}"


def _in_sixteenths(mm: float) -> str:
    """A length in inches to the nearest 1/16: "12 1/2"."""
    whole, part = divmod(round(Fraction(mm) / _INCH * 16), 16)
    if not part:
        return str(whole)
    fraction = Fraction(part, 16)
    return f"{whole} {fraction}" if whole else str(fraction)
