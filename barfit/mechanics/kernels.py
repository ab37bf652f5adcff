"""Compiled loops: the terms of the Newton system of a rod.

Everything the solver does a million times is here, in :mod:`barfit.mechanics.band`,
:mod:`barfit.mechanics.contact_kernels` and :mod:`barfit.mechanics.newton_loop`, as plain loops over
nodes and guides, compiled by numba at first use and kept in its cache. No physics is decided here:
what each term means, with its source, stands in :mod:`barfit.mechanics.rod`,
:mod:`barfit.mechanics.guides` and :mod:`barfit.mechanics.system`.

Functions work on one rod unless they say otherwise. Band storage: ``band[node, axis, r]`` is the
entry of column 3 node + axis that is ``width - 1 - r`` rows above the diagonal (upper band storage
of LAPACK, transposed).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from barfit.compiled import compiled

Array = np.ndarray

_NEAREST_STEPS = 6
_NEAR_ENOUGH = 1e-9  # edges
_ENDS = 0.5  # edges: a guide that runs off the end of the rod would stay stuck there


class Rod(NamedTuple):
    """What does not change while one rod settles: a row of :class:`barfit.mechanics.rod.Rods`."""

    ei: float
    ea: float
    weight: float
    start_direction: Array
    end_direction: Array
    clamp_start: float
    clamp_end: float
    free_end: bool
    end_load: Array
    guides: Array
    guide_stiffness: Array


class Rings(NamedTuple):
    """What the loops find out about the K guide rings of one rod.

    For the four nodes that carry the rod at a ring: ``first`` (K,) of them, their ``weights`` and
    ``slopes`` (K, 4), the derivatives of the weights by the place along the rod; ``offset``,
    ``slope``, ``bend`` (K, 3), the way from guide to rod and its first two derivatives; and how
    the rings are eliminated: ``coupling`` (K, 4, 3) and ``steep`` (K,).
    """

    first: Array
    weights: Array
    slopes: Array
    offset: Array
    slope: Array
    bend: Array
    coupling: Array
    steep: Array


@compiled
def ring_buffers(rings: int) -> Rings:
    """Room for that many rings."""
    return Rings(
        np.zeros(rings, np.int64),
        np.zeros((rings, 4)),
        np.zeros((rings, 4)),
        np.zeros((rings, 3)),
        np.zeros((rings, 3)),
        np.zeros((rings, 3)),
        np.zeros((rings, 4, 3)),
        np.ones(rings),
    )


@compiled
def add_loads(edge: float, weight: float, free_end: bool, end_load: Array, force: Array) -> None:
    """Add the gradient (N, 3) of the potential of weight and end load."""
    count = force.shape[0]
    for i in range(count):
        force[i, 2] += weight * edge
    force[count - 1, 2] -= 0.5 * weight * edge
    if free_end:
        for c in range(3):
            force[count - 1, c] -= end_load[c]


@compiled
def add_bending(
    nodes: Array,
    edge: float,
    ei: float,
    clamp_start: float,
    clamp_end: float,
    start_direction: Array,
    end_direction: Array,
    force: Array,
    band: Array,
) -> None:
    """Add the gradient (N, 3) of the bending energy and its Hessian."""
    count = nodes.shape[0]
    top = band.shape[2] - 1
    s = ei / edge**3
    for i in range(1, count - 1):
        for c in range(3):
            d2 = s * (nodes[i + 1, c] - 2.0 * nodes[i, c] + nodes[i - 1, c])
            force[i, c] -= 2.0 * d2
            force[i - 1, c] += d2
            force[i + 1, c] += d2
            band[i - 1, c, top] += s
            band[i, c, top] += 4.0 * s
            band[i + 1, c, top] += s
            band[i, c, top - 3] -= 2.0 * s
            band[i + 1, c, top - 3] -= 2.0 * s
            band[i + 1, c, top - 6] += s
    first, last = 2.0 * s * clamp_start, 2.0 * s * clamp_end
    for c in range(3):
        q = nodes[1, c] - nodes[0, c] - edge * start_direction[c]
        force[1, c] += first * q
        band[1, c, top] += first
        q = nodes[count - 1, c] - nodes[count - 2, c] - edge * end_direction[c]
        force[count - 2, c] -= last * q
        force[count - 1, c] += last * q
        band[count - 1, c, top] += last
        band[count - 2, c, top] += last
        band[count - 1, c, top - 3] -= last


@compiled
def add_edges(
    nodes: Array,
    tensions: Array,
    edge: float,
    ea: float,
    force: Array,
    right: Array,
    gap: Array,
    tangent: Array,
    band: Array,
) -> None:
    """Add what the edges' tensions and lengths contribute; fill gap (N-1,) and tangent (N-1, 3)."""
    top = band.shape[2] - 1
    stiff = ea / edge
    for i in range(nodes.shape[0] - 1):
        square = 0.0
        for c in range(3):
            e = nodes[i + 1, c] - nodes[i, c]
            tangent[i, c] = e
            square += e * e
        length = np.sqrt(square)
        tension = tensions[i]
        gap[i] = length - edge * (1.0 + tension / ea)
        across = tension / length
        for c in range(3):
            tangent[i, c] /= length
            pull = tension * tangent[i, c]
            force[i, c] -= pull
            force[i + 1, c] += pull
            pull += stiff * gap[i] * tangent[i, c]
            right[i, c] += pull
            right[i + 1, c] -= pull
        for c in range(3):
            for d in range(3):
                part = (stiff - across) * tangent[i, c] * tangent[i, d]
                if c == d:
                    part += across
                band[i + 1, d, top - 3 + c - d] -= part
                if c <= d:
                    band[i, d, top + c - d] += part
                    band[i + 1, d, top + c - d] += part


@compiled
def catmull_rom(f: float, w: Array, w1: Array, w2: Array) -> None:
    """Catmull-Rom weights of four nodes at the fraction f, and their first two derivatives."""
    w[0] = 0.5 * f * (-1.0 + f * (2.0 - f))
    w[1] = 1.0 + 0.5 * f * f * (-5.0 + 3.0 * f)
    w[2] = 0.5 * f * (1.0 + f * (4.0 - 3.0 * f))
    w[3] = 0.5 * f * f * (f - 1.0)
    w1[0] = 0.5 * (-1.0 + f * (4.0 - 3.0 * f))
    w1[1] = 0.5 * f * (-10.0 + 9.0 * f)
    w1[2] = 0.5 * (1.0 + f * (8.0 - 9.0 * f))
    w1[3] = 0.5 * f * (3.0 * f - 2.0)
    w2[0] = 2.0 - 3.0 * f
    w2[1] = 9.0 * f - 5.0
    w2[2] = 4.0 - 9.0 * f
    w2[3] = 3.0 * f - 1.0


@compiled
def nearest_points(nodes: Array, guides: Array, stiffness: Array, at: Array, rings: Rings) -> None:
    """Move ``at`` (K,), counted in edges, to where the rod is nearest to each guide.

    Newton's method on the squared distance, each step at most 0.7 edges. Fills all of ``rings``
    but how they are eliminated.
    """
    offset, slope, bend = rings.offset, rings.slope, rings.bend
    last = nodes.shape[0] - 1
    w, w1, w2 = np.empty(4), np.empty(4), np.empty(4)
    for k in range(guides.shape[0]):
        if stiffness[k] == 0.0:  # a place in the table that this rod does not use
            continue
        u = at[k]
        for _ in range(_NEAREST_STEPS):
            i = min(max(int(u), 1), last - 2) - 1
            catmull_rom(u - (i + 1), w, w1, w2)
            ss = so = bo = 0.0
            for c in range(3):
                p = s = t = 0.0
                for a in range(4):
                    x = nodes[i + a, c]
                    p += w[a] * x
                    s += w1[a] * x
                    t += w2[a] * x
                p -= guides[k, c]
                offset[k, c], slope[k, c], bend[k, c] = p, s, t
                ss += s * s
                so += s * p
                bo += t * p
            rings.first[k] = i
            for a in range(4):
                rings.weights[k, a], rings.slopes[k, a] = w[a], w1[a]
            step = -so / max(ss + bo, 0.25 * ss)
            if not abs(step) >= _NEAR_ENOUGH:
                break
            u = min(max(u + min(max(step, -0.7), 0.7), _ENDS), last - _ENDS)
        at[k] = u


@compiled
def add_guides(
    stiffness: Array, pull: Array, rings: Rings, force: Array, right: Array, band: Array
) -> None:
    """Add the guides' terms; fill how the rings are eliminated."""
    slope, weights, coupling = rings.slope, rings.weights, rings.coupling
    top = band.shape[2] - 1
    for k in range(stiffness.shape[0]):
        stiff = stiffness[k]
        if stiff == 0.0:
            continue
        i = rings.first[k]
        d = 0.0
        for c in range(3):
            d += stiff * slope[k, c] ** 2 + pull[k, c] * rings.bend[k, c]
        rings.steep[k] = d
        for a in range(4):
            w, w1 = weights[k, a], rings.slopes[k, a]
            for c in range(3):
                coupling[k, a, c] = stiff * w * slope[k, c] + w1 * pull[k, c]
                force[i + a, c] += w * pull[k, c]
                right[i + a, c] -= w * stiff * rings.offset[k, c]
        for a in range(4):
            for e in range(a, 4):
                both = stiff * weights[k, a] * weights[k, e]
                for c in range(3):
                    for f in range(c if a == e else 0, 3):
                        part = -coupling[k, a, c] * coupling[k, e, f] / d
                        if c == f:
                            part += both
                        band[i + e, f, top - 3 * (e - a) + c - f] += part


@compiled
def step_guides(stiffness: Array, rings: Rings, step: Array, part: float, pull: Array) -> None:
    """Change the pulls (K, 3) on the guides by their share of a step of the nodes (N, 3)."""
    for k in range(stiffness.shape[0]):
        if stiffness[k] == 0.0:
            continue
        along = 0.0
        for a in range(4):
            for c in range(3):
                along -= rings.coupling[k, a, c] * step[rings.first[k] + a, c]
        along /= rings.steep[k]
        for c in range(3):
            moved = rings.offset[k, c] + along * rings.slope[k, c]
            for a in range(4):
                moved += rings.weights[k, a] * step[rings.first[k] + a, c]
            pull[k, c] += part * (stiffness[k] * moved - pull[k, c])
