"""Dates as a calendar file (iCalendar, RFC 5545), that calendar programs read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import NAMESPACE_URL, uuid5

from icalendar import Calendar, Event

import barfit


@dataclass(frozen=True)
class Entry:
    """Whole days in a calendar, from ``first`` to ``last``. ``key`` is its own within one job and
    the same from one run to the next: read again, a calendar moves it instead of adding another.
    ``busy`` says that the days are taken.
    """

    key: str
    first: date
    last: date
    summary: str
    text: str = ""
    busy: bool = False


def calendar_file(entries: Iterable[Entry], job: str, stamp: datetime) -> bytes:
    """The entries as a calendar file; ``job`` is what the job is called, by which its entries are
    told from those of another, ``stamp`` when the file is made. Raises ValueError for a stamp
    without a time zone.
    """
    if stamp.tzinfo is None:
        raise ValueError(f"the stamp {stamp} has no time zone")
    file = Calendar()
    file.add("prodid", f"-//barfit//barfit {barfit.__version__}//EN")
    file.add("version", "2.0")
    file.add("calscale", "GREGORIAN")
    file.add("method", "PUBLISH")
    for entry in entries:
        event = Event()
        event.add("uid", f"{uuid5(NAMESPACE_URL, f'barfit:{job}:{entry.key}')}@barfit")
        event.add("dtstamp", stamp.astimezone(UTC))
        event.add("dtstart", entry.first)
        event.add("dtend", entry.last + timedelta(1))  # the first day that is free again
        event.add("summary", entry.summary)
        if entry.text:
            event.add("description", entry.text)
        event.add("transp", "OPAQUE" if entry.busy else "TRANSPARENT")
        file.add_component(event)
    return bytes(file.to_ical())
