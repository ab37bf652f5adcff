"""Spans drawn taut: what is kept of them, and where another sweep may begin from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from barfit.analysis.spans import SpanCase
from barfit.mechanics.newton import newton
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.taut import fine_nodes, refined
from barfit.model import Setup

_MESH_ERROR = 0.005  # of the length: more than the meshes used here are ever off


@dataclass(frozen=True, eq=False)
class Drawn:
    """A span drawn taut over T suspension positions and A turn angles.

    ``taut_nodes`` and the like are the unknowns of its rods, laid out as in
    `barfit.mechanics.rod.State` with (T, A) in front, ``taut_edge`` nan where none was found;
    ``taut_length`` (T, A) mm is free of the mesh's error. ``ahead`` are the T rods straight ahead,
    as they were found from nothing, with what they touch.
    """

    taut_length: np.ndarray
    taut_nodes: np.ndarray
    taut_tensions: np.ndarray
    taut_edge: np.ndarray
    taut_guides: np.ndarray
    taut_pulls: np.ndarray
    ahead: State | None


class Lent(Protocol):
    """What is known of spans from other sweeps."""

    def taut(self, case: SpanCase, angles: np.ndarray) -> Drawn | None:
        """That span drawn taut over these turn angles (A,), rad; None where it is not known."""
        ...

    def ahead(self, setup: Setup, case: SpanCase) -> State | None:
        """The rods of that span of that setup straight ahead; None where they are not known."""
        ...


def drawn_states(poses: Sequence[tuple[Drawn, tuple[int, int]]], room: int) -> State:
    """How spans lie drawn taut, each at a pose (travel, turn), with ``room`` for guides."""
    guides, pulls = np.zeros((len(poses), room)), np.zeros((len(poses), room, 3))
    for row, (span, pose) in enumerate(poses):
        count = span.taut_guides.shape[-1]
        guides[row, :count] = span.taut_guides[pose]
        pulls[row, :count] = span.taut_pulls[pose]
    return State(
        np.stack([span.taut_nodes[pose] for span, pose in poses]),
        np.stack([span.taut_tensions[pose] for span, pose in poses]),
        np.array([span.taut_edge[pose] for span, pose in poses]),
        guides,
        pulls,
    )


def beside(states: Sequence[State], room: int) -> State:
    """States of as many nodes as one batch, with ``room`` for guides."""
    parts = []
    for state in states:
        lacks = room - state.guide_at.shape[1]
        guide_at = np.pad(state.guide_at, ((0, 0), (0, max(lacks, 0))))[:, :room]
        pull = np.pad(state.guide_pull, ((0, 0), (0, max(lacks, 0)), (0, 0)))[:, :room]
        parts.append(vars(state) | {"guide_at": guide_at, "guide_pull": pull})
    return State(**{name: np.concatenate([part[name] for part in parts]) for name in parts[0]})


def mesh_error(rods: Rods, state: State, pull: np.ndarray) -> np.ndarray:
    """How much longer the taut lengths (B,) would be on an infinitely fine mesh, mm.

    By Richardson's extrapolation of the second-order error from a mesh at least half as fine
    again; 0 for rods that do not converge on it.
    """
    nodes = state.nodes.shape[1]
    more = max(fine_nodes(rods, state, pull, 4.0), 3 * nodes // 2)
    fine = refined(state, more)
    good = newton(rods, fine, pull).converged
    ratio = (more - 1) / (nodes - 1)
    error: np.ndarray = (fine.length - state.length) * ratio**2 / (ratio**2 - 1.0)
    # a rod that lies another way on the finer mesh says nothing about this one
    good &= np.abs(error) < _MESH_ERROR * state.length
    return np.where(good, error, 0.0)
