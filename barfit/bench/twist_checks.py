"""Twist against the outside: writhe, Kirchhoff's equations, helix, straight rod and ring."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from scipy.optimize import brentq

from barfit.bench.check import Check, Rule
from barfit.bench.kirchhoff import settle_bvp
from barfit.bench.space_checks import SPANS, clamped
from barfit.bench.writhe import writhe
from barfit.geometry.frames import rotation
from barfit.mechanics import Span
from barfit.mechanics.newton import newton
from barfit.mechanics.reactions import reactions
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.settle import batch_of_one
from barfit.mechanics.start import settled
from barfit.mechanics.system import assemble
from barfit.mechanics.twist import across, carried_frame, twist_of
from barfit.mechanics.twist_kernels import add_twist

STEP = math.radians(30.0)  # by which the end is turned at once
TURNED = ("throttle cable", "hose to the wheel", "harness")
_STIFFNESS, _LENGTH = 5e4, 700.0


def turned(span: Span, angle: float, ratio: float = 1.0) -> tuple[Rods, State]:
    """A span settled without twist, then with its end turned by an angle, step by step.

    ``ratio`` is GJ / EI. Raises ValueError where it does not come to a stable rest.
    """
    rods = batch_of_one(span)
    state, _ = settled(rods, np.array([span.length]), span.nodes)
    frame = across(rods.start_direction)
    end = carried_frame(rods, state.nodes, frame)
    rods = replace(rods, twisting=ratio * rods.ei, start_frame=frame, end_frame=end)
    for part in np.linspace(0.0, angle, 1 + math.ceil(abs(angle) / STEP)):
        rods = replace(rods, end_frame=end @ rotation(rods.end_direction[0], part).T)
        if not newton(rods, state).converged.all():
            raise ValueError(f"no rest at {math.degrees(part):.0f}° of twist")
    return rods, state


def closed(rods: Rods, nodes: np.ndarray) -> np.ndarray:
    """The rod's nodes (N, 3) closed by a fixed polygon that leaves along its end directions."""
    first, last = rods.start_direction[0], rods.end_direction[0]
    out = rods.end[0] + last * np.array([[60.0], [120.0]])
    back = rods.start[0] - first * np.array([[120.0], [60.0]])
    aside = 0.5 * (out[1] + back[0]) + np.array([200.0, -300.0, -500.0])
    return np.vstack((nodes, out, aside, back))


def twist_and_writhe() -> list[Check]:
    """A rod whose end is turned shares the turn between twist and writhe, to the last digit."""
    found = []
    for case in TURNED:
        span = SPANS[case]
        rods, state = turned(span, 0.0)
        before = writhe(closed(rods, state.nodes[0]))
        for degrees in (90, 240):
            rods, state = turned(span, math.radians(degrees))
            twist = math.degrees(float(state.twist_moment[0]) * span.length / rods.twisting[0])
            coiled = 360.0 * (writhe(closed(rods, state.nodes[0])) - before)
            found.append(
                Check(
                    f"{case}, end turned {degrees}°",
                    f"twist + writhe, ° ({coiled:.1f} of it writhe)",
                    "Călugăreanu 1959, White 1969, Fuller 1978; Gauss sum: Klenin, Langowski 2000",
                    degrees,
                    twist + coiled,
                    1e-3,
                    Rule.NEAR,
                )
            )
    return found


def twisted_shapes() -> list[Check]:
    """Shape and total twist of twisted spans against Kirchhoff's equations with their moment."""
    found = []
    source = "Kirchhoff's equations with a twisting moment, solve_bvp"
    for case in TURNED:
        span = SPANS[case]
        rods, state = turned(span, math.radians(150.0))
        _, rest = turned(span, 0.0)
        moment = float(state.twist_moment[0])
        exact = settle_bvp(
            replace(clamped(span), twisting_moment=moment), span.length, state.nodes[0]
        )
        at = np.linspace(0, exact.length, span.nodes)
        # so fine that what is left of the polygon's own turning does not count
        fine = exact.at(np.linspace(0, exact.length, 2001))
        off = float(np.linalg.norm(state.nodes[0] - exact.at(at), axis=1).max())
        moved = float(np.linalg.norm(rest.nodes[0] - state.nodes[0], axis=1).max())
        twist = moment * span.length / float(rods.twisting[0])
        turned_by = float(twist_of(rods, replace(state, nodes=fine[None]))[0])
        name = f"{case}, end turned 150°"
        found += [
            Check(
                name,
                f"worst point, mm ({moved:.0f} from untwisted)",
                source,
                0.5,
                off,
                rule=Rule.AT_MOST,
            ),
            Check(name, "total twist, rad", source, turned_by, twist, 0.005),
        ]
    return found


def twisted_helix() -> list[Check]:
    """A helix stays one whatever its twist; only the force along its axis and the moment change."""
    radius, climb, turn = 90.0, 30.0, 3.5  # mm, mm per rad, rad
    omega = 1.0 / math.hypot(radius, climb)

    def at(angle: float) -> tuple[np.ndarray, np.ndarray]:
        sin, cos = math.sin(angle), math.cos(angle)
        return (
            np.array([radius * cos, radius * sin, climb * angle]),
            omega * np.array([-radius * sin, radius * cos, climb]),
        )

    (start, first), (end, last) = at(0.0), at(turn)
    span = Span(start, first, end, last, turn / omega, _STIFFNESS, nodes=61)
    found = []
    for degrees in (0.0, 100.0, -100.0):
        # the helix carries a frame on without twist: what the end is turned is all twist
        rods, state = turned(span, math.radians(degrees))
        moment = float(state.twist_moment[0])
        helix = np.array([at(angle)[0] for angle in np.linspace(0, turn, span.nodes)])
        off = float(np.linalg.norm(state.nodes[0] - helix, axis=1).max())
        got = reactions(rods, state)
        twist = moment * span.length / _STIFFNESS
        # n = omega (M - EI tau) along the axis; m = EI kappa b + M t
        force = omega * (moment - _STIFFNESS * climb * omega**2)
        binormal = omega * np.array([0.0, -climb, radius])
        turning = _STIFFNESS * radius * omega**2 * binormal + moment * first
        name = f"helix, end turned {degrees:.0f}°"
        source = "closed form: Love 1927, §§ 270–271"
        scale = _STIFFNESS * omega
        found += [
            Check(name, "worst point, mm", source, 0.3, off, rule=Rule.AT_MOST),
            Check(name, "total twist, °", source, degrees, math.degrees(twist), 0.5, Rule.NEAR),
            Check(
                name,
                "force along the axis, N",
                source,
                force,
                float(got.start_force[0, 2]),
                0.01 * scale * omega,
                Rule.NEAR,
            ),
            Check(
                name,
                "moment on its clamp: off by, N·mm",
                source,
                0.01 * scale,
                float(np.linalg.norm(got.start_moment[0] - turning)),
                rule=Rule.AT_MOST,
            ),
        ]
    return found


def straight_rod_buckles() -> list[Check]:
    """The twisting moment at which a straight rod between clamps is no longer stable.

    With w = y + iz, EI w'''' - iM w''' - T w'' = 0 and w = w' = 0 at both ends; for T = 0 the least
    root is M L / EI = 2 x 4.4934, where tan x = x (Greenhill 1883; Love 1927, § 272; Timoshenko
    and Gere, Theory of Elastic Stability).
    """
    found = []
    for pull, name in ((0.0, "no pull"), (20.0, "pulled 20 EI/L²"), (-20.0, "pushed 20 EI/L²")):
        got = {}
        for nodes in (41, 81):
            rods, state = _straight(nodes, pull)
            got[nodes] = critical(rods, state, 2.0, 13.0)
        found.append(
            Check(
                f"twisted straight rod, {name}",
                "critical moment, EI/L",
                "Greenhill 1883, clamped ends",
                greenhill(pull),
                (4.0 * got[81] - got[41]) / 3.0,  # the mesh's error is of second order
                0.001,
            )
        )
        found.append(
            Check(
                f"twisted straight rod, {name}",
                "the same at 81 nodes",
                "Greenhill 1883, clamped ends",
                greenhill(pull),
                got[81],
                0.005,
            )
        )
    return found


def greenhill(pull: float) -> float:
    """Critical twisting moment, EI/L, of a clamped straight rod under a pull in EI/L².

    With a = M/2 and b² = a² - T, w = A + iBs + e^(ias) (C cos bs + iD sin bs) about the middle, all
    four real; w = w' = 0 at s = 1/2 leaves two equations for C and D. For T = 0 they are one.
    """

    def condition(moment: float) -> float:
        a = 0.5 * moment
        if pull == 0.0:
            return math.sin(a) - a * math.cos(a)
        b = math.sqrt(a * a - pull)
        cos, sin = math.cos(0.5 * a), math.sin(0.5 * a)
        c, s = math.cos(0.5 * b), math.sin(0.5 * b)
        first = (-2 * c * sin + a * c * cos - b * s * sin, -2 * s * cos - a * s * sin + b * c * cos)
        second = (-a * c * sin - b * s * cos, -a * s * cos - b * c * sin)
        return (first[0] * second[1] - first[1] * second[0]) / pull

    least = 2.0 * math.sqrt(max(pull, 0.0)) + 0.1  # below it a pulled rod cannot buckle
    grid = np.linspace(least, 25.0, 500)
    values = np.array([condition(moment) for moment in grid])
    k = int(np.flatnonzero(values[:-1] * values[1:] < 0.0)[0])
    return float(brentq(condition, grid[k], grid[k + 1]))


def ring_buckles() -> list[Check]:
    """A closed ring leaves its plane at a total twist of 2 pi sqrt(3) EI / GJ.

    Held at one section, which takes away only its motions as a whole. The one that is left, rolling
    about the tangent there, costs nothing at any twist and is set aside.
    """
    radius = 100.0
    source = "Michell 1889, Zajac 1962; Goriely, J. Elasticity 84, 2006"
    got = {}
    for nodes in (41, 81):
        rods, state = _ring(nodes, radius)
        rolling = np.cross(rods.start_direction[0], state.nodes[0] - rods.start[0])
        got[nodes] = critical(rods, state, 5.0, 16.0, rolling)
    expected = 2.0 * math.pi * math.sqrt(3.0)
    extrapolated = (4.0 * got[81] - got[41]) / 3.0
    return [
        Check("twisted ring", "critical twist, EI/GJ", source, expected, extrapolated, 0.002),
        Check("twisted ring", "the same at 81 nodes", source, expected, got[81], 0.01),
    ]


def critical(
    rods: Rods,
    state: State,
    least: float,
    most: float,
    aside: np.ndarray | None = None,
) -> float:
    """The twisting moment, EI/L, at which the least eigenvalue of the second variation is 0.

    With the twist's own stiffness (GJ = EI) in it, and the motion ``aside`` (N, 3) left out; the
    root between ``least`` and ``most``.
    """
    unit = float(rods.ei[0] / state.length[0])

    def lowest(moment: float) -> float:
        matrix = second_variation(rods, state, moment * unit, 1.0 / unit)
        if aside is not None:
            free = aside[1:-1].ravel()
            matrix += np.abs(matrix).max() * np.outer(free, free) / (free @ free)
        return float(np.linalg.eigvalsh(matrix)[0])

    return float(brentq(lowest, least, most, xtol=1e-6))


def second_variation(rods: Rods, state: State, moment: float, compliance: float) -> np.ndarray:
    """Matrix of one rod's second variation, tensions eliminated, of its nodes 1 to N-2.

    ``compliance`` is L/GJ, by which twist gives way to its moment.
    """
    linear = assemble(replace(rods, twisting=np.zeros(1)), state)
    nodes = state.nodes[0]
    slope = np.zeros_like(nodes)
    add_twist(nodes, rods.start_direction[0], rods.end_direction[0], moment, slope, linear.band[0])
    inner = slope[1:-1].ravel()
    return _dense(linear.band[0]) + np.outer(inner, inner) / compliance


def _dense(band: np.ndarray) -> np.ndarray:
    """The symmetric matrix of a band (N, 3, width), held nodes left out."""
    columns = band[1:-1].reshape(-1, band.shape[2])
    size, width = columns.shape
    matrix = np.zeros((size, size))
    for above in range(width):
        values = columns[above:, width - 1 - above]
        k = np.arange(size - above)
        matrix[k, k + above] = matrix[k + above, k] = values
    return matrix


def _plain(nodes: np.ndarray, direction: np.ndarray, length: float, tension: float) -> State:
    edges = len(nodes) - 1
    return State(
        nodes[None].copy(),
        np.full((1, edges), tension),
        np.array([length / edges]),
        np.zeros((1, 0)),
        np.zeros((1, 0, 3)),
    )


def _rods(nodes: np.ndarray, direction: np.ndarray, axial: float) -> Rods:
    return Rods(
        ei=np.array([_STIFFNESS]),
        ea=np.array([axial]),
        weight=np.zeros(1),
        start=nodes[:1],
        end=nodes[-1:],
        start_direction=direction[None],
        end_direction=direction[None],
        clamp_start=np.ones(1),
        clamp_end=np.ones(1),
        free_end=np.zeros(1, bool),
        end_load=np.zeros((1, 3)),
        guides=np.zeros((1, 0, 3)),
        guide_stiffness=np.zeros((1, 0)),
    )


def _straight(nodes: int, pull: float) -> tuple[Rods, State]:
    """A straight rod under a pull in EI/L², stretched by it as its axial stiffness has it."""
    axial = 1e7
    tension = pull * _STIFFNESS / _LENGTH**2
    points = np.zeros((nodes, 3))
    points[:, 0] = np.linspace(0.0, _LENGTH, nodes) * (1.0 + tension / axial)
    ahead = np.array([1.0, 0.0, 0.0])
    return _rods(points, ahead, axial), _plain(points, ahead, _LENGTH, tension)


def _ring(nodes: int, radius: float) -> tuple[Rods, State]:
    """A closed ring at rest, both its ends clamped at one place."""
    angle = np.linspace(0.0, 2.0 * math.pi, nodes)
    length = 2.0 * math.pi * radius
    across_corners = length / (nodes - 1) / (2.0 * math.sin(math.pi / (nodes - 1)))
    points = across_corners * np.column_stack((np.sin(angle), 1.0 - np.cos(angle), np.zeros(nodes)))
    points[-1] = points[0]
    ahead = np.array([1.0, 0.0, 0.0])
    rods = _rods(points, ahead, 1e7)
    state = _plain(points, ahead, length, -_STIFFNESS / radius**2)
    outcome = newton(rods, state)
    assert outcome.converged.all()
    return rods, state


GROUPS: tuple[Callable[[], list[Check]], ...] = (
    twist_and_writhe,
    twisted_shapes,
    twisted_helix,
    straight_rod_buckles,
    ring_buckles,
)
