"""How long a rod can be before it breaks a rule: let out from its taut shape until it does."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from barfit.mechanics.newton import newton
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.start import LET_OUT, rescue

_REFINE_STEPS = 12
_CLOSE = 0.1  # mm
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
    known = np.ones(rods.size, bool)  # that the rule is broken at the far end
    rows = np.arange(rods.size)
    for _ in range(_REFINE_STEPS):
        some, tried = rods.take(rows), state.take(rows)
        share = np.clip(kept / np.minimum(kept - broken, -1e-300), 0.02, 0.98)
        tried.edge = (low + (high - low) * np.where(known, share, 0.5))[rows] / edges
        outcome = newton(some, tried)
        rescue(some, tried, outcome)
        now = over(some, tried, rows)
        held = outcome.converged & (now < 0.0)
        known[rows] = np.where(held, known[rows], outcome.converged)
        # the end that stays twice is given half its weight, or it would never move
        kept[rows] = np.where(held, now, 0.5 * kept[rows])
        broken[rows] = np.where(held, 0.5 * broken[rows], now)
        low[rows] = np.where(held, tried.length, low[rows])
        high[rows] = np.where(held, high[rows], tried.length)
        state.put(rows[held], tried.take(np.flatnonzero(held)))
        rows = rows[(high - low)[rows] >= _CLOSE]
        if not len(rows):
            break
    return np.where(known, low, np.nan), state
