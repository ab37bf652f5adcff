"""How a remedy that can be taken stands, in a word and a mark."""

from __future__ import annotations

from dataclasses import dataclass

from barfit.analysis import Verdict
from barfit.remedies import Remedy
from barfit.report.phrases import listed
from barfit.trade import Grade


@dataclass(frozen=True)
class Standing:
    """``words`` in a sentence, "" where there is nothing to be said; ``mark`` is the one drawn."""

    words: str
    mark: Verdict | Grade


def standing(remedy: Remedy) -> Standing:
    """What comes of a remedy for its line, or for what else suffers."""
    if remedy.cures:
        return Standing("Fits.", Verdict.REACHES)
    if remedy.worse:
        return Standing(f"Worse for {listed([f'the {n}' for n in remedy.worse])}.", Grade.CAUTION)
    if remedy.freed is not None and remedy.freed.bare is not None:
        return Standing("Leaves it without what kept it off.", Grade.CAUTION)
    if remedy.verdict is Verdict.UNCERTAIN:
        return Standing("Not sure: measure first.", Verdict.UNCERTAIN)
    if remedy.verdict is Verdict.RUBS:
        return Standing("Needs a sleeve.", Verdict.RUBS)
    return Standing(f"{str(remedy.verdict).capitalize()}.", remedy.verdict)
