"""What one thing costs: as the job has it, or else as the table of invented prices."""

from __future__ import annotations

from barfit.catalogue import price_table
from barfit.model import Job, Range


def price(item: str, job: Job) -> Range | None:
    """The least and the most that one of ``item``, a key of the table, costs in the job's currency.

    None where the table lacks it, or is in another currency and the job does not say what that
    costs: nothing is converted that nobody gave a rate for.
    """
    for own in job.prices:
        if own.item == item:
            return own.range
    row = price_table().items.get(item)
    return None if row is None else in_currency(row.price, job)


def shop_rate(job: Job) -> Range | None:
    """The least and the most of an hour of a workshop, in the job's currency; None as above."""
    if job.shop_rate is not None:
        return job.shop_rate
    return in_currency(price_table().shop_rate, job)


def in_currency(given: Range, job: Job) -> Range | None:
    """A range of the table in the job's currency; None where there is no rate for that."""
    if job.currency == price_table().currency:
        return given
    if job.table_rate is None:
        return None
    return times(given, job.table_rate)


def days(item: str) -> Range:
    """The least and the most of days until ``item`` is here; none at all where the table lacks it.

    Raises KeyError for an item that the table lacks.
    """
    return price_table().items[item].days


def times(given: Range, by: float) -> Range:
    """So many of a range."""
    return (by * given[0], by * given[1])


def together(ranges: list[Range]) -> Range:
    """The sum of ranges: the least of all, the most of all."""
    return (sum(one[0] for one in ranges), sum(one[1] for one in ranges))
