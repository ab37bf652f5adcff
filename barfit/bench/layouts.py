"""Random but physical lines to throw at the solver: what a routing might ask of it, and harsher.

Each layout is made from a seed of its own, so that a failing one can be named by a number. The
ranges go round those of control cables, hoses and harnesses on a motorcycle (estimates).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import CubicHermiteSpline

from barfit.mechanics import Shape, Span, settle, taut

CHORD = (150.0, 1200.0)  # mm between the ends
STIFFNESS = (5e3, 3e5)  # N·mm²
WEIGHT = 0.003  # N/mm, the most
AXIAL = (1e4, 1e6)  # N, for half of the lines; the others do not stretch
SHARE = (0.98, 2.5)  # length over taut length
PULL = 20.0  # N
_TURNED_BACK = 0.2  # of the fittings point just anywhere, the others within 90° of the way
_GUIDES = (0.4, 0.25, 0.2, 0.15)  # how many lines have none, one, two, three
_EDGE, _NODES = 12.0, (31, 61, 91)  # the meshes of a sweep
_ASIDE = 0.06  # of the route's length: how far a guide may be off a smooth way


@dataclass(frozen=True)
class RandomLine:
    """A line between two fittings, its length still open, and its share of the taut length."""

    seed: int
    span: Span
    share: float


@dataclass(frozen=True)
class Thrown:
    """What the solver made of a random line: drawn taut, and settled at its length."""

    line: RandomLine
    span: Span
    drawn: Shape
    lying: Shape | None

    @property
    def rests(self) -> bool:
        """Whether both converged to a stable rest shape."""
        shapes = (self.drawn, self.lying)
        return all(shape is not None and shape.converged and shape.stable for shape in shapes)


def random_line(seed: int) -> RandomLine:
    """The layout of a seed."""
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


def throw(line: RandomLine) -> Thrown:
    """Draw a random line taut and settle it at its share of the taut length."""
    drawn = taut(line.span, PULL)
    if not drawn.converged:
        return Thrown(line, line.span, drawn, None)
    span = replace(line.span, length=line.share * drawn.length)
    return Thrown(line, span, drawn, settle(span))


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
