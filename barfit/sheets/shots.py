"""Which poses a sheet shows: the worst one of each line in trouble."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from barfit.analysis import LineFinding
from barfit.model import Setup
from barfit.report.facts import pose_text
from barfit.report.remarks import Remark
from barfit.report.slides import slides

MOST = 4


@dataclass(frozen=True)
class Shot:
    """A picture to be drawn: the pose (rad, mm), the line to bring out ("" for all alike), and the
    words below it.
    """

    heading: str
    words: str
    turn: float
    travel: float
    line: str = ""


def shots(
    setup: Setup,
    findings: Sequence[LineFinding],
    remarks: Iterable[Remark],
    unit: str,
    most: int = MOST,
) -> tuple[Shot, ...]:
    """The poses to show, worst first, at most ``most``; one of the bars straight ahead where
    nothing is wrong.
    """
    found = [
        Shot(
            heading=slide.heading,
            words=f"{slide.word}: {pose_text(slide.turn, slide.travel or 0.0)}",
            turn=slide.turn,
            travel=slide.travel or 0.0,
            line=slide.line or "",
        )
        for slide in slides(setup, findings, remarks, unit)
        if slide.turn is not None
    ]
    return tuple(found[:most]) or (Shot("The new bars", "Straight ahead", 0.0, 0.0),)
