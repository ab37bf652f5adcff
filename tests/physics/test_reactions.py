"""What rods do to their holds, against statics and against the slope of their potential."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from barfit.geometry.frames import rotation
from barfit.mechanics import Span
from barfit.mechanics.newton import newton
from barfit.mechanics.reactions import moment_about, potential, reactions
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.settle import batch_of_one
from barfit.mechanics.start import settled

GUIDED = Span(
    (40, 120, 60), (1, 0, 0), (440, 320, 210), (0, 0.6, 0.8), 640, 5e4, 0.001, ((260, 150, 140),)
)
STEP = 1e-3  # mm and rad


def at_rest(span: Span) -> tuple[Rods, State]:
    rods = batch_of_one(span)
    state, outcome = settled(rods, np.array([span.length]), span.nodes)
    assert outcome.converged.all()
    return rods, state


def test_a_clamp_carries_the_weight_of_what_hangs_from_it() -> None:
    """Statics of a cantilever: all weight and load in force, their moments in moment."""
    load = np.array([0.02, 0.05, -0.1])
    span = Span((0, 0, 0), (1, 0, 0), None, None, 400, 2e4, 0.0008, end_load=load)
    rods, state = at_rest(span)
    found = reactions(rods, state)
    np.testing.assert_allclose(found.start_force[0], load - [0, 0, 0.0008 * 400], atol=1e-8)
    share = np.ones(span.nodes)
    share[[0, -1]] = 0.5
    forces = np.array([0, 0, -0.0008]) * state.edge[0] * share[:, None]
    forces[-1] += load
    moment = np.cross(state.nodes[0], forces).sum(0)
    # the clamp turns the first half edge into its direction: equal to the mesh's first order there
    np.testing.assert_allclose(found.start_moment[0], moment, atol=1e-6 * np.linalg.norm(moment))


def test_an_arc_of_a_circle_pushes_nothing_and_bends_its_clamps() -> None:
    """Both clamps tangent to a circle of radius R: a pure moment EI/R, each against the other."""
    radius, angle = 200.0, 2.0
    end = radius * np.array([np.sin(angle), 0.0, 1.0 - np.cos(angle)])
    way = np.array([np.cos(angle), 0.0, np.sin(angle)])
    pushes = []
    for nodes in (41, 81):
        rods, state = at_rest(
            Span((0, 0, 0), (1, 0, 0), end, way, radius * angle, 5e4, nodes=nodes)
        )
        found = reactions(rods, state)
        np.testing.assert_allclose(found.start_moment[0], [0, -5e4 / radius, 0], atol=0.5)
        np.testing.assert_allclose(found.end_moment[0], [0, 5e4 / radius, 0], atol=0.5)
        pushes.append(np.linalg.norm(found.start_force[0]))
    # what is left is the mesh's: small beside EI/R² and falling with its square
    assert pushes[0] < 0.005 * 5e4 / radius**2
    assert pushes[1] < 0.3 * pushes[0]


@pytest.mark.parametrize("axis", np.eye(3), ids="xyz")
@pytest.mark.parametrize("hold", ["start", "end", "guide"])
def test_reactions_do_the_work_the_potential_loses(hold: str, axis: np.ndarray) -> None:
    """Each hold shifted along and turned about an axis through the origin, alone."""
    rods, state = at_rest(GUIDED)
    found = reactions(rods, state)
    force, point, moment = {
        "start": (found.start_force[0], rods.start[0], found.start_moment[0]),
        "end": (found.end_force[0], rods.end[0], found.end_moment[0]),
        "guide": (found.guide_force[0, 0], rods.guides[0, 0], np.zeros(3)),
    }[hold]

    def shifted(by: float) -> Rods:
        if hold == "guide":
            return replace(rods, guides=rods.guides + by * axis)
        return replace(rods, **{hold: getattr(rods, hold) + by * axis})

    def turned(by: float) -> Rods:
        turn = rotation(axis, by)
        if hold == "guide":
            return replace(rods, guides=rods.guides @ turn.T)
        names = (hold, f"{hold}_direction")
        return replace(rods, **{name: getattr(rods, name) @ turn.T for name in names})

    assert force @ axis == pytest.approx(_loss(shifted, rods, state), rel=1e-3, abs=1e-4)
    about = float(moment_about(axis, point, force)) + moment @ axis
    assert about == pytest.approx(_loss(turned, rods, state), rel=1e-3, abs=1e-2)


def _loss(moved: Callable[[float], Rods], rods: Rods, state: State) -> float:
    """Minus the central difference of the potential, the rod settled anew on both sides."""
    energies = []
    for by in (-STEP, STEP):
        there, now = moved(by), state.copy()
        now.nodes[:, 0], now.nodes[:, -1] = there.start, there.end
        assert newton(there, now).converged.all()
        energies.append(potential(there, now)[0])
    return float(energies[0] - energies[1]) / (2 * STEP)
