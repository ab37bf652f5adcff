"""The linear rule of uncertainty against chance itself, and found slack against made-up truths.

Monte Carlo: every input is drawn at its standard deviation, the setup changed by all of them at
once and laid out again, and the lengths solved from nothing (JCGM 101:2008 calls it propagation of
distributions). Seeded, so that it is the same every time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest

from barfit import scenario
from barfit.analysis import LineFinding, findings, sweep
from barfit.analysis.calibration import observations, posterior
from barfit.analysis.inputs import Input, alone, inputs
from barfit.analysis.lengths import SpanNeed, span_needs
from barfit.analysis.slopes import Gauge, slopes
from barfit.analysis.spans import batch, held, span_cases
from barfit.analysis.sweep import Sweep
from barfit.analysis.tables import PULL, STIFF
from barfit.catalogue import scenario_dir
from barfit.mechanics.start import pulled
from barfit.mechanics.taut import bend_limited
from barfit.model import FoundSlack, Setup

STEP = math.radians(4)
DRAWS = 400


@dataclass(frozen=True, eq=False)
class Case:
    """One line of a bundled machine, alone, swept and judged by what was measured of it alone."""

    setup: Setup
    swept: Sweep
    needs: list[SpanNeed]
    found: LineFinding


def case_of(machine: str, line: str, stock: bool = False) -> Case:
    setup = alone(scenario.load(scenario_dir() / f"{machine}.toml"), line)
    setup = replace(setup, lines=(replace(setup.lines[0], found_slack=None),))
    swept = sweep(setup, stock=stock, step=STEP, contact=False)
    return Case(setup, swept, span_needs(swept)[line], findings(swept)[0])


def drawn(setup: Setup, known: Sequence[Input], errors: np.ndarray) -> list[Setup]:
    """The setup with every input off by its errors (M, n), in standard deviations."""
    out = []
    for row in errors:
        moved = setup
        for one, error in zip(known, row, strict=True):
            moved = one.moved(moved, float(error) * one.sd)
        out.append(moved)
    return out


def spare(
    case: Case, setups: list[Setup], turn: float, travel: float, bend: bool = False
) -> np.ndarray:
    """What the one span of the line has beyond its taut (or bend-limited) length (M,) at a pose
    of each setup, solved from nothing. A lock's angle means that lock, wherever it now is.
    """
    stock = case.swept.stock
    cases = [span_cases(one, stock, contact=False)[0] for one in setups]
    nodes = case.swept.lines[0].spans[0].case.nodes
    cases = [replace(one, nodes=nodes) for one in cases]
    holds = []
    for one, span in zip(setups, cases, strict=True):
        locks = {
            -case.setup.machine.lock_right: -one.machine.lock_right,
            case.setup.machine.lock_left: one.machine.lock_left,
        }
        holds.append(held(one, span, np.array([locks.get(turn, turn)]), np.array([travel])))
    rods, _ = batch(cases, holds)
    stiff = replace(rods, ea=np.full(rods.size, STIFF))
    state, outcome = pulled(stiff, np.full(rods.size, PULL), nodes)
    length = np.where(outcome.converged, state.length, np.nan)
    if bend:
        radius = np.array([span.min_radius for span in cases])
        length = np.maximum(length, bend_limited(rods, state, radius, 1.35 * length + 60.0))
    return np.array([span.length for span in cases]) - length


def worst(case: Case, setups: list[Setup], turn: float, travel: float, bend: bool) -> np.ndarray:
    """The least of `spare` (M,) at a pose and at both locks."""
    machine = case.setup.machine
    turns = {turn, -machine.lock_right, machine.lock_left}
    return np.min([spare(case, setups, each, travel, bend) for each in turns], axis=0)


@pytest.mark.parametrize(
    ("machine", "line", "stock"),
    [
        ("old-twin", "clutch cable", False),
        ("old-twin", "front brake cable", False),
        ("touring-hydraulic", "ride-by-wire lead", True),
    ],
)
def test_the_slack_varies_as_chance_has_it(machine: str, line: str, stock: bool) -> None:
    case = case_of(machine, line, stock)
    known = inputs(case.setup, stock)
    errors = np.random.default_rng(20).standard_normal((DRAWS, len(known)))
    need = case.needs[0]
    slack = worst(case, drawn(case.setup, known, errors), need.turn, need.travel, bend=False)
    assert np.isfinite(slack).mean() > 0.99
    assert np.nanstd(slack, ddof=1) == pytest.approx(case.found.sure.slack_sigma, rel=0.15)


def test_a_margin_that_its_bends_decide_varies_as_chance_has_it() -> None:
    case = case_of("tall-bar-cruiser", "throttle pull cable")
    need = case.needs[0]
    assert need.bend > need.taut
    known = inputs(case.setup, stock=False)
    errors = np.random.default_rng(21).standard_normal((DRAWS, len(known)))
    margin = spare(
        case, drawn(case.setup, known, errors), need.bend_turn, need.bend_travel, bend=True
    )
    assert np.isfinite(margin).mean() > 0.98  # a few draws have a bend that no length opens
    assert np.nanstd(margin, ddof=1) == pytest.approx(case.found.sure.sigma, rel=0.15)


def test_corrected_margins_are_off_by_as_much_as_they_say() -> None:
    """Draw what the machine really is, measure its stock slack with an error, correct, and compare
    the new slack that is then expected with the real one: the spread is the one told, and less
    than without.
    """
    name, machine = "clutch cable", "old-twin"
    stock, new = (case_of(machine, name, stock) for stock in (True, False))
    setup = stock.setup
    told = FoundSlack(right=0.0, straight=0.0, left=0.0, measured=3.0)
    asked = replace(setup, lines=(replace(setup.lines[0], found_slack=told),))
    seen = observations(asked, new.swept)
    known = {False: inputs(setup, False), True: inputs(setup, True)}
    keys = list(dict.fromkeys(one.key for which in (False, True) for one in known[which]))
    at = {key: k for k, key in enumerate(keys)}
    errors = np.random.default_rng(22).standard_normal((DRAWS, len(keys)))
    truth = {
        which: drawn(setup, known[which], errors[:, [at[one.key] for one in known[which]]])
        for which in (False, True)
    }
    noise = np.random.default_rng(23).standard_normal((DRAWS, 3)) * 3.0
    real = np.stack([spare(stock, truth[True], turn, 0.0) for turn in seen.turns], 1)
    need = new.needs[0]
    gauge = Gauge(0, 0, need.turn, need.travel)
    slope = slopes(new.swept, [gauge], known[False]).spare[0]
    actual = spare(new, truth[False], need.turn, need.travel)
    nominal = spare(new, [setup], need.turn, need.travel)[0]
    mine = [at[one.key] for one in known[False]]
    off = []
    for found, value in zip(real + noise, actual, strict=True):
        learnt = posterior(replace(seen, found=found), keys)
        off.append(value - nominal - float(slope @ learnt.mean[mine]))
    after = posterior(replace(seen, found=seen.expected), keys)
    sigma = math.sqrt(slope @ after.covariance[np.ix_(mine, mine)] @ slope)
    before = float(np.linalg.norm(slope))
    assert sigma < 0.75 * before
    assert np.std(off, ddof=1) == pytest.approx(sigma, rel=0.15)
    assert np.mean(np.abs(off) <= 2.0 * sigma) == pytest.approx(0.954, abs=0.03)
    assert new.found.slack == pytest.approx(nominal, abs=1.0)
