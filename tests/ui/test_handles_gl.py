"""Handles on stations and controls in the real viewport, by mouse and keys. Needs a display."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication
from test_dragging_gl import (
    changing,  # noqa: F401
    draw,
    drawn,
    held,
    let_go,
    on_a_fine_screen,
    spot,
)

from barfit.edits.names import find
from barfit.scenario import dumps
from barfit.scene.handles import GRIPS, Grip
from barfit.session import at_pose
from barfit.trade.sliding import slide
from barfit.ui.words import length_text

pytestmark = [pytest.mark.gl, pytest.mark.usefixtures("display")]


@pytest.fixture
def on_station(qtbot, changing):  # noqa: F811
    """A window on a station that is a point of the machine, with a frame drawn."""
    changing.session.select_station(held(changing))
    drawn(qtbot, changing)
    return changing


def point_at(qtbot, window, at: QPoint, told) -> None:
    """Let the pointer come to rest there until it is ``told``. The moves are given to the picture
    itself: a display keeps them from it while the grab of a menu that was shut is still let go.
    """
    canvas = window.viewport.canvas

    def seen() -> bool:
        for point in (at + QPoint(1, 0), at):
            place, nothing = point.toPointF(), Qt.MouseButton.NoButton
            here = canvas.mapToGlobal(place)
            plain = Qt.KeyboardModifier.NoModifier
            kind = QEvent.Type.MouseMove
            QApplication.sendEvent(canvas, QMouseEvent(kind, place, here, nothing, nothing, plain))
        return bool(told())

    qtbot.waitUntil(seen, timeout=20000)


def by(grip: Grip, window) -> QPoint:
    """Where in the canvas a handle is taken hold of: near its tip, or in the middle."""
    triad = window.viewport.scene.triad
    tip = triad.tip(grip)
    return spot(window, tip if grip.plane else 0.2 * triad.point + 0.8 * tip)


def test_handles_are_at_stations_with_places_of_their_own(qtbot, on_station):
    scene, session = on_station.viewport.scene, on_station.session
    np.testing.assert_allclose(scene.triad.point, scene.stations.points[session.station])
    assert len(scene.triad.shown) >= 4
    session.select_station(0)  # at the outlet of a control
    drawn(qtbot, on_station)
    assert scene.triad.point is None
    assert scene.triad.shown == ()
    on_station.body.change_side.done.emit()
    assert scene.triad.point is None


def test_handles_are_as_large_from_afar_as_from_near(qtbot, on_station):
    scene = on_station.viewport.scene
    lengths = []
    for notches in (0.0, -6.0, 12.0):
        on_station.viewport.zoom(notches)
        drawn(qtbot, on_station)
        camera = scene.plotter.camera
        across = np.cross(camera.direction, camera.up)
        a, b = (
            spot(on_station, scene.triad.point + k * scene.triad._size * across) for k in (0, 100)
        )
        lengths.append((b - a).manhattanLength())
    assert max(lengths) - min(lengths) <= 4
    assert 90 <= lengths[0] <= 110


def test_handles_move_a_station_along_an_axis_or_in_a_plane(qtbot, on_station):
    scene, session = on_station.viewport.scene, on_station.session
    file = dumps(session.setup)
    on_station.viewport.view("three-quarter")
    drawn(qtbot, on_station)
    assert scene.triad.shown == GRIPS
    for grip in GRIPS:
        draws_by(qtbot, on_station, grip)
        session.undo()
        assert dumps(session.setup) == file
        qtbot.waitUntil(lambda: not session.stale(), timeout=20000)
        drawn(qtbot, on_station)


def draws_by(qtbot, window, grip: Grip) -> None:
    """Draw the station looked at by one handle, and let go."""
    scene, session = window.viewport.scene, window.session
    number, before = session.station, session.setup
    old = scene.stations.points[number].copy()
    start = by(grip, window)
    point_at(qtbot, window, start, lambda: scene.triad.hot == grip)
    assert grip.words in window.changing.attempt.readout.text()
    draw(qtbot, window, start, QPoint(14, -22))
    moved = scene.stations.points[number] - old
    still = [grip.axis] if grip.plane else [k for k in range(3) if k != grip.axis]
    assert np.abs(moved[still]).max() < 1e-6
    assert np.abs(moved).max() > 1.0
    here = at_pose(scene.sweep, session.selected, session.pose)
    words = window.changing.attempt.readout.text()
    assert f"slack {length_text(here.slack, session.unit)}" in words
    assert session.setup is before
    let_go(qtbot, window, start + QPoint(14, -22))
    name = before.line(session.selected).stations[number].name
    assert session.undo_name == f"Move {name} of {session.selected}"


def a_control(window) -> str:
    """A control with a line that no other control hides from the rider."""
    return next(one.name for one in window.session.setup.controls if one.name == "clutch perch")


def lever(qtbot, window, name: str) -> QPoint:
    """Where a control is in the canvas, seen from above, and nothing in front of it."""
    window.viewport.view("top")
    drawn(qtbot, window)
    scene, hand = window.viewport.scene, window.viewport.hand
    middle = spot(window, scene.controls.place(name)[0])
    steps = range(-40, 41, 3)
    tried = [middle + QPoint(dx, dy) for dy in steps for dx in steps]
    inside = [at for at in tried if window.viewport.canvas.rect().contains(at)]

    def there(at: QPoint) -> bool:
        at, found = at.toPointF(), hand.under(at.toPointF())
        taken = found.control if found is not None else hand.control_under(at)
        return taken == name and hand.line_under(at) is None

    for at in inside:
        if all(there(at + QPoint(dx, dy)) for dx in (0, -2, 2) for dy in (0, -2, 2)):
            return at
    raise AssertionError(f"{name} cannot be pointed at")


def test_a_control_slides_along_the_bar_as_one_step(qtbot, changing):  # noqa: F811
    session, scene, name = changing.session, changing.viewport.scene, a_control(changing)
    before, file = session.setup, dumps(session.setup)
    old = find(before.controls, name)
    start = lever(qtbot, changing, name)
    readout = changing.changing.attempt.readout
    told = f"{length_text(old.inboard, session.unit)} from the bar end"
    point_at(qtbot, changing, start, lambda: told in readout.text())
    point, outward = scene.controls.place(name)
    inwards = spot(changing, point - 30.0 * outward) - spot(changing, point)
    draw(qtbot, changing, start, inwards)
    assert session.setup is before
    tried = scene.sweep.setup
    inboard = find(tried.controls, name).inboard
    assert inboard == pytest.approx(old.inboard + 30.0, abs=8.0)
    assert inboard == round(inboard)
    assert f"{length_text(inboard, session.unit)} from the bar end" in readout.text()
    (line,) = (
        one.name
        for one in tried.lines
        if any(getattr(s.place, "control", "") == name for s in one.stations)
    )
    here = at_pose(scene.sweep, line, session.pose)
    assert f"slack {length_text(here.slack, session.unit)}" in readout.text()
    let_go(qtbot, changing, start + inwards)
    assert session.undo_name == f"Move {name}"
    assert find(session.setup.controls, name).inboard == inboard
    assert changing.body.change_side.part.name == name
    session.undo()
    assert dumps(session.setup) == file


def test_a_control_goes_no_further_than_the_grip_and_says_so(qtbot, changing):  # noqa: F811
    session, scene, name = changing.session, changing.viewport.scene, a_control(changing)
    old = find(session.setup.controls, name)
    start = lever(qtbot, changing, name)
    point, outward = scene.controls.place(name)
    outwards = spot(changing, point + 90.0 * outward) - spot(changing, point)
    draw(qtbot, changing, start, outwards)
    assert "No further: the grip is in the way" in changing.changing.attempt.readout.text()
    least = slide(session.setup, old).least
    assert find(scene.sweep.setup.controls, name).inboard == least
    qtbot.keyClick(changing, Qt.Key.Key_Escape)
    assert find(session.setup.controls, name) == old
    assert session.undo_name is None
    assert scene.sweep is session.result().sweep
    let_go(qtbot, changing, start + outwards)
    assert not session.changed


def test_controls_stay_where_they_are_while_nothing_is_being_changed(qtbot, changing):  # noqa: F811
    start = lever(qtbot, changing, a_control(changing))
    changing.body.change_side.done.emit()
    before = changing.session.setup
    draw(qtbot, changing, start, QPoint(40, 0))
    let_go(qtbot, changing, start + QPoint(40, 0))
    assert changing.session.setup is before


def test_a_control_tells_how_it_is_drawn_along_and_a_double_click_lets_it(qtbot, changing):  # noqa: F811
    name = a_control(changing)
    at = lever(qtbot, changing, name)
    changing.body.change_side.done.emit()
    readout = changing.changing.attempt.readout
    point_at(qtbot, changing, at, readout.isVisible)
    assert readout.text().endswith("Double-click or F2, then drag it along the bar")
    assert not changing.viewport.hand.around().intersects(readout.geometry().toRectF())
    assert changing.viewport.scene.controls.pick((0.0, 0.0), 5.0) is None
    qtbot.mouseDClick(changing.viewport.canvas, Qt.MouseButton.LeftButton, pos=at)
    assert changing.viewport.scene.controls.on
    assert changing.body.change_side.part.name == name
    assert not changing.session.changed


def test_the_read_out_does_not_cover_the_control_that_is_drawn(qtbot, changing):  # noqa: F811
    start = lever(qtbot, changing, a_control(changing))
    draw(qtbot, changing, start, QPoint(12, 0))
    readout, hand = changing.changing.attempt.readout, changing.viewport.hand
    assert readout.isVisible()
    assert hand.around().contains(start.toPointF())
    assert not hand.around().intersects(readout.geometry().toRectF())
    qtbot.keyClick(changing, Qt.Key.Key_Escape)
    let_go(qtbot, changing, start + QPoint(12, 0))


def test_handles_are_hit_on_a_fine_screen():
    """The same with one and a half pixels of the screen to each of Qt's."""
    on_a_fine_screen(__file__, "along_an_axis or slides_along", 2)
