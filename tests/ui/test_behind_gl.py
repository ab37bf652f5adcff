"""Lines drawn pale: as they lay before an edit, and as another way to go would have them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
import pyvista as pv
from sweeps import setup

from barfit import edits
from barfit.analysis import glance
from barfit.analysis.glance import Glance
from barfit.geometry.pose import layout
from barfit.model import PointPlace, Setup
from barfit.scene import Scene
from barfit.scene.behind import Route, off
from barfit.scene.colours import SCALES, Colour

pytestmark = pytest.mark.gl
TURN = 0.3


@pytest.fixture(scope="module")
def lying() -> Glance:
    return glance.from_nothing(setup("naked-standard"), False, TURN, 0.0)


@pytest.fixture
def scene(lying) -> Iterator[Scene]:
    plotter = pv.Plotter(off_screen=True, window_size=[600, 400], lighting=None)
    made = Scene(plotter)
    made.show_setup(lying.sweep.setup, False)
    made.set_pose(TURN, 0.0)
    made.show_sweep(lying.sweep)
    yield made
    made.close()
    plotter.close()


def movable(setup: Setup) -> tuple[str, int]:
    """A line, and a station of it that is a point of the machine between its ends."""
    return next(
        (line.name, number)
        for line in setup.lines
        for number, one in enumerate(line.stations[1:-1], start=1)
        if isinstance(one.place, PointPlace)
    )


def moved(setup: Setup, by: float) -> tuple[str, Setup]:
    name, number = movable(setup)
    x, y, z = setup.line(name).stations[number].place.position
    return name, edits.move_station(setup, name, number, (x, y + by, z), setup.new)


def test_only_what_an_edit_moved_is_drawn_as_it_lay(scene, lying):
    name, edited = moved(lying.sweep.setup, 40.0)
    old = scene.line_points(name).copy()
    assert scene.before.drawn == ()
    tried = glance.again(lying, edited)
    scene.show_glance(tried.sweep, 0.0)
    assert scene.glancing
    assert scene.before.drawn == (name,)
    assert off(old, scene.line_points(name)) > 10.0
    scene.set_theme("dark")
    assert scene.before.drawn == (name,)
    # back where it was: nothing moved
    scene.show_glance(glance.again(tried, lying.sweep.setup).sweep, 0.0)
    assert scene.before.drawn == ()


def test_it_is_gone_when_the_new_sweep_is_there(scene, lying):
    name, edited = moved(lying.sweep.setup, 40.0)
    tried = glance.again(lying, edited)
    scene.show_glance(tried.sweep, 0.0)
    assert scene.before.drawn == (name,)
    scene.show_setup(edited, False)
    scene.show_sweep(tried.sweep)
    assert not scene.glancing
    assert scene.before.drawn == ()


def route(lying: Glance, name: str, other: Setup) -> Route:
    found = glance.again(lying, other)
    return Route(
        found.sweep.line(name),
        found.sweep.angles,
        layout(other, other.new)[name],
        3.0,
        50.0,
        "or: outside",
    )


def test_another_way_is_drawn_pale_and_named_where_it_goes_otherwise(scene, lying):
    name, other = moved(lying.sweep.setup, 60.0)
    way = route(lying, name, other)
    scene.show_other_way(way)
    np.testing.assert_allclose(scene.other_way.points, way.line.shapes[0, 0])
    (mark,) = [one for one in scene.marks if one.words == "or: outside"]
    gaps = np.linalg.norm(scene.other_way.points[:, None] - scene.line_points(name), axis=2)
    here = np.linalg.norm(mark.point - scene.line_points(name), axis=1).min()
    assert here == pytest.approx(gaps.min(axis=1).max())
    # its colours are those of the scale that the legend and the strip have
    scene.set_colour(Colour.PULL)
    pull = float(way.line.tension[0, 0])
    colours = scene.other_way._line._tube.mesh["colour"]
    expected = SCALES[Colour.PULL].colours(np.array([pull]), "#000000")[0]
    assert np.abs(colours - expected).max() <= 1.0
    scene.show_other_way(None)
    assert len(scene.other_way.points) == 0
    assert not [one for one in scene.marks if one.words == "or: outside"]


def test_another_way_goes_with_the_bars_it_was_worked_out_for(scene, lying):
    name, other = moved(lying.sweep.setup, 60.0)
    scene.show_other_way(route(lying, name, other))
    _, edited = moved(lying.sweep.setup, 20.0)
    tried = glance.again(lying, edited)
    scene.show_glance(tried.sweep, 0.0)
    assert scene.other_way.route is not None  # a station of the way in use moves it not
    control = edited.controls[0]
    slid = edits.change_control(edited, control.name, inboard=control.inboard + 20.0)
    scene.show_glance(glance.again(tried, slid).sweep, 0.0)
    assert scene.other_way.route is None


def test_how_far_apart_two_courses_are():
    straight = np.column_stack((np.linspace(0.0, 100.0, 11), np.zeros(11), np.zeros(11)))
    finer = np.column_stack((np.linspace(0.0, 100.0, 173), np.zeros(173), np.zeros(173)))
    assert off(straight, finer) == pytest.approx(0.0, abs=1e-9)
    assert off(straight, finer + np.array((0.0, 3.0, 4.0))) == pytest.approx(5.0)
    assert off(straight, np.empty((0, 3))) == 0.0
    # from the origin along another axis the ends are 100 sqrt(2) apart
    assert off(straight, straight[:, [1, 0, 2]]) == pytest.approx(100.0 * np.sqrt(2.0))


def test_a_pose_not_known_is_not_drawn(scene, lying):
    name, other = moved(lying.sweep.setup, 60.0)
    way = route(lying, name, other)
    lost = replace(way.line, converged=np.zeros_like(way.line.converged))
    scene.show_other_way(replace(way, line=lost))
    assert len(scene.other_way.points) == 0
    assert not [one for one in scene.marks if one.words == way.words]
