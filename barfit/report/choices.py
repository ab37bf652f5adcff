"""What was chosen for lines and cannot be done, or not so, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from barfit.model import Setup
from barfit.remedies import Remedies
from barfit.report.remedies import gone_sentence
from barfit.report.remedy_labels import key_words
from barfit.workshop.orders import AtOdds, at_odds, chosen_for


def choice_sentences(
    setup: Setup, remedies: Sequence[Remedies], lines: Iterable[str] | None = None
) -> list[str]:
    """What the job chose for ``lines`` (None: for all) and can no longer be done, or is not done
    because these are only replaced together with others, for which something else was chosen.
    """
    about = {*(lines if lines is not None else (one.line for one in remedies))}
    gone = (
        gone_sentence(one, chosen_for(setup, one.line)) for one in remedies if one.line in about
    )
    odds = (_odds(one) for one in at_odds(setup, remedies) if one.line in about)
    return [*filter(None, gone), *odds]


def _odds(one: AtOdds) -> str:
    chosen, done = key_words(one.chosen), key_words(one.done.key)
    return (
        f"For the {one.line} '{chosen}' was chosen, but it is only replaced together with the "
        f"{one.other}, for which '{done}' was: both are replaced so. Choose one thing for both."
    )
