"""Holes in the bars, and lines led through them.

A hole is known by its name in all bars of a setup: a line goes inside those that have both of its
holes, and outside with the others.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from barfit.edits.lines import change_line
from barfit.edits.machine import change_bar
from barfit.edits.names import checked_name, find, fresh_name, replaced, without
from barfit.edits.stations import along
from barfit.geometry.pose import BarShape, LayoutError, bar_shape
from barfit.model import BarSet, Hole, How, Line, OutletPlace, Setup, Side, ThroughBar

# Where holes for the wires of switches usually are (estimates): inboard of the controls, facing
# down, and at the foot of the bar, facing down and back.
_IN_FROM_END, _OUT_FROM_CENTRE = 175.0, 85.0  # mm
_IN_FACING, _OUT_FACING = -1.5708, -2.0944  # rad
_ACROSS = 13.0  # mm
_DETOUR = 1.05  # of the straight way, that a line of no known length is taken to go (estimate)
_SHARE = 0.55  # of the tube, that a hole is at most wide


def add_hole(setup: Setup, stock: bool) -> Setup:
    """One more hole in the stock or the new bars: where wires go in on the left, then where they
    come out, then the same on the right. Raises BarError for bars that cannot be built.
    """
    bars = setup.bars(stock)
    holes, length = bars.bar.holes, bar_shape(setup.machine, bars).length
    out = len(holes) % 2 == 1
    side = (Side.LEFT, Side.RIGHT)[len(holes) // 2 % 2]
    hole = Hole(
        name=fresh_name(f"{side} hole {'out' if out else 'in'}", [one.name for one in holes]),
        side=side,
        distance=min(_OUT_FROM_CENTRE if out else _IN_FROM_END, round(0.4 * length)),
        from_centre=out,
        facing=_OUT_FACING if out else _IN_FACING,
        diameter=min(_ACROSS, round(_SHARE * bars.bar.tube_diameter)),
    )
    return change_bar(setup, stock, holes=(*holes, hole))


def change_hole(setup: Setup, stock: bool, name: str, /, **fields: Any) -> Setup:
    """Fields of a hole changed (its name: `rename_hole`)."""
    holes = setup.bars(stock).bar.holes
    changed = replace(find(holes, name), **fields)
    return change_bar(setup, stock, holes=replaced(holes, name, changed))


def rename_hole(setup: Setup, name: str, new: str) -> Setup:
    """A hole renamed in all bars that have it; lines that go through it follow. Raises ValueError
    where that name is taken.
    """
    every = [hole.name for bars in _all_bars(setup) for hole in bars.bar.holes]
    new = checked_name(new, [one for one in every if one != name], "hole")

    def renamed(bars: BarSet) -> BarSet:
        holes = (replace(one, name=new) if one.name == name else one for one in bars.bar.holes)
        return replace(bars, bar=replace(bars.bar, holes=tuple(holes)))

    def follows(through: ThroughBar | None) -> ThroughBar | None:
        if through is None:
            return None
        entry, way_out = (new if one == name else one for one in (through.entry, through.exit))
        return replace(through, entry=entry, exit=way_out)

    def followed(line: Line) -> Line:
        ways = tuple(replace(way, through_bar=follows(way.through_bar)) for way in line.routings)
        return replace(line, through_bar=follows(line.through_bar), routings=ways)

    return replace(
        setup,
        stock=renamed(setup.stock),
        new=renamed(setup.new),
        other_bars=tuple(map(renamed, setup.other_bars)),
        lines=tuple(map(followed, setup.lines)),
    )


def delete_hole(setup: Setup, stock: bool, name: str) -> Setup:
    """The bars without that hole. Raises ValueError while a line goes through it."""
    used = [
        line.name for line in setup.lines if any(name in (t.entry, t.exit) for t in _ways(line))
    ]
    if used:
        raise ValueError(f"'{used[0]}' goes through '{name}': lead it outside first.")
    return change_bar(setup, stock, holes=without(setup.bars(stock).bar.holes, name))


def hole_from(setup: Setup, stock: bool, name: str, centre: bool) -> Setup:
    """A hole whose place counts from the bar's centre, or from its end; it stays where it is."""
    bars = setup.bars(stock)
    hole = find(bars.bar.holes, name)
    if hole.from_centre is centre:
        return setup
    distance = bar_shape(setup.machine, bars).length - hole.distance
    return change_hole(setup, stock, name, from_centre=centre, distance=distance)


def lead_inside(setup: Setup, line: str) -> Setup:
    """The line led inside the new bars: in at the hole nearest to its control, out at the farthest
    on the same side, or else on the other. A length that is only a guess becomes at least one that
    reaches. Raises ValueError where they have no two holes, or it does not start at a control.
    """
    own = setup.line(line)
    start = own.stations[0].place
    holes = setup.new.bar.holes
    if len(holes) < 2:
        raise ValueError(
            "The new bars have no two holes: add them under 'New bars' first, one where the wires "
            "go in and one where they come out."
        )
    if not isinstance(start, OutletPlace):
        raise ValueError("A line that is led through the bar starts at a control's outlet.")
    control = find(setup.controls, start.control)
    shape = bar_shape(setup.machine, setup.new)
    at = shape.across(control.side, control.inboard, from_centre=False)
    away = _distance(shape, at)
    entry = min(holes, key=away)
    rest = [one for one in holes if one is not entry]
    out = max(rest, key=lambda one: (one.side is entry.side, away(one)))
    inside = change_line(setup, line, through_bar=ThroughBar(entry.name, out.name))
    if own.measured is not How.NOT_MEASURED:
        return inside
    try:
        way = along(inside, setup.new, line)[own.stations[-1].name]
    except LayoutError:
        return inside  # whoever asked is told why it cannot be laid out
    length = max(own.length, 5.0 * math.ceil(_DETOUR * way / 5.0))
    return change_line(inside, line, length=length)


def lead_outside(setup: Setup, line: str) -> Setup:
    """The line no longer led inside any bars: it goes by its stations."""
    return change_line(setup, line, through_bar=None)


def _distance(shape: BarShape, at: float) -> Callable[[Hole], float]:
    """How far a hole is along the bar from a place of it."""

    def away(hole: Hole) -> float:
        return abs(shape.across(hole.side, hole.distance, hole.from_centre) - at)

    return away


def _all_bars(setup: Setup) -> tuple[BarSet, ...]:
    return (setup.stock, setup.new, *setup.other_bars)


def _ways(line: Line) -> tuple[ThroughBar, ...]:
    """The ways inside the bar, of all ways the line can go."""
    every = (line.through_bar, *(way.through_bar for way in line.routings))
    return tuple(one for one in every if one is not None)
