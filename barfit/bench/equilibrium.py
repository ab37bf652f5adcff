"""Whether a shape is at rest, recomputed from its points alone; shares no code with the solver.

The energy of the discrete rod is written out once more with dense matrices: bending by second
differences with a half vertex at each clamp, weight at the nodes, and guides as springs to the
nearest point of the Catmull-Rom curve through the nodes. The forces along the edges are the
multipliers that balance it best, by least squares.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import newton

from barfit.mechanics import Shape, Span

_CATMULL_ROM = 0.5 * np.array([[0, 2, 0, 0], [-1, 0, 1, 0], [2, -5, 4, -1], [-1, 3, -3, 1]])
_STEP = 1e-5  # of an edge, to difference the pull of a guide by


@dataclass(frozen=True)
class Rest:
    """``unbalanced``: the largest force left on a node, N, and ``scale``: the largest that acts.

    ``softest``: the least eigenvalue of the second variation at fixed edge lengths over EI/l³,
    above zero at a stable rest shape; nan where it was not asked for. ``misfit``: how far an
    edge is from the length its tension makes it, as a share; where no axial stiffness is given,
    from the mean of all edges. ``stretch``: length of the polygon over rest length, less one;
    ``off_end``: how far the ends are from where they are held, mm; ``off_guides``: how far the rod
    passes from its rings, mm; ``in_order``: it passes them in their order.
    """

    unbalanced: float
    scale: float
    softest: float
    misfit: float
    stretch: float
    off_end: float
    off_guides: float
    in_order: bool


def rest(shape: Shape, span: Span, second_variation: bool = True) -> Rest:
    """Look a settled shape over. Ends must be held in place; directions may be free."""
    x = np.asarray(shape.points, dtype=float)
    count = len(x)
    edge = shape.length / (count - 1)
    stiff = span.bending_stiffness / edge**3
    rows, goal = _bending(span, count, edge)
    force = stiff * rows.T @ (rows @ x - goal)
    force[:, 2] += span.weight * edge
    hessian = np.kron(stiff * rows.T @ rows, np.eye(3)) if second_variation else np.empty((0, 0))
    places, gaps = [], []
    for ring, near in zip(
        np.array(span.guides, dtype=float).reshape(-1, 3), shape.guides_at, strict=True
    ):
        at, gap = _pull(x, ring, near / edge, span.guide_stiffness, force)
        places.append(at)
        gaps.append(gap)
        if second_variation:
            _stiffen(x, ring, at, span.guide_stiffness, hessian, _STEP * edge)

    sides = np.diff(x, axis=0)
    length = np.linalg.norm(sides, axis=1)
    jacobian = _edge_gradients(sides / length[:, None])
    free = slice(3, 3 * count - 3)
    tensions = -np.linalg.lstsq(jacobian[:, free].T, force.ravel()[free], rcond=None)[0]
    left = (force.ravel() + jacobian.T @ tensions)[free].reshape(-1, 3)
    if span.axial_stiffness is None:
        should = np.full(count - 1, length.mean())
    else:
        should = edge * (1.0 + tensions / span.axial_stiffness)
    softest = np.nan
    if second_variation:
        _tighten(hessian, tensions / length, sides / length[:, None])
        _, _, basis = np.linalg.svd(jacobian[:, free])
        null = basis[count - 1 :]
        softest = float(np.linalg.eigvalsh(null @ hessian[free, free] @ null.T)[0]) / stiff
    at_rest = [0.0, *places, count - 1.0]
    return Rest(
        unbalanced=float(np.linalg.norm(left, axis=1).max()),
        scale=float(max(np.abs(tensions).max(), span.bending_stiffness / shape.length**2)),
        softest=softest,
        misfit=float(np.abs(length / should - 1.0).max()),
        stretch=float(length.sum()) / shape.length - 1.0,
        off_end=float(max(np.linalg.norm(x[0] - span.start), np.linalg.norm(x[-1] - span.end))),
        off_guides=max(gaps, default=0.0),
        in_order=bool(np.all(np.diff(at_rest) > 0)),
    )


def _bending(span: Span, count: int, edge: float) -> tuple[np.ndarray, np.ndarray]:
    """Rows (R, N) and goal (R, 3): bending energy is EI/(2 l³)·|rows·x - goal|²."""
    rows, goal = [], []
    for i in range(1, count - 1):
        row = np.zeros(count)
        row[i - 1 : i + 2] = 1.0, -2.0, 1.0
        rows.append(row)
        goal.append(np.zeros(3))
    for way, i in ((span.start_direction, 0), (span.end_direction, count - 2)):
        if way is not None:
            row = np.zeros(count)
            row[i : i + 2] = -np.sqrt(2), np.sqrt(2)
            rows.append(row)
            goal.append(np.sqrt(2) * edge * np.asarray(way) / np.linalg.norm(way))
    return np.array(rows), np.array(goal)


def _point(x: np.ndarray, at: float) -> tuple[np.ndarray, np.ndarray, int, np.ndarray]:
    """Point and slope at ``at`` edges along the rod, the first of its four nodes, their weights."""
    i = int(np.clip(int(at), 1, len(x) - 3)) - 1
    f = at - i - 1
    weights = np.array([1, f, f * f, f**3]) @ _CATMULL_ROM
    slopes = np.array([0, 1, 2 * f, 3 * f * f]) @ _CATMULL_ROM
    return weights @ x[i : i + 4], slopes @ x[i : i + 4], i, weights


def _nearest(x: np.ndarray, ring: np.ndarray, near: float) -> float:
    """Where along the rod, about ``near``, the way to a ring is square to it; in edges."""

    def along(at: float) -> float:
        point, slope, _, _ = _point(x, at)
        return float(slope @ (point - ring))

    return float(newton(along, near, x1=near + 1e-3, tol=1e-13, maxiter=100))


def _pull(
    x: np.ndarray, ring: np.ndarray, near: float, stiffness: float, force: np.ndarray
) -> tuple[float, float]:
    """Add the pull of a ring's spring to the forces (N, 3); where it is and how far off, mm."""
    at = _nearest(x, ring, near)
    point, _, i, weights = _point(x, at)
    force[i : i + 4] += stiffness * np.outer(weights, point - ring)
    return at, float(np.linalg.norm(point - ring))


def _stiffen(
    x: np.ndarray, ring: np.ndarray, at: float, stiffness: float, hessian: np.ndarray, step: float
) -> None:
    """Add what a ring's spring adds to the Hessian, its pull differenced node by node."""
    _, _, i, _ = _point(x, at)
    nodes = range(max(i - 1, 0), min(i + 5, len(x)))
    part = np.zeros_like(hessian)
    for node in nodes:
        for axis in range(3):
            pulls = []
            for sign in (1, -1):
                moved = x.copy()
                moved[node, axis] += sign * step
                force = np.zeros_like(x)
                _pull(moved, ring, at, stiffness, force)
                pulls.append(force.ravel())
            part[:, 3 * node + axis] = (pulls[0] - pulls[1]) / (2 * step)
    hessian += 0.5 * (part + part.T)


def _edge_gradients(tangent: np.ndarray) -> np.ndarray:
    """The gradients (N-1, 3N) of the edge lengths."""
    edges = len(tangent)
    out = np.zeros((edges, edges + 1, 3))
    out[np.arange(edges), np.arange(edges)] = -tangent
    out[np.arange(edges), np.arange(edges) + 1] = tangent
    return out.reshape(edges, -1)


def _tighten(hessian: np.ndarray, pull: np.ndarray, tangent: np.ndarray) -> None:
    """Add the stiffness of the tensions against swinging the edges; ``pull``: N/mm each."""
    for i in range(len(pull)):
        across = pull[i] * (np.eye(3) - np.outer(tangent[i], tangent[i]))
        a, b = slice(3 * i, 3 * i + 3), slice(3 * i + 3, 3 * i + 6)
        hessian[a, a] += across
        hessian[b, b] += across
        hessian[a, b] -= across
        hessian[b, a] -= across
