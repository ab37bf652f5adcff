"""Marks beside the lines: a dot at the place and its words in a column beside the machine.

The words stand clear of the bars and lines, at the height of what they speak of as nearly as the
others allow, with a leader to it. Where there is no room beside these, they stand above or below.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from barfit.scene.colours import Theme, rgb
from barfit.scene.marks import Mark
from barfit.scene.overlay import FONT, Box, Flat, Words, disc, rectangle, stroke
from barfit.scene.pick import in_picture


class Callouts:
    """All marks on a plotter's renderer."""

    def __init__(self, renderer: Any) -> None:
        self._renderer = renderer
        self._flat = Flat(renderer, 3)
        self._words: list[tuple[Words, Words]] = []
        self._left: dict[str, bool] = {}
        self._free: Box = (0.0, 0.0, 0.0, 0.0)
        self.boxes: list[Box] = []

    def lay_out(
        self,
        marks: Sequence[Mark],
        subject: np.ndarray,
        floor: float,
        theme: Theme,
        scale: float,
        *,
        names: bool,
        free: Box = (0.0, 0.0, 0.0, 0.0),
    ) -> None:
        """Draw ``marks`` left and right of the points ``subject`` (M, 3).

        The left column ends above ``floor`` pixels, where the legend is. ``names`` also writes
        which line a mark is of. What is written keeps out of the shares ``free`` of the picture
        at the left, right, bottom and top.
        """
        self.boxes = []
        self._free = free
        for pair in self._words:
            for words in pair:
                words.show(False)
        polygons: list[tuple[np.ndarray, np.ndarray]] = []
        if marks:
            spots, ahead = in_picture(self._renderer, np.array([m.point for m in marks]))
            size = np.array(self._renderer.GetSize())
            inside = ahead & (spots > 0.0).all(axis=1) & (spots < size).all(axis=1)
            seen = [k for k in range(len(marks)) if (ahead if marks[k].named else inside)[k]]
            flat = in_picture(self._renderer, subject)[0]
            self._choose_sides([m.line for m in marks], spots[:, 0], flat[:, 0], scale)
            taken = (*flat.min(axis=0), *flat.max(axis=0))
            for left in (True, False):
                mine = [k for k in seen if self._left[marks[k].line] is left]
                mine.sort(key=lambda k: -spots[k][1])
                polygons += self._column(
                    [marks[k] for k in mine],
                    spots[mine],
                    taken,
                    left,
                    len(mine) == len(seen),
                    floor,
                    theme,
                    scale,
                    names,
                )
        self._flat.draw(polygons)

    def _choose_sides(
        self, lines: Sequence[str], spots: np.ndarray, across: np.ndarray, scale: float
    ) -> None:
        """Words to either side of the widest gap between their places that splits them fairly;
        those near it stay where they were.
        """
        x = np.sort(spots)
        most = int(np.ceil(2.0 * len(x) / 3.0))
        cuts = [k for k in range(1, len(x)) if max(k, len(x) - k) <= most]
        if np.ptp(x) < 40.0 * scale or not cuts:
            middle = 0.5 * float(across.min() + across.max())
        else:
            cut = max(cuts, key=lambda k: x[k] - x[k - 1])
            middle = 0.5 * float(x[cut - 1] + x[cut])
        kept = self._left
        self._left = {}
        for line, at in zip(lines, spots, strict=True):
            near = abs(at - middle) < 40.0 * scale
            self._left[line] = kept[line] if near and line in kept else bool(at < middle)

    def _column(
        self,
        marks: Sequence[Mark],
        spots: np.ndarray,
        taken: Box,
        left: bool,
        alone: bool,
        floor: float,
        theme: Theme,
        scale: float,
        names: bool,
    ) -> list[tuple[np.ndarray, np.ndarray]]:
        width, height = self._renderer.GetSize()
        font, pad, bar, gap = (n * scale for n in (FONT, 6.0, 4.0, 6.0))
        rows = [2.3 if names and mark.named else 1.0 for mark in marks]
        tall = 2.0 * pad + max(rows, default=1.0) * font
        edges = [
            share * size
            for share, size in zip(self._free, (width, width, height, height), strict=True)
        ]
        top = height - max(14.0 * scale, edges[3]) - 0.5 * tall
        bottom = max(floor if left else 14.0 * scale, edges[2]) + 0.5 * tall
        pairs: list[tuple[Words, Words]] = []
        wide: list[float] = []
        for mark in marks:
            name, words = self._pair(len(self.boxes) + len(pairs))
            pairs.append((name, words))
            room = words.write(mark.words, font, theme.text, bold=True)[0]
            if names and mark.named:
                room = max(room, name.write(mark.line, 0.86 * font, theme.quiet)[0])
            wide.append(bar + 2.0 * pad + room)
        clear, edge = 22.0 * scale, taken[0] if left else taken[2]
        low, high = max(12.0 * scale, edges[0]), width - max(12.0 * scale, edges[1])
        beside = edge - clear - low if left else high - edge - clear
        between = bottom, top
        if max(wide, default=0.0) > beside:
            stack = (len(marks) - 1) * (tall + gap)
            between = away((bottom, top), (taken[1], taken[3]), 0.5 * tall + gap, stack)
        over = alone and between != (bottom, top)
        centres = spread(spots[:, 1], tall + gap, *between)
        polygons: list[tuple[np.ndarray, np.ndarray]] = []
        for k, (mark, spot, y) in enumerate(zip(marks, spots, centres, strict=True)):
            half = pad + 0.5 * rows[k] * font
            if over:  # a leader as short as can be
                x = spot[0] - 0.5 * wide[k]
            else:
                x = edge - clear - wide[k] if left else edge + clear
            x = float(np.clip(x, low, max(high - wide[k], low)))
            box = (x, y - half, x + wide[k], y + half)
            self.boxes.append(box)
            polygons += _drawn(box, spot, left, rgb(mark.colour), rgb(theme.label), bar, scale)
            # the text stands against the side that faces what it speaks of
            at, align = (box[2] - bar - pad, "right") if left else (x + bar + pad, "left")
            name, words = pairs[k]
            words.place(at, box[1] + pad, align)
            words.show(True)
            if names and mark.named:
                name.place(at, box[1] + pad + 1.25 * font, align)
                name.show(True)
        return polygons

    def _pair(self, used: int) -> tuple[Words, Words]:
        """Two texts not yet in use in this frame, where ``used`` are."""
        if used == len(self._words):
            self._words.append((Words(self._renderer, 4), Words(self._renderer, 4)))
        return self._words[used]


def _drawn(
    box: Box,
    spot: np.ndarray,
    left: bool,
    colour: np.ndarray,
    paper: np.ndarray,
    bar: float,
    scale: float,
) -> list[tuple[np.ndarray, np.ndarray]]:
    """The leader, the dot and the box of one mark."""
    end = np.array([box[2] if left else box[0], 0.5 * (box[1] + box[3])])
    if box[0] < spot[0] < box[2]:  # above or below it: by the shortest way
        end = np.clip(spot, box[:2], box[2:])
    inner = (box[2] - bar, box[2]) if left else (box[0], box[0] + bar)
    edge = 1.0 * scale
    outer = (box[0] - edge, box[1] - edge, box[2] + edge, box[3] + edge)
    return [
        (stroke(spot, end, 3.0 * scale), paper),
        (stroke(spot, end, 1.2 * scale), colour),
        (disc(spot, 5.4 * scale), paper),
        (disc(spot, 3.8 * scale), colour),
        (rectangle(outer), colour),
        (rectangle(box), paper),
        (rectangle((inner[0], box[1], inner[1], box[3])), colour),
    ]


def away(
    between: tuple[float, float], heights: tuple[float, float], clear: float, stack: float
) -> tuple[float, float]:
    """The heights between which the middles of a stack of words may stand that has no room beside
    something from the lower to the upper of ``heights``: above it or below, where there is more
    room, or anywhere where there is too little on either side.

    ``clear`` is how far a middle keeps from it, ``stack`` how far the last is below the first; all
    in pixels.
    """
    low, high = between
    above, below = max(heights[1] + clear, low), min(heights[0] - clear, high)
    rooms = (high - above - stack, (above, high)), (below - low - stack, (low, below))
    room, there = max(rooms)
    return there if room >= 0.0 else between


def spread(wanted: np.ndarray, pitch: float, low: float, high: float) -> np.ndarray:
    """Places (K,) as near to ``wanted`` (K,), descending, as being ``pitch`` apart allows.

    Least squares by pooling adjacent violators; then moved into ``low`` .. ``high`` as far as
    there is room.
    """
    offsets = -pitch * np.arange(len(wanted))
    pools: list[list[float]] = []
    for value in wanted - offsets:
        pools.append([float(value), 1.0])
        while len(pools) > 1 and pools[-2][0] < pools[-1][0]:
            value_b, count_b = pools.pop()
            value_a, count_a = pools.pop()
            count = count_a + count_b
            pools.append([(value_a * count_a + value_b * count_b) / count, count])
    level = np.repeat([value for value, _ in pools], [int(count) for _, count in pools])
    # each place may go no lower than leaves room for those below it, and no higher than for those
    # above it; where there is not room for all, the top one stays in the picture
    return np.minimum(np.maximum(level, low - offsets[-1]) if len(level) else level, high) + offsets
