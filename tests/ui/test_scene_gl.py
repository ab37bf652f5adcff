"""The scene through OpenGL: what the actors show, not which pixels they become."""

from __future__ import annotations

import gc
import io
import math
import weakref
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import pyvista as pv
from PIL import Image

from barfit import analysis, scenario
from barfit.analysis import LineFinding, Sweep, Verdict
from barfit.analysis.moved import Mover, stretches
from barfit.geometry.bar import BarError
from barfit.geometry.frames import steering_axis
from barfit.geometry.pose import LayoutError, body_motion, layout
from barfit.model import Body, Hold, OutletPlace
from barfit.scene import VIEWS, Colour, Scene, picture
from barfit.scene.colours import BODY_COLOURS, SCALES, THEMES, rgb
from barfit.scene.pick import in_picture

pytestmark = pytest.mark.gl

STEP = math.radians(8.0)


def swept(stem: str, stock: bool) -> tuple[Sweep, tuple[LineFinding, ...]]:
    """As it is shown: with what slack found on the machine corrects."""
    path = next(path for path in scenario.bundled() if path.stem == stem)
    sweep = analysis.sweep(scenario.load(path), stock=stock, step=STEP)
    found = analysis.findings(sweep)
    return analysis.corrected(sweep, {one.line: one.sure.slack_by for one in found}), found


@pytest.fixture(scope="module")
def tall() -> tuple[Sweep, tuple[LineFinding, ...]]:
    return swept("tall-bar-cruiser", False)


@pytest.fixture(scope="module")
def stock() -> tuple[Sweep, tuple[LineFinding, ...]]:
    return swept("tall-bar-cruiser", True)


@pytest.fixture
def plotter() -> Iterator[pv.Plotter]:
    made = pv.Plotter(off_screen=True, window_size=[900, 600], lighting=None)
    yield made
    made.close()


@pytest.fixture
def scene(plotter, tall) -> Iterator[Scene]:
    made = Scene(plotter)
    made.smooth(False)
    made.show_setup(tall[0].setup, False)
    made.show_sweep(*tall)
    made.view("three-quarter")
    yield made
    made.close()


def drawn(scene: Scene) -> list[str]:
    return [n for n in scene.lines if scene.line_actor(n).GetVisibility()]


def image(plotter: pv.Plotter) -> np.ndarray:
    plotter.render()
    return np.asarray(plotter.screenshot(return_img=True)).astype(float)


def test_every_line_has_one_actor_that_outlives_every_change(scene: Scene, tall):
    names = [line.name for line in tall[0].setup.lines]
    assert list(scene.lines) == names
    before = {name: scene.line_actor(name) for name in names}
    meshes = {name: actor.mapper.dataset for name, actor in before.items()}
    for change in (
        lambda: scene.set_pose(0.3),
        lambda: scene.set_colour("bend"),
        lambda: scene.select(names[0]),
        lambda: scene.set_theme("dark"),
        lambda: scene.show_sweep(*tall),
    ):
        change()
        for name in names:
            assert scene.line_actor(name) is before[name]
            assert scene.line_actor(name).mapper.dataset is meshes[name]


def test_a_change_of_pose_repaints(scene: Scene, plotter):
    first = image(plotter)
    scene.set_pose(math.radians(30.0))
    turned = image(plotter)
    scene.set_pose(0.0)
    again = image(plotter)
    assert np.mean(np.any(np.abs(turned - first) > 20.0, axis=2)) > 0.02
    assert np.mean(np.any(np.abs(again - first) > 20.0, axis=2)) < 0.002


def test_lines_have_their_true_diameter_along_the_solved_shape(scene: Scene, tall):
    scene.set_pose(0.0)
    for line in tall[0].lines:
        centre = scene.line_points(line.name)
        at = int(np.flatnonzero(np.isclose(tall[0].angles, 0.0))[0])
        ride = int(np.argmin(np.abs(line.travels)))
        assert np.allclose(centre, line.shapes[ride, at])
        rings = scene.line_actor(line.name).mapper.dataset.points.reshape(len(centre), -1, 3)
        radius = np.linalg.norm(rings - centre[:, None], axis=2)
        assert np.allclose(radius, tall[0].setup.line(line.name).diameter / 2.0, atol=0.05)


def test_colours_match_the_slack_of_each_stretch_at_chosen_poses(scene: Scene, tall):
    sweep = tall[0]
    places = layout(sweep.setup, sweep.setup.new)
    for at in (0, len(sweep.angles) // 2, len(sweep.angles) - 1):
        scene.set_pose(float(sweep.angles[at]))
        for line in sweep.lines:
            ride = int(np.argmin(np.abs(line.travels)))
            assert line.converged[ride, at]
            shown = scene.line_values(line.name)
            stations = line.stations_at[ride, at]
            grips = [k for k, h in enumerate(places[line.name].holds) if h is not Hold.GUIDE]
            for first, last in pairwise(grips):
                mine = line.segment_slack[ride, at, first:last]
                inside = (line.arc > stations[first]) & (line.arc < stations[last])
                if mine.sum() >= 0.0:
                    assert np.allclose(shown[inside], mine.sum())
                else:
                    assert np.isclose(shown[inside].min(), mine.min())
            colours = scene.line_colours(line.name)
            expected = SCALES[Colour.SLACK].colours(shown, "#000000")
            assert np.allclose(colours, expected)
            in_mesh = scene.line_actor(line.name).mapper.dataset["colour"]
            assert np.allclose(in_mesh.reshape(len(shown), -1, 3)[:, 0], colours, atol=0.51)


def test_a_short_line_is_warm_and_its_mark_says_by_how_much(scene: Scene, tall):
    _, findings = tall
    worst = min(findings, key=lambda f: f.slack)
    assert worst.verdict is Verdict.SHORT
    scene.set_pose(worst.worst_turn, worst.worst_travel)
    reddest = scene.line_colours(worst.line)[np.argmin(scene.line_values(worst.line))]
    assert reddest[0] > reddest[2] + 90.0
    said = {mark.line: mark.words for mark in scene.marks}
    assert said[worst.line] == f"slack −{-worst.slack:.0f} mm"
    scene.set_unit("in")
    assert {mark.line: mark.words for mark in scene.marks}[worst.line].endswith(" in")


def test_between_the_angles_of_the_table_lines_stay_on_the_bars(scene: Scene, tall):
    setup = tall[0].setup
    coarse = analysis.sweep(setup, step=math.radians(20.0))
    places = layout(setup, setup.new)
    axis = steering_axis(setup.machine.rake)
    for sweep in (tall[0], coarse):
        scene.show_sweep(sweep)
        half = 0.5 * float(np.diff(sweep.angles).max())
        for turn in np.linspace(sweep.angles[0], sweep.angles[-1], 23):
            scene.set_pose(float(turn))
            turned, shift = body_motion(setup.machine, Body.STEERING, float(turn), 0.0)
            for line in setup.lines:
                if not isinstance(line.stations[0].place, OutletPlace):
                    continue
                start = places[line.name].points[0]
                # a chord leaves its circle by at most this; 0.02 mm at steps of one degree
                chord = np.linalg.norm(np.cross(axis, start)) * (1.0 - math.cos(half))
                gap = np.linalg.norm(scene.line_points(line.name)[0] - (turned @ start + shift))
                assert gap < chord + 1e-3


def test_bodies_move_by_matrix(scene: Scene, tall):
    machine = tall[0].setup.machine
    before = {a: a.mapper.dataset for a in scene.body_actors(Body.STEERING)}
    scene.set_pose(0.4, 30.0)
    for body in Body:
        turned, shift = body_motion(machine, body, 0.4, 30.0)
        for actor in scene.body_actors(body):
            assert np.allclose(actor.user_matrix[:3, :3], turned)
            assert np.allclose(actor.user_matrix[:3, 3], shift)
    assert {a: a.mapper.dataset for a in scene.body_actors(Body.STEERING)} == before


def test_old_lines_are_never_shown_with_new_bars(scene: Scene, tall, stock):
    assert drawn(scene)
    scene.show_setup(tall[0].setup, True)
    assert drawn(scene) == []
    assert scene.marks == ()
    assert scene.sweep is None
    with pytest.raises(ValueError, match="not of the setup"):
        scene.show_sweep(*tall)
    assert drawn(scene) == []
    scene.show_sweep(*stock)
    assert drawn(scene) == [line.name for line in stock[0].setup.lines]
    edited = replace(tall[0].setup, title="another")
    scene.show_setup(edited, False)
    assert drawn(scene) == []


def test_outside_the_sweep_lines_are_not_drawn(scene: Scene, tall):
    scene.set_pose(float(tall[0].angles[-1]) + 0.02)
    assert drawn(scene) == []
    assert scene.marks == ()
    scene.set_pose(float(tall[0].angles[-1]))
    assert len(drawn(scene)) == len(tall[0].lines)


def test_a_setup_that_cannot_be_laid_out_leaves_the_scene_as_it_was(scene: Scene, tall):
    setup = tall[0].setup
    far = replace(setup, controls=tuple(replace(c, inboard=5000.0) for c in setup.controls))
    steep = replace(setup, new=replace(setup.new, bar=replace(setup.new.bar, bend_radius=900.0)))
    for bad, error in ((far, LayoutError), (steep, (BarError, LayoutError))):
        with pytest.raises(error):
            scene.show_setup(bad, False)
        assert scene.setup == setup
        assert drawn(scene) == [line.name for line in setup.lines]


def test_a_pose_that_did_not_converge_is_dashed_grey_and_says_so(scene: Scene, tall):
    sweep, findings = tall
    first = sweep.lines[0]
    at = int(np.flatnonzero(np.isclose(sweep.angles, 0.0))[0])
    converged = first.converged.copy()
    converged[:, at] = False
    nothing = {
        name: np.where(converged[(...,) + (None,) * (value.ndim - 2)], value, np.nan)
        for name, value in (("slack", first.slack), ("segment_slack", first.segment_slack))
    }
    unknown = replace(first, converged=converged, **nothing)
    scene.show_sweep(replace(sweep, lines=(unknown, *sweep.lines[1:])), findings)
    scene.set_pose(0.0)
    assert np.isnan(scene.line_values(first.name)).all()
    assert np.ptp(scene.line_colours(first.name), axis=1).max() < 12.0
    rings = scene.line_actor(first.name).mapper.dataset.points.reshape(len(first.arc), -1, 3)
    closed = np.ptp(rings, axis=1).max(axis=1) < 1e-3
    assert 0.2 < closed.mean() < 0.6
    assert [m.words for m in scene.marks if m.line == first.name] == ["not known"]
    scene.set_pose(STEP)
    assert not np.isnan(scene.line_values(first.name)).any()


def test_selecting_brings_out_one_line_and_draws_the_others_back(scene: Scene, tall):
    one, other = tall[0].lines[0].name, tall[0].lines[1].name
    plain = {name: scene.line_colours(name).copy() for name in (one, other)}
    scene.select(one)
    assert np.array_equal(scene.line_colours(one), plain[one])
    shift = np.ptp(scene.line_colours(other), axis=1) < np.ptp(plain[other], axis=1)
    assert shift.mean() > 0.9
    assert {mark.line for mark in scene.marks} <= {one}
    scene.select(None)
    assert np.array_equal(scene.line_colours(other), plain[other])


def test_the_legend_follows_mode_and_unit(scene: Scene, plotter):
    assert scene.legend().title == "Slack, mm"
    scene.set_unit("in")
    scene.set_colour("pull")
    assert scene.legend().title == "Pull, N"
    with_it = image(plotter)
    scene.show_legend = False
    without = image(plotter)
    corner = np.s_[-130:, :340] if scene.legend_on_left else np.s_[-130:, -340:]
    assert np.abs(with_it[corner] - without[corner]).max() > 100.0


def test_the_ghost_shows_the_other_bars_and_their_lines(scene: Scene, plotter, stock):
    without = image(plotter)
    scene.set_ghost(stock[0])
    assert np.mean(np.any(np.abs(image(plotter) - without) > 8.0, axis=2)) > 0.002
    scene.set_ghost(None)
    assert np.mean(np.any(np.abs(image(plotter) - without) > 8.0, axis=2)) < 0.0005
    with pytest.raises(ValueError, match="not of the setup"):
        scene.set_ghost(replace(stock[0], setup=replace(stock[0].setup, title="another")))


def test_a_line_is_picked_where_it_is_in_the_picture(scene: Scene, plotter):
    plotter.render()
    hits = 0
    for name in scene.lines:
        middle = scene.line_points(name)[len(scene.line_points(name)) // 3]
        renderer = plotter.renderer
        renderer.SetWorldPoint(*middle, 1.0)
        renderer.WorldToDisplay()
        x, y, _ = renderer.GetDisplayPoint()
        assert scene.pick(x, y, reach=0.6) is not None
        hits += scene.pick(x, y) == name
    # others may cross it in the picture at that very place
    assert hits >= 0.6 * len(scene.lines)
    assert scene.pick(3.0, 590.0) is None


def test_every_view_shows_the_machine_inside_the_picture(scene: Scene, plotter):
    for name in VIEWS:
        scene.show_legend = False
        scene.view(name)
        scene.select("nobody")
        picture_now = image(plotter)
        background = picture_now[:, :1]
        other = np.any(np.abs(picture_now - background) > 60.0, axis=2)
        assert 0.03 < other.mean() < 0.8
        if not VIEWS[name].close:
            assert not other[:8].any()
            assert not other[:, :8].any()
            assert not other[:, -8:].any()


def test_seen_from_the_side_the_machine_stands_clear_of_the_legend(scene: Scene, plotter):
    plotter.window_size = [640, 540]
    image(plotter)
    scene.view("left")
    image(plotter)
    flat = in_picture(plotter.renderer, scene._outline())[0]
    assert flat[:, 1].min() > scene._legend_box.top
    assert flat[:, 0].min() < 0.07 * 640, "and is about as large as it can be"


def test_words_without_room_beside_the_machine_do_not_lie_over_what_they_speak_of(
    scene: Scene, plotter, tall
):
    plotter.window_size = [420, 900]
    scene.scale = 2.0
    image(plotter)
    short = next(one for one in tall[1] if one.verdict is Verdict.SHORT)
    scene.select(short.line)
    scene.set_pose(short.worst_turn, short.worst_travel)
    scene.view("left")
    image(plotter)
    spots = in_picture(plotter.renderer, np.array([mark.point for mark in scene.marks]))[0]
    boxes = scene._callouts.boxes
    assert len(boxes) == len(spots) >= 1
    for (x, y), left, low, right, high in ((spot, *box) for spot in spots for box in boxes):
        assert not (left < x < right and low < y < high)


def test_framing_a_line_comes_closer_and_keeps_the_direction(scene: Scene, plotter, tall):
    def direction() -> np.ndarray:
        way = np.array(plotter.camera.position) - np.array(plotter.camera.focal_point)
        return way / np.linalg.norm(way)

    before, far = direction(), plotter.camera.distance
    scene.frame(tall[0].lines[-1].name)
    assert np.allclose(direction(), before)
    assert plotter.camera.distance < 0.8 * far


def test_nothing_keeps_a_closed_scene_alive(tall):
    plotter = pv.Plotter(off_screen=True, window_size=[200, 150], lighting=None)
    scene = Scene(plotter)
    scene.show_setup(tall[0].setup, False)
    scene.show_sweep(*tall)
    plotter.render()
    scene.close()
    plotter.close()
    gone = weakref.ref(scene)
    del scene, plotter
    gc.collect()
    assert gone() is None


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_a_picture_is_a_png_of_its_size_and_not_blank(tall, stock, theme: str):
    data = picture(*tall, math.radians(25.0), size=(640, 400), theme=theme, stock_ghost=stock[0])
    shown = Image.open(io.BytesIO(data))
    assert shown.format == "PNG"
    assert shown.size == (640, 400)
    pixels = np.asarray(shown.convert("RGB")).astype(float)
    red = (pixels[..., 0] > pixels[..., 2] + 80.0) & (pixels[..., 0] > 120.0)
    assert red.mean() > 0.002  # the short lines and their marks
    assert (pixels.mean() > 128.0) == (theme == "light")


def test_a_picture_of_a_view_or_colour_that_is_not_there_is_refused(tall):
    with pytest.raises(KeyError):
        picture(*tall, view="from below")
    with pytest.raises(ValueError, match="rainbow"):
        picture(*tall, colour="rainbow")


def test_every_part_is_painted_by_the_body_it_rides_on_and_back(scene: Scene, tall):
    def looks() -> list[tuple[Body, tuple, bool]]:
        return [
            (body, actor.prop.color.float_rgb, bool(actor.mapper.scalar_visibility))
            for body in Body
            for actor in scene.body_actors(body)
        ]

    before = looks()
    assert any(painted for _, _, painted in before)  # the chrome, with what it mirrors
    scene.show_bodies(True)
    for body, shown, painted in looks():
        assert not painted
        away = {
            other: np.linalg.norm(255.0 * np.array(shown) - rgb(colour))
            for other, colour in BODY_COLOURS.items()
        }
        assert min(away, key=lambda other: away[other]) is body
    # what is drawn anew meanwhile is painted alike
    scene.show_setup(tall[0].setup, True)
    assert not any(painted for _, _, painted in looks())
    scene.show_setup(tall[0].setup, False)
    scene.show_sweep(*tall)
    scene.show_bodies(False)
    assert looks() == before


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda theme: theme.name)
def test_lines_are_full_where_other_bars_reach_them_and_pale_elsewhere(scene: Scene, tall, theme):
    scene.set_theme(theme.name)
    scene.show_bodies(True)
    setup, seen = tall[0].setup, set()
    scene.select(setup.lines[0].name)  # being in question takes nothing from the others
    layouts = layout(setup, setup.new)
    for line in tall[0].lines:
        places = layouts[line.name]
        at = scene._lines.at(line.name, 0.0, 0.0).stations_at
        for one in stretches(places):
            middle = 0.5 * (at[one.first] + at[one.last])
            ring = int(np.abs(line.arc - middle).argmin())
            touched = one.mover is Mover.BARS
            seen.add(touched)
            wanted = theme.text if touched else theme.untouched
            np.testing.assert_array_equal(scene.line_colours(line.name)[ring], rgb(wanted))
    assert True in seen
    painted = image(scene.plotter)
    scene.show_bodies(False)
    assert np.abs(image(scene.plotter) - painted).max() > 60.0
