"""Where to join pieces into the wires of a harness or lead that is too short.

Each wire is cut once and gets a piece with a joint at either end. Joints stand in places along the
line, so far apart that their sleeves do not lie beside each other and the bundle stays thin. All
places of the first joints come before those of the second ones, wire after wire in the same order.
A place is good where the line hardly flexes as the steering turns, well away from any bend that
does, and clear of whatever holds the line (NASA-STD-8739.4: splices few, staggered, outside flexing
zones). Of all that are good those are taken whose worst joint flexes least; then those that take
the least new wire; then those nearest to the first fitting.

Pure functions of arrays; lengths mm, along the line as lengthened, from its first fitting.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

STEP = 1.0  # mm between the places that are tried
SAME_FLEX = 1e-4  # 1/mm of flexing that is as good as none more
ROOM = 10.0  # mm a joint's sleeve keeps from a fitting's rigid end and from half a tie's width
_CROWD = 3  # of so many wires no more than one has its joint at the same place: estimate


class NoPlan(StrEnum):
    """Why there is no plan."""

    NOT_KNOWN = "how the line flexes is not known"
    NOT_CALM = "no place is calm enough"
    NO_ROOM = "the calm places are too short for all joints"


@dataclass(frozen=True)
class Wire:
    """One wire to be lengthened: its name, the ``gauge`` it has, the length of a joint's sleeve."""

    name: str
    gauge: str
    sleeve: float


@dataclass(frozen=True)
class Rules:
    """What a place for a joint has to keep.

    ``calm`` 1/mm: the most the curvature may change there; ``clear`` from any place where it
    changes more; ``stagger`` from the middle of one place to that of the next.
    """

    calm: float
    clear: float
    stagger: float


@dataclass(frozen=True)
class Joint:
    """One joint: ``at`` its middle, ``between`` which stations, under a ``sleeve`` so long.

    ``flex`` 1/mm: the most the curvature changes under the sleeve in a turn from lock to lock.
    """

    at: float
    between: tuple[str, str]
    sleeve: float
    flex: float

    @property
    def begin(self) -> float:
        """Where its sleeve begins."""
        return self.at - 0.5 * self.sleeve

    @property
    def end(self) -> float:
        """Where its sleeve ends."""
        return self.at + 0.5 * self.sleeve


@dataclass(frozen=True)
class Splice:
    """One wire with its inserted ``piece`` (length between the middles of its joints).

    The wire is cut at ``first.at``, counted along it as it is, and ``remove`` of it taken out
    beyond the cut, so that it grows by piece less remove. Add to the piece what the joints take up.
    """

    wire: str
    gauge: str
    first: Joint
    second: Joint
    remove: float

    @property
    def piece(self) -> float:
        """Length between the middles of the two joints."""
        return self.second.at - self.first.at


@dataclass(frozen=True)
class SplicePlan:
    """How a line grows by ``extension``, wire by wire in the order they were given.

    ``places`` are the middles of the places with joints, ascending, at most ``together`` joints in
    each. ``room`` is how many joints good places were found for; without ``splices`` that is too
    few, and ``why`` says the reason.
    """

    line: str
    extension: float
    splices: tuple[Splice, ...]
    places: tuple[float, ...]
    together: int
    room: int
    why: NoPlan | None = None

    @property
    def flex(self) -> float:
        """The most the curvature changes under any joint, 1/mm; nan without joints."""
        every = [joint.flex for one in self.splices for joint in (one.first, one.second)]
        return max(every, default=math.nan)

    @property
    def needed(self) -> int:
        """How many joints there are."""
        return 2 * len(self.splices)


def sleeve_length(outside: float, barrel: float, overlap: float, overlap_diameters: float) -> float:
    """Length of the shrink sleeve over a joint of a wire so thick: the ``barrel`` and on either
    side ``overlap``, or ``overlap_diameters`` times the wire where that is more.
    """
    return barrel + 2.0 * max(overlap, overlap_diameters * outside)


def splice_plan(
    line: str,
    wires: Sequence[Wire],
    arc: np.ndarray,
    change: np.ndarray,
    stations: Sequence[tuple[str, float, float]],
    extension: float,
    rules: Rules,
) -> SplicePlan:
    """Where to join pieces into the ``wires`` so that the line grows by ``extension``.

    ``change`` (M,) 1/mm at ``arc`` (M,) is how much the lengthened line's curvature changes (see
    `barfit.trade.flex`); ``stations`` in their order, each a name and the stretch along the line
    that it holds in the course of a turn. Raises ValueError without wires or for an extension that
    is not positive.
    """
    if not wires or not extension > 0.0:
        raise ValueError("a splice plan needs wires and an extension of more than 0 mm")

    def none(why: NoPlan, room: int = 0) -> SplicePlan:
        return SplicePlan(line, extension, (), (), 0, room, why)

    if not np.isfinite(change).all():
        return none(NoPlan.NOT_KNOWN)
    sleeve = max(wire.sleeve for wire in wires)
    grid = np.arange(math.ceil(arc[0]), math.floor(arc[-1]) + 0.5 * STEP, STEP)
    flex = _under(grid, arc, change, 0.5 * sleeve)
    good = _good(grid, arc, change, stations, sleeve, rules) & (flex <= rules.calm)
    if not good.any():
        return none(NoPlan.NOT_CALM)
    apart = max(rules.stagger, sleeve + STEP)
    # a piece shorter than a joint and a bit of wire cannot be handled
    least = max(extension, apart)
    most = math.ceil(len(wires) / _CROWD)

    def chosen(count: int) -> tuple[np.ndarray, np.ndarray] | None:
        return _best(*_places(grid[good], flex[good], apart, count), apart, least)

    for together in range(1, most + 1):
        both = chosen(math.ceil(len(wires) / together))
        if both is not None:
            first, second = both
            break
    else:
        fewer = range(math.ceil(len(wires) / most) - 1, 0, -1)
        held = next((count for count in fewer if chosen(count) is not None), 0)
        return none(NoPlan.NO_ROOM, 2 * held * most)
    room = 2 * len(wires)
    names = [name for name, _, _ in stations]
    middles = np.array([0.5 * (low + high) for _, low, high in stations])

    def joint(at: float, wire: Wire) -> Joint:
        after = int(np.clip(np.searchsorted(middles, at), 1, len(names) - 1))
        here = float(_under(np.array([at]), arc, change, 0.5 * wire.sleeve)[0])
        return Joint(at, (names[after - 1], names[after]), wire.sleeve, here)

    splices = []
    for number, wire in enumerate(wires):
        begin, end = float(first[number // together]), float(second[number // together])
        remove = end - begin - extension
        splices.append(Splice(wire.name, wire.gauge, joint(begin, wire), joint(end, wire), remove))
    every = tuple(float(at) for at in np.concatenate((first, second)))
    return SplicePlan(line, extension, tuple(splices), every, together, room)


def flexing(arc: np.ndarray, change: np.ndarray, calm: float) -> list[tuple[float, float]]:
    """The stretches along a line where its curvature changes by more than ``calm``."""
    grid = np.arange(arc[0], arc[-1] + 0.5 * STEP, STEP)
    moving = np.interp(grid, arc, change) > calm
    steps = np.diff(np.concatenate(([0], moving.astype(int), [0])))
    ends = zip(np.flatnonzero(steps > 0), np.flatnonzero(steps < 0) - 1, strict=True)
    return [(float(grid[a]), float(grid[b])) for a, b in ends]


def _good(
    grid: np.ndarray,
    arc: np.ndarray,
    change: np.ndarray,
    stations: Sequence[tuple[str, float, float]],
    sleeve: float,
    rules: Rules,
) -> np.ndarray:
    """Which places of the grid a joint of that sleeve may have, for all but its own flexing."""
    good = np.ones(grid.shape, bool)
    for begin, end in flexing(arc, change, rules.calm):
        good &= (grid < begin - rules.clear) | (grid > end + rules.clear)
    keep = 0.5 * sleeve + ROOM
    for _, begin, end in stations:
        good &= (grid < begin - keep) | (grid > end + keep)
    return good


def _under(at: np.ndarray, arc: np.ndarray, change: np.ndarray, half: float) -> np.ndarray:
    """The greatest change of curvature within ``half`` of each place."""
    reach = np.arange(-half, half + 0.5 * STEP, STEP)
    found: np.ndarray = np.interp(at[:, None] + reach, arc, change).max(1)
    return found


def _places(
    places: np.ndarray, flex: np.ndarray, apart: float, count: int
) -> tuple[np.ndarray, np.ndarray]:
    """From every place on, the next ``count`` that far apart (K, count), and the most any of them
    flexes (K,); only those that get so far.
    """
    after = np.searchsorted(places, places + apart - 1e-9)
    rows = [np.arange(len(places))]
    for _ in range(count - 1):
        here = rows[-1]
        rows.append(np.where(here < len(places), after[np.minimum(here, len(places) - 1)], here))
    chosen = np.stack(rows, 1)
    chosen = chosen[chosen[:, -1] < len(places)]
    return places[chosen], flex[chosen].max(1, initial=0.0)


def _best(
    places: np.ndarray, flex: np.ndarray, apart: float, least: float
) -> tuple[np.ndarray, np.ndarray] | None:
    """The first and the second joints' places out of rows of them, pieces ``least`` or longer."""
    best, found = (math.inf, math.inf), None
    worst = np.round(flex / SAME_FLEX)
    for row, first in enumerate(places):
        pieces = places - first
        fit = (pieces.min(1) >= least) & (places[:, 0] >= first[-1] + apart)
        if not fit.any():
            continue
        rank = np.maximum(worst, worst[row])[fit]
        new_wire = pieces.sum(1)[fit]
        pick = int(np.lexsort((new_wire, rank))[0])
        cost = float(rank[pick]), float(new_wire[pick])
        if cost < best:
            best, found = cost, (first, places[np.flatnonzero(fit)[pick]])
    return found
