"""The rod pressed on solids, against closed forms and against direct minimisation in space.

Which side of a solid a rod passes is a matter of how it came there. So here a cylinder comes up
under a drawn rod, as a fork tube moves into a line, and in space a solid grows beside a settled
one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from barfit.bench import contact_forms as forms
from barfit.bench.check import Check, Rule
from barfit.bench.wrapped import Distance, Wrapped, ball, cylinder, wrapped
from barfit.mechanics import Shape, Span, settle
from barfit.mechanics.contact import Touches, deepest, touches
from barfit.mechanics.newton import newton
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.settle import batch_of_one, shape_of
from barfit.mechanics.solid_kernels import BOX, CAPSULE, ELLIPSOID, NO_SOLIDS, SIZES, Solids
from barfit.mechanics.start import let_out, pulled, settled

_LINE = 5.0  # mm, half the thickness of the rods here
_DEEP = 0.1  # mm, allowed into a solid


@dataclass(frozen=True)
class Laid:
    """A rod at rest against a solid; numbers that fail every check where it did not converge."""

    shape: Shape
    touches: Touches
    deepest: float

    @property
    def force(self) -> np.ndarray:
        """All that the solid does to the rod, N (3,)."""
        return np.asarray(self.touches.force.sum(0))

    @property
    def pressed(self) -> np.ndarray:
        """How hard each place is pressed, N (Q,)."""
        return np.asarray(np.linalg.norm(self.touches.force, axis=1))


def one_solid(kind: int, *numbers: float) -> Solids:
    """A single solid, its numbers as `barfit.mechanics.solid_kernels` says."""
    size = np.zeros((1, SIZES))
    size[0, : len(numbers)] = numbers
    return NO_SOLIDS._replace(kind=np.array([kind]), mover=np.zeros(1, np.int64), size=size)


def _against(span: Span, solids: Solids, pull: float = 0.0) -> Rods:
    rods = batch_of_one(span, pull)
    return replace(rods, solids=solids, blind=np.zeros((1, 1), bool), radius=np.array([_LINE]))


def _laid(rods: Rods, state: State, good: bool) -> Laid:
    outcome = newton(rods, state.copy())
    shape = shape_of(rods, state, outcome)
    if not (good and shape.converged and shape.stable):
        nothing = np.full_like(shape.points, np.nan)
        shape = replace(shape, points=nothing, tensions=nothing[1:, 0], length=np.nan)
    return Laid(shape, touches(rods, state, 0), float(deepest(rods, state)[0]))


def raised(
    span: Span, solids: Solids, pull: float, below: float, length: float | None = None
) -> Laid:
    """The rod drawn with ``pull`` N while the solid comes up from ``below`` mm under its place.

    With a ``length`` it is let out or drawn in to that afterwards.
    """
    rods, pulls = _against(span, solids, pull), np.array([pull])

    def lowered(depth: float) -> Rods:
        return replace(rods, shifts=np.array([[[0.0, 0.0, -depth]]]))

    state, outcome = pulled(lowered(below).free(), pulls, span.nodes)
    for depth in np.linspace(below, 0.0, 81):
        outcome = newton(lowered(float(depth)), state, pulls)
    if length is not None:
        outcome = let_out(rods, state, np.array([length]))
    return _laid(rods, state, bool(outcome.converged[0]))


def grown(span: Span, solids: Solids, shrunk: float) -> Laid:
    """The rod settled with nothing in its way, then the solid grown from ``shrunk`` mm less."""
    rods = _against(span, solids)
    state, outcome = settled(rods.free(), np.array([span.length]), span.nodes)
    for less in np.linspace(shrunk, 0.0, 21):
        outcome = newton(replace(rods, radius=rods.radius - less), state)
    return _laid(rods, state, bool(outcome.converged[0]))


def lying_on(span: Span, solids: Solids) -> Laid:
    """The rod settled with the solid there from the start, for one that has no side to choose."""
    rods = _against(span, solids)
    state, outcome = settled(rods, np.array([span.length]), span.nodes)
    return _laid(rods, state, bool(outcome.converged[0]))


# Stiffness N·mm², radius of the centreline mm, angle below the level °, nodes; pulled with 20 N.
DRAPED = {
    "hose over a cylinder, 61° of it": (5e4, 60.0, 80.0, 161),
    "cable over a cylinder, 55° of it": (1e4, 40.0, 60.0, 161),
    "soft lead over a cylinder, 99° of it": (5e3, 30.0, 80.0, 161),
}
PULL = 20.0


def over_a_cylinder() -> list[Check]:
    """Drawn over a cylinder: the wrap, the tension, what the cylinder presses with and where."""
    source = "elastica and capstan geometry, T = F - EI/2R²"
    found = []
    for case, (stiffness, radius, degrees, nodes) in DRAPED.items():
        slope = np.deg2rad(degrees)
        exact = forms.draped(stiffness, PULL, radius, slope)
        x, z = exact.end
        out = np.array([np.cos(slope), 0.0, -np.sin(slope)])
        span = Span(
            (-x, 0, z),
            out * [1, 1, -1],
            (x, 0, z),
            out,
            2 * exact.half,
            stiffness,
            nodes=nodes,
        )
        bar = one_solid(CAPSULE, 0, -300, 0, 0, 300, 0, radius - _LINE)
        got = raised(span, bar, PULL, radius - z)
        middle = nodes // 2
        at = got.touches.at - 0.5 * got.shape.length
        edge = got.shape.length / (nodes - 1)
        wide = exact.on * radius
        lying = np.abs(at) < 0.6 * wide
        inner = float(got.pressed[lying].sum())
        per_length = inner / max(lying.sum() * edge / 4, 1e-9)  # four places to an edge
        right = float(got.pressed[at > 0.6 * wide].sum()) - 0.4 * exact.on * exact.tension
        total = 2 * exact.on * exact.tension + 2 * exact.edge
        lifts = float(np.abs(at).max()) if len(at) else np.nan
        found += [
            Check(case, "length, mm", source, 2 * exact.half, got.shape.length, 1e-3),
            Check(
                case, "tension on it, N", source, exact.tension, got.shape.tensions[middle], 0.01
            ),
            Check(case, "radius on it, mm", source, radius, float(got.shape.radii[middle]), 0.01),
            Check(case, "force upwards, N", "2·F·sin β", exact.total, float(got.force[2]), 5e-3),
            Check(case, "all that presses, N", source, total, float(got.pressed.sum()), 0.01),
            Check(case, "T/R, N/mm", source, exact.tension / radius, per_length, 0.04),
            Check(case, "force at lift-off, N", source, exact.edge, right, 0.05),
            Check(case, "lifts off at, mm", source, wide, lifts, 1.5 * edge, Rule.NEAR),
            Check(case, "inside it, mm", "0.1 mm", _DEEP, got.deepest, rule=Rule.AT_MOST),
        ]
    return found


def pressed_in_the_middle() -> list[Check]:
    """Between pins, pushed up in the middle by a thin bar until the pins bear across only."""
    half, stiffness = 300.0, 5e4
    source = "Bisshopp and Drucker 1945, both halves"
    found = []
    for load in (0.5, 1.0, 2.0):
        exact = forms.pressed(stiffness, half, load)
        x, z = exact.end
        span = Span((-x, 0, z), None, (x, 0, z), None, 2 * half, stiffness, nodes=81)
        bar = one_solid(CAPSULE, 0, -300, -10, 0, 300, -10, 10 - _LINE)
        got = raised(span, bar, 5.0, 15.0 - z, 2 * half)
        case = f"pushed up in the middle, PL²/EI {load:g}"
        top = float(got.shape.points[40, 2])
        bend = 1 / got.shape.min_radius
        found += [
            Check(case, "force of the bar, N", source, exact.force, float(got.force[2]), 0.02),
            Check(case, "curvature under it, 1/mm", source, exact.curvature, bend, 0.01),
            Check(case, "top, mm", source, 0.0, top, 0.05, Rule.NEAR),
        ]
    return found


def lying_on_a_table() -> list[Check]:
    """A heavy rod on a flat box, one end lifted: how much of it hangs free."""
    found = []
    stiffness, weight, lying = 5e4, 0.003, 300.0
    for height in (10.0, 20.0, 40.0):
        exact = forms.lifted(stiffness, weight, height)
        whole = lying + exact.length
        span = Span(
            (0, 0, _LINE),
            (1, 0, 0),
            (lying + exact.reach, 0, height + _LINE),
            None,
            whole,
            stiffness,
            weight,
            nodes=81,
        )
        table = one_solid(BOX, lying, 0, -20, 2 * lying, 100, 20, 0, 1, 0)
        got = lying_on(span, table)
        at = got.touches.at[got.pressed > 0.01]
        edge = whole / 80
        # of the part that lies flat the half beyond the middle: what lies next to the clamp is
        # carried by the clamp
        beyond = got.touches.at > 0.5 * lying
        begins = 0.5 * (got.touches.at[~beyond].max() + got.touches.at[beyond].min())
        carried = float(got.touches.force[beyond, 2].sum()) - weight * (lying - begins)
        linear = (24 * stiffness * height / weight) ** 0.25
        free = whole - float(at.max()) if len(at) else np.nan
        case = f"heavy rod on a table, end lifted {height:g} mm"
        table_source = "beam on a rigid table, ℓ⁴ = 24·EI·h/w"
        found += [
            Check(case, "length off the table, mm", table_source, linear, free, 0.03),
            Check(
                case,
                "length off the table, mm",
                "heavy elastica, shooting",
                exact.length,
                free,
                1.5 * edge,
                Rule.NEAR,
            ),
            Check(
                case,
                "force at lift-off, N",
                "heavy elastica, shooting",
                weight * exact.length - exact.force,
                carried,
                0.015,
            ),
        ]
    return found


@dataclass(frozen=True)
class Beside:
    """A rod in space with a solid beside it: clamps, length and so on, the solid twice over."""

    span: Span
    turns: float  # how often the heading goes round from clamp to clamp
    distance: Distance
    solid: Solids
    shrunk: float


def _round_a_tube(length: float) -> Beside:
    start, end = np.array([60.0, -150.0, -60.0]), np.array([-60.0, -150.0, 60.0])
    span = Span(start, (0, 1, 0.2), end, (0, -1, 0.2), length, 5e4, nodes=81)
    tube = one_solid(CAPSULE, 0, 0, -400, 0, 0, 400, 70)
    return Beside(span, 1.0, cylinder(70 + _LINE), tube, 15.0)


def _past_a_ball(radius: float, deep: float, way: tuple[float, float, float]) -> Beside:
    """A bow with a ball that reaches ``deep`` mm through its free shape, pushing it that way."""
    start, end = np.array([-150.0, -20.0, -60.0]), np.array([150.0, 40.0, -60.0])
    span = Span(start, (1, 0, 1.2), end, (1, 0.1, -1.2), 430, 8e4, 0.001, nodes=81)
    free = settle(span).points[45]
    centre = free - (radius - deep) * np.asarray(way) / np.linalg.norm(way)
    moved = replace(span, start=start - centre, end=end - centre)
    solid = one_solid(ELLIPSOID, 0, 0, 0, *[radius - _LINE] * 3, 1, 0)
    return Beside(moved, 0.0, ball(radius), solid, deep + 10)


def in_space() -> list[Check]:
    """Round a tube and past a ball: shape, force, smallest radius and place of the touch."""
    source = "direct minimisation with splines"
    found = []
    for case, beside in {
        "hairpin round a tube, snug": _round_a_tube(562),
        "hairpin round a tube, slack": _round_a_tube(590),
        "bow past a ball": _past_a_ball(60, 15, (-0.2, -1, -0.1)),
        "bow past a small ball, heavily": _past_a_ball(40, 25, (0, -1, 0.4)),
    }.items():
        span = beside.span
        exact = _minimised(beside)
        got = grown(span, beside.solid, beside.shrunk)
        arc = np.linspace(0, span.length, span.nodes)[1:-1]
        off = float(np.linalg.norm(got.shape.points[1:-1] - exact.at(arc), axis=1).max())
        first, last = exact.arc[np.flatnonzero(exact.press > 1e-3)[[0, -1]]]
        edge = span.length / (span.nodes - 1)
        radius = 1 / float(exact.curvatures.max())
        found += [
            Check(case, "worst point, mm", source, 0.2, off, rule=Rule.AT_MOST),
            Check(case, "all that presses, N", source, exact.press.sum(), got.pressed.sum(), 0.02),
            Check(case, "smallest radius, mm", source, radius, got.shape.min_radius, 0.01),
            Check(case, "first touch, mm", source, first, got.touches.at.min(), edge, Rule.NEAR),
            Check(case, "last touch, mm", source, last, got.touches.at.max(), edge, Rule.NEAR),
        ]
    return found


def _minimised(beside: Beside) -> Wrapped:
    """The reference; nan where it did not converge."""
    span = beside.span
    assert span.end is not None
    first, last = (
        np.asarray(way, dtype=float) for way in (span.start_direction, span.end_direction)
    )
    heading = np.arctan2([first[1], last[1]], [first[0], last[0]])
    heading[1] += 2 * np.pi * beside.turns
    rise = np.arctan2([first[2], last[2]], np.hypot([first[0], last[0]], [first[1], last[1]]))
    s = np.linspace(0, 1, 9)
    guess = np.interp(s, [0, 0.3, 0.7, 1], heading[[0, 0, 1, 1]]), np.interp(s, [0, 1], rise)
    exact = wrapped(
        np.asarray(span.start, dtype=float),
        np.asarray(span.end, dtype=float),
        guess,
        span.length,
        span.bending_stiffness,
        span.weight,
        beside.distance,
    )
    return exact if exact.converged else replace(exact, points=np.full_like(exact.points, np.nan))


GROUPS: tuple[Callable[[], list[Check]], ...] = (
    over_a_cylinder,
    pressed_in_the_middle,
    lying_on_a_table,
    in_space,
)
