"""The work and when it can be done, in words and as plain values."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from barfit.model import By, Job
from barfit.report.dates import DAYS, day_text
from barfit.report.money import hours_text
from barfit.report.orders import measure_sentence
from barfit.report.phrases import capital, listed
from barfit.report.work import NAMED, about_text, reason_text, task_title
from barfit.workshop.network import Network
from barfit.workshop.orders import Group, OrderItem
from barfit.workshop.schedule import Part, Schedule, WorkDay
from barfit.workshop.tasks import Task

PLAN_FORMAT = 1
NO_DAY = "No day is named before what is in the way is mended."
NO_CALENDAR = f"There is nothing to put into a calendar. {NO_DAY}"
_WHO = {By.HOME: "at home", By.SHOP: "in a shop"}


def schedule_sentences(found: Schedule, job: Job, blocked: bool = False) -> list[str]:
    """When everything is here, when the work is done, and what impatience would cost; ``blocked``
    as in `gate_sentence`: then no day is named.
    """
    if blocked:
        return [f"In all {_hours(found)}. {NO_DAY}"]
    told = [_here_sentence(found, job), _begin_sentence(found, job), _now_sentence(found)]
    told += [_slowest_sentence(found), _hands_sentence(found, job)]
    return [text for text in told if text]


def gate_sentence(found: Schedule, blocked: bool = False) -> str:
    """Whether the work may start; ``blocked`` says that something else is in its way."""
    if found.ready:
        here = "Every part is here" if found.parts else "Nothing has to be ordered"
        mend = ", but something has to be mended before the work starts."
        return f"{here}{mend if blocked else ': the work may start.'}"
    count, all_ = len(found.missing), len(found.parts)
    measure = measure_sentence(part.item for part in found.missing)
    missing = (
        f"Nothing is begun before every part is here and has been held against the old one: "
        f"{count} of {all_} {'is' if count == 1 else 'are'} missing."
    )
    return " ".join(filter(None, [measure, missing]))


def _here_sentence(found: Schedule, job: Job) -> str:
    """When everything is here, and on which days what is done: the hours are those of all tasks, as
    they are in the cost.
    """
    now = found.ordered
    told = []
    if found.measuring:
        told.append(f"measuring on {days_words(found.measuring, now)}")
    if found.days:
        told.append(f"the work on {days_words(found.days, now)}{_longest_words(found, job)}")
    else:
        told.append(days_words(found.days, now))
    if found.recheck is not None:
        told.append("after 50 to 100 km the second look")
    all_told = f"{_hours(found)}: {'; '.join(told)}."
    if found.all_here is None:
        return f"In all {all_told}"
    latest = day_text(found.all_here[1], now)
    here = f"Everything here by {latest} at the latest, every day of the week counted."
    return f"{here} In all {all_told}"


def _hours(found: Schedule) -> str:
    return f"{about_text(found.all_likely)} ({hours_text(found.all_hours)})"


def _longest_words(found: Schedule, job: Job) -> str:
    """How many days more it takes where everything takes longest."""
    over = found.hours[1] - len(found.days) * job.day_hours
    if not found.days or over <= 0.05:
        return ""
    return f" (if all of it takes longest, {_days(math.ceil(over / job.day_hours))} more)"


def _begin_sentence(found: Schedule, job: Job) -> str:
    """When it can begin, and by when to order, where a day is named to begin on."""
    if job.start is None or found.begin is None:
        return ""
    told = _moved_words(found, job.start, found.begin)
    if found.order_by is None:
        return f"{told}." if told else ""
    begin, by = (day_text(day, found.ordered) for day in (found.begin, found.order_by))
    named = f"{told}. To begin then" if told else f"To begin on {begin}"
    if found.order_by >= found.ordered:
        return f"{named} with everything here, order by {by} at the latest."
    then = f"{named} with everything here it had to be ordered by {by}, and that has passed"
    if not found.days:
        return f"{then}."
    first = day_text(found.days[0].day, found.ordered)
    when = "measure first, then order" if found.measuring else "order today"
    return f"{then}: {when}; then it begins on {first}, and sooner only if all of it comes sooner."


def _moved_words(found: Schedule, named: date, begin: date) -> str:
    """That the day named to begin on is none on which that can be, and which is the first; "" where
    it can.
    """
    if named == begin:
        return ""
    day, first = day_text(named, found.ordered), day_text(begin, found.ordered)
    if named < found.ordered:
        return f"{day} has passed: the first day on which there is time now is {first}"
    return f"{day} is no day on which there is time: the first after it is {first}"


def _now_sentence(found: Schedule) -> str:
    if found.ready:
        return ""
    stands = found.standstill
    if stands is None:
        return "To start before everything is here wins nothing if one part is late or wrong."
    until = day_text(stands.until, found.ordered)
    told = (
        f"Begin before everything is here, and the machine is off the road {_days(stands.days)} "
        f"longer: in pieces until {until}, waiting for {_items(stands.waiting_for)}"
    )
    sooner = (found.days[-1].day - found.now[-1].day).days
    if sooner <= 0:
        return f"{told}."
    return f"{told}. Only if nothing comes late or wrong is it done {_days(sooner)} sooner."


def _days(count: int) -> str:
    return f"{count} {'day' if count == 1 else 'days'}"


def _slowest_sentence(found: Schedule) -> str:
    slow = found.slowest
    if not slow:
        return ""
    keys = {part.item.key for part in slow}
    spare = [part.spare for part in found.missing if part.item.key not in keys]
    which = capital(_items([part.item for part in slow]))
    decides = "decides" if len(slow) == 1 else "decide"
    told = f"{which} {decides}: a day later on the way is a day later at the end"
    days = math.floor(min(spare) + 1e-9) if spare else 0
    if days < 1:
        return f"{told}."
    return f"{told}; everything else may come {_days(days)} later."


def _hands_sentence(found: Schedule, job: Job) -> str:
    if not found.days:
        return ""
    return (
        f"One person alone {_WHO[job.by]} is reckoned with; with hands enough the longest chain of "
        f"tasks takes {about_text(found.hands.length)}."
    )


def _items(items: Sequence[OrderItem]) -> str:
    names = list(dict.fromkeys(f"the {_item(item)}" for item in items))
    more = len(names) - NAMED
    if more > 1:
        names = [*names[:NAMED], f"{more} other things"]
    return listed(names)


def _item(item: OrderItem) -> str:
    return item.line if item.group is Group.LINES else item.what


def days_words(days: Sequence[WorkDay], now: date) -> str:
    """The days of work in words: "one weekend, 12 and 13 December"."""
    if not days:
        return "no day on which there is time was found"
    first, last = days[0].day, days[-1].day
    if len(days) == 1:
        return f"one day, {day_text(first, now)}"
    weekend = [day.day.weekday() for day in days] == [5, 6] and last - first == timedelta(1)
    if weekend:
        return f"one weekend, {day_text(first, now)} and the Sunday after it"
    if len(days) == 2:
        return f"two days, {day_text(first, now)} and {day_text(last, now)}"
    return f"{len(days)} days from {day_text(first, now)} to {day_text(last, now)}"


def time_words(job: Job) -> str:
    """When there is time: "Saturdays and Sundays, 7 h each; closed on Friday 24 December 2027"."""
    days = [f"{DAYS[day]}s" for day in job.work_days]
    if job.work_days == Job.shop_days:
        days = ["Mondays to Fridays"]
    told = f"{listed(days)}, {job.day_hours:g} h each"
    closed = [" to ".join(dict.fromkeys(map(day_text, span))) for span in job.closed]
    return f"{told}; closed on {listed(closed)}" if closed else told


# --- plain values --------------------------------------------------------------------------------


def plan_values(
    found: Schedule, tasks: Sequence[Task], job: Job, blocked: bool = False
) -> dict[str, Any]:
    """Tasks and plan for other programs: hours, days, dates as in ISO 8601; ``blocked`` as in
    `gate_sentence`.
    """
    days = () if blocked else found.days
    now = () if blocked else found.now
    stands = None if blocked else found.standstill
    here = None if blocked else found.all_here
    order_by, recheck = (None if blocked else day for day in (found.order_by, found.recheck))
    return {
        "plan_format": PLAN_FORMAT,
        "by": str(job.by),
        "ordered": found.ordered.isoformat(),
        "ready": found.ready,
        "sentences": [
            gate_sentence(found, blocked),
            *schedule_sentences(found, job, blocked),
        ],
        "tasks": [_task_values(task, found) for task in tasks],
        "parts": [_part_values(part) for part in found.parts],
        "all_here": None
        if here is None
        else {"earliest": here[0].isoformat(), "latest": here[1].isoformat()},
        "order_by": order_by.isoformat() if order_by else None,
        "hours": {"least": _hour(found.all_hours[0]), "most": _hour(found.all_hours[1])},
        "likely_hours": _hour(found.all_likely),
        "critical_path": _path_values(found.hands),
        "critical_path_with_parts": _path_values(found.whole),
        "measuring": [_day_values(day) for day in found.measuring if not blocked],
        "days": [_day_values(day) for day in days],
        "starting_now": {
            "days": [_day_values(day) for day in now],
            "stands_still": stands.days if stands else 0,
            "waiting_for": [one.key for one in stands.waiting_for] if stands else [],
        },
        "recheck": recheck.isoformat() if recheck else None,
    }


def _task_values(task: Task, found: Schedule) -> dict[str, Any]:
    times = found.hands.times.get(task.key)
    return {
        "key": task.key,
        "title": task_title(task),
        "text": task.text,
        "because": reason_text(task) or None,
        "lines": list(task.lines),
        "after": list(task.after),
        "home_hours": [_hour(one) for one in task.hours.home],
        "shop_hours": [_hour(one) for one in task.hours.shop],
        "hold_point": task.gate,
        "competent_person": task.competent,
        "manual": task.manual or None,
        "tools": list(task.tools),
        "materials": list(task.materials),
        "measure": list(task.things),
        "critical": found.hands.critical(task.key) if times else None,
        "float_hours": _hour(times.total_float) if times else None,
    }


def _part_values(part: Part) -> dict[str, Any]:
    return {
        "key": part.item.key,
        "here": part.here,
        "earliest": part.earliest.isoformat() if part.earliest else None,
        "latest": part.latest.isoformat() if part.latest else None,
        "needed_by": list(part.needs_it),
        "spare_days": None if math.isnan(part.spare) else round(part.spare, 2),
    }


def _day_values(day: WorkDay) -> dict[str, Any]:
    return {
        "day": day.day.isoformat(),
        "tasks": [{"key": key, "hours": _hour(hours)} for key, hours in day.tasks],
    }


def _path_values(network: Network) -> dict[str, Any]:
    return {"length": _hour(network.length), "path": list(network.path)}


def _hour(hours: float) -> float:
    return round(hours, 3)
