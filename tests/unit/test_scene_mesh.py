"""The surfaces the machine is drawn from: closed, facing outward, of the size asked for."""

from __future__ import annotations

import numpy as np
import pytest

from barfit.geometry.parts import shape_distance as distance
from barfit.model import Box, Capsule, Ellipsoid
from barfit.scene.blend import blend
from barfit.scene.mesh import (
    Surface,
    block,
    finished,
    hull_of_circles,
    joined,
    rod,
    rounded_rectangle,
    tangents,
    thinned,
    transported_normals,
    tube,
    turned,
)
from barfit.scene.parts import solid_mesh

AXES = (np.eye(3)[0], np.eye(3)[1], np.eye(3)[2])
UP = np.array([0.0, 0.0, 1.0])
BENT = np.array([[0.0, 0.0, 0.0], [40.0, 0.0, 10.0], [80.0, 30.0, 30.0], [90.0, 80.0, 60.0]])


def volume(surface: Surface) -> float:
    """By the divergence theorem: positive when the triangles face outward."""
    a, b, c = (surface.points[surface.faces[:, k]] for k in range(3))
    return float(np.sum(a * np.cross(b, c)) / 6.0)


def edges_met_once(surface: Surface) -> int:
    """Edges that do not belong to exactly two triangles running opposite ways."""
    f = surface.faces
    edges = np.vstack((f[:, [0, 1]], f[:, [1, 2]], f[:, [2, 0]]))
    seen = {tuple(edge) for edge in edges.tolist()}
    return sum((b, a) not in seen for a, b in seen)


@pytest.mark.parametrize(
    ("surface", "expected"),
    [
        (rod(np.zeros(3), 100.0 * UP, 10.0, sides=64), np.pi * 10.0**2 * 100.0),
        (turned(np.zeros(3), UP, [(0.0, 10.0), (60.0, 20.0)], sides=64), 14661.0 * 3.0),
        (block(np.zeros(3), AXES, (60.0, 40.0, 20.0), 3.0), 60.0 * 40.0 * 20.0),
        (solid_mesh(Box((5.0, 0.0, 9.0), (60.0, 40.0, 30.0), 0.3, 6.0)), 60.0 * 40.0 * 30.0),
        (solid_mesh(Ellipsoid((0.0, 0.0, 0.0), (30.0, 20.0, 10.0), 0.4)), 25133.0),
        (solid_mesh(Capsule((0.0, 0.0, 0.0), (80.0, 0.0, 30.0), 12.0)), 45894.0),
        (solid_mesh(Capsule((1.0, 2.0, 3.0), (1.0, 2.0, 3.0), 12.0)), 7238.0),
    ],
)
def test_a_solid_is_closed_faces_outward_and_has_its_size(surface: Surface, expected: float):
    assert edges_met_once(surface) == 0
    assert volume(surface) == pytest.approx(expected, rel=0.07)


def test_a_tube_keeps_its_radius_round_every_point():
    ring = tube(BENT, 7.0, sides=12).points.reshape(len(BENT), 12, 3)
    assert np.allclose(np.linalg.norm(ring - BENT[:, None, :], axis=2), 7.0)
    assert np.allclose(ring.mean(axis=1), BENT)


def test_a_flattened_tube_is_broad_where_it_is_told():
    ring = tube(np.array([[0.0, 0.0, 0.0], [50.0, 0.0, 0.0]]), 10.0, flat=0.4, broad=UP).points
    assert np.ptp(ring[:, 2]) == pytest.approx(20.0)
    assert np.ptp(ring[:, 1]) == pytest.approx(8.0, rel=0.05)


def test_transported_normals_are_square_and_do_not_twist():
    angle = np.linspace(0.0, 2.0, 40)
    arc = 100.0 * np.column_stack((np.cos(angle), np.sin(angle), np.zeros_like(angle)))
    normals = transported_normals(np.stack((arc, BENT[np.linspace(0, 3, 40).astype(int)])), UP)
    assert np.allclose(np.linalg.norm(normals, axis=-1), 1.0)
    # in a plane the normal to that plane stays what it is
    assert np.allclose(normals[0], UP)
    bent = transported_normals(BENT)
    assert np.allclose(np.sum(bent * tangents(BENT), axis=1), 0.0, atol=1e-12)


def test_thinning_keeps_the_ends_and_the_shape():
    angle = np.linspace(0.0, np.pi / 2.0, 200)
    bend = np.column_stack((50.0 * np.sin(angle), 50.0 * (1.0 - np.cos(angle)), 0.0 * angle))
    line = np.vstack((np.column_stack((np.linspace(-100, -1, 50), *np.zeros((2, 50)))), bend))
    few = thinned(line)
    assert len(few) < 40
    assert np.array_equal(few[[0, -1]], line[[0, -1]])
    # the chord of 0.06 rad leaves the arc by r (1 - cos 0.03), and one step more at most
    middles = 0.5 * (few[1:] + few[:-1])
    gap = np.min(np.linalg.norm(line[None] - middles[:, None], axis=2), axis=1)
    assert gap[1:].max() < 0.8


def test_joining_keeps_every_triangle_and_its_points():
    one, two = rod(np.zeros(3), UP, 1.0), rod(10.0 * UP, 12.0 * UP, 1.0)
    both = joined([one, two])
    assert volume(both) == pytest.approx(volume(one) + volume(two))
    assert len(both.faces) == len(one.faces) + len(two.faces)


def test_sharp_edges_stay_sharp_and_round_ones_smooth():
    mesh = finished([turned(np.zeros(3), UP, [(0.0, 10.0), (30.0, 10.0)], sides=48)])
    normals = mesh.point_data["Normals"]
    # either along the axis (the flat ends) or square to it (the side), never between
    along = np.abs(normals @ UP)
    assert np.all((along < 1e-6) | (along > 1.0 - 1e-6))


def test_a_blend_follows_its_solids_and_fills_only_the_joint():
    shapes = [
        Ellipsoid((0.0, 0.0, 0.0), (120.0, 60.0, 50.0)),
        Ellipsoid((0.0, 70.0, -30.0), (110.0, 30.0, 60.0)),
    ]
    points = blend(shapes, melt=40.0).points
    gap = np.min([distance(shape, points) for shape in shapes], axis=0)
    assert gap.max() < 40.0 / 4.0 + 1.5
    assert gap.min() > -2.5
    assert np.median(np.abs(gap)) < 1.0


def test_what_is_too_thin_for_the_grid_is_still_drawn_whole():
    plate = Ellipsoid((0.0, 0.0, 200.0), (4.0, 150.0, 90.0))
    points = blend([Ellipsoid((0.0, 0.0, 0.0), (100.0, 300.0, 150.0)), plate], 30.0).points
    mine = points[np.abs(distance(plate, points)) < 0.5]
    assert np.ptp(mine[:, 1]) == pytest.approx(300.0, rel=0.05)


def test_outlines_have_their_size_and_run_anticlockwise():
    for outline, width in (
        (rounded_rectangle(60.0, 30.0, 8.0), 60.0),
        (hull_of_circles([(0.0, 0.0, 20.0), (50.0, 0.0, 10.0)]), 80.0),
    ):
        x, y = outline.T
        assert np.ptp(x) == pytest.approx(width, rel=0.02)
        assert 0.5 * np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) > 0.0
