"""What makes a setup impossible to turn, found before anything is solved."""

from __future__ import annotations

from barfit.analysis.spans import span_cases
from barfit.geometry.pose import LayoutError
from barfit.model import Setup


def problems(setup: Setup) -> list[str]:
    """Every reason, as a sentence, why the setup cannot be laid out with its stock or new bars."""
    found: list[str] = []
    for stock in (True, False):
        try:
            span_cases(setup, stock, contact=False)
        except LayoutError as error:
            found += [problem for problem in error.problems if problem not in found]
        except ValueError as error:
            sentence = f"{str(error)[:1].upper()}{str(error)[1:]}."
            if sentence not in found:
                found.append(sentence)
    return found
