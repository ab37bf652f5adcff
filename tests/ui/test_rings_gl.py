"""Fittings turned by rings in the real viewport, by mouse and keys. Needs a display."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from test_dragging_gl import (
    LEFT,
    changing,  # noqa: F401
    drawn,
    held,
    let_go,
    on_a_fine_screen,
    spot,
)
from test_handles_gl import point_at

from barfit.analysis.banjos import ends_bolt
from barfit.geometry.frames import rotation
from barfit.geometry.pose import layout
from barfit.model import OutletPlace
from barfit.scenario import dumps
from barfit.scene.rings import Ring
from barfit.session import at_pose
from barfit.ui.words import length_text

pytestmark = [pytest.mark.gl, pytest.mark.usefixtures("display")]


def look_at(qtbot, window, line: str, last: bool) -> None:
    """Look at one end of a line, from close by."""
    session = window.session
    session.turn_to(0.0)
    session.select(line)
    session.select_station(len(session.setup.line(line).stations) - 1 if last else 0)
    window.viewport.frame_station()
    drawn(qtbot, window)


def plug(qtbot, window) -> None:
    """Look at the end of a line that is no banjo, and at no control."""
    look_at(qtbot, window, window.session.selected, True)
    assert window.session.station == held(window, fitting=True)


def leaving(setup, line: str, last: bool) -> np.ndarray:
    """The way (3,) an end of a line points, straight ahead."""
    places = layout(setup, setup.new)[line]
    return -places.directions[-1] if last else places.directions[0]


def grasp(qtbot, window, ring: Ring) -> tuple[float, QPoint]:
    """Point at a ring where nothing is before it: how far round that is (rad), and where."""
    rings = window.viewport.scene.rings
    for angle in np.linspace(0.0, 2.0 * math.pi, 25):
        at = spot(window, rings.on_ring(ring, angle))
        found = window.viewport.hand.under(QPointF(at))
        if found is not None and found.ring is ring:
            point_at(qtbot, window, at, lambda: rings.hot is ring)
            return float(angle), at
    raise AssertionError(f"{ring} cannot be pointed at")


def draw_round(qtbot, window, ring: Ring, angle: float, by: float) -> QPoint:
    """Press on a ring ``angle`` rad round it and draw it on ``by`` so far; where it is then."""
    rings, canvas = window.viewport.scene.rings, window.viewport.canvas
    places = [spot(window, rings.on_ring(ring, angle + k * by / 4)) for k in range(5)]
    qtbot.mousePress(canvas, LEFT, pos=places[0])
    for place in places[1:]:
        qtbot.mouseMove(canvas, place)
        qtbot.wait(5)
    return places[-1]


@pytest.mark.parametrize("ring", [Ring.LEVEL, Ring.UPRIGHT])
def test_a_ring_turns_a_fitting_about_its_axis_as_one_step(qtbot, changing, ring):  # noqa: F811
    session, scene = changing.session, changing.viewport.scene
    plug(qtbot, changing)
    before, file, name = session.setup, dumps(session.setup), session.selected
    was, axis = leaving(before, name, True), scene.rings.axes[ring].copy()
    assert abs(axis @ was) < 1e-9
    angle, _ = grasp(qtbot, changing, ring)
    by = math.radians(24.0)
    at = draw_round(qtbot, changing, ring, angle, by)
    assert session.setup is before  # nothing enters the document on the way
    assert set(scene.rings.axes) == {ring}
    turned = scene.rings.held.by
    assert turned == pytest.approx(by, abs=math.radians(3.5))
    assert math.degrees(turned) == pytest.approx(round(math.degrees(turned)))
    words = changing.changing.attempt.readout.text()
    here = at_pose(scene.sweep, name, session.pose)
    assert words.startswith(f"{math.degrees(turned):.0f}° ")
    assert f"slack {length_text(here.slack, session.unit)}" in words
    assert f"smallest radius {length_text(here.min_radius, session.unit)}" in words
    let_go(qtbot, changing, at)
    station = before.line(name).stations[session.station]
    assert session.undo_name == f"Turn {station.name} of {name}"
    np.testing.assert_allclose(
        leaving(session.setup, name, True), rotation(axis, turned) @ was, atol=1e-9
    )
    session.undo()
    assert dumps(session.setup) == file


def test_shift_turns_by_five_degrees_and_esc_gives_up(qtbot, changing):  # noqa: F811
    session, scene = changing.session, changing.viewport.scene
    plug(qtbot, changing)
    before = session.setup
    angle, _ = grasp(qtbot, changing, Ring.LEVEL)
    at = draw_round(qtbot, changing, Ring.LEVEL, angle, math.radians(26.5))
    qtbot.keyPress(changing, Qt.Key.Key_Shift)  # it tells of itself
    qtbot.waitUntil(lambda: math.degrees(scene.rings.held.by) == pytest.approx(25.0))
    assert changing.changing.attempt.readout.text().startswith("25° ")
    qtbot.keyClick(changing, Qt.Key.Key_Escape)
    assert session.setup is before
    assert session.undo_name is None
    assert scene.rings.held is None
    assert set(scene.rings.axes) == {Ring.LEVEL, Ring.UPRIGHT}
    let_go(qtbot, changing, at)
    assert not session.changed


HOSE = "brake hose to the splitter"


@pytest.mark.parametrize("last", [False, True])
def test_a_banjo_is_clocked_about_its_bolt(qtbot, changing, last):  # noqa: F811
    session, scene = changing.session, changing.viewport.scene
    look_at(qtbot, changing, HOSE, last)
    before = session.setup
    bolt = ends_bolt(before, before.new, before.line(HOSE), last)
    assert set(scene.rings.axes) == {Ring.BOLT}
    np.testing.assert_allclose(scene.rings.axes[Ring.BOLT], bolt)
    was = leaving(before, HOSE, last)
    angle, _ = grasp(qtbot, changing, Ring.BOLT)
    assert "about the bolt" in changing.changing.attempt.readout.text()
    at = draw_round(qtbot, changing, Ring.BOLT, angle, math.radians(-20.0))
    by = scene.rings.held.by
    assert by == pytest.approx(math.radians(-20.0), abs=math.radians(3.5))
    words = changing.changing.attempt.readout.text()
    assert f"{-math.degrees(by):.0f}° clockwise, seen at the bolt's head" in words
    let_go(qtbot, changing, at)
    now = session.setup
    np.testing.assert_allclose(leaving(now, HOSE, last), rotation(bolt, by) @ was, atol=1e-9)
    place = before.line(HOSE).stations[0].place
    assert isinstance(place, OutletPlace)
    assert (now.controls == before.controls) is last  # at a control its outlet is turned


def test_a_ring_is_of_one_size_and_of_use_from_its_edge(qtbot, changing):  # noqa: F811
    scene = changing.viewport.scene
    plug(qtbot, changing)
    changing.viewport.view("left")  # along the level axis, so the upright one's ring is flat
    drawn(qtbot, changing)
    rings = scene.rings
    wide = [spot(changing, rings.on_ring(Ring.LEVEL, a)) for a in (0.0, math.pi)]
    across = wide[1] - wide[0]
    assert math.hypot(across.x(), across.y()) == pytest.approx(188, abs=5)
    _, at = grasp(qtbot, changing, Ring.UPRIGHT)
    canvas = changing.viewport.canvas
    along = QPointF(spot(changing, rings.tip) - spot(changing, rings.point))
    along /= math.hypot(along.x(), along.y())
    qtbot.mousePress(canvas, LEFT, pos=at)
    for k in range(1, 6):
        qtbot.mouseMove(canvas, at + (8.0 * k * along).toPoint())
        qtbot.wait(5)
    # its near side goes along with the pointer, 94 pixels to a radian
    assert abs(rings.held.by) == pytest.approx(40 / 94, rel=0.12)  # and the lens
    near = np.array([0.0, 1.0, 0.0])
    assert np.cross(rings.held.axis, near) @ rings.leaving * rings.held.by > 0.0
    qtbot.keyClick(changing, Qt.Key.Key_Escape)
    let_go(qtbot, changing, at)


def test_the_read_out_is_beside_what_is_turned(qtbot, changing):  # noqa: F811
    plug(qtbot, changing)
    angle, _ = grasp(qtbot, changing, Ring.LEVEL)
    at = draw_round(qtbot, changing, Ring.LEVEL, angle, 0.5)
    box = changing.changing.attempt.readout.geometry()
    around = changing.viewport.hand.around()
    assert around.contains(QPointF(at))
    assert not around.intersects(box.toRectF())
    assert changing.viewport.rect().contains(box)
    qtbot.keyClick(changing, Qt.Key.Key_Escape)
    let_go(qtbot, changing, at)


def test_the_keys_turn_it_too(qtbot, changing):  # noqa: F811
    session, rings = changing.session, changing.viewport.scene.rings
    plug(qtbot, changing)
    name, was = session.selected, leaving(session.setup, session.selected, True)
    axis = rings.axes[Ring.LEVEL].copy()
    qtbot.keyClick(changing, Qt.Key.Key_F10, Qt.KeyboardModifier.ShiftModifier)
    menu = changing.context.menu
    (turn,) = (one.menu() for one in menu.actions() if one.text() == "Turn it")
    words = [one.text() for one in turn.actions()]
    assert words[:2] == ["5° up", "5° down"]
    assert len(set(words)) == 4
    turn.actions()[0].trigger()
    menu.close()
    np.testing.assert_allclose(
        leaving(session.setup, name, True), rotation(axis, math.radians(5.0)) @ was, atol=1e-9
    )
    assert session.undo_name.startswith("Turn ")


def test_rings_are_hit_on_a_fine_screen():
    """The same with one and a half pixels of the screen to each of Qt's."""
    on_a_fine_screen(__file__, "about_its_axis or clocked or from_its_edge", 5)
