"""Handlebar centrelines from trade dimensions, and trade dimensions from centrelines.

A centreline is the left half of a bar in bar axes: x forward, y outward to the left, z in the
direction of rise; the origin is the centre of the bar between its clamps (for a clip-on: the
inner end of its tube). It is made of straights joined by true circular arcs.

A one-piece bar runs from its centre to the lower corner (0, centre_width/2, 0), by way of an
optional shoulder to the inner end of the hand straight, and along the hand straight to the bar
end (-pullback, width/2, rise - hand_straight sin(downsweep)). Rise, centre width and the hand
straight are measured, as on a bench drawing, to the corners where the straights would meet;
the bends then round the corners off. Lengths mm, angles rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from barfit.geometry.frames import Array

MAX_WIDTH = 3000.0
MAX_HEIGHT = 1500.0  # of rise and pullback either way
MAX_STRAIGHT_STEP = 10.0
MAX_ARC_STEP = math.radians(3.0)
_SAME_PLACE = 1e-6  # mm: corners closer than this are one corner
_NO_TURN = 1e-8  # rad: a corner that turns less is part of a straight


class BarError(ValueError):
    """A bar that cannot be built; the message is the reason in one sentence."""


@dataclass(frozen=True, eq=False)
class Piece:
    """A straight (``radius`` inf) or an arc, to whose centre ``inward`` points."""

    start: Array
    direction: Array
    inward: Array
    radius: float
    length: float

    def at(self, distance: Array) -> tuple[Array, Array]:
        """Points and unit tangents, each (M, 3), at ``distance`` (M,) from the piece's start."""
        along = distance[:, None]
        if math.isinf(self.radius):
            tangents = np.repeat(self.direction[None, :], len(distance), axis=0)
            return self.start + along * self.direction, tangents
        angle = along / self.radius
        # 1 - cos(angle), written so that it keeps its digits for a small angle
        points = self.start + self.radius * (
            np.sin(angle) * self.direction + 2.0 * np.sin(0.5 * angle) ** 2 * self.inward
        )
        return points, np.cos(angle) * self.direction + np.sin(angle) * self.inward

    def samples(self) -> Array:
        """Distances (K,) from the start, both ends included, fine enough to draw and measure."""
        if math.isinf(self.radius):
            # two at least: the point inside is what tells a straight from a chord of an arc
            count = max(2, math.ceil(self.length / MAX_STRAIGHT_STEP))
        else:
            count = max(4, math.ceil(self.length / self.radius / MAX_ARC_STEP - 1e-9))
        return np.linspace(0.0, self.length, count + 1)


@dataclass(frozen=True, eq=False)
class Centreline:
    """Straights and arcs end to end, tangent to each other."""

    pieces: tuple[Piece, ...]

    @cached_property
    def starts(self) -> Array:
        """Distance (P,) along the centreline at which each piece begins."""
        return np.concatenate([[0.0], np.cumsum([piece.length for piece in self.pieces])[:-1]])

    @property
    def length(self) -> float:
        """Developed length, mm."""
        return float(self.starts[-1] + self.pieces[-1].length)

    def at(self, distance: float) -> tuple[Array, Array]:
        """Point and unit tangent, each (3,), at ``distance`` from the first end.

        Raises ValueError outside 0 .. length.
        """
        if not 0.0 <= distance <= self.length:
            raise ValueError(f"{distance:.1f} mm is outside 0 to {self.length:.1f} mm")
        index = int(np.searchsorted(self.starts, distance, side="right")) - 1
        points, tangents = self.pieces[index].at(np.array([distance - self.starts[index]]))
        return points[0], tangents[0]

    @cached_property
    def points(self) -> Array:
        """Points (N, 3) along the centreline; every piece's ends are among them. Read-only."""
        parts = [piece.at(piece.samples())[0] for piece in self.pieces]
        points = np.concatenate([parts[0], *(part[1:] for part in parts[1:])])
        points.flags.writeable = False
        return points


def hand_direction(sweep: float, downsweep: float) -> Array:
    """Unit direction (3,) of the left hand straight, toward the bar end, in bar axes."""
    return np.array(
        [
            -math.sin(sweep) * math.cos(downsweep),
            math.cos(sweep) * math.cos(downsweep),
            -math.sin(downsweep),
        ]
    )


def one_piece(
    *,
    width: float,
    rise: float,
    pullback: float,
    centre_width: float,
    tube_diameter: float,
    grip_diameter: float,
    bend_radius: float,
    hand_straight: float,
    grip_length: float,
    sweep: float,
    downsweep: float,
    shoulder: tuple[float, float, float] | None = None,
) -> Centreline:
    """The left half of a one-piece bar, from its centre to the bar end, in bar axes.

    ``shoulder`` is (half width, height, forward) of an extra corner from the clamp centre.
    Raises BarError with the reason when the dimensions contradict each other.
    """
    _check_numbers(
        {
            "width": width,
            "centre width": centre_width,
            "tube diameter": tube_diameter,
            "grip diameter": grip_diameter,
            "bend radius": bend_radius,
            "hand straight": hand_straight,
            "grip length": grip_length,
        },
        {"rise": rise, "pullback": pullback},
        {"sweep": sweep, "downsweep": downsweep},
    )
    if width > MAX_WIDTH:
        raise BarError(
            f"the width of {_mm(width)} is more than a handlebar can have: "
            f"at most {_mm(MAX_WIDTH)} is accepted"
        )
    for name, value in (("rise", rise), ("pullback", pullback)):
        if abs(value) > MAX_HEIGHT:
            raise BarError(
                f"the {name} of {_mm(value)} is out of reach: "
                f"{_mm(-MAX_HEIGHT)} to {_mm(MAX_HEIGHT)} is accepted"
            )
    if centre_width >= width:
        raise BarError(
            f"the centre width of {_mm(centre_width)} leaves nothing of the width of "
            f"{_mm(width)}: it must be less"
        )
    if bend_radius <= 0.5 * tube_diameter:
        raise BarError(
            f"the bend radius of {_mm(bend_radius)} is impossible for a tube of "
            f"{_mm(tube_diameter)}: it must be more than {_mm(0.5 * tube_diameter)}"
        )
    _check_grip(grip_length, hand_straight, "hand straight")
    toward_end = hand_direction(sweep, downsweep)
    end = np.array([-pullback, 0.5 * width, rise - hand_straight * math.sin(downsweep)])
    inner = end - hand_straight * toward_end
    if inner[1] <= 0.0:
        raise BarError(
            f"the hand straight of {_mm(hand_straight)} does not fit a bar {_mm(width)} wide: "
            f"the inner ends cross; less than {_floor(0.5 * width / toward_end[1])} fits"
        )
    corners = [(np.zeros(3), "the centre of the bar")]
    corners.append((np.array([0.0, 0.5 * centre_width, 0.0]), "the lower corner"))
    if shoulder is not None:
        corners.append((_shoulder_corner(shoulder), "the shoulder"))
    corners.append((inner, "the inner end of the hand straight"))
    corners.append((end, "the bar end"))
    return _rounded(corners, bend_radius, 0.5 * tube_diameter, grip_length)


def clip_on(
    *,
    length: float,
    tube_diameter: float,
    grip_diameter: float,
    grip_length: float,
    sweep: float,
    downsweep: float,
) -> Centreline:
    """The straight tube of the left clip-on, from its inner end to the bar end, in bar axes.

    Raises BarError with the reason when the dimensions contradict each other.
    """
    _check_numbers(
        {
            "length": length,
            "tube diameter": tube_diameter,
            "grip diameter": grip_diameter,
            "grip length": grip_length,
        },
        {},
        {"sweep": sweep, "downsweep": downsweep},
    )
    if length > 0.5 * MAX_WIDTH:
        raise BarError(
            f"the length of {_mm(length)} is more than a clip-on can have: "
            f"at most {_mm(0.5 * MAX_WIDTH)} is accepted"
        )
    _check_grip(grip_length, length, "length")
    direction = hand_direction(sweep, downsweep)
    return Centreline((Piece(np.zeros(3), direction, np.zeros(3), math.inf, length),))


@dataclass(frozen=True)
class Measured:
    """What a tape and a protractor find on a bar. Lengths mm, angles rad.

    ``corners`` is how many bends were found on one side. ``centre_width`` is nan and
    ``smallest_radius`` inf without any; the hand straight is then the whole half.
    """

    width: float
    rise: float
    pullback: float
    centre_width: float
    hand_straight: float
    sweep: float
    downsweep: float
    smallest_radius: float
    corners: int


def measure(points: npt.ArrayLike) -> Measured:
    """Trade dimensions of a centreline ``points`` (N, 3) in bar axes, centre to left bar end.

    Uses the points alone: straights are where neighbouring chords do not turn, the corners are
    where neighbouring straights meet, the radius is that of the circle through three points.
    Raises ValueError for fewer than three points, for no straight at either end, and where two
    bends out of one plane have none between them.
    """
    points = np.asarray(points, dtype=float)
    if points.ndim != 2 or points.shape[1] != 3 or len(points) < 3:
        raise ValueError("a centreline needs at least three points of three coordinates")
    chords = np.diff(points, axis=0)
    before, after = chords[:-1], chords[1:]
    crossed = np.linalg.norm(np.cross(before, after), axis=1)
    turns = np.arctan2(crossed, np.sum(before * after, axis=1))
    straight = np.flatnonzero(turns < _NO_TURN) + 1  # points whose two chords are in line
    if not len(straight) or straight[0] != 1 or straight[-1] != len(points) - 2:
        raise ValueError("a centreline needs a straight at its centre and at its end")
    runs = np.split(straight, np.flatnonzero(np.diff(straight) > 1) + 1)
    ends = [(points[run[0] - 1], points[run[-1] + 1]) for run in runs]
    corners = [_meeting(*a, *b) for a, b in pairwise(ends)]
    start = corners[-1] if corners else points[0]
    end = points[-1]
    hand = end - start
    bends = turns >= _NO_TURN
    spans = np.linalg.norm(points[2:] - points[:-2], axis=1)[bends]
    radii = spans / (2.0 * np.sin(turns[bends]))
    return Measured(
        width=2.0 * float(end[1]),
        rise=float(start[2]),
        pullback=-float(end[0]),
        centre_width=2.0 * float(corners[0][1]) if corners else math.nan,
        hand_straight=float(np.linalg.norm(hand)),
        sweep=math.atan2(-hand[0], hand[1]),
        downsweep=math.atan2(-hand[2], math.hypot(hand[0], hand[1])),
        smallest_radius=float(np.min(radii, initial=math.inf)),
        corners=len(corners),
    )


def _rounded(
    corners: Sequence[tuple[Array, str]], radius: float, tube_radius: float, grip_length: float
) -> Centreline:
    """Straights through named ``corners``, the inner ones rounded by arcs of ``radius``.

    The last ``grip_length`` stays straight. Raises BarError when the bends do not fit.
    """
    kept = [corners[0]]
    for corner in corners[1:]:
        if np.linalg.norm(corner[0] - kept[-1][0]) > _SAME_PLACE:
            kept.append(corner)
    vertices = np.array([vertex for vertex, _ in kept])
    legs = np.diff(vertices, axis=0)
    lengths = np.linalg.norm(legs, axis=1)
    directions = legs / lengths[:, None]
    before, after = directions[:-1], directions[1:]
    crossed = np.linalg.norm(np.cross(before, after), axis=1)
    turns = np.arctan2(crossed, np.sum(before * after, axis=1))
    turns = np.where(turns < _NO_TURN, 0.0, turns)
    # straight used up by a bend, for each mm of its radius, on either side of its corner
    share = np.concatenate([[0.0], np.tan(0.5 * turns), [0.0]])
    needed = share[:-1] + share[1:]
    names = [*(name for _, name in kept[:-1]), "the grip"]
    free = np.append(lengths[:-1], lengths[-1] - grip_length)
    _check_bends(names, free, needed, radius, tube_radius)
    pieces = []
    place = vertices[0]
    for leg, direction in enumerate(directions):
        length = lengths[leg] - radius * needed[leg]
        if length > _SAME_PLACE:
            pieces.append(Piece(place, direction, np.zeros(3), math.inf, float(length)))
        if leg == len(turns):
            break
        turn = float(turns[leg])
        place = vertices[leg + 1] - radius * share[leg + 1] * direction
        if turn > 0.0:
            inward = directions[leg + 1] - math.cos(turn) * direction
            inward = inward / np.linalg.norm(inward)
            pieces.append(Piece(place, direction, inward, radius, radius * turn))
            place = vertices[leg + 1] + radius * share[leg + 1] * directions[leg + 1]
    return Centreline(tuple(pieces))


def _check_bends(
    names: Sequence[str], lengths: Array, needed: Array, radius: float, tube_radius: float
) -> None:
    """Refuse a radius whose bends overlap on some leg, naming the tightest leg."""
    largest = np.divide(lengths, needed, out=np.full_like(needed, math.inf), where=needed > 0.0)
    leg = int(np.argmin(largest))
    if radius <= largest[leg] * (1.0 + 1e-12):
        return
    remedy = (
        f"at most {_floor(largest[leg])} fits"
        if largest[leg] > tube_radius
        else "no bend of this tube fits, so they must be further apart or less of a hairpin"
    )
    raise BarError(
        f"the bend radius of {_mm(radius)} needs {_mm(radius * needed[leg])} of tube between "
        f"{names[leg]} and {names[leg + 1]}, but there is only {_mm(lengths[leg])}: {remedy}"
    )


def _shoulder_corner(shoulder: tuple[float, float, float]) -> Array:
    half_width, height, forward = shoulder
    _check_numbers(
        {"half width of the shoulder": half_width},
        {"height of the shoulder": height, "shoulder's distance forward": forward},
        {},
    )
    limits = (0.5 * MAX_WIDTH, MAX_HEIGHT, MAX_HEIGHT)
    names = ("half width of the shoulder", "height of the shoulder", "shoulder's distance forward")
    for name, value, limit in zip(names, shoulder, limits, strict=True):
        if abs(value) > limit:
            raise BarError(
                f"the {name} of {_mm(value)} is out of reach: at most {_mm(limit)} is accepted"
            )
    return np.array([forward, half_width, height])


def _meeting(a: Array, b: Array, c: Array, d: Array) -> Array:
    """Where the straight through a and b meets the one through c and d.

    Raises ValueError where they miss: then more than one bend lies between them.
    """
    columns = np.column_stack([b - a, c - d])
    (along, back), *_ = np.linalg.lstsq(columns, c - a, rcond=None)
    on_first, on_second = a + along * (b - a), c + back * (d - c)
    if np.linalg.norm(on_first - on_second) > _SAME_PLACE * (1.0 + np.linalg.norm(d - a)):
        raise ValueError("two bends of a centreline need a straight between them")
    meeting: Array = 0.5 * (on_first + on_second)
    return meeting


def _check_numbers(
    positive: dict[str, float], signed: dict[str, float], angles: dict[str, float]
) -> None:
    """Refuse what is not finite, not positive where it must be, or not an acute angle."""
    for name, value in positive.items():
        if not (math.isfinite(value) and value > 0.0):
            raise BarError(f"the {name} of {_mm(value)} is impossible: it must be more than 0 mm")
    for name, value in signed.items():
        if not math.isfinite(value):
            raise BarError(f"the {name} of {_mm(value)} is impossible: it must be a finite length")
    for name, value in angles.items():
        if not abs(value) < 0.5 * math.pi:
            raise BarError(
                f"the {name} of {math.degrees(value):.4g}° is impossible: "
                "it must lie between -90° and 90°"
            )


def _check_grip(grip_length: float, straight: float, name: str) -> None:
    if grip_length > straight:
        raise BarError(
            f"the grip length of {_mm(grip_length)} is longer than the {name} of "
            f"{_mm(straight)}: it must not be"
        )


def _mm(value: float) -> str:
    return f"{round(value, 1):.10g} mm"


def _floor(value: float) -> str:
    """A largest acceptable length, never rounded up past what fits."""
    step = 1.0 if value >= 10.0 else 0.1
    return _mm(math.floor(value / step) * step)
