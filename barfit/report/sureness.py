"""How sure a finding is, in words and plain values."""

from __future__ import annotations

import math
from typing import Any

from barfit.analysis import LineFinding, OddSlack, Sureness, Verdict
from barfit.catalogue import line_kinds
from barfit.model import Line
from barfit.report.phrases import capital, listed
from barfit.report.plain import degrees, known
from barfit.units import format_length

_ALIKE = 10.0  # mm: what one changed length leaves between the locks; estimate
_TELLING = 1.0  # mm: a smaller correction is not worth a sentence


def band(mm: float, two_sigma: float, unit: str, signed: bool = False) -> str:
    """A length with the band it is in: "6 ± 9 mm"; without one where that is not known."""
    if math.isnan(two_sigma):
        return format_length(mm, unit, signed=signed)
    number = format_length(mm, unit, with_unit=False, signed=signed)
    return f"{number} ± {format_length(two_sigma, unit)}"


def needs_words(finding: LineFinding, unit: str, bends: bool = True) -> str:
    """What a line that is too short needs, the number that everything leads to: "needs 43 mm more
    (838 mm altogether)"; no length where sliding its clips is all it needs. Where its ``bends``
    decide, so that it is more than slack and what it should keep of it explain, that is said.
    """
    if finding.clipped is not None and finding.clipped.cured:
        slides = finding.clipped.slides
        by = format_length(max(slide.by for slide in slides), unit)
        one = f"its clip '{slides[0].clip}' moved by {by}"
        return (
            f"needs {one if len(slides) == 1 else f'its clips moved by up to {by}'}, not renewing"
        )
    if not math.isfinite(finding.needed):
        return "is too short"
    more = format_length(-finding.margin, unit)
    much = "a little" if more.startswith("0 ") else more
    why = ", for its bends" if bends and bends_decide(finding) else ""
    return f"needs {much} more ({format_length(finding.needed, unit)} altogether{why})"


def bends_decide(finding: LineFinding) -> bool:
    """Whether a line needs its length for its bends, and would reach with less."""
    return finding.bend_length > finding.taut_length + _TELLING


def uncertain_sentence(finding: LineFinding, line: Line, unit: str) -> str:
    """Why it is uncertain whether a line fits, and what would settle it."""
    sure = finding.sure
    begin = f"Whether the {line.name} fits is uncertain: "
    if changed := _changed_words(finding, line, unit):
        return f"{begin}{changed}"
    if sure.odd:
        return f"{begin}the slack found on the machine contradicts what the file says."
    if math.isnan(sure.sigma):
        margin = format_length(finding.margin, unit)
        return f"{begin}how far its margin of {margin} may be off is not known."
    much = band(abs(finding.margin), sure.two_sigma, unit)
    told = f"it needs {much} more" if finding.margin < 0.0 else f"it has {much} more than it needs"
    again = again_words(sure)
    return f"{begin}{told}{f'; measure {again} again before ordering' if again else ''}."


def order_sentence(finding: LineFinding, line: Line, unit: str) -> str:
    """That what a line lacks is known badly though it is surely too short; else "".

    Badly: not even to the length it lacks, or to the step in which such lines are sold.
    """
    short = finding.verdict in (Verdict.SHORT, Verdict.MARGINAL) and finding.margin < 0.0
    wide = finding.sure.two_sigma
    if finding.clipped is not None and finding.clipped.cured:
        return ""
    if not short or wide <= min(-finding.margin, line_kinds()[line.kind].increment):
        return ""
    begin = f"{capital(line.name)} is surely too short as it goes now, but"
    if math.isnan(wide):
        return f"{begin} how far off the {format_length(finding.needed, unit)} may be is not known."
    again = again_words(finding.sure)
    measure = f"; measure {again} again before ordering" if again else ""
    return f"{begin} what it lacks is only known to ± {format_length(wide, unit)}{measure}."


def again_words(sure: Sureness) -> str:
    """What to measure again, the most telling first: "the clutch perch and the line's length"."""
    things = [f"the {thing}" for thing in sure.things]
    return listed(things) if things else ""


def found_slack_sentences(finding: LineFinding, line: Line, unit: str) -> list[str]:
    """What the slack found on the machine has done to a line's numbers, and where it is odd."""
    name, sure = capital(line.name), finding.sure
    told = []
    telling = abs(sure.margin_by) >= _TELLING or sure.sigma < 0.8 * sure.before
    if line.found_slack is not None and sure.sigma < sure.before and telling:
        moved = format_length(sure.margin_by, unit, signed=True)
        told.append(
            f"{name}: the slack found on the machine moves its margin by {moved} and narrows it "
            f"from ± {format_length(2.0 * sure.before, unit)} to "
            f"± {format_length(sure.two_sigma, unit)}."
        )
    if changed := _changed_words(finding, line, unit):
        # of a line that is uncertain on that account it is the first thing said
        return [] if finding.verdict is Verdict.UNCERTAIN else [f"{name}: {changed}"]
    return told + [_odd_sentence(name, odd, unit) for odd in sure.odd]


def length_changed(finding: LineFinding, line: Line) -> float:
    """How much more slack than expected was found, mm, at every turn looked at, where that is about
    as much at each: the length has changed since. nan where it is not so.
    """
    off = [odd.found - odd.expected for odd in finding.sure.odd]
    found = line.found_slack
    looked = (
        0
        if found is None
        else sum(mm is not None for mm in (found.right, found.straight, found.left))
    )
    if len(off) < max(looked, 2) or not all(map(math.isfinite, off)):
        return math.nan
    return sum(off) / len(off) if max(off) - min(off) <= _ALIKE else math.nan


def _changed_words(finding: LineFinding, line: Line, unit: str) -> str:
    """That slack was found before the line's length was changed, and what to do; "" if not so."""
    more = length_changed(finding, line)
    if math.isnan(more):
        return ""
    much = format_length(abs(more), unit)
    return (
        f"the slack found is about {much} {'more' if more > 0.0 else 'less'} than expected "
        "wherever it was looked at, so its length was probably changed since; remove found_slack "
        "or give what is found now."
    )


def _odd_sentence(name: str, odd: OddSlack, unit: str) -> str:
    side = "straight ahead"
    if odd.turn:
        side = f"at full {'left' if odd.turn > 0.0 else 'right'} lock"
    found = format_length(odd.found, unit)
    if math.isnan(odd.expected):
        return (
            f"{name}: the {found} of slack found {side} cannot be used, because no rest shape was "
            "found there with the stock bars."
        )
    expected = band(odd.expected, 2.0 * odd.spread, unit)
    return (
        f"{name}: {found} of slack was found {side}, where {expected} would be expected. Either "
        "that or something the file says of this line is wrong; it corrects nothing until then."
    )


def sure_values(finding: LineFinding) -> dict[str, Any]:
    """For JSON: mm, degrees; None where not known."""
    sure = finding.sure
    return {
        "margin_sigma": known(sure.sigma),
        "slack_sigma": known(sure.slack_sigma),
        "certain": sure.certain(finding.margin, finding.slack - finding.least),
        "measure_again": [
            {"what": cause.words, "sigma": known(cause.share)} for cause in sure.causes
        ],
        "found_slack": {
            "margin_sigma_without": known(sure.before),
            "margin_moved": known(sure.margin_by),
            "slack_moved": known(sure.slack_by),
            "contradictions": [_odd_values(odd) for odd in sure.odd],
        },
    }


def _odd_values(odd: OddSlack) -> dict[str, Any]:
    return {
        "turn": degrees(odd.turn),
        "found": known(odd.found),
        "expected": known(odd.expected),
        "sigma": known(odd.spread),
    }
