"""The discrete elastic rod: what a batch of rods is, and its energy.

Method: an inextensible Kirchhoff rod, isotropic, so that bending and weight are all that counts
unless both its ends hold it against turning about itself; see :mod:`barfit.mechanics.twist` for
those (Kirchhoff 1859; Antman, Nonlinear Problems of Elasticity, ch. VIII). N nodes at
equal arc length l; second differences for bending, a half vertex at each clamped end; one tension
per edge as its own unknown, so that Newton's method sees the length constraint
|x_{i+1} - x_i| = l (1 + tension / EA) exactly and not through a stiff spring.

All arrays carry a leading batch axis B: rods of one node count are solved in one call of the
compiled loops, whose gradients `barfit.mechanics.kernels` holds. Units: mm, N. Weight acts
along -z.

Invariants the rest of the package relies on:
1. Node 0 is held in place; the last node is too unless ``free_end``. The band covers nodes
   1..N-1; the solver drops the last node where it is held.
2. The tensions are eliminated from the Newton system exactly. The matrix that remains is positive
   definite if and only if the rod is at a stable point of its constrained energy (inertia
   additivity, Haynsworth 1968), so a failed Cholesky factorisation is the stability test.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from barfit.mechanics.contact_kernels import Memory
from barfit.mechanics.kernels import Rod
from barfit.mechanics.solid_kernels import NO_SOLIDS, Around, Solids

MOST_TOUCHES = 400  # places of one rod that may press on solids at once


@dataclass(frozen=True)
class Rods:
    """What does not change while a batch of rods settles.

    ei (B,) N mm2; ea (B,) N; weight (B,) N/mm; start, end (B, 3) mm; start_direction,
    end_direction (B, 3) unit tangents from start to end, with clamp_start, clamp_end (B,) 1 where
    the direction is held and 0 where the end is pinned; free_end (B,) bool; end_load (B, 3) N dead
    load at a free end; guides (B, K, 3) mm; guide_stiffness (B, K) N/mm, 0 for no guide.
    twisting (B,) N mm2, GJ of a rod whose two clamped ends hold it against turning about itself, 0
    for one that is free to; start_frame, end_frame (B, 3) unit vectors across the ends' directions
    that ride with what holds them. A rod drawn by a pull is free to twist.
    """

    ei: np.ndarray
    ea: np.ndarray
    weight: np.ndarray
    start: np.ndarray
    end: np.ndarray
    start_direction: np.ndarray
    end_direction: np.ndarray
    clamp_start: np.ndarray
    clamp_end: np.ndarray
    free_end: np.ndarray
    end_load: np.ndarray
    guides: np.ndarray
    guide_stiffness: np.ndarray
    solids: Solids = NO_SOLIDS
    radius: np.ndarray = None  # type: ignore[assignment]  # filled in below
    turns: np.ndarray = None  # type: ignore[assignment]
    shifts: np.ndarray = None  # type: ignore[assignment]
    blind: np.ndarray = None  # type: ignore[assignment]
    twisting: np.ndarray = None  # type: ignore[assignment]
    start_frame: np.ndarray = None  # type: ignore[assignment]
    end_frame: np.ndarray = None  # type: ignore[assignment]

    def __post_init__(self) -> None:
        size = len(self.ei)
        nothing = {
            "radius": np.zeros(size),
            "turns": np.broadcast_to(np.eye(3), (size, 1, 3, 3)).copy(),
            "shifts": np.zeros((size, 1, 3)),
            "blind": np.zeros((size, len(self.solids.kind)), bool),
            "twisting": np.zeros(size),
            "start_frame": np.zeros((size, 3)),
            "end_frame": np.zeros((size, 3)),
        }
        for name, value in nothing.items():
            if getattr(self, name) is None:
                object.__setattr__(self, name, value)

    def take(self, index: np.ndarray) -> Rods:
        """The rods of these indices, as a batch of its own."""
        mine = {name: value for name, value in vars(self).items() if name != "solids"}
        return replace(self, **{name: value[index] for name, value in mine.items()})

    def rod(self, row: int) -> Rod:
        """One rod as the compiled loops take it."""
        return Rod(
            float(self.ei[row]),
            float(self.ea[row]),
            float(self.weight[row]),
            self.start_direction[row],
            self.end_direction[row],
            float(self.clamp_start[row]),
            float(self.clamp_end[row]),
            bool(self.free_end[row]),
            self.end_load[row],
            self.guides[row],
            self.guide_stiffness[row],
        )

    def around(self, row: int) -> Around:
        """What that rod may not pass through, as the compiled loops take it."""
        return Around(
            self.solids,
            self.turns[row],
            self.shifts[row],
            self.blind[row],
            float(self.radius[row]),
        )

    def free(self) -> Rods:
        """The same rods with nothing in their way."""
        return replace(self, solids=NO_SOLIDS, blind=np.zeros((self.size, 0), bool))

    @property
    def size(self) -> int:
        """How many rods."""
        return len(self.ei)


@dataclass
class State:
    """The unknowns of a batch: nodes (B, N, 3) mm, tensions (B, N-1) N, edge (B,) mm (rest length
    of one edge), guide_at (B, K), where along the rod each guide is, counted in edges, and
    guide_pull (B, K, 3) N, the force with which the rod pulls on each guide.

    touch_place, touch_solid, touch_force (B, MOST_TOUCHES): where a rod presses on solids, in
    quarters of an edge, on which, and how hard, N; 0 N for no touch. Left out, none.

    twist (B,) rad, whole turns counted, and twist_moment (B,) N mm of rods held against turning.
    """

    nodes: np.ndarray
    tensions: np.ndarray
    edge: np.ndarray
    guide_at: np.ndarray
    guide_pull: np.ndarray
    touch_place: np.ndarray = None  # type: ignore[assignment]  # filled in below
    touch_solid: np.ndarray = None  # type: ignore[assignment]
    touch_force: np.ndarray = None  # type: ignore[assignment]
    twist: np.ndarray = None  # type: ignore[assignment]
    twist_moment: np.ndarray = None  # type: ignore[assignment]

    def __post_init__(self) -> None:
        for name, kind in (("place", np.int64), ("solid", np.int64), ("force", float)):
            if getattr(self, f"touch_{name}") is None:
                setattr(self, f"touch_{name}", np.zeros((len(self.edge), MOST_TOUCHES), kind))
        for name in ("twist", "twist_moment"):
            if getattr(self, name) is None:
                setattr(self, name, np.zeros(len(self.edge)))

    def take(self, index: np.ndarray) -> State:
        """A copy of the states of these indices."""
        return State(**{name: value[index] for name, value in vars(self).items()})

    def put(self, index: np.ndarray, other: State) -> None:
        """Write a smaller batch back."""
        for name, value in vars(other).items():
            getattr(self, name)[index] = value

    def copy(self) -> State:
        """A copy that shares nothing."""
        return self.take(np.arange(len(self.edge)))

    def memory(self, row: int) -> Memory:
        """What one rod remembers of its touches, as the compiled loops take it."""
        return Memory(self.touch_place[row], self.touch_solid[row], self.touch_force[row])

    @property
    def length(self) -> np.ndarray:
        """Rest length of each rod (B,), mm."""
        return self.edge * self.tensions.shape[1]


def second_differences(nodes: np.ndarray) -> np.ndarray:
    """x_{i+1} - 2 x_i + x_{i-1} for the inner nodes, (B, N-2, 3)."""
    return nodes[:, 2:] - 2.0 * nodes[:, 1:-1] + nodes[:, :-2]


def end_offsets(rods: Rods, state: State) -> tuple[np.ndarray, np.ndarray]:
    """How far the first and last edges are from their clamped directions, (B, 3) each, mm."""
    x, edge = state.nodes, state.edge[:, None]
    first = (x[:, 1] - x[:, 0] - edge * rods.start_direction) * rods.clamp_start[:, None]
    last = (x[:, -1] - x[:, -2] - edge * rods.end_direction) * rods.clamp_end[:, None]
    return first, last


def bending_energy(rods: Rods, state: State) -> np.ndarray:
    """Energy of bending (B,), N mm: EI/(2 l^3) sum |d2|^2 + EI/l^3 |end offset|^2."""
    d2 = second_differences(state.nodes)
    first, last = end_offsets(rods, state)
    halves = (first**2).sum(1) + (last**2).sum(1)
    return rods.ei / state.edge**3 * (0.5 * np.einsum("bni,bni->b", d2, d2) + halves)


def load_energy(rods: Rods, state: State) -> np.ndarray:
    """Potential of weight and end load (B,), N mm."""
    z = state.nodes[:, :, 2]
    inner = z.sum(1) - 0.5 * (z[:, 0] + z[:, -1])
    return rods.weight * state.edge * inner - np.einsum(
        "bi,bi->b", rods.end_load * rods.free_end[:, None], state.nodes[:, -1]
    )


def edges(state: State) -> tuple[np.ndarray, np.ndarray]:
    """Length (B, N-1) and unit tangent (B, N-1, 3) of every edge."""
    e = state.nodes[:, 1:] - state.nodes[:, :-1]
    length = np.sqrt(np.einsum("bni,bni->bn", e, e))
    return length, e / length[:, :, None]


def curvature(rods: Rods, state: State) -> np.ndarray:
    """Curvature at every node (B, N), 1/mm: |d2|/l^2, and twice the end offset over l^2."""
    d2 = second_differences(state.nodes)
    first, last = end_offsets(rods, state)
    out = np.empty(state.nodes.shape[:2])
    out[:, 1:-1] = np.sqrt(np.einsum("bni,bni->bn", d2, d2))
    out[:, 0] = 2.0 * np.sqrt((first**2).sum(1))
    out[:, -1] = 2.0 * np.sqrt((last**2).sum(1))
    return out / state.edge[:, None] ** 2


def axial_force(rods: Rods, state: State) -> np.ndarray:
    """Tension (B, N-1) in every edge, N.

    The multiplier T of an edge's length is not the force along the rod: from n = T t - EI r_sss
    the latter is n.t = T + EI k^2. The curvature of an edge is the mean of its nodes'; the end
    edges, whose half vertices weigh differently, are extrapolated from the two beside them.
    """
    square = curvature(rods, state) ** 2
    force = state.tensions + rods.ei[:, None] * 0.5 * (square[:, 1:] + square[:, :-1])
    force[:, 0] = 2.0 * force[:, 1] - force[:, 2]
    force[:, -1] = 2.0 * force[:, -2] - force[:, -3]
    return force
