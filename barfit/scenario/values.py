"""How one value of a scenario file is read: what it may be, and in which unit it leaves here.

Values leave in the units of the model: mm, rad, N/mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from pydantic import ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from barfit.model import How, Measured, Vec
from barfit.scenario.problems import did_you_mean
from barfit.units import format_length, parse_angle, parse_length, parse_weight

FAR = 5000.0  # mm; no point of a motorcycle's front end is farther from the steering axis


def _refuse(message: str, hint: str = "") -> PydanticCustomError:
    return PydanticCustomError("barfit", "{message}", {"message": message, "hint": hint})


class Value:
    """Reads one value of a file; subclasses say how."""

    def __get_pydantic_core_schema__(self, _source: Any, _handler: Any) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self._validate)

    def _validate(self, value: object, info: ValidationInfo) -> Any:
        unit = (info.context or {}).get("unit", "mm")
        try:
            return self.read(value, unit)
        except ValueError as error:
            if isinstance(error, PydanticCustomError):
                raise
            message, _, hint = str(error).partition("; ")
            raise _refuse(message, hint) from None

    def read(self, value: object, unit: str) -> Any:
        """The value for the model. Raises ValueError with a sentence: what it is; what would do."""
        raise NotImplementedError


@dataclass(frozen=True)
class Length(Value):
    """A length from ``low`` to ``high`` mm, in mm."""

    low: float = -FAR
    high: float = FAR

    def read(self, value: object, unit: str) -> float:
        """See the class."""
        mm = parse_length(value, unit)
        if not self.low <= mm <= self.high:
            limits = (_limit_words(end, unit) for end in (self.low, self.high))
            raise ValueError(_outside(_in_words(value, unit), *limits))
        return mm


@dataclass(frozen=True)
class Angle(Value):
    """An angle from ``low`` to ``high`` degrees, in rad; ``why`` explains the limits."""

    low: float
    high: float
    why: str = ""

    @classmethod
    def between(cls, low: float, high: float) -> Angle:
        """One whose limits are given in rad."""
        return cls(round(math.degrees(low), 9), round(math.degrees(high), 9))

    def read(self, value: object, unit: str) -> float:
        """See the class."""
        rad = parse_angle(value)
        if not math.radians(self.low) <= rad <= math.radians(self.high):
            written = value if isinstance(value, str) else f"{value}°"
            raise ValueError(_outside(written, f"{self.low:g}°", f"{self.high:g}°") + self.why)
        return rad


@dataclass(frozen=True)
class YesOrNo(Value):
    """true or false."""

    def read(self, value: object, unit: str) -> bool:
        """See the class."""
        if not isinstance(value, bool):
            raise ValueError(f"{shown(value)} is neither true nor false; write one of them, bare")
        return value


@dataclass(frozen=True)
class Stiffness(Value):
    """A bending or twisting stiffness in N·mm², a plain number in the file."""

    def read(self, value: object, unit: str) -> float:
        """See the class."""
        number = _number(value)
        if not 1.0 <= number <= 1e8:
            raise ValueError(_outside(f"{value} N·mm²", "1 N·mm²", "100 000 000 N·mm²"))
        return number


@dataclass(frozen=True)
class Force(Value):
    """A force from ``low`` to ``high`` N, a plain number in the file."""

    low: float
    high: float

    def read(self, value: object, unit: str) -> float:
        """See the class."""
        number = _number(value, "give newtons, as a plain number")
        if not self.low <= number <= self.high:
            raise ValueError(_outside(f"{value} N", f"{self.low:g} N", f"{self.high:g} N"))
        return number


@dataclass(frozen=True)
class Weight(Value):
    """A weight per length in N/mm; g/m in the file."""

    def read(self, value: object, unit: str) -> float:
        """See the class."""
        weight = parse_weight(value)
        if not 0.0 <= weight <= 0.1:
            written = value if isinstance(value, str) else f"{value} g/m"
            raise ValueError(_outside(written, "0 g/m", "10 000 g/m"))
        return weight


@dataclass(frozen=True)
class Point(Value):
    """Three lengths in mm; ``names`` are those of the axes."""

    low: float = -FAR
    high: float = FAR
    names: str = "[x, y, z]"

    def read(self, value: object, unit: str) -> Vec:
        """See the class."""
        one = Length(self.low, self.high)
        x, y, z = (one.read(entry, unit) for entry in _three(value, f"lengths {self.names}"))
        return (x, y, z)


@dataclass(frozen=True)
class Direction(Value):
    """Three plain numbers that are not all zero; their size does not matter. ``names`` are those of
    the axes.
    """

    names: str = "[x, y, z]"

    def read(self, value: object, unit: str) -> Vec:
        """See the class."""
        x, y, z = (_number(entry) for entry in _three(value, f"numbers {self.names}"))
        if math.hypot(x, y, z) < 1e-6 or max(abs(x), abs(y), abs(z)) > 1e6:
            raise ValueError(f"{[x, y, z]} points nowhere; a direction is like [0, 0.5, -1]")
        return (x, y, z)


@dataclass(frozen=True)
class Words(Value):
    """A text; ``filled`` asks for at least one letter, and for one line."""

    filled: bool = False

    def read(self, value: object, unit: str) -> str:
        """See the class."""
        if not isinstance(value, str):
            raise ValueError(f"{shown(value)} is not a text; put it between double quotes")
        if self.filled and (not value.strip() or not value.isprintable()):
            raise ValueError(f"{value!r} is not a name; give it a short text")
        return value


@dataclass(frozen=True)
class Choice(Value):
    """One of a few words."""

    known: type[StrEnum]

    def read(self, value: object, unit: str) -> StrEnum:
        """See the class."""
        words = [member.value for member in self.known]
        if isinstance(value, str) and value in words:
            return self.known(value)
        written = f"'{value}'" if isinstance(value, str) else shown(value)
        raise _refuse(
            f"{written} is not one of the words known here", did_you_mean(str(value), words)
        )


@dataclass(frozen=True)
class Found(Value):
    """How something was found: a word, or the standard deviation of its lengths, in mm."""

    def read(self, value: object, unit: str) -> Measured:
        """See the class."""
        words = [how.value for how in How]
        if isinstance(value, str) and value in words:
            return How(value)
        if isinstance(value, str) and not any(letter.isdigit() for letter in value):
            near = did_you_mean(value, words)
            raise _refuse(
                f"'{value}' is not a way to measure",
                near if near.startswith("did") else f"{_FOUND_HINT}",
            )
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise _refuse(f"{shown(value)} is not a way to measure", _FOUND_HINT)
        return Length(0.0, WIDEST).read(value, unit)


LEAST_FOUND = 0.1  # mm: nobody measures slack without error
WIDEST = 500.0  # mm: a length that uncertain is as good as not known
_FOUND_HINT = (
    "write 'tape', 'eyeballed' or 'not measured', or a standard deviation, like 5 or \"5 mm\""
)


@dataclass(frozen=True)
class Share(Value):
    """A plain number from ``low`` to ``high``; ``accepted`` says of what, where it is no share."""

    low: float
    high: float
    accepted: str = ""

    def read(self, value: object, unit: str) -> float:
        """See the class."""
        number = _number(value, self.accepted or _share_hint(value))
        if not self.low <= number <= self.high:
            raise ValueError(_outside(f"{value}", f"{self.low:g}", f"{self.high:g}"))
        return number


def _three(value: object, what: str) -> list[object]:
    if not isinstance(value, list) or len(value) != 3:
        raise ValueError(f"{shown(value)} is not three {what}")
    return value


def _share_hint(value: object) -> str:
    """A percentage as the plain number it stands for."""
    text = value.replace(",", ".").strip() if isinstance(value, str) else ""
    try:
        share = float(text.removesuffix("%")) / 100.0 if text.endswith("%") else math.nan
    except ValueError:
        share = math.nan
    return f"give a plain number, {share:g}" if math.isfinite(share) else "give a plain number"


def _number(value: object, accepted: str = "give a plain number") -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{shown(value)} is not a number; {accepted}")
    if not abs(value) < 1e300:  # also nan, inf and integers beyond any float
        raise ValueError(f"{shown(value)} is not a usable number")
    return float(value)


def _limit_words(mm: float, unit: str) -> str:
    tenths = 1 if unit == "mm" and mm % 1.0 else None
    return format_length(mm, unit, decimals=tenths, sixteenths=False)


def _outside(value: str, low: str, high: str) -> str:
    return f"{value} is outside {low} to {high}"


def _in_words(value: object, unit: str) -> str:
    return value if isinstance(value, str) else f"{value} {unit}"


def shown(value: object) -> str:
    """A value of the file as a sentence may quote it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, int) and value.bit_length() > 200:
        return "a number of far too many digits"
    text = repr(value) if isinstance(value, str | list) else str(value)
    return text if len(text) <= 60 else f"{text[:57]}…"
