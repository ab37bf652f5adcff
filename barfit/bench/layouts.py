"""Random but physical lines to throw at the solver: what a routing might ask of it, and harsher.

Each layout is made from a seed of its own, so that a failing one can be named by a number. The
ranges go round those of control cables, hoses and harnesses on a motorcycle (estimates).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import CubicHermiteSpline

from barfit.geometry import solids
from barfit.mechanics import Shape, Span, settle, taut
from barfit.mechanics.contact import Touches, touches
from barfit.mechanics.rod import Rods
from barfit.mechanics.settle import batch_of_one, shape_of
from barfit.mechanics.solid_kernels import BOX, CAPSULE, ELLIPSOID, NO_SOLIDS, SIZES, Solids
from barfit.mechanics.start import pulled, settled

CHORD = (150.0, 1200.0)  # mm between the ends
STIFFNESS = (5e3, 3e5)  # N·mm²
WEIGHT = 0.003  # N/mm, the most
AXIAL = (1e4, 1e6)  # N, for half of the lines; the others do not stretch
SHARE = (0.98, 2.5)  # length over taut length
PULL = 20.0  # N
THICKNESS = (2.0, 8.0)  # mm, half of it
SIZE = (12.0, 90.0)  # mm, radius of bars and about half of other solids
_ROOM, _CLEAR = 40.0, 5.0  # mm free ahead of each fitting, and round it and each ring
_TRIES = 30  # to place a solid; where there is no room for one it is left out
_TURNED_BACK = 0.2  # of the fittings point just anywhere, the others within 90° of the way
_GUIDES = (0.4, 0.25, 0.2, 0.15)  # how many lines have none, one, two, three
_EDGE, _NODES = 12.0, (31, 61, 91)  # the meshes of a sweep
_ASIDE = 0.06  # of the route's length: how far a guide may be off a smooth way


@dataclass(frozen=True)
class RandomLine:
    """A line between two fittings, its length still open, and its share of the taut length.

    ``solids`` are in its way, at rest; its own thickness is twice ``radius`` mm.
    """

    seed: int
    span: Span
    share: float
    solids: Solids = NO_SOLIDS
    radius: float = 0.0


@dataclass(frozen=True)
class Thrown:
    """What the solver made of a random line: drawn taut, and settled at its length."""

    line: RandomLine
    span: Span
    drawn: Shape
    lying: Shape | None
    touches: Touches | None = None

    @property
    def rests(self) -> bool:
        """Whether both converged to a stable rest shape."""
        shapes = (self.drawn, self.lying)
        return all(shape is not None and shape.converged and shape.stable for shape in shapes)


def random_line(seed: int) -> RandomLine:
    """The layout of a seed, with nothing in its way."""
    rng = np.random.default_rng(seed)
    chord = _between(rng, *CHORD) * _unit(rng.normal(size=3))
    start = rng.uniform(-100, 100, 3)
    first, last = (_leaning(rng, _unit(chord)) for _ in range(2))
    guides = _along_a_route(rng, start, first, start + chord, last)
    share = float(rng.uniform(*SHARE))
    held = np.vstack((start, guides, start + chord))
    about = share * float(np.linalg.norm(np.diff(held, axis=0), axis=1).sum())
    span = Span(
        start,
        first,
        start + chord,
        last,
        about,
        _between(rng, *STIFFNESS),
        float(rng.uniform(0, WEIGHT)),
        guides,
        _between(rng, *AXIAL) if rng.random() < 0.5 else None,
        nodes=next((n for n in _NODES if about / (n - 1) <= _EDGE), _NODES[-1]),
    )
    return RandomLine(seed, span, share)


def among_solids(line: RandomLine) -> RandomLine:
    """The same line with one to three solids beside its way: bars, boxes and ellipsoids.

    They are as large as fork tubes, lamps and tanks, and leave room round its fittings and rings.
    """
    rng = np.random.default_rng((line.seed, 1))
    span, radius = line.span, float(rng.uniform(*THICKNESS))
    start, end = np.asarray(span.start, dtype=float), np.asarray(span.end, dtype=float)
    way = np.vstack((start, np.asarray(span.guides), end))
    ahead = np.linspace(0, _ROOM, 9)[1:, None]
    out = start + ahead * np.asarray(span.start_direction)
    into = end - ahead * np.asarray(span.end_direction)
    clear = np.vstack((way, out, into))
    found: list[tuple[int, list[float]]] = []
    for _ in range(int(rng.integers(1, 4))):
        for _ in range(_TRIES):
            stretch = int(rng.integers(len(way) - 1))
            middle = way[stretch] + rng.uniform(0.2, 0.8) * (way[stretch + 1] - way[stretch])
            kind, numbers = _solid(rng, middle)
            if distance_of(kind, numbers, clear).min() > radius + _CLEAR:
                found.append((kind, numbers))
                break
    return replace(line, solids=solids_of(found), radius=radius)


def _solid(rng: np.random.Generator, near: np.ndarray) -> tuple[int, list[float]]:
    """A solid whose middle is up to its own size beside a point."""
    kind = int(rng.choice([CAPSULE, BOX, ELLIPSOID]))
    size = _between(rng, *SIZE)
    centre = near + rng.uniform(0.0, 1.2) * size * _unit(rng.normal(size=3))
    if kind == CAPSULE:
        half = rng.uniform(1, 6) * size * _unit(rng.normal(size=3))
        return kind, [*(centre - half), *(centre + half), size]
    sides, pitch = size * rng.uniform(0.6, 2.0, 3), rng.uniform(-0.8, 0.8)
    turn = [float(np.cos(pitch)), float(np.sin(pitch))]
    if kind == BOX:
        return kind, [*centre, *sides, 0.3 * size, *turn]
    return kind, [*centre, *sides, *turn]


def solids_of(found: Sequence[tuple[int, Sequence[float]]]) -> Solids:
    """Solids at rest, each a kind and its numbers as `barfit.mechanics.solid_kernels` has them."""
    size = np.zeros((len(found), SIZES))
    for row, (_, numbers) in enumerate(found):
        size[row, : len(numbers)] = numbers
    kinds = np.array([kind for kind, _ in found], np.int64)
    return NO_SOLIDS._replace(kind=kinds, mover=np.zeros(len(found), np.int64), size=size)


def distance_of(kind: int, numbers: Sequence[float], points: np.ndarray) -> np.ndarray:
    """Signed distances (M,) of points (M, 3) from a solid, by the uncompiled reference."""
    one = np.asarray(numbers, dtype=float)
    if kind == CAPSULE:
        return solids.capsule(points, one[:3], one[3:6], float(one[6]))
    pitch = float(np.arctan2(one[-1], one[-2]))
    if kind == BOX:
        rounding = float(one[6])
        return solids.box(points, one[:3], 2 * (one[3:6] + rounding), pitch, rounding)
    return solids.ellipsoid(points, one[:3], one[3:6], pitch)


def depth(line: RandomLine, points: np.ndarray) -> float:
    """How far a line lying through these points (M, 3) is inside solids, mm; 0 where it is not."""
    out = 0.0
    for kind, size in zip(line.solids.kind, line.solids.size, strict=True):
        numbers = size[: {CAPSULE: 7, BOX: 9, ELLIPSOID: 8}[int(kind)]]
        out = max(out, line.radius - float(distance_of(int(kind), numbers, points).min()))
    return out


def throw(line: RandomLine) -> Thrown:
    """Draw a random line taut and settle it at its share of the taut length."""
    if len(line.solids.kind):
        return _throw_among(line)
    drawn = taut(line.span, PULL)
    if not drawn.converged:
        return Thrown(line, line.span, drawn, None)
    span = replace(line.span, length=line.share * drawn.length)
    return Thrown(line, span, drawn, settle(span))


def _throw_among(line: RandomLine) -> Thrown:
    """The same among solids, which a span does not know of: as a batch of one rod."""

    def rods(span: Span, pull: float) -> Rods:
        return replace(
            batch_of_one(span, pull),
            solids=line.solids,
            radius=np.array([line.radius]),
            blind=np.zeros((1, len(line.solids.kind)), bool),
        )

    tight = rods(line.span, PULL)
    drawn = shape_of(tight, *pulled(tight, np.array([PULL]), line.span.nodes))
    if not drawn.converged:
        return Thrown(line, line.span, drawn, None)
    span = replace(line.span, length=line.share * drawn.length)
    slack = rods(span, 0.0)
    state, outcome = settled(slack, np.array([span.length]), span.nodes)
    return Thrown(line, span, drawn, shape_of(slack, state, outcome), touches(slack, state, 0))


def _between(rng: np.random.Generator, low: float, high: float) -> float:
    """A number of that range, each size as likely as its double."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def _unit(vector: np.ndarray) -> np.ndarray:
    return np.asarray(vector / np.linalg.norm(vector))


def _leaning(rng: np.random.Generator, along: np.ndarray) -> np.ndarray:
    """The direction of a fitting: most lead on, some point anywhere."""
    way = _unit(rng.normal(size=3))
    if rng.random() > _TURNED_BACK and way @ along < 0:
        way = way - 2 * (way @ along) * along
    return way


def _along_a_route(
    rng: np.random.Generator,
    start: np.ndarray,
    first: np.ndarray,
    end: np.ndarray,
    last: np.ndarray,
) -> np.ndarray:
    """Guides (K, 3) in order along a smooth way between the fittings, each a little aside."""
    count = int(rng.choice(len(_GUIDES), p=_GUIDES))
    chord = float(np.linalg.norm(end - start))
    way = CubicHermiteSpline((0, 1), (start, end), chord * np.vstack((first, last)))
    at = (np.arange(count) + 1 + rng.uniform(-0.25, 0.25, count)) / (count + 1)
    return np.asarray(way(at) + _ASIDE * chord * rng.uniform(-1, 1, (count, 3)))
