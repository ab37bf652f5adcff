"""Terminals and shrink for wires that get new pins: a longer branch, a made-up extension,
or one that is led through the bar and has a plug that does not pass.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from barfit.catalogue import line_kinds, line_wires
from barfit.model import Line, Setup
from barfit.remedies import Means, Remedy
from barfit.workshop import sizes
from barfit.workshop.line_items import Replacement, added, stuck_plugs
from barfit.workshop.orders import Group, LookUp, OrderItem, Why

_SLEEVE_ENDS = 2  # of a branch that is made anew: shrink over each end of its sleeve


def terminal_items(
    setup: Setup,
    taken: Mapping[str, Remedy | None],
    replaced: Sequence[Replacement],
    inside: Mapping[str, bool],
) -> list[OrderItem]:
    """What the pins of each line take, without its price; ``inside`` says of lines whether they are
    led through the bar anew. Where the wires of a line are not known, how many is not either.
    """
    whole = {one.line.name for one in replaced}
    found: list[OrderItem] = []
    for line in setup.lines:
        ends = _pinned_ends(line, taken.get(line.name), line.name in whole, inside)
        if not ends:
            continue
        wires = line_wires(line)
        count = math.nan
        if wires is not None and (each := sum(one.count for one in wires.circuits)):
            count = float(math.ceil(ends * each * (1.0 + sizes.size_table().terminal_spare) - 1e-9))
        found.append(_item(line, "terminal", count))
        if ends > 1 or line.name in whole:
            found.append(_item(line, "end_shrink", float(_SLEEVE_ENDS)))
    return found


def _pinned_ends(line: Line, remedy: Remedy | None, whole: bool, inside: Mapping[str, bool]) -> int:
    """How many ends of every wire get a new terminal. A branch is pinned into the plug of the
    machine; a made-up extension has a plug at either end; a lead that is bought comes with its own.
    """
    family = line_kinds()[line.kind].family
    if family not in ("harness", "lead"):
        return 0
    if remedy is not None and remedy.means is Means.EXTENSION and not added(remedy)[1]:
        return 2
    if whole and family == "harness":
        return 1
    wires = line_wires(line)
    depinned = inside.get(line.name, False) and wires is not None
    return int(depinned and bool(stuck_plugs(line)))


def _item(line: Line, item: str, count: float) -> OrderItem:
    amount = "" if math.isnan(count) else f", {count:g}"
    return OrderItem(
        key=f"{line.name}: {item}{amount}",
        group=Group.ACCESSORIES,
        item=item,
        what="",
        why=Why.PINNED if item == "terminal" else Why.SLEEVED,
        lines=(line.name,),
        quantity=count,
        detail=line.name,
        look_up=(LookUp.PLUG,) if item == "terminal" else (),
    )
