"""What of a job goes into a calendar."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from barfit.report.dates import day_text, years_later
from barfit.report.orders import NOT_YET, item_name, measure_sentence
from barfit.report.plan import gate_sentence
from barfit.report.sentences import CAUTION
from barfit.report.work import about_text, task_title
from barfit.workshop.calendar import Entry
from barfit.workshop.check import FLUID_YEARS
from barfit.workshop.schedule import Part, Schedule
from barfit.workshop.tasks import Task


def entries(found: Schedule, tasks: Sequence[Task], machine: str) -> list[Entry]:
    """What goes into a calendar: ordering, everything here, the days of work, and what comes later.

    What is over once the parts are here is left out.
    """
    told: list[Entry] = []
    by_key = {task.key: task for task in tasks}
    measure = measure_sentence(part.item for part in found.missing)
    for number, day in enumerate(found.measuring, 1):
        count = f", day {number} of {len(found.measuring)}" if len(found.measuring) > 1 else ""
        told.append(
            Entry(
                f"measure {number}" if count else "measure",
                day.day,
                day.day,
                f"Measure again before ordering{count}, {about_text(day.hours)}: {machine}",
                "\n".join([measure, *(_day_line(by_key[key], h) for key, h in day.tasks)]),
                busy=True,
            )
        )
    for key, day_of, parts in _orders(found):
        told.append(
            Entry(
                key,
                day_of,
                day_of,
                f"Order the parts: {machine}",
                "\n".join(f"- {_part_words(part, found.ordered)}" for part in parts),
            )
        )
    if found.all_here is not None:
        told.append(
            Entry(
                "here",
                found.all_here[1],
                found.all_here[1],
                f"Everything has to be here: {machine}",
                f"{gate_sentence(found)}\nHold each new part against the old one before the first "
                "bolt is undone.",
            )
        )
    for number, day in enumerate(found.days, 1):
        count = f", day {number} of {len(found.days)}" if len(found.days) > 1 else ""
        told.append(
            Entry(
                f"work {number}",
                day.day,
                day.day,
                f"Handlebars{count}, {about_text(day.hours)}: {machine}",
                "\n".join([*(_day_line(by_key[key], h) for key, h in day.tasks), "", CAUTION]),
                busy=True,
            )
        )
    if found.recheck is not None:
        again = by_key.get("recheck")
        told.append(
            Entry(
                "recheck",
                found.recheck,
                found.recheck,
                f"After 50 to 100 km, look at everything again: {machine}",
                f"The day is a guess; the distance counts. {again.text if again else ''}".strip(),
            )
        )
    if found.days:
        told += _fluid_entries(found.days[-1].day, tasks, machine)
    return told


def _orders(found: Schedule) -> Iterable[tuple[str, date, list[Part]]]:
    """What is ordered on which day: at once, and what is measured for first, after that."""
    if found.measured == found.ordered:
        days = [("order", found.ordered, [*found.missing])]
    else:
        later = [part for part in found.missing if part.item.unsure]
        soon = [part for part in found.missing if not part.item.unsure]
        days = [("order", found.ordered, soon), ("order measured", found.measured, later)]
    return ((key, day, parts) for key, day, parts in days if parts)


def _fluid_entries(last: date, tasks: Sequence[Task], machine: str) -> list[Entry]:
    due = years_later(last, FLUID_YEARS)
    return [
        Entry(
            f"fluid {task.about}",
            due,
            due,
            f"Change the fluid, {task.about}: {machine}",
            f"{FLUID_YEARS} years after it was filled in (common practice; the service manual "
            "rules kind and time).",
        )
        for task in tasks
        if task.row in ("bleed_brake", "bleed_clutch")
    ]


def _part_words(part: Part, now: date) -> str:
    assert part.latest is not None
    told = f"{item_name(part.item)}: here by {day_text(part.latest, now)} at the latest"
    return f"{told}; {NOT_YET}" if part.item.unsure else told


def _day_line(task: Task, hours: float) -> str:
    return f"- {task_title(task)} ({hours:.1f} h)"
