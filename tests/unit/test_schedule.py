"""The plan on the calendar: parts on their way, one pair of hands, the days there is time."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from made_orders import bundled, remedies, remedy

from barfit.model import By, Job, Setup
from barfit.remedies import Means
from barfit.report.calendar import entries
from barfit.report.money import hours_text
from barfit.report.plan import schedule_sentences, time_words
from barfit.workshop import OrderItem, order
from barfit.workshop.money import money
from barfit.workshop.orders import taken
from barfit.workshop.schedule import Schedule, schedule, waits
from barfit.workshop.tasks import Task, labour, tasks

SATURDAY = date(2026, 11, 28)
HOSE = "front brake hose: 1292 mm"


@pytest.fixture(scope="module")
def setup() -> Setup:
    return bundled("tall-bar-cruiser")


@pytest.fixture(scope="module")
def work(setup: Setup) -> tuple[Task, ...]:
    return tasks(setup, taken(setup, _remedies(setup)))


@pytest.fixture(scope="module")
def items(setup: Setup) -> tuple[OrderItem, ...]:
    return order(setup, _remedies(setup), ()).items


def _remedies(setup: Setup):  # type: ignore[no-untyped-def]
    return remedies(
        remedy(setup, "front brake hose", Means.NEXT_SIZE, 150.0),
        remedy(setup, "clutch cable", Means.NEXT_SIZE, 150.0),
    )


def late(items: tuple[OrderItem, ...], key: str, days: float) -> tuple[OrderItem, ...]:
    """Everything within two days but one thing."""
    return tuple(replace(one, days=(days, days) if one.key == key else (1.0, 2.0)) for one in items)


def all_done(found: Schedule, work: tuple[Task, ...]) -> None:
    """Each task is done whole, after those before it, and on no more hours than a day has."""
    for days in (found.days, found.now):
        done: dict[str, float] = {}
        for day in days:
            for key, hours in day.tasks:
                task = next(one for one in work if one.key == key)
                for need in task.after:
                    other = next(one for one in work if one.key == need)
                    assert done[need] == pytest.approx(other.hours.likely(By.HOME))
                done[key] = done.get(key, 0.0) + hours
        assert {*done} == {task.key for task in work if task.row != "recheck"}
        assert sum(done.values()) == pytest.approx(found.likely)


def test_nothing_begins_before_everything_is_here(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    found = schedule(Job(hours=5.0), work, late(items, HOSE, 13.0), SATURDAY)
    assert not found.ready
    assert found.all_here == (date(2026, 12, 11), date(2026, 12, 11))
    # a Friday; the 6.85 h go into the weekend after it, whose days have 5 h
    assert found.likely == pytest.approx(6.85)
    assert [day.day for day in found.days] == [date(2026, 12, 12), date(2026, 12, 13)]
    assert [one.item.key for one in found.slowest] == [HOSE]
    assert all(day.hours <= 5.0 + 1e-9 for day in found.days)
    all_done(found, work)


def test_what_comes_on_a_day_of_work_is_worked_with_on_the_next(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    found = schedule(Job(), work, late(items, HOSE, 14.0), SATURDAY)
    assert found.all_here == (date(2026, 12, 12), date(2026, 12, 12))
    assert found.days[0].day == date(2026, 12, 13)


def test_starting_now_stands_still_for_the_slowest_part(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    """Bars here within two days; the hose takes thirteen. Saturday and Sunday have time."""
    found = schedule(Job(), work, late(items, HOSE, 13.0), SATURDAY)
    assert found.now[0].day == SATURDAY
    stands = found.standstill
    assert stands is not None
    assert [one.key for one in stands.waiting_for] == [HOSE]
    assert (stands.after, stands.until) == (SATURDAY, date(2026, 12, 12))
    # off the road from 28 November to 12 December instead of on the 12th alone; no day is won
    assert stands.days == 14
    assert found.now[-1].day == found.days[-1].day


def test_with_everything_here_there_is_nothing_to_wait_for(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    job = Job(here=tuple(one.key for one in items), start=date(2026, 12, 2))
    found = schedule(job, work, items, SATURDAY)
    assert found.ready
    assert found.all_here is None
    assert found.missing == ()
    assert found.standstill is None
    assert found.now == found.days
    assert found.days[0].day == date(2026, 12, 5)  # the first Saturday after the day named
    assert found.order_by is None


def test_one_part_not_ticked_holds_everything(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    job = Job(here=tuple(one.key for one in items if one.key != HOSE))
    found = schedule(job, work, late(items, HOSE, 13.0), SATURDAY)
    assert not found.ready
    assert [part.item.key for part in found.missing] == [HOSE]
    assert found.days[0].day == date(2026, 12, 12)


def test_the_slowest_part_has_no_day_to_spare_and_the_others_have(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    found = schedule(Job(), work, late(items, HOSE, 13.0), SATURDAY)
    spare = {part.item.key: part.spare for part in found.parts}
    assert spare[HOSE] == 0.0
    assert f"order: {HOSE}" == found.whole.path[0]
    cable = next(key for key in spare if key.startswith("clutch cable"))
    # 11 days on its way less, but its own work comes before the dry turn as the hose's does
    hours = {task.key: task.hours.likely(By.HOME) for task in work}
    hose = hours["brake_hose: front brake hose"]
    expected = 11.0 + (hose - hours["clutch_cable: clutch cable"]) / 7.0
    assert spare[cable] == pytest.approx(expected)


def test_hands_enough_are_quicker_than_one_pair(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    found = schedule(Job(), work, items, SATURDAY)
    assert found.hands.length < found.likely
    assert found.hours[0] < found.likely < found.hours[1]
    assert found.hands.path[0] == "baseline"
    assert found.hands.path[-1] == "road_test"


def test_short_days_take_more_of_them_and_long_tasks_go_on(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    job = Job(hours=0.5, days=(0, 1, 2, 3, 4), here=tuple(one.key for one in items))
    found = schedule(job, work, items, SATURDAY)
    assert all(day.day.weekday() < 5 for day in found.days)
    assert all(day.hours <= 0.5 + 1e-9 for day in found.days)
    all_done(found, work)


def test_the_last_day_to_order_is_told_where_a_day_is_named(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    job = Job(start=date(2027, 1, 9))
    found = schedule(job, work, late(items, HOSE, 13.0), SATURDAY)
    assert found.order_by == date(2027, 1, 9) - timedelta(14)
    assert found.days[0].day == date(2027, 1, 9)


def test_a_workshop_needs_fewer_hours(work: tuple[Task, ...], items: tuple[OrderItem, ...]) -> None:
    home = schedule(Job(), work, items, SATURDAY)
    shop = schedule(Job(by=By.SHOP), work, items, SATURDAY)
    assert shop.likely < home.likely
    # on its own days: 28 November 2026 is a Saturday
    assert all(day.day.weekday() in (5, 6) for day in home.days)
    assert all(day.day.weekday() < 5 for day in shop.days)


def test_nothing_is_done_on_closed_days(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    job = Job(here=tuple(one.key for one in items), hours=4.0)
    free = schedule(job, work, items, SATURDAY)
    assert [day.day for day in free.days[:2]] == [SATURDAY, date(2026, 11, 29)]
    shut = ((date(2026, 11, 29), date(2026, 12, 5)),)
    found = schedule(replace(job, closed=shut), work, items, SATURDAY)
    assert [day.day for day in found.days[:2]] == [SATURDAY, date(2026, 12, 6)]
    all_done(found, work)
    days = entries(found, work, "machine")
    assert not any(date(2026, 11, 29) <= one.first <= date(2026, 12, 5) for one in days if one.busy)
    assert time_words(replace(job, closed=shut)) == (
        "Saturdays and Sundays, 4 h each; closed on Sunday 29 November 2026 to Saturday 5 December "
        "2026"
    )
    assert time_words(Job(by=By.SHOP)) == "Mondays to Fridays, 8 h each"


def test_each_part_is_waited_for_by_the_work_it_is_for(
    work: tuple[Task, ...], items: tuple[OrderItem, ...]
) -> None:
    needs = {one.key: waits(one, work) for one in items}
    assert needs[HOSE] == ("brake_hose: front brake hose",)
    assert needs["washers, front brake: 4"] == ("brake_hose: front brake hose",)
    assert needs["fluid, DOT 4: 1"] == ("bleed_brake: front brake",)
    assert needs["bar: tall, 12 in rise"] == ("bar_fit",)
    assert all(needs.values())


@pytest.fixture(scope="module")
def doubted(items: tuple[OrderItem, ...]) -> tuple[OrderItem, ...]:
    """The hose's length is not sure: the riser is measured again before it is ordered."""
    return tuple(
        replace(one, unsure=True, measure=("riser",)) if one.key == HOSE else one
        for one in late(items, HOSE, 10.0)
    )


def _measured(setup: Setup, doubted: tuple[OrderItem, ...]) -> tuple[Task, ...]:
    return tasks(setup, taken(setup, _remedies(setup)), items=doubted)


def test_what_is_not_sure_is_measured_for_on_the_first_day_and_ordered_after(
    setup: Setup, doubted: tuple[OrderItem, ...]
) -> None:
    """Ordered on a Monday with time at weekends alone, it waits for the Saturday."""
    work = _measured(setup, doubted)
    monday = date(2026, 11, 30)
    found = schedule(Job(), work, doubted, monday)
    first = work[0]
    assert (first.row, first.things, first.lines) == ("measure", ("riser",), ("front brake hose",))
    assert [day.day for day in found.measuring] == [date(2026, 12, 5)]
    assert found.measured == date(2026, 12, 5)
    on_way = {part.item.key: part for part in found.parts}
    assert on_way[HOSE].latest == date(2026, 12, 15)  # ten days after the Saturday
    assert all(part.latest <= date(2026, 12, 2) for key, part in on_way.items() if key != HOSE)  # type: ignore[operator]
    assert found.days[0].day == date(2026, 12, 19)
    # in the network: measuring, then the hose's days on its way, then the hose
    path = found.whole.path
    assert path[:2] == ("measure", f"order: {HOSE}")
    times = found.whole.times
    assert times["measure"].early_end == 5.0
    assert times[f"order: {HOSE}"].early_end == 15.0
    assert "measure" in found.hands.path
    told = [(entry.key, entry.first) for entry in entries(found, work, "machine")][:3]
    assert told == [
        ("measure", found.measured),
        ("order", monday),
        ("order measured", found.measured),
    ]


def test_measuring_is_in_every_sum(setup: Setup, doubted: tuple[OrderItem, ...]) -> None:
    """0.3 to 0.8 h at home and 0.2 to 0.5 h in a shop (the table), on top of the same work."""
    work = _measured(setup, doubted)
    without = [task for task in work if task.row != "measure"]
    for by, least, most in ((By.HOME, 0.3, 0.8), (By.SHOP, 0.2, 0.5)):
        job = Job(by=by)
        found = schedule(job, work, doubted, SATURDAY)
        assert found.all_hours[0] == pytest.approx(sum(t.hours.by(by)[0] for t in without) + least)
        assert found.all_hours[1] == pytest.approx(sum(t.hours.by(by)[1] for t in without) + most)
        bill = money(order(setup, (), ()), labour(work), job).bill(by)
        assert bill.hours == pytest.approx(found.all_hours)
        assert hours_text(found.all_hours) in schedule_sentences(found, job)[0]


def test_on_the_day_of_measuring_there_is_less_time_for_the_rest(
    setup: Setup, doubted: tuple[OrderItem, ...]
) -> None:
    work = _measured(setup, doubted)
    found = schedule(Job(hours=3.0), work, doubted, SATURDAY)
    assert found.measuring[0].day == found.now[0].day == SATURDAY
    assert found.measuring[0].hours + found.now[0].hours <= 3.0 + 1e-9


def test_what_is_here_is_not_measured_for(setup: Setup, doubted: tuple[OrderItem, ...]) -> None:
    here = replace(setup, job=replace(setup.job, here=(HOSE,)))
    work = _measured(here, doubted)
    assert all(task.row != "measure" for task in work)
    assert schedule(here.job, work, doubted, SATURDAY).measuring == ()
