"""What lines may not pass through, as the solver takes it: the machine's solids, the bar, and the
clips and guides of other lines."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from barfit.geometry.bar import Piece
from barfit.geometry.parts import Holder, holders, mesh_grid
from barfit.geometry.pose import BarShape, Layout, bar_shape, layout
from barfit.mechanics.solid_kernels import ARC, BOX, CAPSULE, ELLIPSOID, GRID, SIZES, Solids
from barfit.model import Body, Box, Capsule, Ellipsoid, Mesh, Role, Setup, Shape

MOVERS = tuple(Body)  # solids ride on these, in this order
BAR = "handlebar"
_HARMFUL = (Role.ENGINE, Role.STOP)
_BUNDLE = 40.0  # mm: lines held nearer than this to each other are tied together (estimate)
Row = tuple[int, list[float]]  # kind and numbers, see `barfit.mechanics.solid_kernels`


@dataclass(frozen=True, eq=False)
class Obstacles:
    """Solids as the solver takes them, in machine axes straight ahead at ride height.

    ``part`` (S,) int is what each solid belongs to, by its number in ``names``; ``bodies`` says
    what each part rides on. ``unfelt`` (S,) are the lines that do not feel a solid: those
    that a clip holds. ``harmful`` (S,) bool are those that no line should even touch: what is hot
    and what strikes.
    """

    solids: Solids
    part: np.ndarray
    names: tuple[str, ...]
    bodies: tuple[Body, ...]
    unfelt: tuple[frozenset[str], ...]
    harmful: np.ndarray

    def blind(self, line: str) -> np.ndarray:
        """Which solids (S,) bool a line does not feel."""
        return np.array([line in lines for lines in self.unfelt], bool)


def obstacles(setup: Setup, stock: bool, places: dict[str, Layout] | None = None) -> Obstacles:
    """Everything in the way of the lines of a setup with these bars, laid out as in ``places``
    where that is known already. Raises as `layout` does.
    """
    barset = setup.bars(stock)
    nobody: frozenset[str] = frozenset()
    parts: list[tuple[str, Body, frozenset[str], list[Row]]] = []
    samples: list[np.ndarray] = []
    for solid in setup.machine.solids:
        parts.append((solid.name, solid.body, nobody, [_row(solid.shape, samples)]))
    shape = bar_shape(setup.machine, barset)
    parts.append((BAR, Body.STEERING, nobody, _bar_rows(shape)))
    places = places or layout(setup, barset)
    stations = [(name, body) for name, spots in places.items() for body in spots.bodies]
    points = np.concatenate([spots.points for spots in places.values()] or [np.zeros((0, 3))])
    for holder in holders(setup, places):
        ball = [*holder.centre, *holder.centre, holder.radius]
        name = f"'{holder.station}' of the {holder.line}"
        parts.append((name, holder.body, _bundled(holder, stations, points), [(CAPSULE, ball)]))
    rows = [(k, row) for k, (_, _, _, found) in enumerate(parts) for row in found]
    size = np.zeros((len(rows), SIZES))
    for k, (_, (_, numbers)) in enumerate(rows):
        size[k, : len(numbers)] = numbers
    part = np.array([number for number, _ in rows], np.int64)
    solids = Solids(
        kind=np.array([kind for _, (kind, _) in rows], np.int64),
        mover=np.array([MOVERS.index(parts[number][1]) for number in part], np.int64),
        size=size,
        samples=np.concatenate(samples) if samples else np.zeros(0),
    )
    names, bodies, _, _ = zip(*parts, strict=True)
    roles = [solid.role for solid in setup.machine.solids]
    return Obstacles(
        solids,
        part,
        names,
        bodies,
        unfelt=tuple(parts[number][2] for number in part),
        harmful=np.array([k < len(roles) and roles[k] in _HARMFUL for k in part], bool),
    )


def _bundled(
    holder: Holder, stations: list[tuple[str, Body]], points: np.ndarray
) -> frozenset[str]:
    """The lines that are held beside a holder, its own among them, so that it holds them too.

    ``stations`` are those of all lines: whose, on what, and where (S, 3).
    """
    away = points - holder.centre
    near = np.flatnonzero((away**2).sum(1) < _BUNDLE**2).tolist()
    return frozenset(stations[k][0] for k in near if stations[k][1] is holder.body)


def _row(shape: Shape, samples: list[np.ndarray]) -> Row:
    """A shape as the solver takes it; a mesh's distances are added to ``samples``."""
    match shape:
        case Capsule():
            return CAPSULE, [*shape.start, *shape.end, shape.radius]
        case Box():
            half = [0.5 * side - shape.rounding for side in shape.size]
            turn = [math.cos(shape.pitch), math.sin(shape.pitch)]
            return BOX, [*shape.centre, *half, shape.rounding, *turn]
        case Ellipsoid():
            turn = [math.cos(shape.pitch), math.sin(shape.pitch)]
            return ELLIPSOID, [*shape.centre, *shape.semi_axes, *turn]
        case Mesh():
            grid = mesh_grid(shape)
            first = sum(map(len, samples))
            samples.append(grid.values.ravel())
            return GRID, [*grid.origin, grid.spacing, *grid.values.shape, first]


def _bar_rows(shape: BarShape) -> list[Row]:
    """The tube of a bar on both sides: a capsule for each straight, an arc for each bend."""
    rows = []
    for mirrored in (1.0, -1.0):
        mirror = np.array([1.0, mirrored, 1.0])
        for piece in shape.line.pieces:
            rows.append(_bar_row(piece, shape, mirror))
    return rows


def _bar_row(piece: Piece, shape: BarShape, mirror: np.ndarray) -> Row:
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
    angle = piece.length / piece.radius
    ends = [math.cos(angle), math.sin(angle)]
    return ARC, [*centre, *out, *along, piece.radius, *ends, radius]
