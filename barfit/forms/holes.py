"""Forms of the holes in the bars, and of a line's way through them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from barfit import edits
from barfit.catalogue import line_kinds
from barfit.forms.details import rows_of
from barfit.forms.fields import Action, Group, along_bar, fields_of, needed, renaming
from barfit.model import Connector, Hole, Line, Setup, ThroughBar
from barfit.scenario import schema
from barfit.scenario.through_bar import INSIDE

_WORDS = {"lead_in": "along a smooth curve"}


def hole_action(setup: Setup, stock: bool) -> Action:
    """One more hole in the stock or the new bars."""
    tip = "A hole through which wires go into the bar, or come out"
    return Action("Add hole", tip, lambda: edits.add_hole(setup, stock))


def hole_groups(setup: Setup, stock: bool) -> tuple[Group, ...]:
    """The holes of the stock or the new bars, each of which can be deleted."""
    return tuple(_hole(setup, stock, hole) for hole in setup.bars(stock).bar.holes)


def _hole(setup: Setup, stock: bool, hole: Hole) -> Group:
    def change(key: str, value: Any) -> Setup:
        key = "distance" if key.startswith("from") else key
        return edits.change_hole(setup, stock, hole.name, **{key: value})

    def rename(_key: str, value: Any) -> Setup:
        return edits.rename_hole(setup, hole.name, value)

    def other_end(centre: bool) -> Setup:
        return edits.hole_from(setup, stock, hole.name, centre)

    along = "from_centre" if hole.from_centre else "from_end"
    values = {**vars(hole), along: hole.distance}
    side, place, *rest = fields_of(
        schema.HoleTable,
        values,
        change,
        form="hole",
        keys=("side", along, "facing", "diameter", "length", "slant"),
        fallbacks={"length": "round"},
    )
    drop = Action(
        "Delete", f"Delete {hole.name}", lambda: edits.delete_hole(setup, stock, hole.name)
    )
    fields = (
        renaming(hole.name, rename),
        side,
        along_bar(hole.from_centre, other_end),
        *needed((place,)),
        *rest,
    )
    return Group(f"Hole: {hole.name}", fields, actions=(drop,))


def through_bar_groups(setup: Setup, line: Line) -> tuple[Group, ...]:
    """The way of a line inside the bar; for wires without one, how to begin it."""
    through = line.through_bar
    if through is None:
        if line_kinds()[line.kind].family not in INSIDE:
            return ()
        tip = "In at one hole of the new bars and out at another; outside with bars that lack them"
        begin = Action("Lead it inside the bar", tip, lambda: edits.lead_inside(setup, line.name))
        return (Group("Through the bar", (), actions=(begin,)),)

    def put(changed: ThroughBar) -> Setup:
        return edits.change_line(setup, line.name, through_bar=changed)

    def change(key: str, value: Any) -> Setup:
        return put(replace(through, **{key: value}))

    def with_plugs(plugs: tuple[Connector, ...]) -> Setup:
        return put(replace(through, connectors=plugs))

    fields = fields_of(
        schema.ThroughBarTable, through, change, form="through_bar", fallbacks=_WORDS
    )
    holes = tuple(hole.name for hole in setup.new.bar.holes)
    named = tuple(
        replace(
            field,
            words=tuple(dict.fromkeys((*holes, getattr(through, field.key)))),
        )
        if field.key in ("entry", "exit")
        else field
        for field in fields
    )
    plugs = through.connectors
    name = edits.fresh_name(f"plug {len(plugs) + 1}", [one.name for one in plugs])
    more = Action(
        "Add plug",
        "A plug on its end, which has to pass the holes and the bore, or come off",
        lambda: with_plugs((*plugs, Connector(name, 12.0, 8.0))),
    )
    out = Action(
        "Lead it outside", "By its stations alone", lambda: edits.lead_outside(setup, line.name)
    )
    return (
        Group("Through the bar", named, actions=(more, out)),
        *rows_of("Plug to pass", plugs, schema.ConnectorTable, with_plugs, form="plug"),
    )
