"""Where lines touch the machine over the sweep, where that rubs, and where it squeezes them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.analysis.obstacles import MOVERS, Obstacles
from barfit.analysis.sweep import LineSweep, Pressing, Sweep
from barfit.geometry.pose import motions
from barfit.mechanics.gaps import nearest_two
from barfit.model import Body

PINCH_ROOM = 2.0  # mm beyond the line's diameter
RUB = 20.0  # mm of sliding from lock to lock, pressed on: it wears through (estimate)
RUB_FORCE = 1.0  # N (estimate)
_FACING = -0.5  # cosine: two surfaces face each other across a line
_JUMP = 15.0  # mm along the line from one pose to the next: another touch
_HELD = 0.5  # mm: a line that is deeper than this in a solid is held there, not caught


@dataclass(frozen=True)
class Touch:
    """One part that a line touches in the sweep.

    ``turns``: from which to which turn angle, rad, as often as it touches and leaves again.
    ``force``, N, is the greatest, at ``worst_turn`` (rad) and ``worst_travel`` (mm), ``at`` mm from
    the first fitting, at ``point`` mm in machine axes, after the station ``after``. ``sliding`` mm
    is how far the line slides along the part while it touches, from lock to lock or through the
    fork's travel, whichever is more.
    """

    part: str
    body: Body
    turns: tuple[tuple[float, float], ...]
    force: float
    worst_turn: float
    worst_travel: float
    at: float
    after: str
    point: tuple[float, float, float]
    sliding: float

    @property
    def rubs(self) -> bool:
        """Whether it slides so far, and is pressed so hard, that it wears."""
        return self.sliding >= RUB and self.force >= RUB_FORCE


@dataclass(frozen=True)
class Pinch:
    """A line between a part that steers and one that stands, with less room than it needs.

    ``gap`` mm between the two parts at its least, at turn ``turn`` (rad) and fork position
    ``travel`` (mm), ``at`` mm from the first fitting, after the station ``after``; ``room`` mm is
    what the line needs: its diameter and 2 mm.
    """

    steered: str
    standing: str
    gap: float
    room: float
    turn: float
    travel: float
    at: float
    after: str
    point: tuple[float, float, float]


def touches(sweep: Sweep, swept: LineSweep) -> tuple[Touch, ...]:
    """Every part that a line touches, the hardest first. None where contact was left out."""
    found = [_touch(sweep, swept, pressing) for pressing in swept.pressing]
    return tuple(sorted(found, key=lambda touch: -touch.force))


def _touch(sweep: Sweep, swept: LineSweep, pressing: Pressing) -> Touch:
    size = np.linalg.norm(pressing.force, axis=2)
    size = np.where(swept.converged, size, 0.0)
    at, turn = (int(k) for k in np.unravel_index(size.argmax(), size.shape))
    along = float(pressing.at[at, turn])
    return Touch(
        part=pressing.part,
        body=pressing.body,
        turns=sweep.stretches(np.any(size > 0.0, axis=0)),
        force=float(size[at, turn]),
        worst_turn=float(sweep.angles[turn]),
        worst_travel=float(swept.travels[at]),
        at=along,
        after=_station_before(sweep, swept, at, turn, along),
        point=_triple(pressing.point[at, turn]),
        sliding=_sliding(sweep, swept, pressing),
    )


def _sliding(sweep: Sweep, swept: LineSweep, pressing: Pressing) -> float:
    """How far the place of the line that touches moves along the part while it touches, mm."""
    turned, shifted = motions(sweep.setup.machine, pressing.body, sweep.angles, swept.travels)
    over_turn = [
        _path(swept.shapes[at], swept.arc, pressing, turned[at], shifted[at], np.s_[at])
        for at in range(len(swept.travels))
    ]
    over_travel = [
        _path(
            swept.shapes[:, turn],
            swept.arc,
            pressing,
            turned[:, turn],
            shifted[:, turn],
            np.s_[:, turn],
        )
        for turn in range(len(sweep.angles))
    ]
    return max([*over_turn, *over_travel], default=0.0)


def _path(
    shapes: np.ndarray,
    arc: np.ndarray,
    pressing: Pressing,
    turned: np.ndarray,
    shifted: np.ndarray,
    poses: tuple[slice | int, ...] | int,
) -> float:
    """Sliding over a row of P poses: ``shapes`` (P, M, 3), the part's motion (P, 3, 3), (P, 3)."""
    along, force = pressing.at[poses], pressing.force[poses]
    far = 0.0
    for k in range(len(along) - 1):
        if not abs(along[k + 1] - along[k]) < _JUMP:  # it lets go here and touches elsewhere
            continue
        middle = 0.5 * (along[k] + along[k + 1])
        here, there = (
            turned[j].T
            @ (
                np.array([np.interp(middle, arc, shapes[j][:, axis]) for axis in range(3)])
                - shifted[j]
            )
            for j in (k, k + 1)
        )
        press = turned[k].T @ force[k]
        press /= np.linalg.norm(press)
        moved = there - here
        far += float(np.linalg.norm(moved - press * (press @ moved)))
    return far


def pinches(sweep: Sweep, swept: LineSweep) -> tuple[Pinch, ...]:
    """Where a line is squeezed between a part that steers and one that stands, the worst first.

    Lines at poses that did not settle are not looked at. None where contact was left out.
    """
    around = swept.spans[0].case.around
    if around is None:
        return ()
    room = swept.spans[0].case.line.diameter + PINCH_ROOM
    found: dict[tuple[str, str], Pinch] = {}
    for at, travel in enumerate(swept.travels):
        away, which, facing = _near(sweep, swept, around, at, float(travel), room)
        gap = away.sum(2)
        caught = (gap < room) & (facing < _FACING) & swept.converged[at][:, None]
        radius = 0.5 * swept.spans[0].case.line.diameter
        caught &= (away > radius - _HELD).all(2)
        for turn, place in np.argwhere(caught):
            standing, steered = (around.names[around.part[s]] for s in which[turn, place])
            known = found.get((steered, standing))
            if known is not None and known.gap <= gap[turn, place]:
                continue
            along = float(swept.arc[place])
            found[steered, standing] = Pinch(
                steered=steered,
                standing=standing,
                gap=float(gap[turn, place]),
                room=room,
                turn=float(sweep.angles[turn]),
                travel=float(travel),
                at=along,
                after=_station_before(sweep, swept, at, int(turn), along),
                point=_triple(swept.shapes[at, turn, place]),
            )
    return tuple(sorted(found.values(), key=lambda pinch: pinch.gap))


def _near(
    sweep: Sweep, swept: LineSweep, around: Obstacles, at: int, travel: float, room: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """`nearest_two` for one suspension position; other lines' clips are left out."""
    every = [motions(sweep.setup.machine, body, sweep.angles, [travel]) for body in MOVERS]
    turns = np.stack([turned[0] for turned, _ in every], 1)
    shifts = np.stack([moved[0] for _, moved in every], 1)
    clips = np.array([bool(lines) for lines in around.unfelt], bool)
    lines = np.ascontiguousarray(swept.shapes[at])
    return nearest_two(lines, around.solids, turns, shifts, clips, room)


def _station_before(sweep: Sweep, swept: LineSweep, at: int, turn: int, along: float) -> str:
    """Name of the last station before a place along a line."""
    names = swept.spans[0].case.layout.names
    places = swept.stations_at[at, turn]
    before = int(np.searchsorted(places, along, side="right")) - 1
    return names[min(max(before, 0), len(names) - 1)]


def _triple(point: np.ndarray) -> tuple[float, float, float]:
    x, y, z = point
    return float(x), float(y), float(z)
