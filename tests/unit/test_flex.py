"""How much a line's curvature changes, fixed to the line."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from barfit import scenario
from barfit.analysis import Sweep, sweep
from barfit.analysis.spans import batch, held, riding_frames
from barfit.trade.flex import line_flex, material_curvature, widest

RADIUS, NODES = 80.0, 61


def arc() -> np.ndarray:
    """A quarter circle (N, 3) in the plane of x and y, its first tangent along x."""
    angle = np.linspace(0.0, 0.5 * math.pi, NODES)
    return RADIUS * np.stack([np.sin(angle), 1.0 - np.cos(angle), np.zeros(NODES)], axis=-1)


def turned(rotations: Rotation, twists: np.ndarray, frames: np.ndarray | None = None) -> np.ndarray:
    """The range (N,) of the material curvature of the quarter circle so turned, so twisted."""
    matrices = rotations.as_matrix()
    nodes = arc() @ matrices.transpose(0, 2, 1)
    start, end, across = (matrices @ np.array(v) for v in ([1.0, 0, 0], [0, 1.0, 0], [0, 0, 1.0]))
    if frames is not None:
        across = frames
    return widest(material_curvature(nodes, start, end, across, twists))


def test_the_curvature_of_a_circle() -> None:
    found = material_curvature(
        arc()[None], *(np.array([v]) for v in ([1.0, 0, 0], [0, 1.0, 0], [0, 0, 1.0])), np.zeros(1)
    )[0]
    # polygon of a circle: 2 tan(a/2) over the chord is 1/R to second order
    assert np.linalg.norm(found, axis=-1) == pytest.approx(1.0 / RADIUS, rel=1e-3)
    assert found[:, 0] == pytest.approx(0.0, abs=1e-9)  # all of it across the binormal


def test_a_line_that_turns_as_a_whole_does_not_flex() -> None:
    rotations = Rotation.from_rotvec(np.linspace(-0.7, 0.7, 15)[:, None] * [-0.4, 0.0, 0.9])
    assert turned(rotations, np.zeros(15)) == pytest.approx(0.0, abs=1e-12)


def test_a_bend_that_goes_round_the_line_flexes_it_while_it_rests_in_space() -> None:
    # both ends turn about their own tangents by phi: curvature turns by it in the material,
    # so that its range is the chord 2 sin(phi/2) / R
    phi = np.linspace(-0.5, 0.5, 11)
    still = Rotation.identity(11)
    frames = np.stack([np.zeros(11), -np.sin(phi), np.cos(phi)], axis=-1)
    found = turned(still, np.zeros(11), frames)
    assert found == pytest.approx(2.0 * math.sin(0.5) / RADIUS, rel=1e-3)


def test_twist_counts_by_its_share() -> None:
    found = turned(Rotation.identity(2), np.array([0.0, 1.0]))
    share = np.linspace(0.0, 1.0, NODES)
    assert found == pytest.approx(2.0 * np.sin(0.5 * share) / RADIUS, rel=1e-3, abs=1e-12)


def test_a_line_that_bends_more_flexes_by_the_difference() -> None:
    nodes = np.stack([arc(), arc() * 2.0])
    frames = [np.tile(v, (2, 1)) for v in ([1.0, 0, 0], [0, 1.0, 0], [0, 0, 1.0])]
    found = widest(material_curvature(nodes, *frames, np.zeros(2)))
    assert found == pytest.approx(0.5 / RADIUS, rel=1e-3)


def test_a_mirror_image_flexes_alike() -> None:
    rotations = Rotation.from_rotvec(np.linspace(-0.7, 0.7, 9)[:, None] * [0.3, -0.2, 0.9])
    matrices, mirror = rotations.as_matrix(), np.array([1.0, -1.0, 1.0])
    nodes = arc() @ matrices.transpose(0, 2, 1)
    ends = [matrices @ np.array(v) for v in ([1.0, 0, 0], [0, 1.0, 0])]
    across = np.cross(ends[0], [0.1, 0.2, 1.0])
    across /= np.linalg.norm(across, axis=-1, keepdims=True)
    twists = np.linspace(-0.4, 0.9, 9)
    left = widest(material_curvature(nodes, *ends, across, twists))
    right = widest(
        material_curvature(
            nodes * mirror, *(end * mirror for end in ends), across * mirror, -twists
        )
    )
    assert left.max() > 1e-3
    assert right == pytest.approx(left, rel=1e-9, abs=1e-15)


def test_the_range_leaves_out_what_is_not_known() -> None:
    vectors = np.array([[[0.0, 0.0]], [[3.0, 4.0]], [[np.nan, 0.0]], [[0.0, 1.0]]])
    assert widest(vectors)[0] == pytest.approx(5.0)
    assert math.isnan(widest(vectors[1:3])[0])


@pytest.fixture(scope="module")
def naked() -> Sweep:
    path = next(path for path in scenario.bundled() if path.stem == "naked-standard")
    return sweep(scenario.load(path), stock=True, step=math.radians(4.0))


def test_it_is_the_same_seen_from_either_end(naked: Sweep) -> None:
    """The frame carried from the far end backwards, with that end's own riding frame, must agree:
    so it turns with the far fitting there, which the twist is to see to.
    """
    line = naked.line("left switch harness")
    (span,) = line.spans
    assert np.ptp(span.twist) > 1.0  # rad: there is much of it
    inside = (line.arc >= span.case.start_at - 1e-6) & (line.arc <= span.case.end_at + 1e-6)
    nodes = line.shapes[0][:, inside][:, ::-1]
    turns = naked.angles
    _, moving = batch([span.case], [held(naked.setup, span.case, turns, 0.0 * turns)])
    _, end = riding_frames(span.case, span.start_frame, span.end_frame, moving, 0)
    backwards = widest(
        material_curvature(
            nodes, -moving.end_direction[:, 0], -moving.start_direction[:, 0], end, span.twist[0]
        )
    )[::-1]
    forwards = line_flex(naked, line)
    at = line.arc[inside]
    known = np.flatnonzero(np.isin(forwards.arc, at))[1 if span.case.start_at > 0.0 else 0 :]
    assert forwards.change[known][:NODES] == pytest.approx(backwards[:NODES], rel=1e-5, abs=1e-7)


def test_a_harness_flexes_where_it_crosses_to_the_frame(naked: Sweep) -> None:
    flex = line_flex(naked, naked.line("left switch harness"))
    names = [station.name for station in naked.setup.line("left switch harness").stations]
    at = np.nanmean(naked.line("left switch harness").stations_at, axis=(0, 1))
    worst = flex.arc[int(np.argmax(flex.change))]
    assert at[names.index("tie on the bar, below")] < worst < at[-1]
    assert flex.change[0] == flex.change[-1] == 0.0  # rigid ends


def test_left_and_right_flex_alike(naked: Sweep) -> None:
    left, right = (
        line_flex(naked, naked.line(f"{side} switch harness")) for side in ("left", "right")
    )
    assert left.change == pytest.approx(right.change, rel=0.02, abs=1e-4)
