"""Kirchhoff's equations of a rod as a boundary-value problem: the peer the solver is judged by.

A rod at rest, inextensible, isotropic and free to twist (so without twisting moment):

    r' = t,   EI·t' = m × t,   m' = n × t,   n' = w·ẑ

with r the centreline, t its unit tangent, m the bending moment and n the force in the section (so
that n·t is the tension); G. Kirchhoff 1859, here in the form of S. S. Antman, "Nonlinear Problems
of Elasticity", 2nd ed., ch. VIII. A ring without friction at a point g adds the conditions that
the rod passes through g and that the force may jump across the rod only: n·t goes on through.
Where the length is free, n·t + ½·m²/EI equals the pull (the energy integral of the elastica).

Solved by scipy.integrate.solve_bvp (collocation after Kierzenka and Shampine 2001) with exact
Jacobians, in units of the rod's length and EI. Nothing here shares code with the solver it
judges.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy.integrate import cumulative_trapezoid, solve_bvp, trapezoid
from scipy.optimize import brentq

_STATES, _PARAMETERS = 9, 4  # of one stretch between rings: r, t, m; its first force and length


@dataclass(frozen=True)
class Clamped:
    """A span with both ends clamped: mm, N·mm², N/mm (weight along -z); rings (K, 3) mm."""

    start: np.ndarray
    start_direction: np.ndarray
    end: np.ndarray
    end_direction: np.ndarray
    bending_stiffness: float
    weight: float = 0.0
    rings: np.ndarray | None = None


@dataclass(frozen=True)
class Reference:
    """A solved rod: points and the rest at equal arc lengths ``arc`` (N,) mm, ends included.

    tensions (N,) N; curvatures (N,) 1/mm; ``ring_arcs`` (K,) mm is where the rings hold it;
    energy is that of bending, N·mm; residual is the largest relative collocation residual.
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
    span: Clamped, length: float, guess: np.ndarray | None = None, tolerance: float = 1e-8
) -> Reference:
    """The rod of that length (mm) at rest, from a first shape ``guess`` (N, 3) or a cubic."""
    first = hermite(span, length) if guess is None else guess
    return _solve(span, first, length, None, tolerance)


def taut_bvp(
    span: Clamped, pull: float, guess: np.ndarray | None = None, tolerance: float = 1e-8
) -> Reference:
    """The rod whose free length makes it pull with ``pull`` N; weight is left out.

    Without a guess it starts from several pulled curves and cubics; of the rods they lead to,
    the one with the least bending energy plus pull times length is taken.
    """
    bare = replace(span, weight=0.0)
    if guess is not None:
        return _solve(bare, guess, None, pull, tolerance)
    chord = float(np.linalg.norm(span.end - span.start))
    bend = np.sqrt(span.bending_stiffness / pull)
    guesses = [pulled_curve(bare, share * bend) for share in (1.0, 0.6, 0.3)]
    guesses += [hermite(bare, 1.02 * chord), hermite(bare, 1.3 * chord)]
    found = [_solve(bare, points, None, pull, 1e-3) for points in guesses]
    best = min(found, key=lambda one: one.energy + pull * one.length if one.converged else np.inf)
    return _solve(bare, best.points, None, pull, tolerance)


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
    tolerance: float,
) -> Reference:
    unit = length or float(np.linalg.norm(np.diff(guess, axis=0), axis=1).sum())
    rings = np.zeros((0, 3)) if span.rings is None else np.asarray(span.rings, dtype=float)
    problem = _Problem(
        _scaled(span.start, span, unit),
        np.asarray(span.start_direction, dtype=float),
        _scaled(span.end, span, unit),
        np.asarray(span.end_direction, dtype=float),
        _scaled(rings, span, unit),
        span.weight * unit**3 / span.bending_stiffness,
        1.0 if pull is None else None,
        0.0 if pull is None else pull * unit**2 / span.bending_stiffness,
    )
    mesh, states, parameters = problem.first_guess(_scaled(guess, span, unit))
    # A bad first shape makes the collocation diverge: that is its answer, not worth a warning, and
    # a rod at a loose tolerance needs few nodes, so more are a sign of it.
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        found = solve_bvp(
            problem.slope,
            problem.mismatch,
            mesh,
            states,
            p=parameters,
            fun_jac=problem.slope_jacobian,
            bc_jac=problem.mismatch_jacobian,
            tol=tolerance,
            bc_tol=min(1e-6, tolerance),
            max_nodes=1000 if tolerance > 1e-5 else 20000,
        )
        return problem.reference(found, span, unit)


def _scaled(points: np.ndarray, span: Clamped, unit: float) -> np.ndarray:
    return np.asarray((np.asarray(points, dtype=float) - span.start) / unit)


def _cross(v: np.ndarray) -> np.ndarray:
    """The matrices (3, 3, M) that take a cross product from the left with columns v (3, M)."""
    zero = np.zeros_like(v[0])
    return np.array([[zero, -v[2], v[1]], [v[2], zero, -v[0]], [-v[1], v[0], zero]])


def _across(direction: np.ndarray) -> np.ndarray:
    """Two unit vectors (2, 3) at right angles to a direction and to each other."""
    _, _, rows = np.linalg.svd(direction[None, :])
    return np.asarray(rows[1:])


@dataclass(frozen=True)
class _Problem:
    """Everything in units of length and EI; the stretches between rings run side by side.

    States (9·S, M): r, t, m of each of the S stretches over 0..1; parameters (4·S,): the force at
    the beginning of each stretch and its length. ``length`` None: the length is free and the
    energy integral equals ``pull``.
    """

    start: np.ndarray
    start_direction: np.ndarray
    end: np.ndarray
    end_direction: np.ndarray
    rings: np.ndarray
    weight: float
    length: float | None
    pull: float

    @property
    def stretches(self) -> int:
        return len(self.rings) + 1

    def parts(self, y: np.ndarray, p: np.ndarray, j: int) -> tuple[np.ndarray, ...]:
        """r, t, m of stretch j, its first force and its length."""
        block = y[_STATES * j : _STATES * (j + 1)]
        q = p[_PARAMETERS * j : _PARAMETERS * (j + 1)]
        return block[:3], block[3:6], block[6:], q[:3], q[3]

    def force(self, n: np.ndarray, h: np.ndarray, u: np.ndarray) -> np.ndarray:
        """The force (3, M) in a stretch: it carries the weight of the rod below it."""
        out = np.repeat(n[:, None], len(u), axis=1)
        out[2] += self.weight * h * u
        return out

    def slope(self, u: np.ndarray, y: np.ndarray, p: np.ndarray) -> np.ndarray:
        out = np.empty_like(y)
        for j in range(self.stretches):
            _, t, m, n, h = self.parts(y, p, j)
            k = _STATES * j
            out[k : k + 3] = h * t
            out[k + 3 : k + 6] = h * np.cross(m, t, axis=0)
            out[k + 6 : k + 9] = h * np.cross(self.force(n, h, u), t, axis=0)
        return out

    def slope_jacobian(
        self, u: np.ndarray, y: np.ndarray, p: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        by_state = np.zeros((len(y), len(y), len(u)))
        by_parameter = np.zeros((len(y), len(p), len(u)))
        weight = np.zeros((3, len(u)))
        for j in range(self.stretches):
            _, t, m, n, h = self.parts(y, p, j)
            k, q = _STATES * j, _PARAMETERS * j
            force = self.force(n, h, u)
            weight[2] = self.weight * h * u
            by_state[k : k + 3, k + 3 : k + 6] = h * np.eye(3)[:, :, None]
            by_state[k + 3 : k + 6, k + 3 : k + 6] = h * _cross(m)
            by_state[k + 3 : k + 6, k + 6 : k + 9] = -h * _cross(t)
            by_state[k + 6 : k + 9, k + 3 : k + 6] = h * _cross(force)
            by_parameter[k + 6 : k + 9, q : q + 3] = -h * _cross(t)
            by_parameter[k : k + 3, q + 3] = t
            by_parameter[k + 3 : k + 6, q + 3] = np.cross(m, t, axis=0)
            by_parameter[k + 6 : k + 9, q + 3] = np.cross(force + weight, t, axis=0)
        return by_state, by_parameter

    def mismatch(self, ya: np.ndarray, yb: np.ndarray, p: np.ndarray) -> np.ndarray:
        last = self.stretches - 1
        r, t, m, n, h = self.parts(ya, p, 0)
        out = [r - self.start, t - self.start_direction, [m @ t]]
        lengths = p[3::_PARAMETERS]
        if self.length is None:
            out.append([n @ t + 0.5 * m @ m - self.pull])
        else:
            out.append([lengths.sum() - self.length])
        for j, ring in enumerate(self.rings):
            r, t, m, n, h = self.parts(yb, p, j)
            r2, t2, m2, n2, _ = self.parts(ya, p, j + 1)
            n_end = n + np.array([0, 0, self.weight * h])
            out += [r - ring, r2 - ring, t2 - t, m2 - m, [(n2 - n_end) @ t]]
        r, t, _, _, _ = self.parts(yb, p, last)
        out += [r - self.end, _across(self.end_direction) @ t]
        return np.concatenate(out)

    def mismatch_jacobian(
        self, ya: np.ndarray, yb: np.ndarray, p: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        size = len(ya) + len(p)
        by_a, by_b = np.zeros((size, len(ya))), np.zeros((size, len(yb)))
        by_p = np.zeros((size, len(p)))
        eye = np.eye(3)
        _, t, m, n, _ = self.parts(ya, p, 0)
        by_a[:3, :3] = by_a[3:6, 3:6] = eye
        by_a[6, 3:6], by_a[6, 6:9] = m, t
        if self.length is None:
            by_a[7, 3:6], by_a[7, 6:9], by_p[7, :3] = n, m, t
        else:
            by_p[7, 3::_PARAMETERS] = 1.0
        row = 8
        for j in range(len(self.rings)):
            _, t, _, n, h = self.parts(yb, p, j)
            _, _, _, n2, _ = self.parts(ya, p, j + 1)
            k, k2, q, q2 = (
                _STATES * j,
                _STATES * (j + 1),
                _PARAMETERS * j,
                _PARAMETERS * (j + 1),
            )
            by_b[row : row + 3, k : k + 3] = by_a[row + 3 : row + 6, k2 : k2 + 3] = eye
            for part in (3, 6):  # tangent and moment go on
                rows = slice(row + 3 + part, row + 6 + part)
                by_a[rows, k2 + part : k2 + part + 3] = eye
                by_b[rows, k + part : k + part + 3] = -eye
            by_b[row + 12, k + 3 : k + 6] = n2 - n - np.array([0, 0, self.weight * h])
            by_p[row + 12, q2 : q2 + 3], by_p[row + 12, q : q + 3] = t, -t
            by_p[row + 12, q + 3] = -self.weight * t[2]
            row += 13
        k = _STATES * (self.stretches - 1)
        by_b[row : row + 3, k : k + 3] = eye
        by_b[row + 3 : row + 5, k + 3 : k + 6] = _across(self.end_direction)
        return by_a, by_b, by_p

    def first_guess(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Mesh, states and parameters from a curve (N, 3): its moment, and the force that fits.

        With m' = n × t the moment is c + n0 × r + w·∫ s·ẑ × t; c and n0 by least squares.
        """
        steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
        arc = np.concatenate([[0.0], np.cumsum(steps)])
        mesh = np.linspace(0, 1, 41)
        cuts = [0.0]
        for ring in self.rings:
            later = arc > cuts[-1]
            near = np.argmin(np.where(later, np.linalg.norm(points - ring, axis=1), np.inf))
            cuts.append(float(arc[near]))
        cuts.append(float(arc[-1]))
        states, parameters = [], []
        for a, b in pairwise(cuts):
            s = a + (b - a) * mesh
            r = np.array([np.interp(s, arc, points[:, k]) for k in range(3)])
            t = np.gradient(r, s, axis=1, edge_order=2)
            if a == 0.0:
                t[:, 0] = self.start_direction
            if b == cuts[-1]:
                t[:, -1] = self.end_direction
            t /= np.linalg.norm(t, axis=0)
            m = np.cross(t, np.gradient(t, s, axis=1, edge_order=2), axis=0)
            carried = np.cross(np.array([0, 0, self.weight])[:, None] * (s - a), t, axis=0)
            carried = np.cumsum(carried, axis=1) * (s[1] - s[0])
            rows = np.concatenate(
                [
                    np.concatenate([np.eye(3), -_cross(r[:, [i]])[:, :, 0]], axis=1)
                    for i in range(len(s))
                ]
            )
            fit = np.linalg.lstsq(rows, (m - carried).T.ravel(), rcond=None)[0]
            states.append(np.concatenate([r, t, m]))
            parameters += [*fit[3:], b - a]
        return mesh, np.concatenate(states), np.array(parameters)

    def reference(self, found: object, span: Clamped, unit: float) -> Reference:
        """The solution in mm and N at 4001 places of equal arc length per stretch."""
        u = np.linspace(0, 1, 4001)
        y, p = found.sol(u), found.p  # type: ignore[attr-defined]
        arcs, points, tensions, curvatures, reached = [], [], [], [], 0.0
        for j in range(self.stretches):
            r, t, m, n, h = self.parts(y, p, j)
            keep = slice(0 if j == 0 else 1, None)
            arcs.append(reached + h * u[keep])
            points.append(r.T[keep])
            tensions.append(np.einsum("im,im->m", self.force(n, h, u), t)[keep])
            curvatures.append(np.linalg.norm(m, axis=0)[keep])
            reached += float(h)
        arc, kappa = np.concatenate(arcs), np.concatenate(curvatures)
        stiffness = span.bending_stiffness
        ends = np.cumsum(p[3::_PARAMETERS])
        return Reference(
            arc=arc * unit,
            points=span.start + unit * np.concatenate(points),
            tensions=np.concatenate(tensions) * stiffness / unit**2,
            curvatures=kappa / unit,
            ring_arcs=ends[:-1] * unit,
            length=float(ends[-1] * unit),
            energy=float(0.5 * trapezoid(kappa**2, arc) * stiffness / unit),
            residual=float(found.rms_residuals.max()),  # type: ignore[attr-defined]
            converged=bool(found.success),  # type: ignore[attr-defined]
        )
