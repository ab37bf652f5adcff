"""Taking an edit into the session, or saying why it cannot be."""

from __future__ import annotations

from barfit import scenario
from barfit.analysis import problems
from barfit.model import Setup
from barfit.session import Session


def refusal(setup: Setup) -> str:
    """Why a setup can be neither saved nor laid out, in sentences; "" where it can."""
    told = [str(problem).rstrip(".") + "." for problem in scenario.refusals(setup)]
    return " ".join(told or problems(setup))


def take_in(session: Session, setup: Setup, step: str) -> str:
    """Make the edited setup the session's, as one step; gives why not, "" where it was done.

    A setup that was broken before may be mended one value at a time: what was wrong already does
    not stand against an edit.
    """
    why = refusal(setup)
    if why and why != refusal(session.setup):
        return why
    session.edit(setup, step)
    return ""
