"""One span of a line and its rest shape at a given length."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from barfit.mechanics.newton import Outcome
from barfit.mechanics.rod import Rods, State, axial_force, bending_energy, curvature
from barfit.mechanics.start import settled

GUIDE_STIFFNESS = 500.0  # N/mm, of a ring against sideways motion
Point = tuple[float, float, float] | np.ndarray


@dataclass(frozen=True)
class Span:
    """An elastic line between two held ends.

    ``start`` and ``end`` mm; ``start_direction`` and ``end_direction`` the tangents there, both
    in the direction of travel from start to end (any length but zero). A direction of None is a
    pinned end that may turn; ``end=None`` is a free end, loaded by ``end_load`` (N, a dead load).
    ``length`` mm is the rest length; ``bending_stiffness`` N mm2; ``weight`` N/mm along -z.
    ``guides`` (K, 3) mm are rings passed in that order, sliding freely. ``axial_stiffness`` N;
    None is "as good as inextensible". ``nodes`` at least 9.

    Raises ValueError, naming the field, for numbers that are not finite, a length, stiffness or
    distance between consecutive held points that is not positive, or a direction of no length.
    """

    start: Point
    start_direction: Point | None
    end: Point | None
    end_direction: Point | None
    length: float
    bending_stiffness: float
    weight: float = 0.0
    guides: tuple[Point, ...] | np.ndarray = ()
    axial_stiffness: float | None = None
    nodes: int = 41
    end_load: Point = (0.0, 0.0, 0.0)
    guide_stiffness: float = field(default=GUIDE_STIFFNESS)

    def __post_init__(self) -> None:
        for name in ("length", "bending_stiffness"):
            if not (np.isfinite(getattr(self, name)) and getattr(self, name) > 0.0):
                raise ValueError(f"{name} is {getattr(self, name)}; it must be above zero")
        if not (np.isfinite(self.weight) and self.weight >= 0.0):
            raise ValueError(f"weight is {self.weight}; it must not be negative")
        if self.nodes < 9:
            raise ValueError(f"nodes is {self.nodes}; at least 9 are needed")
        if self.end is None and self.start_direction is None:
            raise ValueError("a span with a free end needs a start_direction")
        for name in ("start_direction", "end_direction"):
            value = getattr(self, name)
            if value is not None and not np.linalg.norm(value) > 0.0:
                raise ValueError(f"{name} is {value}; it must have a length above zero")
        held = [self.start, *self.guides] + ([] if self.end is None else [self.end])
        points = np.array([np.asarray(p, dtype=float) for p in held]).reshape(-1, 3)
        if not np.isfinite(points).all():
            raise ValueError("start, end and guides must be finite")
        gaps = np.linalg.norm(np.diff(points, axis=0), axis=1)
        if len(gaps) and gaps.min() <= 1e-9 * self.length:
            raise ValueError("two consecutive held points (start, guides, end) coincide")


@dataclass(frozen=True)
class Shape:
    """How a span lies.

    ``points`` (N, 3) mm, read-only; ``tensions`` (N-1,) N, the force along it (negative: pushed),
    ``tension`` the greatest of them; ``radii`` (N,) mm radius of curvature, ``min_radius`` the
    least of them; ``length`` mm rest length; ``energy`` N mm of bending. ``converged``: the last
    Newton step was small and the shape is a stable rest shape; ``stable``: the second variation of
    the energy is positive; ``residual`` N, the largest unbalanced force before the last step.
    ``guides_at`` (K,) mm is where along the rod each guide is.
    """

    points: np.ndarray
    tensions: np.ndarray
    radii: np.ndarray
    length: float
    energy: float
    guides_at: np.ndarray
    converged: bool
    stable: bool
    residual: float

    @property
    def tension(self) -> float:
        """Greatest tension, N."""
        return float(self.tensions.max())

    @property
    def min_radius(self) -> float:
        """Smallest radius of curvature, mm."""
        return float(self.radii.min())


def settle(span: Span) -> Shape:
    """The stable rest shape of a span at its length."""
    rods = batch_of_one(span)
    state, outcome = settled(rods, np.array([float(span.length)]), span.nodes)
    return shape_of(rods, state, outcome)


def batch_of_one(span: Span, pull: float = 0.0) -> Rods:
    """A span as a batch of one rod, to be pulled so hard (N) or not at all."""

    def row(value: Point | None) -> np.ndarray:
        return np.zeros((1, 3)) if value is None else np.array(value, dtype=float).reshape(1, 3)

    def unit(value: Point | None) -> np.ndarray:
        out = row(value)
        return out if value is None else out / np.linalg.norm(out)

    guides = np.array(span.guides, dtype=float).reshape(1, -1, 3)
    load = span.weight * span.length + float(np.linalg.norm(span.end_load)) + pull
    inextensible = max(5e7 * span.bending_stiffness / span.length**2, 1e5 * load)
    return Rods(
        ei=np.array([float(span.bending_stiffness)]),
        ea=np.array([span.axial_stiffness or inextensible]),
        weight=np.array([float(span.weight)]),
        start=row(span.start),
        end=row(span.end),
        start_direction=unit(span.start_direction),
        end_direction=unit(span.end_direction),
        clamp_start=np.array([float(span.start_direction is not None)]),
        clamp_end=np.array([float(span.end_direction is not None)]),
        free_end=np.array([span.end is None]),
        end_load=row(span.end_load),
        guides=guides,
        guide_stiffness=np.full((1, guides.shape[1]), float(span.guide_stiffness)),
    )


def shape_of(rods: Rods, state: State, outcome: Outcome) -> Shape:
    """The shape of a batch of one."""
    points, tensions = state.nodes[0], axial_force(rods, state)[0]
    with np.errstate(divide="ignore"):
        radii = 1.0 / curvature(rods, state)[0]
    for array in (points, tensions, radii):
        array.setflags(write=False)
    return Shape(
        points=points,
        tensions=tensions,
        radii=radii,
        length=float(state.length[0]),
        energy=float(bending_energy(rods, state)[0]),
        guides_at=state.guide_at[0] * state.edge[0],
        converged=bool(outcome.converged[0]),
        stable=bool(outcome.stable[0]),
        residual=float(outcome.residual[0]),
    )
