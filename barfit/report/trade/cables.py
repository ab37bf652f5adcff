"""Control cables in words."""

from __future__ import annotations

from barfit.model import Setup
from barfit.report.phrases import at_turn, capital
from barfit.report.quantities import Quantity
from barfit.report.remarks import Remark, Topic
from barfit.trade.cables import CableFigures
from barfit.trade.judged import Grade
from barfit.units import format_angle


def cable_remarks(figures: CableFigures, setup: Setup, unit: str) -> tuple[Remark, ...]:
    """What is to be said of one control cable."""
    return (_total_bend(figures, setup),)


def _total_bend(figures: CableFigures, setup: Setup) -> Remark:
    bend = figures.total_bend
    sentence = hint = ""
    if bend.grade is Grade.CAUTION:
        where = at_turn(bend.turn or 0.0, setup.machine)
        sentence = (
            f"{capital(figures.line)} bends through {format_angle(bend.value)} in all {where}; "
            f"beyond {format_angle(bend.limit)} it grows stiff to work."
        )
        hint = "Take bends out of its way."
    return Remark(
        key="cable_total_bend",
        topic=Topic.CABLE,
        about=figures.line,
        term="Total bend",
        judged=bend,
        quantity=Quantity.ANGLE,
        sentence=sentence,
        hint=hint,
        line=True,
    )
