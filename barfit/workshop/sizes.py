"""What can be bought: the next size sold, a made-up length, the eyes of a banjo."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from barfit.catalogue import data_dir, line_kinds, wire_table

_SAME = 1e-6  # of a step: what a length may be off and still be a whole number of them


@dataclass(frozen=True)
class SizeTable:
    """What is sold. ``ready`` mm is the most over stock, by family of line; ``made_up`` mm the step
    in which a made-up length is quoted; ``eyes`` rad the angles of banjo eyes; ``bottle`` mm³ of
    fluid, ``flush`` how often what a circuit holds is used; ``wire_step`` m, ``wire_spare`` mm of
    each piece of wire; ``terminal_spare`` the share of terminals that are spoilt.
    """

    ready: dict[str, float]
    made_up: float
    eyes: tuple[float, ...]
    bottle: float
    flush: float
    wire_step: float
    wire_spare: float
    terminal_spare: float


def size_table() -> SizeTable:
    """The table as the file has it."""
    return _read(data_dir() / "sizes.toml")


def next_size(kind: str, longer: float) -> float:
    """The next growth over stock, mm, in which a kind of line is sold: ``longer`` or more; inf
    where none that long is sold, nan for nan. Raises KeyError for an unknown kind.
    """
    row = line_kinds()[kind]
    if math.isnan(longer):
        return math.nan
    size = math.ceil(longer / row.increment - _SAME) * row.increment
    return size if size <= size_table().ready.get(row.family, math.inf) else math.inf


def is_size(kind: str, longer: float) -> bool:
    """Whether a kind of line is sold with just that growth over stock."""
    return abs(next_size(kind, longer) - longer) < _SAME * line_kinds()[kind].increment


def quoted(length: float) -> float:
    """A length that is made up, mm: ``length`` or more, as a maker quotes it; nan for nan."""
    step = size_table().made_up
    return math.ceil(length / step - _SAME) * step if math.isfinite(length) else math.nan


def extension(longer: float) -> float:
    """The shortest plug-in extension sold that is ``longer`` mm or more; inf for none."""
    return next((one for one in wire_table().plug_in if one >= longer - _SAME), math.inf)


def eye(angle: float) -> float:
    """The angle of the banjo eye sold that comes nearest to ``angle``, rad; nan for nan."""
    if math.isnan(angle):
        return math.nan
    return min(size_table().eyes, key=lambda one: abs(one - abs(angle)))


@cache
def _read(path: Path) -> SizeTable:
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    return SizeTable(
        ready={name: float(mm) for name, mm in raw["ready"].items() if name != "source"},
        made_up=float(raw["made_up"]["step"]),
        eyes=tuple(math.radians(one) for one in raw["eyes"]["angles"]),
        bottle=float(raw["bottle"]["volume"]),
        flush=float(raw["bottle"]["flush"]),
        wire_step=float(raw["wire"]["step"]),
        wire_spare=float(raw["wire"]["spare"]),
        terminal_spare=float(raw["terminal"]["spare"]),
    )
