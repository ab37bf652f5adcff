"""Days in words, the same on every computer."""

from __future__ import annotations

from datetime import date

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def day_text(day: date, now: date | None = None) -> str:
    """A day: "Saturday 12 December", with the year where it is not that of ``now``."""
    year = f" {day.year}" if now is None or day.year != now.year else ""
    return f"{DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]}{year}"


def month_text(day: date) -> str:
    """A month: "December 2028"."""
    return f"{_MONTHS[day.month - 1]} {day.year}"


def years_later(day: date, years: int) -> date:
    """The same day so many years later; of a 29 February the day after where there is none."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)
