"""Two thousand random lines thrown at the solver: it settles them, or says that it did not."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from rod_states import unit

from barfit.bench.equilibrium import rest
from barfit.bench.layouts import (
    AXIAL,
    CHORD,
    SHARE,
    STIFFNESS,
    WEIGHT,
    RandomLine,
    Thrown,
    among_solids,
    depth,
    random_line,
    throw,
)
from barfit.mechanics import Shape, Span, settle

COUNT = 2000
_HARD = json.loads((Path(__file__).with_name("hard_layouts.json")).read_text("utf-8"))["cases"]


@pytest.fixture(scope="module")
def thrown() -> list[Thrown]:
    return [throw(layout_of(seed)) for seed in range(COUNT)]


def layout_of(seed: int) -> RandomLine:
    """Every fourth line runs among solids."""
    line = random_line(seed)
    return among_solids(line) if seed % 4 == 0 else line


def test_nearly_all_come_to_rest(thrown: list[Thrown]) -> None:
    lost = [one.line.seed for one in thrown if not one.rests]
    assert len(lost) <= 0.005 * COUNT, lost


def test_nothing_converged_that_is_not_a_number(thrown: list[Thrown]) -> None:
    for one in thrown:
        for shape in (one.drawn, one.lying):
            if shape is not None and shape.converged:
                assert_numbers(shape, one.line.seed)


def test_the_range_is_covered(thrown: list[Thrown]) -> None:
    """The generator reaches the corners it claims to."""
    spans = [one.line.span for one in thrown]
    chords = [float(np.linalg.norm(np.subtract(span.end, span.start))) for span in spans]
    shares = [one.line.share for one in thrown]
    assert min(chords) < 1.02 * CHORD[0]
    assert max(chords) > 0.98 * CHORD[1]
    assert min(shares) < 0.985
    assert max(shares) > 2.49
    assert {len(span.guides) for span in spans} == {0, 1, 2, 3}
    back = [np.dot(span.start_direction, np.subtract(span.end, span.start)) < 0 for span in spans]
    assert 0.05 < np.mean(back) < 0.2


def test_what_converged_is_at_rest(thrown: list[Thrown]) -> None:
    """Every fiftieth looked over from its points alone, with dense matrices."""
    looked_over = [one for one in thrown[1::50] if one.rests]
    assert len(looked_over) > 0.97 * COUNT / 50
    for one in looked_over:
        assert_at_rest(one)


def test_lines_among_solids_stay_out_of_them(thrown: list[Thrown]) -> None:
    """No deeper than 0.1 mm, by distances of another code, or as deep as a place gives way.

    A place gives way by 1 mm in 500 N; only a line squeezed between a ring and a solid comes to
    that, and they are few.
    """
    among = [one for one in thrown if one.touches is not None and one.rests]
    assert len(among) > 0.23 * COUNT
    touching = 0
    squeezed = []
    for one in among:
        assert one.lying is not None
        assert one.touches is not None
        hardest = float(np.linalg.norm(one.touches.force, axis=1).max(initial=0.0))
        inside = depth(one.line, one.lying.points)
        assert inside < max(0.1, 1.5 * hardest / 500), f"seed {one.line.seed}: {inside} mm"
        touching += hardest > 0
        if inside > 0.1:
            squeezed.append(one.line.seed)
    assert touching > 0.3 * len(among)  # else this would show nothing
    assert len(squeezed) <= 0.02 * len(among), squeezed


def test_the_look_over_sees_what_is_wrong() -> None:
    """A bent and a swollen shape and a column about to buckle do not pass it."""
    one = next(throw(random_line(seed)) for seed in range(100) if _guided(seed))
    assert one.lying is not None
    points = one.lying.points.copy()
    points[10] += 0.05
    bent = rest(replace(one.lying, points=points), one.span, second_variation=False)
    assert bent.unbalanced > 0.01 * bent.scale
    swollen = rest(replace(one.lying, points=1.01 * one.lying.points), one.span, False)
    assert swollen.off_end > 0.1
    assert swollen.stretch > 0.009
    # its lower half carries far more of its own weight than it can
    column = Span((0, 0, 0), (0, 0, 1), (0, 0, 300), (0, 0, 1), 300, 5e3, 0.3)
    points = np.linspace(column.start, column.end, column.nodes)
    upright = rest(replace(settle(column), points=points, length=300.0), column)
    assert upright.unbalanced < 1e-9 * upright.scale
    assert upright.softest < -1e-4


def _guided(seed: int) -> bool:
    return len(random_line(seed).span.guides) > 0


@pytest.mark.parametrize("case", _HARD, ids=lambda case: case["name"])
def test_hard_layouts_settle_or_say_so(case: dict) -> None:
    names = ("start", "start_direction", "end", "end_direction", "bending_stiffness", "weight")
    span = Span(
        **{name: case[name] for name in names},
        length=1000.0,
        guides=np.reshape(case["guides"], (-1, 3)),
        axial_stiffness=case["axial_stiffness"],
        nodes=case["nodes"],
    )
    one = throw(RandomLine(0, span, case["share"]))
    if one.rests:
        assert_at_rest(one)
        assert one.lying is not None
        assert np.all(np.diff([0.0, *one.lying.guides_at, one.lying.length]) > 0)
    for shape in (one.drawn, one.lying):
        if shape is not None and shape.converged:
            assert_numbers(shape, case["name"])


def angles() -> st.SearchStrategy[float]:
    return st.floats(-np.pi, np.pi)


@st.composite
def lines(draw: st.DrawFn) -> RandomLine:
    """Lines drawn number by number, so that straight, flat and equal ones come up, and shrink."""
    chord = draw(st.floats(*CHORD))
    end = chord * np.array([1.0, 0.0, 0.0])
    heading, height = draw(angles()), draw(st.floats(-1.4, 1.4))
    turn, lift = draw(angles()), draw(st.floats(-1.4, 1.4))
    count = draw(st.integers(0, 2))
    sides = st.floats(-0.15, 0.15)
    rings = [
        chord * np.array([(k + 1) / (count + 1), draw(sides), draw(sides)]) for k in range(count)
    ]
    tilt = draw(angles())  # of the whole line against the vertical
    c, s = np.cos(tilt), np.sin(tilt)
    upright = np.array([[c, 0, -s], [0, 1, 0], [s, 0, c]])
    span = Span(
        (0, 0, 0),
        upright @ pointing(heading, height),
        upright @ end,
        upright @ pointing(turn, lift),
        1000.0,
        draw(st.floats(*STIFFNESS)),
        draw(st.floats(0, WEIGHT)),
        np.reshape([upright @ ring for ring in rings], (-1, 3)),
        draw(st.none() | st.floats(*AXIAL)),
        nodes=31,
    )
    return RandomLine(0, span, draw(st.floats(*SHARE)))


def pointing(heading: float, height: float) -> np.ndarray:
    c = np.cos(height)
    return unit([c * np.cos(heading), c * np.sin(heading), np.sin(height)])


@settings(
    max_examples=150,
    deadline=None,
    derandomize=True,
    phases=(Phase.explicit, Phase.generate, Phase.shrink),
)
@given(lines())
def test_what_is_called_converged_is_at_rest(line: RandomLine) -> None:
    one = throw(line)
    for shape in (one.drawn, one.lying):
        if shape is not None and shape.converged:
            assert_numbers(shape, line)
    if one.rests:
        assert_at_rest(one)


def assert_numbers(shape: Shape, what: object) -> None:
    for array in (shape.points, shape.tensions, shape.guides_at):
        assert np.isfinite(array).all(), what
    assert not np.isnan(shape.radii).any(), what
    assert np.isfinite([shape.length, shape.energy, shape.residual]).all(), what
    assert shape.length > 0, what


def assert_at_rest(one: Thrown) -> None:
    assert one.lying is not None
    found = rest(one.lying, one.span)
    what = f"seed {one.line.seed}: {found}"
    assert found.unbalanced < 1e-4 * found.scale, what
    assert found.softest > -1e-6, what
    assert found.misfit < 1e-3, what
    assert found.off_end < 1e-9, what
    assert found.in_order, what
