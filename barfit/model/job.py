"""What is kept of the job itself: what was chosen, prices, dates, what is ticked off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

Range = tuple[float, float]
"""The least and the most of a price, a rate or a number of days."""


class By(StrEnum):
    """Who does the work."""

    HOME = "home"
    SHOP = "shop"


@dataclass(frozen=True)
class Choice:
    """What is to be done about a line: the key of one of its remedies."""

    line: str
    remedy: str


@dataclass(frozen=True)
class Price:
    """What one thing costs here, in place of the table's price: its key there, and the range in the
    job's currency.
    """

    item: str
    range: Range


@dataclass(frozen=True)
class SetPart:
    """One line in a seller's complete set: a kind of line, for which line if the seller says.

    ``length`` mm, as sold; None where the seller gives ``longer``, mm over stock, instead.
    """

    kind: str
    line: str = ""
    length: float | None = None
    longer: float | None = None
    quantity: int = 1


@dataclass(frozen=True)
class SellersSet:
    """A complete set of lines as one seller offers it."""

    name: str
    price: Range
    parts: tuple[SetPart, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Tick:
    """One thing ticked off: its key, a remark, and what was found, in the unit of the check."""

    key: str
    done: bool = False
    note: str = ""
    found: float | None = None


@dataclass(frozen=True)
class Signature:
    """Who signed the check list, and when. ``of`` tells what was signed (`barfit.model.signed_of`),
    "" where that is not known.
    """

    name: str
    on: date | None = None
    of: str = ""


@dataclass(frozen=True)
class Job:
    """The job of fitting the new bars, as far as somebody decided or did anything about it.

    ``currency`` is three letters (ISO 4217). ``table_rate`` is what one unit of the price table's
    currency costs in it, None where nobody said: nothing is converted then. ``shop_rate`` is for an
    hour, None for the table's. ``start`` is the day from which there is time; ``days`` the weekdays
    on which there is (0 is Monday; ISO 8601 less one; ascending), ``hours`` how many on each;
    ``shop_days`` and ``shop_hours`` are the workshop's own (Monday to Friday, 8 h: common
    practice). Nothing is done on ``closed`` days, whoever does it: first and last of each span,
    ascending.
    ``choices`` is what is done about each line, the best remedy where it says nothing. ``here`` are
    the keys of ordered parts that have arrived. ``ticks`` are those of the check list.
    """

    currency: str = "USD"
    table_rate: float | None = None
    by: By = By.HOME
    shop_rate: Range | None = None
    start: date | None = None
    days: tuple[int, ...] = (5, 6)
    hours: float = 7.0
    shop_days: tuple[int, ...] = (0, 1, 2, 3, 4)
    shop_hours: float = 8.0
    closed: tuple[tuple[date, date], ...] = ()
    choices: tuple[Choice, ...] = ()
    prices: tuple[Price, ...] = ()
    sets: tuple[SellersSet, ...] = ()
    here: tuple[str, ...] = ()
    ticks: tuple[Tick, ...] = ()
    signed: Signature | None = None

    @property
    def work_days(self) -> tuple[int, ...]:
        """The weekdays of whoever does it."""
        return self.shop_days if self.by is By.SHOP else self.days

    @property
    def day_hours(self) -> float:
        """Hours a day of whoever does it."""
        return self.shop_hours if self.by is By.SHOP else self.hours

    def open_on(self, day: date) -> bool:
        """Whether there is time on a day."""
        closed = any(first <= day <= last for first, last in self.closed)
        return day.weekday() in self.work_days and not closed
