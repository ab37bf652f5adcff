"""Lines led inside a handlebar: in at one hole, along the bore, out of another.

Inside, a line is taken to lie on the tube's centreline. Where it goes in and comes out it bends in
a circular arc that leaves the centreline and meets the tube's outer face, in the middle of the
hole, at the hole's slant (the angle between tube and line there). Over the tube's radius r that
arc has the radius R = r / (1 - cos slant), takes R sin slant of the tube and R slant of line.
From the control to the first hole the line is laid along a cubic that keeps both directions.
All this is exact where the tube is straight as far as the arcs reach. Lengths mm, angles rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from barfit.geometry.curve import arc_lengths
from barfit.geometry.frames import Array

_ARC_POINTS = 7
_LOOP_POINTS = 13
_SAME_PLACE = 0.5


@dataclass(frozen=True, eq=False)
class Mouth:
    """A hole as a line meets it.

    ``point`` (3,) on the tube's centreline; ``along`` (3,) the way the line runs inside the tube
    there; ``facing`` (3,) from the centreline out of the hole, square to it; ``slant`` rad.
    """

    point: Array
    along: Array
    facing: Array
    slant: float


@dataclass(frozen=True, eq=False)
class Inside:
    """The part of a line between its control and the hole where it comes out; it does not move.

    ``path`` (K, 3) is its centreline at the distances ``arc`` (K,) from the control; ``leaving``
    (3,) the way it comes out. Its ``length`` is made of the ``lead_in`` (control to first hole),
    ``bore`` (along the tube's centreline from hole to hole) and what ``turns`` in and out of the
    bore take more than that. ``outside`` is the straight way from the control to the last hole by
    the ties along the bar that the line would otherwise run through.
    """

    path: Array
    arc: Array
    leaving: Array
    lead_in: float
    bore: float
    turns: float
    outside: float

    @property
    def length(self) -> float:
        """How much of the line it takes, mm."""
        return self.lead_in + self.bore + self.turns


def turn_radius(height: float, slant: float) -> float:
    """Radius of the arc that turns by ``slant`` while it leaves the tube's axis by ``height``."""
    return height / (1.0 - math.cos(slant))


def led_inside(
    start: Array,
    direction: Array,
    stub: float,
    entry: Mouth,
    bore: Array,
    along: Array,
    way_out: Mouth,
    tube_radius: float,
    lead_in: float | None,
    outside: float,
) -> Inside:
    """The way of a line from a control at ``start`` (3,), which it leaves along ``direction``.

    ``bore`` (N, 3) is the tube's centreline from the first hole to the last, ``along`` (N,) how far
    from the first each point is. ``lead_in`` is the length from the control to the first hole as
    laid; None is along the smooth curve. Raises
    ValueError where the holes are too near to each other, or the length given is too short.
    """
    arcs = [turn_radius(tube_radius, mouth.slant) for mouth in (entry, way_out)]
    reach = [
        radius * math.sin(mouth.slant) for radius, mouth in zip(arcs, (entry, way_out), strict=True)
    ]
    whole = float(along[-1])
    if sum(reach) > whole:
        raise ValueError(
            f"its holes are only {whole:.0f} mm apart along the bar: to turn into the bore and "
            f"out again a line takes {sum(reach):.0f} mm"
        )
    into = _turn(entry, arcs[0], bore, along)
    # seen from the far end, a line that comes out is one that goes in
    out = _turn(way_out, arcs[1], bore[::-1], whole - along[::-1])[::-1]
    middle = bore[(along > reach[0] + _SAME_PLACE) & (along < whole - reach[1] - _SAME_PLACE)]
    going_in = math.cos(entry.slant) * entry.along - math.sin(entry.slant) * entry.facing
    tip = start + stub * direction
    loop = _loop(tip, direction, into[0], going_in)
    straight = stub + float(np.linalg.norm(into[0] - tip))
    if lead_in is None:
        lead_in = stub + float(arc_lengths(np.vstack((loop, into[:1])))[-1])
    elif lead_in < straight:
        raise ValueError(
            f"its 'lead_in' of {lead_in:.0f} mm is shorter than the straight way from the control "
            f"to the hole, {straight:.0f} mm"
        )
    before = [start[None, :]] if stub > 0.0 else []
    path = np.vstack((*before, loop, into, middle, out))
    arc = arc_lengths(path)
    turns = sum(
        radius * mouth.slant - used
        for radius, mouth, used in zip(arcs, (entry, way_out), reach, strict=True)
    )
    leaving = math.cos(way_out.slant) * way_out.along + math.sin(way_out.slant) * way_out.facing
    arc = arc * ((lead_in + whole + turns) / arc[-1])
    for array in (path, arc, leaving):
        array.flags.writeable = False
    return Inside(path, arc, leaving, lead_in, whole, turns, outside)


def _turn(mouth: Mouth, radius: float, bore: Array, along: Array) -> Array:
    """Points from the middle of a hole to the tube's centreline, along ``bore`` from that hole."""
    angle = np.linspace(mouth.slant, 0.0, _ARC_POINTS)
    at = radius * (math.sin(mouth.slant) - np.sin(angle))
    axis = np.stack([np.interp(at, along, bore[:, k]) for k in range(3)], axis=-1)
    points: Array = axis + radius * (1.0 - np.cos(angle))[:, None] * mouth.facing
    return points


def _loop(start: Array, direction: Array, end: Array, end_direction: Array) -> Array:
    """A cubic (Hermite's) from ``start`` toward ``end``, which is left out; speed is the chord."""
    chord = float(np.linalg.norm(end - start))
    if chord < _SAME_PLACE:
        return np.empty((0, 3))
    t = np.linspace(0.0, 1.0, _LOOP_POINTS)[:-1, None]
    points: Array = (
        (2.0 * t**3 - 3.0 * t**2 + 1.0) * start
        + (t**3 - 2.0 * t**2 + t) * chord * direction
        + (3.0 * t**2 - 2.0 * t**3) * end
        + (t**3 - t**2) * chord * end_direction
    )
    return points


def gentlest_radius(radius: float, angle: float, play: float, straight: float) -> float:
    """The largest radius at which a line can go round a bend of the bore.

    ``radius`` and ``angle`` (rad) of the bend's centreline; ``play`` how far the line's centre may
    stray from it to either side; ``straight`` how much straight bore on each side it may use. The
    line is a circular arc in the bend's plane between straights: it comes along the outer wall,
    cuts the corner at the inner wall and leaves along the outer wall. By the corner's geometry it
    touches the inner wall when its radius is larger by play (1 + c) / (1 - c), c = cos(angle / 2);
    its ends stay within the straights while it is larger by play + straight / tan(angle / 2) at
    most. Without straights only the outer wall is left: radius + play.
    """
    c = math.cos(0.5 * angle)
    cut = play * (1.0 + c) / (1.0 - c)
    return radius + min(cut, play + straight / math.tan(0.5 * angle))
