"""Harnesses and leads: what they lack, what longer wires do, and how they flex."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from barfit.analysis import LineFinding, LineSweep, Sweep
from barfit.catalogue import Gauge, limit, line_kinds, line_wires, wire_table
from barfit.model import Circuit, Line, Plug, Setup, Use, Wires
from barfit.trade.bundles import (
    bundle_diameter,
    fill,
    fill_limit,
    jams,
    passing_size,
    resistance,
    sleeve_size,
    voltage_drop,
)
from barfit.trade.flex import Flex, line_flex
from barfit.trade.judged import Grade, Judged, at_least, at_most, noted
from barfit.trade.lengthened import growths, lengthened
from barfit.trade.splices import (
    NoPlan,
    Rules,
    SplicePlan,
    Wire,
    flexing,
    sleeve_length,
    splice_plan,
)


@dataclass(frozen=True)
class CircuitDrop:
    """The voltage one circuit loses in the line, V, against what its use allows; before as stock.

    ``ways`` is 1 for a ground, which is itself the way back, else 2. ``added`` is what the
    extension alone takes; ``supply`` V what the machine has. ``cure`` is the thinnest gauge of the
    new wire with which the circuit keeps to its limit, None where none does or it does anyway.
    """

    circuit: Circuit
    drop: Judged
    added: float
    ways: int
    supply: float
    cure: str | None = None

    @property
    def share(self) -> float:
        """What it loses as a share of the supply."""
        return self.drop.value / self.supply


@dataclass(frozen=True)
class FlexFigures:
    """How a line's wires flex in a turn from lock to lock, at its worst place.

    ``strand`` is the strain range where the strands of each wire slide on one another, the least it
    can be; ``wire`` where they do not; ``bundle`` where the wires do not slide either, the most.
    ``at`` mm from the first fitting, ``between`` which stations; ``change`` of curvature, 1/mm.
    """

    change: float
    at: float
    between: tuple[str, str]
    strand: Judged
    wire: float
    bundle: float


@dataclass(frozen=True)
class SleeveFigures:
    """The sleeve round all wires: its ``inside`` diameter, the next ``size`` up that suits (nan: no
    size does), and how full it is. ``inside`` is the ``size`` where the file names no sleeve.
    """

    inside: float
    size: float
    full: Judged
    jams: bool
    wires: int


@dataclass(frozen=True)
class PlugFigures:
    """A plug that has to pass a hole: it as a whole, and its wires with the terminals taken out."""

    connector: Plug
    whole: Judged
    bare: float


@dataclass(frozen=True)
class WireFigures:
    """One harness or lead. Lengths mm.

    ``inside`` is what it is made of, ``assumed`` where that is what its kind usually holds.
    ``extension`` is what it lacks to the slack to aim for, 0 where it needs no more than it has.
    ``plug_in`` is the shortest extension sold that is long enough and not known to be too long, nan
    for none; ``unproven`` how long the line is with it where its longest length is not known, else
    nan. ``hidden`` is how much of it lies inside the bar, where no joint may be. ``sensor``: a
    splice is the last resort, and having to grow is a caution. What hangs on the wires is None, or
    nan, where they are not known; ``bundle`` is held against the line's own diameter.
    """

    line: str
    inside: Wires | None
    assumed: bool
    wires: int
    extension: Judged
    plug_in: float
    unproven: float
    hidden: float
    sensor: bool
    drops: tuple[CircuitDrop, ...]
    bundle: Judged
    sleeve: SleeveFigures | None
    flex: FlexFigures
    plan: SplicePlan | None
    joint_strain: Judged | None
    joint_room: Judged | None
    joint_bundle: Judged | None
    all_joints: float
    plugs: tuple[PlugFigures, ...]

    @property
    def worst_drop(self) -> CircuitDrop | None:
        """The circuit nearest to its limit, or one that is not known; None without any."""
        known = [one for one in self.drops if math.isfinite(one.drop.value)]
        if not known:
            return self.drops[0] if self.drops else None
        return max(known, key=lambda one: one.drop.value / one.drop.limit)


def wires(swept: Sweep, stock: Sweep, findings: tuple[LineFinding, ...]) -> tuple[WireFigures, ...]:
    """The figures of every harness and lead, in the lines' order.

    How a line flexes, and where joints may be, is looked at on the line as long as it will be: it
    is turned from lock to lock again where it is too short. ``stock`` as in `cables`.
    """
    kinds = line_kinds()
    mine = [line for line in swept.setup.lines if kinds[line.kind].family in ("harness", "lead")]
    found = {finding.line: finding for finding in findings}
    by = {line.name: growths(found[line.name], line) for line in mine}
    longer = lengthened(swept, by)
    figures = []
    for line in mine:
        there = longer if longer and sum(by[line.name]) > 0.0 else swept
        figures.append(_figures(line, found[line.name], sum(by[line.name]), there, stock))
    return tuple(figures)


def _figures(
    line: Line, finding: LineFinding, extension: float, swept: Sweep, stock: Sweep
) -> WireFigures:
    setup, inside = swept.setup, line_wires(line)
    here = swept.line(line.name)
    flex = line_flex(swept, here)
    before = line_flex(stock, stock.line(line.name))
    gauges = tuple(_gauges(inside)) if inside else ()
    known = bool(gauges) and all(gauge is not None for _, gauge in gauges)
    sizes = tuple(gauge for _, gauge in gauges if gauge is not None) if known else ()
    outsides = [gauge.outside for gauge in sizes]
    bundle = bundle_diameter(outsides) if known else math.nan
    plan = joints = room = thicker = None
    every = math.nan
    if known and extension > 0.0:
        plan = _plan(line, gauges, here, flex, extension, setup)
        assert plan is not None
        joints, room = _judged_joints(plan, sizes, setup)
        if plan.splices:
            thicker, every = _thick(plan, sizes, bundle)
    plug_in = _plug_in(finding, line, extension)
    led = here.spans[0].case.layout.inside
    sensor = line.kind == "ride_by_wire_lead" or bool(
        inside and any(one.use is Use.SENSOR for one in inside.circuits)
    )
    return WireFigures(
        line=line.name,
        inside=inside,
        assumed=inside is not None and line.wires is None,
        wires=len(gauges),
        extension=Judged(extension, Grade.CAUTION)
        if sensor and extension > 0.0
        else noted(extension),
        plug_in=plug_in,
        unproven=math.nan if _longest_known(finding) else line.length + plug_in,
        hidden=led.length if led else 0.0,
        sensor=sensor,
        drops=tuple(_drops(inside, line.length, extension, setup)) if inside else (),
        bundle=at_most(bundle, line.diameter),
        sleeve=_sleeve(inside, outsides, thicker, setup) if inside and known else None,
        flex=_flex_figures(flex, before, here, sizes, bundle, setup),
        plan=plan,
        joint_strain=joints,
        joint_room=room,
        joint_bundle=thicker,
        all_joints=every,
        plugs=tuple(_plugs(inside, outsides)) if inside else (),
    )


def _gauges(inside: Wires) -> Iterator[tuple[str, Gauge | None]]:
    """Every single wire: its name and its gauge, None where that is not known."""
    table = wire_table().gauges
    for circuit in inside.circuits:
        for number in range(circuit.count):
            name = f"{circuit.name} {number + 1}" if circuit.count > 1 else circuit.name
            yield name, table[circuit.gauge] if circuit.gauge else None


def _drops(inside: Wires, length: float, extension: float, setup: Setup) -> Iterator[CircuitDrop]:
    warm = limit(setup, "wire_temperature")
    for circuit in inside.circuits:
        most = limit(setup, drop_limit(circuit.use))
        ways = 1 if circuit.use is Use.GROUND else 2
        if circuit.gauge is None or circuit.current is None:
            yield CircuitDrop(circuit, at_most(math.nan, most), math.nan, ways, inside.supply)
            continue
        per_length = resistance(wire_table().gauges[circuit.gauge], warm)
        before, added = (
            voltage_drop(circuit.current, run, per_length, ways) for run in (length, extension)
        )
        drop = at_most(before + added, most, stock=before)
        cure = None
        if drop.grade is Grade.CAUTION and added > 0.0:
            room = (most - before) / (ways * extension * circuit.current)
            cure = _thinnest(circuit.gauge, room, warm)
        yield CircuitDrop(circuit, drop, added, ways, inside.supply, cure)


def _thinnest(like: str, most: float, warm: float) -> str | None:
    """The thinnest gauge, named in the same way, of no more than so many Ω/mm; None for none."""
    gauges = wire_table().gauges.values()
    same = [one for one in gauges if ("AWG" in one.name) == ("AWG" in like)]
    fit = [one for one in same if resistance(one, warm) <= most]
    return min(fit, key=lambda one: one.area).name if fit else None


def drop_limit(use: Use) -> str:
    """The key of the limit of the voltage a circuit of that use may lose."""
    return f"voltage_drop_{use.value.replace(' ', '_')}"


def _sleeve(
    inside: Wires, outsides: list[float], thicker: Judged | None, setup: Setup
) -> SleeveFigures:
    table = wire_table()
    most = limit(setup, fill_limit(len(outsides)))
    thickest = thicker.value if thicker else 0.0
    size = sleeve_size(outsides, most, table.sleeves, table.jam, thickest)
    given = inside.sleeve if inside.sleeve is not None else size
    full = fill(outsides, given) if math.isfinite(given) else math.nan
    return SleeveFigures(
        inside=given,
        size=size,
        full=at_most(full, most),
        jams=jams(outsides, given, table.jam),
        wires=len(outsides),
    )


def _flex_figures(
    flex: Flex,
    before: Flex,
    line: LineSweep,
    sizes: tuple[Gauge, ...],
    bundle: float,
    setup: Setup,
) -> FlexFigures:
    worst = int(np.argmax(flex.change)) if flex.known else 0
    change = float(flex.change[worst]) if flex.known else math.nan
    was = float(before.change.max()) if before.known else math.nan
    strand = 0.5 * max((size.strand for size in sizes), default=math.nan)
    wire = 0.5 * max((size.conductor for size in sizes), default=math.nan)
    return FlexFigures(
        change=change,
        at=float(flex.arc[worst]),
        between=_between(line, float(flex.arc[worst])),
        strand=at_most(strand * change, limit(setup, "strand_strain"), stock=strand * was),
        wire=wire * change,
        bundle=0.5 * bundle * change,
    )


def plan_joints(swept: Sweep, line: Line, extension: float) -> SplicePlan | None:
    """Where joints go in a line that is swept with ``extension`` (mm, more than 0) spliced in; None
    where its wires or their gauges are not known.
    """
    inside = line_wires(line)
    here = swept.line(line.name)
    gauges = tuple(_gauges(inside)) if inside else ()
    return _plan(line, gauges, here, line_flex(swept, here), extension, swept.setup)


def calm_at(swept: Sweep, line: Line, at: float, half: float) -> bool | None:
    """Whether a line may have a joint or plug ``half`` mm long to either side of ``at``, mm from
    its first fitting: nowhere near a place that flexes as the steering turns, and outside the bar.
    None where its wires, or how they flex, are not known.
    """
    inside = line_wires(line)
    here = swept.line(line.name)
    gauges = [gauge for _, gauge in _gauges(inside)] if inside else []
    flex = line_flex(swept, here)
    if not gauges or None in gauges or not flex.known:
        return None
    rules = _rules(max(gauge.conductor for gauge in gauges if gauge), swept.setup)
    hidden = here.spans[0].case.layout.inside
    keep = half + rules.clear
    return (hidden is None or at - half > hidden.length) and not any(
        begin - keep < at < end + keep for begin, end in flexing(flex.arc, flex.change, rules.calm)
    )


def _rules(thickest: float, setup: Setup) -> Rules:
    """What a place for a joint has to keep in a line with conductors so thick, mm, at most."""
    return Rules(
        calm=limit(setup, "splice_strain") / (0.5 * thickest),
        clear=limit(setup, "splice_clear"),
        stagger=limit(setup, "splice_stagger"),
    )


def _plan(
    line: Line,
    gauges: tuple[tuple[str, Gauge | None], ...],
    here: LineSweep,
    flex: Flex,
    extension: float,
    setup: Setup,
) -> SplicePlan | None:
    if not gauges or any(gauge is None for _, gauge in gauges):
        return None
    table = wire_table()
    each = [
        Wire(
            name,
            gauge.name,
            sleeve_length(gauge.outside, table.barrel, table.overlap, table.overlap_diameters),
        )
        for name, gauge in gauges
        if gauge is not None
    ]
    rules = _rules(max(gauge.conductor for _, gauge in gauges if gauge is not None), setup)
    return splice_plan(line.name, each, flex.arc, flex.change, _held(here), extension, rules)


def _held(line: LineSweep) -> list[tuple[str, float, float]]:
    """Every station of a line and the stretch along it that it holds in the course of a turn, the
    rigid ends of fittings and clips with them. What lies inside the bar counts as held by the
    control it leaves: a joint there cannot be looked at, and does not pass the holes.
    """
    places = line.spans[0].case.layout
    low, high = (reduce(line.stations_at, axis=(0, 1)) for reduce in (np.nanmin, np.nanmax))
    low, high = low.copy(), high.copy()
    high[0] = line.spans[0].case.start_at
    for span in line.spans:
        first, last = span.case.first, span.case.last
        high[first] = max(high[first], span.case.start_at)
        low[last] = min(low[last], span.case.end_at)
    return list(zip(places.names, map(float, low), map(float, high), strict=True))


def _between(line: LineSweep, at: float) -> tuple[str, str]:
    """The stations on either side of a place along a line, straight ahead."""
    names = line.spans[0].case.layout.names
    middle = line.stations_at[0, line.stations_at.shape[1] // 2]
    after = int(np.clip(np.searchsorted(middle, at), 1, len(names) - 1))
    return names[after - 1], names[after]


def _judged_joints(
    plan: SplicePlan, sizes: tuple[Gauge, ...], setup: Setup
) -> tuple[Judged | None, Judged | None]:
    """The strain beside the worst joint; or how many joints there is room for where not enough."""
    if not plan.splices:
        room = math.nan if plan.why is NoPlan.NOT_KNOWN else float(plan.room)
        return None, at_least(room, 2.0 * len(sizes))
    strain = max(
        0.5 * size.conductor * max(splice.first.flex, splice.second.flex)
        for size, splice in zip(sizes, plan.splices, strict=True)
    )
    return at_most(strain, limit(setup, "splice_strain")), None


def _thick(plan: SplicePlan, sizes: tuple[Gauge, ...], bundle: float) -> tuple[Judged, float]:
    """How thick the bundle is at its thickest place with joints, and were they all in one.

    A joint is two conductors side by side under its sleeve.
    """
    wall = wire_table().wall
    over = [2.0 * size.conductor + 2.0 * wall for size in sizes]
    plain = [size.outside for size in sizes]
    staggered = 0.0
    for start in range(0, len(sizes), plan.together):
        stop = start + plan.together
        here = [*plain[:start], *over[start:stop], *plain[stop:]]
        staggered = max(staggered, bundle_diameter(here))
    return noted(staggered, stock=bundle), bundle_diameter(over)


def _longest_known(finding: LineFinding) -> bool:
    """Whether it is known how long a line may be; inf where nothing limits it."""
    return finding.window is not None and not math.isnan(finding.window.longest)


def _plug_in(finding: LineFinding, line: Line, extension: float) -> float:
    """The shortest extension sold that a line which lacks some can take, nan for none; the shortest
    that is long enough where its longest length is not known.
    """
    if not extension > 0.0:
        return math.nan
    most = math.inf
    if finding.window is not None and _longest_known(finding):
        most = finding.window.longest - line.length
    least = min(extension, -finding.margin) if finding.clipped is None else extension
    return next((one for one in wire_table().plug_in if least <= one <= most), math.nan)


def _plugs(inside: Wires, outsides: list[float]) -> Iterator[PlugFigures]:
    """Each plug that has to pass a hole; without its housing one terminal after the other goes
    through, the last one beside all other wires.
    """
    for plug in inside.connectors:
        if plug.hole is None:
            continue
        size = passing_size(plug.width, plug.height, plug.diameter)
        bare = math.nan
        if outsides:
            terminal = wire_table().terminal
            bare = max(bundle_diameter([*sorted(outsides)[1:], terminal]), terminal)
        yield PlugFigures(plug, at_most(size, plug.hole), bare)
