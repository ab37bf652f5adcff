"""Looking up a pose in a finished sweep, on a made-up line whose every shape is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from barfit.analysis import LineSweep
from barfit.geometry.frames import rotation, steering_axis
from barfit.scene.colours import Colour
from barfit.scene.lines import dashed, spare, values
from barfit.scene.track import Track, segment_of

ANGLES = np.radians(np.arange(-30.0, 31.0))
TRAVELS = np.array([-40.0, 0.0, 80.0])
ARC = np.linspace(0.0, 600.0, 31)
AXIS = steering_axis(np.radians(27.0))
ON_BAR = np.array([-250.0, 380.0, 150.0])  # 480 mm from the steering axis
ON_FRAME = np.array([-150.0, 40.0, -300.0])


def bar_end(turn: float, travel: float) -> np.ndarray:
    return rotation(AXIS, turn) @ ON_BAR + travel * AXIS


def made() -> LineSweep:
    """A bowed line from a point that turns and slides to one that stays."""
    part = (ARC / ARC[-1])[:, None]
    bow = 60.0 * np.sin(np.pi * part) * np.array([0.3, 0.5, -0.8])
    shapes = np.array(
        [[(1 - part) * bar_end(a, t) + part * ON_FRAME + bow for a in ANGLES] for t in TRAVELS]
    )
    front = shapes.shape[:2]
    slack = TRAVELS[:, None] - 100.0 * ANGLES
    radii = np.full((*front, len(ARC)), 200.0)
    radii[..., 0] = np.inf
    return LineSweep(
        name="line",
        travels=TRAVELS,
        taut=600.0 - slack,
        slack=slack,
        min_radius=np.full(front, 200.0),
        tension=np.full(front, 3.0),
        converged=np.ones(front, dtype=bool),
        same_way_back=np.ones(front, dtype=bool),
        shapes=shapes,
        arc=ARC,
        stations_at=np.broadcast_to([0.0, 250.0, 600.0], (*front, 3)),
        segment_slack=np.stack((slack - 10.0, np.full(front, 10.0)), axis=-1),
        radii=radii,
    )


@pytest.fixture
def line() -> LineSweep:
    return made()


def test_a_pose_of_the_table_is_given_exactly(line: LineSweep):
    pose = Track(line, ANGLES).at(ANGLES[12], TRAVELS[2])
    assert pose is not None
    assert np.allclose(pose.points, line.shapes[2, 12], atol=1e-9)
    assert pose.slack == pytest.approx(line.slack[2, 12])
    assert pose.known


def test_between_angles_the_line_stays_on_the_bar(line: LineSweep):
    track = Track(line, ANGLES)
    for turn in np.radians([-29.5, -12.34, 0.5, 17.77]):
        for travel in (-40.0, -13.0, 0.0, 55.0):
            pose = track.at(turn, travel)
            assert pose is not None
            assert np.linalg.norm(pose.points[0] - bar_end(turn, travel)) < 0.02
            assert np.linalg.norm(pose.points[-1] - ON_FRAME) < 1e-9
            assert pose.slack == pytest.approx(travel - 100.0 * turn)


def test_the_frames_are_square_to_the_line_at_and_between_poses(line: LineSweep):
    pose = Track(line, ANGLES).at(np.radians(7.5), 20.0)
    assert pose is not None
    way = np.diff(pose.points, axis=0)
    way /= np.linalg.norm(way, axis=1)[:, None]
    for frame in (pose.normals, pose.binormals):
        assert np.allclose(np.linalg.norm(frame, axis=1), 1.0, atol=2e-3)
        assert np.abs(np.sum(frame[:-1] * way, axis=1)).max() < 0.06
    assert np.abs(np.sum(pose.normals * pose.binormals, axis=1)).max() < 2e-3


def test_outside_the_table_there_is_no_pose(line: LineSweep):
    track = Track(line, ANGLES)
    assert track.at(np.radians(30.5), 0.0) is None
    assert track.at(np.radians(-31.0), 0.0) is None
    assert track.at(0.0, 81.0) is None
    assert track.at(ANGLES[-1] + 1e-9, 80.0) is not None


def test_a_line_without_travel_is_the_same_at_any_travel(line: LineSweep):
    one = replace(
        line,
        **{
            name: getattr(line, name)[1:2]
            for name in vars(line)
            if name not in ("name", "arc", "spans")
        },
    )
    track = Track(one, ANGLES)
    first, second = track.at(0.1, -40.0), track.at(0.1, 500.0)
    assert first is not None
    assert second is not None
    assert np.array_equal(first.points, second.points)


def test_a_pose_is_not_known_where_either_neighbour_is_not(line: LineSweep):
    converged = line.converged.copy()
    converged[1, 20] = False
    slack = line.slack.copy()
    slack[1, 20] = np.nan
    track = Track(replace(line, converged=converged, slack=slack), ANGLES)
    for turn, known in ((ANGLES[20], False), (ANGLES[20] - 0.002, False), (ANGLES[21], True)):
        pose = track.at(float(turn), 0.0)
        assert pose is not None
        assert pose.known is known
        assert np.isnan(pose.slack) == (not known)


def test_a_shape_that_is_not_there_is_not_drawn(line: LineSweep):
    shapes = line.shapes.copy()
    shapes[1, 20, 3] = np.nan
    track = Track(replace(line, shapes=shapes), ANGLES)
    assert track.at(float(ANGLES[20]), 0.0) is None
    assert track.at(float(ANGLES[20]) + 0.002, 0.0) is None
    assert track.at(float(ANGLES[21]), 0.0) is not None


def test_a_straight_stretch_has_no_curvature_and_spoils_no_other(line: LineSweep):
    pose = Track(line, ANGLES).at(0.003, 5.0)
    assert pose is not None
    assert pose.curvature[0] == 0.0
    assert np.allclose(pose.curvature[1:], 1.0 / 200.0)


def test_a_sweep_of_one_angle_serves_that_angle_only(line: LineSweep):
    here = [30]
    names = [n for n in vars(line) if n not in ("name", "arc", "spans", "travels", "pressing")]
    one = replace(line, **{name: getattr(line, name)[:, here] for name in names})
    track = Track(one, ANGLES[here])
    assert track.at(0.0, 0.0) is not None
    assert track.at(0.01, 0.0) is None


def test_points_belong_to_the_stretch_they_lie_on():
    arc = np.array([0.0, 90.0, 110.0, 290.0, 310.0, 400.0])
    stations = np.array([0.0, 100.0, 300.0, 400.0])
    assert segment_of(arc, stations).tolist() == [0, 0, 1, 1, 2, 2]


def test_what_a_line_can_slide_to_counts_for_all_of_a_span():
    # fitting, guide, clip, fitting: the first two stretches share what they have
    assert spare(np.array([30.0, 0.0, 12.0]), [0, 2, 3]).tolist() == [30.0, 30.0, 12.0]
    # once they are short together, each shows what it lacks
    assert spare(np.array([-30.0, 0.0, 12.0]), [0, 2, 3]).tolist() == [-30.0, 0.0, 12.0]


def test_each_colour_says_what_it_stands_for(line: LineSweep):
    pose = Track(line, ANGLES).at(float(ANGLES[50]), 0.0)
    assert pose is not None
    slack = values(pose, Colour.SLACK, ARC, [0, 1, 2], 50.0)
    whole = -100.0 * ANGLES[50]
    assert np.allclose(slack[ARC < 250.0], whole - 10.0)
    assert np.allclose(slack[ARC > 250.0], 10.0)
    assert np.allclose(values(pose, Colour.BEND, ARC, [0, 1, 2], 50.0)[1:], 4.0)
    assert np.allclose(values(pose, Colour.PULL, ARC, [0, 1, 2], 50.0), 3.0)
    unknown = replace(pose, known=False)
    for mode in Colour:
        assert np.isnan(values(unknown, mode, ARC, [0, 1, 2], 50.0)).all()


def test_dashes_close_flat_and_leave_gaps(line: LineSweep):
    pose = Track(line, ANGLES).at(0.0, 0.0)
    assert pose is not None
    drawn, there = dashed(pose)
    assert 0.4 < there.mean() < 0.8
    gone = np.flatnonzero(there == 0.0)
    for k in gone[:-1]:
        beside = [j for j in (k - 1, k + 1) if 0 <= j < len(ARC) and there[j] == 1.0]
        assert any(np.array_equal(drawn.points[k], pose.points[j]) for j in beside)
    assert np.array_equal(drawn.points[there == 1.0], pose.points[there == 1.0])
