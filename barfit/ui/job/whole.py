"""All of the job, worked out from what is done about each line: what the page shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from barfit.analysis import LineFinding
from barfit.model import Setup
from barfit.remedies import Remedies, Remedy
from barfit.report.remarks import rejects
from barfit.session import Result
from barfit.workshop import Order, order
from barfit.workshop.money import Money, money
from barfit.workshop.orders import taken
from barfit.workshop.schedule import Schedule, schedule
from barfit.workshop.sets import SetFit, compare_sets
from barfit.workshop.tasks import Task, labour, tasks


@dataclass(frozen=True)
class Whole:
    """The job as it stands; ``taken`` is what is done about each line that needs something,
    ``rejected`` what makes the bars unacceptable and is mended by none of it.
    """

    setup: Setup
    findings: tuple[LineFinding, ...]
    remedies: tuple[Remedies, ...]
    taken: dict[str, Remedy | None]
    order: Order
    tasks: tuple[Task, ...]
    schedule: Schedule
    money: Money
    sets: tuple[SetFit, ...]
    rejected: tuple[str, ...]


def whole(
    setup: Setup, result: Result, remedies: tuple[Remedies, ...], unit: str, today: date
) -> Whole:
    """From the result of the new bars and what can be done about the lines. A few milliseconds."""
    decided = dict(taken(setup, remedies))
    listed = order(setup, remedies, result.findings, result.trade.hydraulics)
    work = tasks(setup, decided, result.trade.hydraulics)
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
        rejected=tuple(
            one.words()
            for one in rejects(result.remarks(unit))
            if not (one.line and decided.get(one.about))
        ),
    )
