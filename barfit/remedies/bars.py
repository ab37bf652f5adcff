"""The bar itself: rolled in its clamps, a lower one, wires through it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from barfit import edits
from barfit.catalogue import line_kinds
from barfit.model import Bar, BarPlace, ClipOn, Line, OutletPlace, Setup
from barfit.remedies.judging import Plan, refused, solved
from barfit.remedies.least import least_change
from barfit.remedies.remedy import Means, Remedies, Remedy, Stand, lower_bar
from barfit.remedies.trials import TELLING, Trials

_MOST_ROLL = math.radians(10.0)  # either way from how the maker drew it; common practice
_TAKEN = 0.86  # mm of line for every mm of rise: typical, where the search for a height begins
_LOOKS = 3
_BAR = (
    "width",
    "rise",
    "pullback",
    "centre_width",
    "bend_radius",
    "hand_straight",
    "sweep",
    "downsweep",
    "roll",
)
_CLIP_ON = ("height", "forward", "outward", "length", "sweep", "downsweep", "roll")
_RISER = ("height", "setback")
_LEAST_DROP = 5.0  # mm; bars are sold in steps no finer


def on_bar(setup: Setup) -> tuple[str, ...]:
    """The lines that feel the bar, in the setup's order."""
    return tuple(
        line.name
        for line in setup.lines
        if any(isinstance(one.place, OutletPlace | BarPlace) for one in line.stations)
    )


def rolled(trials: Trials, line: Line) -> Iterator[Remedy]:
    """The bar rolled in its clamps as little as will do."""
    setup, lines = trials.setup, on_bar(trials.setup)
    if line.name not in lines or not trials.lacks(line.name):
        return
    roll = setup.new.bar.roll
    tried = [(0.0, trials.margin(line.name, True))]
    for to in (-_MOST_ROLL, _MOST_ROLL):
        if abs(to - roll) > 1e-6:
            spare = trials.spare(_with_roll(setup, to), lines)[line.name]
            tried.append((to - roll, spare.margin))
    if max((m for _, m in tried[1:] if not math.isnan(m)), default=-math.inf) < (
        tried[0][1] + TELLING
    ):
        yield refused(line.name, Means.ROLL_BAR, setup, "it gains nothing")
        return
    by = least_change(tried, trials.found[line.name].sure.two_sigma)
    degree = math.radians(1.0)
    by = math.copysign(math.ceil(abs(by) / degree - 1e-6) * degree, by)
    by = min(max(by, -_MOST_ROLL - roll), _MOST_ROLL - roll)
    if by == 0.0:
        return
    setup = _with_roll(setup, roll + by)
    spare = trials.spare(setup, (line.name,))[line.name]
    yield solved(trials, line.name, Plan(Means.ROLL_BAR, setup, by=by, touches=lines), spare)


def lower(trials: Trials, line: Line) -> Iterator[Remedy]:
    """The highest bar with which the line as it is fits: how much lower than these it is.

    Bars between these and the stock ones are looked at, every dimension by the same share. Only
    where these are higher than the stock ones: with others it is not height that a line lacks.
    """
    setup = trials.setup
    lacks = -trials.margin(line.name, True)
    if line.name not in on_bar(setup) or not lacks > 0.0:
        return
    most = _higher(setup)
    if most < _LEAST_DROP:
        why = "these bars are no higher than the stock ones"
        yield refused(line.name, Means.LOWER_BAR, setup, why)
        return
    found = trials.found[line.name]
    band = found.sure.two_sigma
    wanted = band if math.isfinite(band) else found.target - found.least
    tried = []
    by = (wanted + lacks) / _TAKEN
    for _ in range(_LOOKS):
        by = min(_stepped(by), most)
        margin = trials.spare(lowered(setup, by), (line.name,))[line.name].margin
        tried.append((by, margin))
        slope = (margin + lacks) / by
        if wanted <= margin < wanted + _LEAST_DROP or not slope > 0.0:
            break
        if by == most and margin < wanted:
            break
        by = (wanted + lacks) / slope
    by, margin = max(tried, key=lambda one: (one[1] >= wanted, one[1] >= 0.0, -one[0]))
    if not margin >= -wanted:
        lost = any(math.isnan(one) for _, one in tried)
        why = "it does not fit the stock bars either"
        if lost or by < most:
            why = "no height between these and the stock bars suits it"
        yield refused(line.name, Means.LOWER_BAR, setup, why)
        return
    # the same lines for each, so that what is the same bar for two of them is looked at once
    plan = Plan(Means.LOWER_BAR, lowered(setup, by), by=by, touches=on_bar(setup))
    yield solved(trials, line.name, plan)


def stands(trials: Trials, found: Iterable[Remedies]) -> dict[str, Stand]:
    """How the lines that feel the bar stand as they are with one as low as the last of them needs
    it; none where no such bar was found. Raises Cancelled.
    """
    by = lower_bar(found)
    return trials.stands(lowered(trials.setup, by), on_bar(trials.setup)) if by > 0.0 else {}


def as_low_as_stock(setup: Setup) -> bool:
    """Whether the bars are about as low as the stock ones, to the steps in which bars are sold."""
    return _higher(setup) < _LEAST_DROP


def _stepped(by: float) -> float:
    return math.ceil(by / _LEAST_DROP - 1e-6) * _LEAST_DROP


def through(trials: Trials, line: Line) -> Iterator[Remedy]:
    """Why wires cannot be led through the bar, where the file has no such way for them to go."""
    if line_kinds()[line.kind].family not in ("harness", "lead"):
        return
    holes = {hole.name for hole in trials.setup.new.bar.holes}
    way = line.through_bar
    if (way and {way.entry, way.exit} <= holes) or any(one.through_bar for one in line.routings):
        return
    why = (
        "these bars have no holes for wires"
        if not holes
        else "the file does not say through which holes"
    )
    yield refused(line.name, Means.THROUGH_BAR, trials.setup, why)


def lowered(setup: Setup, by: float) -> Setup:
    """The setup with new bars ``by`` mm lower, every dimension so much nearer to the stock's."""
    share = by / _higher(setup)
    new, stock = setup.new, setup.stock
    fields = _BAR if isinstance(new.bar, Bar) else _CLIP_ON
    bar = {name: _between(new.bar, stock.bar, name, share) for name in fields}
    setup = edits.change_bar(setup, False, **bar)
    if isinstance(new.bar, ClipOn):
        return setup
    riser = {name: _between(new.riser, stock.riser, name, share) for name in _RISER}
    return edits.change_riser(setup, False, **riser)


def _between(one: object, other: object, name: str, share: float) -> float:
    first, last = float(getattr(one, name)), float(getattr(other, name))
    return first + share * (last - first)


def _higher(setup: Setup) -> float:
    """By how much the new bars are higher than the stock ones, mm; 0 where those are of another
    kind.
    """
    new, stock = setup.new, setup.stock
    if isinstance(new.bar, ClipOn) and isinstance(stock.bar, ClipOn):
        return new.bar.height - stock.bar.height
    if isinstance(new.bar, Bar) and isinstance(stock.bar, Bar):
        return new.bar.rise + new.riser.height - stock.bar.rise - stock.riser.height
    return 0.0


def _with_roll(setup: Setup, roll: float) -> Setup:
    return edits.change_bar(setup, False, roll=roll)
