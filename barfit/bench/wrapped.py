"""A rod against a smooth obstacle in space, by direct minimisation: no nodes, no springs.

The tangent's heading and elevation are splines of the arc length, so the rod neither stretches nor
leaves its clamps, whatever their coefficients. The least bending energy (plus weight) with the end
in its place and no point inside the obstacle is found by the method of multipliers (M. R. Hestenes
1969, R. T. Rockafellar 1973), each round with scipy's L-BFGS-B; the multipliers are the forces of
the obstacle. The bending energy of a curve with tangent angles θ, φ is EI/2·∫(φ'² + cos²φ·θ'²) ds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline
from scipy.optimize import minimize

_DEGREE = 4
_PIECES = 600  # of the rod, at whose middles the tangent is summed up and the obstacle felt
_ROUNDS = 40
_STIFFENING = 3.0
_STIFF = 3e3, 1e6  # first and most, in units of EI/L³
_CLOSE = 2e-6  # of the length: the ends and the obstacle are met so well

# Distances (M,) of points (M, 3) and their gradients (M, 3).
Distance = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]


@dataclass(frozen=True)
class Wrapped:
    """The rod at rest: ``arc`` (M,) mm and ``points`` (M, 3) mm; energy N·mm (bending and weight);
    ``press`` (M,) N, what the obstacle presses with at each of them; ``curvatures`` (M,) 1/mm.
    """

    arc: np.ndarray
    points: np.ndarray
    curvatures: np.ndarray
    press: np.ndarray
    energy: float
    converged: bool

    def at(self, arc: np.ndarray) -> np.ndarray:
        """Points (N, 3) at these arc lengths (N,)."""
        return np.column_stack([np.interp(arc, self.arc, self.points[:, k]) for k in range(3)])


def cylinder(radius: float) -> Distance:
    """An endless round bar about the z axis."""

    def distance(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        away = points * np.array([1.0, 1.0, 0.0])
        length = np.linalg.norm(away, axis=1)
        return length - radius, away / length[:, None]

    return distance


def ball(radius: float) -> Distance:
    """A ball about the origin."""

    def distance(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        length = np.linalg.norm(points, axis=1)
        return length - radius, points / length[:, None]

    return distance


@dataclass(frozen=True)
class _Curve:
    """A rod by its tangent angles: unknowns (2 n,) are splines' inner coefficients, scaled so that
    the bending energy is about half their square. In units of the rod's length and EI.
    """

    start: np.ndarray
    value: np.ndarray  # (M, n) of the splines at the middles of the pieces
    slope: np.ndarray
    ends: tuple[np.ndarray, ...]  # (M,) heading, its slope, elevation, its slope, from the clamps

    def angles(self, v: np.ndarray) -> tuple[np.ndarray, ...]:
        """Heading, its slope, elevation, its slope, (M,) each."""
        heading, rise = np.split(v, 2)
        parts = (self.value @ heading, self.slope @ heading, self.value @ rise, self.slope @ rise)
        return tuple(part + end for part, end in zip(parts, self.ends, strict=True))

    def tangents(self, v: np.ndarray) -> np.ndarray:
        a, _, b, _ = self.angles(v)
        return np.column_stack([np.cos(a) * np.cos(b), np.sin(a) * np.cos(b), np.sin(b)])

    def points(self, v: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The middles of the pieces (M, 3), and the end (3,)."""
        steps = self.tangents(v) / len(self.value)
        return self.start + np.cumsum(steps, axis=0) - 0.5 * steps, self.start + steps.sum(0)

    def curvatures(self, v: np.ndarray) -> np.ndarray:
        _, turn, b, lift = self.angles(v)
        return np.asarray(np.hypot(lift, np.cos(b) * turn))

    def bending(self, v: np.ndarray) -> tuple[float, np.ndarray]:
        """Bending energy and its gradient (2 n,)."""
        _, turn, b, lift = self.angles(v)
        cosine, step = np.cos(b), 1.0 / len(b)
        energy = 0.5 * step * float((lift**2 + (cosine * turn) ** 2).sum())
        by_heading = step * self.slope.T @ (cosine**2 * turn)
        by_rise = step * (self.slope.T @ lift - self.value.T @ (cosine * np.sin(b) * turn**2))
        return energy, np.concatenate([by_heading, by_rise])

    def pulled(self, v: np.ndarray, forces: np.ndarray, end: np.ndarray) -> np.ndarray:
        """The gradient (2 n,) of Σ forces·points + end·(end point), forces held."""
        a, _, b, _ = self.angles(v)
        beyond = np.cumsum(forces[::-1], axis=0)[::-1] - 0.5 * forces + end  # all it carries
        ca, sa, cb, sb = np.cos(a), np.sin(a), np.cos(b), np.sin(b)
        by_a = cb * (ca * beyond[:, 1] - sa * beyond[:, 0])
        by_b = cb * beyond[:, 2] - sb * (ca * beyond[:, 0] + sa * beyond[:, 1])
        return np.concatenate([self.value.T @ by_a, self.value.T @ by_b]) / len(a)


def wrapped(
    start: np.ndarray,
    end: np.ndarray,
    angles: tuple[np.ndarray, np.ndarray],
    length: float,
    stiffness: float,
    weight: float,
    distance: Distance,
    coefficients: int = 30,
) -> Wrapped:
    """The rod at rest between clamps, outside an obstacle.

    ``angles``: first headings and elevations (K,) rad at equal arc lengths, of which the first and
    last are those of the clamps and are kept. Lengths mm, stiffness N·mm², weight N/mm along -z.
    """
    curve, v = _curve(np.asarray(start) / length, angles, coefficients)
    w = weight * length**3 / stiffness
    goal = np.asarray(end) / length
    down = np.zeros((_PIECES, 3))
    down[:, 2] = w / _PIECES
    held, press = np.zeros(3), np.zeros(_PIECES)
    stiff = _STIFF[0]
    good = False
    for _ in range(_ROUNDS):

        def total(
            v: np.ndarray, held: np.ndarray = held, press: np.ndarray = press, stiff: float = stiff
        ) -> tuple[float, np.ndarray]:
            energy, gradient = curve.bending(v)
            x, last = curve.points(v)
            gap, away = distance(length * x)
            pull = held + stiff * (last - goal)
            push = np.maximum(press - stiff * gap / length, 0.0)
            energy += float((down * x).sum())
            energy += float(pull @ pull - held @ held) / (2 * stiff)
            energy += float(push @ push - press @ press) / (2 * stiff)
            return energy, gradient + curve.pulled(v, down - push[:, None] * away, pull)

        options = {"maxiter": 2000, "maxfun": 4000, "ftol": 1e-15, "gtol": 1e-7, "maxcor": 60}
        found = minimize(total, v, jac=True, method="L-BFGS-B", options=options)
        v = found.x
        x, last = curve.points(v)
        gap = distance(length * x)[0] / length
        off = float(np.abs(last - goal).max())
        new = np.maximum(press - stiff * gap, 0.0)
        deep = float(np.maximum(-gap, 0.0).max())
        loose = float(np.minimum(np.maximum(gap, 0.0), press / stiff).max())
        held, press = held + stiff * (last - goal), new
        worst = max(off, deep, loose)
        if worst < _CLOSE and np.abs(found.jac).max() < 1e-4:
            good = True
            break
        stiff = min(_STIFFENING * stiff, _STIFF[1])
    s = (np.arange(_PIECES) + 0.5) / _PIECES
    energy = curve.bending(v)[0] + float((down * x).sum())
    return Wrapped(
        arc=s * length,
        points=x * length,
        curvatures=curve.curvatures(v) / length,
        press=press * stiffness / length**2,
        energy=energy * stiffness / length,
        converged=good,
    )


def _curve(
    start: np.ndarray, angles: tuple[np.ndarray, np.ndarray], count: int
) -> tuple[_Curve, np.ndarray]:
    """The splines with their ends held, and the unknowns nearest to the first angles."""
    knots = np.concatenate(
        [np.zeros(_DEGREE), np.linspace(0, 1, count - _DEGREE + 1), np.ones(_DEGREE)]
    )
    s = (np.arange(_PIECES) + 0.5) / _PIECES
    splines = [BSpline(knots, row, _DEGREE) for row in np.eye(count)]
    value = np.column_stack([spline(s) for spline in splines])
    slope = np.column_stack([spline.derivative()(s) for spline in splines])
    free = slice(1, count - 1)
    scale = np.linalg.inv(np.linalg.cholesky(slope[:, free].T @ slope[:, free] / len(s))).T
    ends, v = [], []
    for guess in angles:
        fixed = np.zeros(count)
        fixed[0], fixed[-1] = guess[0], guess[-1]
        ends += [value @ fixed, slope @ fixed]
        wanted = np.interp(s, np.linspace(0, 1, len(guess)), guess) - value @ fixed
        v.append(np.linalg.lstsq(value[:, free] @ scale, wanted)[0])
    curve = _Curve(start, value[:, free] @ scale, slope[:, free] @ scale, tuple(ends))
    return curve, np.concatenate(v)
