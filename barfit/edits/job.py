"""What was done about a job: checks ticked off, parts arrived, the list signed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from barfit.model import Job, Setup, Signature, Tick, signed_of


def ticked(job: Job, key: str, /, **fields: Any) -> Job:
    """Fields of a check's `Tick` changed (``done``, ``note``, ``found``), the others as they were;
    one that says nothing any more is not kept.
    """
    old = next((one for one in job.ticks if one.key == key), Tick(key))
    new = replace(old, **fields)
    kept = [new if one.key == key else one for one in job.ticks]
    if new not in kept:
        kept.append(new)
    return replace(job, ticks=tuple(one for one in kept if one != Tick(one.key)))


def arrived(job: Job, key: str, here: bool = True) -> Job:
    """An ordered part ticked as here, by the key of its item; or not ``here`` after all."""
    if here == (key in job.here):
        return job
    kept = tuple(one for one in job.here if one != key)
    return replace(job, here=(*kept, key) if here else kept)


def signed(setup: Setup, name: str, on: date | None = None) -> Setup:
    """The check list of a setup signed by somebody; with an empty name it is signed by nobody."""
    name = name.strip()
    by = Signature(name, on, signed_of(setup)) if name else None
    return replace(setup, job=replace(setup.job, signed=by))
