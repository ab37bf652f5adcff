"""Forms of what is inside a line or a control, and of the limits things are held against."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, TypeVar

from barfit import edits
from barfit.catalogue import Limit, line_kinds, wire_table
from barfit.catalogue import limits as limit_table
from barfit.forms.fields import Action, Field, Group, fields_of, spread_out
from barfit.model import Circuit, Connector, Control, Hose, Line, Master, Plug, Setup, Use, Wires
from barfit.scenario.hoses import MASTERS, HoseEndTable, HoseTable, MasterTable
from barfit.scenario.limits import limit_reader
from barfit.scenario.schema import Table
from barfit.scenario.wires import CircuitTable, ConnectorTable, WiresTable
from barfit.units import format_angle, format_length

_CM3 = 1000.0  # mm³; how a reservoir is told
_NEW_MASTER = Master(14.0, 6.0)  # a usual size for one disc; from memory
_TOPICS = {  # the first word of a limit's key: what it is listed under
    "cable": "Control cables",
    "hose": "Hydraulic hoses",
    "voltage": "Wires",
    "wire": "Wires",
    "fill": "Wires",
    "strand": "Wires",
    "splice": "Wires",
    "bore": "Through the bar",
    "hole": "Through the bar",
    "clamp_width": "Through the bar",
    "rider": "Rider",
}
_REST = "On the bar"
R = TypeVar("R", Circuit, Plug, Connector)


def hose_groups(setup: Setup, line: Line) -> tuple[Group, ...]:
    """What a hydraulic hose is made of and how its ends are fitted."""
    if line_kinds()[line.kind].family != "hose":
        return ()
    now = line.hose or Hose()

    def put(hose: Hose) -> Setup:
        return edits.change_line(setup, line.name, hose=None if hose == Hose() else hose)

    def own(key: str, value: Any) -> Setup:
        return put(replace(now, **{key: value}))

    words = {
        "circuit": "its own",
        "bore": "as its kind",
        "construction": "as its kind",
        "fluid": "not known",
        "clocking": "not known",
    }
    groups = [
        Group("Inside the hose", fields_of(HoseTable, now, own, form="hose", fallbacks=words))
    ]
    said = dict.fromkeys(HoseEndTable.model_fields, "not known") | {"part": "as the fitting"}
    for key, heading in (("start", "Its first end"), ("end", "Its last end")):
        end = now.start if key == "start" else now.end

        def ended(name: str, value: Any, key: str = key, end: Any = end) -> Setup:
            return own(key, replace(end, **{name: value}))

        fields = fields_of(HoseEndTable, end, ended, form="hose_end", fallbacks=said)
        groups.append(Group(heading, spread_out(fields)))
    return tuple(groups)


def wire_groups(setup: Setup, line: Line) -> tuple[Group, ...]:
    """The circuits and plugs of a harness or lead."""
    if line_kinds()[line.kind].family not in ("harness", "lead"):
        return ()

    def put(wires: Wires | None) -> Setup:
        return edits.change_line(setup, line.name, wires=wires)

    wires = line.wires
    if wires is None:
        first = Wires((Circuit("circuit 1", Use.SUPPLY),))
        begin = Action("List its wires", "Enter its circuits one by one", lambda: put(first))
        return (Group("Wires", (), actions=(begin,)),)

    def own(key: str, value: Any) -> Setup:
        return put(replace(wires, **{key: value}))

    circuits, plugs = wires.circuits, wires.connectors
    add_circuit = Action(
        "Add circuit",
        "One more circuit, to be filled in",
        lambda: own("circuits", (*circuits, Circuit(_fresh("circuit", circuits), Use.SUPPLY))),
    )
    add_plug = Action(
        "Add plug",
        "One more plug, to be filled in",
        lambda: own("connectors", (*plugs, Plug(_fresh("plug", plugs), diameter=15.0))),
    )
    words = {"sleeve": "not known"}
    fields = fields_of(WiresTable, wires, own, form="wires", fallbacks=words)
    return (
        Group("Wires", fields, actions=(add_circuit, add_plug)),
        *rows_of("Circuit", circuits, CircuitTable, lambda rows: own("circuits", rows), least=1),
        *rows_of("Plug", plugs, ConnectorTable, lambda rows: own("connectors", rows)),
    )


def rows_of(
    what: str,
    rows: tuple[R, ...],
    table: type[Table],
    put: Callable[[tuple[R, ...]], Setup],
    least: int = 0,
    form: str = "",
) -> tuple[Group, ...]:
    """A group to a row of a list, each of which can be deleted while more than ``least`` are.

    ``what`` a row is called, ``form`` the form whose words are used where that is another.
    """

    def group(at: int, row: R) -> Group:
        def change(key: str, value: Any) -> Setup:
            kept = list(rows)
            kept[at] = replace(row, **{key: value})
            return put(tuple(kept))

        def drop() -> Setup:
            return put(tuple(one for one in rows if one is not row))

        said = dict.fromkeys(table.model_fields, "not known") | {"hole": "none"}
        fields = fields_of(table, row, change, form=form or what.lower(), fallbacks=said)
        gauges = tuple(wire_table().gauges)
        fields = tuple(replace(one, words=gauges) if one.key == "gauge" else one for one in fields)
        delete = Action("Delete", f"Delete {row.name}", drop)
        actions = (delete,) if len(rows) > least else ()
        return Group(f"{what} {at + 1}", fields, actions=actions)

    return tuple(group(at, row) for at, row in enumerate(rows))


def _fresh(word: str, rows: tuple[R, ...]) -> str:
    return edits.fresh_name(f"{word} {len(rows) + 1}", [row.name for row in rows])


def master_groups(setup: Setup, control: Control) -> tuple[Group, ...]:
    """The master cylinder of a control that is one."""
    if control.kind not in MASTERS:
        return ()
    master = control.master

    def put(changed: Master | None) -> Setup:
        return edits.change_control(setup, control.name, master=changed)

    if master is None:
        begin = Action("Enter its sizes", "Bore and lever ratio", lambda: put(_NEW_MASTER))
        return (Group("Master cylinder", (), actions=(begin,)),)

    def change(key: str, value: Any) -> Setup:
        if key == "reservoir" and value is not None:
            value *= _CM3
        return put(replace(master, **{key: value}))

    held = None if master.reservoir is None else master.reservoir / _CM3
    values = {**vars(master), "reservoir": held}
    words = dict.fromkeys(MasterTable.model_fields, "not known")
    fields = fields_of(MasterTable, values, change, form="master", fallbacks=words)
    drop = Action("Not known", "Leave its sizes out", lambda: put(None))
    return (Group("Master cylinder", fields, actions=(drop,)),)


def limits_form(setup: Setup, unit: str) -> tuple[Group, ...]:
    """What figures are held against; what is left empty is as the table has it."""
    given = dict(setup.limits)

    def change(key: str, value: Any) -> Setup:
        changed = {**given, key: value}
        kept = tuple((name, one) for name, one in changed.items() if one is not None)
        return replace(setup, limits=kept)

    groups: dict[str, list[Field]] = {}
    for key, limit in limit_table().items():
        heading = _TOPICS.get(key) or _TOPICS.get(key.partition("_")[0], _REST)
        groups.setdefault(heading, []).append(
            Field(
                key,
                _limit_label(limit),
                f"Empty: {_usual(limit, unit)}. Source: {limit.source}.",
                given.get(key),
                limit_reader(limit),
                change,
                f"Change the limit of {limit.label}",
                optional=True,
                fallback=_usual(limit, unit),
            )
        )
    return tuple(Group(heading, tuple(fields)) for heading, fields in groups.items())


def _limit_label(limit: Limit) -> str:
    label = f"{limit.label[:1].upper()}{limit.label[1:]}"
    return label if limit.unit in ("mm", "deg", "number") else f"{label}, {limit.unit}"


def _usual(limit: Limit, unit: str) -> str:
    """The table's own value, in words."""
    if limit.unit == "mm":
        fine = None if unit == "in" or limit.value >= 10.0 else 1
        return format_length(limit.value, unit, decimals=fine)
    if limit.unit == "deg":
        return format_angle(limit.value)
    return f"{limit.value:g}{'' if limit.unit == 'number' else f' {limit.unit}'}"
