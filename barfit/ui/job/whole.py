"""All of the job, worked out from what is done about each line: what the page shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from barfit.analysis import LineFinding
from barfit.model import Setup
from barfit.remedies import Remedies, Remedy
from barfit.session import Result
from barfit.workshop import Order, order
from barfit.workshop.money import Money, money
from barfit.workshop.orders import taken
from barfit.workshop.schedule import Schedule, schedule
from barfit.workshop.sets import SetFit, compare_sets
from barfit.workshop.tasks import Task, labour, tasks


@dataclass(frozen=True)
class Whole:
    """The job as it stands; ``taken`` is what is done about each line that needs something."""

    setup: Setup
    findings: tuple[LineFinding, ...]
    remedies: tuple[Remedies, ...]
    taken: dict[str, Remedy | None]
    order: Order
    tasks: tuple[Task, ...]
    schedule: Schedule
    money: Money
    sets: tuple[SetFit, ...]


def whole(setup: Setup, result: Result, remedies: tuple[Remedies, ...], today: date) -> Whole:
    """From the result of the new bars and what can be done about the lines. A few milliseconds."""
    decided = dict(taken(setup, remedies))
    listed = order(setup, remedies, result.findings, result.trade.hydraulics)
    work = tasks(setup, decided)
    return Whole(
        setup=setup,
        findings=result.findings,
        remedies=remedies,
        taken=decided,
        order=listed,
        tasks=work,
        schedule=schedule(setup.job, work, listed.items, today),
        money=money(listed, labour(work), setup.job),
        sets=compare_sets(setup, remedies, result.findings, listed),
    )
