"""Kirchhoff's equations of a rod as a boundary-value problem: the peer the solver is judged by.

A rod at rest, inextensible and isotropic:

    r' = t,   EI·t' = m × t,   m' = n × t,   n' = w·ẑ

with r the centreline, t its unit tangent, m the moment and n the force in the section (so that n·t
is the tension; m·t is the twisting moment, the same all along and none in a rod free to twist);
G. Kirchhoff 1859, here in the form of S. S. Antman, "Nonlinear Problems of Elasticity", 2nd ed.,
ch. VIII. A ring without friction at a point g adds the conditions that the rod passes through g and
that the force may jump across the rod only: n·t goes on through. Where the length is free,
n·t + ½·m²/EI equals the pull (the energy integral of the elastica, which grows by w per unit of
height).

Solved by scipy.integrate.solve_bvp (collocation after Kierzenka and Shampine 2001) with exact
Jacobians, in units of the rod's length and EI. Nothing here shares code with the solver it
judges.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import perf_counter
from typing import Any

import numpy as np
from scipy.integrate import cumulative_trapezoid, solve_bvp, trapezoid
from scipy.optimize import brentq

from barfit.bench.equations import PARAMETERS, Problem


@dataclass(frozen=True)
class Effort:
    """How the collocation works: relative tolerance, first mesh, and whether the Jacobians are
    given (they are differenced otherwise).
    """

    tolerance: float = 1e-8
    mesh: int = 41
    jacobians: bool = True


FINE = Effort()
_ROUGH = Effort(tolerance=1e-3)


@dataclass(frozen=True)
class Clamped:
    """A span with both ends clamped: mm, N·mm², N/mm (weight along -z); rings (K, 3) mm.

    ``twisting_moment`` N·mm is what it carries.
    """

    start: np.ndarray
    start_direction: np.ndarray
    end: np.ndarray
    end_direction: np.ndarray
    bending_stiffness: float
    weight: float = 0.0
    rings: np.ndarray | None = None
    twisting_moment: float = 0.0


@dataclass(frozen=True)
class Reference:
    """A solved rod: points and the rest at equal arc lengths ``arc`` (N,) mm, ends included.

    tensions (N,) N; curvatures (N,) 1/mm; ``ring_arcs`` (K,) mm is where the rings hold it;
    energy is that of bending, N·mm; residual is the largest relative collocation residual;
    ``seconds`` is what the collocation took, without its first shape and the sampling of the
    result.
    """

    arc: np.ndarray
    points: np.ndarray
    tensions: np.ndarray
    curvatures: np.ndarray
    ring_arcs: np.ndarray
    length: float
    energy: float
    residual: float
    converged: bool
    seconds: float

    @property
    def tension(self) -> float:
        """The greatest tension, N."""
        return float(self.tensions.max())

    @property
    def min_radius(self) -> float:
        """The smallest radius of curvature, mm."""
        return float(1 / self.curvatures.max())

    def at(self, arc: np.ndarray) -> np.ndarray:
        """Points (M, 3) at these arc lengths (M,), linear between 4001 dense ones."""
        return np.column_stack([np.interp(arc, self.arc, self.points[:, k]) for k in range(3)])


def hermite(span: Clamped, length: float, count: int = 201) -> np.ndarray:
    """Points (count, 3) on the cubic between the clamps whose end speeds give it that length.

    The shortest such cubic where the length is below it.
    """
    u = np.linspace(0, 1, count)[:, None]
    base = span.start * (1 + 2 * u) * (1 - u) ** 2 + span.end * u**2 * (3 - 2 * u)
    pull = span.start_direction * u * (1 - u) ** 2 - span.end_direction * u**2 * (1 - u)

    def curve(speed: float) -> np.ndarray:
        return np.asarray(base + speed * pull)

    def excess(speed: float) -> float:
        return float(np.linalg.norm(np.diff(curve(speed), axis=0), axis=1).sum()) - length

    chord = float(np.linalg.norm(span.end - span.start))
    speeds = np.linspace(0.2, 8, 40) * max(chord, 0.2 * length)
    excesses = [excess(speed) for speed in speeds]
    least = int(np.argmin(excesses))
    if excesses[least] >= 0:
        return curve(speeds[least])
    return curve(brentq(excess, speeds[least], speeds[-1] * 10))


def settle_bvp(
    span: Clamped, length: float, guess: np.ndarray | None = None, effort: Effort = FINE
) -> Reference:
    """The rod of that length (mm) at rest, from a first shape ``guess`` (N, 3) or a cubic."""
    first = hermite(span, length) if guess is None else guess
    return _solve(span, first, length, None, effort)


def taut_bvp(
    span: Clamped, pull: float, guess: np.ndarray | None = None, effort: Effort = FINE
) -> Reference:
    """The rod of free length that pulls with ``pull`` N at the height midway between its ends.

    The pull is n·t + ½·m²/EI there; up and down the rod it changes by weight times height.

    Without a guess it starts from several pulled curves and cubics; of the rods they lead to,
    the one with the least bending energy plus pull times length is taken.
    """
    at_start = pull + 0.5 * span.weight * float(span.start[2] - span.end[2])
    if guess is not None:
        return _solve(span, guess, None, at_start, effort)
    chord = float(np.linalg.norm(span.end - span.start))
    bend = np.sqrt(span.bending_stiffness / pull)
    guesses = [pulled_curve(span, share * bend) for share in (1.0, 0.6, 0.3)]
    guesses += [hermite(span, 1.02 * chord), hermite(span, 1.3 * chord)]
    found = [_solve(span, points, None, at_start, _ROUGH) for points in guesses]
    best = min(found, key=lambda one: one.energy + pull * one.length if one.converged else np.inf)
    return _solve(span, best.points, None, at_start, effort)


def pulled_curve(span: Clamped, bend: float, count: int = 201) -> np.ndarray:
    """Points (count, 3) on a curve that leaves each clamp within a length ``bend``, mm.

    The tangent fades from each clamp's to the chord's like exp(-s/bend), as in a rod under a
    strong pull; the curve is then shifted evenly so that it ends where it must.
    """
    chord = span.end - span.start
    length = float(np.linalg.norm(chord))
    along = chord / length
    s = np.linspace(0, length, count)[:, None]
    tangent = (
        along
        + (span.start_direction - along) * np.exp(-s / bend)
        + (span.end_direction - along) * np.exp((s - length) / bend)
    )
    points = span.start + cumulative_trapezoid(tangent, s, axis=0, initial=0)
    return np.asarray(points + (span.end - points[-1]) * s / length)


def _solve(
    span: Clamped,
    guess: np.ndarray,
    length: float | None,
    pull: float | None,
    effort: Effort,
) -> Reference:
    unit = length or float(np.linalg.norm(np.diff(guess, axis=0), axis=1).sum())
    rings = np.zeros((0, 3)) if span.rings is None else np.asarray(span.rings, dtype=float)
    problem = Problem(
        _scaled(span.start, span, unit),
        np.asarray(span.start_direction, dtype=float),
        _scaled(span.end, span, unit),
        np.asarray(span.end_direction, dtype=float),
        _scaled(rings, span, unit),
        span.weight * unit**3 / span.bending_stiffness,
        1.0 if pull is None else None,
        0.0 if pull is None else pull * unit**2 / span.bending_stiffness,
        span.twisting_moment * unit / span.bending_stiffness,
    )
    mesh, states, parameters = problem.first_guess(_scaled(guess, span, unit), effort.mesh)
    # A bad first shape makes the collocation diverge: that is its answer, not worth a warning, and
    # a rod at a loose tolerance needs few nodes, so more are a sign of it.
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        began = perf_counter()
        found = solve_bvp(
            problem.slope,
            problem.mismatch,
            mesh,
            states,
            p=parameters,
            fun_jac=problem.slope_jacobian if effort.jacobians else None,
            bc_jac=problem.mismatch_jacobian if effort.jacobians else None,
            tol=effort.tolerance,
            bc_tol=min(1e-6, effort.tolerance),
            max_nodes=1000 if effort.tolerance > 1e-5 else 20000,
        )
        seconds = perf_counter() - began
        return _reference(problem, found, span, unit, seconds)


def _scaled(points: np.ndarray, span: Clamped, unit: float) -> np.ndarray:
    return np.asarray((np.asarray(points, dtype=float) - span.start) / unit)


def _reference(
    problem: Problem, found: Any, span: Clamped, unit: float, seconds: float
) -> Reference:
    """The solution in mm and N at 4001 places of equal arc length per stretch."""
    u = np.linspace(0, 1, 4001)
    y, p = found.sol(u), found.p
    arcs, points, tensions, curvatures, reached = [], [], [], [], 0.0
    for j in range(problem.stretches):
        r, t, m, n, h = problem.parts(y, p, j)
        keep = slice(0 if j == 0 else 1, None)
        arcs.append(reached + h * u[keep])
        points.append(r.T[keep])
        tensions.append(np.einsum("im,im->m", problem.force(n, h, u), t)[keep])
        curvatures.append(np.linalg.norm(np.cross(m, t, axis=0), axis=0)[keep])
        reached += float(h)
    arc, kappa = np.concatenate(arcs), np.concatenate(curvatures)
    stiffness = span.bending_stiffness
    ends = np.cumsum(p[3::PARAMETERS])
    return Reference(
        arc=arc * unit,
        points=span.start + unit * np.concatenate(points),
        tensions=np.concatenate(tensions) * stiffness / unit**2,
        curvatures=kappa / unit,
        ring_arcs=ends[:-1] * unit,
        length=float(ends[-1] * unit),
        energy=float(0.5 * trapezoid(kappa**2, arc) * stiffness / unit),
        residual=float(found.rms_residuals.max()),
        converged=bool(found.success),
        seconds=seconds,
    )
