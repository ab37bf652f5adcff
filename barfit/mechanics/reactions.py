"""What rods at rest do to what holds them: forces on ends and guides, moments on clamps.

By virtual work: moving one hold alone changes the rod's potential, and minus its derivative is the
force or moment on the hold; the free nodes are at rest and add nothing. At each end this collects
the force in the last edge, the shear of the bend beside it and half an edge's weight; the moment of
a clamp is that of its half vertex (see `barfit.mechanics.rod`), EI times the curvature there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.mechanics.contact_kernels import STIFFNESS as TOUCH_STIFFNESS
from barfit.mechanics.guides import guide_energy, spring_pulls
from barfit.mechanics.rod import Rods, State, bending_energy, edges, end_offsets, load_energy
from barfit.mechanics.system import assemble
from barfit.mechanics.twist import twist_energy


@dataclass(frozen=True)
class Reactions:
    """What a batch of rods does to its holds, N and N mm.

    start_force, end_force (B, 3) act at the ends of the rod; start_moment, end_moment (B, 3) on
    its clamps (0 for a pinned end); guide_force (B, K, 3) at the guides.
    """

    start_force: np.ndarray
    start_moment: np.ndarray
    end_force: np.ndarray
    end_moment: np.ndarray
    guide_force: np.ndarray


def reactions(rods: Rods, state: State) -> Reactions:
    """The reactions of rods at rest. The pulls on guides are taken from where the rods lie.

    Virtual work, see the module. A rod that is not at rest has no reactions worth the name.
    """
    now = state.copy()
    now.guide_pull = spring_pulls(rods, now)
    linear = assemble(rods, now)
    gradient = linear.force
    first, last = end_offsets(rods, now)
    bend = (2.0 * rods.ei / now.edge**3)[:, None]
    # the solver's gradient leaves out what only node 0 feels, because node 0 is held
    start = gradient[:, 0] - bend * first
    start[:, 2] -= 0.5 * rods.weight * now.edge
    lever = bend * now.edge[:, None]
    # a twisting moment turns each clamp about the direction halfway between it and the edge there
    turning = np.where(rods.twisting > 0.0, now.twist_moment, 0.0)[:, None]
    out = _halfway(rods.start_direction, linear.tangent[:, 0])
    back = _halfway(rods.end_direction, linear.tangent[:, -1])
    return Reactions(
        start_force=-start,
        start_moment=lever * np.cross(rods.start_direction, first) + turning * out,
        end_force=-gradient[:, -1],
        end_moment=lever * np.cross(rods.end_direction, last) - turning * back,
        guide_force=now.guide_pull,
    )


def _halfway(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """(a + b) / (1 + a.b) of unit vectors (B, 3)."""
    return np.asarray((a + b) / (1.0 + np.einsum("bi,bi->b", a, b))[:, None])


def edge_tensions(rods: Rods, state: State) -> np.ndarray:
    """The tensions (B, N-1) N that the stretch of every edge amounts to."""
    length, _ = edges(state)
    return rods.ea[:, None] * (length / state.edge[:, None] - 1.0)


def potential(rods: Rods, state: State) -> np.ndarray:
    """Bending, twist, weight, stretch and the springs of guides and touches together (B,), N mm."""
    stretch = 0.5 * state.edge / rods.ea * (edge_tensions(rods, state) ** 2).sum(1)
    now = state.copy()
    springs = guide_energy(rods, now) + 0.5 / TOUCH_STIFFNESS * (now.touch_force**2).sum(1)
    elastic = bending_energy(rods, now) + twist_energy(rods, now) + stretch + springs
    total: np.ndarray = elastic + load_energy(rods, now)
    return total


def moment_about(axis: np.ndarray, points: np.ndarray, forces: np.ndarray) -> np.ndarray:
    """Moment (...,) N mm of forces at points (..., 3) about an axis (3,) through the origin."""
    about: np.ndarray = np.cross(points, forces) @ axis
    return about
