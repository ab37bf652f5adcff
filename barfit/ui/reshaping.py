"""A line changed in the picture: its stations drawn about, turned, put in and taken out."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QObject, QPointF, Signal

from barfit import edits
from barfit.analysis import Sweep
from barfit.geometry.frames import rotation
from barfit.geometry.pose import Layout, LayoutError, layout
from barfit.model import Body, Hold, Setup
from barfit.report.phrases import capital
from barfit.scene import Scene
from barfit.scene.rings import Ring, towards
from barfit.session import Session, at_pose
from barfit.ui.attempt import Attempt
from barfit.ui.hand import STEP, Hand, Held, Pull, Turn
from barfit.ui.words import length_text
from barfit.units import format_length

_SPOKEN = ("forward", "back", "left", "right", "up", "down")


class Reshaping(QObject):
    """What the hand does to stations becomes edits. ``edited`` tells a setup and the name of its
    step, or None and why there is none.
    """

    edited = Signal(object, str, object)

    def __init__(self, session: Session, hand: Hand, scene: Scene, attempt: Attempt) -> None:
        super().__init__(attempt)
        self._session, self._scene, self._attempt = session, scene, attempt
        self._laid: tuple[Setup, bool, dict[str, Layout]] | None = None
        self.readout = attempt.readout
        hand.taken.connect(self.look_at)
        hand.pulled.connect(self._pulled)
        hand.turned.connect(self._turned)
        hand.line_doubled.connect(self.insert)

    def look_at(self, mark: int) -> bool:
        """Look at a station by its number as the line is laid out; gives whether it is one of the
        line's own, and no hole in the bar.
        """
        number = self._number(mark)
        if number is not None:
            self._session.select_station(number)
        return number is not None

    def _number(self, mark: int) -> int | None:
        """Of a station of the line as it is laid out, its number in the line; None for a hole."""
        session = self._session
        if session.selected is None:
            return None
        places = self._places()[session.selected]
        names = [one.name for one in session.setup.line(session.selected).stations]
        name = places.stations[mark].name
        return names.index(name) if name in names else None

    def _places(self) -> dict[str, Layout]:
        """Where the stations of all lines are, looked up anew once the setup is another."""
        session = self._session
        key = session.setup, session.stock
        if self._laid is None or self._laid[0] is not key[0] or self._laid[1] != key[1]:
            self._laid = *key, layout(session.setup, session.setup.bars(session.stock))
        return self._laid[2]

    def mark(self) -> int | None:
        """The station looked at, by its number as the line is laid out; None where it lies hidden
        inside the bar.
        """
        session = self._session
        try:
            line = session.setup.line(str(session.selected))
            places = self._places()[line.name]
        except (KeyError, LayoutError):
            return None
        wanted = line.stations[min(session.station, len(line.stations) - 1)].name
        names = [one.name for one in places.stations]
        return names.index(wanted) if wanted in names else 0

    def hint(self, held: Held, pointer: QPointF) -> None:
        """What drawing at a handle would do."""
        number = None if held.station is None else self._number(held.station)
        if number is None or self._session.selected is None:
            return
        station = self._session.setup.line(self._session.selected).stations[number]
        words = f"{capital(station.name)}: {station.hold}"
        if held.turning:
            words = f"{capital(station.name)}: turn it any way"
        elif held.ring is not None:
            words = f"{capital(station.name)}: {self._about(held.ring)}\nShift: by 5°"
        elif held.grip is not None:
            key = "XYZ"[held.grip.axis]
            key = f"Shift and {key}" if held.grip.plane else key
            words = f"{capital(station.name)}: {held.grip.words}\nKey: {key}"
        self._attempt.say(words, pointer)

    def _pulled(self, pull: Pull) -> None:
        session = self._session
        name = session.selected
        number = self._number(pull.station)
        if name is None or number is None:
            self._attempt.refuse("The hole goes with the bar: change it there.")
            return
        setup, pose = session.setup, session.pose
        bars = setup.bars(session.stock)
        body = self._places()[name].bodies[pull.station]
        station = setup.line(name).stations[number]
        machine, on = setup.machine, None
        try:
            if pull.turning:
                way = pull.point - self._scene.stations.points[pull.station]
                back = edits.way_back(machine, body, way, pose.turn)
                edited = edits.lead_along(setup, name, number, back, bars)
                step = f"Turn {station.name} of {name}"
            else:
                point = edits.taken_back(machine, body, pull.point, pose.turn, pose.travel)
                if pull.free and pull.snap:
                    off = 0.5 * setup.line(name).diameter
                    point, on = edits.caught(machine, body, point, off)
                edited = edits.move_station(setup, name, number, point, bars)
                step = f"Move {station.name} of {name}"
        except ValueError as error:
            self._attempt.refuse(str(error))
            return
        sweep = self._attempt.make(edited, step, pull.pointer)
        if sweep is not None:
            self._attempt.say(self._words(sweep, name, pull, on), pull.pointer)

    def _words(self, sweep: Sweep, name: str, pull: Pull, on: str | None) -> str:
        words, unit = [self._laid_so(sweep, name)], self._session.unit
        places = sweep.line(name).spans[0].case.layout
        values = places.directions if pull.turning else places.points
        if pull.turning:
            words.append("direction " + ", ".join(f"{v:.2f}" for v in values[pull.station]))
        else:
            put = [format_length(float(v), unit, with_unit=False) for v in values[pull.station]]
            words.append(f"x {put[0]}  y {put[1]}  z {put[2]} {unit}")
        if on is not None:
            words.append(f"on {on}")
        return "\n".join(words)

    def _laid_so(self, sweep: Sweep, name: str) -> str:
        """How a line lies in the pose looked at."""
        unit, here = self._session.unit, at_pose(sweep, name, self._session.pose)
        slack, radius = length_text(here.slack, unit), length_text(here.min_radius, unit)
        return f"slack {slack}, smallest radius {radius}"

    def _turned(self, turn: Turn) -> None:
        made = self._led(turn.station, rotation(turn.axis, turn.by) @ turn.start)
        if made is None or self._session.selected is None:
            return
        sweep = self._attempt.make(*made, turn.pointer)
        if sweep is not None:
            far = turned_words(turn.ring, turn.axis, turn.start, turn.by)
            words = f"{far}\n{self._laid_so(sweep, self._session.selected)}"
            self._attempt.say(words, turn.pointer)

    def _led(self, mark: int, way: np.ndarray) -> tuple[Setup, str] | None:
        """A station of the line as it is laid out that points along ``way`` (3,) in the pose looked
        at, and the name of that step; None, and said why, where it cannot.
        """
        session = self._session
        name, number = session.selected, self._number(mark)
        if name is None or number is None:
            return None
        setup, body = session.setup, self._places()[name].bodies[mark]
        try:
            back = edits.way_back(setup.machine, body, way, session.pose.turn)
            edited = edits.lead_along(setup, name, number, back, setup.bars(session.stock))
        except ValueError as error:
            self._attempt.refuse(str(error))
            return None
        return edited, f"Turn {setup.line(name).stations[number].name} of {name}"

    def turns(self) -> list[tuple[str, Ring, float]]:
        """The ways in which the station looked at can be turned a step: their words, the ring and
        how far (rad).
        """
        rings, step = self._scene.rings, math.radians(STEP)
        return [
            (turned_words(ring, axis, rings.leaving, by), ring, by)
            for ring, axis in rings.axes.items()
            for by in (step, -step)
        ]

    def turn(self, ring: Ring, by: float) -> None:
        """Turn the station looked at about one of its axes, as a step."""
        rings, mark = self._scene.rings, self.mark()
        if mark is None or ring not in rings.axes:
            return
        made = self._led(mark, rotation(rings.axes[ring], by) @ rings.leaving)
        if made is not None:
            self.edited.emit(*made, None)

    def _about(self, ring: Ring) -> str:
        """What drawing at a ring does, in words."""
        if ring is Ring.BOLT:
            return "turn its banjo about the bolt"
        rings = self._scene.rings
        ways = sorted(towards(rings.leaving, rings.axes[ring]), key=_SPOKEN.index)
        return f"turn it {ways[0]} or {ways[1]}"

    def insert(self, x: float, y: float) -> None:
        """A guide where the selected line was double-clicked."""
        session, scene = self._session, self._scene
        name = session.selected
        if name is None or scene.pick(x, y, 12.0 * scene.scale) != name or scene.sweep is None:
            return
        setup, pose = session.setup, session.pose
        at, point = scene.along_line(name, (x, y))
        swept = scene.sweep.line(name)
        row = int(np.abs(swept.travels - pose.travel).argmin())
        column = int(np.abs(scene.sweep.angles - pose.turn).argmin())
        stations_at = swept.stations_at[row, column]
        places = self._places()[name]
        after = int(np.clip(np.searchsorted(stations_at, at) - 1, 0, len(stations_at) - 2))
        following = self._number(after + 1)
        if following is None or (places.inside is not None and after == 0):
            self.edited.emit(None, "There it lies inside the bar: a guide has no place.", None)
            return
        body = _rides_on(places.bodies[after], places.bodies[after + 1], at, stations_at, after)
        back = edits.taken_back(setup.machine, body, point, pose.turn, pose.travel)
        edited = edits.insert_guide(setup, name, following - 1, back, body)
        self.edited.emit(edited, f"Add guide to {name}", None)
        if session.setup == edited:
            session.select_station(following)

    def delete(self) -> None:
        """Take out the guide or clip looked at; then the line's end at the bar is, which a second
        Delete cannot take.
        """
        session = self._session
        name, number = session.selected, session.station
        if name is None:
            return
        station = session.setup.line(name).stations[number]
        if station.hold is Hold.FITTING:
            why = f"'{station.name}' is an end of the line: a line needs both its fittings."
            self.edited.emit(None, why, None)
            return
        edited = edits.delete_station(session.setup, name, number)
        session.select_station(0)
        self.edited.emit(edited, f"Delete {station.name} of {name}", None)


def turned_words(ring: Ring, axis: np.ndarray, start: np.ndarray, by: float) -> str:
    """How far and which way a fitting that pointed along ``start`` is turned, in words."""
    far = f"{abs(math.degrees(by)):.0f}°"
    if round(math.degrees(by)) == 0:
        return far
    if ring is Ring.BOLT:  # which points to the eye of whoever looks at its head
        return f"{far} {'anticlockwise' if by > 0.0 else 'clockwise'}, seen at the bolt's head"
    one, other = towards(start, axis)
    return f"{far} {one if by > 0.0 else other}"


def _rides_on(before: Body, behind: Body, at: float, stations_at: np.ndarray, after: int) -> Body:
    """What a guide put in between two stations rides on: what both do, or the nearer one."""
    if before is behind:
        return before
    near = at - stations_at[after] < stations_at[after + 1] - at
    return before if near else behind
