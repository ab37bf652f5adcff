"""Whether the check list may be signed, and what a signature on it is worth, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from barfit.analysis import LineFinding
from barfit.model import Setup, changed_since_signed
from barfit.report.cautions import brief
from barfit.report.checklist import check_title
from barfit.report.dates import day_text
from barfit.report.phrases import capital, listed
from barfit.report.remarks import Remark, rejects
from barfit.workshop.blocked import MAY_BEGIN
from barfit.workshop.check import Check, Topic, answered, tick_of

NAMED = 3  # of the checks that are open: the others are in the list itself


def open_checks(setup: Setup, found: Iterable[Check]) -> list[Check]:
    """The checks that have no answer yet."""
    return [one for one in found if not answered(one, tick_of(setup.job, one.key))]


def before_riding(found: Iterable[Check]) -> list[Check]:
    """Those that have to have their answer before the list is signed. What comes after the first
    kilometres, or years later, cannot.
    """
    return [one for one in found if one.topic is not Topic.LATER]


def refusals(findings: Iterable[LineFinding], remarks: Iterable[Remark]) -> list[str]:
    """Why nobody may sign for a machine, whatever is ticked: what makes its bars unacceptable, and
    the lines that are not right; both of the setup as it is when the work is done.
    """
    wrong = [one for one in findings if not one.fits and one.verdict not in MAY_BEGIN]
    return [
        *(brief(one) for one in rejects(remarks)),
        *(f"{capital(one.line)}: {one.verdict}" for one in wrong),
    ]


def refused_words(refused: Sequence[str]) -> str:
    """That it cannot be signed as it stands; "" where nothing is in the way."""
    if not refused:
        return ""
    more = f", and {len(refused) - 1} more" if len(refused) > 1 else ""
    return f"Not to be signed as it stands: not acceptable. {refused[0]}{more}."


def count_words(setup: Setup, found: Sequence[Check]) -> str:
    """How many checks are open: "2 of 31 checks are open, both for later"; "" for none."""
    left = open_checks(setup, found)
    if not left:
        return ""
    told = f"{len(left)} of {len(found)} checks {'is' if len(left) == 1 else 'are'} open"
    later = len(left) - len(before_riding(left))
    if not later:
        return told
    if later < len(left):
        return f"{told}, {later} of them for later"
    return f"{told}, {({1: '', 2: 'both '}).get(later, 'all ')}for later"


def waiting_words(setup: Setup, found: Sequence[Check]) -> str:
    """What has to have its answer before anybody signs; "" where nothing has."""
    left = before_riding(open_checks(setup, found))
    if not left:
        return ""
    names = [f"'{check_title(one)}'" for one in left[:NAMED]]
    if len(left) > NAMED:
        names.append(f"{len(left) - NAMED} more")
    return f"To be answered before it can be signed: {listed(names)}."


def released(setup: Setup, found: Sequence[Check], refused: bool) -> bool:
    """Whether the signature there is stands for all that has to be checked before riding."""
    whole = not before_riding(open_checks(setup, found))
    signed = setup.job.signed is not None and not changed_since_signed(setup)
    return signed and whole and not refused


def signed_text(setup: Setup, found: Sequence[Check], refused: bool = False) -> str:
    """Who signed, whether that still holds, and what is still open. ``refused``: the bars are not
    acceptable, or a line is not right, as `refusals` has it.
    """
    by, count = setup.job.signed, count_words(setup, found)
    told = count or "every check has its answer"
    if by is None:
        return f"{capital(told)}; nobody has signed."
    on = f" on {day_text(by.on)}" if by.on else ""
    who = f"Signed by {by.name}{on}"
    if changed_since_signed(setup):
        return f"{who}, and changed since: that signature no longer counts. {capital(told)}."
    if refused:
        return (
            f"{who}, but this is not acceptable as it stands: that signature does not count. "
            f"{capital(told)}."
        )
    if not released(setup, found, refused):
        return f"{who}, but {told}: that signature does not count until they have their answers."
    return f"{who}; {told}."
