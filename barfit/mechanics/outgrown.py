"""How long a rod can be before it breaks a rule: let out from its taut shape until it does."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from barfit.mechanics.newton import newton
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.start import LET_OUT, rescue

_REFINE_STEPS = 12
_CLOSE = 0.3  # mm

Over = Callable[[Rods, State, np.ndarray], np.ndarray]
"""By how much each rod of a batch breaks the rule (positive) or keeps it (negative), (B,), given
its rods, state and which of the first batch they are. It must not jump from one to the other."""


def outgrown(rods: Rods, taut: State, over: Over, longest: np.ndarray) -> tuple[np.ndarray, State]:
    """The least length (B,) mm at which each rod breaks the rule, and its shape there.

    The rods are let out by 3 % at a time and the crossing is closed in on by false position
    (Illinois rule). inf where the rule is kept up to ``longest`` (B,) mm; nan where a rest shape
    was not found on the way. A rod that breaks it when taut gets its taut length.
    """
    lengths = np.full(rods.size, np.nan)
    shapes = taut.copy()
    rows = np.arange(rods.size)
    state, now = taut.copy(), over(rods, taut, rows)
    lengths[now >= 0.0] = taut.length[now >= 0.0]
    stay = np.flatnonzero(now < 0.0)
    rows, state, now = rows[stay], state.take(stay), now[stay]
    while len(rows):
        here, before, kept = rods.take(rows), state.copy(), now
        state.edge = state.edge * (1.0 + LET_OUT)
        outcome = newton(here, state)
        rescue(here, state, outcome)
        now = over(here, state, rows)
        crossed = np.flatnonzero(outcome.converged & (now >= 0.0))
        if len(crossed):
            one = rows[crossed]
            found, at = _closed_in(
                rods.take(one),
                before.take(crossed),
                kept[crossed],
                now[crossed],
                state.length[crossed],
                lambda r, s, k, one=one: over(r, s, one[k]),  # type: ignore[misc]
            )
            lengths[one] = found
            shapes.put(one, at)
        ends = outcome.converged & (now < 0.0) & (state.length >= longest[rows])
        lengths[rows[ends]] = np.inf
        shapes.put(rows[ends], state.take(np.flatnonzero(ends)))
        stay = np.flatnonzero(outcome.converged & (now < 0.0) & ~ends)
        rows, state, now = rows[stay], state.take(stay), now[stay]
    return lengths, shapes


def _closed_in(
    rods: Rods, state: State, kept: np.ndarray, broken: np.ndarray, high: np.ndarray, over: Over
) -> tuple[np.ndarray, State]:
    """False position between a length that keeps the rule and one that breaks it."""
    low, edges = state.length, state.tensions.shape[1]
    every = np.arange(rods.size)
    good = np.ones(rods.size, bool)
    for _ in range(_REFINE_STEPS):
        length = low + (high - low) * np.clip(kept / np.minimum(kept - broken, -1e-300), 0.02, 0.98)
        state.edge = length / edges
        outcome = newton(rods, state)
        good &= outcome.converged
        now = over(rods, state, every)
        past = now >= 0.0
        # the end that stays twice is given half its weight, or it would never move
        kept, broken = np.where(past, 0.5 * kept, now), np.where(past, now, 0.5 * broken)
        low, high = np.where(past, low, length), np.where(past, length, high)
        if (high - low).max() < _CLOSE:
            break
    return np.where(good, low, np.nan), state
