"""What a signature on the check list was given for, and whether it still is so."""

from __future__ import annotations

import hashlib
from dataclasses import replace

from barfit.model.job import Job
from barfit.model.setup import Setup

LATER = ("looked at again", "fluid change")
"""How the keys of checks begin that are answered after the first ride, the list signed before."""


def signed_of(setup: Setup) -> str:
    """A short digest of all that a signature is about: machine, bars and lines, what is done about
    each line, and every tick but those for later. Prices, days and the place of the file change
    nothing in it.
    """
    ticks = [one for one in setup.job.ticks if not one.key.startswith(LATER)]
    about = Job(
        choices=tuple(sorted(setup.job.choices, key=lambda one: one.line)),
        ticks=tuple(sorted(ticks, key=lambda one: one.key)),
    )
    told = repr(replace(setup, job=about, unit="mm"))
    return hashlib.sha256(told.encode()).hexdigest()[:12]


def changed_since_signed(setup: Setup) -> bool:
    """Whether ticks or setup were changed after the check list was signed, as far as is known."""
    by = setup.job.signed
    return by is not None and bool(by.of) and by.of != signed_of(setup)
