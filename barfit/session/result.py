"""What the solver found for one setup and one set of bars."""

from __future__ import annotations

from dataclasses import dataclass, field

from barfit.analysis import LineFinding, Sweep, Verdict
from barfit.report.remarks import Remark, Topic
from barfit.report.standing import standing_of_topics
from barfit.report.trade import remarks
from barfit.trade import Trade

BADNESS = {verdict: rank for rank, verdict in enumerate(Verdict)}


@dataclass(frozen=True, eq=False)
class Result:
    """A finished sweep with what it means. Its setup is the sweep's own."""

    sweep: Sweep
    findings: tuple[LineFinding, ...]
    trade: Trade = field(default_factory=Trade)
    _said: dict[str, tuple[Remark, ...]] = field(default_factory=dict, init=False, repr=False)

    def remarks(self, unit: str) -> tuple[Remark, ...]:
        """What is to be said beyond length, with lengths in ``unit``; put into words once."""
        if unit not in self._said:
            self._said[unit] = remarks(self.trade, self.sweep.setup, unit)
        return self._said[unit]

    def topics(self) -> tuple[Topic, ...]:
        """The topics of remarks that are about no line, in their order."""
        return tuple(standing_of_topics(self.remarks("mm")))

    def finding(self, line: str) -> LineFinding:
        """The finding for the line of that name. Raises KeyError."""
        for finding in self.findings:
            if finding.line == line:
                return finding
        raise KeyError(line)

    def worst(self) -> LineFinding | None:
        """The worst verdict, and of those the one that lacks most; None without lines."""
        return min(self.findings, key=lambda f: (-BADNESS[f.verdict], f.margin), default=None)
