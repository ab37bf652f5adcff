"""Kirchhoff's equations of a rod between clamps, through rings, as a first-order system.

The equations and their sources stand in `barfit.bench.kirchhoff`; here they are written out for
scipy.integrate.solve_bvp, with exact Jacobians, in units of the rod's length and stiffness.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

STATES, PARAMETERS = 9, 4  # of one stretch between rings: r, t, m; its first force and length


def _cross(v: np.ndarray) -> np.ndarray:
    """The matrices (3, 3, M) that take a cross product from the left with columns v (3, M)."""
    zero = np.zeros_like(v[0])
    return np.array([[zero, -v[2], v[1]], [v[2], zero, -v[0]], [-v[1], v[0], zero]])


def _across(direction: np.ndarray) -> np.ndarray:
    """Two unit vectors (2, 3) at right angles to a direction and to each other."""
    _, _, rows = np.linalg.svd(direction[None, :])
    return np.asarray(rows[1:])


@dataclass(frozen=True)
class Problem:
    """Everything in units of length and EI; the stretches between rings run side by side.

    States (9·S, M): r, t, m of each of the S stretches over 0..1; parameters (4·S,): the force at
    the beginning of each stretch and its length. ``length`` None: the length is free and the
    energy integral equals ``pull``. ``twisting`` is the twisting moment, the same all along.
    """

    start: np.ndarray
    start_direction: np.ndarray
    end: np.ndarray
    end_direction: np.ndarray
    rings: np.ndarray
    weight: float
    length: float | None
    pull: float
    twisting: float = 0.0

    @property
    def stretches(self) -> int:
        """How many stretches the rings make."""
        return len(self.rings) + 1

    def parts(self, y: np.ndarray, p: np.ndarray, j: int) -> tuple[np.ndarray, ...]:
        """r, t, m of stretch j, its first force and its length."""
        block = y[STATES * j : STATES * (j + 1)]
        q = p[PARAMETERS * j : PARAMETERS * (j + 1)]
        return block[:3], block[3:6], block[6:], q[:3], q[3]

    def force(self, n: np.ndarray, h: np.ndarray, u: np.ndarray) -> np.ndarray:
        """The force (3, M) in a stretch: it carries the weight of the rod below it."""
        out = np.repeat(n[:, None], len(u), axis=1)
        out[2] += self.weight * h * u
        return out

    def slope(self, u: np.ndarray, y: np.ndarray, p: np.ndarray) -> np.ndarray:
        """The derivatives of the states (9·S, M) at the places ``u`` (M,) of every stretch."""
        out = np.empty_like(y)
        for j in range(self.stretches):
            _, t, m, n, h = self.parts(y, p, j)
            k = STATES * j
            out[k : k + 3] = h * t
            out[k + 3 : k + 6] = h * np.cross(m, t, axis=0)
            out[k + 6 : k + 9] = h * np.cross(self.force(n, h, u), t, axis=0)
        return out

    def slope_jacobian(
        self, u: np.ndarray, y: np.ndarray, p: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Derivatives of `slope` by states (9·S, 9·S, M) and parameters (9·S, 4·S, M)."""
        by_state = np.zeros((len(y), len(y), len(u)))
        by_parameter = np.zeros((len(y), len(p), len(u)))
        weight = np.zeros((3, len(u)))
        for j in range(self.stretches):
            _, t, m, n, h = self.parts(y, p, j)
            k, q = STATES * j, PARAMETERS * j
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
        """What is left (13·S,) of the conditions at the beginnings and ends of the stretches.

        At a clamp the end point and two components of the tangent are asked for: its length and
        the twisting moment are kept by the equations once they hold at the start.
        """
        last = self.stretches - 1
        r, t, m, n, h = self.parts(ya, p, 0)
        out = [r - self.start, t - self.start_direction, [m @ t - self.twisting]]
        lengths = p[3::PARAMETERS]
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
        """Derivatives of `mismatch` by the states at both ends and by the parameters."""
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
            by_p[7, 3::PARAMETERS] = 1.0
        row = 8
        for j in range(len(self.rings)):
            _, t, _, n, h = self.parts(yb, p, j)
            _, _, _, n2, _ = self.parts(ya, p, j + 1)
            k, k2, q, q2 = (
                STATES * j,
                STATES * (j + 1),
                PARAMETERS * j,
                PARAMETERS * (j + 1),
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
        k = STATES * (self.stretches - 1)
        by_b[row : row + 3, k : k + 3] = eye
        by_b[row + 3 : row + 5, k + 3 : k + 6] = _across(self.end_direction)
        return by_a, by_b, by_p

    def first_guess(
        self, points: np.ndarray, count: int = 41
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Mesh, states and parameters from a curve (N, 3): its moment, and the force that fits.

        With m' = n × t the moment is c + n0 × r + w·∫ s·ẑ × t; c and n0 by least squares.
        """
        steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
        arc = np.concatenate([[0.0], np.cumsum(steps)])
        mesh = np.linspace(0, 1, count)
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
            states.append(np.concatenate([r, t, m + self.twisting * t]))
            parameters += [*fit[3:], b - a]
        return mesh, np.concatenate(states), np.array(parameters)
