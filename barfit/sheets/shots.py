"""Which poses a sheet shows: the worst one of each line in trouble."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from barfit.analysis import LineFinding
from barfit.model import Setup
from barfit.report.headline import gist
from barfit.report.phrases import at_turn, travel_words
from barfit.report.remarks import Remark
from barfit.report.sentences import where_words
from barfit.report.slides import Slide, slides

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
    """The poses to show, worst first, at most ``most``, no line twice in the same; one of the bars
    straight ahead where nothing is wrong.
    """
    about = {one.line: one for one in findings}
    found = [
        Shot(
            heading=slide.heading,
            words=_words(slide, about.get(slide.line or ""), setup),
            turn=slide.turn,
            travel=slide.travel or 0.0,
            line=slide.line or "",
        )
        for slide in slides(setup, findings, remarks, unit)
        if slide.turn is not None
    ]
    once = {(shot.line or shot.heading, shot.turn, shot.travel): shot for shot in reversed(found)}
    found = [shot for shot in found if shot in once.values()]
    return tuple(found[:most]) or (Shot("The new bars", "Straight ahead", 0.0, 0.0),)


def _words(slide: Slide, finding: LineFinding | None, setup: Setup) -> str:
    """What is wrong and where, in the words of the text, and the pose drawn where those name
    others: a line that is short at every turn is not short at the one that is drawn.
    """
    assert slide.turn is not None
    drawn = " ".join(
        filter(None, (at_turn(slide.turn, setup.machine), travel_words(slide.travel or 0.0)))
    )
    if slide.verdict is None:
        told = gist(slide.sentence.removeprefix(slide.heading).lstrip())
        told = told.removeprefix("is ").removeprefix("has ")
    else:
        assert finding is not None
        told = where_words(finding, setup.line(finding.line), setup.machine)
    if not told:
        return f"{slide.word} {drawn}"
    posed = told.startswith(("at ", "with "))
    told = f"{slide.word}{'' if posed else ':'} {told}"
    return told if drawn in told else f"{told}; drawn {drawn}"
