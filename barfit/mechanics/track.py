"""Following a batch of rods from pose to pose: each pose starts from the few before it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from barfit.mechanics.newton import Outcome, newton
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.start import rescue

_MEMORY = 4  # poses
_MOVED = (
    "start",
    "end",
    "start_direction",
    "end_direction",
    "start_frame",
    "end_frame",
    "guides",
    "turns",
    "shifts",
)
_AHEAD = ("nodes", "tensions", "edge", "guide_at", "guide_pull", "twist", "twist_moment")
_EXTRAPOLATE = {2: (2.0, -1.0), 3: (3.0, -3.0, 1.0), 4: (4.0, -6.0, 4.0, -1.0)}


@dataclass(frozen=True)
class Holds:
    """Where the rods of a batch are held over P poses.

    start, end, start_direction, end_direction (P, B, 3); guides (P, B, K, 3); turns
    (P, B, M, 3, 3) and shifts (P, B, M, 3) of the movers of solids, or None where there are none;
    start_frame and end_frame (P, B, 3), or None where no rod is held against turning.
    """

    start: np.ndarray
    start_direction: np.ndarray
    end: np.ndarray
    end_direction: np.ndarray
    guides: np.ndarray
    turns: np.ndarray | None = None
    shifts: np.ndarray | None = None
    start_frame: np.ndarray | None = None
    end_frame: np.ndarray | None = None

    def at(self, rods: Rods, pose: int) -> Rods:
        """The same rods, held as at that pose."""
        return replace(
            rods,
            start=self.start[pose],
            end=self.end[pose],
            start_direction=self.start_direction[pose],
            end_direction=self.end_direction[pose],
            guides=self.guides[pose],
            turns=rods.turns if self.turns is None else self.turns[pose],
            shifts=rods.shifts if self.shifts is None else self.shifts[pose],
            start_frame=rods.start_frame if self.start_frame is None else self.start_frame[pose],
            end_frame=rods.end_frame if self.end_frame is None else self.end_frame[pose],
        )


def follow(
    rods: Rods,
    holds: Holds,
    order: list[int],
    first: State,
    pull: np.ndarray | None = None,
    edge: np.ndarray | None = None,
    before: Callable[[], None] | None = None,
) -> Iterator[tuple[int, State, Outcome]]:
    """Settle the rods at the poses of ``order``, one after the other.

    ``first`` is their state just before the first of them, held as ``rods`` says. Yields the pose,
    the state (which the next pose reuses: copy what is kept) and the outcome. With ``pull`` (B,) N
    the lengths are free; otherwise they are kept, or prescribed pose by pose by ``edge`` (P, B),
    the rest length of one mesh edge in mm. ``before`` is called before each pose.
    """
    last = rods
    past = [first.copy()]  # newest first
    for pose in order:
        if before is not None:
            before()
        here = holds.at(rods, pose)
        guess = carried(last, here, past[0]) if len(past) == 1 else predicted(here, past)
        if edge is not None:
            guess.edge = edge[pose].copy()
        outcome = newton(here, guess, pull)
        lost = np.flatnonzero(~outcome.converged)
        if len(lost):
            again, second = _closer(
                last.take(lost),
                here.take(lost),
                past[0].take(lost),
                None if pull is None else pull[lost],
                guess.edge[lost] if pull is None else None,
            )
            guess.put(lost, again)
            outcome.put(lost, second, np.arange(len(lost)))
        yield pose, guess, outcome
        # a lost rod goes on from its last good state, so that one bad pose is not the end of it
        bad = np.flatnonzero(~outcome.converged)
        for state in (guess, *past[1:]):
            state.put(bad, past[0].take(bad))
        past, last = [guess, *past[: _MEMORY - 1]], here


def predicted(here: Rods, past: list[State]) -> State:
    """A guess for the next pose: the polynomial through the last few, newest first, gone on with.

    Through four of them a degree apart it is so near that one Newton step is often enough.
    """
    weights = _EXTRAPOLATE[len(past)]
    guess = past[0].copy()
    for name in _AHEAD:
        ahead = sum(w * getattr(state, name) for w, state in zip(weights, past, strict=True))
        setattr(guess, name, ahead)
    guess.edge = np.maximum(guess.edge, 0.5 * past[0].edge)
    guess.nodes[:, 0] = here.start
    guess.nodes[:, -1] = np.where(here.free_end[:, None], guess.nodes[:, -1], here.end)
    return guess


def carried(last: Rods, here: Rods, now: State) -> State:
    """A guess for the next pose from one alone: each node moves as the holds on both sides do."""
    guess = now.copy()
    top = now.nodes.shape[1] - 1
    for row in range(here.size):
        used = here.guide_stiffness[row] > 0.0
        at = np.concatenate(([0.0], now.guide_at[row][used], [float(top)]))
        move = np.vstack(
            (
                here.start[row] - last.start[row],
                (here.guides - last.guides)[row][used],
                here.end[row] - last.end[row],
            )
        )
        for axis in range(3):
            guess.nodes[row, :, axis] += np.interp(np.arange(top + 1), at, move[:, axis])
    return guess


def _closer(
    last: Rods, here: Rods, now: State, pull: np.ndarray | None, edge: np.ndarray | None
) -> tuple[State, Outcome]:
    """Second try for the lost rods of a batch: the same move in quarters, then by descent."""
    state, before = now.copy(), last
    for share in (0.25, 0.5, 0.75, 1.0):
        between = replace(
            here,
            **{
                name: (1.0 - share) * getattr(last, name) + share * getattr(here, name)
                for name in _MOVED
            },
        )
        state = carried(before, between, state)
        if edge is not None:
            state.edge = (1.0 - share) * now.edge + share * edge
        outcome = newton(between, state, pull)
        before = between
    rescue(here, state, outcome, pull)
    return state, outcome
