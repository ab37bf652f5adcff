"""The rod against Kirchhoff's equations solved independently, in space.

The spans are of the size and stiffness of control cables, brake hoses and harnesses; nothing in
them is special, which is their point. Each function gives the checks of one subject.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np

from barfit.bench.check import Check, Rule
from barfit.bench.dubins import dubins_length
from barfit.bench.kirchhoff import Clamped, Reference, settle_bvp, taut_bvp
from barfit.bench.plane_checks import LEAVING_PLANE, LENGTH, STIFFNESS, plane_span, settled
from barfit.mechanics import Shape, Span, settle, taut

PULL = 20.0
_SOURCE = "Kirchhoff's equations, solve_bvp"


def _span(
    start_direction: tuple[float, float, float],
    end: tuple[float, float, float],
    end_direction: tuple[float, float, float],
    length: float,
    stiffness: float,
    weight: float,
    guides: tuple[tuple[float, float, float], ...] = (),
) -> Span:
    start = (40, 120, 60)
    nodes = 81 if guides else 41  # about as many to each stretch between rings
    return Span(
        start, start_direction, end, end_direction, length, stiffness, weight, guides, nodes=nodes
    )


# Weights 0.5 to 1.5 g/mm·9.81 m/s² are those of a cable, a hose and a harness (estimate).
SPANS = {
    "clutch cable": _span((1, 0, 0), (440, 320, 210), (0, 0.6, 0.8), 700, 5e4, 0.001),
    "throttle cable": _span((0, 0, 1), (390, -130, -140), (0.6, 0, -0.8), 800, 2e4, 0.0006),
    "brake hose": _span((0.6, 0.8, 0), (540, 270, -200), (0.8, 0, -0.6), 650, 1.2e5, 0.0015),
    "cable, no weight": _span((0, 1, 0), (-210, 420, 360), (-1, 0, 0), 620, 3e4, 0.0),
    "harness": _span((0.8, 0, 0.6), (490, 470, 60), (0, 1, 0), 720, 8e4, 0.002),
    "hose to the wheel": _span((1, 0, 0), (640, 220, -340), (0, 0, -1), 860, 1e5, 0.0012),
    "hose, no weight": _span((0, -0.6, 0.8), (340, 420, -100), (0.6, 0.8, 0), 750, 9e4, 0.0),
    "soft lead": _span((0, 0, -1), (290, 20, 360), (0, 0.6, 0.8), 640, 8e3, 0.0004),
    "half a turn, no weight": _span((0, 0.8, 0.6), (160, 90, 240), (-0.6, -0.8, 0), 560, 9e4, 0.0),
    "lead turned back": _span((-0.6, 0, 0.8), (390, 200, 120), (0.8, 0, -0.6), 640, 1.5e4, 0.0007),
    "long harness, slack": _span((0.6, 0, 0.8), (640, -280, 0), (0, -1, 0), 900, 1e5, 0.0015),
    "stiff hose, no weight": _span((0, 0, 1), (240, 320, 260), (0.8, 0.6, 0), 420, 2.5e5, 0.0),
}

GUIDED = {
    "cable through one ring": _span(
        (1, 0, 0), (440, 320, 210), (0, 0.6, 0.8), 640, 5e4, 0.001, ((260, 150, 140),)
    ),
    "hose through one ring, no weight": _span(
        (0, 0, 1), (390, -130, -140), (0.6, 0, -0.8), 800, 9e4, 0.0, ((200, 20, 160),)
    ),
    "cable through two rings": _span(
        (0.6, 0.8, 0),
        (640, 220, -340),
        (0, 0, -1),
        860,
        3e4,
        0.0008,
        ((240, 250, 40), (480, 260, -60)),
    ),
}

# End x, y in mm, the angle of its tangent in degrees, and the radius to be kept.
BEND_CASES = {
    "quarter turn, 80 mm": (300, 260, 90, 80),
    "quarter turn, 120 mm": (420, 300, 90, 120),
    "U turn, 75 mm": (60, 200, 180, 75),
    "side step, 200 mm": (420, 110, 0, 200),
    "oblique, 100 mm": (400, 60, -50, 100),
}


def clamped(span: Span) -> Clamped:
    """The same span for the boundary-value solver."""
    assert span.start_direction is not None
    assert span.end is not None
    assert span.end_direction is not None
    return Clamped(
        np.array(span.start, dtype=float),
        np.array(span.start_direction, dtype=float),
        np.array(span.end, dtype=float),
        np.array(span.end_direction, dtype=float),
        span.bending_stiffness,
        span.weight,
        np.array(span.guides, dtype=float).reshape(-1, 3),
    )


def worst_point(shape: Shape, reference: Reference) -> float:
    """The greatest distance, mm, between nodes and the reference at the same arc lengths."""
    arc = np.linspace(0, reference.length, len(shape.points))
    return float(np.linalg.norm(shape.points - reference.at(arc), axis=1).max())


def spatial_shapes() -> list[Check]:
    """Position, bend and tension of ordinary spans at 41 nodes."""
    found = []
    for case, span in SPANS.items():
        shape = settled(span)
        reference = _agreed(settle_bvp(clamped(span), span.length), shape, span)
        tension = np.interp(_middles(span), reference.arc, reference.tensions)
        slip = float(np.abs(shape.tensions - tension)[1:-1].max())
        force = span.bending_stiffness / span.length**2
        found += [
            Check(case, "worst point, mm", _SOURCE, 0.3, worst_point(shape, reference), rule=_MOST),
            Check(
                case, "smallest radius, mm", _SOURCE, reference.min_radius, shape.min_radius, 0.01
            ),
            Check(case, "energy, N·mm", _SOURCE, reference.energy, shape.energy, 0.005),
            Check(case, "worst tension · L²/EI", _SOURCE, 1.0, slip / force, rule=_MOST),
        ]
    return found


def order_of_convergence() -> list[Check]:
    """How much smaller the worst point's error is at twice the nodes: 4 for second order."""
    found = []
    for case in ("clutch cable", "brake hose", "cable, no weight"):
        span = SPANS[case]
        errors = []
        for nodes in (21, 41, 81, 161):
            shape = settled(replace(span, nodes=nodes))
            if nodes == 21:
                reference = _agreed(settle_bvp(clamped(span), span.length), shape, span)
            errors.append(worst_point(shape, reference))
        for coarse, nodes in enumerate((41, 81, 161)):
            ratio = errors[coarse] / errors[coarse + 1]
            quantity = f"error ratio, {(nodes + 1) // 2} to {nodes} nodes"
            found.append(Check(case, quantity, _SOURCE, 3.5, ratio, rule=Rule.AT_LEAST))
    return found


def taut_lengths() -> list[Check]:
    """The length at which a span pulls with 20 N, against the free-length problem."""
    found = []
    for case, span in SPANS.items():
        shape = taut(span, PULL)
        reference = taut_bvp(clamped(span), PULL)
        length = shape.length if shape.converged and reference.converged else np.nan
        found.append(Check(case, "taut length, mm", _SOURCE, reference.length, length, 1e-3))
    return found


def guided_shapes() -> list[Check]:
    """Rods through rings that bear sideways and not along."""
    source = f"{_SOURCE}, with rings"
    found = []
    for case, span in GUIDED.items():
        shape = settled(span)
        reference = _agreed(settle_bvp(clamped(span), span.length, shape.points), shape, span)
        slides = float(np.abs(shape.guides_at - reference.ring_arcs).max())
        found += [
            Check(case, "worst point, mm", source, 0.3, worst_point(shape, reference), rule=_MOST),
            Check(case, "ring along the rod, mm", source, 0.3, slides, rule=_MOST),
            Check(
                case, "smallest radius, mm", source, reference.min_radius, shape.min_radius, 0.02
            ),
        ]
        drawn = taut(span, PULL)
        exact = taut_bvp(clamped(span), PULL, drawn.points)
        length = drawn.length if drawn.converged and exact.converged else np.nan
        found.append(Check(case, "taut length, mm", source, exact.length, length, 1e-3))
    return found


def out_of_plane() -> list[Check]:
    """Slack S bends in space: the energy the boundary-value problem gives the same branch."""
    found = []
    for case, (x, y, in_plane, _) in LEAVING_PLANE.items():
        span = plane_span(x, y, 0, 0)
        shape = settled(span)
        reference = _agreed(settle_bvp(clamped(span), LENGTH, shape.points), shape, span)
        plane = in_plane * STIFFNESS / LENGTH
        found += [
            Check(case, "energy, N·mm", _SOURCE, reference.energy, shape.energy, 0.005),
            Check(
                case, "reference below plane", _SOURCE, 0.99 * plane, reference.energy, rule=_MOST
            ),
        ]
    return found


def dubins_bound() -> list[Check]:
    """The shortest length that keeps a radius, never below the shortest path with that radius.

    The excess over the bound is what an elastic line needs because it cannot bend like a path of
    arcs and straights.
    """
    found = []
    for case, (x, y, last, radius) in BEND_CASES.items():
        bound = dubins_length((0, 0, 0), (x, y, np.deg2rad(last)), radius)
        length = shortest_keeping(bend_span(case), radius, bound)
        found.append(
            Check(case, "least length, mm", "Dubins 1957", bound, length, 1e-3, Rule.AT_LEAST)
        )
    return found


def bend_span(case: str) -> Span:
    """A case of `BEND_CASES` as a span, its length still open."""
    x, y, last, _ = BEND_CASES[case]
    return replace(plane_span(0.5, 0.5, 0, last, nodes=81), end=(x, y, 0))


def shortest_keeping(span: Span, radius: float, bound: float) -> float:
    """The shortest length in the plane with no radius below ``radius``, by growing the length.

    nan where none up to twice the bound keeps it, or where the rod leaves the plane.
    """

    def keeps(length: float) -> bool:
        shape = settle(replace(span, length=length))
        flat = bool(np.abs(shape.points[:, 2]).max() < 1e-3)
        return shape.converged and flat and shape.min_radius >= radius

    ends = clamped(span)
    chord = float(np.linalg.norm(ends.end - ends.start))
    lengths = np.linspace(1.002 * chord, 2 * bound, 120)
    for low, high in pairwise(lengths):
        if keeps(high):
            while high - low > 1e-4 * bound:
                middle = 0.5 * (low + high)
                low, high = (low, middle) if keeps(middle) else (middle, high)
            return float(high)
    return float("nan")


_MOST = Rule.AT_MOST


def _middles(span: Span) -> np.ndarray:
    return np.asarray((np.arange(span.nodes - 1) + 0.5) * span.length / (span.nodes - 1))


def _agreed(reference: Reference, shape: Shape, span: Span) -> Reference:
    """The reference started cold, or where that is another branch, started from our shape.

    A slack span has several rest shapes; accuracy is judged on the branch the solver chose.
    """
    if reference.converged and worst_point(shape, reference) < 0.02 * span.length:
        return reference
    return settle_bvp(clamped(span), span.length, shape.points)


GROUPS: tuple[Callable[[], list[Check]], ...] = (
    spatial_shapes,
    order_of_convergence,
    taut_lengths,
    guided_shapes,
    out_of_plane,
    dubins_bound,
)
