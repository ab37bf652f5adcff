"""The table of tasks: what each takes, what it needs before it, and what is used for it."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from barfit.catalogue import data_dir
from barfit.model import By, Range

NONE: Range = (0.0, 0.0)


@dataclass(frozen=True)
class Hours:
    """Least and most hours, done at home and in a workshop."""

    home: Range = NONE
    shop: Range = NONE

    def by(self, who: By) -> Range:
        """Those of whoever does it."""
        return self.home if who is By.HOME else self.shop

    def likely(self, who: By) -> float:
        """The middle of them: what is reckoned with in a plan."""
        return 0.5 * sum(self.by(who))

    def __add__(self, other: Hours) -> Hours:
        return Hours(_sum(self.home, other.home), _sum(self.shop, other.shop))

    def times(self, count: float) -> Hours:
        """So many of them."""
        return Hours(*((count * least, count * most) for least, most in (self.home, self.shop)))


@dataclass(frozen=True)
class Piece:
    """A sentence or clause of a row, said only ``when`` the machine has one of these traits or the
    job one of these rows; always where none is named.
    """

    text: str
    when: frozenset[str] = frozenset()


@dataclass(frozen=True)
class TaskRow:
    """One row of the table; its ``label`` names the line or circuit as ``{about}``.

    ``each`` are the further hours for every wire, ``back`` those to put back what was taken off.
    ``after`` are the rows whose tasks come before it, where they are about the same lines.
    ``gate``: nothing that comes after is begun before it is passed. ``competent``: for a competent
    person only. ``manual`` is what the service manual has to say first.
    """

    name: str
    label: str
    text: tuple[Piece, ...]
    hours: Hours
    each: Hours
    back: Hours
    after: tuple[str, ...]
    tools: tuple[str, ...]
    materials: tuple[str, ...]
    manual: tuple[Piece, ...]
    gate: bool
    competent: bool


def task_table() -> MappingProxyType[str, TaskRow]:
    """Every task by its key. The hours are invented."""
    return _read(data_dir() / "tasks.toml")


@cache
def _read(path: Path) -> MappingProxyType[str, TaskRow]:
    rows = tomllib.loads(path.read_text(encoding="utf-8"))
    return MappingProxyType({name: _row(name, row) for name, row in rows.items()})


def _row(name: str, row: dict[str, Any]) -> TaskRow:
    def hours(ending: str = "") -> Hours:
        return Hours(*(_range(row.get(f"{who}{ending}", NONE)) for who in ("home", "shop")))

    return TaskRow(
        name=name,
        label=row["label"],
        text=_pieces(row["text"]),
        hours=hours(),
        each=hours("_each"),
        back=hours("_back"),
        after=tuple(row.get("after", ())),
        tools=tuple(row.get("tools", ())),
        materials=tuple(row.get("materials", ())),
        manual=_pieces(row.get("manual", ())),
        gate=row.get("gate", False),
        competent=row.get("competent", False),
    )


def _pieces(told: Any) -> tuple[Piece, ...]:
    """The pieces of a text: one, or several, some of them with what they are said for."""
    if isinstance(told, str):
        return (Piece(told),)
    return tuple(
        Piece(one) if isinstance(one, str) else Piece(one["text"], frozenset(one["when"]))
        for one in told
    )


def said(pieces: Iterable[Piece], has: Collection[str]) -> list[str]:
    """Those of the pieces that are said where there is what the machine and the job ``has``."""
    return [one.text for one in pieces if not one.when or one.when & {*has}]


def _range(ends: Any) -> Range:
    least, most = map(float, ends)
    return (least, most)


def _sum(one: Range, other: Range) -> Range:
    return (one[0] + other[0], one[1] + other[1])
