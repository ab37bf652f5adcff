"""The verdict on one line, and why: which of its numbers decides."""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

import numpy as np

from barfit.analysis.blame import Blame
from barfit.analysis.lengths import SpanNeed
from barfit.analysis.stability import Decides, DecidingPose
from barfit.analysis.sweep import LineSweep, Sweep


class Verdict(StrEnum):
    """In order of how bad it is."""

    REACHES = "reaches"
    RUBS = "rubs"
    UNCERTAIN = "uncertain"
    MARGINAL = "marginal"
    TOO_LONG = "too long"
    BEND_TOO_TIGHT = "bend too tight"
    PINCHED = "pinched"
    SHORT = "short"
    NOT_KNOWN = "not known"


def judged(
    sweep: Sweep,
    swept: LineSweep,
    *,
    margin: float,
    slack: float,
    certain: bool,
    too_long: bool,
    radius: float,
    pinched: bool,
    rubs: bool,
    blame: Blame | None,
    deciding: tuple[DecidingPose, ...],
) -> tuple[Verdict, str]:
    """The verdict on a line and why, from its numbers (mm; see `LineFinding`), whether its margin
    is surely on its side of zero, whether anything squeezes or chafes it, and where no length
    helps. What hangs on a margin that is not
    certain is uncertain; what rests on a shape that is not stable is not known.
    """
    why = lost(sweep, swept) or unstable(deciding, too_long)
    if why:
        return Verdict.NOT_KNOWN, why
    if math.isnan(margin) and blame is None and slack >= 0.0:
        return Verdict.NOT_KNOWN, "no rest shape was found while it was let out to open its bends"
    fits = margin >= 0.0
    why = blame.words() if blame is not None else ""
    if slack < 0.0:
        verdict, why = Verdict.SHORT, ""
    elif pinched:
        return Verdict.PINCHED, ""  # however sure its length is
    elif radius < swept.spans[0].case.min_radius:
        verdict = Verdict.BEND_TOO_TIGHT
    elif too_long:
        verdict, why = Verdict.TOO_LONG, ""
    else:
        verdict = Verdict.REACHES if fits else Verdict.MARGINAL
    by_margin = verdict in (Verdict.REACHES, Verdict.MARGINAL, Verdict.SHORT) or (
        verdict is Verdict.BEND_TOO_TIGHT and not fits
    )
    if by_margin and not math.isnan(margin) and not certain:
        return Verdict.UNCERTAIN, ""
    if verdict is Verdict.REACHES and rubs:
        return Verdict.RUBS, ""
    return verdict, why


def unstable(deciding: tuple[DecidingPose, ...], too_long: bool) -> str:
    """Why the shapes that a verdict rests on are no ground for one, or nothing."""
    for pose in deciding:
        if not pose.stable and (too_long or pose.decides is not Decides.LONGEST):
            return (
                f"the shape that decides its {pose.decides} (turn "
                f"{np.degrees(pose.turn):.0f}°) is not a stable one"
            )
    return ""


def spares(swept: LineSweep, needs: list[SpanNeed]) -> list[float]:
    """What each span has beyond what it needs and should keep, mm; negative where it lacks."""
    return [
        span.case.length - need.least - span.case.least
        for span, need in zip(swept.spans, needs, strict=True)
    ]


def deciding(swept: LineSweep, needs: list[SpanNeed]) -> list[int]:
    """The spans whose spare lengths add up to the margin: all that are short, or else the one
    that has least to spare. Spans that nothing moves count only where they are too short. None
    where one of them is not known.
    """
    spare = spares(swept, needs)
    if any(map(math.isnan, spare)):
        return []
    short = [k for k, value in enumerate(spare) if value < 0.0]
    return short or [min(counting(swept, spare), key=spare.__getitem__)]


def counting(swept: LineSweep, spare: Sequence[float]) -> list[int]:
    """The spans that count, given what each has to spare: those that something moves, and any
    that is too short; all of them where there is no such span.
    """
    spans = range(len(swept.spans))
    counts = [k for k in spans if swept.spans[k].case.least > 0.0 or spare[k] < 0.0]
    return counts or list(spans)


def margin(swept: LineSweep, needs: list[SpanNeed]) -> float:
    """Installed less needed length, mm: what the deciding spans have to spare; nan if not known."""
    spare, spans = spares(swept, needs), deciding(swept, needs)
    return float(sum(spare[k] for k in spans)) if spans else math.nan


def lost(sweep: Sweep, swept: LineSweep) -> str:
    """Why a line's verdict cannot be known, or nothing."""
    bad = ~swept.converged
    if not bad.any():
        return ""
    turns = np.degrees(sweep.angles[bad.any(0)])
    return (
        f"no rest shape was found at {int(bad.sum())} of {bad.size} poses "
        f"(turn {turns.min():.0f}° to {turns.max():.0f}°)"
    )
