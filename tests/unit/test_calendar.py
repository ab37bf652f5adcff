"""Calendar files, read back by another library (vobject) and held against RFC 5545."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
import vobject
from made_orders import bundled, remedies, remedy

from barfit.model import Job
from barfit.remedies import Means
from barfit.report.calendar import entries
from barfit.workshop import order
from barfit.workshop.calendar import Entry, calendar_file
from barfit.workshop.orders import taken
from barfit.workshop.schedule import schedule
from barfit.workshop.tasks import tasks

STAMP = datetime(2026, 11, 28, 12, 0, tzinfo=UTC)
HARD = Entry(
    "work 1",
    date(2026, 12, 12),
    date(2026, 12, 13),
    "Größe, 7 mm; Ø \\ and a comma",
    "first line\n" + "a long line, with ümlauts " * 12,
    busy=True,
)


def read(raw: bytes) -> list[vobject.base.Component]:
    return list(vobject.readOne(raw.decode("utf-8")).vevent_list)


def test_another_library_reads_what_was_written() -> None:
    (event,) = read(calendar_file([HARD], "job", STAMP))
    assert event.summary.value == HARD.summary
    assert event.description.value == HARD.text
    assert event.dtstart.value == date(2026, 12, 12)
    assert event.dtend.value == date(2026, 12, 14)  # RFC 5545, 3.6.1: the end is not inside
    assert event.dtstamp.value == STAMP
    assert event.transp.value == "OPAQUE"


def test_lines_are_folded_and_ended_as_the_standard_asks() -> None:
    """RFC 5545, 3.1: lines of 75 octets at the most, ended by CR and LF; 3.4: what comes first."""
    raw = calendar_file([HARD], "job", STAMP)
    assert raw.count(b"\n") == raw.count(b"\r\n")
    assert max(map(len, raw.split(b"\r\n"))) <= 75
    assert raw.startswith(b"BEGIN:VCALENDAR\r\n")
    calendar = vobject.readOne(raw.decode("utf-8"))
    assert calendar.version.value == "2.0"
    assert calendar.prodid.value.startswith("-//barfit//")


def test_the_same_job_gives_the_same_file_and_the_same_names() -> None:
    first = calendar_file([HARD], "job", STAMP)
    assert calendar_file([HARD], "job", STAMP) == first
    later = replace(HARD, first=date(2027, 1, 2), last=date(2027, 1, 2))
    (event,), (moved,) = read(first), read(calendar_file([later], "job", STAMP))
    assert event.uid.value == moved.uid.value  # a calendar moves it
    (other,) = read(calendar_file([HARD], "another job", STAMP))
    assert other.uid.value != event.uid.value


def test_a_stamp_is_in_universal_time() -> None:
    there = STAMP.astimezone(timezone(timedelta(hours=5)))
    assert calendar_file([HARD], "job", there) == calendar_file([HARD], "job", STAMP)
    with pytest.raises(ValueError, match="no time zone"):
        calendar_file([HARD], "job", STAMP.replace(tzinfo=None))


def test_a_whole_job_stands_in_the_calendar_on_its_days() -> None:
    setup = bundled("tall-bar-cruiser")
    found = remedies(remedy(setup, "front brake hose", Means.NEXT_SIZE, 150.0))
    work = tasks(setup, taken(setup, found))
    items = order(setup, found, ()).items
    plan = schedule(Job(hours=4.0), work, items, date(2026, 11, 28))
    events = read(calendar_file(entries(plan, work, setup.machine.name), setup.title, STAMP))
    assert len({event.uid.value for event in events}) == len(events)
    days = {event.summary.value: event.dtstart.value for event in events}
    told = [text.split(":")[0] for text in days]
    assert told[:2] == ["Order the parts", "Everything has to be here"]
    assert plan.all_here is not None
    assert list(days.values())[:2] == [date(2026, 11, 28), plan.all_here[1]]
    worked = [event for event in events if event.summary.value.startswith("Handlebars")]
    assert [event.dtstart.value for event in worked] == [day.day for day in plan.days]
    assert sum("HOLD POINT" in event.description.value for event in worked) == 1
    assert all("lock to lock by hand" in event.description.value for event in worked)
    last = plan.days[-1].day
    assert days[next(text for text in days if text.startswith("Change the fluid"))] == date(
        last.year + 2, last.month, last.day
    )
    assert days[next(text for text in days if text.startswith("After 50"))] == plan.recheck
    assert "brake" in " ".join(event.description.value for event in events)


def test_with_everything_here_nothing_is_ordered_and_without_fluid_none_is_changed() -> None:
    setup = bundled("tall-bar-cruiser")
    work = tasks(setup, {})
    plan = schedule(Job(), work, (), date(2026, 11, 28))
    told = [entry.key for entry in entries(plan, work, "machine")]
    assert told == [*(f"work {n + 1}" for n in range(len(plan.days))), "recheck"]
