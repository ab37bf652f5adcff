"""The work, task by task, from what is done about each line.

Shared strip-down is there once, whoever needs it; who that is stands in its reasons.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from barfit.catalogue import line_kinds
from barfit.model import ControlKind, Fuelling, Hold, Plug, Role, Setup
from barfit.remedies import Change, Means, Remedy
from barfit.trade import Hydraulics
from barfit.trade.access import behind, under_tank
from barfit.trade.circuits import anti_lock_units, circuits
from barfit.workshop.accessories import opened, swapped
from barfit.workshop.high_spots import HighSpot, high_spots
from barfit.workshop.line_items import Replacement, replacements, stuck_plugs
from barfit.workshop.money import Labour
from barfit.workshop.orders import OrderItem
from barfit.workshop.task_table import Hours, said, task_table
from barfit.workshop.traits import traits
from barfit.workshop.works import Because, Reason, Taken, Work, works

MEASURE = "measure"  # the rows of tasks that are not done on the days of the work itself
RECHECK = "recheck"


@dataclass(frozen=True)
class Task:
    """One task. ``key`` is its own and the same from one run to the next, ``row`` its row in the
    table of tasks; ``about`` is the line or circuit of a task that is there once for each, "" else.

    ``lines`` are those it is for, none where it is for all; ``after`` the tasks before it, by key.
    ``gate``: nothing that comes after is begun before it is passed. ``competent``: for a competent
    person only. ``manual`` is what the service manual has to say first. ``opened`` are the parts
    at which joints of a circuit to be filled were opened, ``high_spots`` where air stays in its
    hoses. ``remedies`` are those that are done in it, where its title does not say how, ``things``
    what is measured in it, ``stuck`` the plugs that do not pass the hole that they have to.
    """

    key: str
    row: str
    label: str
    text: str
    hours: Hours
    about: str = ""
    lines: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()
    after: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    materials: tuple[str, ...] = ()
    manual: str = ""
    gate: bool = False
    competent: bool = False
    opened: tuple[str, ...] = ()
    high_spots: tuple[HighSpot, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    things: tuple[str, ...] = ()
    stuck: tuple[Plug, ...] = ()


@dataclass(frozen=True)
class LineHours:
    """What of the hours each line adds: what would fall away without work on it.

    ``shared`` is the rest: what the bars themselves take, and strip-down for several lines.
    """

    shared: Hours
    by_line: tuple[tuple[str, Hours], ...]

    def adds(self, line: str) -> Hours:
        """What a line adds."""
        return dict(self.by_line).get(line, Hours())


def tasks(
    setup: Setup,
    taken: Taken,
    figures: Hydraulics | None = None,
    items: Iterable[OrderItem] = (),
) -> tuple[Task, ...]:
    """Every task, each after those before it. ``taken`` is what is done about each line that needs
    something (see `barfit.workshop.orders.taken`); ``figures`` say where air stays in hoses; of the
    ``items`` of the order those not surely long enough are measured for before they are ordered.

    Where a line needs a lower bar there is none: it is not known which bar that will be, and with
    it every line has to be looked at again.
    """
    if any(one is not None and one.means is Means.LOWER_BAR for one in taken.values()):
        return ()
    replaced = replacements(setup, taken)
    done = [*works(setup, taken, replaced)]
    found = [
        *_measuring(setup, items),
        _task("baseline"),
        _task("stand"),
        *_strip_down(setup, done),
        *_bars(setup, done, taken),
        *(_of(one, taken.get(one.line.name)) for one in done),
        *_hydraulics(setup, taken, replaced, figures),
        _task("lock_to_lock"),
        *_afterwards(done),
        _task("torque"),
        _task("checks"),
        _task("road_test"),
        _task(RECHECK),
    ]
    found += _refit(found)
    return _told(_sorted(found), setup, freed=bool(done))


def _told(found: Sequence[Task], setup: Setup, freed: bool) -> tuple[Task, ...]:
    """The tasks with what is said of each, by what the machine has and what else is done; lines are
    ``freed`` at the bars, with the controls where these come off.
    """
    has = {*traits(setup), *(task.row for task in found)}
    free = task_table()["lines_free"]
    has |= {free.name} if freed else set()
    fuelling = _fuelling(setup)
    if "tank_off" in has and fuelling is not Fuelling.CARBURETTOR:
        has.add("tank_off_injection")  # or may be: nobody said

    def told(task: Task) -> Task:
        row = task_table()[task.row]
        if task.row == "tank_off" and fuelling:
            row = task_table()[f"tank_off_{fuelling}"]
        text, manual = row.text, row.manual
        if freed and task.row == "controls_off":
            text, manual = (*text, *free.text), (*manual, *free.manual)
        return replace(task, text=" ".join(said(text, has)), manual="; ".join(said(manual, has)))

    return tuple(map(told, found))


def labour(found: Iterable[Task]) -> tuple[Labour, ...]:
    """The hours of every task, as a bill is made of them."""
    return tuple(Labour(task.key, task.hours.home, task.hours.shop) for task in found)


def line_hours(found: Iterable[Task]) -> LineHours:
    """What of the hours each line adds."""
    shared = Hours()
    by_line: dict[str, Hours] = {}
    for task in found:
        if len(task.lines) == 1:
            line = task.lines[0]
            by_line[line] = by_line.get(line, Hours()) + task.hours
        else:
            shared += task.hours
    return LineHours(shared, tuple(by_line.items()))


# --- tasks ---------------------------------------------------------------------------------------


def _task(row: str, about: str = "", reasons: Iterable[Reason] = (), wires: int = 0) -> Task:
    """A task of a row, about one line or circuit or about the whole machine."""
    told = task_table()[row]
    why = tuple({one.name: one for one in reasons}.values())  # of a line that is what is done last
    return Task(
        key=f"{row}: {about}" if about else row,
        row=row,
        label=told.label.format(about=about),
        text="",  # said when all tasks are known
        hours=told.hours + told.each.times(wires),
        about=about,
        lines=tuple(dict.fromkeys(one.name for one in why if one.name)),
        reasons=why,
        tools=told.tools,
        materials=told.materials,
        gate=told.gate,
        competent=told.competent,
    )


def _of(work: Work, remedy: Remedy | None) -> Task:
    """The task of what is done about one line."""
    one = _task(work.row, work.line.name, [work.reason], work.wires)
    if work.row in ("extend_harness", "extend_lead"):
        one = replace(one, stuck=stuck_plugs(work.line))
    told = remedy is not None and work.row in ("reroute", "turn_fitting")
    return replace(one, remedies=(remedy,)) if told and remedy else one


def _measuring(setup: Setup, items: Iterable[OrderItem]) -> Iterable[Task]:
    """What is measured before what is not surely long enough is ordered; none for what is here."""
    unsure = [one for one in items if one.unsure and one.key not in setup.job.here]
    if unsure:
        why = [Reason(Because.UNSURE, name) for one in unsure for name in one.lines]
        things = dict.fromkeys(thing for one in unsure for thing in one.measure)
        yield replace(_task(MEASURE, reasons=why), things=tuple(things))


def _strip_down(setup: Setup, works: Sequence[Work]) -> Iterable[Task]:
    """What has to come off so that the lines can be reached, each once."""
    tank = [one.reason for one in works if _needs_tank_off(setup, one)]
    if tank:
        one = _task("tank_off", reasons=tank)
        if kind := _fuelling(setup):
            told = task_table()[f"tank_off_{kind}"]
            one = replace(
                one,
                label=told.label,
                hours=told.hours,
                tools=told.tools,
            )
        yield one
    for row, role in (("lamp_off", Role.HEADLAMP), ("fairing_off", Role.FAIRING)):
        if near := [one.reason for one in works if _is_behind(setup, one, role)]:
            yield _task(row, reasons=near)
    covered = [
        one.reason
        for one in works
        if one.row in ("throttle_cable", "choke_cable", "modulator_hose")
    ]
    if covered:
        yield _task("covers_off", reasons=covered)


def _fuelling(setup: Setup) -> Fuelling | None:
    """How the engine gets its fuel; by injection where the throttle is by wire."""
    by_wire = any(control.kind is ControlKind.GRIP_SENSOR for control in setup.controls)
    return setup.machine.fuelling or (Fuelling.INJECTION if by_wire else None)


def _needs_tank_off(setup: Setup, work: Work) -> bool:
    if work.row in ("throttle_cable", "choke_cable"):
        return True
    return any(under_tank(setup, station) for station in work.stations)


def _is_behind(setup: Setup, work: Work, role: Role) -> bool:
    """Fittings in a headlamp; whatever holds the line behind a fairing."""
    held = (Hold.FITTING,) if role is Role.HEADLAMP else tuple(Hold)
    return any(one.hold in held and behind(setup, one, role) for one in work.stations)


def _bars(setup: Setup, works: Sequence[Work], taken: Taken) -> Iterable[Task]:
    """The bars themselves with all that is set on them, and holes in them; before they are turned
    the lines that are worked on, which may be too short for them, come off at the bars.
    """
    bars = Reason(Because.BARS)
    if swapped(setup.stock, setup.new):
        yield _task("controls_off", reasons=[bars])
    elif works:
        yield _task("lines_free", reasons=[one.reason for one in works])
    why = [bars] if setup.stock != setup.new else []
    done = [one for one in taken.values() if one and _by_setting(one)]
    why += [Reason(Because.SET, one.line) for one in done]
    fit = _task("bar_fit", reasons=why)
    yield replace(fit, lines=(), remedies=tuple(done))  # all lines wait for it
    if inside := [one.reason for one in works if one.because is Because.THROUGH]:
        yield _task("bar_holes", reasons=inside)


def _hydraulics(
    setup: Setup,
    taken: Taken,
    replaced: tuple[Replacement, ...],
    figures: Hydraulics | None,
) -> Iterable[Task]:
    """Draining, filling and bleeding: only of circuits whose joints are opened."""
    whole = {one.line.name for one in replaced}
    for circuit in circuits(setup):
        joints = opened(circuit, taken, replaced)
        if not joints:
            continue
        ends = [end for joint in joints for end in joint.ends]
        done = [
            Reason(Because.REPLACED if name in whole else Because.TURNED, name)
            for name in dict.fromkeys(end.line for end in ends)
            if name in whole or _turned(taken.get(name))
        ]
        yield _task("drain", circuit.name, done)
        clutch = circuit.sections[0].line.kind == "clutch_hose"
        bled = _task("bleed_clutch" if clutch else "bleed_brake", circuit.name, done)
        yield replace(
            bled,
            opened=tuple(dict.fromkeys(end.part for end in ends)),
            high_spots=high_spots(figures, circuit),
        )
        units = anti_lock_units(setup, circuit)
        if not clutch and any(end.part in units for end in ends):
            yield _task("bleed_unit", circuit.name, done)


def _by_setting(remedy: Remedy) -> bool:
    """Whether it is done as bars and controls are set."""
    if remedy.means is Means.TURN_FITTING:
        return remedy.change is not Change.EYE
    return remedy.means in (Means.ROLL_BAR, Means.MOVE_CONTROL)


def _turned(remedy: Remedy | None) -> bool:
    return remedy is not None and remedy.change is Change.EYE


def _afterwards(works: Sequence[Work]) -> Iterable[Task]:
    """Adjusting cables and trying wires, those that were touched."""
    family = {one.line.name: line_kinds()[one.line.kind].family for one in works}
    cables = [one.reason for one in works if family[one.line.name] == "cable"]
    if cables:
        yield _task("adjust", reasons=cables)
    wires = [one.reason for one in works if family[one.line.name] in ("harness", "lead")]
    if wires:
        yield _task("electrics", reasons=wires)


def _refit(found: Sequence[Task]) -> Iterable[Task]:
    """What goes back on; its hours are those of what came off."""
    backs = [(task, task_table()[task.row].back) for task in found]
    off = [(task, back) for task, back in backs if back != Hours()]
    if off:
        one = _task("refit", reasons=[reason for task, _ in off for reason in task.reasons])
        yield replace(one, hours=sum((back for _, back in off), Hours()))


def _sorted(found: Sequence[Task]) -> tuple[Task, ...]:
    """The tasks in the order of the table, each with what comes before it."""
    rank = {row: at for at, row in enumerate(task_table())}
    known = sorted(found, key=lambda task: rank[task.row])
    return tuple(
        replace(
            task,
            after=tuple(
                other.key
                for other in known
                if other.row in task_table()[task.row].after and _meet(task, other)
            ),
        )
        for task in known
    )


def _meet(task: Task, other: Task) -> bool:
    """Whether two tasks are about the same lines; one that is about none is about all."""
    return not task.lines or not other.lines or bool({*task.lines} & {*other.lines})
