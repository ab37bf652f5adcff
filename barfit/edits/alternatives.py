"""Alternatives: other ways for a line to go, other bars to fit. One of each is in use.

What is put aside keeps everything it had, so going to and fro changes nothing.
"""

from __future__ import annotations

from dataclasses import replace

from barfit.edits.lines import change_line
from barfit.edits.names import checked_name, find, fresh_name, replaced, without
from barfit.model import BarSet, Line, Routing, Setup

FIRST = "as it goes now"


def routing_names(line: Line) -> tuple[str, ...]:
    """The names of all ways a line can go, the one in use first; none where there is but one."""
    return (line.routing, *(one.name for one in line.routings)) if line.routings else ()


def add_routing(setup: Setup, line: str, name: str) -> Setup:
    """One more way for a line to go, which it takes from now on: at first a copy of the way it
    went.

    Slack found on the machine stays with the way that it was found on. Raises ValueError for a
    name that is taken.
    """
    own = setup.line(line)
    now = own.routing or fresh_name(FIRST, [name])
    name = checked_name(name, (now, *(one.name for one in own.routings)), "way to go")
    aside = _in_use(replace(own, routing=now))
    changed = replace(own, routing=name, found_slack=None, routings=(*own.routings, aside))
    return _with(setup, changed)


def use_routing(setup: Setup, line: str, name: str) -> Setup:
    """The line goes that way instead; the way it went is put aside. Raises KeyError."""
    own = setup.line(line)
    if name == own.routing:
        return setup
    wanted = find(own.routings, name)
    changed = replace(
        own,
        routing=wanted.name,
        length=wanted.length,
        stations=wanted.stations,
        found_slack=wanted.found_slack,
        through_bar=wanted.through_bar,
        routings=replaced(own.routings, name, _in_use(own)),
    )
    return _with(setup, changed)


def rename_routing(setup: Setup, line: str, name: str, new: str) -> Setup:
    """A way to go renamed. Raises KeyError, and ValueError for a name that is taken."""
    own = setup.line(line)
    others = [one for one in routing_names(own) if one != name]
    new = checked_name(new, others, "way to go")
    if name == own.routing:
        return change_line(setup, line, routing=new)
    renamed = replace(find(own.routings, name), name=new)
    return change_line(setup, line, routings=replaced(own.routings, name, renamed))


def delete_routing(setup: Setup, line: str, name: str) -> Setup:
    """A line without that way to go; its last one needs no name any more.

    Raises KeyError, and ValueError for the one in use.
    """
    own = setup.line(line)
    if name == own.routing:
        raise ValueError(f"The line goes '{name}' now; take another way before deleting this one.")
    left = without(own.routings, name)
    return change_line(setup, line, routings=left, routing=own.routing if left else "")


def keep_routing(setup: Setup, line: str, name: str) -> Setup:
    """The line goes that way and no other is kept. Raises KeyError."""
    return change_line(use_routing(setup, line, name), line, routing="", routings=())


def bars_names(setup: Setup) -> tuple[str, ...]:
    """What the bars that could be fitted are called, the new ones first."""
    return (setup.new.title, *(bars.name for bars in setup.other_bars))


def add_bars(setup: Setup, name: str, bars: BarSet | None = None) -> Setup:
    """Other bars to fit, which are the new ones from now on: at first a copy of the new ones.

    Raises ValueError for a name that is taken.
    """
    name = checked_name(name, bars_names(setup), "set of bars")
    added = replace(setup.new if bars is None else bars, name=name)
    return replace(setup, new=added, other_bars=(*setup.other_bars, _named(setup.new)))


def use_other_bars(setup: Setup, name: str) -> Setup:
    """The bars of that name are the new ones, and those are put aside. Raises KeyError."""
    if name == setup.new.title:
        return setup
    wanted = find(setup.other_bars, name)
    others = replaced(setup.other_bars, name, _named(setup.new))
    return replace(setup, new=wanted, other_bars=others)


def rename_bars(setup: Setup, name: str, new: str) -> Setup:
    """Bars renamed. Raises KeyError, and ValueError for a name that is taken."""
    new = checked_name(new, [one for one in bars_names(setup) if one != name], "set of bars")
    if name == setup.new.title:
        return replace(setup, new=replace(setup.new, name=new))
    renamed = replace(find(setup.other_bars, name), name=new)
    return replace(setup, other_bars=replaced(setup.other_bars, name, renamed))


def delete_bars(setup: Setup, name: str) -> Setup:
    """The setup without those bars. Raises KeyError, and ValueError for the new ones."""
    if name == setup.new.title:
        raise ValueError(f"'{name}' are the new bars now; take others before deleting these.")
    return replace(setup, other_bars=without(setup.other_bars, name))


def _in_use(line: Line) -> Routing:
    return Routing(line.routing, line.length, line.stations, line.found_slack, line.through_bar)


def _named(bars: BarSet) -> BarSet:
    return replace(bars, name=bars.title)


def _with(setup: Setup, line: Line) -> Setup:
    return replace(setup, lines=replaced(setup.lines, line.name, line))
