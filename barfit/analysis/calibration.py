"""Correcting what a setup says by the slack found on the machine as it stands.

The errors of the inputs are put in units of their standard deviations, so that they begin as
independent and of size one. Slack observed with the stock bars depends on them linearly; the best
linear estimate of the errors and what is left of their spread follow from the Gauss-Markov theorem
(the update of Kalman 1960, in one step). What is common to stock and new bars is corrected for
both, and an error that moves the slack of both by the same amount cancels from the new one.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from weakref import WeakKeyDictionary

import numpy as np

from barfit.analysis.inputs import Key, inputs
from barfit.analysis.slopes import Gauge, slopes
from barfit.analysis.sweep import Sweep, sweep
from barfit.analysis.verdicts import counting
from barfit.analysis.work import Cancel
from barfit.model import FoundSlack, Hold, Line, Setup

_STEP = math.radians(4.0)  # of the sweep that only leads to the three poses of found slack
_SEEN: WeakKeyDictionary[Sweep, Observations] = WeakKeyDictionary()
_ODD = 3.0  # standard deviations: found slack further off than this contradicts the setup


@dataclass(frozen=True, eq=False)
class Observations:
    """Slack found at M poses of stock lines: ``found`` and ``expected`` (M,) mm, its standard
    deviation ``sd`` (M,), and ``slopes`` (M, n), mm per standard deviation of n inputs (``keys``).
    ``lines`` and ``turns`` (rad) say what was looked at.
    """

    lines: tuple[str, ...]
    turns: tuple[float, ...]
    found: np.ndarray
    expected: np.ndarray
    sd: np.ndarray
    keys: tuple[Key, ...]
    slopes: np.ndarray

    def of(self, names: Collection[str], now: Sequence[Line] = ()) -> Observations:
        """Those of the lines of these names alone, for a setup whose lines are as they are ``now``:
        where one has another length, the old one's is no longer its own.
        """
        rows = [k for k, name in enumerate(self.lines) if name in names]
        return Observations(
            tuple(self.lines[k] for k in rows),
            tuple(self.turns[k] for k in rows),
            self.found[rows],
            self.expected[rows],
            self.sd[rows],
            tuple(_when_found(key, now) for key in self.keys),
            self.slopes[rows],
        )

    def spread(self) -> np.ndarray:
        """How far found may be from expected by chance (M,): one standard deviation, mm."""
        return np.sqrt((self.slopes**2).sum(1) + self.sd**2)

    def odd(self) -> np.ndarray:
        """Which (M,) contradict the setup, or have no slack to be compared with."""
        off = np.abs(self.found - self.expected)
        return ~(off <= _ODD * np.nan_to_num(self.spread(), nan=np.inf))

    def usable(self) -> np.ndarray:
        """Which (M,) can correct the setup: not odd, and known how they hang on its inputs."""
        return ~self.odd() & np.isfinite(self.slopes).all(1)


@dataclass(frozen=True, eq=False)
class Posterior:
    """What is believed of n inputs: ``mean`` (n,) error and ``covariance`` (n, n), in units of
    their standard deviations before anything was observed.
    """

    mean: np.ndarray
    covariance: np.ndarray


def observations(setup: Setup, swept: Sweep, cancelled: Cancel | None = None) -> Observations:
    """The slack that the setup says was found, and what is expected there. Raises Cancelled.

    ``swept`` is used where it is the stock sweep of all of these; else the lines with found slack
    are swept once more, with the stock bars. What was seen for a sweep of that very setup is kept
    with it: what can be done is judged by the same.
    """
    if setup is not swept.setup:
        return _observations(setup, swept, cancelled)
    if swept not in _SEEN:
        _SEEN[swept] = _observations(setup, swept, cancelled)
    return _SEEN[swept]


def _observations(setup: Setup, swept: Sweep, cancelled: Cancel | None) -> Observations:
    lines = tuple(line for line in setup.lines if tells(line))
    held = {line.name for line in swept.lines}
    if lines and not (swept.stock and all(line.name in held for line in lines)):
        restricted = _only(setup, [line.name for line in lines])
        contact = any(s.case.around is not None for line in swept.lines for s in line.spans)
        swept = sweep(restricted, stock=True, step=_STEP, cancelled=cancelled, contact=contact)
    known = inputs(setup, stock=True)
    names, turns, found, expected, spread = [], [], [], [], []
    gauges = []
    for line in lines:
        assert line.found_slack is not None
        number = [one.name for one in swept.lines].index(line.name)
        at = swept.lines[number]
        row = int(np.argmin(np.abs(at.travels)))
        for turn, value in _looked_at(setup, line.found_slack):
            pose = row, int(np.argmin(np.abs(swept.angles - turn)))
            slack = [span.slack[pose] for span in at.spans]
            span = min(counting(at, slack), key=slack.__getitem__)
            gauges.append(Gauge(number, span, turn, float(at.travels[row])))
            names.append(line.name)
            turns.append(turn)
            found.append(value)
            expected.append(float(at.slack[pose]) + _longer_then(line))
            how = line.found_slack.measured
            spread.append(
                setup.uncertainty.found_slack if how is None else setup.uncertainty.of(how)
            )
    good = np.isfinite(expected)
    table = np.full((len(gauges), len(known)), np.nan)
    table[good] = slopes(swept, [g for g, ok in zip(gauges, good, strict=True) if ok], known).spare
    return Observations(
        tuple(names),
        tuple(turns),
        np.array(found, dtype=float),
        np.array(expected, dtype=float),
        np.array(spread, dtype=float),
        tuple(_when_found(one.key, setup.lines) for one in known),
        table,
    )


def posterior(seen: Observations, keys: Sequence[Key]) -> Posterior:
    """What the observations that are of use say about the inputs of these keys."""
    at = {key: k for k, key in enumerate(keys)}
    good = np.flatnonzero(seen.usable())
    slope = np.zeros((len(good), len(at)))
    slope[:, [at[key] for key in seen.keys]] = seen.slopes[good]
    off = seen.found[good] - seen.expected[good]
    return update(slope, off, seen.sd[good])


def update(slope: np.ndarray, off: np.ndarray, sd: np.ndarray) -> Posterior:
    """Of n inputs of unit variance, after M values that depend on them by ``slope`` (M, n) and were
    found ``off`` (M,) from what was expected, each with standard deviation ``sd`` (M,), not 0.
    """
    size = slope.shape[1]
    scatter = slope @ slope.T + np.diag(sd**2)
    gain = np.linalg.solve(scatter, slope).T if len(off) else np.zeros((size, 0))
    return Posterior(gain @ off, np.eye(size) - gain @ slope)


def _longer_then(line: Line) -> float:
    """By how much a line was longer when its slack was found, mm."""
    found = line.found_slack
    return 0.0 if found is None or found.length is None else found.length - line.length


def tells(line: Line) -> bool:
    """Whether slack was found that tells of the line as it is: where its clips gripped one of
    another length is not known.
    """
    clipped = any(station.hold is Hold.CLIP for station in line.stations)
    return line.found_slack is not None and not (clipped and _longer_then(line))


def _when_found(key: Key, lines: Sequence[Line]) -> Key:
    """The key of an input at the time slack was found: a line that was replaced since had a length
    with an error of its own.
    """
    renewed = {line.name for line in lines if _longer_then(line)}
    return (*key, "then") if key in {("length", name) for name in renewed} else key


def _looked_at(setup: Setup, found: FoundSlack) -> list[tuple[float, float]]:
    """Turn angle (rad) and slack (mm) of every place where slack was found."""
    machine = setup.machine
    sides = (
        (-machine.lock_right, found.right),
        (0.0, found.straight),
        (machine.lock_left, found.left),
    )
    return [(turn, slack) for turn, slack in sides if slack is not None]


def _only(setup: Setup, names: list[str]) -> Setup:
    """The setup with these lines alone."""
    return replace(setup, lines=tuple(line for line in setup.lines if line.name in names))
