"""What counts as touching, rubbing and pinched, on lines laid by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from barfit import scenario
from barfit.analysis import Verdict, sweep
from barfit.analysis.obstacles import BAR, obstacles
from barfit.analysis.sweep import LineSweep, Pressing, Sweep
from barfit.analysis.touching import RUB, Touch, pinches, touches
from barfit.geometry.frames import steering_axis
from barfit.geometry.meshes import DistanceGrid
from barfit.geometry.parts import shape_distance
from barfit.mechanics.solid_kernels import distance
from barfit.model import Body, Capsule, Machine, Role, Setup, Solid
from barfit.report.phrases import turn_words
from barfit.report.sentences import sentence
from barfit.report.touching import pinch_sentence, rub_sentence


@pytest.fixture(scope="module")
def setup() -> Setup:
    (path,) = (path for path in scenario.bundled() if path.name == "naked-standard.toml")
    return scenario.load(path)


@pytest.fixture(scope="module")
def swept(setup: Setup) -> Sweep:
    only = replace(setup, lines=setup.lines[:1])
    return sweep(only, stock=True, step=math.radians(3.0), contact=True)


def laid(swept: Sweep, shapes: np.ndarray, *pressing: Pressing) -> LineSweep:
    """The first line of a sweep, laid as ``shapes`` (1, A, M, 3) say and pressing as told."""
    line = swept.lines[0]
    return replace(
        line,
        shapes=shapes,
        pressing=pressing,
        converged=np.ones_like(line.converged),
    )


def pressing(
    swept: Sweep, body: Body, at: float, force: tuple[float, ...], on: np.ndarray | None = None
) -> Pressing:
    turns = len(swept.angles)
    on = np.ones(turns, bool) if on is None else on
    return Pressing(
        part="bracket",
        body=body,
        force=np.where(on[:, None], np.array(force), 0.0)[None],
        at=np.where(on, at, np.nan)[None],
        point=np.where(on[:, None], [1.0, 2.0, 3.0], np.nan)[None],
    )


def straight(swept: Sweep, start: np.ndarray, step: tuple[float, ...]) -> np.ndarray:
    """A line along y that moves by ``step`` from pose to pose."""
    line = swept.lines[0]
    along = start + np.outer(line.arc, [0.0, 1.0, 0.0])
    moves = np.outer(np.arange(len(swept.angles)), step)
    return (along[None] + moves[:, None])[None]


def test_sliding_along_a_standing_part_is_how_far_the_line_moves(swept: Sweep) -> None:
    shapes = straight(swept, np.zeros(3), (0.4, 0.3, 0.2))
    (touch,) = touches(swept, laid(swept, shapes, pressing(swept, Body.FRAME, 200.0, (0, 0, 5.0))))
    # the part presses along z, and moving to and from it is no sliding
    assert touch.sliding == pytest.approx(0.5 * (len(swept.angles) - 1))
    assert touch.force == pytest.approx(5.0)
    assert touch.at == 200.0
    assert touch.rubs is (touch.sliding >= RUB)


def test_a_line_that_stands_still_slides_on_a_part_that_turns(swept: Sweep) -> None:
    shapes = straight(swept, np.zeros(3), (0.0, 0.0, 0.0))
    line = laid(swept, shapes, pressing(swept, Body.STEERING, 200.0, (0, 3.0, 0)))
    (touch,) = touches(swept, line)
    axis = steering_axis(swept.setup.machine.rake)
    point = np.array([np.interp(200.0, line.arc, line.shapes[0, 0][:, k]) for k in range(3)])
    off_axis = np.linalg.norm(point - axis * (axis @ point))
    # what the part presses with turns along with it in this made-up case only in the mean
    assert touch.sliding == pytest.approx(off_axis * np.ptp(swept.angles), rel=0.15)


def test_touches_come_and_go_with_the_turn(swept: Sweep) -> None:
    on = np.zeros(len(swept.angles), bool)
    on[2:5] = on[8:9] = True
    shapes = straight(swept, np.zeros(3), (0.0, 0.0, 0.0))
    line = laid(swept, shapes, pressing(swept, Body.FRAME, 200.0, (0, 0, 5.0), on))
    (touch,) = touches(swept, line)
    a = swept.angles
    assert touch.turns == ((a[2], a[4]), (a[8], a[8]))


def squeezed(setup: Setup, gap: float) -> Setup:
    """Two bars along y, one on the frame and one on the steering, ``gap`` mm apart ahead."""
    still = Capsule((-300.0, -400.0, 500.0), (-300.0, 400.0, 500.0), 10.0)
    turning = Capsule((-300.0, -400.0, 520.0 + gap), (-300.0, 400.0, 520.0 + gap), 10.0)
    solids = (
        Solid("rail", Role.FRAME_TUBE, Body.FRAME, still),
        Solid("rod", Role.OTHER, Body.STEERING, turning),
    )
    return replace(setup, machine=replace(setup.machine, solids=solids))


def between(setup: Setup, swept: Sweep, gap: float) -> tuple[Sweep, LineSweep]:
    """A line that lies in the middle of that gap, straight across the bars."""
    made = squeezed(swept.setup, gap)
    around = obstacles(made, stock=True)
    line = swept.lines[0]
    spans = tuple(replace(s, case=replace(s.case, around=around)) for s in line.spans)
    along = np.array([-300.0 - 0.5 * line.arc[-1], 0.0, 510.0 + 0.5 * gap]) + np.outer(
        line.arc, [1.0, 0.0, 0.0]
    )
    shapes = np.broadcast_to(along, (1, len(swept.angles), *along.shape)).copy()
    return replace(swept, setup=made), replace(laid(swept, shapes), spans=spans)


def test_a_gap_narrower_than_the_line_and_two_is_a_pinch(setup: Setup, swept: Sweep) -> None:
    room = setup.lines[0].diameter + 2.0
    over, line = between(setup, swept, room - 0.5)
    (pinch,) = pinches(over, line)
    assert (pinch.steered, pinch.standing) == ("rod", "rail")
    assert pinch.room == pytest.approx(room)
    # the line's points are a few mm apart, and straight ahead is where the bars are in line
    assert room - 0.6 < pinch.gap < room
    assert pinch.at == pytest.approx(0.5 * line.arc[-1], abs=20.0)


def test_a_wide_gap_is_none(setup: Setup, swept: Sweep) -> None:
    over, line = between(setup, swept, setup.lines[0].diameter + 40.0)
    assert pinches(over, line) == ()


def test_nothing_is_felt_without_contact(setup: Setup) -> None:
    only = replace(setup, lines=setup.lines[:1])
    free = sweep(only, stock=True, step=math.radians(8.0), contact=False)
    assert touches(free, free.lines[0]) == ()
    assert pinches(free, free.lines[0]) == ()


# --- the table of obstacles ----------------------------------------------------------------------


def test_obstacles_are_where_the_machine_has_them(setup: Setup) -> None:
    """Every solid's compiled distance against the plain one at random points."""
    around = obstacles(setup, stock=True)
    points = np.random.default_rng(5).uniform(-600, 500, (60, 3))
    for number, solid in enumerate(setup.machine.solids):
        (row,) = np.flatnonzero(around.part == number)
        assert around.names[number] == solid.name
        assert around.bodies[number] is solid.body
        mine = [distance(around.solids, row, *point, np.empty(3)) for point in points]
        np.testing.assert_allclose(mine, shape_distance(solid.shape, points), atol=1e-8)


def test_the_bar_is_its_centreline_less_its_tube(setup: Setup) -> None:
    from barfit.geometry.pose import bar_shape

    around = obstacles(setup, stock=True)
    shape = bar_shape(setup.machine, setup.stock)
    rows = np.flatnonzero(around.part == around.names.index(BAR))
    points = np.random.default_rng(6).uniform(-300, 300, (40, 3))
    mine = [
        min(distance(around.solids, row, *point, np.empty(3)) for row in rows) for point in points
    ]
    centre = np.concatenate((shape.left, shape.right))
    steps = np.linspace(0, 1, 50)[:, None, None]
    fine = np.concatenate(
        [
            (side[None, :-1] + steps * np.diff(side, axis=0)[None]).reshape(-1, 3)
            for side in (shape.left, shape.right)
        ]
    )
    away = np.array([np.linalg.norm(fine - point, axis=1).min() for point in points])
    np.testing.assert_allclose(mine, away - 0.5 * shape.tube_diameter, atol=0.15)
    assert len(centre) > 20


def test_a_line_does_not_feel_the_clips_that_hold_it(setup: Setup) -> None:
    around = obstacles(setup, stock=True)
    for line in setup.lines:
        blind = around.blind(line.name)
        mine = [
            k for k, number in enumerate(around.part) if around.names[number].endswith(line.name)
        ]
        assert blind[mine].all()
        assert not blind[: len(setup.machine.solids)].any()


# --- words ---------------------------------------------------------------------------------------


def touch(**changes: object) -> Touch:
    plain = Touch(
        part="head tube",
        body=Body.FRAME,
        turns=((-0.3, 0.2),),
        force=4.2,
        worst_turn=math.radians(20),
        worst_travel=0.0,
        at=310.0,
        after="ring",
        point=(0.0, 0.0, 0.0),
        sliding=34.0,
    )
    return replace(plain, **changes)


def test_words_for_rubbing(setup: Setup, swept: Sweep) -> None:
    from barfit.analysis import findings

    line = setup.lines[0]
    (found,) = findings(swept)
    rubbing = replace(found, verdict=Verdict.RUBS, touches=(touch(), touch(sliding=3.0)))
    said = sentence(rubbing, line, "mm", setup.machine)
    assert said == (
        f"{line.name[0].upper()}{line.name[1:]} rubs on the head tube (slides 34 mm, pressed with "
        "up to 4 N at 20° left)."
    )
    assert rub_sentence(replace(found, touches=()), line, "mm") == ""
    assert pinch_sentence(replace(found, pinches=()), line, "mm") == ""


def test_words_for_a_pinch(setup: Setup, swept: Sweep) -> None:
    from barfit.analysis import findings

    over, laid_line = between(setup, swept, setup.lines[0].diameter + 1.0)
    (found,) = findings(swept)
    pinched = replace(found, verdict=Verdict.PINCHED, pinches=pinches(over, laid_line))
    said = sentence(pinched, setup.lines[0], "mm", setup.machine)
    turn = turn_words(pinched.pinches[0].turn)
    assert f" is pinched at {turn} between the rod and the rail, after '" in said
    assert said.endswith("': they leave 7 mm where it needs 8 mm.")


def test_a_grid_of_distances_is_a_solid_like_any_other(setup: Setup) -> None:
    """A ball, sampled, in the table of obstacles' own form."""
    from barfit.mechanics.solid_kernels import GRID, SIZES, Solids

    axis = np.arange(-80.0, 81.0, 4.0)
    ball = np.linalg.norm(np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), -1), axis=-1) - 30
    grid = DistanceGrid(np.full(3, -80.0), 4.0, ball)
    size = np.zeros((1, SIZES))
    size[0, :8] = [*grid.origin, grid.spacing, *ball.shape, 5]
    samples = np.concatenate((np.full(5, np.nan), ball.ravel()))
    solids = Solids(np.array([GRID]), np.zeros(1, np.int64), size, samples)
    points = np.random.default_rng(2).uniform(-45, 45, (100, 3))
    points = points[np.linalg.norm(points, axis=1) > 15]
    mine = [distance(solids, 0, *point, np.empty(3)) for point in points]
    np.testing.assert_allclose(mine, np.linalg.norm(points, axis=1) - 30, atol=0.05)


def test_a_machine_without_solids_still_has_its_bar(setup: Setup) -> None:
    bare: Machine = replace(setup.machine, solids=())
    around = obstacles(replace(setup, machine=bare), stock=True)
    assert around.names[0] == BAR
