"""The work in words: each task with why and how, its hours, what is needed for all of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from barfit.model import Plug
from barfit.report.phrases import capital, listed
from barfit.report.remedy_effects import how_text
from barfit.report.remedy_labels import label
from barfit.trade.bundles import passing_size
from barfit.units import format_length
from barfit.workshop.tasks import Because, Task

HOURS_INVENTED = (
    "Hours are invented, realistic ranges of no workshop. The order of the work is common "
    "practice; the service manual rules where it says something else. Of holidays only those count "
    "that are among the closed days."
)
NAMED = 3  # things that are named in a sentence; the others are counted


def task_title(task: Task) -> str:
    """What is done, the hold point marked: "Change the clutch cable"."""
    return f"HOLD POINT: {task.label}" if task.gate else task.label


def reason_text(task: Task) -> str:
    """Why it is part of the job: "because the clutch cable is replaced"; "" where it always is, and
    where its title says it already.
    """
    if task.lines == (task.about,):
        return ""
    done: dict[Because, list[str]] = {}
    for reason in task.reasons:
        done.setdefault(reason.because, []).append(reason.name)
    told = [_clause(because, names) for because, names in done.items()]
    return f"because {listed(told)}" if told else ""


def _clause(because: Because, names: Sequence[str]) -> str:
    if because is Because.BARS:
        return "the bars are changed"
    more = len(names) - NAMED
    shown = [f"the {name}" for name in names[: NAMED if more > 1 else NAMED + 1]]
    if more > 1:
        shown.append(f"{more} other lines")
    return f"{listed(shown)} {'are' if len(names) > 1 else 'is'} {because}"


def task_texts(task: Task, row_before: str, unit: str) -> list[str]:
    """What is said of a task under its title: how, why, what rules it. Of two alike, one after the
    other (``row_before`` is the row of the task before it), what is the same is said once.
    """
    notes = [reason_text(task), f"service manual: {task.manual}" if task.manual else ""]
    if task.competent:
        notes.append("for a competent person")
    told = [how_text(one, unit) or f"{label(one, unit)}." for one in task.remedies]
    told += [f"Measure {listed([f'the {one}' for one in task.things])}."] if task.things else []
    told += [] if task.row == row_before else [task.text]
    told += _air(task, unit)
    told += [_stuck(plug, unit) for plug in task.stuck]
    return list(filter(None, [" ".join(told), " ".join(f"{capital(n)}." for n in notes if n)]))


def _stuck(plug: Plug, unit: str) -> str:
    """What to do about a plug that does not pass its hole."""
    across = format_length(passing_size(plug.width, plug.height, plug.diameter), unit, decimals=1)
    hole = format_length(plug.hole or 0.0, unit, decimals=1)
    return (
        f"The plug '{plug.name}', {across} across, does not pass its hole of {hole}: take its pins "
        "out, pin map photographed first, and put them in again behind the hole; the same may be "
        "so of the added one."
    )


def _air(task: Task, unit: str) -> list[str]:
    """Where air stays in what is bled."""
    if not task.high_spots:
        return []
    places = [
        f"the {one.line} {format_length(one.along, unit)} from '{one.after}'"
        for one in task.high_spots
    ]
    return [f"Air stays at the high spots of {listed(places)}: tap the hose there while bleeding."]


def needed_texts(tasks: Sequence[Task]) -> list[str]:
    """Tools and what is used up, all tasks together, each thing once."""
    told = (
        ("Tools", listed_things(one for task in tasks for one in task.tools)),
        ("Used up", listed_things(one for task in tasks for one in task.materials)),
    )
    return [f"{title}: {', '.join(things)}." for title, things in told if things]


def listed_things(things: Iterable[str]) -> list[str]:
    """Each thing once, in the order in which they are first needed."""
    return list(dict.fromkeys(things))


def about_text(hours: float) -> str:
    """Hours in all, to the half: "about 9 h"."""
    halves = max(round(2.0 * hours), 1)
    return f"about {0.5 * halves:g} h"
