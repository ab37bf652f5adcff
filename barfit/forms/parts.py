"""The form of each part of a setup."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from barfit import edits
from barfit.catalogue import LineKind, line_kinds
from barfit.edits.names import find
from barfit.forms.details import hose_groups, master_groups, wire_groups
from barfit.forms.fields import Action, Field, Group, fields_of, renaming, spread_out
from barfit.forms.holes import hole_action, hole_groups, through_bar_groups
from barfit.forms.terms import term
from barfit.model import (
    Bar,
    Box,
    Build,
    Cable,
    Capsule,
    ControlSize,
    Disc,
    Ellipsoid,
    FoundSlack,
    Line,
    Setup,
    Shoulder,
    Uncertainty,
)
from barfit.scenario import schema
from barfit.scenario.cables import slides
from barfit.scenario.values import Words
from barfit.units import format_length

_FORK = {
    "offset": "fork_offset",
    "length": "fork_length",
    "spread": "fork_spread",
    "tube_diameter": "fork_tube_diameter",
    "lower_clamp": "lower_clamp",
    "travel": "travel",
    "sag": "sag",
}
_HEAD_TUBE = {
    "top": "head_tube_top",
    "bottom": "head_tube_bottom",
    "diameter": "head_tube_diameter",
}
_WHEEL = {"radius": "wheel_radius", "width": "wheel_width"}
_FUEL = {"fuelling": "fuelling"}
_USUAL_DISC = Disc(145.0, 60.0)  # mm; a usual size of road machines (from memory), to be changed
_RISERS = {"foot": "riser_foot", "spacing": "riser_spacing"}


def machine_form(setup: Setup) -> tuple[Group, ...]:
    """The front of the machine."""
    machine = setup.machine

    def group(heading: str, table: type[schema.Table], names: dict[str, str], form: str) -> Group:
        """``names`` gives the machine's attribute for each key of the table."""

        def change(key: str, value: Any) -> Setup:
            return edits.change_machine(setup, **{names[key]: value})

        values = {key: getattr(machine, name) for key, name in names.items()}
        return Group(heading, fields_of(table, values, change, form=form, keys=tuple(names)), form)

    own = {key: key for key in schema.MachineTable.model_fields if key not in _FUEL}
    return (
        group("Steering", schema.MachineTable, own, "steering"),
        group("Fork", schema.ForkTable, _FORK, "fork"),
        group("Head tube", schema.HeadTubeTable, _HEAD_TUBE, "head_tube"),
        group("Front wheel", schema.WheelTable, _WHEEL, "wheel"),
        _disc(setup),
        group("Risers' place", schema.RisersTable, _RISERS, "risers"),
        group("Tank", schema.MachineTable, _FUEL, "tank"),
    )


def _disc(setup: Setup) -> Group:
    """The front brake's disc, which a drum brake has not."""
    disc = setup.machine.disc

    def put(changed: Disc | None) -> Setup:
        return edits.change_machine(setup, disc=changed)

    if disc is None:
        tip = "One on each side on which a brake hose ends; left out, gaps to it are not known"
        begin = Action("Enter its sizes", tip, lambda: put(_USUAL_DISC))
        return Group("Brake disc", (), actions=(begin,))

    def change(key: str, value: Any) -> Setup:
        return put(replace(disc, **{key: value}))

    drop = Action("Leave out", "No disc, or its sizes are not known", lambda: put(None))
    return Group("Brake disc", fields_of(schema.DiscTable, disc, change, form="disc"), "", (drop,))


def _corner(setup: Setup, stock: bool) -> Action:
    """The extra corner of a bar, put in or taken out."""
    bar = setup.bars(stock).bar
    assert isinstance(bar, Bar)
    if bar.shoulder is not None:
        return Action(
            "Delete",
            "The bar has no such corner",
            lambda: edits.change_bar(setup, stock, shoulder=None),
        )
    corner = Shoulder(0.5 * bar.centre_width + 60.0, 0.6 * bar.rise, 0.0)  # a start, to be changed
    return Action(
        "Add corner",
        "An extra corner between centre and hand straight, as Z- and T-shaped bars have",
        lambda: edits.change_bar(setup, stock, shoulder=corner),
    )


def bars_form(setup: Setup, stock: bool) -> tuple[Group, ...]:
    """The stock or the new bars."""
    bars = setup.bars(stock)
    which = "stock" if stock else "new"

    def bar(key: str, value: Any) -> Setup:
        return edits.change_bar(setup, stock, **{key: value})

    def riser(key: str, value: Any) -> Setup:
        return edits.change_riser(setup, stock, **{key: value})

    holes = hole_groups(setup, stock)
    if not isinstance(bars.bar, Bar):
        fields = fields_of(schema.ClipOnTable, bars.bar, bar, form="clip_ons")
        own = Group(f"Clip-ons, {which}", fields, "clip_ons", (hole_action(setup, stock),))
        return (*_choice(setup, stock), own, *holes)
    unknown = dict.fromkeys(("wall", "clamp_zone", "bore"), "not known")
    fields = fields_of(schema.BarTable, bars.bar, bar, form="bar", fallbacks=unknown)
    more: tuple[Action, ...] = (hole_action(setup, stock),)
    if bars.bar.shoulder is None:
        more = (_corner(setup, stock), *more)
    groups = [Group(f"Bar, {which}", fields, "bar", more)]
    if bars.bar.shoulder is not None:
        corner = bars.bar.shoulder

        def shoulder(key: str, value: Any) -> Setup:
            changed: Shoulder = replace(corner, **{key: value})
            return edits.change_bar(setup, stock, shoulder=changed)

        fields = fields_of(schema.ShoulderTable, corner, shoulder, form="shoulder")
        groups.append(Group("Extra corner", fields, "bar", (_corner(setup, stock),)))
    fields = fields_of(schema.RiserTable, bars.riser, riser, form="riser", fallbacks=unknown)
    riser_group = Group(f"Riser, {which}", fields, "riser")
    return (*_choice(setup, stock), *groups, riser_group, *holes)


def control_form(setup: Setup, name: str) -> tuple[Group, ...]:
    """One control and its outlets. Raises KeyError."""
    control = find(setup.controls, name)

    def own(key: str, value: Any) -> Setup:
        return edits.change_control(setup, name, **{key: value})

    def rename(_key: str, value: Any) -> Setup:
        return edits.rename_control(setup, name, value)

    fields = fields_of(schema.ControlTable, control, own, form="control")
    more = Action("Add outlet", "One more line leaves it", lambda: edits.add_outlet(setup, name))
    groups = [Group("Control", (renaming(name, rename), *fields), "control", (more,))]
    for outlet in control.outlets:

        def change(key: str, value: Any, outlet: str = outlet.name) -> Setup:
            return edits.change_outlet(setup, name, outlet, **{key: value})

        fields = spread_out(fields_of(schema.OutletTable, outlet, change, form="outlet"))

        def drop(outlet: str = outlet.name) -> Setup:
            return edits.delete_outlet(setup, name, outlet)

        few = len(control.outlets) == 1
        less = () if few else (Action("Delete", f"Delete outlet {outlet.name}", drop),)
        groups.append(Group(f"Outlet: {outlet.name}", fields, f"outlet {outlet.name}", less))
    size = control.size or ControlSize()

    def sized(key: str, value: Any) -> Setup:
        changed: ControlSize = replace(size, **{key: value})
        given = None if changed == ControlSize() else changed
        return edits.change_control(setup, name, size=given)

    keys = schema.ControlSizeTable.model_fields
    words = dict.fromkeys(keys, "as its kind") | {"lid_up": "level with the stock bars"}
    words["mirror"] = "none"
    fields = fields_of(schema.ControlSizeTable, size, sized, form="control_size", fallbacks=words)
    room = Group("Room it takes", spread_out(fields), "control_size")
    return (*groups, *master_groups(setup, control), room)


def line_form(setup: Setup, name: str, unit: str) -> tuple[Group, ...]:
    """One line as a whole; its stations have forms of their own. Raises KeyError."""
    line = setup.line(name)
    kind = line_kinds()[line.kind]

    def own(key: str, value: Any) -> Setup:
        return _changed_line(setup, line, key, value)

    def rename(_key: str, value: Any) -> Setup:
        return edits.rename_line(setup, name, value)

    def found(key: str, value: Any) -> Setup:
        changed = replace(line.found_slack or FoundSlack(), **{key: value})
        nothing = changed.right is changed.straight is changed.left is None
        return edits.change_line(setup, name, found_slack=None if nothing else changed)

    keys = ("kind", "length", "measured", "diameter", "min_radius", "note")
    stiff = ("bending_stiffness", "twisting_stiffness", "swivels", "weight")
    words = _fallbacks(kind, unit)
    fields = fields_of(schema.LineTable, line, own, form="line", keys=keys, fallbacks=words)
    slack = fields_of(
        schema.FoundSlackTable,
        line.found_slack or FoundSlack(),
        found,
        form="found_slack",
        keys=("right", "straight", "left", "length"),
        fallbacks=dict.fromkeys(("right", "straight", "left"), "not looked at")
        | {"length": "as it is"},
    )
    labels = {name: one.label for name, one in line_kinds().items()}
    fields = tuple(
        replace(field, words=tuple(line_kinds()), shown=labels) if field.key == "kind" else field
        for field in fields
    )
    return (
        Group("Line", (renaming(name, rename), *_way(setup, line), *fields), "line"),
        *through_bar_groups(setup, line),
        Group("Slack found on the machine, stock bars", slack, "found_slack"),
        *_cable_group(setup, line),
        *hose_groups(setup, line),
        *wire_groups(setup, line),
        Group(
            "What it is made of",
            fields_of(schema.LineTable, line, own, form="line", keys=stiff, fallbacks=words),
        ),
    )


def _way(setup: Setup, line: Line) -> tuple[Field, ...]:
    """What the way it goes is called, where it has others."""
    if not line.routings:
        return ()

    def rename(_key: str, value: Any) -> Setup:
        return edits.rename_routing(setup, line.name, line.routing, value)

    label, tip = term("routing")
    words = Words(filled=True)
    return (Field("routing", label, tip, line.routing, words, rename, "Rename way to go"),)


def _choice(setup: Setup, stock: bool) -> tuple[Group, ...]:
    """What the new bars are called, where there are others to be held against."""
    if stock or not setup.other_bars:
        return ()

    def rename(_key: str, value: Any) -> Setup:
        return edits.rename_bars(setup, setup.new.title, value)

    return (Group("Among all bars", (renaming(setup.new.title, rename),), "bar"),)


def _cable_group(setup: Setup, line: Line) -> tuple[Group, ...]:
    """The inside of a cable whose wire slides."""
    if not slides(line.kind):
        return ()
    now = line.cable or Cable()

    def change(key: str, value: Any) -> Setup:
        changed = replace(now, **{key: value})
        return edits.change_line(setup, line.name, cable=None if changed == Cable() else changed)

    usual = dict.fromkeys(schema.CableTable.model_fields, "as its kind")
    fields = fields_of(schema.CableTable, now, change, form="cable", fallbacks=usual)
    return (Group("Inside the cable", fields),)


def solid_form(setup: Setup, name: str) -> tuple[Group, ...]:
    """One solid of the machine. Raises KeyError."""
    solid = find(setup.machine.solids, name)

    def own(key: str, value: Any) -> Setup:
        field = "body" if key == "on" else key
        return edits.change_solid(setup, name, **{field: value})

    def rename(_key: str, value: Any) -> Setup:
        return edits.rename_solid(setup, name, value)

    def shape(key: str, value: Any) -> Setup:
        return edits.change_shape(setup, name, **{key: value})

    values = {"role": solid.role, "on": solid.body, "measured": solid.measured}
    fields = fields_of(schema.SolidTable, values, own, form="solid", keys=tuple(values))
    tables: dict[type, tuple[str, type[schema.Table], tuple[str, ...]]] = {
        Capsule: ("Round bar", schema.CapsuleTable, ()),
        Ellipsoid: ("Ellipsoid", schema.EllipsoidTable, ()),
        Box: ("Box", schema.BoxTable, ()),
    }
    heading, table, keys = tables.get(
        type(solid.shape), ("Mesh", schema.MeshTable, ("position", "pitch", "yaw"))
    )
    return (
        Group("Solid", (renaming(name, rename), *fields), "solid"),
        Group(
            heading,
            spread_out(fields_of(table, solid.shape, shape, form="shape", keys=keys)),
            "shape",
        ),
    )


def sureness_form(setup: Setup) -> tuple[Group, ...]:
    """How far what was measured may be off."""

    def change(key: str, value: Any) -> Setup:
        given = getattr(Uncertainty(), key) if value is None else value
        return replace(setup, uncertainty=replace(setup.uncertainty, **{key: given}))

    table = schema.UncertaintyTable
    fields = fields_of(table, setup.uncertainty, change, form="uncertainty")
    return (Group("How far off it may be (one standard deviation)", fields),)


def rider_form(setup: Setup) -> tuple[Group, ...]:
    """Who sits on the machine, and what the place allows where it is ridden."""

    def person(key: str, value: Any) -> Setup:
        return replace(setup, rider=replace(setup.rider, **{key: value}))

    def place(key: str, value: Any) -> Setup:
        return replace(setup, place_limits=replace(setup.place_limits, **{key: value}))

    words = dict.fromkeys(schema.RiderTable.model_fields, "as the build")
    words |= {"seat": "estimated from the seat", "slump": "as usual"}
    free = dict.fromkeys(schema.PlaceLimitsTable.model_fields, "not judged")
    rider = fields_of(schema.RiderTable, setup.rider, person, form="rider", fallbacks=words)
    short = {one.value: re.sub(r"(\d+)th percentile", r"P\1", one.value) for one in Build}
    rider = tuple(replace(one, shown=short) if one.key == "build" else one for one in rider)
    limits = fields_of(
        schema.PlaceLimitsTable, setup.place_limits, place, form="place_limits", fallbacks=free
    )
    return (
        Group("Rider", spread_out(rider), "rider"),
        Group("What the place allows (check local law)", limits, "place_limits"),
    )


def _changed_line(setup: Setup, line: Line, key: str, value: Any) -> Setup:
    if key == "kind":
        kinds = line_kinds()
        if value not in kinds:
            raise ValueError(f"{value!r} is not a known kind of line")
        gone = _lost(line, value)
        return edits.change_line(setup, line.name, kind=value, **dict.fromkeys(gone, None))
    if key == "diameter" and value is None:
        value = line_kinds()[line.kind].outside_diameter
    return edits.change_line(setup, line.name, **{key: value})


def _lost(line: Line, kind: str) -> list[str]:
    """What is inside a line and cannot be inside one of that kind."""
    family = line_kinds()[kind].family
    keeps = {
        "cable": slides(kind),
        "hose": family == "hose",
        "wires": family in ("harness", "lead"),
    }
    return [key for key, may in keeps.items() if not may and getattr(line, key) is not None]


def _fallbacks(kind: LineKind, unit: str) -> dict[str, str]:
    """What counts where a line says nothing of its own."""
    return {
        "diameter": f"{format_length(kind.outside_diameter, unit)}, as its kind",
        "min_radius": f"{format_length(kind.min_radius, unit)}, as its kind",
        "bending_stiffness": f"{kind.bending_stiffness:g}, as its kind",
        "twisting_stiffness": f"{kind.twisting_ratio:g} × bending, as its kind",
        "weight": "as its kind",
        "swivels": f"{'yes' if kind.swivels else 'no'}, as its kind",
        "measured": "as the setup says of lengths",
    }
