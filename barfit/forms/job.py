"""The form of the job: who does it, when there is time for it, what an hour costs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from barfit.forms.fields import Field, Group, fields_of
from barfit.model import Price, Setup
from barfit.scenario.job import Amount, JobTable

_TIME = ("start", "days", "hours")
_MONEY = ("currency", "shop_rate", "table_rate")


def job_groups(setup: Setup) -> tuple[Group, ...]:
    """When there is time, and what money it is about."""

    def change(key: str, value: Any) -> Setup:
        return replace(setup, job=replace(setup.job, **{key: value}))

    fallbacks = {
        "start": "from today on",
        "shop_rate": "as in the table of prices",
        "table_rate": "nothing is converted",
    }

    def fields(keys: tuple[str, ...]) -> tuple[Field, ...]:
        return fields_of(JobTable, setup.job, change, form="job", keys=keys, fallbacks=fallbacks)

    return (Group("Time for it", fields(_TIME)), Group("Money", fields(_MONEY)))


def price_field(setup: Setup, item: str, label: str) -> Field:
    """What one thing costs here; left out, what the table of prices says."""
    own = next((one.range for one in setup.job.prices if one.item == item), None)

    def change(_key: str, value: Any) -> Setup:
        others = tuple(one for one in setup.job.prices if one.item != item)
        new = () if value is None else (Price(item, value),)
        return replace(setup, job=replace(setup.job, prices=(*others, *new)))

    return Field(
        key=item,
        label=label,
        tip="What it costs where you buy: one number, or the least and the most, like 60 to 90.",
        value=own,
        reader=Amount(),
        change=change,
        step=f"Price of {label}",
        optional=True,
        fallback="as in the table of prices",
    )
