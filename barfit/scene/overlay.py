"""What is written over the picture, in picture coordinates; and the legend of the colours.

All of it is laid out anew before every frame, because the window may have changed its size and
the camera its place.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from vtkmodules.vtkCommonCore import VTK_FONT_FILE, vtkPoints, vtkUnsignedCharArray
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkRenderingCore import (
    vtkActor2D,
    vtkPolyDataMapper2D,
    vtkTextActor,
)

from barfit.scene.colours import Legend, Theme, rgb

Box = tuple[float, float, float, float]

# The size of ordinary words, pixels.
FONT = 12.0

# How far down from the upper edge a caption goes, pixels.
CAPTION_HEIGHT = 22.0 + 3.3 * FONT


class Flat:
    """Filled polygons in picture coordinates (pixels from the lower left), each of one colour."""

    def __init__(self, renderer: Any, layer: int) -> None:
        self._data = vtkPolyData()
        mapper = vtkPolyDataMapper2D()
        mapper.SetInputData(self._data)
        self.actor = vtkActor2D()
        self.actor.SetMapper(mapper)
        self.actor.SetLayerNumber(layer)
        self.actor.SetPickable(False)
        renderer.AddViewProp(self.actor)

    def draw(self, polygons: Sequence[tuple[np.ndarray, np.ndarray]]) -> None:
        """Replace everything by ``polygons``: corners (N, 2) and colour (3,) of each."""
        points, cells, colours = vtkPoints(), vtkCellArray(), vtkUnsignedCharArray()
        colours.SetNumberOfComponents(3)
        for corners, colour in polygons:
            cells.InsertNextCell(len(corners))
            for x, y in corners:
                cells.InsertCellPoint(points.InsertNextPoint(x, y, 0.0))
            colours.InsertNextTuple3(*colour)
        self._data.SetPoints(points)
        self._data.SetPolys(cells)
        self._data.GetCellData().SetScalars(colours)
        self._data.Modified()


def rectangle(box: Box) -> np.ndarray:
    """The corners (4, 2) of a box (left, bottom, right, top)."""
    left, bottom, right, top = box
    return np.array([(left, bottom), (right, bottom), (right, top), (left, top)])


def rounded(box: Box, radius: float) -> np.ndarray:
    """The corners (N, 2) of a box whose corners are round."""
    left, bottom, right, top = box
    corners = []
    for x, y, start in (
        (right - radius, top - radius, 0.0),
        (left + radius, top - radius, 0.5),
        (left + radius, bottom + radius, 1.0),
        (right - radius, bottom + radius, 1.5),
    ):
        angle = np.pi * (start + np.linspace(0.0, 0.5, 6))
        corners.append(np.column_stack((x + radius * np.cos(angle), y + radius * np.sin(angle))))
    return np.vstack(corners)


def disc(centre: np.ndarray, radius: float) -> np.ndarray:
    """The corners (N, 2) of a round dot."""
    angle = np.linspace(0.0, 2.0 * np.pi, 20, endpoint=False)
    return np.asarray(centre + radius * np.column_stack((np.cos(angle), np.sin(angle))))


def stroke(start: np.ndarray, end: np.ndarray, width: float) -> np.ndarray:
    """The corners (4, 2) of a straight stroke."""
    along = end - start
    across = np.array([-along[1], along[0]]) / max(float(np.hypot(*along)), 1e-9) * width / 2.0
    return np.array([start - across, end - across, end + across, start + across])


@lru_cache
def _typeface(bold: bool) -> str | None:
    """The file of a sturdy sans-serif face with all signs we use, None where it is missing.

    It comes with matplotlib, which pyvista needs; VTK's own is thin at these sizes.
    """
    found = find_spec("matplotlib")
    places = found.submodule_search_locations if found is not None else None
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    for place in places or ():
        path = Path(place) / "mpl-data" / "fonts" / "ttf" / name
        if path.is_file():
            return str(path)
    return None


class Words:
    """One piece of text in picture coordinates."""

    def __init__(self, renderer: Any, layer: int = 2) -> None:
        self._renderer = renderer
        self.actor = vtkTextActor()
        self.actor.SetTextScaleModeToNone()
        self.actor.SetLayerNumber(layer)
        self.actor.SetPickable(False)
        look = self.actor.GetTextProperty()
        look.SetFontFamilyToArial()
        if _typeface(False) is not None:
            look.SetFontFamily(VTK_FONT_FILE)
        renderer.AddViewProp(self.actor)

    def write(self, text: str, size: float, colour: str, *, bold: bool = False) -> np.ndarray:
        """Set the text; gives its width and height (2,) in pixels."""
        self.actor.SetInput(text)
        look = self.actor.GetTextProperty()
        look.SetFontSize(round(size))
        look.SetColor(*(rgb(colour) / 255.0))
        face = _typeface(bold)
        if face is None:
            look.SetBold(bold)
        else:
            look.SetFontFile(face)
        extent = [0.0, 0.0]
        self.actor.GetSize(self._renderer, extent)
        return np.array(extent)

    def place(self, x: float, y: float, align: str = "left") -> None:
        """Put the lower edge of the text at ``y``, and its left, middle or right at ``x``."""
        look = self.actor.GetTextProperty()
        {
            "left": look.SetJustificationToLeft,
            "centre": look.SetJustificationToCentered,
            "right": look.SetJustificationToRight,
        }[align]()
        self.actor.SetPosition(round(x), round(y))

    def show(self, shown: bool) -> None:
        """Show or hide."""
        self.actor.SetVisibility(shown)


class Caption:
    """Two lines of words in the upper left corner: what is shown, and how."""

    def __init__(self, renderer: Any) -> None:
        self._renderer = renderer
        self._lines = (Words(renderer), Words(renderer))

    def lay_out(self, words: tuple[str, str] | None, theme: Theme, scale: float) -> None:
        """Draw the words, or nothing."""
        for line in self._lines:
            line.show(words is not None)
        if words is None:
            return
        font, margin = FONT * scale, 22.0 * scale
        top = self._renderer.GetSize()[1] - margin
        self._lines[0].write(words[0], 1.25 * font, theme.text, bold=True)
        self._lines[0].place(margin, top - 1.25 * font)
        self._lines[1].write(words[1], font, theme.quiet)
        self._lines[1].place(margin, top - 2.9 * font)


class LegendBox:
    """The legend in a lower corner: a strip of colour with ticks, and words at its ends."""

    def __init__(self, renderer: Any) -> None:
        self._renderer = renderer
        self._strip = Flat(renderer, 1)
        self._title = Words(renderer)
        self._ends = (Words(renderer), Words(renderer))
        self._ticks = [Words(renderer) for _ in range(6)]
        self.on_left = True
        self._state: object = None
        self.top = 0.0

    def reach(self, scale: float) -> tuple[float, float]:
        """How far in from its corner the legend goes, across and up, pixels."""
        scale = self._fitting(scale)
        return 320.0 * scale, 110.0 * scale

    def choose_corner(self, flat: np.ndarray, scale: float) -> None:
        """Go into the lower corner with less of the drawing, points (M, 2) in pixels, in it.

        Only where a view is chosen: it would be a nuisance if it jumped as the camera is dragged.
        """
        width = self._renderer.GetSize()[0]
        across, up = self.reach(scale)
        low = flat[flat[:, 1] < up, 0]
        self.on_left = bool(np.sum(low < across) <= np.sum(low > width - across))

    def _fitting(self, scale: float) -> float:
        """The scale, or a smaller one where the legend would fill the picture's width."""
        return min(scale, 0.75 * float(self._renderer.GetSize()[0]) / 320.0)

    def lay_out(self, legend: Legend | None, theme: Theme, scale: float) -> None:
        """Draw ``legend``, or nothing. Does nothing while all is as it was."""
        scale = self._fitting(scale)
        state = (legend, theme.name, scale, self.on_left, self._renderer.GetSize())
        if state == self._state:
            return
        self._state = state
        everything = (self._title, *self._ends, *self._ticks)
        for words in everything:
            words.show(legend is not None)
        if legend is None:
            self._strip.draw([])
            self.top = 14.0 * scale
            return
        font = FONT * scale
        width, thick, margin = 280.0 * scale, 12.0 * scale, 24.0 * scale
        left = margin if self.on_left else self._renderer.GetSize()[0] - margin - width
        y = 24.0 * scale + 1.45 * font
        count = len(legend.strip)
        cuts = left + width * np.linspace(0.0, 1.0, count + 1)
        edge = 1.0 * scale
        frame = (left - edge, y - edge, left + width + edge, y + thick + edge)
        # dark words on a dark tank cannot be read: they stand on paper of their own
        pad, top = 10.0 * scale, y + thick + 3.2 * font
        paper = (left - pad, y - 1.45 * font - pad, left + width + pad, top + 0.5 * pad)
        polygons = [
            (rounded(paper, 6.0 * scale), rgb(theme.label)),
            (rectangle(frame), rgb(theme.quiet)),
        ]
        for k, colour in enumerate(legend.strip):
            polygons.append((rectangle((cuts[k], y, cuts[k + 1], y + thick)), np.array(colour)))
        for at, _ in legend.ticks:
            x = left + width * at
            polygons.append(
                (rectangle((x - 0.5 * edge, y - 5.0 * edge, x + 0.5 * edge, y)), rgb(theme.quiet))
            )
        self._strip.draw(polygons)
        for words, tick in zip(self._ticks, _padded(legend.ticks, len(self._ticks)), strict=True):
            words.show(tick is not None)
            if tick is not None:
                words.write(tick[1].replace("-", "−"), 0.86 * font, theme.quiet)
                words.place(left + width * tick[0], y - 1.45 * font, "centre")
        above = y + thick + 0.45 * font
        for words, text, x, align in (
            (self._ends[0], legend.low_word, left, "left"),
            (self._ends[1], legend.high_word, left + width, "right"),
        ):
            words.write(text, 0.92 * font, theme.text)
            words.place(x, above, align)
        self._title.write(legend.title, font, theme.text, bold=True)
        self._title.place(left, above + 1.55 * font)
        self.top = above + 3.2 * font


def _padded(ticks: tuple[tuple[float, str], ...], count: int) -> list[tuple[float, str] | None]:
    return [*ticks[:count], *[None] * (count - len(ticks))]
