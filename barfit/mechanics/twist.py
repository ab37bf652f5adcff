"""Twist of rods whose two ends are held against turning: how much they carry.

An isotropic Kirchhoff rod spreads its twist evenly, so that all there is to know is the total
twist phi and the twisting moment M = GJ phi / L, with the energy GJ phi^2 / (2 L) (Kirchhoff 1859;
Antman, Nonlinear Problems of Elasticity, ch. VIII). Phi is how far the end's own frame has turned
against the start's carried along the centreline (:mod:`barfit.mechanics.twist_kernels`), so it
changes as the centreline moves, and the moment pushes the centreline in turn.

As with tensions and guides, the moment is an unknown of its own with the compliance L / GJ: the
band gains M times the second derivative of phi, and one border (`newton_loop`).

Frames are unit vectors across the end directions, fixed to whatever holds the end.
"""

from __future__ import annotations

import numpy as np

from barfit.mechanics.rod import Rods, State
from barfit.mechanics.twist_kernels import carry, total_twist


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


def twist_of(rods: Rods, state: State) -> np.ndarray:
    """Total twist (B,) rad of rods where they lie, 0 for those free to twist.

    Of those that differ by whole turns the ones nearest to ``state.twist``.
    """
    found = np.zeros(rods.size)
    for b in np.flatnonzero(rods.twisting > 0.0):
        found[b] = total_twist(
            state.nodes[b],
            rods.start_direction[b],
            rods.end_direction[b],
            rods.start_frame[b],
            rods.end_frame[b],
            state.twist[b],
        )
    return found


def wind(rods: Rods, state: State) -> None:
    """Set the twist of a state, and its moment, to what its shape amounts to."""
    state.twist = twist_of(rods, state)
    state.twist_moment = rods.twisting * state.twist / state.length


def twist_energy(rods: Rods, state: State) -> np.ndarray:
    """Energy of twist (B,), N mm."""
    energy: np.ndarray = 0.5 * rods.twisting * twist_of(rods, state) ** 2 / state.length
    return energy
