"""What a job costs, in words."""

from __future__ import annotations

import math
from dataclasses import dataclass

from barfit.catalogue import price_table
from barfit.model import By, Range
from barfit.report.phrases import capital, listed
from barfit.report.plain import known
from barfit.workshop.money import LABOUR, Bill, Money, Share, biggest, rounded

INVENTED = (
    "Prices come from a table of invented ranges, so do hours and days: put in what you were "
    "quoted. Only what parts and work come to together is rounded: outwards, to a whole number."
)
BARS_FIRST = (
    "Put such a bar in as the new bars first ('Try it' in the window does so): order, price and "
    "days of it are not known yet."
)
_WHO = {By.HOME: "at home", By.SHOP: "in a shop"}


def who_words(by: By) -> str:
    """Where the work is done: "at home", "in a shop"."""
    return _WHO[by]


def amount_text(given: Range | None, currency: str) -> str:
    """A price: "USD 45–110", "USD 0.80–2", "not known"."""
    if given is None:
        return "not known"
    return f"{currency} {_span(*map(_number, given))}"


def exact_text(given: Range, currency: str) -> str:
    """A price to the last hundredth, where others are to add up to it: "USD 294.20–779"."""
    least, most = (f"{end:,.2f}".removesuffix(".00") for end in given)
    return f"{currency} {_span(least, most)}"


def sum_text(given: Range | None, currency: str, partial: bool = False) -> str:
    """A sum to the last hundredth, as it adds up: "USD 303.10–467"; of a ``partial`` one, in which
    something has no price, only its least: "at least USD 303.10".
    """
    if given is None:
        return "not known"
    return _at_least(given[0], currency) if partial else exact_text(given, currency)


def total_text(bill: Bill, currency: str) -> str:
    """Parts and work together, added up before anything is rounded; rounded once, outwards."""
    if bill.total is None:
        return "not known"
    return sum_text(rounded(bill.total), currency, bill.partial)


def _at_least(amount: float, currency: str) -> str:
    if amount == 0.0:
        return "not known"
    return f"at least {exact_text((amount, amount), currency)}"


def hours_text(given: Range) -> str:
    """Hours, of a task as of all: "0.5–0.8 h". To the tenth, so that tasks add up to the sum, and
    the sum is the same wherever it is told.
    """
    least, most = (f"{hours:.1f}" for hours in given)
    return f"{_span(least, most)} h"


def days_text(given: Range) -> str:
    """How long until it is here: "2–7 days", "up to 3 days", "1 day"."""
    least, most = (f"{days:.0f}" for days in given)
    if most == "0":
        return "at once"
    plural = "" if most == "1" else "s"
    return f"up to {most} day{plural}" if least == "0" else f"{_span(least, most)} day{plural}"


def money_rows(money: Money, so_far: bool = False) -> list[tuple[str, str, str]]:
    """A table of what it costs: a term, at home, in a shop; ``so_far``: more tasks may come, so
    that of hours and work the least is told, as of parts without a price.
    """
    home, shop, currency = money.home, money.shop, money.currency
    at_home, in_shop = (sum_text(one.parts, currency, one.partial) for one in (home, shop))
    rows = [("Parts", at_home, in_shop)]
    if home.hours[1] or shop.hours[1]:
        if so_far:
            at_home, in_shop = (
                f"at least {hours_text((one.hours[0], one.hours[0]))}" for one in (home, shop)
            )
            rows.append(("Hours", at_home, in_shop))
        else:
            rows.append(("Hours", hours_text(home.hours), hours_text(shop.hours)))
        rate = f"{amount_text(money.rate, currency)} an hour"
        paid = "not known" if shop.labour is None else sum_text(shop.labour, currency, so_far)
        rows.append(("Work", "your own", f"{paid}, {rate}" if money.rate else paid))
    rows.append(("Together", total_text(home, currency), total_text(shop, currency)))
    return rows


def beside_sentence(money: Money) -> str:
    """What a shop costs more than doing it at home, and the hours that it is about; "" where the
    shop's work has no price.
    """
    home, shop = money.home, money.shop
    if shop.labour is None or not shop.labour[1]:
        return ""
    return (
        f"In a shop it costs {sum_text(shop.labour, money.currency)} more, for "
        f"{hours_text(shop.hours)} of work; at home it takes {hours_text(home.hours)} of yours."
    )


@dataclass(frozen=True)
class Driver:
    """One thing the cost is made of: its price in words, and its share of both sums (0 to 1; of
    the work none at home).
    """

    name: str
    price: str
    home: float
    shop: float


def drivers(money: Money, most: int = 7) -> list[Driver]:
    """What the cost is made of, the dearest in a shop first; what is beyond ``most`` in one."""
    at_home = {one.name: one.share for one in money.home.drives}
    listed_all = [
        Driver(
            capital(one.name),
            sum_text(one.price, money.currency),
            at_home.get(one.name, 0.0),
            one.share,
        )
        for one in money.shop.drives
    ]
    if len(listed_all) <= most:
        return listed_all
    shown, rest = money.shop.drives[: most - 1], money.shop.drives[most - 1 :]
    least, top = (sum(one.price[end] for one in rest) for end in (0, 1))
    return [
        *listed_all[: len(shown)],
        Driver(
            f"{len(rest)} other things",
            sum_text((least, top), money.currency),
            sum(at_home.get(one.name, 0.0) for one in rest),
            sum(one.share for one in rest),
        ),
    ]


def money_sentences(money: Money, by: By) -> list[str]:
    """What drives the price, and what is not in it."""
    said = [BARS_FIRST if money.waits else drives_sentence(money.bill(by))]
    if money.unpriced:
        which = listed([f"the {name}" for name in money.unpriced])
        said.append(f"Not in these sums, because no price is known: {which}.")
    if money.rate is None:
        said.append(_no_rate(money.currency))
    if money.currency != price_table().currency:
        said.append(f"Prices and rates that were put in are taken as {money.currency}.")
    if money.converted:
        said.append(
            f"What has no price of yours is converted from {money.converted} at the rate given."
        )
    return [text for text in said if text]


def _no_rate(currency: str) -> str:
    table = price_table().currency
    return (
        f"The table's prices are in {table} and nothing is converted unasked: say what one {table} "
        f"costs in {currency} (the exchange rate, 'table_rate' in the file), or "
        "put in prices and the shop's rate."
    )


def drives_sentence(bill: Bill) -> str:
    """What a sum is mostly made of; "" where it is made of nothing."""
    most = biggest(bill.drives)
    if not most:
        return ""
    named = listed([f"{_share_name(one)} ({100.0 * one.share:.0f} %)" for one in most])
    return f"{capital(who_words(bill.by))} most of it is {named}."


def money_values(money: Money) -> dict[str, object]:
    """What it costs as plain values for JSON; unrounded."""
    return {
        "currency": money.currency,
        "shop_rate": range_values(money.rate),
        **{
            str(bill.by): {
                "parts": range_values(bill.parts),
                "hours": range_values(bill.hours),
                "work": range_values(bill.labour),
                "together": range_values(bill.total),
                "made_of": [
                    {
                        "name": one.name,
                        "price": range_values(one.price),
                        "share": known(one.share, 3),
                    }
                    for one in bill.drives
                ],
            }
            for bill in (money.home, money.shop)
        },
        "unpriced": list(money.unpriced),
        "converted_from": money.converted or None,
    }


def range_values(given: Range | None) -> list[float] | None:
    """Least and most for JSON; None where not known."""
    return None if given is None else [round(end, 2) for end in given]


def _share_name(one: Share) -> str:
    return "the work" if one.name == LABOUR else f"the {one.name}"


def _span(least: str, most: str) -> str:
    return least if least == most else f"{least}–{most}"


def _number(value: float) -> str:
    if value < 20.0 and not math.isclose(value, round(value), abs_tol=0.005):
        return f"{value:.2f}"
    return f"{value:,.0f}"
