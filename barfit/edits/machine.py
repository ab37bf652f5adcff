"""Machine, bars, risers and solids."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from barfit.edits.names import beside, checked_name, find, fresh_name, replaced, without
from barfit.model import BarSet, Setup, Solid


def change_machine(setup: Setup, /, **fields: Any) -> Setup:
    """The setup with these fields of its machine changed. Units as in `barfit.model.Machine`."""
    return replace(setup, machine=replace(setup.machine, **fields))


def use_bars(setup: Setup, stock: bool, bars: BarSet) -> Setup:
    """The setup with other stock or new bars."""
    return replace(setup, stock=bars) if stock else replace(setup, new=bars)


def change_bar(setup: Setup, stock: bool, /, **fields: Any) -> Setup:
    """Fields of the stock or new bar (or pair of clip-ons) changed."""
    bars = setup.bars(stock)
    return use_bars(setup, stock, replace(bars, bar=replace(bars.bar, **fields)))


def change_riser(setup: Setup, stock: bool, /, **fields: Any) -> Setup:
    """Fields of the stock or new riser changed."""
    bars = setup.bars(stock)
    return use_bars(setup, stock, replace(bars, riser=replace(bars.riser, **fields)))


def add_solid(setup: Setup, solid: Solid) -> Setup:
    """One more solid, under a fresh name where its own is taken."""
    taken = [other.name for other in setup.machine.solids]
    solid = replace(solid, name=fresh_name(solid.name, taken))
    return _with_solids(setup, (*setup.machine.solids, solid))


def change_solid(setup: Setup, name: str, /, **fields: Any) -> Setup:
    """Role or body of a solid changed."""
    solids = setup.machine.solids
    return _with_solids(setup, replaced(solids, name, replace(find(solids, name), **fields)))


def change_shape(setup: Setup, name: str, /, **fields: Any) -> Setup:
    """Fields of a solid's shape changed."""
    shape = find(setup.machine.solids, name).shape
    return change_solid(setup, name, shape=replace(shape, **fields))


def rename_solid(setup: Setup, name: str, new: str) -> Setup:
    """A solid renamed. Raises ValueError where that name is taken."""
    others = [one.name for one in setup.machine.solids if one.name != name]
    return change_solid(setup, name, name=checked_name(new, others, "solid"))


def duplicate_solid(setup: Setup, name: str) -> Setup:
    """A copy of a solid behind it, under a fresh name."""
    solids = setup.machine.solids
    copy = replace(find(solids, name), name=fresh_name(name, [one.name for one in solids]))
    return _with_solids(setup, beside(solids, name, copy))


def delete_solid(setup: Setup, name: str) -> Setup:
    """The setup without that solid."""
    return _with_solids(setup, without(setup.machine.solids, name))


def _with_solids(setup: Setup, solids: tuple[Solid, ...]) -> Setup:
    return change_machine(setup, solids=solids)
