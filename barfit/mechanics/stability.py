"""How stable a rest shape is: the second variation of its energy."""

from __future__ import annotations

import numpy as np
from scipy.linalg import eig_banded

from barfit.mechanics.rod import Rods, State
from barfit.mechanics.system import assemble


def stiffness(rods: Rods, state: State) -> np.ndarray:
    """How stiffly each rod (B,) holds against its softest change of shape, N/mm.

    Half of it times u^2 is the energy that a displacement of root mean square u mm along the rod
    costs at least: the smallest eigenvalue of the reduced band (see `barfit.mechanics.system`),
    times the number of free nodes, so that it does not depend on the mesh. The band is positive
    exactly where the second variation is on the displacements that keep the edges' lengths
    (invariant 2 of `barfit.mechanics.rod`): above 0 the shape is stable, below 0 a saddle. nan for
    a state that is not finite.
    """
    linear = assemble(rods, state)
    count = state.nodes.shape[1]
    out = np.full(rods.size, np.nan)
    for row in range(rods.size):
        stop = count if rods.free_end[row] else count - 1
        band = linear.band[row, 1:stop].reshape(-1, linear.band.shape[-1]).T
        if np.isfinite(band).all():
            least = eig_banded(band, eigvals_only=True, select="i", select_range=(0, 0))
            out[row] = float(least[0]) * (stop - 1)
    return out
