"""What rods do to their holds, and lines to the bar: statics, Kirchhoff, virtual work."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from barfit import scenario
from barfit.analysis import sweep
from barfit.analysis.rest import Rest, line_rests
from barfit.analysis.spans import batch, held, riding_frames
from barfit.analysis.sweep import LineSweep, Sweep
from barfit.analysis.torque import line_torque
from barfit.bench.check import Check, Rule
from barfit.bench.kirchhoff import settle_bvp
from barfit.bench.space_checks import SPANS, clamped
from barfit.mechanics import Span
from barfit.mechanics.newton import newton
from barfit.mechanics.reactions import Reactions, moment_about, potential, reactions
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.settle import batch_of_one
from barfit.mechanics.start import settled
from barfit.mechanics.track import carried
from barfit.model import Body

_STEP = math.radians(0.1)
_UP = np.array([0.0, 0.0, 1.0])
MACHINES = ("naked-standard", "touring-hydraulic")
_LEAST = 5.0  # N mm, below which one per cent is less than the solver's own last digits


def rest(span: Span) -> tuple[Rods, State, Reactions]:
    """A span settled on its own, and what it does to its holds."""
    rods = batch_of_one(span)
    state, outcome = settled(rods, np.array([span.length]), span.nodes)
    assert outcome.converged.all()
    return rods, state, reactions(rods, state)


def clamp_reactions() -> list[Check]:
    """Force along the line and moment at the start clamp of ordinary spans."""
    found = []
    for case, span in SPANS.items():
        rods, _, got = rest(span)
        exact = settle_bvp(clamped(span), span.length)
        along = float(got.start_force[0] @ rods.start_direction[0])
        moment = span.bending_stiffness * float(exact.curvatures[0])
        turned = float(np.linalg.norm(got.start_moment[0]))
        # a hundredth of the greatest moment in the rod, and the force that has it at a lever of L
        near = 0.01 * span.bending_stiffness / exact.min_radius
        tension = float(exact.tensions[0])
        source = "Kirchhoff's equations, solve_bvp"
        found += [
            Check(
                case,
                "force along it on its clamp, N",
                source,
                tension,
                along,
                6 * near / span.length,
                Rule.NEAR,
            ),
            Check(case, "moment on its clamp, N·mm", source, moment, turned, near, Rule.NEAR),
        ]
    return found


def balance() -> list[Check]:
    """All reactions together carry the weight, in force and in moment (statics)."""
    found = []
    ring = (np.array([260.0, 150.0, 140.0]),)
    last = Span((40, 120, 60), (1, 0, 0), (440, 320, 210), (0, 0.6, 0.8), 640, 5e4, 0.001, ring)
    for case, span in {**SPANS, "cable through a ring": last}.items():
        rods, state, got = rest(span)
        share = np.ones(span.nodes)
        share[[0, -1]] = 0.5
        weights = -_UP * (span.weight * state.edge[0] * share)[:, None]
        points = [rods.start[0], rods.end[0], *rods.guides[0]]
        forces = [got.start_force[0], got.end_force[0], *got.guide_force[0]]
        scale = span.bending_stiffness / span.length
        force = sum(forces) - weights.sum(0)
        about_x, about_y, about_z = (
            moment_about(axis, np.array(points), np.array(forces)).sum()
            - moment_about(axis, state.nodes[0], weights).sum()
            + (got.start_moment[0] + got.end_moment[0]) @ axis
            for axis in np.eye(3)
        )
        off = float(np.linalg.norm(force)) * span.length / scale
        turn = math.hypot(about_x, about_y, about_z) / scale
        found += [
            Check(case, "unbalanced force, EI/L²", "statics", 1e-3, off, rule=Rule.AT_MOST),
            Check(case, "unbalanced moment, EI/L", "statics", 1e-3, turn, rule=Rule.AT_MOST),
        ]
    return found


def virtual_work() -> list[Check]:
    """Steering torque of the lines from bar to frame at both locks."""
    found = []
    for setup in (scenario.load(p) for p in scenario.bundled() if p.stem in MACHINES):
        swept = sweep(setup, stock=True, contact=False)
        for line in swept.lines:
            bodies = line.spans[0].case.layout.bodies
            if Body.FRAME not in bodies or set(bodies) == {Body.FRAME}:
                continue
            rests = line_rests(swept, line)
            torque = line_torque(swept, line, rests)
            for side, pose, got in (
                ("right", 0, torque.right_lock),
                ("left", len(swept.angles) - 1, torque.left_lock),
            ):
                expected = 1e-3 * minus_slope(swept, line, rests, pose)
                if abs(expected) < 1e-3 * _LEAST:
                    continue
                found.append(
                    Check(
                        f"{setup.machine.name}: {line.name}, {side} lock",
                        "steering torque, N·m",
                        "virtual work: central difference of the potential",
                        expected,
                        got,
                        0.01,
                    )
                )
    return found


def minus_slope(swept: Sweep, line: LineSweep, rests: Sequence[Rest], pose: int) -> float:
    """Minus the central difference, N·mm, of a line's potential by the turn, at ride height.

    The spans are settled anew a tenth of a degree to either side; nan where one is not at rest.
    """
    travel = int(np.argmin(np.abs(line.travels)))
    return -sum(_slope(swept, rest, float(line.travels[travel]), travel, pose) for rest in rests)


def _slope(swept: Sweep, rest: Rest, travel: float, at: int, pose: int) -> float:
    row = np.array([at * len(swept.angles) + pose])
    if not rest.good[row[0]]:
        return math.nan
    case, here, now = rest.span.case, rest.rods.take(row), rest.state.take(row)
    energies = []
    for step in (-_STEP, _STEP):
        turn = np.array([float(swept.angles[pose]) + step])
        there, moving = batch([case], [held(swept.setup, case, turn, np.array([travel]))])
        frames = riding_frames(case, rest.span.start_frame, rest.span.end_frame, moving, 0)
        there = replace(there, twisting=here.twisting, start_frame=frames[0], end_frame=frames[1])
        guess = carried(here, there, now)
        if not newton(there, guess).converged.all():
            return math.nan
        energies.append(float(potential(there, guess)[0]))
    return (energies[1] - energies[0]) / (2.0 * _STEP)


GROUPS: tuple[Callable[[], list[Check]], ...] = (clamp_reactions, balance, virtual_work)
