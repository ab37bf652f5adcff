"""The rod against closed forms and published numbers, case by case.

All on a rod of a line's size (700 mm, 5·10⁴ N·mm²) at the solver's usual 41 nodes unless a case
says otherwise. Each function gives the checks of one subject.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from barfit.bench import closed_forms
from barfit.bench.check import Check, Rule
from barfit.mechanics import Shape, Span, settle, taut

LENGTH, STIFFNESS = 700.0, 5e4
_FORCE = STIFFNESS / LENGTH**2
_ENERGY = STIFFNESS / LENGTH

# Plane elastica between clamps (A. E. H. Love, "Mathematical Theory of Elasticity", 4th ed.,
# art. 262-263), the lowest energy found by shooting from many starts; scaled by length and
# stiffness: end x, y; angle of the tangent at start and end, degrees; energy; smallest radius.
PLANE_CASES = {
    "S bend, nearly taut": (0.85, 0.45, 0, 0, 1.6456014, 0.42275625),
    "quarter turn, long second leg": (0.55, 0.65, 0, 90, 1.5551546, 0.39866267),
    "quarter turn, long first leg": (0.70, 0.50, 0, 90, 1.5652946, 0.41014749),
    "bow, 30° and -20°": (0.85, 0.10, 30, -20, 2.4529487, 0.2834425),
    "bow, 45° and 60°": (0.60, 0.55, 45, 60, 6.3277759, 0.19152236),
    "hairpin, shifted": (0.20, 0.50, 0, 180, 5.8776039, 0.2142588),
    "hairpin, 0.2 apart": (0.0, 0.2, 0, 180, 11.642912, 0.12158841),
    "hairpin, 0.4 apart": (0.0, 0.4, 0, 180, 7.1610862, 0.16958783),
    "hairpin, 0.5 apart": (0.0, 0.5, 0, 180, 5.7484344, 0.21058379),
    "hairpin, 0.7 apart": (0.0, 0.7, 0, 180, 5.169688, 0.2162109),
    "hairpin, 0.8 apart": (0.0, 0.8, 0, 180, 6.9632765, 0.12437204),
}

# Slack S bends leave the plane. Energy in the plane as above; in space by direct minimisation
# (±0.01), which the boundary-value solution in `space_checks` confirms.
LEAVING_PLANE = {
    "slack S bend, 0.9 by 0.2": (0.9, 0.2, 3.1430536, 3.040),
    "slack S bend, 0.8 by 0.4": (0.8, 0.4, 4.282417, 3.948),
}


def heading(degrees: float) -> np.ndarray:
    """The unit vector in the x-y plane at that angle to x."""
    angle = np.deg2rad(degrees)
    return np.array([np.cos(angle), np.sin(angle), 0.0])


def plane_span(x: float, y: float, first: float, last: float, nodes: int = 41) -> Span:
    """A span in the x-y plane, scaled: end x, y and the end angles in degrees."""
    end = (x * LENGTH, y * LENGTH, 0.0)
    return Span((0, 0, 0), heading(first), end, heading(last), LENGTH, STIFFNESS, nodes=nodes)


def settled(span: Span) -> Shape:
    """`settle`, with numbers that fail every check where it did not converge."""
    shape = settle(span)
    if shape.converged and shape.stable:
        return shape
    nothing = np.full_like(shape.points, np.nan)
    return replace(shape, points=nothing, radii=nothing[:, 0], energy=np.nan)


def end_loaded_cantilever() -> list[Check]:
    """Tip and root of a cantilever with a dead load across its tip."""
    source = "Bisshopp and Drucker 1945"
    found = []
    for load in (0.5, 1.0, 2.0, 5.0, 10.0):
        shape = settled(
            Span(
                (0, 0, 0), (1, 0, 0), None, None, LENGTH, STIFFNESS, end_load=(0, 0, -load * _FORCE)
            )
        )
        exact = closed_forms.end_loaded_cantilever(load)
        case = f"cantilever, end load PL²/EI {load:g}"
        tip = shape.points[-1] / LENGTH
        found += [
            Check(case, "drop / L", source, exact.drop, -tip[2], 2e-3),
            Check(case, "reach / L", source, exact.along, tip[0], 2e-3),
            Check(case, "root curvature · L", source, exact.root_curvature, _kappa(shape, 0), 2e-3),
        ]
    return found


def heavy_cantilever() -> list[Check]:
    """Tip and root of a level cantilever under its own weight: how a line's EI is measured."""
    source = "heavy elastica, cf. Wang 1986"
    found = []
    for weight in (1.0, 5.0, 20.0):
        load = weight * _FORCE / LENGTH
        shape = settled(Span((0, 0, 0), (1, 0, 0), None, None, LENGTH, STIFFNESS, weight=load))
        exact = closed_forms.heavy_cantilever(weight)
        case = f"cantilever, own weight wL³/EI {weight:g}"
        tip = shape.points[-1] / LENGTH
        found += [
            Check(case, "drop / L", source, exact.drop, -tip[2], 2e-3),
            Check(case, "reach / L", source, exact.along, tip[0], 2e-3),
            Check(case, "root curvature · L", source, exact.root_curvature, _kappa(shape, 0), 2e-3),
        ]
    return found


def upright_column() -> list[Check]:
    """The weight at which the solver stops calling an upright rod stable."""

    def stands(weight: float) -> bool:
        load = weight * _FORCE / LENGTH
        shape = settle(Span((0, 0, 0), (0, 0, 1), None, None, LENGTH, STIFFNESS, weight=load))
        upright = bool(shape.points[-1, 2] > (1 - 1e-6) * LENGTH)
        return shape.converged and shape.stable and upright

    low, high = 7.0, 9.0
    if not stands(low) or stands(high):
        got = np.nan
    else:
        while high - low > 0.005:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if stands(middle) else (low, middle)
        got = low
    exact = closed_forms.greenhill_weight()
    return [Check("upright column", "largest wL³/EI", "Greenhill 1881", exact, got, 0.01)]


def slack_strut() -> list[Check]:
    """A slack line bowing out between clamped and between pinned ends."""
    source = "Timoshenko and Gere, art. 2.7"
    found = []
    for quarters, name, chords in (
        (4, "clamped", (0.99, 0.95, 0.9, 0.8, 0.7)),
        (2, "pinned", (0.99, 0.95, 0.9, 0.7, 0.5)),
    ):
        direction = (1, 0, 0) if quarters == 4 else None
        for chord in chords:
            end = (chord * LENGTH, 0, 0)
            shape = settled(Span((0, 0, 0), direction, end, direction, LENGTH, STIFFNESS, nodes=81))
            exact = closed_forms.slack_strut(chord, quarters)
            case = f"slack strut, {name}, chord {chord:g} L"
            middle = len(shape.points) // 2
            away = float(np.hypot(*shape.points[middle, 1:])) / LENGTH
            push = -0.5 * float(shape.tensions[middle - 1] + shape.tensions[middle]) / _FORCE
            radius = shape.min_radius / LENGTH
            found += [
                Check(case, "bow / L", source, exact.mid_deflection, away, 2e-3),
                Check(case, "smallest radius / L", source, 1 / exact.max_curvature, radius, 3e-3),
                Check(case, "energy · L/EI", source, exact.energy, shape.energy / _ENERGY, 5e-3),
                Check(case, "push · L²/EI", source, exact.load, push, 1e-2),
            ]
    return found


def circular_arc() -> list[Check]:
    """Ends clamped to an arc of a circle: the rod is that arc and carries no force."""
    source = "pure bending: the circle is the elastica without force"
    found = []
    for degrees in (45.0, 90.0, 180.0):
        turn = np.deg2rad(degrees)
        radius = LENGTH / turn
        end = radius * np.array([np.sin(turn), 1 - np.cos(turn), 0])
        shape = settled(Span((0, 0, 0), (1, 0, 0), end, heading(degrees), LENGTH, STIFFNESS))
        angles = np.linspace(0, turn, len(shape.points))
        exact = radius * np.column_stack(
            [np.sin(angles), 1 - np.cos(angles), np.zeros_like(angles)]
        )
        off = float(np.linalg.norm(shape.points - exact, axis=1).max())
        case = f"arc of {degrees:g}°"
        force = float(np.abs(shape.tensions[1:-1]).max()) / _FORCE
        found += [
            Check(case, "worst point, mm", source, 0.3, off, rule=Rule.AT_MOST),
            Check(case, "smallest radius, mm", source, radius, shape.min_radius, 2e-3),
            Check(case, "energy · L/EI", source, turn**2 / 2, shape.energy / _ENERGY, 2e-3),
            Check(case, "force · L²/EI", source, 0.0, force, 0.05, Rule.NEAR),
        ]
    return found


def plane_elastica() -> list[Check]:
    """Clamped ends in one plane, where the rod stays in it."""
    source = "plane elastica, Love art. 262"
    found = []
    for case, (x, y, first, last, energy, radius) in PLANE_CASES.items():
        shape = settled(plane_span(x, y, first, last))
        found += [
            Check(case, "energy · L/EI", source, energy, shape.energy / _ENERGY, 5e-3),
            Check(case, "smallest radius / L", source, radius, shape.min_radius / LENGTH, 1e-2),
        ]
    return found


def leaving_the_plane() -> list[Check]:
    """Slack S bends: the plane shape is a saddle in space, so a lower energy must be found."""
    source = "direct minimisation in space"
    found = []
    for case, (x, y, in_plane, in_space) in LEAVING_PLANE.items():
        shape = settled(plane_span(x, y, 0, 0))
        energy = shape.energy / _ENERGY
        limit = 0.99 * in_plane
        found += [
            Check(case, "energy · L/EI", source, in_space, energy, 0.01, Rule.NEAR),
            Check(
                case, "energy below the plane's", "Love art. 262", limit, energy, rule=Rule.AT_MOST
            ),
        ]
    return found


def helical_arc() -> list[Check]:
    """Ends clamped to a helix: a rod free to twist rests on it, pushed along."""
    source = "Love, art. 270, no torsional couple"
    found = []
    for radius, pitch, degrees in ((0.05, 0.02, 90.0), (0.05, 0.02, 180.0), (0.08, 0.05, 180.0)):
        turn = np.deg2rad(degrees)
        scale = LENGTH / (np.hypot(radius, pitch) * turn)
        a, b = radius * scale, pitch * scale
        exact = closed_forms.helix_rod(a, b, turn, np.linspace(0, 1, 81))
        first, last = np.array([0, a, b]), np.array([-a * np.sin(turn), a * np.cos(turn), b])
        shape = settled(Span(exact[0], first, exact[-1], last, LENGTH, STIFFNESS, nodes=81))
        curvature, torsion = a / (a * a + b * b), b / (a * a + b * b)
        axial = -STIFFNESS * torsion * np.hypot(curvature, torsion)
        pull = axial * torsion / np.hypot(curvature, torsion)  # along the tangent
        off = float(np.linalg.norm(shape.points - exact, axis=1).max())
        case = f"helix of {degrees:g}°, pitch angle {np.rad2deg(np.arctan2(b, a)):.0f}°"
        found += [
            Check(case, "worst point, mm", source, 0.3, off, rule=Rule.AT_MOST),
            Check(case, "smallest radius, mm", source, 1 / curvature, shape.min_radius, 2e-3),
            Check(case, "tension, N", source, pull, float(shape.tensions[40]), 2e-2),
        ]
    return found


def hanging_chain() -> list[Check]:
    """A rod so soft that it hangs like a chain (wL³/EI 10⁶, pinned)."""
    source = "catenary, Routh art. 443"
    weight = 1e-3
    found = []
    for length in (1.05, 1.2, 1.5):
        span = LENGTH / length
        shape = settled(
            Span(
                (0, 0, 0),
                None,
                (span, 0, 0),
                None,
                LENGTH,
                weight * LENGTH**3 / 1e6,
                weight=weight,
                nodes=81,
            )
        )
        exact = closed_forms.catenary(1, 0, length)
        case = f"chain, {length:g} spans long"
        sag, pull = -shape.points[:, 2].min() / span, shape.tensions.min() / (weight * span)
        found += [
            Check(case, "sag / span", source, -exact.lowest_y, sag, 2e-3),
            Check(case, "horizontal force / w·span", source, exact.parameter, pull, 5e-3),
        ]
    return found


def pulled_clamp() -> list[Check]:
    """The bend at a clamp of a long pulled rod, at a fine mesh."""
    source = "Love art. 262, κ = 2·√(F/EI)·sin(α/2)"
    pull = 20.0
    boundary = np.sqrt(STIFFNESS / pull)
    found = []
    for degrees in (30.0, 60.0, 90.0, 120.0):
        # The line of the force passes the clamp at m/F, where the far end is put.
        exact = closed_forms.pulled_clamp_curvature(pull, STIFFNESS, np.deg2rad(degrees))
        end = (12 * boundary, exact * boundary**2, 0)
        span = Span((0, 0, 0), heading(degrees), end, (1, 0, 0), LENGTH, STIFFNESS, nodes=161)
        shape = taut(span, pull)
        got = 1 / float(shape.radii[0]) if shape.converged else np.nan
        found.append(
            Check(f"pulled clamp, {degrees:g}°", "curvature, 1/mm", source, exact, got, 0.02)
        )
    return found


def _kappa(shape: Shape, node: int) -> float:
    return LENGTH / float(shape.radii[node])


GROUPS: tuple[Callable[[], list[Check]], ...] = (
    end_loaded_cantilever,
    heavy_cantilever,
    upright_column,
    slack_strut,
    circular_arc,
    plane_elastica,
    leaving_the_plane,
    helical_arc,
    hanging_chain,
    pulled_clamp,
)
