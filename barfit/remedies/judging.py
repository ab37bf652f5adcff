"""What comes of a thing that is tried: solved as far as it may help, judged by all that it does."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis import LineFinding, LineSweep, Sweep, Verdict
from barfit.catalogue import line_kinds
from barfit.model import Setup
from barfit.remedies.freed import freed
from barfit.remedies.remedy import FIRST_LOOK, Change, Elsewhere, Means, Moved, Remedy
from barfit.remedies.spoilt import spoilt
from barfit.remedies.trials import TELLING, Spare, Trials, band_now
from barfit.trade.cables import total_bend
from barfit.trade.poses import greatest

_AS_TIGHT = 0.5  # mm of radius that make no difference
_WIDER = 1.3  # times its band now a line may have with something changed; estimate


@dataclass(frozen=True)
class Plan:
    """One thing to be tried about a line; fields as in `Remedy`. ``touches`` are the other lines
    that feel it.
    """

    means: Means
    setup: Setup
    at: str = ""
    by: float = math.nan
    change: Change = Change.ITEM
    touches: tuple[str, ...] = ()
    together: tuple[str, ...] = ()
    moves: tuple[Moved, ...] = ()


def solved(trials: Trials, line: str, plan: Plan, spare: Spare | None = None) -> Remedy:
    """What comes of a plan. Where ``spare`` (what the line then has, by a first look) says that it
    surely does not suffice, nothing more is solved, and the remedy says so.
    """
    was = trials.found[line]
    if spare is not None and not _worth_solving(spare, was):
        known = not math.isnan(spare.margin)
        why = "" if known else "no rest shape was found for it"
        looked = _remedy(line, plan, Verdict.NOT_KNOWN, spare.margin, math.nan, was, why_not=why)
        return replace(looked, first_look=known)
    found = trials.finding(plan.setup, line)
    if found is None:
        return refused(line, plan.means, plan.setup, "it cannot be laid out so", plan.at)
    remedy = judged(trials, line, plan, *found)
    if plan.means in _ON_BAR and (remedy.cures or remedy.may_cure):
        return _held_against_all(trials, remedy)
    return remedy


_ON_BAR = (Means.TURN_FITTING, Means.ROLL_BAR, Means.MOVE_CONTROL, Means.LOWER_BAR)
_FORBIDDEN = {
    "hand_gap": "a hand would be trapped, or more than it is",
    "hard_gap": "hard parts would meet before the stops do",
    "clamp_spare": "the risers would no longer clamp the bar on its straight",
}


def _held_against_all(trials: Trials, remedy: Remedy) -> Remedy:
    """A remedy that moves the bar or what is on it, with what that spoils; refused where it makes
    the bars not acceptable, or less so.
    """
    found = spoilt(trials.setup, remedy.setup)
    remedy = replace(remedy, spoilt=found)
    wrong = next((one for one in found if one.forbids and one.worse), None)
    if wrong is None:
        return remedy
    why = _FORBIDDEN.get(wrong.what, "the bars would not be allowed at this place")
    return replace(remedy, why_not=why)


def judged(trials: Trials, line: str, plan: Plan, finding: LineFinding, there: Sweep) -> Remedy:
    """What comes of a plan whose line is solved already, swept as it is ``there``."""
    worse = trials.worse(plan.setup, plan.touches) if plan.touches else {}
    too_long = trials.too_long(plan.setup, plan.touches) if plan.touches else ()
    bare = None
    if plan.change is Change.DROP:
        bare = freed(trials.swept, finding, there, plan.at)
    remedy = _remedy(
        line,
        plan,
        finding.verdict,
        finding.margin,
        0.5 * finding.sure.two_sigma,
        trials.found[line],
        worse=worse,
        why_not=finding.why if finding.verdict is Verdict.NOT_KNOWN else "",
        more_bend=_more_bend(trials, line, there),
    )
    known = finding.verdict is not Verdict.NOT_KNOWN
    return replace(
        remedy,
        freed=bare,
        lies_on=trials.lies_on(finding) if known else (),
        too_long=too_long,
        elsewhere=_elsewhere(trials.found[line], finding),
        bent_before=_bent_before(trials.stock.line(line), finding),
    )


def _bent_before(stock: LineSweep, now: LineFinding) -> bool:
    """Whether a bend that is too tight is as tight with the stock bars, as the machine stands."""
    before = float(np.nanmin(stock.min_radius, initial=math.inf))
    return now.verdict is Verdict.BEND_TOO_TIGHT and now.min_radius >= before - _AS_TIGHT


def _elsewhere(was: LineFinding, now: LineFinding) -> Elsewhere | None:
    """The stretch that decides the margin of a longer line, where it is none that got longer."""
    if was.clipped is None or now.clipped is None or now.installed <= was.installed:
        return None
    if len(was.clipped.spans) != len(now.clipped.spans):
        return None
    grown = [
        after.spare
        for before, after in zip(was.clipped.spans, now.clipped.spans, strict=True)
        if after.length > before.length + TELLING
    ]
    plain = now.margin - now.sure.margin_by
    decides = min(now.clipped.spans, key=lambda one: abs(one.spare - plain))
    if not grown or not min(grown) > plain + TELLING or abs(decides.spare - plain) > TELLING:
        return None
    return Elsewhere(decides.between, min(grown))


def _more_bend(trials: Trials, line: str, there: Sweep) -> float:
    """By how much (rad) a control cable bends more, all told, than with the stock bars; nan for any
    other line, and where it is not known.
    """
    if line_kinds()[trials.setup.line(line).kind].family != "cable":
        return math.nan
    now, before = (greatest(total_bend(one.line(line))) for one in (there, trials.stock))
    return now - before


def refused(line: str, means: Means, setup: Setup, why_not: str, at: str = "") -> Remedy:
    """A means that cannot be taken, and why."""
    return Remedy(line, means, setup, Verdict.NOT_KNOWN, math.nan, at=at, why_not=why_not)


def _worth_solving(spare: Spare, was: LineFinding) -> bool:
    """Whether a check may find that it suffices, or that this is uncertain, given how far off a
    first look may be, and that a line laid otherwise may be known less well than as it is.
    """
    return spare.margin >= -(_WIDER * band_now(was) + FIRST_LOOK)


def _remedy(
    line: str,
    plan: Plan,
    verdict: Verdict,
    margin: float,
    sigma: float,
    was: LineFinding,
    worse: Mapping[str, float] | None = None,
    why_not: str = "",
    more_bend: float = math.nan,
) -> Remedy:
    length = plan.setup.line(line).length
    gain = margin - was.margin
    fits = verdict is Verdict.REACHES or margin >= 0.0 or plan.means is Means.LEAVE
    if not why_not and not fits and gain < TELLING:
        why_not = "it gains nothing" if gain > -TELLING else "it takes more line that way"
    return Remedy(
        line=line,
        means=plan.means,
        setup=plan.setup,
        verdict=verdict,
        margin=margin,
        sigma=sigma,
        at=plan.at,
        by=plan.by,
        length=length,
        longer=length - was.installed,
        worse=tuple(worse or ()),
        worse_margins=tuple((worse or {}).values()),
        why_not=why_not,
        change=plan.change,
        gain=gain,
        together=plan.together,
        moves=plan.moves,
        more_bend=more_bend,
    )
