"""A seller's complete set of lines, held against what is needed.

Which lines it covers, which it leaves short or too long and by how much, what it lacks, what is
left over, and its price against buying singly or having everything made up.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from scipy.optimize import linear_sum_assignment

from barfit.analysis import LineFinding, Verdict
from barfit.catalogue import line_kinds
from barfit.model import Job, Line, Range, SellersSet, SetPart, Setup
from barfit.remedies import Means, Remedies
from barfit.remedies.lengths import lack, most, pair
from barfit.workshop import prices
from barfit.workshop.line_items import SAME
from barfit.workshop.orders import Group, Order, OrderItem, taken

_LENGTHS = (Means.SHORTER, Means.NEXT_SIZE, Means.MADE_UP, Means.EXTENSION)
_MISFIT = 1e4  # what a part that does not fit costs the matching, in mm by which one is off


class Covers(StrEnum):
    """What a set does for a line that needs another."""

    FITS = "fits"
    SHORT = "too short"
    LONG = "too long"
    UNFIT = "does not suit"
    LACKS = "not in the set"
    APART = "in no such set"
    NOT_KNOWN = "not known"


class Spare(StrEnum):
    """Why a part of a set is left over."""

    NOT_NEEDED = "its line needs no other"
    NO_LINE = "no line of that kind"
    TOO_MANY = "more than needed"


@dataclass(frozen=True)
class Want:
    """A line that needs another, or to be made longer: to be from ``least`` to ``longest`` mm (inf
    where nothing limits it; nan where how long it has to be is not known). ``unfit`` are lengths
    between these that were laid out in every pose and do not do, each with the verdict.
    """

    line: Line
    least: float
    longest: float
    unfit: tuple[tuple[float, Verdict], ...] = ()


@dataclass(frozen=True)
class SetLine:
    """What a set does for one line. ``length`` mm is what the line has with it, ``off`` mm how much
    that is too short or too long, 0 where it is neither; both nan where the set lacks it.
    ``unsure``: how long it has to be is an estimate, and measured again before anything is ordered.
    ``verdict`` is that of a length that was laid out and does not suit.
    """

    line: str
    covers: Covers
    part: SetPart | None = None
    length: float = math.nan
    off: float = 0.0
    verdict: Verdict | None = None
    unsure: bool = False


@dataclass(frozen=True)
class LeftOver:
    """So many of one part of a set are of no use here."""

    part: SetPart
    quantity: int
    why: Spare


@dataclass(frozen=True)
class SetFit:
    """A set against what is needed, in the order's currency.

    ``covered`` is what buying singly what the set covers costs, ``made_up`` the same with every
    cable and hose made up; None where something of that has no price. ``besides`` is what has still
    to be bought singly for lines that the set does not cover, and ``unpriced`` the lines of those
    that have no price and are not in it.
    """

    name: str
    price: Range
    lines: tuple[SetLine, ...]
    left_over: tuple[LeftOver, ...]
    covered: Range | None
    made_up: Range | None
    besides: Range
    unpriced: tuple[str, ...] = ()
    note: str = ""

    def of(self, *covers: Covers) -> tuple[SetLine, ...]:
        """The lines for which it does one of these."""
        return tuple(one for one in self.lines if one.covers in covers)

    @property
    def complete(self) -> bool:
        """Whether it covers every line that such a set could."""
        return bool(self.could) and all(one.covers is Covers.FITS for one in self.could)

    @property
    def could(self) -> tuple[SetLine, ...]:
        """The lines that such a set could cover: all cables and hoses, and wires of those kinds of
        which it holds any. Extensions of harnesses come in no set of cables.
        """
        return tuple(one for one in self.lines if one.covers is not Covers.APART)

    @property
    def all_in(self) -> Range:
        """The set and what has to be bought besides."""
        return prices.together([self.price, self.besides])

    def against(self, other: Range | None) -> int:
        """-1 where the set surely costs less than ``other``, 1 where surely more; else 0."""
        if other is None:
            return 0
        return -1 if self.price[1] < other[0] else int(self.price[0] > other[1])


def wants(
    setup: Setup, remedies: Iterable[Remedies], findings: Sequence[LineFinding], found: Order
) -> tuple[Want, ...]:
    """The lines for which something of another length is ordered, and what would do for each.

    The two of a throttle pair have to grow alike: what would do for one has to do for both.
    """
    known = {one.line: one for one in findings}
    by_line = {one.line: one for one in remedies}
    decided = taken(setup, by_line.values())
    ordered = {one.line: one for one in found.of(Group.LINES) if one.line}
    result = []
    for line in setup.lines:
        if line.name not in ordered:
            continue
        together = pair(setup, line)
        own = [known[one.name] for one in together if one.name in known]
        if own:
            least, longest = max(map(lack, own)), min(map(most, own))
        else:  # nothing is known but what was decided
            remedy = decided.get(line.name)
            growth = remedy.longer if remedy is not None else ordered[line.name].longer
            least, longest = (growth, math.inf) if growth > 0.0 else (-math.inf, growth)
        unfit = _unfit(by_line.get(line.name))
        result.append(Want(line, line.length + least, line.length + max(longest, least), unfit))
    return tuple(result)


def _unfit(about: Remedies | None) -> tuple[tuple[float, Verdict], ...]:
    """The lengths of a line that were laid out and do not do, with the verdict on each."""
    return tuple(
        (one.length, one.verdict)
        for one in (about.ranked if about is not None else ())
        if one.means in _LENGTHS and not one.why_not and not (one.cures or one.may_cure)
    )


def compare_sets(
    setup: Setup, remedies: Iterable[Remedies], findings: Sequence[LineFinding], found: Order
) -> tuple[SetFit, ...]:
    """Every set of the job against what is needed, in the job's order; none where that is not known
    before a lower bar is put in.
    """
    if found.waits:
        return ()
    wanted = wants(setup, tuple(remedies), findings, found)
    return tuple(compare_set(setup, one, wanted, found) for one in setup.job.sets)


def compare_set(setup: Setup, one: SellersSet, wanted: Sequence[Want], found: Order) -> SetFit:
    """One set against the lines that are ``wanted``; ``found`` is what is ordered without it."""
    given, spare = _matched(setup, one, wanted)
    kinds = {part.kind for part in one.parts}
    guessed = {item.line for item in found.items if item.unsure}
    lines = tuple(
        replace(_covers(want, given.get(want.line.name), kinds), unsure=want.line.name in guessed)
        for want in wanted
    )
    fits = {line.line for line in lines if line.covers is Covers.FITS}
    items = found.of(Group.LINES)
    inside = [item for item in items if item.line in fits]
    outside = [item for item in items if item.line not in fits]
    return SetFit(
        name=one.name,
        price=one.price,
        lines=lines,
        left_over=spare,
        covered=_sum(inside),
        made_up=_sum([_made_up(item, setup, setup.job) for item in inside]),
        besides=prices.together([item.price for item in outside if item.price]),
        unpriced=tuple(dict.fromkeys(item.line for item in outside if item.price is None)),
        note=one.note,
    )


def _covers(want: Want, part: SetPart | None, kinds: Collection[str] = ()) -> SetLine:
    name, kind = want.line.name, want.line.kind
    if part is None:
        apart = line_kinds()[kind].family in ("harness", "lead") and kind not in kinds
        return SetLine(name, Covers.APART if apart else Covers.LACKS, off=math.nan)
    length = part_length(part, want.line)
    if math.isnan(want.least):
        return SetLine(name, Covers.NOT_KNOWN, part, length, math.nan)
    if length < want.least - SAME:
        return SetLine(name, Covers.SHORT, part, length, want.least - length)
    if length > want.longest + SAME:
        return SetLine(name, Covers.LONG, part, length, length - want.longest)
    for unfit, verdict in want.unfit:
        if abs(length - unfit) <= SAME:
            return SetLine(name, Covers.UNFIT, part, length, verdict=verdict)
    return SetLine(name, Covers.FITS, part, length)


def part_length(part: SetPart, line: Line) -> float:
    """What a line has with a part of a set, mm."""
    if part.length is not None:
        return part.length
    return line.length + (part.longer or 0.0)


def _matched(
    setup: Setup, one: SellersSet, wanted: Sequence[Want]
) -> tuple[Mapping[str, SetPart], tuple[LeftOver, ...]]:
    """Which part goes to which line, so that as many as possible fit; and what is left over.

    A part for a line by name goes to that. Others go to lines of their kind by the assignment that
    leaves least off (`scipy.optimize.linear_sum_assignment`).
    """
    by_name = {want.line.name: want for want in wanted}
    given: dict[str, SetPart] = {}
    free: list[SetPart] = []
    spare: Counter[tuple[SetPart, Spare]] = Counter()
    for part in one.parts:
        if not part.line:
            free += [part] * part.quantity
            continue
        first = part.line in by_name and part.line not in given
        if first:
            given[part.line] = part
        if left := part.quantity - first:
            needed = part.line in by_name
            spare[part, Spare.TOO_MANY if needed else Spare.NOT_NEEDED] += left
    for kind in dict.fromkeys(part.kind for part in free):
        parts = [part for part in free if part.kind == kind]
        open_wants = [
            want for want in wanted if want.line.kind == kind and want.line.name not in given
        ]
        cost = np.array([[_misfit(want, part) for part in parts] for want in open_wants])
        used: set[int] = set()
        if cost.size:
            for row, column in zip(*linear_sum_assignment(cost), strict=True):
                given[open_wants[row].line.name] = parts[column]
                used.add(int(column))
        for index, part in enumerate(parts):
            if index not in used:
                spare[part, _spare(setup, kind, by_name.values())] += 1
    over = tuple(LeftOver(part, count, why) for (part, why), count in spare.items())
    return given, over


def _misfit(want: Want, part: SetPart) -> float:
    found = _covers(want, part)
    if found.covers is Covers.FITS:
        return 0.0
    return _MISFIT + (found.off if math.isfinite(found.off) else 0.0)


def _spare(setup: Setup, kind: str, wanted: Iterable[Want]) -> Spare:
    if any(want.line.kind == kind for want in wanted):
        return Spare.TOO_MANY
    return Spare.NOT_NEEDED if any(x.kind == kind for x in setup.lines) else Spare.NO_LINE


def _made_up(item: OrderItem, setup: Setup, job: Job) -> OrderItem:
    """The same with its cable or hose made up to length."""
    line = setup.line(item.line)
    if item.item != line.kind or line_kinds()[line.kind].family not in ("cable", "hose"):
        return item
    return replace(item, price=prices.price(f"{line.kind}_made_up", job))


def _sum(items: Sequence[OrderItem]) -> Range | None:
    """What all of it costs; None where something of it has no price."""
    known = [item.price for item in items if item.price is not None]
    return prices.together(known) if len(known) == len(items) else None
