"""Whether something has to be mended before any work is begun."""

from __future__ import annotations

from collections.abc import Iterable

from barfit.analysis import LineFinding, Verdict
from barfit.workshop.orders import Order
from barfit.workshop.together import Together

# A line that may be long enough is measured again, one that rubs sleeved: neither stops the work.
MAY_BEGIN = (Verdict.UNCERTAIN, Verdict.RUBS)


def blocked(
    found: Order, done: Together, then: Iterable[LineFinding] | None, rejected: bool
) -> bool:
    """Whether the work is not to be begun: the bars are not acceptable with everything done
    (``rejected``), a lower bar is taken and not put in, nothing was found for a line, what is done
    contradicts itself, or a line does not fit even ``then`` (None where that is not known yet).
    """
    if rejected or found.waits or found.open_lines or done.clash or done.problems:
        return True
    return any(not one.fits and one.verdict not in MAY_BEGIN for one in then or ())
