"""Compiled loops for twist: the frame carried along a rod, and what its turning does to the nodes.

A direction across the rod is carried along its edges without turning about them, from the start
clamp's direction through every edge to the end clamp's: discrete parallel transport, each vertex
turning the frame by the smallest rotation that takes one edge's direction into the next (Bergou,
Wardetzky, Robinson, Audoly, Grinspun, "Discrete elastic rods", ACM Trans. Graphics 27, 2008). How
far it has turned at the end, against how the end is held, is the twist the rod carries.

Its derivatives by the edges are half the curvature binormals kb = 2 a x b / (1 + a.b) of the
vertices at either end (the same paper), and the second ones those of Bergou, Audoly, Vouga,
Wardetzky, Grinspun, "Discrete viscous threads", ACM Trans. Graphics 29, 2010, appendix; for a rod
with both end directions held, the parts that are not symmetric cancel from vertex to vertex.
"""

from __future__ import annotations

import numpy as np

from barfit.compiled import compiled
from barfit.mechanics.kernels import Array


@compiled
def carry(nodes: Array, start_direction: Array, end_direction: Array, frame: Array) -> None:
    """Carry ``frame`` (3,), across the start direction, along the rod to its end, in place."""
    count = nodes.shape[0]
    a, b = start_direction.copy(), np.empty(3)
    for j in range(count):
        if j < count - 1:
            square = 0.0
            for c in range(3):
                b[c] = nodes[j + 1, c] - nodes[j, c]
                square += b[c] * b[c]
            for c in range(3):
                b[c] /= np.sqrt(square)
        else:
            b[:] = end_direction
        # the smallest rotation from a to b: u + w x u + w x (w x u) / (1 + a.b), w = a x b;
        # for u across a that is u - (u.b) (a + b) / (1 + a.b)
        along = grown = 0.0
        for c in range(3):
            along += frame[c] * b[c]
            grown += a[c] * b[c]
        share = along / (1.0 + grown)
        for c in range(3):
            frame[c] -= share * (a[c] + b[c])
            a[c] = b[c]


@compiled
def total_twist(
    nodes: Array,
    start_direction: Array,
    end_direction: Array,
    start_frame: Array,
    end_frame: Array,
    near: float,
) -> float:
    """Angle, rad, from the start's frame carried to the end to the end's own, right-handed about
    the end direction; of all that differ by whole turns the one nearest to ``near``.
    """
    u = start_frame.copy()
    carry(nodes, start_direction, end_direction, u)
    cos = sin = 0.0
    for c in range(3):
        d, e = (c + 1) % 3, (c + 2) % 3
        cos += u[c] * end_frame[c]
        sin += end_direction[c] * (u[d] * end_frame[e] - u[e] * end_frame[d])
    angle = np.arctan2(sin, cos)
    turn = 2.0 * np.pi
    return float(angle + turn * np.round((near - angle) / turn))


@compiled
def _binormal(a: Array, b: Array, k: Array, half: Array) -> float:
    """Curvature binormal k and half = (a + b) / (1 + a.b) of a vertex; returns 2 / (1 + a.b)."""
    grown = 1.0
    for c in range(3):
        grown += a[c] * b[c]
    for c in range(3):
        d, e = (c + 1) % 3, (c + 2) % 3
        k[c] = 2.0 * (a[d] * b[e] - a[e] * b[d]) / grown
        half[c] = (a[c] + b[c]) / grown
    return 2.0 / grown


@compiled
def _add_block(band: Array, p: int, q: int, c: int, f: int, value: float) -> None:
    """Add to the entry of node p, axis c and node q, axis f where it is in the upper triangle."""
    if p < q or c <= f:
        band[q, f, band.shape[2] - 1 - 3 * (q - p) + c - f] += value


@compiled
def add_twist(
    nodes: Array,
    start_direction: Array,
    end_direction: Array,
    moment: float,
    slope: Array,
    band: Array,
) -> None:
    """Fill ``slope`` (N, 3), the derivative of the total twist by the nodes, rad/mm, and add
    ``moment`` (N mm) times its second derivative to the band.

    For a rod whose two end directions are held. Half-width 8: three nodes in a row.
    """
    count = nodes.shape[0]
    slope[:] = 0.0
    a, b = start_direction.copy(), np.empty(3)
    k, half = np.empty(3), np.empty(3)
    cross = np.empty((3, 3))
    before = 0.0
    for j in range(count):
        # vertex j, at node j, from edge j - 1 (or the start clamp) to edge j (or the end clamp)
        length = 0.0
        if j < count - 1:
            for c in range(3):
                b[c] = nodes[j + 1, c] - nodes[j, c]
                length += b[c] * b[c]
            length = np.sqrt(length)
            for c in range(3):
                b[c] /= length
        else:
            b[:] = end_direction
        grown = _binormal(a, b, k, half)
        for side in range(2):
            # the edge before the vertex, then the one after it
            edge = j - 1 + side
            if edge < 0 or edge > count - 2:
                continue
            size = before if side == 0 else length
            t = a if side == 0 else b
            for c in range(3):
                part = 0.5 * k[c] / size
                slope[edge + 1, c] += part
                slope[edge, c] -= part
            scale = -0.25 * moment / size**2
            for c in range(3):
                for f in range(3):
                    h = scale * (k[c] * (t[f] + half[f]) + k[f] * (t[c] + half[c]))
                    _add_block(band, edge, edge, c, f, h)
                    _add_block(band, edge + 1, edge + 1, c, f, h)
                    _add_block(band, edge, edge + 1, c, f, -h)
        if 0 < j < count - 1:
            # both edges: (2 [a]x / (1 + a.b) - k half') / (2 |a| |b|)
            scale = 0.5 * moment / (before * length)
            for c in range(3):
                for f in range(3):
                    cross[c, f] = -scale * k[c] * half[f]
            for c in range(3):
                d, e = (c + 1) % 3, (c + 2) % 3
                cross[d, c] += scale * grown * a[e]
                cross[e, c] -= scale * grown * a[d]
            for c in range(3):
                for f in range(3):
                    _add_block(band, j, j + 1, c, f, cross[c, f])
                    _add_block(band, j - 1, j + 1, c, f, -cross[c, f])
                    _add_block(band, j - 1, j, c, f, cross[c, f])
                    _add_block(band, j, j, c, f, -cross[c, f] - cross[f, c])
        a[:] = b
        before = length


@compiled
def factorise_signed(band: Array, factor: Array, pivots: Array) -> int:
    """Factor U'DU of a band, both ends held; how many of D are negative.

    Without pivoting (Golub and Van Loan, Matrix Computations, section 4.1.2, for a band). By
    Sylvester's law of inertia the number of negative ``pivots`` (3N,) is that of negative
    eigenvalues. ``factor`` (3N, width) holds U from row 0, its diagonal of ones left out.
    """
    count, width = band.shape[0], band.shape[2]
    top = width - 1
    columns = band.reshape(3 * count, width)
    negative = 0
    for j in range(3 * (count - 2)):
        low = max(0, j - top)
        for i in range(low, j + 1):
            total = columns[j + 3, top + i - j]
            for k in range(max(low, i - top), i):
                total -= factor[i, top + k - i] * pivots[k] * factor[j, top + k - j]
            if i < j:
                factor[j, top + i - j] = total / pivots[i]
            else:
                pivots[j] = total
        if pivots[j] <= 0.0:
            negative += 1
    return negative


@compiled
def substitute_signed(factor: Array, pivots: Array, right: Array, found: Array) -> None:
    """Solve with the factor of `factorise_signed`; held nodes of ``found`` (N, 3) become 0."""
    count = right.shape[0]
    top = factor.shape[1] - 1
    n = 3 * (count - 2)
    b, y = right.reshape(3 * count), found.reshape(3 * count)
    y[:] = 0.0
    for j in range(n):
        total = b[j + 3]
        for k in range(max(0, j - top), j):
            total -= factor[j, top + k - j] * y[k + 3]
        y[j + 3] = total
    for j in range(n):
        y[j + 3] /= pivots[j]
    for j in range(n - 1, -1, -1):
        for k in range(max(0, j - top), j):
            y[k + 3] -= factor[j, top + k - j] * y[j + 3]


@compiled
def steadied(
    band: Array, compliance: float, right: Array, factor: Array, pivots: Array, found: Array
) -> bool:
    """Whether a rod's clamps keep it stable though its band, with its twisting moment dead, is not.

    The moment falls as the rod gives way, so its second variation is band + g g' / c with the slope
    of the twist g = ``right[1]`` and c the compliance L / GJ. Where the band has one negative
    direction and c + g.s < 0, s = band^-1 g, that has none (inertia additivity, Haynsworth 1968).
    Then ``found`` (2, N, 3) holds band^-1 of both right-hand sides.
    """
    if factorise_signed(band, factor, pivots) != 1:
        return False
    corner = compliance
    substitute_signed(factor, pivots, right[1], found[1])
    for i in range(band.shape[0]):
        for c in range(3):
            corner += right[1, i, c] * found[1, i, c]
    if corner >= 0.0:
        return False
    substitute_signed(factor, pivots, right[0], found[0])
    return True
