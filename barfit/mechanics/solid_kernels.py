"""Compiled signed distances: one point and one solid at a time, with the gradient.

The same solids as in :mod:`barfit.geometry.solids`, which states the methods and is the reference
these loops are tested against; and the arc of a bent tube. Rows of ``Solids.size``:

- capsule: start (3), end (3), radius
- box: centre (3), half sizes less rounding (3), rounding, cos and sin of pitch
- ellipsoid: centre (3), semi-axes (3), cos and sin of pitch
- grid of sampled distances: origin (3), spacing, counts (3), where its samples begin in
  ``Solids.samples``
- arc of a tube: centre of the arc (3), unit vectors from there to its start (3) and along it at
  its start (3), radius of the arc, cos and sin of its angle (at most pi), radius of the tube
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from barfit.compiled import compiled, inlined
from barfit.geometry.grid import grid_distance
from barfit.mechanics.kernels import Array

CAPSULE, BOX, ELLIPSOID, ARC, GRID = range(5)
SIZES = 13  # columns of Solids.size
SAMPLES_AT = 7  # the column of a grid that says where its samples begin
_ROOT_STEPS = 60
_ROOT_ENOUGH = 1e-13


class Solids(NamedTuple):
    """What rods may not pass through: kind (S,) int, mover (S,) int, size (S, SIZES) mm.

    ``mover`` says with which of a batch's movers each solid moves; sizes are in that mover's axes.
    ``samples`` (G,) mm are those of all sampled distances, one grid after the other.
    """

    kind: Array
    mover: Array
    size: Array
    samples: Array


class Around(NamedTuple):
    """What one rod may not pass through, where it is now: solids riding on V movers that have
    turned by ``turns`` (V, 3, 3) and then shifted by ``shifts`` (V, 3) mm. ``blind`` (S,) bool are
    those it does not feel; ``radius`` mm is half its diameter.
    """

    solids: Solids
    turns: Array
    shifts: Array
    blind: Array
    radius: float


NO_SOLIDS = Solids(np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros((0, SIZES)), np.zeros(0))


@inlined
def distance(solids: Solids, s: int, x: float, y: float, z: float, gradient: Array) -> float:
    """Signed distance, mm, of a point in its mover's axes from solid ``s``; fills the gradient."""
    size = solids.size[s]
    kind = solids.kind[s]
    if kind == CAPSULE:
        return _capsule(size, x, y, z, gradient)
    if kind == BOX:
        return _box(size, x, y, z, gradient)
    if kind == ELLIPSOID:
        return _ellipsoid(size, x, y, z, gradient)
    if kind == GRID:
        return _grid(size, solids.samples, x, y, z, gradient)
    return _arc(size, x, y, z, gradient)


@inlined
def at_least(solids: Solids, s: int, x: float, y: float, z: float, gradient: Array) -> float:
    """A distance, mm, that is never above the true one: quick where the solid is far away."""
    size = solids.size[s]
    if solids.kind[s] == ELLIPSOID:
        # the box round an ellipsoid is nearer than the ellipsoid
        dx, dy, dz = x - size[0], y - size[1], z - size[2]
        a = max(abs(size[6] * dx + size[7] * dz) - size[3], 0.0)
        b = max(abs(dy) - size[4], 0.0)
        c = max(abs(size[6] * dz - size[7] * dx) - size[5], 0.0)
        near = np.sqrt(a * a + b * b + c * c)
        if near > 0.0:
            return near
    return distance(solids, s, x, y, z, gradient)


@inlined
def _away(dx: float, dy: float, dz: float, radius: float, gradient: Array) -> float:
    """Distance and gradient of a ball, given the way from its centre."""
    length = np.sqrt(dx * dx + dy * dy + dz * dz)
    if length > 0.0:
        gradient[0], gradient[1], gradient[2] = dx / length, dy / length, dz / length
    else:  # any direction is as good
        gradient[0], gradient[1], gradient[2] = 0.0, 0.0, 1.0
    return length - radius


@inlined
def _capsule(size: Array, x: float, y: float, z: float, gradient: Array) -> float:
    ax, ay, az = size[3] - size[0], size[4] - size[1], size[5] - size[2]
    px, py, pz = x - size[0], y - size[1], z - size[2]
    square = ax * ax + ay * ay + az * az
    along = 0.0
    if square > 0.0:
        along = min(max((px * ax + py * ay + pz * az) / square, 0.0), 1.0)
    return _away(px - along * ax, py - along * ay, pz - along * az, size[6], gradient)


@compiled
def _unpitched(c: float, s: float, gradient: Array) -> None:
    """Turn a gradient from a solid's own axes back by its pitch."""
    gx, gz = gradient[0], gradient[2]
    gradient[0], gradient[2] = c * gx - s * gz, s * gx + c * gz


@compiled
def _box(size: Array, x: float, y: float, z: float, gradient: Array) -> float:
    c, s = size[7], size[8]
    dx, dz = x - size[0], z - size[2]
    px, py, pz = c * dx + s * dz, y - size[1], c * dz - s * dx
    ox, oy, oz = abs(px) - size[3], abs(py) - size[4], abs(pz) - size[5]
    if ox > 0.0 or oy > 0.0 or oz > 0.0:
        found = _away(max(ox, 0.0), max(oy, 0.0), max(oz, 0.0), size[6], gradient)
    else:
        gradient[:] = 0.0
        if ox >= oy and ox >= oz:
            gradient[0] = 1.0
            found = ox - size[6]
        elif oy >= oz:
            gradient[1] = 1.0
            found = oy - size[6]
        else:
            gradient[2] = 1.0
            found = oz - size[6]
    if px < 0.0:
        gradient[0] = -gradient[0]
    if py < 0.0:
        gradient[1] = -gradient[1]
    if pz < 0.0:
        gradient[2] = -gradient[2]
    _unpitched(c, s, gradient)
    return found


@compiled
def _ellipsoid(size: Array, x: float, y: float, z: float, gradient: Array) -> float:
    c, s = size[6], size[7]
    dx, dz = x - size[0], z - size[2]
    px, py, pz = c * dx + s * dz, y - size[1], c * dz - s * dx
    a0, a1, a2 = size[3], size[4], size[5]
    least = min(a0, a1, a2)
    r0, r1, r2 = (a0 / least) ** 2, (a1 / least) ** 2, (a2 / least) ** 2
    u0, u1, u2 = r0 * abs(px) / a0, r1 * abs(py) / a1, r2 * abs(pz) / a2
    # the root w of |u / (w + r - 1)| = 1, from below
    w = max(u0 - (r0 - 1.0), u1 - (r1 - 1.0), u2 - (r2 - 1.0), 1e-12)
    t0 = t1 = t2 = 0.0
    for _ in range(_ROOT_STEPS):
        l0, l1, l2 = w + r0 - 1.0, w + r1 - 1.0, w + r2 - 1.0
        t0, t1, t2 = u0 / l0, u1 / l1, u2 / l2
        square = t0 * t0 + t1 * t1 + t2 * t2
        norm = np.sqrt(square)
        if norm - 1.0 <= _ROOT_ENOUGH:
            break
        step = square * (norm - 1.0) / (t0 * t0 / l0 + t1 * t1 / l1 + t2 * t2 / l2)
        w += step
        if step <= _ROOT_ENOUGH * w:
            break
    if w <= 2e-12:
        # within the middle the surface is nearest off the plane across the shortest axis
        if least == a0:
            t0 = np.sqrt(max(1.0 - t1 * t1 - t2 * t2, 0.0))
        elif least == a1:
            t1 = np.sqrt(max(1.0 - t0 * t0 - t2 * t2, 0.0))
        else:
            t2 = np.sqrt(max(1.0 - t0 * t0 - t1 * t1, 0.0))
    gx, gy, gz = abs(px) - a0 * t0, abs(py) - a1 * t1, abs(pz) - a2 * t2
    found = np.sqrt(gx * gx + gy * gy + gz * gz)
    if w < 1.0:
        found = -found
    n0, n1, n2 = t0 / a0, t1 / a1, t2 / a2
    norm = np.sqrt(n0 * n0 + n1 * n1 + n2 * n2)
    gradient[0] = np.copysign(n0 / norm, px)
    gradient[1] = np.copysign(n1 / norm, py)
    gradient[2] = np.copysign(n2 / norm, pz)
    _unpitched(c, s, gradient)
    return found


@compiled
def _arc(size: Array, x: float, y: float, z: float, gradient: Array) -> float:
    dx, dy, dz = x - size[0], y - size[1], z - size[2]
    out = dx * size[3] + dy * size[4] + dz * size[5]
    along = dx * size[6] + dy * size[7] + dz * size[8]
    radius, most_c, most_s = size[9], size[10], size[11]
    far = np.sqrt(out * out + along * along)
    if along >= 0.0 and out * most_s >= along * most_c and far > 0.0:
        c, s = radius * out / far, radius * along / far
    elif out >= out * most_c + along * most_s:
        # beyond an end, and the nearer of the two ends is the place
        c, s = radius, 0.0
    else:
        c, s = radius * most_c, radius * most_s
    return _away(
        dx - c * size[3] - s * size[6],
        dy - c * size[4] - s * size[7],
        dz - c * size[5] - s * size[8],
        size[12],
        gradient,
    )


@compiled
def _grid(size: Array, samples: Array, x: float, y: float, z: float, gradient: Array) -> float:
    counts = int(size[4]), int(size[5]), int(size[6])
    first = int(size[SAMPLES_AT])
    values = samples[first : first + counts[0] * counts[1] * counts[2]].reshape(counts)
    found: float = grid_distance(x, y, z, size[:3], size[3], values, gradient)
    return found
