"""What the job costs: done at home, where the hours are one's own, and in a shop.

All of it in ranges. Parts cost the same wherever the work is done; a shop's hours are paid for.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from barfit.catalogue import price_table
from barfit.model import By, Job, Range
from barfit.workshop import prices
from barfit.workshop.orders import Group, Order

LABOUR = "work"  # what the hours of a shop are called among what drives a price
_CENT = 1e-6  # what adding up may leave of a whole number


@dataclass(frozen=True)
class Labour:
    """How many hours one task takes, at least and at most, at home and in a shop."""

    task: str
    home: Range
    shop: Range


@dataclass(frozen=True)
class Share:
    """One thing that a sum is made of: a line with all that is ordered for it, an accessory, or
    the work; ``of`` all that has a price it is ``share``, both by their middles.
    """

    name: str
    price: Range
    share: float


@dataclass(frozen=True)
class Bill:
    """One way to have it done, in the job's currency.

    ``labour`` is what the hours cost: nothing at home, None where no rate is known for a shop.
    ``drives`` is what it is made of, the dearest first. ``partial`` where something of the parts
    has no price: it comes on top; or it is not known yet what is to be ordered.
    """

    by: By
    parts: Range
    hours: Range
    labour: Range | None
    drives: tuple[Share, ...]
    partial: bool = False

    @property
    def total(self) -> Range | None:
        """Parts and labour; None where the labour's price is not known."""
        return None if self.labour is None else prices.together([self.parts, self.labour])


@dataclass(frozen=True)
class Money:
    """The same job done at home and in a shop.

    ``rate`` is an hour of the shop, None where not known. ``unpriced`` are the things that are
    ordered and have no price: they come on top. ``converted`` is the currency of the table of
    prices where some of its prices were converted, "" where none were. ``waits``: a lower bar is
    taken, and nothing of it is known before that is put in.
    """

    currency: str
    home: Bill
    shop: Bill
    rate: Range | None
    unpriced: tuple[str, ...] = ()
    converted: str = ""
    waits: bool = False

    def bill(self, by: By) -> Bill:
        """The one of the two."""
        return self.home if by is By.HOME else self.shop


def money(found: Order, labour: Sequence[Labour], job: Job) -> Money:
    """What the order and the work cost. ``labour`` counts every task once."""
    rate, parts = prices.shop_rate(job), found.price
    hours = {
        By.HOME: prices.together([one.home for one in labour]),
        By.SHOP: prices.together([one.shop for one in labour]),
    }
    paid = None if rate is None else (hours[By.SHOP][0] * rate[0], hours[By.SHOP][1] * rate[1])
    costs = {By.HOME: (0.0, 0.0), By.SHOP: paid}
    partial = bool(found.unpriced) or found.waits
    bills = {
        by: Bill(by, parts, hours[by], costs[by], _drives(found, costs[by]), partial) for by in By
    }
    table = price_table().currency
    other = job.currency != table and job.table_rate is not None
    from_table = job.shop_rate is None or any(not one.own_price for one in found.items)
    return Money(
        currency=found.currency,
        home=bills[By.HOME],
        shop=bills[By.SHOP],
        rate=rate,
        unpriced=tuple(
            dict.fromkeys(
                one.line if one.group is Group.LINES and one.line else one.what
                for one in found.unpriced
            )
        ),
        converted=table if other and from_table else "",
        waits=found.waits,
    )


def rounded(given: Range) -> Range:
    """A range of whole numbers that covers ``given``. A price that is known stays as it is."""
    least, most = given
    if least == most:
        return given
    return (float(math.floor(least + _CENT)), float(math.ceil(most - _CENT)))


def _drives(found: Order, labour: Range | None) -> tuple[Share, ...]:
    sums: dict[str, Range] = {}
    for one in found.items:
        if one.price is not None:
            lines = one.group is Group.LINES
            name = one.line if lines else one.what
            sums[name] = prices.together([sums.get(name, (0.0, 0.0)), one.price])
    if labour is not None and labour[1] > 0.0:
        sums[LABOUR] = labour
    total = sum(_middle(one) for one in sums.values())
    shares = [Share(name, one, _middle(one) / total) for name, one in sums.items() if total]
    return tuple(sorted(shares, key=lambda one: -one.share))


def _middle(given: Range) -> float:
    return 0.5 * (given[0] + given[1])


def biggest(drives: Iterable[Share], covered: float = 0.6) -> tuple[Share, ...]:
    """The dearest things that together make up ``covered`` of a sum, at most four of them."""
    found: list[Share] = []
    for one in drives:
        if len(found) == 4 or sum(share.share for share in found) >= covered:
            break
        found.append(one)
    return tuple(found)
