"""What a remedy is: one thing that can be done about one line, with what comes of it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from barfit.analysis import Verdict
from barfit.analysis.window import Window
from barfit.model import Setup, Vec
from barfit.remedies.freed import Freed
from barfit.remedies.spoilt import Spoilt
from barfit.trade.splices import SplicePlan

# mm that a margin by a first look (lines drawn taut, at fewer turns) may be off by, either way: on
# the machines that come with it up to 1.7, of cables that need their length for their bends.
FIRST_LOOK = 3.0


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


class Change(StrEnum):
    """What is done to a station, a clip or the way a line goes, where its means leaves that open.

    ``ITEM`` is what the means itself says.
    """

    ITEM = ""
    DROP = "drop"
    SLIDE = "slide"
    SHIFT = "shift"
    OTHER_SIDE = "other side"
    OTHER_WAY = "other way"
    EYE = "eye"


_MAY_FIT = (Verdict.REACHES, Verdict.RUBS, Verdict.UNCERTAIN)


@dataclass(frozen=True)
class Moved:
    """A guide or clip that is held elsewhere: from ``start`` to ``end`` (mm, machine axes)."""

    station: str
    start: Vec
    end: Vec


@dataclass(frozen=True)
class Elsewhere:
    """What has least to spare of a line that is made longer, where that is not what it is made
    longer for: the stretch ``between`` two stations, whose length stays as it is. What is made
    longer has ``grown`` mm to spare then.
    """

    between: tuple[str, str]
    grown: float


@dataclass(frozen=True)
class Cap:
    """Why no length of a line is surely long enough.

    It may have ``room`` mm more than it needs, up to ``longest`` mm, where the ``window`` of
    ``line`` (itself, or one replaced with it) ends; what it needs is known to ``known_to`` mm (two
    standard deviations; nan: that is not known). ``things`` are what to measure again, the most
    telling first; it is worst off at ``turn`` (rad).
    """

    line: str
    window: Window
    room: float
    longest: float
    known_to: float
    things: tuple[str, ...]
    turn: float


@dataclass(frozen=True)
class Stand:
    """How a line stands, solved as a check does: ``margin`` mm, ± two ``sigma``."""

    verdict: Verdict
    margin: float
    sigma: float


@dataclass(frozen=True)
class Remedy:
    """One thing that can be done about one line.

    ``setup`` is the whole setup with it done, to be tried in the window or judged further. ``at``
    is the station, clip, control or other way to go that it is about, "" for the line as a whole;
    ``change`` what is done there; ``by`` how far that is moved (mm) or turned (rad), nan where
    neither applies. ``length`` mm is what the line has afterwards, ``longer`` mm how much of it is
    new (negative: how much shorter it is). ``together`` are other lines that are replaced with it,
    as long as ``setup`` has them.
    ``verdict`` and ``margin`` (mm, ± two ``sigma``) are of the line with it done, solved as a
    check solves it; nan where not known. After a ``first_look`` that it surely does not suffice no
    more is solved: ``margin`` is then known to `FIRST_LOOK` mm, ``sigma`` and verdict are not.
    ``gain`` mm is by how much the margin grows. ``worse`` are the other lines that it makes worse
    than they are, ``worse_margins`` mm what these then have to spare (nan where not known),
    ``too_long`` those that then are longer than is sensible, and are not as it is.
    ``why_not`` says why it cannot be taken, "" where it can. ``splice`` is where the
    joints go. ``more_bend`` rad is by how much a control cable then bends more, all told, than with
    the stock bars; nan for other lines. ``spoilt`` is what of the bar's other figures a change to
    it makes worse, or leaves so that the bars are not acceptable; ``freed`` what then holds a line
    one of whose guides or clips is left out, None for any other remedy and where that is not looked
    at. ``moves`` are the guides and clips that are held elsewhere; ``lies_on`` the parts
    that the line then lies on and should not (see `barfit.trade.holding`), as far as it is solved;
    ``elsewhere`` what decides the margin of a longer line, where that is none of what is longer;
    ``bent_before`` whether it is as tightly bent with the stock bars, where it is bent too tightly.
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
    change: Change = Change.ITEM
    gain: float = math.nan
    together: tuple[str, ...] = ()
    worse_margins: tuple[float, ...] = ()
    more_bend: float = math.nan
    spoilt: tuple[Spoilt, ...] = ()
    freed: Freed | None = None
    moves: tuple[Moved, ...] = ()
    lies_on: tuple[str, ...] = ()
    first_look: bool = False
    too_long: tuple[str, ...] = ()
    elsewhere: Elsewhere | None = None
    bent_before: bool = False

    @property
    def offered(self) -> bool:
        """Whether it can be taken: nothing forbids it, and the line then fits, or may, or is long
        enough and no worse than with the stock bars.
        """
        as_before = self.bent_before and self.margin >= 0.0
        return not self.why_not and (self.verdict in _MAY_FIT or as_before)

    @property
    def faults(self) -> int:
        """In how many ways the line is then not laid as it should be: 0 for properly laid."""
        return len(self.lies_on) + (self.freed is not None and self.freed.hangs)

    @property
    def key(self) -> str:
        """Its name among the line's remedies, the same from one run to the next."""
        done = f"-{self.change.replace(' ', '_')}" if self.change else ""
        name = f"{self.means.name.lower()}{done}"
        return f"{name}:{self.at}" if self.at else name

    @property
    def cures(self) -> bool:
        """Whether the line fits with it done, no other line the worse for it, and kept off what is
        hot and what strikes as well as it is now.
        """
        return not self._bars and self.verdict is Verdict.REACHES

    @property
    def may_cure(self) -> bool:
        """Whether the line is then long enough, but not surely so, or rubs and needs a sleeve."""
        likely = self.verdict in (Verdict.UNCERTAIN, Verdict.RUBS) and self.margin >= 0.0
        return not self._bars and likely

    @property
    def own_fits(self) -> bool:
        """Whether its own line then fits, or may, whatever comes of the others."""
        return self.offered and (self.verdict is Verdict.REACHES or self.margin >= 0.0)

    @property
    def _bars(self) -> bool:
        """Whether something besides the line's own verdict speaks against it."""
        bare = self.freed is not None and self.freed.bare is not None
        return bool(self.why_not or self.worse or self.too_long) or bare


@dataclass(frozen=True)
class Remedies:
    """All that can be done about one line, best first; empty for a line that may stay.

    ``cap`` says why no length makes it sure, None where one does or none helps. ``lowest`` is how
    the line, as it is, stands with a bar as low as the last of all lines needs it; None where no
    such bar was found and for a line that does not feel the bar.
    """

    line: str
    ranked: tuple[Remedy, ...] = ()
    cap: Cap | None = None
    lowest: Stand | None = None

    @property
    def lower_bar_only(self) -> bool:
        """Whether nothing but a lower bar cures the line, or may."""
        cures = [one for one in self.ranked if one.cures or one.may_cure]
        return bool(cures) and all(one.means is Means.LOWER_BAR for one in cures)

    def gone(self, key: str | None) -> bool:
        """Whether ``key`` was chosen and is no remedy of the line that can be taken any more."""
        return key is not None and not any(one.key == key and one.offered for one in self.ranked)

    def taken(self, key: str | None) -> Remedy | None:
        """The remedy of that key; without one, or with one that is gone, the best that cures, or
        may; None where there is none.
        """
        for remedy in self.ranked:
            if remedy.key == key and remedy.offered:
                return remedy
        return next((remedy for remedy in self.ranked if remedy.cures or remedy.may_cure), None)


def lower_bar(found: Iterable[Remedies]) -> float:
    """How much lower a bar has to be for every line that does not fit to do so as it is, mm: 0
    where all do, nan where for one of them no lower bar was found. How each then stands, those
    that fit now among them, is `Remedies.lowest`.
    """
    most = 0.0
    for one in found:
        if not one.ranked:
            continue
        drops = [
            remedy.by
            for remedy in one.ranked
            if remedy.means is Means.LOWER_BAR and remedy.own_fits
        ]
        most = max(most, min(drops)) if drops else math.nan
        if math.isnan(most):
            break
    return most
