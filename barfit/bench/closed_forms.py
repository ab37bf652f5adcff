"""Published solutions for rods and cables, computed without the program's own solver.

They exist to be compared with: nothing in the product imports this package. Every function
names the publication its formula stands in. Lengths are scaled by the length L of the rod,
forces by EI/L², moments by EI/L and energies by EI/L, unless a docstring says otherwise;
angles are in rad.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc, jv


class Cantilever(NamedTuple):
    """A bent cantilever: its tip (drop across, distance along the clamp) and its root."""

    drop: float
    along: float
    tip_angle: float
    root_curvature: float


class Elastica(NamedTuple):
    """A rod bent by a force along its chord (compression positive)."""

    load: float
    chord: float
    mid_deflection: float
    max_curvature: float
    energy: float
    angle: float


class Catenary(NamedTuple):
    """A hanging chain: parameter a (least radius, horizontal force), lowest point, tension."""

    parameter: float
    lowest_x: float
    lowest_y: float
    greatest_force: float


def end_loaded_cantilever(load: float) -> Cantilever:
    """A cantilever under a dead force P at its tip, at right angles to its unbent axis.

    ``load`` is P·L²/EI > 0. K. E. Bisshopp and D. C. Drucker, "Large deflection of cantilever
    beams", Quart. Appl. Math. 3 (1945) 272-275.
    """

    def modulus(sine: float) -> tuple[float, float]:
        """Parameter m = k² and the amplitude at the root, for the sine of the tip angle."""
        m = 0.5 * (1 + sine)
        return m, float(np.arcsin(np.sqrt(0.5 / m)))

    def excess(sine: float) -> float:
        m, root = modulus(sine)
        return float(ellipk(m) - ellipkinc(root, m) - np.sqrt(load))

    sine = brentq(excess, 1e-14, 1 - 1e-14, xtol=1e-15)
    m, root = modulus(sine)
    drop = 1 - 2 / np.sqrt(load) * float(ellipe(m) - ellipeinc(root, m))
    along = float(np.sqrt(2 * sine / load))
    return Cantilever(drop, along, float(np.arcsin(sine)), load * along)


def heavy_cantilever(weight: float) -> Cantilever:
    """A cantilever clamped level under its own weight.

    ``weight`` is w·L³/EI. The heavy elastica EI·θ'' = -w·(L - s)·cos θ (θ below the level) with
    θ(0) = 0 and θ'(L) = 0, by shooting from the tip. The problem is the one reviewed by
    C. Y. Wang, "A critical review of the heavy elastica", Int. J. Mech. Sci. 28 (1986) 549-559.
    """

    def at_clamp(tip_angle: float) -> np.ndarray:
        """θ, its derivative towards the clamp, distance along and drop, from tip to clamp."""
        path = solve_ivp(
            lambda p, y: [y[1], -weight * p * np.cos(y[0]), np.cos(y[0]), np.sin(y[0])],
            (0.0, 1.0),
            [tip_angle, 0.0, 0.0, 0.0],
            method="DOP853",
            rtol=1e-12,
            atol=1e-13,
        )
        return np.asarray(path.y[:, -1])

    tip_angle = brentq(lambda angle: at_clamp(angle)[0], 0.0, np.pi / 2, xtol=1e-13)
    _, slope, along, drop = at_clamp(tip_angle)
    return Cantilever(float(drop), float(along), float(tip_angle), float(-slope))


def greenhill_weight() -> float:
    """The weight w·L³/EI at which an upright column clamped at its foot starts to lean.

    9/4 of the square of the first zero of the Bessel function J(-1/3). A. G. Greenhill, Proc.
    Cambridge Phil. Soc. 4 (1881) 65-73.
    """
    return 2.25 * float(brentq(lambda x: jv(-1 / 3, x), 1.5, 2.2, xtol=1e-14)) ** 2


def buckled_strut(angle: float, quarters: int) -> Elastica:
    """A strut buckled in its first mode, made of ``quarters`` equal quarter waves.

    1: clamped and free, ``angle`` is that of the free tip; 2: pinned, ``angle`` is that of the
    ends; 4: clamped with both tangents along the chord, ``angle`` is that of the inflections.
    All against the line of force. ``mid_deflection`` is the greatest distance from the chord
    (for 1: of the tip from the axis). S. P. Timoshenko and J. M. Gere, "Theory of Elastic
    Stability", 2nd ed., art. 2.7.
    """
    k = np.sin(angle / 2)
    m = k * k
    quarter = float(ellipk(m))
    n = quarters
    chord = float(2 * ellipe(m) / quarter - 1)
    # Deflection of one quarter is 2k/K of its own length; four quarters stack two of them.
    deflection = float(2 * k / quarter) * {1: 1.0, 2: 0.5, 4: 0.5}[n]
    # Half the integral of κ² over one quarter of length 1: 2·K·(E - (1 - m)·K).
    energy = float(2 * quarter * (ellipe(m) - (1 - m) * quarter)) * n * n
    return Elastica((n * quarter) ** 2, chord, deflection, 2 * k * quarter * n, energy, angle)


def slack_strut(chord: float, quarters: int) -> Elastica:
    """`buckled_strut` for a given chord, scaled by the length: -1 < chord < 1."""
    angle = brentq(lambda a: buckled_strut(a, quarters).chord - chord, 1e-9, 3.1, xtol=1e-14)
    return buckled_strut(angle, quarters)


def pulled_clamp_curvature(pull: float, bending_stiffness: float, angle: float) -> float:
    """The bend at the clamp of a long rod pulled away at an angle to it; 1/length.

    The energy integral of the elastica with a straight far end, κ = 2·√(F/EI)·sin(α/2).
    A. E. H. Love, "A Treatise on the Mathematical Theory of Elasticity", 4th ed., art. 262.
    """
    return float(2 * np.sqrt(pull / bending_stiffness) * np.sin(angle / 2))


def catenary(span: float, rise: float, length: float) -> Catenary:
    """A chain of that length from (0, 0) to (span, rise), y up; all in one unit of length.

    The classical y = a·cosh((x - x0)/a) + c, e.g. E. J. Routh, "A Treatise on Analytical
    Statics", 2nd ed. (1896), art. 443. Forces are per unit weight per length: the horizontal one
    is a, the tension at a point is its height above the directrix.
    """
    level = np.sqrt(length**2 - rise**2) / span
    half = brentq(lambda u: np.sinh(u) / u - level, 1e-9, 30.0, xtol=1e-14)
    a = 0.5 * span / half
    lowest = 0.5 * span - a * float(np.arctanh(rise / length))
    depth = a * (float(np.cosh(lowest / a)) - 1)
    return Catenary(a, lowest, -depth, a + depth + max(rise, 0.0))


def catenary_points(span: float, rise: float, length: float, count: int) -> np.ndarray:
    """Points (count, 2) at equal arc lengths along `catenary`, from (0, 0) to (span, rise)."""
    shape = catenary(span, rise, length)
    a = shape.parameter
    s = np.linspace(0, length, count) - a * np.sinh(shape.lowest_x / a)
    return np.column_stack(
        [shape.lowest_x + a * np.arcsinh(s / a), shape.lowest_y - a + np.hypot(a, s)]
    )


def helix_rod(radius: float, pitch: float, angle: float, s: np.ndarray) -> np.ndarray:
    """Points (N, 3) at the fractions ``s`` (N,) of a helical arc about z; pitch per radian.

    A rod free to twist rests in this shape when its ends are clamped to it: with no twisting
    moment the balance of moments asks for κ'' and κ·τ' to vanish and an axial force
    -EI·τ·√(κ² + τ²), both met by a helix (Love, 4th ed., art. 270, with zero torsional couple).
    """
    turn = angle * np.asarray(s)
    return np.column_stack([radius * np.cos(turn), radius * np.sin(turn), pitch * turn])
