"""When the work can be done: parts on their way, one pair of hands, the days there is time.

Two plans: nothing starts before every part is here, or start now and go on as parts come. The first
is the one to follow; the second shows what it costs to be impatient.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from types import MappingProxyType

from barfit.model import Job, Range
from barfit.workshop.network import Network, network
from barfit.workshop.orders import Group, OrderItem
from barfit.workshop.task_table import Hours
from barfit.workshop.tasks import MEASURE, RECHECK, Task

RECHECK_AFTER = 7  # days after the first ride by which 50 to 100 km are ridden: estimate
_A_LITTLE = 1e-9
_LONGEST = 3660  # days that are looked ahead


@dataclass(frozen=True)
class Part:
    """One thing ordered: when it is ``here`` at the earliest and the latest (None: it is here).

    ``needs_it`` are the tasks that wait for it; ``spare`` how many days later than that it may come
    and the work would still end on time, nan for what is here.
    """

    item: OrderItem
    earliest: date | None
    latest: date | None
    needs_it: tuple[str, ...]
    spare: float = math.nan

    @property
    def here(self) -> bool:
        """Whether it is here."""
        return self.latest is None


@dataclass(frozen=True)
class WorkDay:
    """A day's work: the tasks by their keys, with the hours that each takes on that day."""

    day: date
    tasks: tuple[tuple[str, float], ...]

    @property
    def hours(self) -> float:
        """Hours in all."""
        return sum(hours for _, hours in self.tasks)


@dataclass(frozen=True)
class Standstill:
    """What starting at once costs: the machine is off the road so many ``days`` longer, waiting
    ``after`` one day of work and at the latest ``until`` another, in the end for these things.
    """

    days: int
    after: date
    until: date
    waiting_for: tuple[OrderItem, ...]


@dataclass(frozen=True)
class Schedule:
    """The plan of one job. Hours are those of whoever does it (`Job.by`).

    ``all_here`` is the first and the last day on which everything may be here, None where it is.
    ``measuring`` are the days on which something is measured before it is ordered, none where all
    lengths are sure. ``days`` are the days of work with nothing begun before everything is here;
    ``now`` those of starting at once and ``standstill`` what that costs, None where it costs
    nothing. ``hours`` are the least and the most, ``likely`` what is reckoned with, of one person
    on ``days``; ``all_hours`` and ``all_likely`` count measuring and the second look too. ``hands``
    is the network of the tasks alone with hands enough (hours), ``whole`` that with the parts' days
    on their way as tasks (in days, one of work being `Job.day_hours`). ``begin`` is the first day
    with time for it from the day that the job names, but not before ``ordered``; None where it
    names none. ``order_by`` is the last day to order so that everything is here before that.
    ``recheck`` is about the day of the second look.
    """

    ordered: date
    parts: tuple[Part, ...]
    all_here: tuple[date, date] | None
    measuring: tuple[WorkDay, ...]
    days: tuple[WorkDay, ...]
    now: tuple[WorkDay, ...]
    standstill: Standstill | None
    hours: Range
    likely: float
    all_hours: Range
    all_likely: float
    hands: Network
    whole: Network
    begin: date | None
    order_by: date | None
    recheck: date | None

    @property
    def ready(self) -> bool:
        """Whether the work may start: everything that was ordered is here."""
        return self.all_here is None

    @property
    def measured(self) -> date:
        """When that is ordered which is measured for first: ``ordered`` where nothing is."""
        return self.measuring[-1].day if self.measuring else self.ordered

    @property
    def missing(self) -> tuple[Part, ...]:
        """What is not here yet."""
        return tuple(part for part in self.parts if not part.here)

    @property
    def slowest(self) -> tuple[Part, ...]:
        """The parts that everything waits for."""
        last = max((part.latest for part in self.parts if part.latest), default=None)
        return tuple(part for part in self.parts if part.latest and part.latest == last)


def schedule(
    job: Job, tasks: Sequence[Task], items: Sequence[OrderItem], ordered: date
) -> Schedule:
    """The plan: ``items`` that are not here are ordered on the day ``ordered``, those that are
    measured for first on the day when that is done: the first on which there is time.
    """
    first = [task for task in tasks if task.row == MEASURE]
    alone = [task for task in tasks if task.row not in (MEASURE, RECHECK)]
    hours = {task.key: task.hours.likely(job.by) for task in (*first, *alone)}
    before = {task.key: task.after for task in (*first, *alone)}
    measuring = _days(job, ordered, first, hours)
    measured = measuring[-1].day if measuring else ordered
    parts = [_part(job, one, tasks, measured if one.unsure else ordered) for one in items]
    start = max(job.start or ordered, ordered)
    on_way = [part for part in parts if part.latest is not None]
    all_here = None
    if on_way:
        all_here = (
            max(part.earliest for part in on_way if part.earliest),
            max(part.latest for part in on_way if part.latest),
        )
    whole = _with_waits(job, hours, before, parts, ordered, measured)
    parts = [_with_spare(part, whole) for part in parts]
    free = start if all_here is None else max(start, all_here[1] + timedelta(1))
    known = {task.key for task in first}
    days = _days(job, free, alone, hours, done=known, taken=measuring)
    arrivals: dict[str, date] = {}
    for part in on_way:
        for key in part.needs_it:
            assert part.latest is not None
            arrivals[key] = max(arrivals.get(key, part.latest), part.latest)
    now = days
    if on_way:
        soon = max(start, measured)
        now = _days(job, soon, alone, hours, arrivals, known, measuring)
    work, everything = (sum((task.hours for task in some), Hours()) for some in (alone, tasks))
    begin = next(work_days(job, start), None) if job.start is not None else None
    order_by = None
    if begin is not None and on_way:
        order_by = begin - timedelta(1 + max(_whole(part.item.days[1]) for part in on_way))
    return Schedule(
        ordered=ordered,
        parts=tuple(parts),
        all_here=all_here,
        measuring=measuring,
        days=days,
        now=now,
        standstill=_standstill(job, now, days, parts),
        hours=work.by(job.by),
        likely=work.likely(job.by),
        all_hours=everything.by(job.by),
        all_likely=everything.likely(job.by),
        hands=network(hours, before),
        whole=whole,
        begin=begin,
        order_by=order_by,
        recheck=days[-1].day + timedelta(RECHECK_AFTER) if days else None,
    )


def waits(item: OrderItem, tasks: Sequence[Task]) -> tuple[str, ...]:
    """The tasks that cannot be begun without a thing that is ordered."""
    if item.group is Group.BARS:
        return _rows(tasks, "bar_fit")
    if item.item.startswith("fluid"):
        rows = ("bleed_brake", "bleed_clutch")
        return _on(item.lines, tasks, rows) or _rows(tasks, *rows)
    if item.item == "grommet":
        return _rows(tasks, "bar_holes")
    on_lines = [task for task in tasks if task.about and {task.about} & {*item.lines}]
    return tuple(task.key for task in on_lines) or _rows(tasks, "bar_fit")


def _on(lines: Collection[str], tasks: Iterable[Task], rows: Collection[str]) -> tuple[str, ...]:
    return tuple(one.key for one in tasks if one.row in rows and {*one.lines} & {*lines})


def _rows(tasks: Iterable[Task], *rows: str) -> tuple[str, ...]:
    return tuple(task.key for task in tasks if task.row in rows)


def _part(job: Job, item: OrderItem, tasks: Sequence[Task], ordered: date) -> Part:
    needs_it = waits(item, tasks)
    if item.key in job.here:
        return Part(item, None, None, needs_it)
    least, most = (ordered + timedelta(_whole(days)) for days in item.days)
    return Part(item, least, most, needs_it)


def _whole(days: float) -> int:
    return math.ceil(days - _A_LITTLE)


def _wait(item: OrderItem) -> str:
    """The key of a part's time on its way, in the network with the tasks."""
    return f"order: {item.key}"


def _with_waits(
    job: Job,
    hours: Mapping[str, float],
    before: Mapping[str, Collection[str]],
    parts: Iterable[Part],
    ordered: date,
    measured: date,
) -> Network:
    """The network in days, with each part's days on its way as a task before those that need it,
    and measuring, which lasts until the day it is done, before what is ordered on that.
    """
    durations = {key: one / job.day_hours for key, one in hours.items()}
    if MEASURE in durations:
        durations[MEASURE] = float((measured - ordered).days)
    needs = {key: list(one) for key, one in before.items()}
    for part in parts:
        if part.latest is not None:
            unsure = part.item.unsure and MEASURE in durations
            sent = measured if unsure else ordered
            durations[_wait(part.item)] = float((part.latest - sent).days)
            needs[_wait(part.item)] = [MEASURE] if unsure else []
            for key in part.needs_it:
                needs[key].append(_wait(part.item))
    return network(durations, needs)


def _with_spare(part: Part, whole: Network) -> Part:
    if part.here:
        return part
    return Part(
        part.item,
        part.earliest,
        part.latest,
        part.needs_it,
        whole.times[_wait(part.item)].total_float,
    )


def work_days(job: Job, start: date) -> Iterator[date]:
    """The days on which there is time, from ``start`` on."""
    for ahead in range(_LONGEST):
        day = start + timedelta(ahead)
        if job.open_on(day):
            yield day


def _days(
    job: Job,
    start: date,
    tasks: Sequence[Task],
    hours: Mapping[str, float],
    arrivals: Mapping[str, date] = MappingProxyType({}),
    done: Collection[str] = (),
    taken: Iterable[WorkDay] = (),
) -> tuple[WorkDay, ...]:
    """One task after another, each as soon as those before it are done and the day after its parts
    have come. None is broken off overnight, but for what takes longer than a day has. Some may be
    ``done`` already, and hours of days ``taken``.
    """
    left = {task.key: hours[task.key] for task in tasks}
    done = {*done}
    used = {one.day: one.hours for one in taken}
    found = []
    for day in work_days(job, start) if left else ():
        room, todays = job.day_hours - used.get(day, 0.0), []
        while room > _A_LITTLE:
            task = next(
                (
                    one
                    for one in tasks
                    if one.key in left
                    and done.issuperset(one.after)
                    and not (one.key in arrivals and arrivals[one.key] >= day)
                    and (left[one.key] <= room + _A_LITTLE or hours[one.key] > job.day_hours)
                ),
                None,
            )
            if task is None:
                break
            takes = min(left[task.key], room)
            todays.append((task.key, takes))
            room -= takes
            left[task.key] -= takes
            if left[task.key] <= _A_LITTLE:
                del left[task.key]
                done.add(task.key)
        if todays:
            found.append(WorkDay(day, tuple(todays)))
        if not left:
            break
    return tuple(found)


def off_road(days: Sequence[WorkDay]) -> int:
    """Days from the first to the last of the work, both counted."""
    return (days[-1].day - days[0].day).days + 1 if days else 0


def _standstill(
    job: Job, now: Sequence[WorkDay], gated: Sequence[WorkDay], parts: Sequence[Part]
) -> Standstill | None:
    """What it costs to work as parts come, days on which there was time going by unused."""
    longer = off_road(now) - off_road(gated)
    gaps = [
        (one.day, other.day, late)
        for one, other in pairwise(now)
        if next(work_days(job, one.day + timedelta(1))) < other.day
        if (late := _late(one.day, other, parts))
    ]
    if longer <= 0 or not gaps:
        return None
    late = gaps[-1][2]
    last = max(part.latest for part in late if part.latest)
    waited = tuple(part.item for part in late if part.latest == last)
    return Standstill(longer, gaps[0][0], gaps[-1][1], waited)


def _late(before: date, day: WorkDay, parts: Sequence[Part]) -> list[Part]:
    """The parts for which the work of a day has waited since the day ``before``."""
    keys = {key for key, _ in day.tasks}
    return [
        part
        for part in parts
        if part.latest is not None and part.latest >= before and keys & {*part.needs_it}
    ]
