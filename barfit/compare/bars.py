"""The bars that could be fitted, in numbers: which of them needs least."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from barfit import edits
from barfit.analysis import LineFinding, Verdict
from barfit.compare.trials import Trial
from barfit.model import Setup

UNSURE = frozenset({Verdict.UNCERTAIN, Verdict.NOT_KNOWN})
MOVED = frozenset({Verdict.RUBS, Verdict.PINCHED})  # their length is not what is wrong


@dataclass(frozen=True)
class BarsNumbers:
    """One set of bars, judged.

    ``used`` says whether they are the new ones now. Of the lines so many ``stay`` as they are,
    ``change`` (another length is needed), are led another way (``move``: they rub, are pinched, or
    bend too tightly at any length), and are ``unsure`` (to be measured again, or not known).
    ``lacking`` mm is what all that are too short need together, nan where that of one is not known.
    ``rejected`` says what makes the bars unacceptable whatever the lines, ``refused`` which lines
    are not acceptable whatever their length, and why; these do not stay. ``rank`` 1 needs least;
    bars that need as much share it.
    """

    name: str
    used: bool
    findings: tuple[LineFinding, ...]
    rejected: tuple[str, ...]
    refused: tuple[tuple[str, str], ...]
    stay: int
    change: int
    move: int
    unsure: int
    lacking: float
    rank: int = 0

    @property
    def acceptable(self) -> bool:
        """Whether nothing about the bars or their lines, but for lengths, forbids them."""
        return not self.rejected and not self.refused

    @property
    def fits(self) -> bool:
        """Whether every line stays and nothing rejects the bars."""
        return self.stay == len(self.findings) and not self.rejected


def bars(setup: Setup) -> tuple[tuple[str, Setup], ...]:
    """The name of every set of bars with the setup where they are the new ones, those that are
    first.
    """
    return tuple((name, edits.use_other_bars(setup, name)) for name in edits.bars_names(setup))


def bars_numbers(trial: Trial, name: str, used: bool) -> BarsNumbers:
    """The numbers of the setup in which these bars are the new ones."""
    verdicts = [found.verdict for found in trial.findings]
    reach = {found.line for found in trial.findings if found.verdict is Verdict.REACHES}
    refused = tuple(one for one in trial.rejected if one[0])
    stay = len(reach - {line for line, _ in refused})
    moved = {found.line for found in trial.findings if found.verdict in MOVED or _turned(found)}
    move = len(moved)
    unsure = sum(verdict in UNSURE for verdict in verdicts)
    return BarsNumbers(
        name=name,
        used=used,
        findings=trial.findings,
        rejected=trial.refusals(),
        refused=refused,
        stay=stay,
        change=len(verdicts) - stay - move - unsure,
        move=move,
        unsure=unsure,
        lacking=sum(
            math.nan if math.isnan(found.margin) else max(-found.margin, 0.0)
            for found in trial.findings
            if not _turned(found)
        ),
    )


def _turned(found: LineFinding) -> bool:
    """Whether no length opens a line's bend, so that it has to be led or turned otherwise."""
    return found.verdict is Verdict.BEND_TOO_TIGHT and math.isnan(found.margin)


def ranked(columns: Sequence[BarsNumbers]) -> tuple[BarsNumbers, ...]:
    """The same bars in the same order, each with its rank.

    Bars that are not acceptable come last; then count the lines that do not stay, those of them
    that need another length, and what these lack, to 1 mm. What is not known counts as most.
    """
    efforts = [_effort(one) for one in columns]
    return tuple(
        replace(one, rank=1 + sum(other < effort for other in efforts))
        for one, effort in zip(columns, efforts, strict=True)
    )


def _effort(one: BarsNumbers) -> tuple[bool, int, int, float]:
    lacking = math.inf if math.isnan(one.lacking) else float(round(one.lacking))
    return not one.acceptable, one.change + one.move + one.unsure, one.change, lacking
