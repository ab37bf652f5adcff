"""Wires led inside the bar: do they fill it, pass its bends and its holes, and weaken it where?

Lines that share a stretch of the bore add up. A line counts as one, however many wires its sleeve
holds, as a multiconductor cable does in NFPA 70 (chapter 9, note 9 to the tables).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from barfit.catalogue import limit, line_property
from barfit.geometry.pose import BarShape, bar_shape, layout
from barfit.geometry.through import Inside, gentlest_radius, turn_radius
from barfit.model import Bar, BarSet, ClipOn, Connector, Hole, Line, Setup
from barfit.trade.judged import Grade, Judged, at_least, at_most, noted
from barfit.trade.sizes import clamp_width

FILLS = ("bore_fill_one", "bore_fill_two", "bore_fill_more")  # the limits, by how many lines


@dataclass(frozen=True)
class Blocked:
    """A connector that must come off, and the first opening it does not pass: a hole or the bore"""

    connector: Connector
    opening: str


@dataclass(frozen=True)
class ThroughLine:
    """One line led inside the bar.

    ``inside`` is how much of it lies between control and the hole where it comes out, ``extra``
    how much more that is than the straight way outside along the same ties. ``fill`` is the
    greatest share of the bore's area that is taken along its way, by ``sharing`` (the line itself
    among them); its limit is that of the key ``fill_limit``. ``bend`` is the largest radius at
    which it can go round the bar's tightest bend on its way (None where there is none) and ``snug``
    the radius there when it is pulled against the inner wall; ``turn`` the largest radius at which
    it can turn into the bore or out of it. ``blocked`` are the connectors that must come off, of
    which ``come_off`` is the count, nan where none are told.
    """

    line: str
    inside: Judged
    extra: Judged
    fill: Judged
    fill_limit: str
    sharing: tuple[str, ...]
    bend: Judged | None
    snug: float
    turn: Judged
    come_off: Judged
    blocked: tuple[Blocked, ...]


@dataclass(frozen=True)
class ThroughHole:
    """One hole that lines go through: ``lines``, ``bundle`` mm across together.

    ``grommet`` is that diameter, ``room`` the hole's diameter less it, ``size`` the diameter across
    the bar, ``clamp`` from the hole's edge to the clamp zone (negative inside; ``between`` the two
    clamps of a one-piece bar rather than under one), ``crown`` to the middle of the nearest bend
    (None on a straight bar).
    """

    hole: str
    lines: tuple[str, ...]
    bundle: float
    grommet: Judged
    room: Judged
    size: Judged
    clamp: Judged
    between: bool
    crown: Judged | None


@dataclass(frozen=True)
class ThroughBarFigures:
    """Everything about wires inside one set of bars."""

    lines: tuple[ThroughLine, ...] = ()
    holes: tuple[ThroughHole, ...] = ()


@dataclass(frozen=True, eq=False)
class _Way:
    """A line's way inside: its holes, and where they are along the bar (left positive)."""

    line: Line
    inside: Inside
    entry: Hole
    exit: Hole
    came: float
    goes: float

    @property
    def low(self) -> float:
        return min(self.came, self.goes)

    @property
    def high(self) -> float:
        return max(self.came, self.goes)


def through_bar(setup: Setup, stock: bool) -> ThroughBarFigures:
    """The figures of every line that is led inside these bars, in the lines' order.

    Raises LayoutError.
    """
    bars = setup.bars(stock)
    layouts = layout(setup, bars)
    shape = bar_shape(setup.machine, bars)
    holes = {hole.name: hole for hole in bars.bar.holes}
    ways = []
    for line in setup.lines:
        inside = layouts[line.name].inside
        if inside is None or line.through_bar is None:
            continue
        ends = [holes[name] for name in (line.through_bar.entry, line.through_bar.exit)]
        along = (shape.across(hole.side, hole.distance, hole.from_centre) for hole in ends)
        ways.append(_Way(line, inside, ends[0], ends[1], *along))
    return ThroughBarFigures(
        lines=tuple(_line(setup, way, ways, bars.bar, shape) for way in ways),
        holes=tuple(
            _hole(setup, hole, used, bars, shape)
            for hole in bars.bar.holes
            if (used := [way for way in ways if hole in (way.entry, way.exit)])
        ),
    )


def bundle_diameter(diameters: list[float]) -> float:
    """How wide lines are together, mm: two beside each other; more by 1.2 sqrt(sum of squares).

    The rule (1.2 d sqrt(n) for n equal wires, common practice) errs on the wide side: seven equal
    wires are 3.00 d wide by geometry, 3.17 d by the rule.
    """
    widest = sum(sorted(diameters)[-2:])
    if len(diameters) < 3:
        return widest
    return max(widest, 1.2 * math.sqrt(sum(d * d for d in diameters)))


def passes(connector: Connector, diameter: float, length: float) -> bool:
    """Whether a connector's end face passes a hole ``diameter`` wide and ``length`` long, mm.

    The hole is round, or an oval of two half circles and straights between; the face is a
    rectangle with its larger side along the oval.
    """
    tall, wide = sorted((connector.width, connector.height))
    beyond = max(0.5 * (wide - (length - diameter)), 0.0)  # of a corner into the half circle
    return math.hypot(beyond, 0.5 * tall) <= 0.5 * diameter


def passes_bend(connector: Connector, bore: float, radius: float) -> bool:
    """Whether a connector passes a bend of the bore without bending itself.

    Taken as a round bar as thick as its face is across corners, in the plane of a bend of
    centreline ``radius``: it touches the inner wall in its middle and the outer one at its ends.
    One whose length is not known is taken to.
    """
    thick = math.hypot(connector.width, connector.height)
    if thick > bore or connector.length is None:
        return thick <= bore
    inner, outer = radius - 0.5 * bore + thick, radius + 0.5 * bore
    return inner**2 + (0.5 * connector.length) ** 2 <= outer**2


def _line(
    setup: Setup, way: _Way, ways: list[_Way], bar: Bar | ClipOn, shape: BarShape
) -> ThroughLine:
    fill, key, sharing = _fill(setup, way, ways, bar, shape)
    diameters = [other.line.diameter for other in ways if other.line.name in sharing]
    # what the lines together leave free to either side; none where the wall is not known
    free = _tube_bore(bar) - bundle_diameter(diameters)
    play = 0.0 if math.isnan(free) else max(0.5 * free, 0.0)
    allowed = line_property(way.line, "min_radius")
    bends = _bends(way, shape)
    radii = [gentlest_radius(radius, angle, play, room) for radius, angle, room in bends]
    turns = [
        turn_radius(0.5 * shape.tube_diameter + play, hole.slant) for hole in (way.entry, way.exit)
    ]
    blocked, known = _blocked(way, bar, shape, bends)
    return ThroughLine(
        line=way.line.name,
        inside=noted(way.inside.length),
        extra=noted(way.inside.length - way.inside.outside),
        fill=fill,
        fill_limit=key,
        sharing=sharing,
        bend=at_least(min(radii), allowed) if radii else None,
        snug=min((radius for radius, _, _ in bends), default=math.nan) - play,
        turn=at_least(min(turns), allowed),
        come_off=_come_off(len(blocked), known),
        blocked=blocked,
    )


def _bore(bar: Bar | ClipOn, from_centre: float, length: float) -> float:
    """Inner diameter so far from the centre, mm; nan where the wall is not known.

    A thinner grip section is taken to be as long as the hand straight, for a clip-on as the bar.
    """
    if bar.wall is None:
        return math.nan
    thin = length - bar.hand_straight if isinstance(bar, Bar) else 0.0
    outside = bar.tube_diameter
    if from_centre >= thin:
        outside = min(outside, bar.grip_diameter)
    return outside - 2.0 * bar.wall


def _fill(
    setup: Setup, way: _Way, ways: list[_Way], bar: Bar | ClipOn, shape: BarShape
) -> tuple[Judged, str, tuple[str, ...]]:
    """The fill of the bore that is worst against its limit, which limit, and who shares it."""
    thin = shape.length - bar.hand_straight if isinstance(bar, Bar) else 0.0
    cuts = {at for other in ways for at in (other.low, other.high)} | {thin, -thin, 0.0}
    cuts = {at for at in cuts if way.low < at < way.high} | {way.low, way.high}
    worst: tuple[float, Judged, str, tuple[str, ...]] | None = None
    for first, last in pairwise(sorted(cuts)):
        middle = 0.5 * (first + last)
        beside = [other.line for other in ways if other.low < middle < other.high]
        bore = _bore(bar, abs(middle), shape.length)
        key = FILLS[min(len(beside), len(FILLS)) - 1]
        most = limit(setup, key)
        diameters = [line.diameter for line in beside]
        beyond = Grade.REJECT if bundle_diameter(diameters) > bore else Grade.CAUTION
        share = at_most(sum(d * d for d in diameters) / bore**2, most, beyond=beyond)
        names = tuple(line.name for line in beside)
        if worst is None or share.value / most > worst[0]:
            worst = share.value / most, share, key, names
    assert worst is not None
    return worst[1:]


def _bends(way: _Way, shape: BarShape) -> list[tuple[float, float, float]]:
    """The bends on a line's way: radius, angle, and how much straight bore it may use either side.

    Half of a straight between two bends is each one's; up to its hole a straight is the line's, but
    for what it takes to turn out of the bore.
    """
    reach = {
        at: 0.5 * shape.tube_diameter / math.tan(0.5 * hole.slant)
        for at, hole in ((way.came, way.entry), (way.goes, way.exit))
    }
    low, high = way.low + reach[way.low], way.high - reach[way.high]
    pieces = _pieces(shape)

    def straight(k: int) -> float:
        """What of piece k a bend beside it may use; none where that is a bend."""
        if not 0 <= k < len(pieces) or math.isfinite(pieces[k][2]):
            return 0.0
        first, last, _ = pieces[k]
        free = max(min(last, high) - max(first, low), 0.0)
        return 0.5 * free if low < first and last < high else free

    return [
        (radius, (last - first) / radius, min(straight(k - 1), straight(k + 1)))
        for k, (first, last, radius) in enumerate(pieces)
        if math.isfinite(radius) and way.low < 0.5 * (first + last) < way.high
    ]


def _pieces(shape: BarShape) -> list[tuple[float, float, float]]:
    """The whole bar from its right end to its left one: where each straight (radius inf) or bend
    begins and ends, as `BarShape.across` has it, and its radius.
    """
    starts = shape.line.starts.tolist()
    ends = [*starts[1:], shape.length]
    radii = [piece.radius for piece in shape.line.pieces]
    left = list(zip(starts, ends, radii, strict=True))
    right = [(-last, -first, radius) for first, last, radius in reversed(left)]
    if math.isinf(radii[0]):  # one straight across the middle
        return [*right[:-1], (-ends[0], ends[0], math.inf), *left[1:]]
    return right + left


def _blocked(
    way: _Way, bar: Bar | ClipOn, shape: BarShape, bends: list[tuple[float, float, float]]
) -> tuple[tuple[Blocked, ...], bool]:
    """Connectors that do not pass, and whether all is known that it takes to say so."""
    assert way.line.through_bar is not None
    found = []
    connectors = way.line.through_bar.connectors
    narrow = min(_bore(bar, abs(at), shape.length) for at in (way.came, way.goes))
    tightest = min((radius for radius, _, _ in bends), default=math.inf)
    for connector in connectors:
        openings = [
            f"the hole '{hole.name}'"
            for hole in (way.entry, way.exit)
            if not passes(connector, hole.diameter, hole.along)
        ]
        if not math.isnan(narrow):
            if math.hypot(connector.width, connector.height) > narrow:
                openings.append("the bore")
            elif bends and not passes_bend(connector, _tube_bore(bar), tightest):
                openings.append("the bends")
        if openings:
            found.append(Blocked(connector, openings[0]))
    return tuple(found), bool(connectors) and not math.isnan(narrow)


def _come_off(count: int, known: bool) -> Judged:
    """How many connectors must come off: minding one is enough, none is fine if all is known."""
    if count:
        return Judged(float(count), Grade.CAUTION)
    return Judged(0.0, Grade.FINE) if known else noted(math.nan)


def _tube_bore(bar: Bar | ClipOn) -> float:
    return math.nan if bar.wall is None else bar.tube_diameter - 2.0 * bar.wall


def _hole(setup: Setup, hole: Hole, used: list[_Way], bars: BarSet, shape: BarShape) -> ThroughHole:
    diameters = [way.line.diameter for way in used]
    bundle = bundle_diameter(diameters)
    room = hole.diameter - bundle
    if hole.along > hole.diameter and len(diameters) > 1:
        # in an oval hole they may lie beside each other, along the bar
        room = max(room, min(hole.diameter - max(diameters), hole.along - sum(diameters)))
    from_centre = abs(shape.across(hole.side, hole.distance, hole.from_centre))
    near, far = from_centre - 0.5 * hole.along, from_centre + 0.5 * hole.along
    inner, outer = _clamp(setup, bars)
    between = far <= inner
    crowns = [
        float(start) + 0.5 * piece.length
        for start, piece in zip(shape.line.starts, shape.line.pieces, strict=True)
        if math.isfinite(piece.radius)
    ]
    to_crown = min((abs(from_centre - at) - 0.5 * hole.along for at in crowns), default=math.nan)
    return ThroughHole(
        hole=hole.name,
        lines=tuple(way.line.name for way in used),
        bundle=bundle,
        grommet=noted(bundle),
        room=at_least(
            room,
            limit(setup, "hole_room"),
            beyond=Grade.REJECT if room < 0.0 else Grade.CAUTION,
        ),
        size=at_most(hole.diameter, limit(setup, "hole_size")),
        clamp=at_least(
            near - outer,
            limit(setup, "hole_to_clamp"),
            beyond=Grade.REJECT if near < outer and not between else Grade.CAUTION,
        ),
        between=between,
        crown=at_least(to_crown, limit(setup, "hole_to_crown")) if crowns else None,
    )


def _clamp(setup: Setup, bars: BarSet) -> tuple[float, float]:
    """Where the clamp on one side begins and ends, mm from the bar's centre.

    A clip-on is held at its inner end; that its tube is not clamped further out is taken for
    granted.
    """
    if isinstance(bars.bar, ClipOn):
        return -math.inf, 0.0
    half = 0.5 * clamp_width(setup, bars.riser)
    middle = 0.5 * setup.machine.riser_spacing
    return middle - half, middle + half
