"""The bars, and what no set of lines covers: washers, fluid, ties, clips, grommets, grips."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from barfit.analysis import Verdict
from barfit.catalogue import line_kinds
from barfit.model import (
    Bar,
    BarPlace,
    BarSet,
    ClipOn,
    ControlKind,
    Fluid,
    Hold,
    Line,
    Setup,
)
from barfit.remedies import Change, Means, Remedy
from barfit.trade.circuit_figures import refill
from barfit.trade.circuits import Circuit, End, Joint, circuits
from barfit.workshop import sizes
from barfit.workshop.line_items import Replacement
from barfit.workshop.orders import Group, LookUp, OrderItem, Why
from barfit.workshop.terminals import terminal_items

TALL = 200.0  # mm of rise from which bars are priced as tall: estimate
_BASES = {"glycol": "fluid_glycol", "silicone": "fluid_silicone", "mineral oil": "fluid_mineral"}
_WIRES = ("harness", "lead")

Taken = Mapping[str, Remedy | None]


def bar_items(stock: BarSet, new: BarSet) -> list[OrderItem]:
    """The new bar and risers, as far as they are other ones."""
    found = []
    bar = new.bar
    if swapped(stock, new):
        if isinstance(bar, ClipOn):
            item = "clip_ons"
        elif bar.holes:
            item = "drilled_bar"
        else:
            item = "tall_bar" if bar.rise >= TALL else "bar"
        fits_known = isinstance(bar, ClipOn) or new.riser.bore is not None
        found.append(_item(f"bar: {bar.name}", item, Why.NEW_BARS, bar.name, Group.BARS))
        if not fits_known:
            found[-1] = replace(found[-1], look_up=(LookUp.CLAMP,))
    if isinstance(bar, Bar) and new.riser != stock.riser:
        riser = new.riser
        one = _item(f"risers: {riser.name}", "riser", Why.NEW_BARS, riser.name, Group.BARS)
        found.append(one if riser.bore else replace(one, look_up=(LookUp.CLAMP,)))
    return found


def swapped(stock: BarSet, new: BarSet) -> bool:
    """Whether the bar itself is another one, and not the same one rolled in its clamps."""
    return replace(stock.bar, roll=0.0) != replace(new.bar, roll=0.0)


def accessory_items(
    setup: Setup, taken: Taken, replaced: tuple[Replacement, ...]
) -> list[OrderItem]:
    """Everything that goes with the work, without its price."""
    return [
        *_hydraulic(setup, taken, replaced),
        *terminal_items(setup, taken, replaced, _inside(setup, taken)),
        *_held(setup, taken, replaced),
        *_guards(taken),
        *_grommets(setup, taken),
        *_grips(setup),
    ]


def _item(
    key: str, item: str, why: Why, detail: str = "", group: Group = Group.ACCESSORIES
) -> OrderItem:
    return OrderItem(key=key, group=group, item=item, what="", why=why, detail=detail)


# --- hydraulics ----------------------------------------------------------------------------------


def opened(circuit: Circuit, taken: Taken, replaced: tuple[Replacement, ...]) -> tuple[Joint, ...]:
    """The joints of a circuit that are opened: of hoses replaced, of eyes turned about their bolt.
    A control that is turned on the bar takes its joint along.
    """
    whole = {one.line.name for one in replaced}
    ends = {end for joint in circuit.opened(whole) for end in joint.ends}
    for remedy in taken.values():
        if remedy is not None and remedy.change is Change.EYE and circuit.has(remedy.line):
            own = [end for end in circuit.ends if end.line == remedy.line]
            there = [end for end in own if _at(end, remedy)]
            ends |= set(there or own)  # nobody says which: both
    return tuple(joint for joint in circuit.joints if any(end in ends for end in joint.ends))


def _at(end: End, remedy: Remedy) -> bool:
    station = remedy.setup.line(remedy.line).stations[-1 if end.last else 0]
    return remedy.at in (end.part, station.name)


def _hydraulic(setup: Setup, taken: Taken, replaced: tuple[Replacement, ...]) -> list[OrderItem]:
    """Washers for every joint that is opened, and fluid for every circuit."""
    lengths = {one.line.name: one.length for one in replaced}
    found: list[OrderItem] = []
    fluids: dict[str, _Fill] = {}
    for circuit in circuits(setup):
        joints = opened(circuit, taken, replaced)
        if not joints:
            continue
        lines = tuple(dict.fromkeys(end.line for joint in joints for end in joint.ends))
        count = sum(joint.washers for joint in joints)
        if count:
            one = _item(f"washers, {circuit.name}: {count}", "washer", Why.OPENED, circuit.name)
            look_up = (LookUp.WASHERS,)
            found.append(replace(one, quantity=float(count), lines=lines, look_up=look_up))
        kind = _fluid(circuit)
        name = str(kind) if kind else circuit.name
        before = fluids.get(name, _Fill(kind, 0.0, ()))
        volume = before.volume + refill(circuit, lengths)
        fluids[name] = _Fill(kind, volume, (*before.lines, *lines))
    return found + [_bottles(name, fill) for name, fill in fluids.items()]


@dataclass(frozen=True)
class _Fill:
    """What circuits of one ``kind`` of fluid (None: not known) hold, mm³, and their lines."""

    kind: Fluid | None
    volume: float
    lines: tuple[str, ...]


def _bottles(name: str, fill: _Fill) -> OrderItem:
    table = sizes.size_table()
    count = math.ceil(table.flush * fill.volume / table.bottle - 1e-9)
    return replace(
        _item(
            f"fluid, {name}: {count}",
            _BASES[fill.kind.base] if fill.kind else "fluid",
            Why.OPENED,
            name,
        ),
        quantity=float(count),
        lines=fill.lines,
        look_up=() if fill.kind else (LookUp.FLUID,),
    )


def _fluid(circuit: Circuit) -> Fluid | None:
    """The one kind of fluid that its hoses name; None where they name none, or do not agree."""
    kinds = {one.known.fluid for one in circuit.sections if one.known.fluid is not None}
    return kinds.pop() if len(kinds) == 1 else None


# --- what holds lines ----------------------------------------------------------------------------


def _held(setup: Setup, taken: Taken, replaced: tuple[Replacement, ...]) -> list[OrderItem]:
    """Ties for wires that come off and go on again; clips where nothing held a line before."""
    off_bar = swapped(setup.stock, setup.new)
    whole = {one.line.name for one in replaced}
    ties: dict[str, int] = {}
    clips: dict[str, int] = {}
    for line in setup.lines:
        remedy = taken.get(line.name)
        now = _now(line, remedy)
        had = {station.name for station in line.stations}
        held = [one for one in now.stations if one.hold is not Hold.FITTING]
        wires = line_kinds()[line.kind].family in _WIRES
        worked_on = line.name in whole or (remedy is not None and remedy.means in _WORK)
        off = off_bar or line.name in whole or (remedy is not None and remedy.change in _ELSEWHERE)
        if wires:
            inside = now.through_bar is not None and through(setup, now)
            count = sum(
                one.name not in had
                or (worked_on and one.hold is Hold.CLIP)
                or (off and isinstance(one.place, BarPlace))
                for one in held
                if not (inside and isinstance(one.place, BarPlace))
            )
            if count:
                ties[line.name] = count
        else:
            count = sum(one.name not in had for one in held)
            if count:
                clips[line.name] = count
    found = []
    for item, counts, why in (("tie", ties, Why.TIED), ("clip", clips, Why.NEW_PLACE)):
        if count := sum(counts.values()):
            one = _item(f"{item}s: {count}", item, why)
            found.append(replace(one, quantity=float(count), lines=tuple(counts)))
    return found


def _guards(taken: Taken) -> list[OrderItem]:
    """Sleeve for lines that reach and rub: a piece for each."""
    rub = [one.line for one in taken.values() if one is not None and one.verdict is Verdict.RUBS]
    if not rub:
        return []
    metres = len(rub) * sizes.size_table().wire_step
    one = _item(f"sleeve against rubbing: {metres:g} m", "guard", Why.RUBS)
    return [replace(one, quantity=metres, lines=tuple(rub))]


_ELSEWHERE = (Change.OTHER_SIDE, Change.OTHER_WAY)
_WORK = (Means.REROUTE, Means.MOVE_CLIP, Means.EXTENSION, Means.SPLICE)


def _now(line: Line, remedy: Remedy | None) -> Line:
    """The line as it will go."""
    return line if remedy is None else remedy.setup.line(line.name)


# --- inside the bar, and on its ends -------------------------------------------------------------


def through(setup: Setup, line: Line) -> bool:
    """Whether a line goes through the new bar: the bar has both holes that it names."""
    holes = {hole.name for hole in setup.new.bar.holes}
    way = line.through_bar
    return way is not None and {way.entry, way.exit} <= holes


def _inside(setup: Setup, taken: Taken) -> dict[str, bool]:
    """Of every line whether it is pulled through the bar in this job."""
    anew = swapped(setup.stock, setup.new)
    found = {}
    for line in setup.lines:
        remedy = taken.get(line.name)
        now = through(setup if remedy is None else remedy.setup, _now(line, remedy))
        found[line.name] = now and (anew or not through(setup, line))
    return found


def _grommets(setup: Setup, taken: Taken) -> list[OrderItem]:
    holes: dict[str, None] = {}
    lines = []
    for line in setup.lines:
        remedy = taken.get(line.name)
        whole = setup if remedy is None else remedy.setup
        now = _now(line, remedy)
        if now.through_bar is not None and through(whole, now):
            holes |= dict.fromkeys((now.through_bar.entry, now.through_bar.exit))
            lines.append(line.name)
    if not holes:
        return []
    one = _item(f"grommets: {len(holes)}", "grommet", Why.HOLES)
    return [replace(one, quantity=float(len(holes)), lines=tuple(lines))]


def _grips(setup: Setup) -> list[OrderItem]:
    """Fresh grips where the old ones come off; heated ones are moved over instead."""
    heated = any(one.kind is ControlKind.GRIP_HEATER for one in setup.controls)
    if heated or not swapped(setup.stock, setup.new):
        return []
    return [_item("grips", "grips", Why.GRIPS_OFF)]
