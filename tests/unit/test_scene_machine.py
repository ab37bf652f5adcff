"""The drawing against the numbers of the setup: what is drawn is where the numbers say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from barfit import scenario
from barfit.geometry.frames import local_to_machine
from barfit.geometry.parts import shape_distance as distance
from barfit.geometry.pose import bar_shape, control_frame, layout
from barfit.model import (
    Body,
    Box,
    ClipOn,
    Control,
    ControlKind,
    Ellipsoid,
    FileUnit,
    Machine,
    Mesh,
    Outlet,
    Riser,
    Role,
    Setup,
    Side,
    Solid,
    Triangles,
)
from barfit.scene.bars import bar_parts, control_parts
from barfit.scene.colours import Paint
from barfit.scene.fittings import holder_parts
from barfit.scene.machine import machine_parts, slider_top
from barfit.scene.mesh import triangles
from barfit.scene.parts import Part, gathered
from barfit.scene.rear import rear
from barfit.scene.wheel import brakes

SETUPS = {path.stem: scenario.load(path) for path in scenario.bundled()}


@pytest.fixture(params=SETUPS.values(), ids=SETUPS)
def setup(request) -> Setup:
    return request.param


def points(parts: list[Part], body: Body | None = None, paint: Paint | None = None) -> np.ndarray:
    chosen = [
        p.surface.points for p in parts if body in (None, p.body) and paint in (None, p.paint)
    ]
    return np.vstack(chosen)


def axle(machine: Machine) -> np.ndarray:
    return local_to_machine(machine.rake, machine.fork_offset, 0.0, -machine.fork_length)


def test_the_tyre_has_its_radius_and_width_about_the_axle(setup: Setup):
    tyre = points(machine_parts(setup), Body.LOWER_FORK, Paint.TYRE) - axle(setup.machine)
    radius = np.hypot(tyre[:, 0], tyre[:, 2])
    assert radius.max() == pytest.approx(setup.machine.wheel_radius, abs=0.5)
    assert np.ptp(tyre[:, 1]) == pytest.approx(setup.machine.wheel_width, rel=0.02)


def test_stanchions_stand_at_the_forks_spread_and_have_its_diameter(setup: Setup):
    machine = setup.machine
    chrome = points(machine_parts(setup), Body.STEERING, Paint.CHROME)
    frame = np.column_stack([local_to_machine(machine.rake, *e) for e in np.eye(3)])
    local = chrome @ frame
    r = 0.5 * machine.fork_tube_diameter
    mid = local[np.abs(local[:, 1]) > 0.5 * machine.fork_spread - r - 1.0]
    gap = np.hypot(mid[:, 0] - machine.fork_offset, np.abs(mid[:, 1]) - 0.5 * machine.fork_spread)
    assert np.isclose(gap, r, atol=0.1).sum() > 50


def test_sliders_clear_the_lower_clamp_at_full_compression(setup: Setup):
    machine = setup.machine
    assert slider_top(machine) - (machine.travel - machine.sag) > machine.lower_clamp


def test_a_fairing_is_a_shell_open_towards_the_rider():
    semi, centre = np.array([115.0, 320.0, 190.0]), np.array([200.0, 0.0, 100.0])
    solid = Solid("it", Role.FAIRING, Body.STEERING, Ellipsoid(tuple(centre), tuple(semi)))
    setup = SETUPS["touring-hydraulic"]
    bare = replace(setup, machine=replace(setup.machine, solids=(solid,)))
    shell = points(machine_parts(bare), Body.STEERING, Paint.FAIRING) - centre
    ways = shell / semi**2  # the normal of an ellipsoid
    ahead = ways[:, 0] / np.linalg.norm(ways, axis=1)
    assert ahead.min() > -0.45
    assert shell[:, 0].max() == pytest.approx(semi[0], abs=3.0)
    assert np.abs(shell[:, 1]).max() == pytest.approx(semi[1], abs=6.0)
    assert shell[:, 0].min() > -0.4 * semi[0]


def test_a_very_short_fork_still_has_sliders(setup: Setup):
    short = replace(setup.machine, fork_length=setup.machine.lower_clamp + 90.0)
    assert slider_top(short) < short.fork_length
    assert len(machine_parts(replace(setup, machine=short))) > 20


@pytest.mark.parametrize("role", [Role.TANK, Role.SEAT, Role.ENGINE, Role.MODULATOR])
def test_a_solid_is_drawn_no_larger_than_it_is(role: Role):
    shapes = {
        Role.TANK: Ellipsoid((-300.0, 0.0, -50.0), (200.0, 110.0, 80.0), 0.1),
        Role.SEAT: Box((-700.0, 0.0, -200.0), (300.0, 240.0, 80.0), 0.1, 30.0),
        Role.ENGINE: Box((-250.0, 0.0, -500.0), (400.0, 250.0, 300.0), 0.1, 40.0),
        Role.MODULATOR: Box((-100.0, 0.0, -400.0), (90.0, 120.0, 80.0), 0.0, 8.0),
    }
    setup = SETUPS["naked-standard"]
    solid = Solid("it", role, Body.FRAME, shapes[role])
    without = replace(setup, lines=(), machine=replace(setup.machine, solids=()))
    with_it = replace(without, machine=replace(setup.machine, solids=(solid,)))
    count = len(points(machine_parts(without)))
    drawn = points(machine_parts(with_it))
    assert len(drawn) > count
    added = np.array([p for p in drawn if np.linalg.norm(p - solid.shape.centre) < 450.0])
    added = added[added[:, 0] < -40.0]
    # a filler cap stands 10 mm proud of the tank; cooling fins and covers stay within
    assert distance(solid.shape, added).max() < (12.0 if role is Role.TANK else 6.0)


def test_nothing_of_the_drawing_is_off_the_middle_of_a_symmetrical_machine(setup: Setup):
    for (body, paint), mesh in gathered(machine_parts(replace(setup, lines=()))).items():
        if paint is Paint.LENS:
            continue  # an instrument's needle points somewhere
        left, right = mesh.bounds[3], -mesh.bounds[2]
        assert left == pytest.approx(right, abs=1.5), f"{body}, {paint}"


def test_grips_end_where_the_bar_ends(setup: Setup):
    for barset in (setup.stock, setup.new):
        shape = bar_shape(setup.machine, barset)
        rubber = points(bar_parts(setup.machine, barset), paint=Paint.RUBBER)
        for end in (shape.left[-1], shape.right[-1]):
            near = rubber[np.linalg.norm(rubber - end, axis=1) < shape.grip_length + 20.0]
            assert len(near) > 100
            assert np.linalg.norm(near - end, axis=1).min() < shape.grip_diameter


def test_every_control_is_drawn_and_reaches_its_outlets(setup: Setup):
    for barset in (setup.stock, setup.new):
        drawn = points(control_parts(setup, barset))
        for control in setup.controls:
            point, *axes = control_frame(setup, barset, control)
            assert np.linalg.norm(drawn - point, axis=1).min() < 30.0
            for outlet in control.outlets:
                place = point + np.column_stack(axes) @ outlet.offset
                assert np.linalg.norm(drawn - place, axis=1).min() < 16.0


@pytest.mark.parametrize("kind", ControlKind)
@pytest.mark.parametrize("side", Side)
def test_every_kind_of_control_can_be_drawn(kind: ControlKind, side: Side):
    setup = SETUPS["naked-standard"]
    outlet = Outlet("out", (-10.0, 20.0, -20.0), (-1.0, 0.0, -0.2), 20.0)
    control = Control("it", kind, side, 160.0, 0.2, (outlet,))
    parts = control_parts(replace(setup, controls=(control,), lines=()), setup.new)
    assert len(parts) >= 2
    point, *_ = control_frame(setup, setup.new, control)
    assert np.sign(points(parts)[:, 1].mean()) == np.sign(point[1])
    assert np.linalg.norm(points(parts) - point, axis=1).max() < 260.0


def test_clip_ons_clamp_the_fork_tubes():
    setup = SETUPS["naked-standard"]
    bar = ClipOn("low", -40.0, 30.0, 20.0, 260.0, 22.2, 22.2, 120.0, 0.25, 0.15)
    parts = bar_parts(setup.machine, replace(setup.new, bar=bar, riser=Riser("none", 0.0)))
    alloy = points(parts, paint=Paint.ALLOY)
    machine = setup.machine
    for side in (1.0, -1.0):
        clamp = local_to_machine(
            machine.rake, machine.fork_offset, side * machine.fork_spread / 2.0, -40.0
        )
        ring = alloy[np.linalg.norm(alloy - clamp, axis=1) < machine.fork_tube_diameter]
        assert len(ring) > 20


def test_holders_are_where_the_stations_are_and_ride_with_them(setup: Setup):
    places = layout(setup, setup.new)
    parts = holder_parts(setup, setup.new, places, {}, places)
    for line in setup.lines:
        for point, body in zip(places[line.name].points, places[line.name].bodies, strict=True):
            assert np.linalg.norm(points(parts, body) - point, axis=1).min() < 14.0


def test_a_brake_is_drawn_where_its_line_ends():
    for stem, count, disc in (
        ("tall-bar-cruiser", 1, True),
        ("naked-standard", 2, True),
        ("old-twin", 1, False),
    ):
        found = brakes(SETUPS[stem])
        assert [brake.disc for brake in found] == [disc] * count


def test_one_mesh_for_each_body_and_paint_with_unit_normals(setup: Setup):
    meshes = gathered(machine_parts(setup))
    assert len(meshes) < 40
    for mesh in meshes.values():
        assert mesh.n_points
        lengths = np.linalg.norm(mesh.point_data["Normals"], axis=1)
        assert np.allclose(lengths, 1.0, atol=1e-3)


@pytest.mark.parametrize("role", Role)
def test_an_imported_part_is_drawn_as_it_is(role: Role):
    corners = np.array([[x, y, z] for x in (0, 90) for y in (-30, 30) for z in (0, 50)], float)
    sides = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
    faces = triangles(np.array(sides)).astype(np.int32)
    shape = Mesh(
        "box.stl",
        FileUnit.MILLIMETRE,
        Triangles(corners.tobytes(), faces.tobytes()),
        position=(1000.0, 0.0, 2000.0),  # far from anything else
    )
    setup = SETUPS["naked-standard"]
    solid = Solid("it", role, Body.STEERING, shape)
    drawn = points(machine_parts(replace(setup, machine=replace(setup.machine, solids=(solid,)))))
    there = drawn[np.linalg.norm(drawn - shape.position, axis=1) < 300.0]
    assert there.min(axis=0) == pytest.approx([1000.0, -30.0, 2000.0])
    there = there[np.abs(there[:, :2] - [1032.0, 0.0]).max(axis=1) > 34.0]  # without a filler cap
    assert there.max(axis=0) == pytest.approx([1090.0, 30.0, 2050.0])


def test_the_rear_wheel_stands_on_the_same_floor_clear_of_engine_and_seat(setup: Setup):
    machine = setup.machine
    tyre = points(rear(machine), Body.FRAME, Paint.TYRE)
    floor = axle(machine)[2] - machine.wheel_radius
    assert tyre[:, 2].min() == pytest.approx(floor, abs=1.0)
    solids = [s for s in machine.solids if s.role in (Role.ENGINE, Role.SEAT)]
    assert len(solids) == 2
    for solid in solids:
        assert distance(solid.shape, tyre).min() > 20.0


def test_the_rear_of_the_machine_stays_on_the_frame_and_off_every_station(setup: Setup):
    parts = rear(setup.machine)
    assert {part.body for part in parts} == {Body.FRAME}
    front = points(parts)[:, 0].max()
    for places in layout(setup, setup.stock).values():
        assert places.points[:, 0].min() > front


def test_without_a_seat_or_an_engine_there_is_no_rear(setup: Setup):
    for role in (Role.SEAT, Role.ENGINE):
        kept = tuple(s for s in setup.machine.solids if s.role is not role)
        assert rear(replace(setup.machine, solids=kept)) == []
