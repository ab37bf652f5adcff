"""One field of a form: what it is called, what it holds, how it is read, what changing it does.

No widgets here. A field reads what is typed with the very readers of the scenario file, so a form
and a file refuse the same things with the same words.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any

from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from barfit.forms.terms import term
from barfit.model import How, Setup
from barfit.scenario.job import DAYS, Amount, ClosedDays, Weekdays, closed_text
from barfit.scenario.schema import Table
from barfit.scenario.values import (
    Angle,
    Choice,
    Direction,
    Force,
    Found,
    Length,
    Point,
    Share,
    Stiffness,
    Value,
    Weight,
    Words,
    YesOrNo,
)
from barfit.scenario.wires import Whole
from barfit.units import (
    format_angle,
    format_length,
    length_in,
    length_literal,
    weight_literal,
)

Change = Callable[[str, Any], Setup]
"""The setup with the value of a key changed. May raise ValueError with a sentence."""

_OTHER = {"mm": "in", "in": "mm"}
_MACHINE = ("forward", "left", "up")  # the axes of the machine
_PART = Share(-1e6, 1e6, "give a plain number: only the direction counts")


@dataclass(frozen=True)
class Triple:
    """A place or direction that may be left out: the ``keys`` of its three coordinates, and what
    giving all three of them, or None, does.
    """

    keys: tuple[str, ...]
    put: Callable[[tuple[Any, ...] | None], Setup]


@dataclass(frozen=True)
class Field:
    """A value of the setup that can be changed.

    ``value`` is in the model's units; None where it is left out (``optional``), and then
    ``fallback`` says in words what counts instead. ``tip`` explains the term. ``step`` names the
    edit for undo. ``words`` are those it may be where the file knows them by name only;
    ``shown`` what some of them are called on screen. ``triple``: the place or direction that may be
    left out as a whole, of which it is one coordinate.
    """

    key: str
    label: str
    tip: str
    value: Any
    reader: Value
    change: Change
    step: str
    optional: bool = False
    fallback: str = ""
    words: tuple[str, ...] = ()
    shown: Mapping[str, str] = field(default_factory=dict)
    triple: Triple | None = None

    @property
    def choices(self) -> tuple[str, ...]:
        """The words it may be, where it is a choice."""
        if self.words:
            return self.words
        if isinstance(self.reader, Choice):
            return tuple(member.value for member in self.reader.known)
        return ("true", "false") if isinstance(self.reader, YesOrNo) else ()

    @property
    def suggestions(self) -> tuple[str, ...]:
        """Words it may be, where it may also be a number."""
        return tuple(how.value for how in How) if isinstance(self.reader, Found) else ()

    def text(self, unit: str) -> str:
        """Its value as it may be typed; lengths in ``unit``. "" where it is left out."""
        return "" if self.value is None else _text(self.reader, self.value, unit)

    def other_unit(self, unit: str) -> str:
        """The value in the unit not shown: "12.52 in"; "" where it is no length."""
        if not isinstance(self.reader, Length) or self.value is None:
            return ""
        return format_length(self.value, _OTHER[unit], decimals=2 if unit == "mm" else 1)

    def read(self, typed: str, unit: str) -> Any:
        """What was typed as a value of the model. Raises ValueError: what is wrong; what would do.

        Nothing typed means left out where that may be.
        """
        typed = typed.strip()
        if not typed:
            if self.optional:
                return None
            if not isinstance(self.reader, Words):
                raise ValueError(f"{self.label} is needed")
        reader = self.reader
        if isinstance(reader, Amount):  # nobody types brackets
            reader = replace(reader, both="the least and the most, like 60 to 90")
        try:
            return reader.read(_raw(reader, typed), unit)
        except PydanticCustomError as error:
            told = error.context or {}
            raise ValueError("; ".join(filter(None, (str(error), told.get("hint"))))) from None
        except ValueError as error:
            if isinstance(reader, Amount):  # a price is one of many: it is named
                raise ValueError(f"{self.label}: {error}") from None
            raise

    def typed(self, text: str, unit: str) -> Setup | None:
        """The setup with what was typed in place; None where that is what was there already.

        Raises ValueError as `read` does, and with what else stands against it.
        """
        if text.strip() == self.text(unit):
            return None  # the rounding of what is shown must not come back as an edit
        value = self.read(text, unit)
        return None if value == self.value else self.change(self.key, value)


@dataclass(frozen=True)
class Action:
    """Something that is done to a group as a whole: a row added or deleted. ``change`` may raise
    ValueError with a sentence; ``label`` names the step, ``tip`` explains it.
    """

    label: str
    tip: str
    change: Callable[[], Setup]


@dataclass(frozen=True)
class Group:
    """Fields that belong together. ``drawing`` names the drawing that shows what they mean."""

    heading: str
    fields: tuple[Field, ...]
    drawing: str = ""
    actions: tuple[Action, ...] = ()


def fields_of(
    table: type[Table],
    values: object | Mapping[str, Any],
    change: Change,
    *,
    form: str,
    keys: tuple[str, ...] = (),
    fallbacks: Mapping[str, str] | None = None,
) -> tuple[Field, ...]:
    """A field for every key of a table of the scenario file (or for these ``keys``, in order).

    ``form`` names the form whose words for the keys are used (see `barfit.forms.terms`).
    ``values`` has the values of the model as attributes or items of the same names.
    """
    names = keys or tuple(table.model_fields)
    found = []
    for name in names:
        info = table.model_fields[name]
        label, tip = term(name, form)
        value = values[name] if isinstance(values, Mapping) else getattr(values, name)
        found.append(
            Field(
                key=name,
                label=label,
                tip=tip,
                value=value,
                reader=reader_of(info),
                change=change,
                step=_step(label),
                optional=not info.is_required() and info.default is None,
                fallback=(fallbacks or {}).get(name, ""),
            )
        )
    return tuple(found)


def coordinates(place: Field, short: bool = False) -> tuple[Field, ...]:
    """A place, a size or a direction as three fields, one to each axis; ``short`` labels them by
    the axis alone.
    """
    reader = place.reader
    assert isinstance(reader, Point | Direction)
    axes = _MACHINE if reader.names == Point.names else tuple(reader.names.strip("[]").split(", "))
    one_reader = Length(reader.low, reader.high) if isinstance(reader, Point) else _PART
    values = (None, None, None) if place.value is None else place.value

    def put(given: tuple[Any, ...] | None) -> Setup:
        if given is not None and isinstance(reader, Direction) and not any(given):
            raise ValueError("a direction with three zeros points nowhere")
        return place.change(place.key, given)

    triple = Triple(tuple(f"{place.key}_{axis}" for axis in axes), put) if place.optional else None

    def one(at: int, axis: str) -> Field:
        def change(_key: str, value: Any) -> Setup:
            given = tuple(value if at == k else old for k, old in enumerate(values))
            if None in given:
                raise ValueError("all three are needed, or none of them")
            return put(given)

        label = axis.capitalize() if short else f"{place.label}, {axis}"
        return replace(
            place,
            key=f"{place.key}_{axis}",
            label=label,
            value=values[at],
            reader=one_reader,
            change=change,
            step=f"{place.step}, {axis}",
            triple=triple,
        )

    return tuple(one(at, axis) for at, axis in enumerate(axes))


def _step(label: str) -> str:
    """What the edit of a field is called."""
    return f"Change {label[:1].lower()}{label[1:]}"


def needed(fields: tuple[Field, ...]) -> tuple[Field, ...]:
    """Keys that only some parts have, where a part has them: not to be left out."""
    return tuple(replace(field, optional=False) for field in fields)


def renaming(name: str, rename: Change) -> Field:
    """The name of a part."""
    label, tip = term("name")
    return Field("name", label, tip, name, Words(filled=True), rename, "Rename")


def choice(
    key: str,
    value: Any,
    known: Mapping[str, Any],
    change: Callable[[Any], Setup],
    step: str = "",
    form: str = "",
) -> Field:
    """One of a few values of our own, each by the words it has on screen."""
    label, tip = term(key, form)
    words = next((word for word, one in known.items() if one == value), "")

    def picked(_key: str, word: str) -> Setup:
        if word not in known:
            raise ValueError(f"{word!r} is none of {', '.join(known)}")
        return change(known[word])

    words_of = tuple(known) if words else (words, *known)
    step = step or _step(label)
    return Field(key, label, tip, words, Words(), picked, step, words=words_of)


def along_bar(from_centre: bool, change: Callable[[bool], Setup]) -> Field:
    """From which end of it a place along the bar is measured."""
    known = {"the bar end": False, "the bar's centre": True}
    return choice("along", from_centre, known, change)


def spread_out(fields: tuple[Field, ...]) -> tuple[Field, ...]:
    """The fields with every place and direction as three."""
    found: list[Field] = []
    for one in fields:
        found += coordinates(one) if isinstance(one.reader, Point | Direction) else (one,)
    return tuple(found)


def reader_of(info: FieldInfo) -> Value:
    """How a key of a table is read. Raises TypeError for one that has no reader."""
    for one in info.metadata:
        if isinstance(one, Value):
            return one
    raise TypeError(f"{info} has no reader")


def _raw(reader: Value, typed: str) -> object:
    """What was typed, as the file would hold it."""
    if isinstance(reader, YesOrNo):
        return {"true": True, "yes": True, "false": False, "no": False}.get(typed.lower(), typed)
    if isinstance(reader, Point | Direction):
        parts = typed.replace(";", ",").strip("[]() ").split(",")
        if len(parts) != 3:
            parts = typed.strip("[]() ").split()
        cleaned = [part.strip() for part in parts]
        return [_number(part) for part in cleaned] if isinstance(reader, Direction) else cleaned
    if isinstance(reader, Angle | Force | Share | Stiffness | Whole):
        return _number(typed)
    if isinstance(reader, Amount):
        ends = [_number(one) for one in re.split(r"\bto\b|(?<=\S)\s*[–-]\s*(?=\S)", typed)]
        return ends if len(ends) > 1 else ends[0]
    if isinstance(reader, Weekdays):
        return [one for one in re.split(r"[,;\s]+|\band\b", typed) if one]
    if isinstance(reader, ClosedDays):
        return [one.strip() for one in re.split(r"[,;]", typed) if one.strip()]
    return typed


def _number(typed: str) -> float | str:
    """A plain number as people type it: decimal comma, blanks between thousands."""
    try:
        number = float(typed.replace(" ", "").replace("\xa0", "").replace(",", "."))
    except ValueError:
        return typed
    return int(number) if number.is_integer() else number  # as it would stand in a file


def _text(reader: Value, value: Any, unit: str) -> str:
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(reader, Length | Found):
        return _length_text(value, unit)
    if isinstance(reader, Angle):
        return _trimmed(format_angle(value, 2))
    if isinstance(reader, Point):
        return ", ".join(_length_text(one, unit).removesuffix(f" {unit}") for one in value)
    if isinstance(reader, Direction):
        return ", ".join(f"{one:.4g}" for one in value)
    if isinstance(reader, Weight):
        literal = weight_literal(value)
        return f"{literal:g} g/m" if isinstance(literal, int | float) else literal
    if isinstance(reader, YesOrNo):
        return "true" if value else "false"
    if isinstance(reader, Amount):
        return " to ".join(f"{end:g}" for end in dict.fromkeys(value))
    if isinstance(reader, Weekdays):
        return ", ".join(DAYS[day] for day in value)
    if isinstance(reader, ClosedDays):
        return ", ".join(map(closed_text, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def _length_text(mm: float, unit: str) -> str:
    """ "318 mm", "12.5 in": exact where that is short, else to a hundredth (a thousandth of an
    inch).
    """
    literal = length_literal(mm, unit)
    decimals = 2 if unit == "mm" else 3
    if isinstance(literal, str) or round(literal, decimals) != literal:
        literal = round(length_in(mm, unit), decimals)
    return f"{literal:g} {unit}".replace("-0 ", "0 ") if literal else f"0 {unit}"


def _trimmed(text: str) -> str:
    """ "24.50°" as "24.5°"."""
    number = text.removesuffix("°")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number}°"
