"""`barfit plan`: the work task by task, when it can be done, and the check list before riding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated, Any

import typer
from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from barfit.analysis import corrected
from barfit.commands.many import answer_each, scenario_files
from barfit.commands.shared import (
    AsJson,
    Files,
    OfFile,
    Unusable,
    Worked,
    output,
    rejected_sentences,
    say,
    work_out,
    writable,
)
from barfit.model import By, Setup
from barfit.report.calendar import entries
from barfit.report.checklist import brake_caution, check_values
from barfit.report.checklist_text import checklist_lines
from barfit.report.choices import choice_sentences
from barfit.report.files import not_written
from barfit.report.money import hours_text, who_words
from barfit.report.orders import clash_sentences, done_sentences, open_sentences
from barfit.report.plan import (
    NO_CALENDAR,
    days_words,
    gate_sentence,
    plan_values,
    schedule_sentences,
    time_words,
)
from barfit.report.sentences import CAUTION
from barfit.report.signing import signed_text
from barfit.report.work import HOURS_INVENTED, about_text, needed_texts, task_texts, task_title
from barfit.workshop import order as ordered
from barfit.workshop.blocked import blocked
from barfit.workshop.calendar import calendar_file
from barfit.workshop.check import Check, tick_of
from barfit.workshop.checks import checks
from barfit.workshop.schedule import Schedule, schedule
from barfit.workshop.task_table import Hours
from barfit.workshop.tasks import Task, tasks


@dataclass(frozen=True)
class Planned(OfFile):
    """All of one file; ``checks`` is None where nobody asked for them."""

    tasks: tuple[Task, ...]
    schedule: Schedule
    checks: tuple[Check, ...] | None


def plan(
    files: Files,
    ics: Annotated[
        str | None,
        typer.Option("--ics", metavar="FILE", help="Write the days as a calendar (iCalendar)."),
    ] = None,
    with_checks: Annotated[
        bool, typer.Option("--checks", help="Also the check list before riding.")
    ] = False,
    as_json: AsJson = False,
    by: Annotated[
        By | None,
        typer.Option("--by", help="Who does the work, for this time. Default: as the file says."),
    ] = None,
    order_day: Annotated[
        str | None,
        typer.Option("--ordered", metavar="DAY", help="Parts are ordered on 2027-03-14, say."),
    ] = None,
) -> int:
    """List the work in its order with hours, and when it can be done.

    Which tasks there are follows from what is done about each line: the best that cures it, or what
    the file's [job.choices] say. Nothing is begun before every part is here; the file's [job] says
    from when and on which days there is time, and which parts have come. Of one file all is shown;
    of several, or a folder, one line each.

    With --checks also what to check before riding, the slack predicted beside what was found. With
    --ics a calendar of the days: ordering, everything here, work, the second look, new fluid. Times
    are hours of one person.

    \b
    Examples:
      barfit plan my-bike.toml --checks
      barfit plan my-bike.toml --by shop --ordered 2027-03-14 --ics days.ics
      barfit plan garage/

    \b
    Exit status, of several files the worst:
      0  every line fits as it is
      1  some line does not, or the bars cannot be used as they are
      2  a file or an option cannot be used, or nothing can be written there
    """
    only = len(scenario_files(files)) == 1
    if ics is not None:
        if not only:
            raise Unusable("--ics is a calendar of one job; name one file.")
        writable(Path(ics), "the calendar")
    on = _day(order_day)
    listed = with_checks and (only or as_json)
    status, found = answer_each(
        files,
        as_json,
        lambda file, setup, label: planned_of(file, setup, listed, by, on, label),
        _values,
        lambda one: _print(output(), one),
        summary_line,
    )
    if ics is not None:
        _write(ics, found[0])
    return status


def _day(text: str | None) -> date:
    if text is None:
        return date.today()
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Unusable(
            f"--ordered {text}: is not a date; write year, month and day, like 2027-03-14."
        ) from None


def planned_of(
    file: str,
    setup: Setup,
    with_checks: bool,
    by: By | None,
    on: date,
    label: str,
) -> Planned:
    """All of one file, parts ordered ``on`` that day."""
    if by is not None:
        setup = replace(setup, job=replace(setup.job, by=by))
    worked = work_out(setup, label)
    listed = ordered(setup, worked.remedies, worked.checked.findings, worked.as_is.trade.hydraulics)
    # air is looked for where it will stay, in the hoses as they will be
    then = (worked.done or worked.as_is).trade.hydraulics
    work = tasks(setup, worked.taken, then, listed.items)
    return Planned(
        file=file,
        worked=worked,
        order=listed,
        tasks=work,
        schedule=schedule(setup.job, work, listed.items, on),
        checks=_checks(worked, work) if with_checks and work else None,
    )


def _checks(worked: Worked, work: Sequence[Task]) -> tuple[Check, ...]:
    """The check list of the setup as it will be."""
    then = worked.done or worked.as_is
    found = then.checked.findings
    slack_by = {one.line: one.sure.slack_by for one in found}
    return checks(corrected(then.swept, slack_by), found, then.trade, work, worked.setup)


def in_the_way(planned: Planned) -> bool:
    """Whether something has to be mended before any work is begun."""
    worked = planned.worked
    then = (worked.done or worked.as_is).checked.findings
    return blocked(planned.order, worked.together, then, bool(rejected_sentences(worked)))


def comes_of_it(planned: Planned) -> list[str]:
    """What comes of all that is done at once."""
    worked = planned.worked
    said = [
        *choice_sentences(planned.setup, worked.remedies),
        *open_sentences(planned.order, planned.setup.unit),
        *clash_sentences(worked.together),
    ]
    if worked.done is not None:
        said += done_sentences(worked.done.checked.findings)
    return said


def _write(target: str, planned: Planned) -> None:
    setup = planned.setup
    if in_the_way(planned):
        raise Unusable(f"{planned.file}: {NO_CALENDAR}")
    days = entries(planned.schedule, planned.tasks, setup.machine.name)
    try:
        Path(target).write_bytes(calendar_file(days, setup.title, datetime.now(UTC)))
    except OSError as error:
        raise Unusable(not_written(target, error)) from None
    say(f"Wrote {target}: {len(days)} entries.")


# --- what is shown -------------------------------------------------------------------------------


def summary_line(planned: Planned) -> str:
    """One file in a line."""
    found, job = planned.schedule, planned.setup.job
    if not planned.tasks:
        return f"{planned.file}: {' '.join(comes_of_it(planned))}"
    told = f"{len(planned.tasks)} tasks, {about_text(found.all_likely)} {who_words(job.by)}"
    if in_the_way(planned):
        return f"{planned.file}: not to be begun as it stands; {told}"
    return f"{planned.file}: {told}; {days_words(found.days, found.ordered)}"


def _print(console: Console, planned: Planned) -> None:
    setup, found, job = planned.setup, planned.schedule, planned.setup.job

    def tell(*texts: str) -> None:
        for text in texts:
            console.print(text, highlight=False, markup=False, soft_wrap=not console.is_terminal)

    tell(f"{setup.machine.name}: the work for {setup.new.title}")
    stopped, said = in_the_way(planned), comes_of_it(planned)
    if stopped:
        rejected = rejected_sentences(planned.worked)
        tell("", "Not to be begun as it stands; mend this first:", *(rejected or said))
        said = said if rejected else []
    if not planned.tasks:
        tell(*said, "", CAUTION)
        return
    tell("", gate_sentence(found, stopped))  # before the first task, as it rules all of them
    console.print(_task_table(planned))
    tell(*needed_texts(planned.tasks), "", *said)
    tell(*schedule_sentences(found, job, stopped), f"Time there is: {time_words(job)}.")
    if planned.checks is not None:
        tell("", *checklist_lines(planned.checks, setup, stopped))
    caution = brake_caution(setup) if planned.checks is None else ""  # else it is above
    tell("", HOURS_INVENTED, *filter(None, [caution]), CAUTION)


def _task_table(planned: Planned) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column("")
    table.add_column("What is done")
    for heading in ("At home", "In a shop", "Can wait"):
        table.add_column(heading, justify="right", no_wrap=True)
    hands, row = planned.schedule.hands, ""
    for number, task in enumerate(planned.tasks, 1):
        times = hands.times.get(task.key)
        waits = "" if times is None or hands.critical(task.key) else f"{times.total_float:.1f} h"
        texts = task_texts(task, row, planned.setup.unit)
        row = task.row
        what = Text(task_title(task), style="bold")
        what.append("".join(f"\n{text}" for text in texts), style="not bold")
        table.add_row(
            str(number),
            what,
            hours_text(task.hours.home),
            hours_text(task.hours.shop),
            waits,
        )
    total = sum((task.hours for task in planned.tasks), Hours())
    table.add_section()
    table.add_row("", "[bold]In all[/bold]", hours_text(total.home), hours_text(total.shop), "")
    return table


def _values(planned: Planned) -> dict[str, Any]:
    """Everything for JSON."""
    setup, job = planned.setup, planned.setup.job
    values = {
        "file": planned.file,
        "title": setup.title,
        "machine": setup.machine.name,
        "rejected": rejected_sentences(planned.worked),
        "blocked": in_the_way(planned),
        "comes_of_it": comes_of_it(planned),
        **plan_values(planned.schedule, planned.tasks, job, in_the_way(planned)),
    }
    if planned.checks is not None:
        values["checks"] = [
            check_values(one, tick_of(job, one.key), setup) for one in planned.checks
        ]
        values["signed"] = signed_text(setup, planned.checks, in_the_way(planned))
    return values
