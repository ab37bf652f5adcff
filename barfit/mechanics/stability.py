"""How stable a rest shape is: the second variation of its energy."""

from __future__ import annotations

import numpy as np
from scipy.linalg import eig_banded, eigh

from barfit.mechanics.rod import Rods, State
from barfit.mechanics.system import assemble, bandwidth
from barfit.mechanics.twist_kernels import add_twist


def stiffness(rods: Rods, state: State) -> np.ndarray:
    """How stiffly each rod (B,) holds against its softest change of shape, N/mm.

    Half of it times u^2 is the energy that a displacement of root mean square u mm along the rod
    costs at least: the smallest eigenvalue of the reduced band (see `barfit.mechanics.system`),
    times the number of free nodes, so that it does not depend on the mesh. The band is positive
    exactly where the second variation is on the displacements that keep the edges' lengths
    (invariant 2 of `barfit.mechanics.rod`): above 0 the shape is stable, below 0 a saddle. To the
    band of a rod held against turning comes g g' / c, with g the slope of its twist and c its
    compliance L / GJ: as it gives way its twisting moment falls. nan for a state that is not
    finite.
    """
    linear = assemble(rods, state)
    count = state.nodes.shape[1]
    out = np.full(rods.size, np.nan)
    for row in range(rods.size):
        stop = count if rods.free_end[row] else count - 1
        band = linear.band[row, 1:stop].reshape(-1, linear.band.shape[-1]).T
        if not np.isfinite(band).all():
            continue
        if rods.twisting[row] > 0.0:
            full = _full(band) + _twisting(rods, state, row, stop)
            least = eigh(full, eigvals_only=True, subset_by_index=(0, 0))
        else:
            least = eig_banded(band, eigvals_only=True, select="i", select_range=(0, 0))
        out[row] = float(least[0]) * (stop - 1)
    return out


def _full(band: np.ndarray) -> np.ndarray:
    """The symmetric matrix (n, n) of a band in LAPACK's upper storage (k+1, n)."""
    above = band.shape[0] - 1
    full = np.diag(band[above])
    for k in range(1, above + 1):
        beside = np.diag(band[above - k, k:], k)
        full = full + beside + beside.T
    return full


def _twisting(rods: Rods, state: State, row: int, stop: int) -> np.ndarray:
    """g g' / c of a rod held against turning, for its free nodes."""
    slope = np.empty(state.nodes.shape[1:])
    unused = np.zeros((*slope.shape, bandwidth(rods) + 1))
    ends = rods.start_direction[row], rods.end_direction[row]
    add_twist(state.nodes[row], *ends, 0.0, slope, unused)
    g = slope[1:stop].ravel()
    return np.outer(g, g) * float(rods.twisting[row] / state.length[row])
