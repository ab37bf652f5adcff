"""A picture of a swept setup, drawn with no window and no display."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from ctypes.util import find_library
from typing import Any

import numpy as np
import pyvista as pv

from barfit.analysis.findings import LineFinding
from barfit.analysis.sweep import Sweep
from barfit.scene.marks import turn_words
from barfit.scene.overlay import CAPTION_HEIGHT
from barfit.scene.scene import Scene
from barfit.units import format_length


class PictureError(RuntimeError):
    """There is no way to draw here; the message says what is missing."""


@contextmanager
def _no_display() -> Iterator[None]:
    """Where there is no display, draw without asking for one.

    The drawing library would first try one and complain on the error stream before it turns to
    EGL by itself; named outright, EGL is taken at once, and given up again where it does not work.
    """
    name = "VTK_DEFAULT_OPENGL_WINDOW"
    if sys.platform != "linux" or os.environ.get("DISPLAY") or name in os.environ:
        yield
        return
    os.environ[name] = "vtkEGLRenderWindow"
    try:
        yield
    finally:
        del os.environ[name]


def off_screen(size: tuple[int, int]) -> pv.Plotter:
    """A plotter of that size in pixels without a window. Raises PictureError where nothing can be
    drawn.
    """
    with _no_display():
        plotter = pv.Plotter(off_screen=True, window_size=list(size), lighting=None)
    window: Any = plotter.render_window
    # without the library it stands for, this kind of window would crash the program
    if window.GetClassName() == "vtkOSOpenGLRenderWindow" and not find_library("OSMesa"):
        plotter.close()
        raise PictureError(
            "cannot draw a picture: there is no display, and neither EGL nor OSMesa is installed "
            "(on Debian: apt-get install libegl1 libgl1-mesa-dri)"
        )
    return plotter


def caption(sweep: Sweep, turn: float, travel: float, unit: str) -> tuple[str, str]:
    """What a picture shows, in words: the setup, and the bars and pose."""
    barset = sweep.setup.bars(sweep.stock)
    whose = "Stock" if sweep.stock else "New"
    parts = [f"{whose} bars: {barset.bar.name}", f"steering {turn_words(turn)}"]
    if travel != 0.0:
        way = "compressed" if travel > 0.0 else "extended"
        parts.append(f"fork {way} {format_length(abs(travel), unit)}")
    return sweep.setup.title, "  ·  ".join(parts)


@contextmanager
def drawing(
    sweep: Sweep,
    findings: Iterable[LineFinding] = (),
    *,
    size: tuple[int, int] = (1600, 1000),
    view: str = "three-quarter",
    colour: str = "slack",
    stock_ghost: Sweep | None = None,
    theme: str = "light",
    unit: str = "mm",
    enlarged: float = 1.0,
) -> Iterator[Scene]:
    """A scene of the setup for pictures of any poses, drawn with no window.

    ``size`` in pixels. ``stock_ghost`` is a sweep of the other bars, shown behind. What is written
    is ``enlarged`` where the picture will be seen small. Raises PictureError where nothing can be
    drawn, KeyError for an unknown view, ValueError for an unknown colour.
    """
    plotter = off_screen(size)
    try:
        scale = min(size[0] / 1280.0, size[1] / 800.0)
        scene = Scene(plotter, theme, unit=unit, scale=enlarged * max(scale, 0.75))
        scene.free = (0.0, 0.0, 0.0, CAPTION_HEIGHT * scene.scale / size[1])
        scene.show_setup(sweep.setup, sweep.stock)
        scene.show_sweep(sweep, findings)
        scene.set_ghost(stock_ghost)
        scene.set_colour(colour)
        scene.smooth(True)
        scene.view(view)
        yield scene
        scene.close()
    finally:
        plotter.close()


def frame(scene: Scene) -> np.ndarray:
    """What a scene of `drawing` shows now: pixels (H, W, 3), 0..255, from the top left."""
    scene.plotter.render()  # a picture of a plotter that has drawn once is else that first drawing
    return np.ascontiguousarray(scene.plotter.screenshot(return_img=True)[..., :3])


def picture(
    sweep: Sweep,
    findings: Iterable[LineFinding] = (),
    turn: float = 0.0,
    *,
    travel: float = 0.0,
    line: str | None = None,
    plain: bool = False,
    **looks: Any,
) -> bytes:
    """A PNG of the setup at one pose, lines coloured, with legend and marks.

    ``turn`` rad, left positive; ``travel`` mm, compression positive; ``line`` is brought out where
    one is named, and the camera goes to it. A ``plain`` one has neither caption nor legend, for
    where these stand beside it. ``looks`` and what is raised are those of `drawing`.
    """
    with drawing(sweep, findings, **looks) as scene:
        scene.select(line)
        scene.show_legend = not plain
        if plain:
            scene.free = (0.0, 0.0, 0.0, 0.0)
        if line is not None:
            scene.frame(line, bars=True)
        scene.set_pose(turn, travel)
        scene.caption = None if plain else caption(sweep, turn, travel, scene.unit)
        buffer = io.BytesIO()
        scene.plotter.screenshot(buffer)
    return buffer.getvalue()
