"""Compiled loops: the Newton system of a batch of rods, and the Cholesky solve of its bands.

Everything the solver does a million times is here, as plain loops over rods, nodes and guides,
compiled by numba at first use and kept in its cache. No physics is decided here: what each term
means, with its source, stands in :mod:`barfit.mechanics.rod`, :mod:`barfit.mechanics.guides` and
:mod:`barfit.mechanics.system`, which are the only callers.

Band storage, per rod: ``band[node, axis, r]`` is the entry of column 3 node + axis that is
``width - 1 - r`` rows above the diagonal (upper band storage of LAPACK, transposed).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numba import njit

Array = np.ndarray


def _compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """Compile at first use; kept on disk where there is a place to keep it."""
    try:
        compiled: Callable[..., Any] = njit(cache=True, nogil=True, error_model="numpy")(function)
    except RuntimeError:  # no folder numba may write its cache to
        compiled = njit(nogil=True, error_model="numpy")(function)
    return compiled


@_compiled
def add_bending(
    nodes: Array,
    edge: Array,
    ei: Array,
    clamp_start: Array,
    clamp_end: Array,
    start_direction: Array,
    end_direction: Array,
    force: Array,
    band: Array,
) -> None:
    """Add the gradient (B, N, 3) of the bending energy and its Hessian, in place."""
    size, count = nodes.shape[0], nodes.shape[1]
    top = band.shape[3] - 1
    for b in range(size):
        s = ei[b] / edge[b] ** 3
        for i in range(1, count - 1):
            for c in range(3):
                d2 = s * (nodes[b, i + 1, c] - 2.0 * nodes[b, i, c] + nodes[b, i - 1, c])
                force[b, i, c] -= 2.0 * d2
                force[b, i - 1, c] += d2
                force[b, i + 1, c] += d2
                band[b, i - 1, c, top] += s
                band[b, i, c, top] += 4.0 * s
                band[b, i + 1, c, top] += s
                band[b, i, c, top - 3] -= 2.0 * s
                band[b, i + 1, c, top - 3] -= 2.0 * s
                band[b, i + 1, c, top - 6] += s
        first, last = 2.0 * s * clamp_start[b], 2.0 * s * clamp_end[b]
        for c in range(3):
            q = nodes[b, 1, c] - nodes[b, 0, c] - edge[b] * start_direction[b, c]
            force[b, 1, c] += first * q
            band[b, 1, c, top] += first
            q = nodes[b, count - 1, c] - nodes[b, count - 2, c] - edge[b] * end_direction[b, c]
            force[b, count - 2, c] -= last * q
            force[b, count - 1, c] += last * q
            band[b, count - 1, c, top] += last
            band[b, count - 2, c, top] += last
            band[b, count - 1, c, top - 3] -= last


@_compiled
def add_edges(
    nodes: Array,
    tensions: Array,
    edge: Array,
    ea: Array,
    force: Array,
    right: Array,
    gap: Array,
    tangent: Array,
    band: Array,
) -> None:
    """Add what the edges' tensions and lengths contribute; fill gap and tangent, in place."""
    size, count = nodes.shape[0], nodes.shape[1]
    top = band.shape[3] - 1
    for b in range(size):
        stiff = ea[b] / edge[b]
        for i in range(count - 1):
            square = 0.0
            for c in range(3):
                e = nodes[b, i + 1, c] - nodes[b, i, c]
                tangent[b, i, c] = e
                square += e * e
            length = np.sqrt(square)
            tension = tensions[b, i]
            gap[b, i] = length - edge[b] * (1.0 + tension / ea[b])
            across = tension / length
            for c in range(3):
                tangent[b, i, c] /= length
                force[b, i, c] -= tension * tangent[b, i, c]
                force[b, i + 1, c] += tension * tangent[b, i, c]
                right[b, i, c] += stiff * gap[b, i] * tangent[b, i, c]
                right[b, i + 1, c] -= stiff * gap[b, i] * tangent[b, i, c]
            for c in range(3):
                for d in range(3):
                    part = (stiff - across) * tangent[b, i, c] * tangent[b, i, d]
                    if c == d:
                        part += across
                    band[b, i + 1, d, top - 3 + c - d] -= part
                    if c <= d:
                        band[b, i, d, top + c - d] += part
                        band[b, i + 1, d, top + c - d] += part


@_compiled
def _cubic(
    f: float,
    w: Array,
    w1: Array,
    w2: Array,
) -> None:
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


@_compiled
def nearest_points(
    nodes: Array,
    guides: Array,
    stiffness: Array,
    at: Array,
    first: Array,
    weights: Array,
    slopes: Array,
    offset: Array,
    slope: Array,
    bend: Array,
    steps: int,
    enough: float,
) -> None:
    """Move ``at`` (B, K) to where each rod is nearest to each guide; fill the rest, in place.

    Newton's method on the squared distance, each step at most 0.7 edges.
    """
    last = nodes.shape[1] - 1
    w, w1, w2 = np.empty(4), np.empty(4), np.empty(4)
    for b in range(nodes.shape[0]):
        for k in range(guides.shape[1]):
            if stiffness[b, k] == 0.0:  # a place in the table that this rod does not use
                first[b, k] = 0
                continue
            u = at[b, k]
            for _ in range(steps):
                i = min(max(int(u), 1), last - 2) - 1
                _cubic(u - (i + 1), w, w1, w2)
                ss = so = bo = 0.0
                for c in range(3):
                    p = s = t = 0.0
                    for a in range(4):
                        x = nodes[b, i + a, c]
                        p += w[a] * x
                        s += w1[a] * x
                        t += w2[a] * x
                    p -= guides[b, k, c]
                    offset[b, k, c], slope[b, k, c], bend[b, k, c] = p, s, t
                    ss += s * s
                    so += s * p
                    bo += t * p
                first[b, k] = i
                for a in range(4):
                    weights[b, k, a], slopes[b, k, a] = w[a], w1[a]
                step = -so / max(ss + bo, 0.25 * ss)
                if not abs(step) >= enough:
                    break
                u = min(max(u + min(max(step, -0.7), 0.7), 0.0), float(last))
            at[b, k] = u


@_compiled
def add_guides(
    stiffness: Array,
    pull: Array,
    first: Array,
    weights: Array,
    slopes: Array,
    offset: Array,
    slope: Array,
    bend: Array,
    force: Array,
    right: Array,
    band: Array,
    coupling: Array,
    steep: Array,
) -> None:
    """Add the guides' terms and fill their coupling and steepness, in place."""
    top = band.shape[3] - 1
    for b in range(force.shape[0]):
        for k in range(stiffness.shape[1]):
            stiff = stiffness[b, k]
            if stiff == 0.0:
                steep[b, k] = 1.0
                continue
            i = first[b, k]
            d = 0.0
            for c in range(3):
                d += stiff * slope[b, k, c] ** 2 + pull[b, k, c] * bend[b, k, c]
            steep[b, k] = d
            for a in range(4):
                w, w1 = weights[b, k, a], slopes[b, k, a]
                for c in range(3):
                    coupling[b, k, a, c] = stiff * w * slope[b, k, c] + w1 * pull[b, k, c]
                    force[b, i + a, c] += w * pull[b, k, c]
                    right[b, i + a, c] -= w * stiff * offset[b, k, c]
            for a in range(4):
                for e in range(a, 4):
                    both = stiff * weights[b, k, a] * weights[b, k, e]
                    for c in range(3):
                        for f in range(c if a == e else 0, 3):
                            part = -coupling[b, k, a, c] * coupling[b, k, e, f] / d
                            if c == f:
                                part += both
                            band[b, i + e, f, top - 3 * (e - a) + c - f] += part


@_compiled
def solve_bands(
    band: Array,
    right: Array,
    free_end: Array,
    found: Array,
    stable: Array,
) -> None:
    """Solve every rod's band for the M right-hand sides (M, B, N, 3), nodes 1 to the last free one.

    Cholesky factorisation of a band, column by column (Golub and Van Loan, Matrix Computations,
    section 4.3.5). ``stable[b]`` tells whether the band was positive definite; where not, nothing
    is found. Held nodes keep what ``found`` holds.
    """
    size, count, width = band.shape[0], band.shape[1], band.shape[3]
    top = width - 1
    upper = np.empty((3 * count, width))
    y = np.empty(3 * count)
    for b in range(size):
        n = 3 * (count - 1) if free_end[b] else 3 * (count - 2)
        columns = band[b].reshape(3 * count, width)
        stable[b] = True
        for j in range(n):
            low = max(0, j - top)
            for i in range(low, j + 1):
                total = columns[j + 3, top + i - j]
                for k in range(max(low, i - top), i):
                    total -= upper[i, top + k - i] * upper[j, top + k - j]
                if i < j:
                    upper[j, top + i - j] = total / upper[i, top]
                elif total > 0.0:
                    upper[j, top] = np.sqrt(total)
                else:
                    stable[b] = False
            if not stable[b]:
                break
        if not stable[b]:
            continue
        for m in range(right.shape[0]):
            values = right[m, b].reshape(3 * count)
            for j in range(n):
                total = values[j + 3]
                for k in range(max(0, j - top), j):
                    total -= upper[j, top + k - j] * y[k]
                y[j] = total / upper[j, top]
            for j in range(n - 1, -1, -1):
                y[j] /= upper[j, top]
                for k in range(max(0, j - top), j):
                    y[k] -= upper[j, top + k - j] * y[j]
            out = found[m, b].reshape(3 * count)
            for j in range(n):
                out[j + 3] = y[j]
