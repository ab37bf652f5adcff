"""Twist of rods whose two ends are held against turning: how much they carry, and what it does.

An isotropic Kirchhoff rod spreads its twist evenly, so that all there is to know is the total
twist phi and the twisting moment M = GJ phi / L, with the energy GJ phi^2 / (2 L) (Kirchhoff 1859;
Antman, Nonlinear Problems of Elasticity, ch. VIII). Phi is how far the end's own frame has turned
against the start's carried along the centreline (:mod:`barfit.mechanics.twist_kernels`), so it
changes as the centreline moves, and the moment pushes the centreline in turn.

As with tensions and guides, the moment is an unknown of its own with the compliance L / GJ: the
band gains M times the second derivative of phi, and one border.

Frames are unit vectors across the end directions, fixed to whatever holds the end.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from barfit.mechanics.kernels import Array, add_guides, compiled, nearest_points, step_guides
from barfit.mechanics.newton import MOST_STEPS, STEP_CAP, TENSION_TOLERANCE, TOLERANCE
from barfit.mechanics.newton_loop import ring_buffers
from barfit.mechanics.reactions import Reactions
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.system import Linear, assemble
from barfit.mechanics.twist_kernels import add_twist, carry, total_twist, twisted_step

_SHARES = (0.25, 0.5, 0.75, 1.0)  # of the twisting stiffness, for rods that do not settle at once


@dataclass(frozen=True)
class TwistHold:
    """What holds a batch of rods against turning.

    ``stiffness`` (B,) is GJ in N mm2; ``start_frame`` and ``end_frame`` (B, 3) are unit vectors
    across the end directions; ``near`` (B,) rad picks among total twists that differ by whole
    turns: the one it is nearest to. Both ends of every rod must be clamped and its far end held.
    """

    stiffness: np.ndarray
    start_frame: np.ndarray
    end_frame: np.ndarray
    near: np.ndarray

    def take(self, index: np.ndarray) -> TwistHold:
        """The holds of these indices."""
        return replace(self, **{name: value[index] for name, value in vars(self).items()})


@dataclass
class Twisted:
    """What became of a batch: total twist (B,) rad, moment (B,) N mm, and the status of each as in
    `barfit.mechanics.newton.Outcome`, with the twist in the second variation.
    """

    twist: np.ndarray
    moment: np.ndarray
    converged: np.ndarray
    stable: np.ndarray
    residual: np.ndarray
    steps: np.ndarray


def across(directions: np.ndarray) -> np.ndarray:
    """A unit vector across each direction (B, 3), as frame of an end."""
    axis = np.eye(3)[np.abs(directions).argmin(-1)]
    out = np.cross(directions, axis)
    return np.asarray(out / np.linalg.norm(out, axis=-1, keepdims=True))


def carried_frame(rods: Rods, nodes: np.ndarray, start_frame: np.ndarray) -> np.ndarray:
    """Where the start's frames (B, 3) come to when carried along nodes (B, N, 3) to the end."""
    out = start_frame.astype(float).copy()
    for b in range(len(nodes)):
        carry(nodes[b], rods.start_direction[b], rods.end_direction[b], out[b])
    return out


def twist_of(rods: Rods, nodes: np.ndarray, hold: TwistHold) -> np.ndarray:
    """Total twist (B,) rad of rods that lie along nodes (B, N, 3)."""
    return np.array(
        [
            total_twist(
                nodes[b],
                rods.start_direction[b],
                rods.end_direction[b],
                hold.start_frame[b],
                hold.end_frame[b],
                hold.near[b],
            )
            for b in range(len(nodes))
        ]
    )


def twist_energy(stiffness: np.ndarray, twist: np.ndarray, length: np.ndarray) -> np.ndarray:
    """Energy of twist (B,), N mm."""
    energy: np.ndarray = 0.5 * stiffness * twist**2 / length
    return energy


def with_twist(found: Reactions, rods: Rods, nodes: np.ndarray, moment: np.ndarray) -> Reactions:
    """Reactions with those of twisting moments (B,) N mm added, for rods along nodes (B, N, 3).

    The moment turns each clamp about the line there, the end the other way, and pushes both ends
    as it pushes the nodes between.
    """
    force = np.empty_like(nodes)
    for b in range(len(nodes)):
        ignored = np.zeros((*nodes[b].shape, 9))
        add_twist(nodes[b], rods.start_direction[b], rods.end_direction[b], 0.0, force[b], ignored)
    force *= -moment[:, None, None]
    edge = np.diff(nodes, axis=1)[:, [0, -1]]
    edge /= np.linalg.norm(edge, axis=2, keepdims=True)
    # the frame of a clamp is carried into the first edge about the direction halfway between them
    first = _halfway(rods.start_direction, edge[:, 0])
    last = _halfway(rods.end_direction, edge[:, 1])
    return Reactions(
        start_force=found.start_force + force[:, 0],
        start_moment=found.start_moment + moment[:, None] * first,
        end_force=found.end_force + force[:, -1],
        end_moment=found.end_moment - moment[:, None] * last,
        guide_force=found.guide_force,
    )


def _halfway(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """(a + b) / (1 + a.b) of unit vectors (B, 3)."""
    return np.asarray((a + b) / (1.0 + np.einsum("bi,bi->b", a, b))[:, None])


def settle_twisted(rods: Rods, state: State, hold: TwistHold) -> Twisted:
    """Settle a batch in place, from rods at rest without their twist, now with it.

    Rods that do not converge at once get their twisting stiffness in quarters. Those that do not
    then are left where they came to and say so.
    """
    first = state.copy()
    out = _newton(rods, state, hold)
    lost = np.flatnonzero(~out.converged)
    if len(lost):
        some, now = rods.take(lost), first.take(lost)
        held = hold.take(lost)
        for share in _SHARES:
            again = _newton(some, now, replace(held, stiffness=share * held.stiffness))
        better = lost[again.converged]
        state.put(better, now.take(np.flatnonzero(again.converged)))
        for name, value in vars(again).items():
            getattr(out, name)[better] = value[again.converged]
    return out


def _newton(rods: Rods, state: State, hold: TwistHold) -> Twisted:
    length = state.length
    twist = twist_of(rods, state.nodes, hold)
    out = Twisted(
        twist,
        hold.stiffness * twist / length,
        np.zeros(rods.size, bool),
        np.zeros(rods.size, bool),
        np.full(rods.size, np.inf),
        np.zeros(rods.size, int),
    )
    active = np.arange(rods.size)
    for _ in range(MOST_STEPS):
        some, now, held = rods.take(active), state.take(active), hold.take(active)
        linear = assemble(some, now)
        status = Twisted(*(value[active] for value in vars(out).values()))
        running = np.zeros(len(active), bool)
        _step_rods(
            *_fields(some, now, held, linear),
            *vars(status).values(),
            running,
        )
        state.put(active, now)
        for name, value in vars(status).items():
            getattr(out, name)[active] = value
        active = active[running]
        if not len(active):
            break
    return out


def _fields(some: Rods, now: State, held: TwistHold, linear: Linear) -> tuple[Array, ...]:
    """The arrays `_step_rods` takes, in its order."""
    return (
        now.nodes,
        now.tensions,
        now.edge,
        now.guide_at,
        now.guide_pull,
        some.ei,
        some.ea,
        some.start_direction,
        some.end_direction,
        some.guides,
        some.guide_stiffness,
        held.stiffness,
        held.start_frame,
        held.end_frame,
        linear.force,
        linear.right,
        linear.gap,
        linear.tangent,
        linear.band,
    )


@compiled
def _step_rods(
    nodes: Array,
    tensions: Array,
    edges: Array,
    guide_at: Array,
    guide_pull: Array,
    ei: Array,
    ea: Array,
    start_direction: Array,
    end_direction: Array,
    guides: Array,
    guide_stiffness: Array,
    twisting: Array,
    start_frame: Array,
    end_frame: Array,
    force: Array,
    rights: Array,
    gap: Array,
    tangent: Array,
    band: Array,
    twist: Array,
    moment: Array,
    converged: Array,
    stable: Array,
    residual: Array,
    steps: Array,
    running: Array,
) -> None:
    """One Newton step of every rod of a batch, in place; ``running``: it wants another."""
    size, count = nodes.shape[0], nodes.shape[1]
    width = band.shape[3]
    rings = guides.shape[1]
    slope, right = np.empty((count, 3)), np.empty((2, count, 3))
    factor, pivots = np.empty((3 * count, width)), np.empty(3 * count)
    found = np.empty((2, count, 3))
    first, weights, slopes, offset, bow, bend, coupling, steep = ring_buffers(rings)
    spare, loose = np.zeros((count, 3)), np.zeros((count, 3, width))
    for b in range(size):
        x, t, edge = nodes[b], tensions[b], edges[b]
        length = edge * (count - 1)
        compliance = length / twisting[b]
        add_twist(x, start_direction[b], end_direction[b], moment[b], slope, band[b])
        twist[b] = total_twist(
            x, start_direction[b], end_direction[b], start_frame[b], end_frame[b], twist[b]
        )
        right[0] = rights[b] - moment[b] * slope
        right[1] = slope
        lack = twist[b] - compliance * moment[b]
        change, good = twisted_step(band[b], right, slope, lack, compliance, factor, pivots, found)
        step = found[0]
        moved = left = 0.0
        for i in range(1, count - 1):
            s = f = 0.0
            for c in range(3):
                s += step[i, c] ** 2
                f += (force[b, i, c] + moment[b] * slope[i, c]) ** 2
            moved = max(moved, s) if s == s else s  # a nan must not be lost
            if s != s:
                break
            left = max(left, f)
        steps[b] += 1
        stable[b] = good
        residual[b] = np.sqrt(left)
        if not (np.isfinite(moved) and np.isfinite(change)):
            continue
        moved = np.sqrt(moved)
        part = min(1.0, STEP_CAP * edge / max(moved, 1e-300))
        greatest = most = 0.0
        for i in range(count - 1):
            stretch = gap[b, i]
            for c in range(3):
                stretch += tangent[b, i, c] * (step[i + 1, c] - step[i, c])
            pull = ea[b] / edge * stretch
            t[i] += part * pull
            greatest = max(greatest, abs(t[i]))
            most = max(most, abs(pull))
        if rings:
            nearest_points(
                x,
                guides[b],
                guide_stiffness[b],
                guide_at[b],
                first,
                weights,
                slopes,
                offset,
                bow,
                bend,
            )
            add_guides(
                guide_stiffness[b],
                guide_pull[b],
                first,
                weights,
                slopes,
                offset,
                bow,
                bend,
                spare,
                spare,
                loose,
                coupling,
                steep,
            )
            step_guides(
                guide_stiffness[b],
                first,
                weights,
                offset,
                bow,
                coupling,
                steep,
                step,
                part,
                guide_pull[b],
            )
        x += part * step
        moment[b] += part * change
        calm = most < TENSION_TOLERANCE * (greatest + 40.0 * ei[b] / length**2) and abs(
            change
        ) < TENSION_TOLERANCE * (abs(moment[b]) + ei[b] / length)
        small = moved < TOLERANCE * edge
        if small and calm and part == 1.0 and good:
            twist[b] = total_twist(
                x, start_direction[b], end_direction[b], start_frame[b], end_frame[b], twist[b]
            )
            converged[b] = True
        elif not (small and not good):  # at rest at a point that is not stable: no use going on
            running[b] = True
