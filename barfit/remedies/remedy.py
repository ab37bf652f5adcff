"""What a remedy is: one thing that can be done about one line, with what comes of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from barfit.analysis import Verdict
from barfit.model import Setup
from barfit.trade.splices import SplicePlan


class Means(StrEnum):
    """What can be done, in the order in which it is thought of: what costs least first."""

    LEAVE = "leave as it is"
    MOVE_CLIP = "move a clip"
    REROUTE = "re-route"
    TURN_FITTING = "turn the fitting"
    ROLL_BAR = "roll the bar"
    MOVE_CONTROL = "move the control"
    SHORTER = "take a shorter one"
    NEXT_SIZE = "next size sold"
    MADE_UP = "made up to length"
    EXTENSION = "plug-in extension"
    SPLICE = "splice"
    THROUGH_BAR = "through the bar"
    LOWER_BAR = "take a lower bar"


@dataclass(frozen=True)
class Remedy:
    """One thing that can be done about one line.

    ``setup`` is the whole setup with it done, to be tried in the window or judged further. ``at``
    is the station, clip, control or other way to go that it is about, "" for the line as a whole;
    ``by`` how far that is moved (mm) or turned (rad), nan where neither applies. ``length`` mm is
    what the line has afterwards, ``longer`` mm how much of it is new.
    ``verdict`` and ``margin`` (mm, ± two ``sigma``) are of the line with it done, solved, not
    guessed; nan where not known. ``worse`` are the other lines that it makes worse than they are.
    ``why_not`` says why it cannot be taken, "" where it can. ``splice`` is where the joints go.
    """

    line: str
    means: Means
    setup: Setup
    verdict: Verdict
    margin: float
    sigma: float = math.nan
    at: str = ""
    by: float = math.nan
    length: float = math.nan
    longer: float = 0.0
    worse: tuple[str, ...] = ()
    why_not: str = ""
    splice: SplicePlan | None = None

    @property
    def key(self) -> str:
        """Its name among the line's remedies, the same from one run to the next."""
        return f"{self.means.name.lower()}:{self.at}" if self.at else self.means.name.lower()

    @property
    def cures(self) -> bool:
        """Whether the line fits with it done, no other line the worse for it."""
        return not self.why_not and not self.worse and self.verdict is Verdict.REACHES


@dataclass(frozen=True)
class Remedies:
    """All that can be done about one line, best first; empty for a line that may stay."""

    line: str
    ranked: tuple[Remedy, ...] = ()

    def taken(self, key: str | None) -> Remedy | None:
        """The remedy of that key; without one, or with one that is gone, the best that cures."""
        for remedy in self.ranked:
            if remedy.key == key and not remedy.why_not:
                return remedy
        return next((remedy for remedy in self.ranked if remedy.cures), None)
