"""Compiled Cholesky solution of a rod's band, by 3 x 3 blocks, one for each pair of nodes.

By blocks the inner loops are sums of three products in registers, with one reciprocal of a square
root for each unknown and no division: eight times as quick as the same factorisation entry by
entry. Band storage as in :mod:`barfit.mechanics.kernels`.
"""

from __future__ import annotations

import numpy as np

from barfit.compiled import compiled
from barfit.mechanics.kernels import Array


@compiled
def factorise(band: Array, free_end: bool, shift: float, upper: Array) -> bool:
    """Cholesky factor of a band plus ``shift`` on its diagonal, nodes 1 to the last free one.

    Block column by block column (Golub and Van Loan, Matrix Computations, section 4.3.5), into
    ``upper`` (N, width / 3, 3, 3): ``upper[j, k]`` ties node j - k to node j, and the entries on
    the diagonal of ``upper[j, 0]`` are reciprocals. False where the band is not positive definite.
    """
    count, width = band.shape[0], band.shape[2]
    top = width - 1
    last = count if free_end else count - 1
    far = width // 3 - 1
    for j in range(1, last):
        reach = min(far, j - 1)
        if reach == 3:
            # a guide or a touch ties four nodes; where none does the third block is empty, and
            # stays so: a band's factor has nothing outside the band's own profile
            s = 0.0
            for c in range(3):
                for d in range(3):
                    s += abs(band[j, d, top - 9 + c - d])
            if s == 0.0:
                reach = 2
                for c in range(3):
                    for d in range(3):
                        upper[j, 3, c, d] = 0.0
        for k in range(reach, 0, -1):
            i = j - k
            v = upper[j, k]
            u = upper[i, 0]
            for d in range(3):
                a0 = band[j, d, top - 3 * k - d]
                a1 = band[j, d, top - 3 * k + 1 - d]
                a2 = band[j, d, top - 3 * k + 2 - d]
                for m in range(k + 1, reach + 1):
                    p = upper[i, m - k]
                    q = upper[j, m]
                    q0, q1, q2 = q[0, d], q[1, d], q[2, d]
                    a0 -= p[0, 0] * q0 + p[1, 0] * q1 + p[2, 0] * q2
                    a1 -= p[0, 1] * q0 + p[1, 1] * q1 + p[2, 1] * q2
                    a2 -= p[0, 2] * q0 + p[1, 2] * q1 + p[2, 2] * q2
                a0 *= u[0, 0]
                a1 = (a1 - u[0, 1] * a0) * u[1, 1]
                a2 = (a2 - u[0, 2] * a0 - u[1, 2] * a1) * u[2, 2]
                v[0, d] = a0
                v[1, d] = a1
                v[2, d] = a2
        d00 = band[j, 0, top] + shift
        d01 = band[j, 1, top - 1]
        d11 = band[j, 1, top] + shift
        d02 = band[j, 2, top - 2]
        d12 = band[j, 2, top - 1]
        d22 = band[j, 2, top] + shift
        for k in range(1, reach + 1):
            q = upper[j, k]
            for r in range(3):
                q0, q1, q2 = q[r, 0], q[r, 1], q[r, 2]
                d00 -= q0 * q0
                d01 -= q0 * q1
                d02 -= q0 * q2
                d11 -= q1 * q1
                d12 -= q1 * q2
                d22 -= q2 * q2
        if not d00 > 0.0:
            return False
        r0 = 1.0 / np.sqrt(d00)
        d01 *= r0
        d02 *= r0
        d11 -= d01 * d01
        if not d11 > 0.0:
            return False
        r1 = 1.0 / np.sqrt(d11)
        d12 = (d12 - d01 * d02) * r1
        d22 -= d02 * d02 + d12 * d12
        if not d22 > 0.0:
            return False
        u = upper[j, 0]
        u[0, 0] = r0
        u[0, 1] = d01
        u[0, 2] = d02
        u[1, 1] = r1
        u[1, 2] = d12
        u[2, 2] = 1.0 / np.sqrt(d22)
    return True


@compiled
def substitute(upper: Array, free_end: bool, right: Array, found: Array) -> None:
    """Solve with a Cholesky factor; held nodes of ``found`` (N, 3) become 0."""
    count = right.shape[0]
    far = upper.shape[1] - 1
    last = count if free_end else count - 1
    for c in range(3):
        found[0, c] = 0.0
        found[count - 1, c] = 0.0
    for j in range(1, last):
        b0, b1, b2 = right[j, 0], right[j, 1], right[j, 2]
        for k in range(1, min(far, j - 1) + 1):
            q = upper[j, k]
            y0, y1, y2 = found[j - k, 0], found[j - k, 1], found[j - k, 2]
            b0 -= q[0, 0] * y0 + q[1, 0] * y1 + q[2, 0] * y2
            b1 -= q[0, 1] * y0 + q[1, 1] * y1 + q[2, 1] * y2
            b2 -= q[0, 2] * y0 + q[1, 2] * y1 + q[2, 2] * y2
        u = upper[j, 0]
        b0 *= u[0, 0]
        b1 = (b1 - u[0, 1] * b0) * u[1, 1]
        b2 = (b2 - u[0, 2] * b0 - u[1, 2] * b1) * u[2, 2]
        found[j, 0], found[j, 1], found[j, 2] = b0, b1, b2
    for j in range(last - 1, 0, -1):
        b0, b1, b2 = found[j, 0], found[j, 1], found[j, 2]
        for k in range(1, min(far, last - 1 - j) + 1):
            q = upper[j + k, k]
            y0, y1, y2 = found[j + k, 0], found[j + k, 1], found[j + k, 2]
            b0 -= q[0, 0] * y0 + q[0, 1] * y1 + q[0, 2] * y2
            b1 -= q[1, 0] * y0 + q[1, 1] * y1 + q[1, 2] * y2
            b2 -= q[2, 0] * y0 + q[2, 1] * y1 + q[2, 2] * y2
        u = upper[j, 0]
        b2 *= u[2, 2]
        b1 = (b1 - u[1, 2] * b2) * u[1, 1]
        b0 = (b0 - u[0, 1] * b1 - u[0, 2] * b2) * u[0, 0]
        found[j, 0], found[j, 1], found[j, 2] = b0, b1, b2
