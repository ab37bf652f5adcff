"""The data table of hydraulic hoses, ``assets/hoses.toml``: mm, mm³, MPa."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from barfit.catalogue import data_dir
from barfit.model import Construction, Fluid, HoseEnd, Line
from barfit.trade.hydraulics import GROWTH_PER_CC_PER_FOOT, MPA_PER_PSI

UNKNOWN = (math.nan,) * 3


@dataclass(frozen=True)
class Growth:
    """Added volume per length, mm³/mm, of bores up to ``largest_bore`` at each pressure."""

    construction: Construction
    largest_bore: float
    growth: tuple[float, ...]
    source: str


@dataclass(frozen=True)
class KindDefaults:
    """What is taken for granted of a kind of hose. ``reservoir`` mm³; ``usual`` are the bases of
    fluid that such a circuit takes, empty for any.
    """

    circuit: str
    bore: float
    reservoir: float
    usual: frozenset[str]
    source: str


@dataclass(frozen=True)
class HoseData:
    """All of the table. ``pressures`` MPa."""

    pressures: tuple[float, ...]
    limits: tuple[Growth, ...]
    likely: tuple[Growth, ...]
    kinds: dict[str, KindDefaults]
    bulk_modulus: float


@dataclass(frozen=True)
class Known:
    """What is known of one hose once its kind has filled in what it leaves out.

    ``limit`` and ``likely`` are its growth (mm³/mm) at each pressure of the table; nan where not
    known.
    """

    circuit: str
    bore: float
    construction: Construction | None
    fluid: Fluid | None
    clocking: float | None
    start: HoseEnd
    end: HoseEnd
    limit: tuple[float, ...]
    likely: tuple[float, ...]


def hose_data() -> HoseData:
    """The table as the file has it."""
    return _read(data_dir() / "hoses.toml")


def known(line: Line) -> Known:
    """What is known of a hose. Raises KeyError for a kind of line that the table lacks.

    A hose of unknown construction may swell as much as the standard allows any hose.
    """
    data, hose = hose_data(), line.hose
    kind = data.kinds[line.kind]
    bore = hose.bore if hose and hose.bore is not None else kind.bore
    construction = hose.construction if hose else None
    return Known(
        circuit=hose.circuit if hose and hose.circuit else kind.circuit,
        bore=bore,
        construction=construction,
        fluid=hose.fluid if hose else None,
        clocking=hose.clocking if hose else None,
        start=hose.start if hose else HoseEnd(),
        end=hose.end if hose else HoseEnd(),
        limit=_growth(data.limits, construction or Construction.REGULAR, bore),
        likely=_growth(data.likely, construction, bore),
    )


def _growth(
    rows: tuple[Growth, ...], construction: Construction | None, bore: float
) -> tuple[float, ...]:
    """Growth of the narrowest row that holds the bore; nan where none does."""
    fit = [row for row in rows if row.construction is construction and bore <= row.largest_bore]
    return min(fit, key=lambda row: row.largest_bore).growth if fit else UNKNOWN


@cache
def _read(path: Path) -> HoseData:
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    return HoseData(
        pressures=tuple(psi * MPA_PER_PSI for psi in raw["pressures"]),
        limits=tuple(_row(row) for row in raw["limit"]),
        likely=tuple(_row(row) for row in raw["likely"]),
        kinds={
            name: KindDefaults(
                row["circuit"],
                float(row["bore"]),
                1000.0 * row["reservoir"],
                frozenset(row.get("usual", ())),
                row["source"],
            )
            for name, row in raw["kinds"].items()
        },
        bulk_modulus=float(raw["fluid"]["bulk_modulus"]),
    )


def _row(raw: dict[str, Any]) -> Growth:
    return Growth(
        construction=Construction(raw["construction"]),
        largest_bore=float(raw["largest_bore"]),
        growth=tuple(cc * GROWTH_PER_CC_PER_FOOT for cc in raw["growth"]),
        source=raw["source"],
    )
