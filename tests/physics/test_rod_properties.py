"""What must hold for any span: symmetry, scaling and the order of lengths and pulls."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from rod_states import unit

from barfit.mechanics import Shape, Span, settle, taut

# A seed, not its coordinates, is drawn: minimal examples would be straight and plane spans, whose
# shapes may bow to either side, so that two equal answers differ.
few = settings(
    max_examples=20, deadline=None, derandomize=True, phases=(Phase.explicit, Phase.generate)
)
seeds = st.integers(0, 10**6)
vectors = seeds.map(lambda seed: np.random.default_rng(seed).uniform(-1, 1, 3))


def span_of(seed: int, heavy: bool) -> Span:
    """A span as a routing gives it: each end leans up to 64° from the chord."""
    rng = np.random.default_rng(seed)
    along = unit(rng.normal(size=3))
    lean = [0.9 * unit(rng.normal(size=3)) for _ in range(2)]
    start = rng.uniform(-100, 100, 3)
    return Span(
        start,
        unit(along + lean[0]),
        start + rng.uniform(250, 600) * along,
        unit(along + lean[1]),
        1.0,
        10 ** rng.uniform(4, 5.3),
        rng.uniform(0, 0.002) if heavy else 0.0,
    )


def spans(weight: bool = True) -> st.SearchStrategy[Span]:
    return seeds.map(lambda seed: span_of(seed, weight))


def ready(span: Span, share: float) -> tuple[Span, Shape]:
    """The span with ``share`` of its taut length, and its shape; both must be settled."""
    drawn = taut(span)
    assert drawn.converged
    longer = replace(span, length=share * drawn.length)
    shape = settle(longer)
    assert shape.converged
    return longer, shape


def gap(points: np.ndarray, others: np.ndarray) -> float:
    return float(np.linalg.norm(points - others, axis=1).max())


def integral(shape: Shape, span: Span) -> float:
    """Tension and half the bending moment squared over EI at mid-length: the rod's pull, N."""
    middle = len(shape.points) // 2
    bend = 0.5 * span.bending_stiffness / shape.radii[middle] ** 2
    return float(shape.tensions[middle - 1 : middle + 1].mean() + bend)


@few
@given(spans(), st.floats(1.02, 1.3))
def test_mirrored_line_is_the_mirrored_shape(span: Span, share: float) -> None:
    span, shape = ready(span, share)
    mirror = np.array([1.0, -1.0, 1.0])
    other = settle(
        replace(
            span,
            start=span.start * mirror,
            end=span.end * mirror,
            start_direction=span.start_direction * mirror,
            end_direction=span.end_direction * mirror,
        )
    )
    assert other.converged
    assert gap(shape.points * mirror, other.points) < 0.01


@few
@given(spans(weight=False), st.floats(1.02, 1.3), vectors, st.floats(0.1, 3.0), vectors)
def test_weightless_line_moves_as_a_body(
    span: Span, share: float, axis: np.ndarray, angle: float, shift: np.ndarray
) -> None:
    span, shape = ready(span, share)
    x, y, z = unit(axis)
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    turn = np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross
    move = 500 * shift
    other = settle(moved(span, turn, move))
    assert other.converged
    assert gap(shape.points @ turn.T + move, other.points) < 0.01


@few
@given(spans(), st.floats(0.0, 6.0), vectors)
def test_heavy_line_may_be_moved_and_turned_about_the_vertical(
    span: Span, angle: float, shift: np.ndarray
) -> None:
    span, shape = ready(span, 1.1)
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    move = 500 * shift
    other = moved(span, turn, move)
    assert gap(shape.points @ turn.T + move, settle(other).points) < 0.01
    assert abs(taut(other).length - taut(span).length) < 0.01


def moved(span: Span, turn: np.ndarray, move: np.ndarray) -> Span:
    return replace(
        span,
        start=turn @ span.start + move,
        end=turn @ span.end + move,
        start_direction=turn @ span.start_direction,
        end_direction=turn @ span.end_direction,
    )


@few
@given(spans(), st.floats(1.02, 1.3))
def test_line_read_backwards_is_the_same_line(span: Span, share: float) -> None:
    span, shape = ready(span, share)
    other = settle(
        replace(
            span,
            start=span.end,
            end=span.start,
            start_direction=-np.asarray(span.end_direction),
            end_direction=-np.asarray(span.start_direction),
        )
    )
    assert other.converged
    assert gap(shape.points[::-1], other.points) < 0.01
    assert abs(other.tension - shape.tension) < 1e-3 * (1 + abs(shape.tension))


@few
@given(spans(), st.floats(1.02, 1.3), st.floats(0.3, 3.0), st.floats(0.2, 5.0))
def test_scaled_line_is_the_scaled_shape(
    span: Span, share: float, size: float, force: float
) -> None:
    """Lengths by ``size`` and forces by ``force``: EI goes with force times size squared."""
    span, shape = ready(span, share)
    other = settle(
        replace(
            span,
            start=span.start * size,
            end=span.end * size,
            length=span.length * size,
            bending_stiffness=span.bending_stiffness * force * size**2,
            weight=span.weight * force / size,
        )
    )
    assert other.converged
    assert gap(shape.points * size, other.points) < 0.01 * size
    assert abs(other.tension - force * shape.tension) < 1e-3 * force * (1 + abs(shape.tension))


@few
@given(spans(weight=False), st.floats(2.0, 60.0))
def test_settled_at_the_taut_length_it_pulls_so_hard(span: Span, pull: float) -> None:
    """The length found for a pull, prescribed, gives the pull back as the energy integral."""
    fine = replace(span, nodes=81)
    drawn = taut(fine, pull)
    shape = settle(replace(fine, length=drawn.length))
    assert drawn.converged
    assert shape.converged
    # A thousandth of the length is what the taut length is good for; stiffness turns it to force.
    shorter = settle(replace(fine, length=0.999 * drawn.length))
    longer = settle(replace(fine, length=1.001 * drawn.length))
    assert integral(longer, fine) < pull < integral(shorter, fine)


@few
@given(spans(weight=False))
def test_pull_grows_as_the_line_gets_shorter(span: Span) -> None:
    short, long = taut(span, 60.0).length, taut(span, 4.0).length
    assume(long > 1.002 * short)
    pulls = [
        integral(settle(replace(span, length=length)), span)
        for length in np.linspace(short, long, 5)
    ]
    assert all(np.diff(pulls) < 0)


@few
@given(spans(), st.floats(1.5, 10.0))
def test_taut_length_and_pull_and_stiffness(span: Span, factor: float) -> None:
    """More pull shortens, more stiffness lengthens, and the chord is never undercut."""
    drawn = taut(span)
    assert drawn.converged
    chord = float(np.linalg.norm(np.subtract(span.end, span.start)))
    assert drawn.length >= chord
    harder = taut(span, 20.0 * factor)
    assert harder.converged
    assert chord <= harder.length < drawn.length
    stiffer = taut(replace(span, bending_stiffness=span.bending_stiffness * factor))
    assert stiffer.converged
    assert stiffer.length > drawn.length
