"""The key to what moves with what: a swatch and a few words to each colour."""

from __future__ import annotations

from typing import Any

import numpy as np

from barfit.model import Body
from barfit.scene.colours import BODY_COLOURS, Theme, rgb
from barfit.scene.overlay import FONT, Flat, Words, rectangle, rounded

TITLE = "What moves with what"
BODY_WORDS = {
    Body.FRAME: "frame: stands still",
    Body.STEERING: "steering: turns with the bars",
    Body.LOWER_FORK: "lower fork: turns, and slides",
}
TOUCHED = "line that other bars change"
UNTOUCHED = "line that other bars leave alone"


def rows(theme: Theme) -> tuple[tuple[str, str], ...]:
    """Colour and words of each row, from the top."""
    bodies = tuple((BODY_COLOURS[body], words) for body, words in BODY_WORDS.items())
    return (*bodies, (theme.text, TOUCHED), (theme.untouched, UNTOUCHED))


class BodyKey:
    """The key in a lower corner of the picture, where the scale of the lines else stands."""

    def __init__(self, renderer: Any) -> None:
        self._renderer = renderer
        self._flat = Flat(renderer, 1)
        self._title = Words(renderer)
        self._rows = [Words(renderer) for _ in range(len(BODY_WORDS) + 2)]
        self._state: object = None
        self.top = 0.0

    def lay_out(self, shown: bool, theme: Theme, scale: float, on_left: bool) -> None:
        """Draw it, or nothing. Does nothing while all is as it was."""
        width_there = float(self._renderer.GetSize()[0])
        scale = min(scale, 0.75 * width_there / 320.0)
        state = (shown, theme.name, scale, on_left, self._renderer.GetSize())
        if state == self._state:
            return
        self._state = state
        for words in (self._title, *self._rows):
            words.show(shown)
        if not shown:
            self._flat.draw([])
            return
        font, margin, pad = FONT * scale, 24.0 * scale, 10.0 * scale
        step, swatch = 1.65 * font, 20.0 * scale
        entries = rows(theme)
        wide = [
            words.write(text, 0.92 * font, theme.text)[0]
            for words, (_, text) in zip(self._rows, entries, strict=True)
        ]
        title = self._title.write(TITLE, font, theme.text, bold=True)[0]
        width = max(title, swatch + pad + max(wide))
        left = margin if on_left else width_there - margin - width
        low = margin
        high = low + len(entries) * step + 1.6 * font
        paper = (left - pad, low - pad, left + width + pad, high + 0.5 * pad)
        polygons = [(rounded(paper, 6.0 * scale), rgb(theme.label))]
        for k, (colour, _) in enumerate(entries):
            y = low + (len(entries) - 1 - k) * step
            line = k >= len(BODY_WORDS)
            middle, half = y + 0.4 * font, (0.22 if line else 0.5) * font
            box = (left, middle - half, left + swatch, middle + half)
            edge = 1.0 * scale
            framed = (box[0] - edge, box[1] - edge, box[2] + edge, box[3] + edge)
            polygons += [
                (rectangle(framed), rgb(theme.quiet)),
                (rectangle(box), np.array(rgb(colour))),
            ]
            self._rows[k].place(left + swatch + pad, y)
        self._flat.draw(polygons)
        self._title.place(left, low + len(entries) * step + 0.35 * font)
        self.top = high + pad
