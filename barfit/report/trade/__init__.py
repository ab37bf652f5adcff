"""The figures of the trade in words, one module to a kind of line, as in `barfit.trade`."""

from __future__ import annotations

from dataclasses import replace

from barfit.model import Setup
from barfit.report.remarks import Remark
from barfit.report.trade.cables import cable_remarks
from barfit.report.trade.circuits import circuit_remarks
from barfit.report.trade.hoses import hose_remarks
from barfit.report.trade.on_bar import on_bar_remarks
from barfit.report.trade.rider import rider_remarks
from barfit.report.trade.through import BARE_EDGE, DEBURR, through_remarks
from barfit.report.trade.wires import SPLICE_RULES, wire_remarks
from barfit.trade import Trade

__all__ = ["remarks"]


def remarks(trade: Trade, setup: Setup, unit: str) -> tuple[Remark, ...]:
    """All that is to be said, kind after kind; lengths in sentences in ``unit``.

    What holds alike for every joint or every hole is said once.
    """
    said = [remark for figures in trade.cables for remark in cable_remarks(figures, setup, unit)]
    said += [remark for figures in trade.wires for remark in wire_remarks(figures, unit)]
    for hose in trade.hydraulics.hoses:
        said += hose_remarks(hose, setup, unit)
    warn = True
    for circuit in trade.hydraulics.circuits:
        said += circuit_remarks(circuit, unit, warn)
        warn = warn and not circuit.replaced
    said += through_remarks(trade.through, unit)
    if trade.on_bar is not None:
        said += on_bar_remarks(trade.on_bar, setup, unit)
    if trade.rider is not None:
        said += rider_remarks(trade.rider, setup, unit)
    return _once(said)


# workmanship that is the same for every joint and every hole
_SAME = (SPLICE_RULES, DEBURR, BARE_EDGE)


def _once(said: list[Remark]) -> tuple[Remark, ...]:
    """The same, with what is to be done alike at every joint and hole said where it comes first."""
    found, told = [], set()
    for remark in said:
        hint, caution = remark.hint, remark.caution
        for text in _SAME:
            if text not in f"{hint} {caution}":
                continue
            if text in told:
                hint, caution = (one.replace(text, "").strip() for one in (hint, caution))
            told.add(text)
        found.append(replace(remark, hint=hint, caution=caution))
    return tuple(found)
