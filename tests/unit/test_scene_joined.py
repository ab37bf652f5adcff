"""Forms put about and joined to one mesh: the same as surfaces made where they are."""

from __future__ import annotations

import numpy as np
import pytest
import pyvista as pv

from barfit.scene.forms import Place, along, axes_at, brick, lathe, pole, torus
from barfit.scene.joined import Joined
from barfit.scene.mesh import Surface, block, ring, rod, turned

RANDOM = np.random.default_rng(7)
POINT = np.array([-120.0, 340.0, 85.0])
WAYS = [*np.eye(3), *-np.eye(3), *RANDOM.normal(size=(6, 3))]
WAYS = [way / np.linalg.norm(way) for way in WAYS]
PROFILE = [(-6.0, 4.0), (-5.0, 6.0), (5.0, 6.0), (9.0, 2.0)]


def put(form: Surface, place: Place) -> np.ndarray:
    return place.points(form.points)


@pytest.mark.parametrize("way", WAYS, ids=lambda way: np.array2string(way, precision=2))
def test_a_form_put_along_a_way_is_what_would_have_been_made_there(way):
    here = along(POINT, way)
    assert np.linalg.det(here.turn) == pytest.approx(1.0)
    for form, made in (
        (lathe(PROFILE, 11), turned(POINT, way, PROFILE, sides=11)),
        (torus(9.0, 1.5), ring(POINT, way, 9.0, 1.5)),
    ):
        np.testing.assert_allclose(put(form, here), made.points, atol=1e-9)
        np.testing.assert_array_equal(form.faces, made.faces)
    stretched = along(POINT, way, 140.0)
    straight = rod(POINT, POINT + 140.0 * way, 2.2, sides=6)
    np.testing.assert_allclose(put(pole(2.2, 6), stretched), straight.points, atol=1e-9)
    axes = here.turn.T
    box = block(POINT, (axes[0], axes[1], axes[2]), (20.0, 14.0, 9.0), 2.0)
    form = brick((20.0, 14.0, 9.0), 2.0)
    np.testing.assert_allclose(put(form, axes_at(POINT, axes)), box.points, atol=1e-9)


def test_a_place_within_another_is_both_after_each_other():
    inner, outer = along(POINT, WAYS[7], 3.0), along(-POINT, WAYS[8])
    points = RANDOM.normal(size=(20, 3))
    both = inner.within(outer)
    np.testing.assert_allclose(both.points(points), outer.points(inner.points(points)), atol=1e-9)


def normals_made_there(surface: Surface) -> pv.PolyData:
    """With the library's own filter, run on the surface where it is."""
    mesh = pv.PolyData.from_regular_faces(surface.points.astype(np.float32), surface.faces)
    return mesh.compute_normals(
        cell_normals=False, split_vertices=True, feature_angle=38.0, consistent_normals=False
    )


@pytest.mark.parametrize("way", WAYS[5:9], ids=lambda way: np.array2string(way, precision=2))
def test_normals_are_those_of_a_surface_made_there(way):
    for form, length in ((lathe(PROFILE, 11), 1.0), (torus(9.0, 1.5), 1.0), (pole(2.2, 6), 140.0)):
        place = along(POINT, way, length)
        whole = Joined()
        whole.show([(form, place)])
        peer = normals_made_there(Surface(put(form, place), form.faces))
        np.testing.assert_allclose(whole.mesh.points, peer.points, atol=1e-3)
        np.testing.assert_array_equal(whole.mesh.regular_faces, peer.regular_faces)
        np.testing.assert_allclose(
            whole.mesh.point_data["Normals"], peer.point_data["Normals"], atol=1e-4
        )


def test_changed_in_place_it_is_what_it_would_be_made_anew():
    forms = [lathe(PROFILE, 11), torus(9.0, 1.5), pole(2.2, 6), brick((9.0, 8.0, 7.0), 1.0)]
    places = [along(RANDOM.normal(size=3) * 100.0, way) for way in WAYS]
    lots = [
        [(forms[0], places[0]), (forms[1], places[1])],
        [(forms[0], places[0]), (forms[1], places[2])],  # one is moved
        [(forms[0], places[3]), (forms[1], places[4])],
        [(forms[1], places[4]), (forms[0], places[3])],  # another order
        [(forms[1], places[4]), (forms[2], places[5]), (forms[3], places[6])],
        [(forms[3], places[6])],
        [(forms[0], places[0]), (forms[0], places[1])],  # the same form twice
    ]
    kept = Joined()
    mesh = kept.mesh
    for lot in lots:
        assert kept.show(lot)
        assert not kept.show(list(lot))
        anew = Joined()
        anew.show(lot)
        assert kept.mesh is mesh
        np.testing.assert_array_equal(mesh.points, anew.mesh.points)
        np.testing.assert_array_equal(mesh.regular_faces, anew.mesh.regular_faces)
        np.testing.assert_array_equal(mesh.point_data["Normals"], anew.mesh.point_data["Normals"])
