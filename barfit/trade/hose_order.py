"""Which hoses have to be replaced, and how long the new one is."""

from __future__ import annotations

import math

from barfit.analysis import LineFinding, Verdict
from barfit.catalogue import line_kinds
from barfit.model import Line


def needs_replacing(finding: LineFinding) -> bool:
    """Whether a hose has to go: it is too short or too long, and sliding its clips is no cure."""
    if finding.verdict is Verdict.TOO_LONG:
        return True
    if finding.clipped is not None and finding.clipped.cured:
        return False
    wrong = (Verdict.SHORT, Verdict.MARGINAL, Verdict.BEND_TOO_TIGHT, Verdict.PINCHED)
    return finding.verdict in wrong and finding.margin < 0.0


def order_length(finding: LineFinding, line: Line) -> float:
    """The length to order, mm: what is needed with the slack to aim for instead of the least, up
    to the next size of those sold in steps from the one that is there. nan where not known.
    """
    step = line_kinds()[line.kind].increment
    wanted = finding.needed - finding.least + finding.target
    if not math.isfinite(wanted):
        return math.nan
    return line.length + math.ceil((wanted - line.length) / step - 1e-9) * step
