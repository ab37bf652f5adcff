"""What to order, from what is to be done about each line.

Nothing is ordered that is not needed, and nothing is guessed: what depends on the machine's manual
or on the part that comes off is left open and said so (`LookUp`).
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from barfit.model import Range, Setup
from barfit.remedies import Means, Remedies, Remedy


class Group(StrEnum):
    """What a thing that is ordered belongs to."""

    BARS = "bars"
    LINES = "lines"
    ACCESSORIES = "accessories"


class Why(StrEnum):
    """Why a thing is ordered."""

    NEW_BARS = "new bars"
    TOO_SHORT = "the old one is too short"
    TOO_LONG = "the old one is too long"
    PAIR = "replaced with its pair, by as much"
    THROUGH = "goes through the bar"
    OPENED = "joints are opened"
    SPLICED = "every wire grows by a piece"
    PINNED = "every wire gets a new terminal; a tenth is counted on top"
    SLEEVED = "the sleeve is closed at its ends"
    NEW_PLACE = "held where nothing held it"
    TIED = "cut when the wires come off"
    GRIPS_OFF = "seldom come off whole"
    RUBS = "rubs and is sleeved there"
    HOLES = "every hole for wires is lined"


class LookUp(StrEnum):
    """What is left open: to be looked up before ordering."""

    FLUID = "kind of fluid"
    WASHERS = "size of the washers"
    INNER = "free length of the inner"
    ENDS = "ends of the line"
    EYES = "eye angles"
    CLOCKING = "clocking"
    WIRES = "gauge and colour"
    PLUG = "plug and pins"
    CLAMP = "clamp diameter"
    HOLE = "hole that the plug does not pass"


@dataclass(frozen=True)
class HoseEnd:
    """One end of a hose to order, fitted to ``part``. ``banjo`` false is a union or flare nut.

    ``angle`` rad of its eye, nan where not known; ``sold`` the eye sold that comes nearest.
    """

    part: str
    banjo: bool
    angle: float = math.nan
    sold: float = math.nan


@dataclass(frozen=True)
class HoseEnds:
    """Both ends of a hose to order, the one nearer to the master cylinder first.

    ``clocking`` rad is how far the second eye is turned against the first, clockwise seen from the
    first along the hose; nan where not known. ``bore`` mm; ``construction`` in words, "" where not
    known.
    """

    first: HoseEnd
    second: HoseEnd
    clocking: float = math.nan
    bore: float = math.nan
    construction: str = ""

    @property
    def ends(self) -> tuple[HoseEnd, HoseEnd]:
        """Both."""
        return (self.first, self.second)


@dataclass(frozen=True)
class OrderItem:
    """One thing to order.

    ``key`` is its own and the same from one run to the next, as long as what is needed is the same:
    of another length, or more of them, it is another. ``item`` is its key in the table of prices,
    ``what`` the label there, ``lines`` whom it is for. ``quantity`` counts in ``each``, nan where
    it cannot be told; ``length`` mm is that of a whole line (sheath, eye centre to eye centre) or
    of an extension, ``longer`` how much it has over the one on the machine; nan where it has none.
    ``outside_window``: no size sold is inside the lengths that are sensible, this one is longer.
    ``detail`` names it further (the bar, the kind of fluid, the gauge); ``wires`` are those it is
    cut from. ``unsure``: whether it is long enough is not sure, so that it is not ordered before
    what ``measure`` names is measured again. ``days`` until it is here. ``price`` is of all of it
    in the order's currency, None where nobody knows; ``own_price``: as the job has it.
    """

    key: str
    group: Group
    item: str
    what: str
    why: Why
    lines: tuple[str, ...] = ()
    quantity: float = 1.0
    each: str = "each"
    length: float = math.nan
    longer: float = math.nan
    made_up: bool = False
    outside_window: bool = False
    detail: str = ""
    wires: tuple[str, ...] = ()
    hose: HoseEnds | None = None
    look_up: tuple[LookUp, ...] = ()
    unsure: bool = False
    measure: tuple[str, ...] = ()
    days: Range = (0.0, 0.0)
    price: Range | None = None
    own_price: bool = False

    @property
    def line(self) -> str:
        """The line it is for, "" where it is for none or for several."""
        return self.lines[0] if len(self.lines) == 1 else ""


@dataclass(frozen=True)
class Order:
    """All that is to be ordered, in ``currency``. ``open_lines`` need something and nothing that
    was found helps them, so that nothing is ordered for them. ``lower_by`` mm is how much
    lower the bars have to be for lines that nothing else is done about, nan for none: nothing is
    ordered then.
    """

    items: tuple[OrderItem, ...] = ()
    currency: str = "USD"
    open_lines: tuple[str, ...] = ()
    lower_by: float = math.nan

    def of(self, group: Group) -> tuple[OrderItem, ...]:
        """The things of one group."""
        return tuple(one for one in self.items if one.group is group)

    def missing(self, here: Collection[str]) -> tuple[OrderItem, ...]:
        """Those whose keys are not among those that are ``here``."""
        return tuple(one for one in self.items if one.key not in here)

    @property
    def waits(self) -> bool:
        """Whether nothing is ordered because a lower bar is taken and it is not known which."""
        return not math.isnan(self.lower_by)

    @property
    def price(self) -> Range:
        """The least and the most of all that has a price."""
        known = [one.price for one in self.items if one.price is not None]
        return (sum(one[0] for one in known), sum(one[1] for one in known))

    @property
    def unpriced(self) -> tuple[OrderItem, ...]:
        """What has none, and is not in the sum."""
        return tuple(one for one in self.items if one.price is None)

    @property
    def slowest(self) -> tuple[OrderItem, ...]:
        """The things for which everything waits longest."""
        most = max((one.days[1] for one in self.items), default=0.0)
        return tuple(one for one in self.items if one.days[1] == most) if most else ()


def taken(setup: Setup, remedies: Iterable[Remedies]) -> Mapping[str, Remedy | None]:
    """What is done about each line that needs something, by its name: as the job chose, or the best
    that cures it; None where nothing does.

    Lines that are only replaced together are decided together: what was chosen for one of them is
    done to all, of several choices the last; where nothing was, what makes them longest.
    """
    return _decided(setup, remedies)[0]


@dataclass(frozen=True)
class AtOdds:
    """That something else was ``chosen`` for a line (the key of a remedy) than is ``done`` about
    ``other``, with which alone it is replaced.
    """

    line: str
    chosen: str
    other: str
    done: Remedy


def at_odds(setup: Setup, remedies: Iterable[Remedies]) -> tuple[AtOdds, ...]:
    """The choices of the job that do not count, because those for a line that is replaced together
    with theirs, named later, say otherwise.
    """
    return _decided(setup, remedies)[1]


def _decided(
    setup: Setup, remedies: Iterable[Remedies]
) -> tuple[dict[str, Remedy | None], tuple[AtOdds, ...]]:
    about = {one.line: one for one in remedies if one.ranked}
    chosen = {one.line: one.remedy for one in setup.job.choices}
    named = [
        line for line in reversed(chosen) if line in about and not about[line].gone(chosen[line])
    ]
    found = {line: one.taken(chosen.get(line)) for line, one in about.items()}
    grows = {line: one.longer if one is not None else 0.0 for line, one in found.items()}
    others = sorted((line for line in about if line not in named), key=lambda line: -grows[line])
    for line in others:  # a lower bar that was chosen for one of a pair is there for the other too
        own = found[line]
        for mate in own.together if own is not None else ():
            chosen_one = found.get(mate)
            if mate in named and chosen_one is not None and chosen_one.means is Means.LOWER_BAR:
                found[line] = _same(about[line], chosen_one.key, False) or own
    odds, settled = [], set[str]()
    for line in (*named, *others):
        remedy = found[line]
        if remedy is None or line in settled:
            continue
        for other in remedy.together:
            own = found.get(other)
            besides = other in named and own is not None and not own.together
            if other not in about or (other in settled and not besides):
                continue
            asked = line in named or own is None or own.means is not Means.LOWER_BAR
            if other in named and own is not None and own.key != remedy.key and asked:
                odds.append(AtOdds(other, own.key, line, remedy))
            if besides:  # what was chosen is done too, although it is replaced all the same
                continue
            found[other] = _same(about[other], remedy.key, line in named) or own
            settled.add(other)
        settled.add(line)
    return found, tuple(odds)


def _same(about: Remedies, key: str, chosen: bool) -> Remedy | None:
    """What is done about a line when another's remedy of that key is; where that was ``chosen``,
    also if it is not enough. None where it cannot be.
    """
    suits = (one for one in about.ranked if one.key == key and (one.offered or chosen))
    return next((one for one in suits if not one.why_not), None)


def chosen_for(setup: Setup, line: str) -> str | None:
    """The key of the remedy that the job chose for a line; None where it chose none."""
    return next((one.remedy for one in setup.job.choices if one.line == line), None)
