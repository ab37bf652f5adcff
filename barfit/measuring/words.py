"""What measuring does to a margin, in words."""

from __future__ import annotations

import math

from barfit.analysis import LineFinding
from barfit.measuring.order import TELLING, Weighed, settled
from barfit.measuring.things import Part, lain_against
from barfit.model import How, Measured, Setup
from barfit.report.phrases import capital
from barfit.report.sureness import band
from barfit.units import format_length


def margin_words(finding: LineFinding, unit: str) -> str:
    """A line's margin with its band: "needs 43 ± 153 mm more", "has 5 ± 87 mm to spare"."""
    if math.isnan(finding.margin):
        return "is not known"
    if not math.isfinite(finding.margin):
        return "is too short at any length"
    much = band(abs(finding.margin), finding.sure.two_sigma, unit)
    unsure = " (how far off is not known)" if math.isnan(finding.sure.sigma) else ""
    if finding.margin < 0.0:
        return f"needs {much} more{unsure}"
    return f"has {much} to spare{unsure}"


def share_words(setup: Setup, weigh: Weighed, finding: LineFinding, unit: str) -> str:
    """What of a line's band comes from a thing, and what measuring it would leave."""
    sigma = finding.sure.sigma
    if weigh.thing.part is Part.SOLID:
        if weigh.thing.which not in lain_against(finding):
            return f"The {finding.line} does not lie against it; another line does."
        return f"The {finding.line} lies against it. Its ± does not count how far off this may be."
    if math.isnan(weigh.share) or math.isnan(sigma):
        return ""
    if weigh.share < TELLING:
        return f"The {finding.line} does not hang on this."
    left = settled(sigma, setup, weigh.thing, weigh.share)
    return (
        f"± {format_length(2.0 * weigh.share, unit)} of it comes from this alone; "
        f"measured with a tape, about ± {format_length(2.0 * left, unit)} would be left."
    )


def change_words(what: str, before: LineFinding, now: LineFinding, unit: str) -> str:
    """What an edit did to a line's margin: "Stock bar: clutch cable 43 ± 153 mm short, now …"."""
    return (
        f"{capital(what)}: the {now.line} {margin_words(before, unit)} before; it "
        f"{margin_words(now, unit)} now."
    )


def how_words(how: Measured, unit: str) -> str:
    """How something was found, as a remark beside its name."""
    if not isinstance(how, How):
        return f"± {format_length(2.0 * how, unit)}"
    return {
        How.TAPE: "measured",
        How.EYEBALLED: "by eye",
        How.NOT_MEASURED: "not measured yet",
    }[how]
