"""Frames of the window's picture: while a hand moves something, and while the steering turns.

Each is timed without painting, which is what is ours, and with it: on a machine without a graphics
card painting alone takes longer than a display's frame.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import count
from typing import Any

from barfit import edits
from barfit.analysis import Sweep, sweep
from barfit.analysis.glance import again, from_sweep
from barfit.bench.speed import LINES, LOCK, bundled_setup, twelve_lines
from barfit.bench.timing import Timing, timed
from barfit.model import Bar, Hold, PointPlace, Setup
from barfit.scene import Scene
from barfit.scene.picture import off_screen

TARGET = 1.0 / 60.0  # s: a frame of a usual display
ANEW = "all drawn anew"
_SIZE = 1280, 800
_TURN = 0.3  # rad, some pose or other
_FRAMES = 20  # in one repeat


def drags(repeats: int) -> list[Timing]:
    """One move of the hand with twelve lines: the edit, all lines solved anew that it touches, and
    the picture brought up to it.
    """
    setup = twelve_lines(bundled_setup())
    swept = sweep(setup, stock=True, step=math.radians(4.0))
    plotter = off_screen(_SIZE)
    found = []
    for words, edited in (
        ("a station", _station),
        ("a control", _control),
        ("the bar's roll", _roll),
    ):
        scene = _scene(plotter, setup, swept)
        glance, moves = from_sweep(swept, _TURN, 0.0), count()

        def move(scene: Scene = scene, edited: _Edit = edited, moves: count[int] = moves) -> None:
            nonlocal glance
            glance = again(glance, edited(setup, 1.0 + 0.5 * (next(moves) % _FRAMES)))
            scene.show_glance(glance.sweep, 0.0)

        def anew(edited: _Edit = edited, moves: count[int] = moves) -> None:
            nonlocal glance
            glance = again(glance, edited(setup, 1.0 + 0.5 * (next(moves) % _FRAMES)))
            fresh = _scene(plotter, glance.sweep.setup)
            fresh.show_glance(glance.sweep, 0.0)
            fresh.close()

        found += _timings(f"a drag's frame, {LINES} lines: {words}", plotter, move, anew, repeats)
        scene.close()
    plotter.close()
    return found


def turning(repeats: int) -> list[Timing]:
    """One frame of the turn from lock to lock, twelve lines from a finished sweep."""
    setup = twelve_lines(bundled_setup())
    swept = sweep(setup, stock=True)
    plotter = off_screen(_SIZE)
    scene = _scene(plotter, setup, swept)
    poses = count()

    def turn() -> None:
        # never the same pose twice, and between those of the sweep
        scene.set_pose(LOCK * math.sin(0.05 * next(poses)))

    def anew() -> None:
        fresh = _scene(plotter, setup, swept)
        fresh.set_pose(LOCK * math.sin(0.05 * next(poses)))
        fresh.close()

    found = _timings(f"a frame of the turn, {LINES} lines", plotter, turn, anew, repeats)
    scene.close()
    plotter.close()
    return found


def _timings(
    what: str,
    plotter: Any,
    step: Callable[[], None],
    anew: Callable[[], None],
    repeats: int,
) -> list[Timing]:
    """A frame without painting and with it, beside the same with all drawn anew."""

    def painted(work: Callable[[], None]) -> Callable[[], None]:
        def run() -> None:
            work()
            plotter.render_window.Render()
            plotter.render_window.WaitForCompletion()

        return run

    plain, whole = (timed(_often(one), repeats) / _FRAMES for one in (step, painted(step)))
    # the peer comes last: it empties the plotter
    plain_anew, whole_anew = timed(anew, repeats), timed(painted(anew), repeats)
    return [
        Timing(what, plain, TARGET, ANEW, plain_anew),
        Timing(f"{what}, painted", whole, None, ANEW, whole_anew),
    ]


def _often(step: Callable[[], None]) -> Callable[[], None]:
    def run() -> None:
        for _ in range(_FRAMES):
            step()

    return run


def _scene(plotter: Any, setup: Setup, swept: Sweep | None = None) -> Scene:
    """A scene as in the window, on a plotter emptied for it, with the handles of a line."""
    plotter.clear_actors()
    plotter.renderer.RemoveAllViewProps()
    scene = Scene(plotter)
    scene.smooth(False)
    scene.show_setup(setup, True)
    if swept is not None:
        scene.show_sweep(swept)
    scene.view("three-quarter")
    scene.set_pose(_TURN)
    line, number = guide(setup)
    scene.select(line)
    scene.show_stations(number)
    return scene


_Edit = Callable[[Setup, float], Setup]


def guide(setup: Setup) -> tuple[str, int]:
    """A line, and of its stations one that is a point of the machine between its ends."""
    for line in setup.lines:
        for number, station in enumerate(line.stations):
            if isinstance(station.place, PointPlace) and station.hold is not Hold.FITTING:
                return line.name, number
    raise ValueError("no line of the setup has a guide on the machine")


def _station(setup: Setup, by: float) -> Setup:
    line, number = guide(setup)
    place = setup.line(line).stations[number].place
    assert isinstance(place, PointPlace)
    x, y, z = place.position
    return edits.move_station(setup, line, number, (x, y + by, z - 0.5 * by), setup.stock)


def _control(setup: Setup, by: float) -> Setup:
    first, *rest = setup.controls
    return replace(setup, controls=(replace(first, inboard=first.inboard + by), *rest))


def _roll(setup: Setup, by: float) -> Setup:
    bar = setup.stock.bar
    assert isinstance(bar, Bar)
    rolled = replace(bar, roll=bar.roll + math.radians(0.3 * by))
    return replace(setup, stock=replace(setup.stock, bar=rolled))
