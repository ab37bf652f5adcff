"""How long a rod can be before it breaks a rule: let out from its taut shape until it does."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from barfit.mechanics.newton import newton
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.start import LET_OUT, rescue

_REFINE_STEPS = 12
_CLOSE = 0.3  # mm
_CLOSER = 3.0  # times smaller is the next step where a shape was lost
_LEAST_STEP = 1e-3

Over = Callable[[Rods, State, np.ndarray], np.ndarray]
"""By how much each rod of a batch breaks the rule (positive) or keeps it (negative), (B,), given
its rods, state and which of the first batch they are. It must not jump from one to the other."""


def outgrown(rods: Rods, taut: State, over: Over, longest: np.ndarray) -> tuple[np.ndarray, State]:
    """The least length (B,) mm at which each rod breaks the rule, and its shape there.

    The rods are let out by 3 % at a time, by less where a shape is lost, and the crossing is closed
    in on by false position (Illinois rule). inf where the rule is kept up to ``longest`` (B,) mm;
    nan where a rest shape was not found on the way. A rod that breaks it when taut gets its taut
    length.
    """
    lengths = np.full(rods.size, np.nan)
    shapes = taut.copy()
    rows = np.arange(rods.size)
    state, now = taut.copy(), over(rods, taut, rows)
    lengths[now >= 0.0] = taut.length[now >= 0.0]
    stay = np.flatnonzero(now < 0.0)
    rows, state, now = rows[stay], state.take(stay), now[stay]
    step = np.full(len(rows), LET_OUT)
    while len(rows):
        here, before, kept = rods.take(rows), state.copy(), now
        state.edge = state.edge * (1.0 + step)
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
        lost = np.flatnonzero(~outcome.converged)
        state.put(lost, before.take(lost))
        now[lost], step[lost] = kept[lost], step[lost] / _CLOSER
        good = outcome.converged & (now < 0.0) & ~ends
        stay = np.flatnonzero(good | (~outcome.converged & (step > _LEAST_STEP)))
        rows, state, now, step = rows[stay], state.take(stay), now[stay], step[stay]
    return lengths, shapes


def _closed_in(
    rods: Rods, state: State, kept: np.ndarray, broken: np.ndarray, high: np.ndarray, over: Over
) -> tuple[np.ndarray, State]:
    """False position between a length that keeps the rule, with its ``state``, and one that breaks
    it. A length at which the shape is lost counts as one that breaks it, until the other end is
    known to.
    """
    low, edges = state.length, state.tensions.shape[1]
    every = np.arange(rods.size)
    known = np.ones(rods.size, bool)  # that the rule is broken at the far end
    for _ in range(_REFINE_STEPS):
        share = np.clip(kept / np.minimum(kept - broken, -1e-300), 0.02, 0.98)
        tried = state.copy()
        tried.edge = (low + (high - low) * np.where(known, share, 0.5)) / edges
        outcome = newton(rods, tried)
        rescue(rods, tried, outcome)
        now = over(rods, tried, every)
        held = outcome.converged & (now < 0.0)
        known = np.where(held, known, outcome.converged)
        # the end that stays twice is given half its weight, or it would never move
        kept, broken = np.where(held, now, 0.5 * kept), np.where(held, 0.5 * broken, now)
        low, high = np.where(held, tried.length, low), np.where(held, high, tried.length)
        rows = np.flatnonzero(held)
        state.put(rows, tried.take(rows))
        if (high - low).max() < _CLOSE:
            break
    return np.where(known, low, np.nan), state
