"""In words: how far along a line other bars reach, and what moves the rest of it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from barfit.analysis.moved import Mover, Stretch

_SAYS = {
    Mover.BARS: "other bars change it",
    Mover.STEERING: "the steering or fork moves it, other bars leave it alone",
    Mover.NOTHING: "nothing moves it",
}


def movers(stretches: Sequence[Stretch], names: Sequence[str]) -> str:
    """What moves each stretch of a line, as one sentence to each run of stretches alike; ``names``
    are those of the stations.
    """
    said = []
    for mover, run in groupby(stretches, key=lambda one: one.mover):
        alike = list(run)
        first, last = names[alike[0].first], names[alike[-1].last]
        said.append((first, last, _SAYS[mover]))
    if len(said) == 1:
        return f"All the way: {said[0][2]}."
    return " ".join(f"From {first} to {last}: {what}." for first, last, what in said)
