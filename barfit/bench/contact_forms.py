"""Rods against smooth obstacles, solved without the program's own solver.

A rod without friction on an obstacle feels forces at right angles to itself only. So its tension T
is the same on both sides of a touch, and T + EI·κ²/2 stays the same all along a rod without weight
(the energy integral of the elastica; A. E. H. Love, "A Treatise on the Mathematical Theory of
Elasticity", 4th ed., art. 262). Where it lies on a cylinder of radius R its curvature is 1/R, so
its moment does not change and there is no shear: the cylinder presses with T/R on each length, and
with single forces where the rod lifts off, which take up the shear there. Radii are those of the
centreline: obstacle plus rod. Units: mm, N.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from barfit.bench.closed_forms import end_loaded_cantilever


class Draped(NamedTuple):
    """Half of a rod pulled over a cylinder whose axis is at the origin.

    ``on`` rad: half the angle over which it lies on the cylinder; ``tension`` there, N; ``edge``
    the single force where it lifts off, N; ``end`` (2,) mm right end (x, z); ``half`` mm half its
    length; ``total`` N, all forces of the cylinder upwards.
    """

    on: float
    tension: float
    edge: float
    end: np.ndarray
    half: float
    total: float


def draped(
    stiffness: float, pull: float, radius: float, slope: float, legs: float = 12.0
) -> Draped:
    """A rod over a cylinder, drawn down on both sides with ``pull`` at ``slope`` rad to the level.

    Each leg is ``legs`` times √(EI/F) long, by whose end its bend has died away. The leg is the
    elastica with a straight far end: EI·κ²/2 = F·(1 - cos ψ) with ψ the angle to the pull, so at
    lift-off, where κ = 1/R, sin(ψ/2) = √(EI/F)/(2R); there T = F·cos ψ = F - EI/(2R²), and the
    shear F·sin ψ jumps to nothing. Over the leg ∫(1 - cos ψ) ds = 2·√(EI/F)·(1 - cos(ψ/2)) and
    ∫ sin ψ ds = EI/(F·R). Raises ValueError where the slope is too small to lie on the cylinder.
    """
    bend = float(np.sqrt(stiffness / pull))
    if not bend < 2 * radius or not slope > 2 * np.arcsin(bend / (2 * radius)):
        raise ValueError("the rod touches the cylinder along a line only")
    psi = 2 * float(np.arcsin(bend / (2 * radius)))
    on = slope - psi
    leg = legs * bend
    along = leg - 2 * bend * (1 - np.cos(psi / 2))
    aside = stiffness / (pull * radius)
    ahead = np.array([np.cos(slope), -np.sin(slope)])
    up = np.array([np.sin(slope), np.cos(slope)])
    lift_off = radius * np.array([np.sin(on), np.cos(on)])
    return Draped(
        on=float(on),
        tension=float(pull - stiffness / (2 * radius**2)),
        edge=float(pull * np.sin(psi)),
        end=lift_off + along * ahead + aside * up,
        half=float(on * radius + leg),
        total=float(2 * pull * np.sin(slope)),
    )


class Pressed(NamedTuple):
    """A rod between two pins pressed on in the middle: end (2,) mm from there (x, z), half its
    length, the force, and the curvature under it."""

    end: np.ndarray
    half: float
    force: float
    curvature: float


def pressed(stiffness: float, half: float, load: float) -> Pressed:
    """A rod between two pins, pressed on in the middle so far that the pins bear across only.

    Each half is a cantilever with a load P at its tip, P·half²/EI = ``load``: Bisshopp and
    Drucker 1945 (see `end_loaded_cantilever`).
    """
    arm = end_loaded_cantilever(load)
    return Pressed(
        half * np.array([arm.along, -arm.drop]),
        half,
        2 * load * stiffness / half**2,
        arm.root_curvature / half,
    )


class Lifted(NamedTuple):
    """The part of a heavy rod that is lifted off a table: its length, how far it reaches (x),
    and the force that lifts it, mm and N."""

    length: float
    reach: float
    force: float


def lifted(stiffness: float, weight: float, height: float) -> Lifted:
    """A long heavy rod on a table, one end lifted by ``height`` with an upright force.

    The heavy elastica EI·θ'' = w·s·cos θ - E·cos θ with θ = θ' = 0 at lift-off, where the table's
    single force E presses up, and θ' = 0 at the end; by shooting. Nearly level it is the beam
    with ℓ⁴ = 24·EI·h/w and E = w·ℓ/2.
    """

    def end(edge: float) -> np.ndarray:
        """Length, reach and height where the moment is nothing again."""

        def slopes(s: float, y: np.ndarray) -> list[float]:
            theta, kappa = y[0], y[1]
            shear = (edge - weight * s) * np.cos(theta) / stiffness
            return [kappa, shear, float(np.cos(theta)), float(np.sin(theta))]

        def flat(s: float, y: np.ndarray) -> float:
            return float(y[1]) if s > edge / weight else 1.0

        flat.terminal = True  # type: ignore[attr-defined]
        path = solve_ivp(
            slopes,
            (0.0, 10 * edge / weight),
            [0.0] * 4,
            method="DOP853",
            events=flat,
            rtol=1e-11,
            atol=1e-13,
            max_step=0.1 * edge / weight,
        )
        return np.array([path.t[-1], path.y[2, -1], path.y[3, -1]])

    about = 0.5 * weight * float((24 * stiffness * height / weight) ** 0.25)
    edge = brentq(lambda e: end(e)[2] - height, 0.5 * about, 2.0 * about, xtol=1e-12)
    length, reach, _ = end(edge)
    return Lifted(float(length), float(reach), float(weight * length - edge))
