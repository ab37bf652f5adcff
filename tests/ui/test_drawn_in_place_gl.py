"""What a hand moves is changed in the meshes there are: they must be what they would be, had all
been drawn anew."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import pyvista as pv

from barfit import analysis, edits, scenario
from barfit.analysis.glance import again, from_sweep
from barfit.bench.frames import guide
from barfit.model import Bar, Body, PointPlace, Setup
from barfit.scene import Scene

pytestmark = pytest.mark.gl
TURN = 0.3


@pytest.fixture(scope="module")
def swept() -> analysis.Sweep:
    path = next(path for path in scenario.bundled() if path.stem == "naked-standard")
    return analysis.sweep(scenario.load(path), step=math.radians(8.0))


def drawn_first(swept: analysis.Sweep) -> Scene:
    """The sweep, with handles on the line that is changed."""
    scene = Scene(pv.Plotter(off_screen=True, window_size=[300, 200], lighting=None))
    scene.show_setup(swept.setup, False)
    scene.show_sweep(swept)
    scene.view("three-quarter")
    scene.set_pose(TURN)
    line, number = guide(swept.setup)
    scene.select(line)
    scene.show_stations(number)
    return scene


def station(setup: Setup, by: float) -> Setup:
    line, number = guide(setup)
    place = setup.line(line).stations[number].place
    assert isinstance(place, PointPlace)
    x, y, z = place.position
    return edits.move_station(setup, line, number, (x, y + by, z - 0.5 * by))


def control(setup: Setup, by: float) -> Setup:
    first, *rest = setup.controls
    moved = replace(first, inboard=first.inboard + by, rotation=first.rotation + 0.01 * by)
    return replace(setup, controls=(moved, *rest))


def bar(setup: Setup, by: float) -> Setup:
    old = setup.new.bar
    assert isinstance(old, Bar)
    return replace(setup, new=replace(setup.new, bar=replace(old, roll=old.roll + 0.01 * by)))


def stub(setup: Setup, by: float) -> Setup:
    """A longer fitting is of another form, of which there are other points."""
    line = setup.lines[0]
    last = line.stations[-1]
    changed = replace(last, stub=last.stub + by)
    longer = replace(line, stations=(*line.stations[:-1], changed))
    return replace(setup, lines=(longer, *setup.lines[1:]))


def meshes(scene: Scene) -> dict[str, pv.PolyData]:
    """Every mesh that can be seen, by the name of its actor."""
    return {
        name: actor.mapper.dataset
        for name, actor in scene.plotter.actors.items()
        if actor.GetVisibility() and isinstance(getattr(actor.mapper, "dataset", None), pv.PolyData)
    }


def assert_same(scene: Scene, anew: Scene) -> None:
    shown, wanted = meshes(scene), meshes(anew)
    assert shown.keys() == wanted.keys()
    for name, mesh in shown.items():
        peer = wanted[name]
        assert mesh.n_points == peer.n_points, name
        np.testing.assert_allclose(mesh.points, peer.points, atol=1e-3, err_msg=name)
        if mesh.n_cells and mesh.is_all_triangles:
            np.testing.assert_array_equal(mesh.regular_faces, peer.regular_faces, err_msg=name)
        for array in ("Normals", "colour", "reflection"):
            assert (array in mesh.point_data) == (array in peer.point_data), name
            if array in mesh.point_data:
                near = 0.001 if array == "Normals" else 1
                mine, other = (np.asarray(m.point_data[array], float) for m in (mesh, peer))
                np.testing.assert_allclose(mine, other, atol=near, err_msg=f"{name}: {array}")
    for body in Body:
        for mine, other in zip(scene.body_actors(body), anew.body_actors(body), strict=True):
            np.testing.assert_allclose(mine.user_matrix, other.user_matrix)


@pytest.mark.parametrize(
    "ways",
    [(station,), (control,), (bar,), (stub,), (station, control, bar, stub)],
    ids=["station", "control", "bar", "fitting", "one after another"],
)
def test_meshes_changed_in_place_are_those_made_anew(swept, ways):
    scene = drawn_first(swept)
    glance = from_sweep(swept, TURN, 0.0)
    for by in (2.0, 5.0, 0.0, 9.0):
        for change in ways:
            glance = again(glance, change(swept.setup, by))
            scene.show_glance(glance.sweep, 0.0)
    anew = drawn_first(swept)
    anew.show_glance(glance.sweep, 0.0)
    assert_same(scene, anew)
    # taken back, it is as if nothing had been moved
    glance = again(glance, swept.setup)
    scene.show_glance(glance.sweep, 0.0)
    first = drawn_first(swept)
    first.show_glance(glance.sweep, 0.0)
    assert_same(scene, first)
    for one in (scene, anew, first):
        one.close()
        one.plotter.close()


def test_only_what_moved_is_drawn_anew(swept):
    scene = drawn_first(swept)
    glance = again(from_sweep(swept, TURN, 0.0), station(swept.setup, 1.0))
    scene.show_glance(glance.sweep, 0.0)
    before = {name: mesh.GetPoints().GetMTime() for name, mesh in meshes(scene).items()}
    glance = again(glance, station(swept.setup, 3.0))
    scene.show_glance(glance.sweep, 0.0)
    line, number = guide(swept.setup)
    changed = {
        name
        for name, mesh in meshes(scene).items()
        if mesh.GetPoints().GetMTime() > before.get(name, 0)
    }
    lines = {f"{what} {line}" for what in ("line", "outline", "through")}
    assert lines | {f"station {number}"} <= changed
    others = changed - lines
    assert all(name.startswith(("holders", "station", "before")) for name in others), others
    scene.close()
    scene.plotter.close()
