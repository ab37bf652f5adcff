"""All of the job, worked out from what is done about each line: what the page shows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from barfit.analysis import LineFinding
from barfit.model import Setup
from barfit.remedies import Remedies, Remedy
from barfit.report.remarks import Remark, still_rejects
from barfit.session import Result
from barfit.workshop import Order, order
from barfit.workshop.blocked import blocked
from barfit.workshop.money import Money, money
from barfit.workshop.orders import taken
from barfit.workshop.schedule import Schedule, schedule
from barfit.workshop.sets import SetFit, compare_sets
from barfit.workshop.tasks import Task, labour, tasks
from barfit.workshop.together import together


@dataclass(frozen=True)
class Whole:
    """The job as it stands; ``taken`` is what is done about each line that needs something,
    ``rejected`` what makes the bars unacceptable and is mended by none of it; ``blocked``: that, or
    something else, has to be mended before any work. ``finished`` is the
    setup with all of that done at once; ``air_waits`` tells that it has yet to be turned before it
    is known where air stays in its hoses. ``sought`` are the lines that do not fit and for which it
    is not known yet what can be done: all else is then without what they need.
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
    rejected: tuple[Remark, ...]
    blocked: bool
    finished: Setup
    air_waits: bool
    sought: tuple[str, ...] = ()


def whole(
    setup: Setup,
    result: Result,
    remedies: tuple[Remedies, ...],
    unit: str,
    today: date,
    after: Result | None = None,
    sought: tuple[str, ...] = (),
) -> Whole:
    """From the result of the new bars and what can be done about the lines; ``after`` is what came
    of some setup with everything done, where one has been turned. ``sought`` are lines of which no
    remedies are known yet. A few milliseconds.
    """
    decided = dict(taken(setup, remedies))
    done = together(setup, decided, result.findings)
    as_is = done.setup.asks_same(setup) or bool(done.problems)
    if after is not None and not after.sweep.setup.asks_same(done.setup):
        after = None
    # air is looked for where it will stay, in the hoses as they will be
    then = result if as_is else after
    listed = order(setup, remedies, result.findings, result.trade.hydraulics)
    work = tasks(setup, decided, then.trade.hydraulics if then else None, listed.items)
    known = None if sought else then  # nothing is turned with everything done while more may come
    seen_to = (*(name for name, remedy in decided.items() if remedy), *sought)
    said = known.remarks(unit) if known is not None else None
    rejected = tuple(still_rejects(result.remarks(unit), said, seen_to))
    costs = money(listed, labour(work), setup.job)
    return Whole(
        setup=setup,
        findings=result.findings,
        remedies=remedies,
        taken=decided,
        order=listed,
        tasks=work,
        schedule=schedule(setup.job, work, listed.items, today),
        money=_least(costs) if sought else costs,
        sets=compare_sets(setup, remedies, result.findings, listed),
        rejected=rejected,
        blocked=blocked(listed, done, known.findings if known else None, bool(rejected)),
        finished=done.setup,
        air_waits=then is None and any(task.opened for task in work),
        sought=sought,
    )


def _least(costs: Money) -> Money:
    """What is told of costs while more may come: no more than their least."""
    return replace(
        costs, home=replace(costs.home, partial=True), shop=replace(costs.shop, partial=True)
    )
