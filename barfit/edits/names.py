"""Names of parts: unique within their kind."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, Protocol, TypeVar


class Named(Protocol):
    """A part with a name."""

    @property
    def name(self) -> str:
        """Its name."""


T = TypeVar("T", bound=Named)


def fresh_name(wanted: str, taken: Iterable[str]) -> str:
    """``wanted``, or with the first number behind it that makes a name not ``taken``."""
    taken = set(taken)
    if wanted not in taken:
        return wanted
    stem = re.sub(r" \d+$", "", wanted)
    number = 2
    while f"{stem} {number}" in taken:
        number += 1
    return f"{stem} {number}"


def checked_name(name: str, others: Iterable[str], what: str) -> str:
    """A name without blanks around it. Raises ValueError where it is none or taken."""
    name = name.strip()
    if not name or not name.isprintable():
        raise ValueError(f"A {what} needs a name of at least one letter, on one line.")
    if name in set(others):
        raise ValueError(f"There is another {what} named '{name}'; names are used once.")
    return name


def find(parts: Sequence[T], name: str) -> T:
    """The part of that name. Raises KeyError."""
    for part in parts:
        if part.name == name:
            return part
    raise KeyError(name)


def replaced(parts: Sequence[T], name: str, other: T) -> tuple[T, ...]:
    """The parts with ``other`` in place of that one. Raises KeyError."""
    find(parts, name)
    return tuple(other if part.name == name else part for part in parts)


def without(parts: Sequence[T], name: str) -> tuple[T, ...]:
    """The parts without that one. Raises KeyError."""
    find(parts, name)
    return tuple(part for part in parts if part.name != name)


def beside(parts: Sequence[T], name: str, other: T) -> tuple[T, ...]:
    """The parts with ``other`` right behind that one. Raises KeyError."""
    find(parts, name)
    found: list[Any] = []
    for part in parts:
        found += [part, other] if part.name == name else [part]
    return tuple(found)
