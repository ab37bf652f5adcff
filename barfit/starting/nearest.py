"""Which machine is nearest to a person's own, and in what it differs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from barfit.model import Setup
from barfit.starting.traits import Traits, traits_of

# How much it counts that a trait differs: about as many lines have to be laid anew (estimates).
# Fork, frame and tank of another kind of machine are wrong for all of them: more than the rest is.
_WEIGHTS = {"brake": 3.0, "throttle": 2.0, "clutch": 2.0, "wiring": 2.0, "kind": 10.0}
LABELS = {
    "brake": "front brake",
    "throttle": "throttle",
    "clutch": "clutch",
    "wiring": "wires",
    "kind": "kind of machine",
}


@dataclass(frozen=True)
class Candidate:
    """A machine to begin from. ``keys`` are the traits that are not as wanted, ``other`` their
    names; ``differs`` says it in sentences; ``off`` is their weight together, 0 for one that is as
    wanted in all.
    """

    setup: Setup
    keys: tuple[str, ...]
    other: tuple[str, ...]
    differs: tuple[str, ...]
    off: float


def candidates(wanted: Traits, setups: Iterable[Setup]) -> tuple[Candidate, ...]:
    """The machines, the nearest first; of two as near the one with more lines, which are sooner
    deleted than laid.
    """
    found = [_candidate(wanted, setup) for setup in setups]
    return tuple(sorted(found, key=lambda one: (one.off, -len(one.setup.lines))))


def _candidate(wanted: Traits, setup: Setup) -> Candidate:
    own = traits_of(setup)
    off = [key for key in _WEIGHTS if getattr(own, key) != getattr(wanted, key)]
    told = tuple(_difference(key, str(getattr(own, key)), str(getattr(wanted, key))) for key in off)
    return Candidate(
        setup,
        tuple(off),
        tuple(LABELS[key] for key in off),
        told,
        sum(_WEIGHTS[key] for key in off),
    )


def _difference(key: str, its: str, yours: str) -> str:
    """As in "Clutch: by cable; yours: hydraulic." """
    label = LABELS[key]
    return f"{label[:1].upper()}{label[1:]}: {its}; yours: {yours}."
