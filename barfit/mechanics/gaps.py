"""How near lines lie to solids, compiled: for what squeezes a line between two of them."""

from __future__ import annotations

import numpy as np

from barfit.compiled import compiled
from barfit.mechanics.contact_kernels import into_mover, signed_distance
from barfit.mechanics.kernels import Array
from barfit.mechanics.solid_kernels import Around, Solids, at_least


def nearest_two(
    lines: Array, solids: Solids, turns: Array, shifts: Array, left_out: Array, reach: float
) -> tuple[Array, Array, Array]:
    """The nearest standing and the nearest moving solid at every point of a line over P poses.

    ``lines`` (P, M, 3) mm; ``turns`` (P, V, 3, 3) and ``shifts`` (P, V, 3) of the movers, of which
    the first stands; ``left_out`` (S,) bool. Returns distances (P, M, 2) mm of the line's centre
    from the surfaces, inf beyond ``reach``; which solids (P, M, 2), -1 for none; and the cosine
    (P, M) between the two ways out of them, -1 where they face each other.
    """
    shape = lines.shape[:2]
    away = np.full((*shape, 2), np.inf)
    which = np.full((*shape, 2), -1, np.int64)
    facing = np.full(shape, 1.0)
    _nearest_two(lines, solids, turns, shifts, left_out, reach, away, which, facing)
    return away, which, facing


@compiled
def _nearest_two(
    lines: Array,
    solids: Solids,
    turns: Array,
    shifts: Array,
    left_out: Array,
    reach: float,
    away: Array,
    which: Array,
    facing: Array,
) -> None:
    poses, points = lines.shape[0], lines.shape[1]
    local, normal, spare = np.empty(3), np.empty(3), np.empty(3)
    ways = np.zeros((points, 2, 3))
    for p in range(poses):
        around = Around(solids, turns[p], shifts[p], left_out, 0.0)
        for s in range(solids.kind.shape[0]):
            if left_out[s]:
                continue
            mover = solids.mover[s]
            side = 0 if mover == 0 else 1
            m = 0
            while m < points:
                point = lines[p, m]
                into_mover(turns[p, mover], shifts[p, mover], point, local)
                far = at_least(solids, s, local[0], local[1], local[2], spare)
                if far > reach:
                    # points that cannot be nearer, as the line between them is no longer
                    m += 1
                    gone = 0.0
                    while m < points and gone < far - reach:
                        step = 0.0
                        for c in range(3):
                            step += (lines[p, m, c] - lines[p, m - 1, c]) ** 2
                        gone += np.sqrt(step)
                        if gone < far - reach:
                            m += 1
                    continue
                found = signed_distance(around, s, point, local, normal)
                if found < away[p, m, side]:
                    away[p, m, side], which[p, m, side] = found, s
                    ways[m, side] = normal
                m += 1
        for m in range(points):
            if which[p, m, 0] >= 0 and which[p, m, 1] >= 0:
                facing[p, m] = 0.0
                for c in range(3):
                    facing[p, m] += ways[m, 0, c] * ways[m, 1, c]
