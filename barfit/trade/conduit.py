"""A wire sliding in a bent conduit: friction, lost motion and free play in closed form.

All functions take numbers or arrays; angles in rad, lengths mm, forces N.
"""

from __future__ import annotations

import numpy as np

from barfit.geometry.frames import Array


def pull_ratio(friction: float, bend: float | Array) -> Array:
    """How many times the load at one end a pull at the other end must be: exp(mu θ).

    Euler-Eytelwein: only the total bend θ counts, not the radius. A rough estimate for real
    conduits: a wire is stiff, which adds friction in tight bends, and presses on the wall where
    the conduit is straight, too. It holds for comparing one routing with another better than for
    the force itself. Its inverse is the share of a pull that gets through.
    """
    ratio: Array = np.exp(friction * np.asarray(bend))
    return ratio


def backlash(clearance: float, bend: float | Array) -> Array:
    """How far one end of the wire moves before the other follows when the pull turns to a push.

    Pulled, the wire lies on the inside of every bend, pushed on the outside: paths that differ by
    the ``clearance`` times the bend. That is the diametral clearance, bore less wire.
    """
    travel: Array = clearance * np.asarray(bend)
    return travel


def play_gained(clearance: float, bend: float | Array, straight: float | Array) -> Array:
    """Free play gained where the conduit bends through ``bend`` instead of ``straight``.

    The conduit keeps its length along its middle; a wire under pull runs inside each bend, half
    the diametral ``clearance`` nearer to its centre, so its path is shorter by half the clearance
    for every radian. More bend is more free play, less bend is less.
    """
    play: Array = 0.5 * clearance * (np.asarray(bend) - np.asarray(straight))
    return play


def stretch(length: float, near: float, far: float, area: float, modulus: float) -> float:
    """Elastic stretch F L / (A E) of a wire pulled with ``near`` at one end and ``far`` at the
    other, F their mean (bends along its whole length take the difference a little at a time).
    """
    return 0.5 * (near + far) * length / (area * modulus)
