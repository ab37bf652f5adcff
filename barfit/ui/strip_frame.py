"""Where things lie on the turn strip."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QFontMetricsF

from barfit.ui.theme import GRID, Type, font

AXIS = 5 * GRID + 4  # at the usual size of type; see axis_height
EDGE = 3 * GRID  # right of the last degree, room for half a mark and a word
MARK = 14.0  # px, the size of a verdict's mark
ROW_LEAST, ROW_USUAL, ROW_MOST = 16, 20, 26
LEAST_ROWS = 6  # room is kept for so many, so that the strip does not jump when lines arrive


@dataclass(frozen=True)
class StripFrame:
    """A strip of ``width`` and ``height`` px: names in a column ``labels`` wide, then the turn
    from the first of ``locks`` to the second (rad); ``rows`` lines.
    """

    width: float
    height: float
    labels: float
    locks: tuple[float, float] = (-math.radians(40), math.radians(40))
    rows: int = 0
    axis: float = AXIS

    @property
    def plot(self) -> QRectF:
        """The rectangle over which the turn runs, down to the last row."""
        room = max(self.height - self.axis - GRID, 1.0)
        height = min(room, max(self.rows, 1) * max(ROW_MOST, row_usual()))
        return QRectF(self.labels, self.axis, max(self.width - self.labels - EDGE, 1.0), height)

    def x_of(self, turn: float) -> float:
        """Where a turn (rad) lies, px."""
        right, left = self.locks
        plot = self.plot
        return plot.left() + plot.width() * (turn - right) / (left - right)

    def mark_x(self, turn: float) -> float:
        """The middle of a mark at a turn: at the locks it stays within the ribbon."""
        plot = self.plot
        half = MARK / 2
        return min(max(self.x_of(turn), plot.left() + half), plot.right() - half)

    def turn_at(self, x: float) -> float:
        """The turn (rad) at a place, no further than the locks."""
        right, left = self.locks
        plot = self.plot
        turn = right + (left - right) * (x - plot.left()) / plot.width()
        return min(max(turn, right), left)

    def row_box(self, index: int) -> QRectF:
        """The box of a row's ribbon."""
        plot = self.plot
        height = plot.height() / max(self.rows, 1)
        return QRectF(plot.left(), plot.top() + index * height, plot.width(), height)

    def row_at(self, y: float) -> int | None:
        """The row at a height, if any."""
        plot = self.plot
        if not self.rows or not plot.top() <= y < plot.bottom():
            return None
        return int((y - plot.top()) / (plot.height() / self.rows))


def axis_height() -> int:
    """px over the rows: the turn or the locks, and under them the degrees."""
    return max(AXIS, round(2 * QFontMetricsF(font(Type.SMALL)).height() + 2 * GRID))


def row_least() -> int:
    """px of a row, so that its name can still be read."""
    return max(ROW_LEAST, round(QFontMetricsF(font(Type.BODY)).height()))


def row_usual() -> int:
    """px of a row, with some air."""
    return max(ROW_USUAL, row_least() + 4)


def height_for(rows: int, each: int) -> int:
    """The height of a strip whose rows are ``each`` px high."""
    return axis_height() + max(rows, LEAST_ROWS) * each + GRID
