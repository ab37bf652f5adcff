"""The menu beside a thing in the picture, by mouse and keys. Needs a display."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QMenu
from test_dragging_gl import changing, held, mark, spot  # noqa: F401
from test_handles_gl import a_control, drawn, lever

from barfit.edits.names import find
from barfit.model import Body, Hold, PointPlace
from barfit.scenario import dumps

pytestmark = [pytest.mark.gl, pytest.mark.usefixtures("display")]
RIGHT = Qt.MouseButton.RightButton


def right_click(qtbot, window, at: QPoint) -> QMenu:
    qtbot.mouseClick(window.viewport.canvas, RIGHT, pos=at)
    menu = window.context.menu
    assert menu is not None
    assert menu.isVisible()
    return menu


def words(menu: QMenu) -> list[str]:
    return [action.text().replace("&", "") for action in menu.actions() if action.text()]


def pick(menu: QMenu, *path: str) -> None:
    """Trigger an entry by its words, submenu by submenu."""
    for at, word in enumerate(path, start=1):
        action = next(one for one in menu.actions() if one.text().replace("&", "") == word)
        assert action.isEnabled()
        if at < len(path):
            menu = action.menu()
        else:
            action.trigger()


def close(window) -> None:
    window.context.menu.close()


def test_a_station_is_put_on_another_body_and_held_otherwise(qtbot, changing):  # noqa: F811
    session, number = changing.session, held(changing)
    name, before = session.selected, dumps(session.setup)
    session.select_station(number)
    drawn(qtbot, changing)
    menu = right_click(qtbot, changing, mark(changing, number))
    assert menu.accessibleName().endswith(f"of the {name}")
    assert {"Holds it as", "Rides on", "Show in the form", "Frame it"} <= set(words(menu))
    station = session.setup.line(name).stations[number]
    other = Body.FRAME if station.place.body is not Body.FRAME else Body.STEERING
    pick(menu, "Rides on", str(other).capitalize())
    close(changing)
    after = session.setup.line(name).stations[number].place
    assert isinstance(after, PointPlace)
    assert after.body is other
    assert session.undo_name is not None
    session.undo()
    assert dumps(session.setup) == before
    menu = right_click(qtbot, changing, mark(changing, number))
    pick(menu, "Holds it as", next(one for one in ("Clip: grips it",)))
    close(changing)
    assert session.setup.line(name).stations[number].hold is Hold.CLIP
    session.undo()
    menu = right_click(qtbot, changing, mark(changing, number))
    pick(menu, "Delete guide or clip")
    close(changing)
    assert station.name not in [one.name for one in session.setup.line(name).stations]
    session.undo()
    assert dumps(session.setup) == before


def test_a_station_is_looked_at_from_close_up(qtbot, changing):  # noqa: F811
    number = held(changing)
    changing.session.select_station(number)
    drawn(qtbot, changing)
    menu = right_click(qtbot, changing, mark(changing, number))
    pick(menu, "Frame it")
    close(changing)
    drawn(qtbot, changing)
    middle = changing.viewport.canvas.rect().center()
    assert (mark(changing, number) - middle).manhattanLength() < 60


def free_stretch(window) -> np.ndarray:
    """A point (3,) of the selected line that is far from its stations, in the picture."""
    scene = window.viewport.scene
    points = scene.line_points(window.session.selected)
    away = np.linalg.norm(points[:, None] - scene.stations.points[None], axis=2).min(1)
    return points[int(away.argmax())].copy()


def test_a_guide_is_put_in_where_a_line_is_clicked(qtbot, changing):  # noqa: F811
    session = changing.session
    before = len(session.setup.line(session.selected).stations)
    middle = free_stretch(changing)
    menu = right_click(qtbot, changing, spot(changing, middle))
    pick(menu, "Insert a guide here")
    close(changing)
    line = session.setup.line(session.selected)
    assert len(line.stations) == before + 1
    put = changing.viewport.scene.stations.points[session.station]
    assert np.linalg.norm(put - middle) < 12.0


def test_a_line_is_sent_another_way_and_back(qtbot, changing):  # noqa: F811
    session = changing.session
    name, at = session.selected, spot(changing, free_stretch(changing))
    pick(right_click(qtbot, changing, at), "Other way to go", "Try another way")
    close(changing)
    assert session.setup.line(name).routing == "another way"
    menu = right_click(qtbot, changing, spot(changing, free_stretch(changing)))
    pick(menu, "Other way to go", "As it goes now")
    close(changing)
    assert session.setup.line(name).routing == "as it goes now"


def test_a_control_is_turned_and_its_form_found(qtbot, changing):  # noqa: F811
    session, name = changing.session, a_control(changing)
    changing.body.change_side.done.emit()
    before = find(session.setup.controls, name)
    menu = right_click(qtbot, changing, lever(qtbot, changing, name))
    pick(menu, "Turn about the bar", "5° front edge up")
    close(changing)
    after = find(session.setup.controls, name)
    assert math.degrees(after.rotation - before.rotation) == pytest.approx(5.0)
    assert session.undo_name == f"Turn {name}"
    session.undo()
    menu = right_click(qtbot, changing, lever(qtbot, changing, name))
    assert "Look at the clutch cable" in words(menu)
    pick(menu, "Show in the form")
    close(changing)
    assert changing.body.left.currentWidget() is changing.body.change_side
    assert changing.body.change_side.part.name == name


def test_empty_space_offers_the_views(qtbot, changing):  # noqa: F811
    menu = right_click(qtbot, changing, QPoint(5, 5))
    assert {"Front view", "Top view", "Ghost of the other bars"} <= set(words(menu))
    pick(menu, "Top view")
    close(changing)
    assert changing.viewport.where().view == "top"


def test_the_button_still_zooms_when_drawn(qtbot, changing):  # noqa: F811
    canvas = changing.viewport.canvas
    far = changing.viewport.scene.plotter.camera.distance
    qtbot.mousePress(canvas, RIGHT, pos=QPoint(20, 200))
    qtbot.mouseMove(canvas, QPoint(20, 120))
    qtbot.mouseMove(canvas, QPoint(20, 60))
    qtbot.mouseRelease(canvas, RIGHT, pos=QPoint(20, 60))
    assert changing.context.menu is None
    assert changing.viewport.scene.plotter.camera.distance != pytest.approx(far)


@pytest.mark.parametrize("key", ["Menu", "F10"])
def test_the_keyboard_asks_for_what_is_looked_at(qtbot, changing, key):  # noqa: F811
    session, number = changing.session, held(changing)
    session.select_station(number)
    drawn(qtbot, changing)
    modifier = Qt.KeyboardModifier.ShiftModifier if key == "F10" else Qt.KeyboardModifier.NoModifier
    qtbot.keyClick(changing, getattr(Qt.Key, f"Key_{key}"), modifier)
    menu = changing.context.menu
    assert menu.isVisible()
    station = session.setup.line(session.selected).stations[number]
    assert menu.accessibleName().lower().startswith(station.name.lower())
    assert menu.activeAction().isEnabled()
    canvas = changing.viewport.canvas
    assert (canvas.mapFromGlobal(menu.pos()) - mark(changing, number)).manhattanLength() < 400
    close(changing)
    changing.body.change_side.done.emit()
    qtbot.keyClick(changing, getattr(Qt.Key, f"Key_{key}"), modifier)
    assert changing.context.menu.accessibleName().lower() == session.selected.lower()
    close(changing)
