"""What lines may not pass through: the machine's solids, the bar, and other lines' clips."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import singledispatch

import numpy as np

from barfit.geometry.bar import Piece
from barfit.geometry.pose import BarShape, bar_shape, layout
from barfit.mechanics.solid_kernels import ARC, BOX, CAPSULE, ELLIPSOID, SIZES, Solids
from barfit.model import Body, Box, Capsule, Ellipsoid, Hold, Setup

MOVERS = tuple(Body)  # solids ride on these, in this order
BAR = "handlebar"
_CLIP_WALL = 2.0  # mm of clip round the line it holds (estimate)


@dataclass(frozen=True, eq=False)
class Obstacles:
    """Solids as the solver takes them, in machine axes straight ahead at ride height.

    ``part`` (S,) int is what each solid belongs to, by its number in ``names``; ``bodies`` says
    what each part rides on. ``owners`` (S,) is the line to whose clip a solid belongs, "" for none:
    that line does not feel it.
    """

    solids: Solids
    part: np.ndarray
    names: tuple[str, ...]
    bodies: tuple[Body, ...]
    owners: tuple[str, ...]

    def blind(self, line: str) -> np.ndarray:
        """Which solids (S,) bool a line does not feel."""
        return np.array([owner == line for owner in self.owners], bool)


def obstacles(setup: Setup, stock: bool) -> Obstacles:
    """Everything in the way of the lines of a setup with these bars. Raises as `layout` does."""
    rows: list[tuple[int, list[float]]] = []
    parts: list[tuple[str, Body]] = []
    part, owners = [], []

    def add(name: str, body: Body, owner: str, found: list[tuple[int, list[float]]]) -> None:
        parts.append((name, body))
        for row in found:
            rows.append(row)
            part.append(len(parts) - 1)
            owners.append(owner)

    for solid in setup.machine.solids:
        add(solid.name, solid.body, "", [_row(solid.shape)])
    shape = bar_shape(setup.machine, setup.bars(stock))
    add(BAR, Body.STEERING, "", _bar_rows(shape))
    places = layout(setup, setup.bars(stock))
    for line in setup.lines:
        spots = places[line.name]
        for name, body, hold, point in zip(
            spots.names, spots.bodies, spots.holds, spots.points, strict=True
        ):
            if hold is Hold.CLIP:
                ball = [*point, *point, 0.5 * line.diameter + _CLIP_WALL]
                add(f"{name} of the {line.name}", body, line.name, [(CAPSULE, ball)])
    size = np.zeros((len(rows), SIZES))
    for k, (_, numbers) in enumerate(rows):
        size[k, : len(numbers)] = numbers
    movers = np.array([MOVERS.index(parts[number][1]) for number in part], np.int64)
    solids = Solids(np.array([kind for kind, _ in rows], np.int64), movers, size)
    return Obstacles(
        solids,
        np.array(part, np.int64),
        tuple(name for name, _ in parts),
        tuple(body for _, body in parts),
        tuple(owners),
    )


@singledispatch
def _row(shape: object) -> tuple[int, list[float]]:
    """Kind and numbers of a shape; see `barfit.mechanics.solid_kernels`."""
    raise TypeError(f"no distance is known for a {type(shape).__name__}")


@_row.register
def _capsule(shape: Capsule) -> tuple[int, list[float]]:
    return CAPSULE, [*shape.start, *shape.end, shape.radius]


@_row.register
def _box(shape: Box) -> tuple[int, list[float]]:
    half = [0.5 * side - shape.rounding for side in shape.size]
    turn = [math.cos(shape.pitch), math.sin(shape.pitch)]
    return BOX, [*shape.centre, *half, shape.rounding, *turn]


@_row.register
def _ellipsoid(shape: Ellipsoid) -> tuple[int, list[float]]:
    turn = [math.cos(shape.pitch), math.sin(shape.pitch)]
    return ELLIPSOID, [*shape.centre, *shape.semi_axes, *turn]


def _bar_rows(shape: BarShape) -> list[tuple[int, list[float]]]:
    """The tube of a bar on both sides: a capsule for each straight, an arc for each bend."""
    rows = []
    for mirrored in (1.0, -1.0):
        mirror = np.array([1.0, mirrored, 1.0])
        for piece in shape.line.pieces:
            rows.append(_bar_row(piece, shape, mirror))
    return rows


def _bar_row(piece: Piece, shape: BarShape, mirror: np.ndarray) -> tuple[int, list[float]]:
    radius = 0.5 * shape.tube_diameter

    def placed(point: np.ndarray) -> np.ndarray:
        moved = shape.pivot + shape.roll @ (shape.origin + shape.axes @ point - shape.pivot)
        return np.asarray(moved * mirror)

    def turned(direction: np.ndarray) -> np.ndarray:
        return np.asarray(shape.roll @ (shape.axes @ direction) * mirror)

    if math.isinf(piece.radius):
        end = piece.start + piece.length * piece.direction
        return CAPSULE, [*placed(piece.start), *placed(end), radius]
    centre = placed(piece.start + piece.radius * piece.inward)
    out, along = turned(-piece.inward), turned(piece.direction)
    return ARC, [*centre, *out, *along, piece.radius, piece.length / piece.radius, radius]
