"""What is said of the work and the plan, word for word."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from made_orders import bundled, remedies, remedy

from barfit.model import By, Job
from barfit.remedies import Means
from barfit.report.dates import day_text, years_later
from barfit.report.money import hours_text
from barfit.report.plan import NO_DAY, days_words, gate_sentence, schedule_sentences
from barfit.report.work import about_text, reason_text, task_title
from barfit.workshop import OrderItem, order
from barfit.workshop.orders import taken
from barfit.workshop.schedule import WorkDay, schedule
from barfit.workshop.tasks import Task, tasks

SATURDAY = date(2026, 11, 28)


@pytest.fixture(scope="module")
def job() -> tuple[tuple[Task, ...], tuple[OrderItem, ...]]:
    """A brake hose that takes 13 days, everything else here in two."""
    setup = bundled("tall-bar-cruiser")
    found = remedies(
        remedy(setup, "front brake hose", Means.NEXT_SIZE, 150.0),
        remedy(setup, "clutch cable", Means.NEXT_SIZE, 150.0),
    )
    items = tuple(
        replace(one, days=(13.0, 13.0) if one.item == "brake_hose" else (2.0, 2.0))
        for one in order(setup, found, ()).items
    )
    return tasks(setup, taken(setup, found)), items


def test_the_plan_in_sentences(job: tuple[tuple[Task, ...], tuple[OrderItem, ...]]) -> None:
    """The table's hours summed by hand: 4.9 to 8.8 h at home, 6.85 h in the middle; with the second
    look 5.1 to 9.2 h, 7.15 h in the middle.
    """
    plan = schedule(Job(hours=5.0), *job, SATURDAY)
    assert schedule_sentences(plan, Job(hours=5.0)) == [
        "Everything here by Friday 11 December at the latest, every day of the week counted. In "
        "all about 7 h (5.1–9.2 h): the work on one weekend, Saturday 12 December and the Sunday "
        "after it; after 50 to 100 km the second look.",
        "Begin before everything is here, and the machine is off the road 13 days longer: in "
        "pieces until Saturday 12 December, waiting for the front brake hose. Only if nothing "
        "comes late or wrong is it done 1 day sooner.",
        "The front brake hose decides: a day later on the way is a day later at the end; "
        "everything else may come 10 days later.",
        "One person alone at home is reckoned with; with hands enough the longest chain of tasks "
        "takes about 6 h.",  # the tank is off before the lines come off at the bars
    ]
    assert gate_sentence(plan) == (
        "Nothing is begun before every part is here and has been held against the old one: 7 of 7 "
        "are missing."
    )


def test_the_plan_with_everything_here(
    job: tuple[tuple[Task, ...], tuple[OrderItem, ...]],
) -> None:
    # 2.9 to 5.8 h by hand, and 0.1 to 0.3 h for the second look
    here = Job(by=By.SHOP, days=(0,), here=tuple(one.key for one in job[1]))
    plan = schedule(here, *job, SATURDAY)
    assert gate_sentence(plan) == "Every part is here: the work may start."
    assert gate_sentence(plan, blocked=True) == (
        "Every part is here, but something has to be mended before the work starts."
    )
    (barred,) = schedule_sentences(plan, here, blocked=True)
    assert barred.endswith(f"). {NO_DAY}")
    first, hands = schedule_sentences(plan, here)
    assert first == (
        "In all about 4.5 h (3.0–6.1 h): the work on one day, Monday 30 November; after 50 to 100 "
        "km the second look."
    )
    assert hands.startswith("One person alone in a shop is reckoned with")
    assert gate_sentence(schedule(here, job[0], (), SATURDAY)).startswith("Nothing has to be")


def test_days_that_only_do_if_all_goes_well_are_said_to(
    job: tuple[tuple[Task, ...], tuple[OrderItem, ...]],
) -> None:
    # 2.9 to 5.8 h by hand, about 4.4 of them in one day of 4.5 h: 1.3 h may be left for another
    here = Job(
        by=By.SHOP, days=(0,), hours=4.5, shop_hours=4.5, here=tuple(one.key for one in job[1])
    )
    first, _ = schedule_sentences(schedule(here, *job, SATURDAY), here)
    assert first == (
        "In all about 4.5 h (3.0–6.1 h): the work on one day, Monday 30 November (if all of it "
        "takes longest, 1 day more); after 50 to 100 km the second look."
    )


def test_a_day_named_too_soon_is_said(
    job: tuple[tuple[Task, ...], tuple[OrderItem, ...]],
) -> None:
    soon = Job(start=date(2026, 12, 5))
    said = schedule_sentences(schedule(soon, *job, SATURDAY), soon)
    assert (
        "To begin on Saturday 5 December with everything here it had to be ordered by Saturday 21 "
        "November, and that has passed: order today; then it begins on Saturday 12 December, and "
        "sooner only if all of it comes sooner."
    ) in said


def test_a_day_to_begin_on_without_time_for_it_is_moved(
    job: tuple[tuple[Task, ...], tuple[OrderItem, ...]],
) -> None:
    """In January 2027 the 5th is a Tuesday: the weekend after it begins on the 9th; 14 days before
    that is 26 December. 27 November 2026 is over on the 28th, which is a Saturday itself.
    """

    def told(start: date) -> str:
        named = Job(start=start)
        plan = schedule(named, *job, SATURDAY)
        return next(one for one in schedule_sentences(plan, named) if "To begin" in one)

    assert told(date(2027, 1, 5)) == (
        "Tuesday 5 January 2027 is no day on which there is time: the first after it is Saturday 9 "
        "January 2027. To begin then with everything here, order by Saturday 26 December at the "
        "latest."
    )
    assert told(date(2026, 11, 27)).startswith(
        "Friday 27 November has passed: the first day on which there is time now is Saturday 28 "
        "November. To begin then with everything here it had to be ordered by Saturday 14 November"
    )
    here = Job(start=date(2026, 12, 1), here=tuple(one.key for one in job[1]))
    plan = schedule(here, *job, SATURDAY)
    assert plan.begin == plan.days[0].day == date(2026, 12, 5)
    assert (
        "Tuesday 1 December is no day on which there is time: the first after it is Saturday 5 "
        "December."
    ) in schedule_sentences(plan, here)


def test_days_in_words() -> None:
    def words(*days: date) -> str:
        return days_words([WorkDay(day, (("a", 1.0),)) for day in days], SATURDAY)

    assert words(date(2027, 1, 2)) == "one day, Saturday 2 January 2027"
    assert words(date(2026, 12, 5), date(2026, 12, 8)) == (
        "two days, Saturday 5 December and Tuesday 8 December"
    )
    assert words(date(2026, 12, 5), date(2026, 12, 6), date(2026, 12, 12)) == (
        "3 days from Saturday 5 December to Saturday 12 December"
    )
    assert words() == "no day on which there is time was found"
    assert day_text(date(2027, 3, 1)) == "Monday 1 March 2027"
    assert years_later(date(2028, 2, 29), 2) == date(2030, 3, 1)


def test_reasons_are_gathered_and_not_repeated(
    job: tuple[tuple[Task, ...], tuple[OrderItem, ...]],
) -> None:
    by_key = {task.key: task for task in job[0]}
    assert reason_text(by_key["controls_off"]) == "because the bars are changed"
    assert reason_text(by_key["drain: front brake"]) == "because the front brake hose is replaced"
    assert reason_text(by_key["clutch_cable: clutch cable"]) == ""  # its title says it
    assert task_title(by_key["lock_to_lock"]).startswith("HOLD POINT: ")
    setup = bundled("touring-hydraulic")
    every = {
        line.name: remedy(setup, line.name, Means.MADE_UP, 60.0)
        for line in setup.lines
        if line.kind != "brake_hose"
    }
    (fairing,) = [task for task in tasks(setup, every) if task.row == "fairing_off"]
    assert reason_text(fairing) == (
        "because the clutch hose, the ride-by-wire lead, the left switch harness and 3 other lines "
        "are replaced"
    )


def test_hours_in_words() -> None:
    assert (about_text(8.8), about_text(9.3), about_text(0.1)) == (
        "about 9 h",
        "about 9.5 h",
        "about 0.5 h",
    )
    assert hours_text((0.5, 0.8)) == "0.5–0.8 h"
