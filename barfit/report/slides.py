"""What is shown to a customer: one slide to each thing in trouble, after one that sums up.

Short words for large type; the window and the tables say the rest.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from barfit.analysis import LineFinding, Verdict
from barfit.model import Bar, BarSet, Line, Setup
from barfit.report.headline import headline
from barfit.report.phrases import capital, listed
from barfit.report.remarks import Remark, rejects
from barfit.report.sentences import CAUTION, sentence
from barfit.report.sureness import again_words, order_sentence
from barfit.trade import Grade
from barfit.units import format_length

_BADNESS = {verdict: rank for rank, verdict in enumerate(Verdict)}


@dataclass(frozen=True)
class Slide:
    """One thing to show. ``takes`` is what it takes to put right, ``doubt`` how sure that is; ""
    where nothing is to be said.

    ``verdict`` and ``line`` are None where it is not about one line; ``turn`` (rad) and ``travel``
    (mm) the pose it is worst at, None where that is not known or it speaks of none.
    """

    heading: str
    word: str
    sentence: str
    takes: str = ""
    doubt: str = ""
    caution: str = ""
    verdict: Verdict | None = None
    line: str | None = None
    turn: float | None = None
    travel: float | None = None


def slides(
    setup: Setup, findings: Sequence[LineFinding], remarks: Iterable[Remark], unit: str
) -> tuple[Slide, ...]:
    """A first slide that sums up and carries the caution, then what is not acceptable, whether of
    a line or of the bars, then each line in trouble, the worst first; one that fits has none.
    Lengths in ``unit``.
    """
    said = list(remarks)
    trouble = [finding for finding in findings if not finding.fits]
    trouble.sort(key=lambda finding: (-_BADNESS[finding.verdict], _margin(finding)))
    told = [_remark_slide(remark, unit) for remark in rejects(said)]
    told += [_line_slide(finding, setup, unit) for finding in trouble]
    return (_cover(setup, findings, said, told), *told)


def bars_words(setup: Setup) -> str:
    """The new bars and what they stand in for."""
    new, stock = (bars_title(bars) for bars in (setup.new, setup.stock))
    return f"{capital(new)}, in place of {stock}" if new != stock else capital(new)


def takes(finding: LineFinding, line: Line, unit: str) -> str:
    """What it takes to put a line right, in few words; "" for one that fits."""
    window, verdict = finding.window, finding.verdict
    needed = format_length(finding.needed, unit)
    longer = math.isfinite(finding.needed) and finding.margin < 0.0
    if verdict is Verdict.REACHES:
        return ""
    if verdict is Verdict.NOT_KNOWN:
        return "Measuring this one on the machine."
    if verdict is Verdict.UNCERTAIN:
        again = again_words(finding.sure)
        return f"Measuring {again} again." if again else "Measuring this one on the machine."
    if verdict is Verdict.PINCHED:
        return "Another way round, clear of both parts."
    if verdict is Verdict.RUBS:
        return "Guiding it clear of there, or a sleeve that is looked at at every service."
    if verdict is Verdict.TOO_LONG:
        longest = window.longest if window is not None and not window.empty else math.nan
        if math.isfinite(longest):
            return f"Clipping up its slack, or one no longer than {format_length(longest, unit)}."
        return "Clipping up its slack, or a shorter one."
    if window is not None and window.blame is not None:
        return "Another way round: no length helps this way."
    if window is not None and window.empty:
        return "Another way round: no one length suits every pose this way."
    if not longer:
        return "Another way round that opens the bend."
    told = f"One of at least {needed} this way round, or another way round."
    if verdict is Verdict.MARGINAL:
        told = f"Freeing a clip or a tie, or one of at least {needed}."
    return told


def _cover(
    setup: Setup, findings: Sequence[LineFinding], said: Sequence[Remark], told: Sequence[Slide]
) -> Slide:
    names = list(dict.fromkeys(slide.line or slide.heading.lower() for slide in told))
    top = headline(findings, said, setup)
    return Slide(
        heading=top.dangers or top.lengths,
        word=capital(Grade.REJECT) if rejects(said) else "",
        sentence=top.lengths if top.dangers else "",
        takes=f"To look at: {listed(names)}." if names else "",
        caution=CAUTION,
    )


def _line_slide(finding: LineFinding, setup: Setup, unit: str) -> Slide:
    line = setup.line(finding.line)
    turn, travel = _worst(finding)
    return Slide(
        heading=capital(finding.line),
        word=capital(finding.verdict),
        sentence=sentence(finding, line, unit, setup.machine),
        takes=takes(finding, line, unit),
        doubt=order_sentence(finding, line, unit),
        verdict=finding.verdict,
        line=finding.line,
        turn=turn,
        travel=travel,
    )


def _remark_slide(remark: Remark, unit: str) -> Slide:
    judged = remark.judged
    turn = judged.turn if judged.turn is not None and math.isfinite(judged.turn) else None
    return Slide(
        heading=capital(remark.about) if remark.about else "The bars",
        word=capital(remark.grade),
        sentence=remark.sentence or f"{remark.term}: {remark.value_text(unit)}.",
        takes=remark.hint,
        line=remark.about if remark.line else None,
        turn=turn,
        travel=judged.travel,
    )


def _worst(finding: LineFinding) -> tuple[float | None, float | None]:
    """The pose that shows best what is wrong: rad, mm; None where it is not known."""
    turn, travel = finding.worst_turn, finding.worst_travel
    rubs = [touch for touch in finding.touches if touch.rubs]
    if finding.verdict is Verdict.PINCHED and finding.pinches:
        turn, travel = finding.pinches[0].turn, finding.pinches[0].travel
    elif finding.verdict is Verdict.RUBS and rubs:
        most = max(rubs, key=lambda touch: touch.sliding)
        turn, travel = most.worst_turn, most.worst_travel
    elif finding.verdict is Verdict.BEND_TOO_TIGHT:
        turn = finding.radius_turn
    elif finding.verdict is Verdict.TOO_LONG and finding.window is not None:
        turn, travel = finding.window.turn, finding.window.travel
    known = math.isfinite(turn) and math.isfinite(travel)
    return (turn, travel) if known else (None, None)


def _margin(finding: LineFinding) -> float:
    """To sort by: what is not known comes first."""
    return -math.inf if math.isnan(finding.margin) else finding.margin


def bars_title(bars: BarSet) -> str:
    """What a set of bars is called, or else its parts."""
    if bars.name:
        return bars.name
    riser = bars.riser.name if isinstance(bars.bar, Bar) else ""
    return ", on ".join(filter(None, (bars.bar.name, riser)))
