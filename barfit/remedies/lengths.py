"""Another length: the next size sold, one made up, a shorter one.

Nothing of this joins anything on to a line: cables and hoses are replaced whole, the two of a
throttle pair by as much each (common practice).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from barfit.analysis import LineFinding, Verdict
from barfit.catalogue import line_kinds
from barfit.model import Hold, Line, Setup
from barfit.remedies.judging import Plan, refused, solved
from barfit.remedies.remedy import Means, Remedy
from barfit.remedies.trials import Trials, with_lines
from barfit.trade.cable_growth import PAIR
from barfit.trade.laid import at_length

QUOTED = 5.0  # mm: what is made up is quoted to that (common practice)
_SAME = 1e-6
_NEARLY = 2  # steps of what is quoted that are added at most so that a length is sure; estimate


def pair(setup: Setup, line: Line) -> tuple[Line, ...]:
    """The line and those that are only ever replaced with it, in the setup's order."""
    if line.kind not in PAIR:
        return (line,)
    return tuple(other for other in setup.lines if other.kind in PAIR)


def grown_setup(trials: Trials, line: Line, by: float) -> Setup:
    """The setup with the line, and what is replaced with it, ``by`` mm longer (or shorter)."""
    return with_lines(
        trials.setup, *(grown(one, trials.found[one.name], by) for one in pair(trials.setup, line))
    )


def grown(line: Line, finding: LineFinding, by: float) -> Line:
    """A line ``by`` mm longer, ``finding`` that on it as it is. Slack found on it still tells of
    the way it goes, where no clip has been moved along it.
    """
    longer = at_length(line, finding, line.length + by)
    found = line.found_slack
    if found is None or any(one.hold is Hold.CLIP for one in line.stations):
        return longer
    then = line.length if found.length is None else found.length
    return replace(longer, found_slack=replace(found, length=then))


def lack(finding: LineFinding) -> float:
    """By how much a line has to grow at least, mm; negative: it has that much more than it needs;
    nan where no length helps or it is not known.
    """
    short = finding.clipped.total_short if finding.clipped else 0.0
    return max(short, -finding.margin) if short > 0.0 else -finding.margin


def most(finding: LineFinding) -> float:
    """By how much a line may grow at most, mm; inf where nothing limits it or it is not known."""
    longest = finding.window.longest if finding.window else math.nan
    return math.inf if math.isnan(longest) else longest - finding.installed


def bounds(trials: Trials, line: Line) -> tuple[float, float]:
    """The least and the most by which the line, and what is replaced with it, may grow, mm."""
    together = [trials.found[one.name] for one in pair(trials.setup, line)]
    return max(map(lack, together)), min(map(most, together))


def no_length(trials: Trials, line: Line) -> str:
    """Why no other length helps, as a short phrase; "" where one may."""
    finding = trials.found[line.name]
    if finding.window is not None and finding.window.blame is not None:
        return "no length opens its tightest bend"
    least, greatest = bounds(trials, line)
    if math.isnan(least):
        return "the length it needs is not known"
    if greatest < least:
        return "no one length suits every pose this way"
    return ""


def aim(trials: Trials, line: Line) -> float:
    """How much more than the least a new line had better have, mm: up to the slack to aim for, or
    what its length is not known to, whichever is more. Where the lengths that are sensible do not
    reach that far both ways, no length makes it sure, and measuring again has to.
    """
    least, greatest = bounds(trials, line)
    room = greatest - least if math.isfinite(greatest) else 0.0
    wanted = 0.0
    for one in pair(trials.setup, line):
        finding = trials.found[one.name]
        band = _band(trials, one)
        known = band if band <= max(finding.target, 0.5 * room) else 0.0
        wanted = max(wanted, finding.target - finding.least, known)
    return wanted


def _band(trials: Trials, line: Line) -> float:
    """How much margin a new line needs for that to be sure, mm: as much as the old one, and what
    its own length may be off by; 0 where that is not known.
    """
    if grown(line, trials.found[line.name], 0.0).found_slack is None:
        return trials.band(line.name)
    band = trials.found[line.name].sure.two_sigma
    own = 2.0 * trials.setup.uncertainty.length
    return math.hypot(band, own) if math.isfinite(band) else 0.0


def longer(trials: Trials, line: Line) -> Iterator[Remedy]:
    """The next size sold, and one made up to length."""
    cables_and_hoses = line_kinds()[line.kind].family in ("cable", "hose")
    why = no_length(trials, line)
    if why:
        for means in (Means.NEXT_SIZE, Means.MADE_UP):
            if cables_and_hoses or means is Means.MADE_UP:
                yield refused(line.name, means, trials.setup, why)
        return
    if lack(trials.found[line.name]) <= 0.0:
        return
    size = math.nan
    if cables_and_hoses:
        sold = _next_size(trials, line)
        size = sold.longer if sold.cures else math.nan
        yield sold
    least, greatest = bounds(trials, line)
    first = pair(trials.setup, line)[0]
    by = exact(first.length, least, greatest, least + aim(trials, line))
    if not math.isclose(by, size, abs_tol=0.5):  # nobody has made up what is sold
        yield _made_up(trials, line, by, greatest)


def _made_up(trials: Trials, line: Line, by: float, greatest: float) -> Remedy:
    """Made up ``by`` mm longer, or a little more where only that makes it sure: how sure a length
    is comes out of the line as it then lies, which may be a little less sure than as it is.
    """
    found = tried(trials, line, Means.MADE_UP, by)
    near = found.may_cure and found.margin + _NEARLY * QUOTED > 2.0 * found.sigma
    if found.cures or not near:
        return found
    more = [by + step * QUOTED for step in range(1, _NEARLY + 1)]
    others = (tried(trials, line, Means.MADE_UP, one) for one in more if one <= greatest)
    return next((one for one in others if one.cures), found)


def shorter(trials: Trials, line: Line) -> Iterator[Remedy]:
    """One that is not too long: a size sold in the same steps, else made up."""
    if trials.found[line.name].verdict is not Verdict.TOO_LONG:
        return
    why = no_length(trials, line)
    if why:
        yield refused(line.name, Means.SHORTER, trials.setup, why)
        return
    least, greatest = bounds(trials, line)
    wanted = min(least + aim(trials, line), greatest)
    step = line_kinds()[line.kind].increment
    size = math.floor(wanted / step + _SAME) * step
    if size < least:
        size = math.floor(greatest / step + _SAME) * step
    by = (
        size
        if least <= size < 0.0
        else exact(pair(trials.setup, line)[0].length, least, greatest, wanted)
    )
    yield tried(trials, line, Means.SHORTER, by)


def exact(length: float, least: float, greatest: float, wanted: float) -> float:
    """By how much a line of ``length`` mm grows when it is made up: as ``wanted``, within bounds,
    so that what is quoted is a round number where that is possible.
    """
    wanted = min(wanted, greatest)
    quoted = math.ceil((length + wanted) / QUOTED - _SAME) * QUOTED - length
    if quoted > greatest:
        quoted -= QUOTED
    return quoted if quoted >= least else wanted


def tried(trials: Trials, line: Line, means: Means, by: float) -> Remedy:
    """What comes of the line, with what is replaced with it, ``by`` mm longer."""
    together = tuple(one.name for one in pair(trials.setup, line) if one.name != line.name)
    plan = Plan(means, grown_setup(trials, line, by), touches=together, together=together)
    return solved(trials, line.name, plan)


def first_certain(remedies: Iterable[Remedy]) -> Remedy | None:
    """The first that surely cures, or else the first that may, or else the first."""
    seen = []
    for remedy in remedies:
        if remedy.cures:
            return remedy
        seen.append(remedy)
    return next((one for one in seen if one.may_cure), seen[0] if seen else None)


def _next_size(trials: Trials, line: Line) -> Remedy:
    """The least size sold that surely suits, inside the length window."""
    least, greatest = bounds(trials, line)
    step = line_kinds()[line.kind].increment
    first = math.ceil(least / step - _SAME)
    sizes = [k * step for k in range(first, first + 3) if k * step <= greatest]
    if not sizes:
        why = "no size sold is long enough and not too long"
        return refused(line.name, Means.NEXT_SIZE, trials.setup, why)
    if len(pair(trials.setup, line)) == 1:
        found = first_certain(tried(trials, line, Means.NEXT_SIZE, by) for by in sizes)
        assert found is not None
        return found
    for by in sizes:  # one that is sure for all of them, or the first
        if all(tried(trials, one, Means.NEXT_SIZE, by).cures for one in pair(trials.setup, line)):
            return tried(trials, line, Means.NEXT_SIZE, by)
    return tried(trials, line, Means.NEXT_SIZE, sizes[0])
