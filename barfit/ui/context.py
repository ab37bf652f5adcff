"""What can be done with a thing in the picture, as a menu beside it.

Everything here is done elsewhere too: by the commands of the window, by the forms' own fields, or
with the hand. The menu only finds it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QPointF
from PySide6.QtGui import QAction, QActionGroup
from PySide6.QtWidgets import QApplication, QMenu

from barfit import edits, forms
from barfit.edits.names import find
from barfit.forms import Field
from barfit.report.phrases import capital
from barfit.ui.hand import Held
from barfit.ui.icons import Worn
from barfit.ui.menus import VIEWS

if TYPE_CHECKING:
    from barfit.ui.window import Window

TURNS = (("5° front edge up", 5.0), ("5° front edge down", -5.0))
_OFFERED = ("hold", "on")  # fields of a station's form that are a choice of a few words


class ContextMenu:
    """The menu of one window; ``menu`` is the one shown last."""

    def __init__(self, window: Window) -> None:
        self._window, self._session = window, window.session
        self.menu: QMenu | None = None
        window.viewport.menu_asked.connect(self.open_at)

    def open_at(self, at: QPointF) -> None:
        """For what is at a place of the picture, which is then looked at."""
        if self._window.body.alone:
            return  # a customer is looking
        canvas, hand = self._window.viewport.canvas, self._window.viewport.hand
        held = hand.under(at) or Held(control=hand.control_under(at))
        line = hand.line_under(at)
        if held.station is not None and self._window.changing.reshaping.look_at(held.station):
            made = self._of_station()
        elif line is not None:
            self._session.select(line)
            made = self._of_line(hand.spot(at))
        elif held.control is not None:
            made = self._of_control(held.control)
        else:
            made = self._of_view()
        self._show(made, canvas.mapToGlobal(at.toPoint()))

    def open(self) -> None:
        """For what is looked at, beside it: as the keyboard asks for it."""
        window, scene = self._window, self._window.viewport.scene
        controls, line = scene.controls, self._session.selected
        focus = QApplication.focusWidget()
        in_forms = focus is not None and window.body.change_side.isAncestorOf(focus)
        point = None
        if controls.on and controls.looked_at is not None and in_forms:
            made = self._of_control(controls.looked_at)
            point = controls.place(controls.looked_at)[0]
        elif scene.station is not None:
            made, point = self._of_station(), scene.stations.points[scene.station]
        elif line is not None:
            made = self._of_line(None)
            points = scene.line_points(line) if line in scene.lines else ()
            point = points[len(points) // 2] if len(points) else None
        else:
            made = self._of_view()
        canvas = window.viewport.canvas
        at = canvas.rect().center() if point is None else window.viewport.place_of(point)
        self._show(made, canvas.mapToGlobal(at))

    # what there is to do

    def _of_station(self) -> QMenu:
        session, changing = self._session, self._window.changing
        name, number = str(session.selected), session.station
        station = session.setup.line(name).stations[number]
        menu = self._titled(f"{capital(station.name)}, {station.hold} of the {name}")
        for group in forms.station_form(session.setup, name, number):
            for field in group.fields:
                if field.key in _OFFERED and field.choices:
                    self._choice(menu, field)
        ways = changing.reshaping.turns()
        if ways:
            turn = menu.addMenu("Turn it")
            for words, ring, by in ways:
                self._add(turn, words, partial(changing.reshaping.turn, ring, by))
        self._add(menu, "Show in the form", changing.show_station, "change")
        self._add(menu, "Frame it", self._window.viewport.frame_station, "frame")
        menu.addSeparator()
        menu.addAction(self._command("delete_station"))
        return menu

    def _of_line(self, spot: tuple[float, float] | None) -> QMenu:
        """``spot`` is where in the picture a guide would go in; None where no place is meant."""
        session, changing = self._session, self._window.changing
        name = str(session.selected)
        line = session.setup.line(name)
        menu = self._titled(capital(name))
        if spot is not None:
            self._add(menu, "Insert a guide here", lambda: changing.guide_at(*spot), "add")
        ways = menu.addMenu("Other way to go")
        group = QActionGroup(ways)
        alternatives = self._window.alternatives
        for way in sorted(edits.routing_names(line), key=str.casefold):
            action = self._add(ways, capital(way), partial(alternatives.use_way, way))
            action.setCheckable(True)
            action.setChecked(way == line.routing)
            group.addAction(action)
        ways.addSeparator()
        self._add(ways, "Try another way", alternatives.add_way, "add")
        self._add(menu, "Show in the form", changing.change, "change")
        menu.addSeparator()
        for command in ("frame", "worst"):
            menu.addAction(self._command(command))
        return menu

    def _of_control(self, name: str) -> QMenu:
        session, changing = self._session, self._window.changing
        control = find(session.setup.controls, name)
        menu = self._titled(capital(name))

        def show() -> None:
            changing.change()
            changing.look_at_control(name)

        self._add(menu, "Show in the form", show, "change")
        turn = menu.addMenu("Turn about the bar")
        turns = {words: control.rotation + math.radians(by) for words, by in TURNS}
        for words, rotation in {**turns, "Level": 0.0}.items():
            self._add(turn, words, partial(self._turn, name, rotation))
        at_it = [line.name for line in session.setup.lines if line.at_control(name)]
        menu.addSeparator()
        for line in at_it:
            self._add(menu, f"Look at the {line}", partial(session.select, line))
        return menu

    def _of_view(self) -> QMenu:
        menu = self._titled("View")
        for view in VIEWS:
            menu.addAction(self._command(view.name))
        menu.addSeparator()
        for command in ("frame", "bars", "ghost", "bodies"):
            menu.addAction(self._command(command))
        menu.addSeparator()
        menu.addAction(self._command("change"))
        return menu

    # how it is done

    def _turn(self, control: str, rotation: float) -> None:
        turned = edits.change_control(self._session.setup, control, rotation=rotation)
        self._window.changing.take(turned, f"Turn {control}")

    def _choice(self, menu: QMenu, field: Field) -> None:
        """A field of a form that is one of a few words, as a menu of them."""
        unit = self._session.unit
        sub = menu.addMenu(field.label)
        group = QActionGroup(sub)
        for word in field.choices:
            action = self._add(
                sub,
                capital(field.shown.get(word, word)),
                partial(self._window.changing.typed, field, word),
            )
            action.setCheckable(True)
            action.setChecked(word == field.text(unit))
            group.addAction(action)

    def _command(self, name: str) -> QAction:
        return self._window.commands.actions[name]

    def _add(self, menu: QMenu, text: str, deed: Callable[[], object], icon: str = "") -> QAction:
        action = menu.addAction(text.replace("&", "&&"))
        action.triggered.connect(lambda _=False: deed())
        if icon:
            Worn(action, icon, self._window.theme)
        return action

    def _titled(self, title: str) -> QMenu:
        menu = QMenu(self._window)
        menu.setAccessibleName(title)
        head = menu.addAction(title.replace("&", "&&"))
        head.setEnabled(False)
        menu.addSeparator()
        return menu

    def _show(self, menu: QMenu, at: QPoint) -> None:
        if self.menu is not None:
            self.menu.close()
            self.menu.deleteLater()
        self.menu = menu
        self._window.viewport.hand.leave()
        menu.popup(at)
        first = next(one for one in menu.actions() if one.isEnabled() and not one.isSeparator())
        menu.setActiveAction(first)
