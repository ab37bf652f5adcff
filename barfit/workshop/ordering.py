"""The whole order of one setup, with prices."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from barfit.analysis import LineFinding, Verdict
from barfit.catalogue import price_table
from barfit.model import Job, Setup
from barfit.remedies import Means, Remedies, Remedy
from barfit.trade import Hydraulics
from barfit.workshop import prices
from barfit.workshop.accessories import accessory_items, bar_items
from barfit.workshop.line_items import line_items, replacements
from barfit.workshop.orders import Order, OrderItem, taken


def order(
    setup: Setup,
    remedies: Iterable[Remedies],
    findings: Sequence[LineFinding],
    hydraulics: Hydraulics | None = None,
) -> Order:
    """What to order so that every line is as was decided about it.

    ``remedies`` of every line, ``findings`` and ``hydraulics`` are those of the new bars. Where a
    line needs a lower bar nothing is ordered: no such bar is chosen yet, and with it every line has
    to be looked at again.
    Raises KeyError for a kind of line that the table of prices lacks.
    """
    found = taken(setup, remedies)
    lower = [one.by for one in found.values() if one and one.means is Means.LOWER_BAR]
    if lower:
        return Order((), setup.job.currency, lower_by=max(lower))
    replaced = replacements(setup, found)
    items = [
        *bar_items(setup.stock, setup.new),
        *_doubted(line_items(setup, found, findings, hydraulics or Hydraulics()), found, findings),
        *accessory_items(setup, found, replaced),
    ]
    nothing_helps = tuple(name for name, remedy in found.items() if remedy is None)
    return Order(_priced(items, setup.job), setup.job.currency, nothing_helps)


def _doubted(
    items: Iterable[OrderItem],
    found: Mapping[str, Remedy | None],
    findings: Sequence[LineFinding],
) -> Iterable[OrderItem]:
    """The items, those marked that are not surely enough, with what to measure again for them."""
    about = {one.line: one for one in findings}
    unsure = [one for one in found.values() if one and one.verdict is Verdict.UNCERTAIN]
    for item in items:
        doubts = [one.line for one in unsure if item.line in (one.line, *one.together)]
        things = [thing for name in doubts if name in about for thing in about[name].sure.things]
        measure = tuple(dict.fromkeys(things))
        yield replace(item, unsure=True, measure=measure) if doubts else item


def _priced(items: Iterable[OrderItem], job: Job) -> tuple[OrderItem, ...]:
    """The items with what the table of prices and the job say of each."""
    own = {one.item for one in job.prices}
    found = []
    for one in items:
        row, each = price_table().items[one.item], prices.price(one.item, job)
        counted = one.quantity == one.quantity  # nan: nobody knows how many
        found.append(
            replace(
                one,
                what=row.label,
                each=row.each,
                days=row.days,
                price=prices.times(each, one.quantity) if each and counted else None,
                own_price=one.item in own,
            )
        )
    return tuple(found)
