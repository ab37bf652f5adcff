"""Free play of a control cable from lock to lock, and where turning the bar uses it up."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis import LineSweep, Sweep
from barfit.analysis.stops import LineStops
from barfit.catalogue import limit
from barfit.trade import conduit
from barfit.trade.cable_data import Inside
from barfit.trade.judged import Grade, Judged, at_least, at_most
from barfit.trade.poses import greatest, least, pose_of_least


@dataclass(frozen=True)
class FreePlay:
    """Free play in mm of wire at lever or grip.

    ``kept`` is the least over the sweep (0: used up), ``change`` the greatest less the least.
    ``as_set`` is that straight ahead before anything pulls, ``usual`` what it is commonly set to.
    ``used_right`` and ``used_left`` are the turns, rad, from which on none is left; None where
    some is left up to the lock, 0 where there is none even straight ahead. ``used_riding``: so it
    is at ride height; if not, at other suspension positions only. ``stops`` are the turns at which
    the conduit itself goes tight.
    """

    kept: Judged
    change: Judged
    as_set: float
    usual: tuple[float, float]
    used_right: float | None
    used_left: float | None
    used_riding: bool
    stops: LineStops

    @property
    def used(self) -> bool:
        """Whether turning the bar or working the fork uses it up."""
        return self.used_right is not None or self.used_left is not None


def free_play(
    swept: Sweep,
    line: LineSweep,
    stock: LineSweep,
    held: Inside,
    bends: tuple[np.ndarray, np.ndarray],
    slack_by: float,
    stops: LineStops,
    grave: Grade,
) -> FreePlay:
    """The free play of ``line``; ``bends`` are the total bends (T, A), rad, now and with ``stock``.

    ``slack_by``, mm, is what slack found on the machine adds to that of ``line``; used up it is
    graded ``grave``. Left alone are: a conduit that gives way under load, the lever's angle, and
    slides of the conduit's ends in their seats.
    """
    straight = int(np.argmin(np.abs(line.travels))), int(np.argmin(np.abs(swept.angles)))
    now = play_table(held, bends[0], line.slack + slack_by, straight)
    then = np.maximum(play_table(held, bends[1], stock.slack, straight), 0.0)
    left = np.maximum(now, 0.0)
    riding = used_up(swept.angles, now[straight[0]])
    used_right, used_left = riding if any_of(riding) else used_up(swept.angles, _worst(now))
    used = any_of((used_right, used_left))
    kept = at_least(
        least(left),
        limit(swept.setup, "cable_free_play"),
        beyond=grave if used else Grade.CAUTION,
        stock=least(then),
        **pose_of_least(swept, line, now),
    )
    if used:
        kept = replace(kept, grade=grave)  # even where a setup asks for no free play at all
    elif kept.grade is Grade.FINE and (stops.right or stops.left):
        kept = replace(kept, grade=Grade.CAUTION)  # a conduit that goes tight leaves its seat
    return FreePlay(
        kept=kept,
        change=at_most(
            greatest(left) - least(left) if (left > 0.0).any() else math.nan,
            limit(swept.setup, "cable_free_play_change"),
            stock=greatest(then) - least(then),
            **pose_of_least(swept, line, now),
        ),
        as_set=held.free_play,
        usual=(held.least_play, held.most_play),
        used_right=used_right,
        used_left=used_left,
        used_riding=any_of(riding),
        stops=stops,
    )


def play_table(
    held: Inside, bend: np.ndarray, slack: np.ndarray, straight: tuple[int, int]
) -> np.ndarray:
    """Free play (T, A), mm, at each pose; negative: so far the far end is worked by turning.

    As set at the pose ``straight``, plus what more bend than there gives (`conduit.play_gained`;
    ``bend`` in rad), less what a conduit that is too short (``slack`` below 0, mm) is pulled out of
    its seat, for which the wire has to come along.
    """
    gained = conduit.play_gained(held.clearance, bend, bend[straight])
    play: np.ndarray = held.free_play + gained - np.maximum(-slack, 0.0)
    return play


def used_up(angles: np.ndarray, play: np.ndarray) -> tuple[float | None, float | None]:
    """The turns (rad) to the right and to the left from which on ``play`` (A,), mm, is none; on the
    straight between poses. None where some is left.
    """
    straight = int(np.argmin(np.abs(angles)))
    right = _first_none(angles[straight::-1], play[straight::-1])
    return right, _first_none(angles[straight:], play[straight:])


def any_of(turns: tuple[float | None, float | None]) -> bool:
    """Whether there is one to either side."""
    return any(turn is not None for turn in turns)


def _worst(play: np.ndarray) -> np.ndarray:
    """The least (A,) over the suspension positions; nan where none is known."""
    least_known: np.ndarray = np.where(np.isnan(play), math.inf, play).min(0)
    return np.where(np.isinf(least_known), math.nan, least_known)


def _first_none(angles: np.ndarray, play: np.ndarray) -> float | None:
    none = np.flatnonzero(play <= 0.0)
    if not len(none):
        return None
    n = int(none[0])
    if n == 0 or not math.isfinite(play[n - 1]):
        return float(angles[n])
    share = play[n - 1] / (play[n - 1] - play[n])
    return float(angles[n - 1] + share * (angles[n] - angles[n - 1]))
