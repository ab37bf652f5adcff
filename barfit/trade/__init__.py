"""What each kind of line and each part on the bar needs beyond length, one module to a kind."""

from __future__ import annotations

from dataclasses import dataclass, field

from barfit.analysis import LineFinding, Sweep
from barfit.trade.cables import CableFigures, cables
from barfit.trade.hoses import Hydraulics, hydraulics
from barfit.trade.judged import Grade, Judged
from barfit.trade.on_bar import OnBarFigures, on_bar
from barfit.trade.rider import RiderFigures, rider
from barfit.trade.through import ThroughBarFigures, through_bar
from barfit.trade.wires import WireFigures, wires

__all__ = [
    "CableFigures",
    "Grade",
    "Hydraulics",
    "Judged",
    "OnBarFigures",
    "RiderFigures",
    "ThroughBarFigures",
    "Trade",
    "WireFigures",
    "trade",
]


@dataclass(frozen=True)
class Trade:
    """All figures of one set of bars."""

    cables: tuple[CableFigures, ...] = ()
    through: ThroughBarFigures = field(default_factory=ThroughBarFigures)
    wires: tuple[WireFigures, ...] = ()
    on_bar: OnBarFigures | None = None
    rider: RiderFigures | None = None
    hydraulics: Hydraulics = field(default_factory=Hydraulics)


def trade(swept: Sweep, stock: Sweep, findings: tuple[LineFinding, ...]) -> Trade:
    """The figures of ``swept``, beside those of the stock bars, swept as ``stock``."""
    return Trade(
        cables=cables(swept, stock, findings),
        through=through_bar(swept.setup, swept.stock),
        wires=wires(swept, stock, findings),
        on_bar=on_bar(swept, stock),
        rider=rider(swept),
        hydraulics=hydraulics(swept, stock, findings),
    )
