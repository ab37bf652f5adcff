"""How long the solver takes on the lines of a bundled machine, beside a floor it cannot beat.

Every number is a median of repeats in one process. The floor is LAPACK's solution of the band of
one rod: no Newton step can be quicker than that.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from statistics import median
from time import perf_counter

import numpy as np
from scipy.linalg.lapack import dpbsv

from barfit import scenario
from barfit.analysis import findings, sweep
from barfit.analysis.spans import SpanCase, batch, held, span_cases
from barfit.bench.timing import Timing, timed
from barfit.geometry.pose import sweep_angles
from barfit.mechanics.kernels import Array, compiled
from barfit.mechanics.newton_loop import solve_shifted
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.start import settled
from barfit.mechanics.system import assemble
from barfit.mechanics.track import Holds, follow
from barfit.model import Body, Line, PointPlace, Setup
from barfit.remedies import remedies
from barfit.trade import trade

WARM_TARGET, SWEEP_TARGET, CONTACT_TARGET, FINDINGS_TARGET = 1.5e-3, 0.5, 1.5, 4.0  # s
REMEDIES_TARGET = 10.0  # s
_SOUGHT = ("old-twin", "tall-bar-cruiser")  # a usual machine, and the one that takes longest
CONTACT_COST = 3.0  # times a sweep without contact, at most
BAND = "LAPACK on its band (the floor)"
OWN_BAND = "our own Cholesky of it alone"
LINES, LOCK = 12, math.radians(40)  # 81 poses a degree apart


def bundled_setup() -> Setup:
    """The bundled naked standard with its stock bars, where every line reaches."""
    (path,) = (path for path in scenario.bundled() if path.name == "naked-standard.toml")
    return scenario.load(path)


def twelve_lines(setup: Setup) -> Setup:
    """The same machine, locks 40° both ways, with twelve of its lines off the lower fork.

    Its own lines are repeated, each time 3 mm longer, so that no two are the same.
    """
    steered = [line for line in setup.lines if not _on_fork(line)]
    lines = []
    for k in range(LINES):
        line, again = steered[k % len(steered)], k // len(steered)
        name = f"{line.name} {again + 1}" if again else line.name
        lines.append(replace(line, name=name, length=line.length + 3 * again))
    machine = replace(setup.machine, lock_left=LOCK, lock_right=LOCK)
    return replace(setup, machine=machine, lines=tuple(lines))


def _on_fork(line: Line) -> bool:
    places = [station.place for station in line.stations]
    return any(isinstance(p, PointPlace) and p.body is Body.LOWER_FORK for p in places)


def sweeps(repeats: int) -> list[Timing]:
    """Whole sweeps with slack, smallest radius, forces and the way back."""
    twelve = twelve_lines(bundled_setup())
    return [
        Timing(
            f"sweep, {LINES} lines × 81 poses, nothing in the way",
            timed(lambda: sweep(twelve, stock=True, contact=False), repeats),
            SWEEP_TARGET,
        ),
        Timing(
            f"sweep, {LINES} lines × 81 poses, with contact",
            timed(lambda: sweep(twelve, stock=True), repeats),
            CONTACT_TARGET,
        ),
    ]


def all_findings(repeats: int) -> list[Timing]:
    """All findings of every bundled machine with its new bars, windows and uncertainty included."""
    found = []
    for path in scenario.bundled():
        swept = sweep(scenario.load(path))
        what = f"all findings, {path.stem}: {len(swept.lines)} lines"
        found.append(Timing(what, timed(partial(findings, swept), repeats), FINDINGS_TARGET))
    return found


def remedies_sought(repeats: int) -> list[Timing]:
    """What can be done about every line of two bundled machines, beside one check of the same:
    medians of no more than three, as it takes long.
    """
    found = []
    for name in _SOUGHT:
        (path,) = (path for path in scenario.bundled() if path.stem == name)
        setup = scenario.load(path)
        swept, stock = sweep(setup), sweep(setup, stock=True)
        known = findings(swept)
        sought = partial(remedies, swept, stock, known, trade(swept, stock, known))
        check = timed(partial(_checked, setup), 1)
        times = []
        for _ in range(min(repeats, 3)):
            began = perf_counter()
            sought()
            times.append(perf_counter() - began)
        what = f"what can be done, {name}: {sum(not one.fits for one in known)} lines"
        found.append(Timing(what, median(times), REMEDIES_TARGET, "one check of it", check))
    return found


def _checked(setup: Setup) -> None:
    findings(sweep(setup))


def sweeps_with_contact(repeats: int) -> list[Timing]:
    """Every bundled machine swept with its own bars as set up, with contact and without."""
    found = []
    for path in scenario.bundled():
        setup = scenario.load(path)
        plain = timed(partial(sweep, setup, contact=False), repeats)
        whole = timed(partial(sweep, setup), repeats)
        what = f"sweep with contact, {path.stem}: {len(setup.lines)} lines"
        found.append(Timing(what, whole, None, "nothing in the way", plain, 1 / CONTACT_COST))
    return found


def warm_poses(repeats: int) -> list[Timing]:
    """One line alone, each pose from its neighbours, and what a Newton step of it takes."""
    own = bundled_setup()
    setup = replace(
        twelve_lines(own), lines=tuple(line for line in own.lines if not _on_fork(line))
    )
    angles = sweep_angles(setup.machine)
    poses = list(range(len(angles)))
    found = []
    for case in span_cases(setup, stock=True, contact=False):
        rods, moving, first = _standing(setup, case, angles)
        outcomes = [outcome for _, _, outcome in follow(rods, moving, poses, first)]
        steps = sum(int(outcome.steps.sum()) for outcome in outcomes)

        def run(rods: Rods = rods, moving: Holds = moving, first: State = first) -> None:
            for _ in follow(rods, moving, poses, first):
                pass

        seconds = timed(run, repeats)
        bare = band_floor(rods, first, repeats)
        found.append((seconds / len(poses), seconds / steps, bare, steps / len(poses), case))
    found.sort(key=lambda one: one[0])
    rows = []
    for what, (pose, step, bare, each, case) in (
        ("median line", found[len(found) // 2]),
        ("slowest line", found[-1]),
    ):
        size = f"{case.nodes} nodes, {len(case.guides)} guides"
        rows += [
            Timing(f"one line, warm, per pose: {what} ({size})", pose, target=WARM_TARGET),
            Timing(f"a Newton step of it ({each:.1f} a pose)", step, None, BAND, bare),
        ]
    return rows


def _standing(setup: Setup, case: SpanCase, angles: np.ndarray) -> tuple[Rods, Holds, State]:
    """One span as a batch of its own, its holds over the angles, and its shape at the first."""
    rods, moving = batch([case], [held(setup, case, angles, np.zeros(len(angles)))])
    first = moving.at(rods, 0)
    state, _ = settled(first, np.array([case.length]), case.nodes)
    return first, moving, state


def band_floor(rods: Rods, state: State, repeats: int, many: int = 100) -> float:
    """Seconds of LAPACK's Cholesky solution of the Newton band of the first rod of a batch.

    It must be the rod's own band: LAPACK is quicker on one that is mostly zeros.
    """
    one = np.array([0])
    linear = assemble(rods.take(one), state.take(one))
    nodes, width = linear.band.shape[1], linear.band.shape[-1]
    inner = slice(3, 3 * (nodes - 1))  # the ends are held
    band = np.asfortranarray(linear.band.reshape(3 * nodes, width)[inner].T)
    right = linear.right.reshape(-1)[inner]
    return timed(lambda: [dpbsv(band, right) for _ in range(many)], repeats) / many


def own_band(rods: Rods, state: State, repeats: int, many: int = 100) -> float:
    """Seconds of the solver's own factorisation and substitution of the same band, compiled."""
    one = np.array([0])
    linear = assemble(rods.take(one), state.take(one))
    nodes, width = linear.band.shape[1], linear.band.shape[-1]
    upper, found = np.empty((nodes, width // 3, 3, 3)), np.empty((1, nodes, 3))
    work = partial(_solve_often, many, linear.band[0], linear.right, upper, found)
    return timed(work, repeats) / many


@compiled
def _solve_often(many: int, band: Array, right: Array, upper: Array, found: Array) -> None:
    for _ in range(many):
        solve_shifted(band, False, right, upper, found)
