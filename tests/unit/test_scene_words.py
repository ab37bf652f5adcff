"""What is written beside the lines, and where it is put."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barfit.analysis import LineFinding, LineSweep, Verdict
from barfit.analysis.sweep import Pressing
from barfit.analysis.touching import Pinch, Touch
from barfit.model import Body
from barfit.scene.callouts import away, spread
from barfit.scene.camera import VIEW_ANGLE_DEG, VIEWS, fitted
from barfit.scene.marks import contacts, elsewhere, mark, turn_words
from barfit.scene.track import LinePose

ARC = np.linspace(0.0, 100.0, 11)
NAN = math.nan


def pose(slack: float = 40.0, radius: float = 200.0, known: bool = True) -> LinePose:
    """A straight line along x whose second stretch has least to spare, bent most at x = 30."""
    points = np.column_stack((ARC, np.zeros(11), np.zeros(11)))
    curvature = np.full(11, 1e-6)
    curvature[3] = 1.0 / radius
    return LinePose(
        points=points,
        normals=np.tile([0.0, 1.0, 0.0], (11, 1)),
        binormals=np.tile([0.0, 0.0, 1.0], (11, 1)),
        known=known,
        slack=slack if known else NAN,
        tension=1.0,
        segment_slack=np.array([50.0, slack, 60.0]),
        stations_at=np.array([0.0, 40.0, 80.0, 100.0]),
        curvature=curvature,
    )


def finding(verdict: Verdict, **numbers: float) -> LineFinding:
    """A finding of a line that should keep 15 mm and not be bent below 80 mm."""
    given_numbers: dict[str, float] = {
        "installed": 100.0,
        "slack": -31.0,
        "worst_turn": math.radians(36.0),
        "worst_travel": 0.0,
        "excess": 40.0,
        "taut_length": 90.0,
        "bend_length": 0.0,
        "needed": 105.0,
        "margin": -5.0,
        "least": 15.0,
        "target": 25.0,
        "max_excess": 70.0,
        "min_radius": 60.0,
        "radius_turn": math.radians(-20.0),
        "allowed_radius": 80.0,
    } | numbers
    return LineFinding("hose", verdict, **given_numbers)


def words(p: LinePose, f: LineFinding | None, unit: str = "mm") -> str | None:
    made = mark("hose", p, ARC, f, unit)
    return None if made is None else made.words


def test_a_line_that_is_well_has_no_mark():
    assert words(pose(), finding(Verdict.REACHES)) is None
    assert words(pose(), None) is None


def test_a_short_line_says_by_how_much_in_the_middle_of_the_stretch_that_lacks_most():
    made = mark("hose", pose(slack=-31.0), ARC, finding(Verdict.SHORT), "mm")
    assert made is not None
    assert made.words == "slack −31 mm"
    assert made.point.tolist() == [60.0, 0.0, 0.0]
    assert words(pose(slack=-25.4), None, "in") == "slack −1 in"


def test_what_would_be_rounded_to_nothing_is_given_more_closely():
    assert words(pose(slack=-0.3), None) == "slack −0.3 mm"
    assert words(pose(slack=-0.5), None, "in") == "slack −0.02 in"
    assert words(pose(slack=0.3), finding(Verdict.MARGINAL)) == "slack only 0.3 mm"


def test_a_short_line_is_not_marked_in_a_pose_where_it_reaches():
    assert words(pose(slack=40.0), finding(Verdict.SHORT)) is None


def test_a_tight_bend_is_marked_where_it_is_with_what_is_allowed():
    made = mark("hose", pose(radius=60.0), ARC, finding(Verdict.BEND_TOO_TIGHT), "mm")
    assert made is not None
    assert made.words == "bend 60 mm, least 80 mm"
    assert made.point.tolist() == [30.0, 0.0, 0.0]
    assert words(pose(radius=90.0), finding(Verdict.BEND_TOO_TIGHT)) is None


def test_little_to_spare_and_too_much_are_said():
    assert words(pose(slack=9.0), finding(Verdict.MARGINAL)) == "slack only 9 mm"
    assert words(pose(slack=90.0), finding(Verdict.TOO_LONG)) == "slack 90 mm"
    assert words(pose(slack=60.0), finding(Verdict.TOO_LONG)) is None


def test_a_pose_that_is_not_known_says_so_whatever_its_numbers_are():
    for slack in (-50.0, 50.0):
        assert words(pose(slack=slack, known=False), finding(Verdict.NOT_KNOWN)) == "not known"


def test_a_selected_line_says_where_it_is_in_trouble():
    said = {v: elsewhere("hose", pose(), ARC, finding(v), "mm").words for v in Verdict}
    assert said[Verdict.SHORT] == "slack −31 mm at 36° left"
    assert said[Verdict.BEND_TOO_TIGHT] == "bend 60 mm at 20° right"
    assert said[Verdict.NOT_KNOWN] == "not known"


def test_a_selected_line_says_how_far_in_the_fork_is_where_it_is_in_trouble():
    hanging = replace(finding(Verdict.SHORT), worst_travel=-45.0)
    made = elsewhere("hose", pose(), ARC, hanging, "mm")
    assert made.words == "slack −31 mm at 36° left, fork extended"


ANGLES = np.radians([-30.0, 0.0, 30.0])


def pressed(part: str, at: float, turn: int) -> Pressing:
    """A part that presses on the line at one angle of the table only, ``at`` mm along it."""
    force, along = np.zeros((1, 3, 3)), np.full((1, 3), NAN)
    force[0, turn, 2], along[0, turn] = 5.0, at
    return Pressing(part, Body.FRAME, force, along, np.full((1, 3, 3), NAN))


def table(*pressing: Pressing) -> LineSweep:
    """A line whose shapes nobody asks for."""
    ones = np.ones((1, 3))
    return LineSweep(
        name="hose",
        travels=np.zeros(1),
        taut=ones,
        slack=ones,
        min_radius=ones,
        tension=ones,
        converged=ones.astype(bool),
        same_way_back=ones.astype(bool),
        shapes=np.zeros((1, 3, 11, 3)),
        arc=ARC,
        stations_at=np.zeros((1, 3, 4)),
        segment_slack=np.zeros((1, 3, 3)),
        radii=np.ones((1, 3, 11)),
        pressing=pressing,
    )


def touch(part: str, sliding: float) -> Touch:
    return Touch(part, Body.FRAME, (), 5.0, ANGLES[2], 0.0, 35.0, "lever", (0, 0, 0), sliding)


def test_what_a_line_touches_is_marked_where_it_does_in_that_pose_only():
    swept = table(pressed("tank", 35.0, 2), pressed("'tie' of the clutch cable", 50.0, 2))
    found = replace(finding(Verdict.RUBS), touches=(touch("tank", 40.0),))
    made = contacts("hose", pose(), swept, found, (0, 2), ANGLES)
    assert [mark.words for mark in made] == ["rubs on tank", "touches tie"]
    assert [mark.point.tolist() for mark in made] == [[35.0, 0.0, 0.0], [50.0, 0.0, 0.0]]
    assert not any(mark.named for mark in made)
    assert contacts("hose", pose(), swept, found, (0, 1), ANGLES) == []
    assert [m.words for m in contacts("hose", pose(), swept, None, (0, 2), ANGLES)] == [
        "touches tank",
        "touches tie",
    ]


def test_a_pinch_is_marked_near_its_pose_only():
    pinch = Pinch("clamp", "tank", 6.0, 8.0, math.radians(29.0), 0.0, 70.0, "lever", (0, 0, 0))
    found = replace(finding(Verdict.PINCHED), pinches=(pinch,))
    (made,) = contacts("hose", pose(), table(), found, (0, 2), ANGLES)
    assert made.words == "pinched"
    assert made.point.tolist() == [70.0, 0.0, 0.0]
    assert contacts("hose", pose(), table(), found, (0, 1), ANGLES) == []
    deep = replace(found, pinches=(replace(pinch, travel=60.0),))
    assert contacts("hose", pose(), table(), deep, (0, 2), ANGLES) == []


@pytest.mark.parametrize(
    ("degrees", "said"), [(24.2, "24° left"), (-33.0, "33° right"), (0.3, "straight ahead")]
)
def test_turns_in_words(degrees: float, said: str):
    assert turn_words(math.radians(degrees)) == said


@given(st.lists(st.floats(0.0, 800.0), max_size=12))
def test_words_keep_apart_and_stay_in_order(heights: list[float]):
    wanted = np.array(sorted(heights, reverse=True))
    placed = spread(wanted, 40.0, 20.0, 780.0)
    assert np.all(placed[:-1] - placed[1:] > 40.0 - 1e-6)
    assert np.all(placed < 780.0 + 1e-6)
    assert np.all(placed > 20.0 - 1e-6)


def test_words_that_have_no_room_beside_stand_where_there_is_more_above_or_below():
    whole = (20.0, 480.0)
    assert away(whole, (200.0, 400.0), 30.0, 0.0) == (20.0, 170.0)
    assert away(whole, (100.0, 300.0), 30.0, 0.0) == (330.0, 480.0)
    assert away(whole, (60.0, 300.0), 30.0, 140.0) == (330.0, 480.0)
    # for as many as that there is no room on either side
    assert away(whole, (60.0, 300.0), 30.0, 160.0) == whole


def test_words_with_room_stand_where_they_want_and_others_move_as_little_as_they_must():
    assert spread(np.array([700.0, 400.0, 100.0]), 40.0, 0.0, 800.0).tolist() == [700, 400, 100]
    assert spread(np.array([410.0, 400.0]), 40.0, 0.0, 800.0).tolist() == [425.0, 385.0]


@pytest.mark.parametrize("view", VIEWS.values(), ids=VIEWS)
@pytest.mark.parametrize("aspect", [0.8, 1.6, 2.4])
def test_a_view_just_holds_everything(view, aspect: float):
    points = np.random.default_rng(4).uniform([-900, -420, -900], [700, 420, 500], (300, 3))
    margins = (0.1, 0.05, 0.2, 0.02)
    eye, up = np.array(view.eye), np.array(view.up)
    position, focal = fitted(points, eye, up, aspect, margins)
    back = (position - focal) / np.linalg.norm(position - focal)
    assert np.allclose(back, eye / np.linalg.norm(eye))
    right = np.cross(up, back)
    right /= np.linalg.norm(right)
    seen = (points - position) @ np.column_stack((right, np.cross(back, right), -back))
    tangent = math.tan(math.radians(VIEW_ANGLE_DEG) / 2.0)
    # from 0 to 1 across the picture, left to right and bottom to top
    flat = 0.5 + 0.5 * seen[:, :2] / seen[:, 2:] / np.array([tangent * aspect, tangent])
    low, high = flat.min(axis=0), flat.max(axis=0)
    room = np.array([low[0] - 0.1, 0.95 - high[0], low[1] - 0.2, 0.98 - high[1]])
    assert room.min() > -1e-9
    assert room.min() < 1e-9
