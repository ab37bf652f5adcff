"""What to replace a control cable with: it is never extended, and a throttle pair grows as one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from barfit.analysis import LineFinding, Verdict
from barfit.catalogue import line_kinds
from barfit.model import Line, Setup
from barfit.trade.judged import Grade, Judged

PAIR = ("throttle_pull", "throttle_return")
_TOO_SHORT = (Verdict.SHORT, Verdict.PINCHED, Verdict.BEND_TOO_TIGHT, Verdict.MARGINAL)


@dataclass(frozen=True)
class Growth:
    """By how much a cable, and those replaced ``with_`` it, must grow, mm.

    ``by`` is the least growth, ``most`` the greatest that is sensible for all of them (inf where
    nothing limits it, nan where that is not known; below ``by``: no one growth suits them all).
    ``size`` is the growth of the next size sold, None where that is more than ``most`` or not known
    to be less. ``first``: no line ``with_`` it comes before it in the setup.
    """

    by: Judged
    most: float
    size: float | None
    with_: tuple[str, ...]
    first: bool

    @property
    def order(self) -> float:
        """The growth to order, mm: the next size sold, or where none suits the least of all."""
        return self.by.value if self.size is None else self.size


def growth(setup: Setup, line: Line, findings: Sequence[LineFinding]) -> Growth | None:
    """The growth of ``line``; None where neither it nor the other of its pair is too short."""
    together = [line.name]
    if line.kind in PAIR:
        together = [other.name for other in setup.lines if other.kind in PAIR]
    found = [finding for finding in findings if finding.line in together]
    lacking = [
        finding.needed - finding.installed
        for finding in found
        if finding.verdict in _TOO_SHORT
        and finding.margin < 0.0
        and math.isfinite(finding.needed)
        and not (finding.clipped and finding.clipped.cured)
    ]
    if not lacking:
        return None
    by = max(lacking)
    most = min(
        (f.window.longest - f.installed if f.window else math.nan for f in found),
        key=lambda one: -math.inf if math.isnan(one) else one,  # not known of one: not known
    )
    step = line_kinds()[line.kind].increment
    size = math.ceil(by / step - 1e-9) * step
    return Growth(
        by=Judged(by, Grade.CAUTION),
        most=most,
        size=size if size <= most else None,
        with_=tuple(name for name in together if name != line.name),
        first=together[0] == line.name,
    )
