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

_TELLING = 1.0  # mm: a smaller correction is not worth a sentence


def band(mm: float, two_sigma: float, unit: str, signed: bool = False) -> str:
    """A length with the band it is in: "6 ± 9 mm"; without one where that is not known."""
    if math.isnan(two_sigma):
        return format_length(mm, unit, signed=signed)
    number = format_length(mm, unit, with_unit=False, signed=signed)
    return f"{number} ± {format_length(two_sigma, unit)}"


def needs_words(finding: LineFinding, unit: str) -> str:
    """What a line that is too short needs, the number that everything leads to: "needs 43 mm more
    (838 mm altogether)".
    """
    if not math.isfinite(finding.needed):
        return "is too short"
    more = format_length(-finding.margin, unit)
    if more.startswith("0 "):
        return f"needs a little more ({format_length(finding.needed, unit)} altogether)"
    return f"needs {more} more ({format_length(finding.needed, unit)} altogether)"


def uncertain_sentence(finding: LineFinding, line: Line, unit: str) -> str:
    """Why it is uncertain whether a line fits, and what would settle it."""
    sure = finding.sure
    begin = f"Whether the {line.name} fits is uncertain: "
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
    """That the length to order is known badly though the line is surely too short; else "".

    Badly: not even to the length it lacks, or to the step in which such lines are sold.
    """
    short = finding.verdict in (Verdict.SHORT, Verdict.MARGINAL) and finding.margin < 0.0
    wide = finding.sure.two_sigma
    if not short or wide <= min(-finding.margin, line_kinds()[line.kind].increment):
        return ""
    begin = f"{capital(line.name)} surely needs to be longer, but"
    if math.isnan(wide):
        return f"{begin} how far off the {format_length(finding.needed, unit)} may be is not known."
    again = again_words(finding.sure)
    measure = f"; measure {again} again before ordering" if again else ""
    return f"{begin} the length to order is only known to ± {format_length(wide, unit)}{measure}."


def again_words(sure: Sureness) -> str:
    """What to measure again, the most telling first: "the clutch perch and the line's length"."""
    things = [f"the {thing}" for thing in dict.fromkeys(cause.thing for cause in sure.causes)]
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
    return told + [_odd_sentence(name, odd, unit) for odd in sure.odd]


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
