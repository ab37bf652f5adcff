"""Control cables: what a route does to a wire that slides in its conduit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from barfit.analysis import LineSweep, Sweep
from barfit.catalogue import limit, line_kinds
from barfit.geometry import curve
from barfit.trade.judged import Judged, at_most


@dataclass(frozen=True)
class CableFigures:
    """One control cable. ``total_bend`` (rad) is the greatest over the sweep."""

    line: str
    total_bend: Judged


def cables(swept: Sweep, stock: Sweep) -> tuple[CableFigures, ...]:
    """The figures of every control cable, in the lines' order.

    ``stock`` is the same setup swept with its stock bars (it may be ``swept`` itself).
    """
    kinds = line_kinds()
    return tuple(
        _figures(swept, swept.line(line.name), stock.line(line.name))
        for line in swept.setup.lines
        if kinds[line.kind].family == "cable"
    )


def total_bend(line: LineSweep) -> np.ndarray:
    """The angle ∫κ ds (T, A), rad, through which a line bends from end to end at each pose.

    nan where the pose is not known.
    """
    return np.where(line.converged, curve.total_bend(line.shapes), math.nan)


def _figures(swept: Sweep, line: LineSweep, stock: LineSweep) -> CableFigures:
    bend, before = total_bend(line), total_bend(stock)
    at, turn = _greatest(bend)
    return CableFigures(
        line=line.name,
        total_bend=at_most(
            float(bend[at, turn]),
            limit(swept.setup, "cable_total_bend"),
            stock=float(np.nanmax(before)) if np.isfinite(before).any() else math.nan,
            turn=float(swept.angles[turn]),
            travel=float(line.travels[at]),
        ),
    )


def _greatest(table: np.ndarray) -> tuple[int, int]:
    """Where the greatest value of a (T, A) table is; its middle where none is known."""
    if not np.isfinite(table).any():
        return 0, table.shape[1] // 2
    at, turn = np.unravel_index(np.nanargmax(table), table.shape)
    return int(at), int(turn)
