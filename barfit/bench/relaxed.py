"""A public rod library beside the solver: PyElastica, its rod let swing until it hangs still.

PyElastica (M. Gazzola, L. H. Dudte, A. G. McCormick and L. Mahadevan, "Forward and inverse problems
in the mechanics of soft filaments", R. Soc. Open Sci. 5 (2018) 171628) moves a Cosserat rod through
time. With damping it comes to rest where ours does; how heavy it is against being moved does not
matter there, so the mass is chosen for speed. It comes with the optional extra ``bench``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from importlib.util import find_spec
from statistics import median
from time import perf_counter
from typing import Any

import numpy as np
from rich.table import Table
from scipy.interpolate import CubicSpline

from barfit.bench.check import Check, Rule
from barfit.bench.kirchhoff import Reference, hermite, settle_bvp
from barfit.bench.space_checks import SPANS, clamped
from barfit.geometry.curve import resample
from barfit.mechanics import Span, settle

CASES = ("clutch cable", "brake hose", "cable, no weight")
MISSING = "PyElastica is not installed (pip install 'barfit[bench]'): its rows are left out."
_ELEMENTS = 40
_STRETCH = 100.0  # axial stiffness times element length squared over EI: stiff enough, and quick
_TWIST = 1e-3  # of EI: as good as free to twist
_STEP = 0.4  # of the time in which a wave crosses half an element
_ROUND = 2.0  # of 1/ω, ω the lowest natural frequency of the straight rod between clamps
_STILL = 2e-3  # mm, moved in a round
_ROUNDS = 60


@dataclass(frozen=True)
class Relaxed:
    """A rod come to rest: ``arc`` (N,) mm, ``points`` (N, 3) mm, smallest radius mm, ``seconds``
    and ``steps`` of time it took.
    """

    arc: np.ndarray
    points: np.ndarray
    min_radius: float
    converged: bool
    seconds: float
    steps: int


def installed() -> bool:
    """Whether the library is there."""
    return find_spec("elastica") is not None


def relax(span: Span, elements: int = _ELEMENTS) -> Relaxed:
    """A span without rings let swing to rest in PyElastica. Raises ImportError without it.

    Its clamps hold whole elements; so that they hold the rod just at its ends, half an element is
    added at each, inside the clamp.
    """
    rod, simulator, stepper, rate = _built(span, elements)
    size = span.length / elements
    wave = math.sqrt(_STRETCH * span.bending_stiffness) / size**2
    step = _STEP / (2 * wave)
    steps = int(_ROUND / rate / step)
    now, before, still = 0.0, rod.position_collection.copy(), False
    began = perf_counter()
    rounds = 0
    while rounds < _ROUNDS and not still:
        for _ in range(steps):
            now = stepper.step(simulator, now, step)
        still = bool(np.abs(rod.position_collection - before).max() < _STILL)
        before = rod.position_collection.copy()
        rounds += 1
    seconds = perf_counter() - began
    bend = np.linalg.norm(rod.kappa, axis=0)
    return Relaxed(
        arc=(np.arange(1, elements + 1) - 0.5) * size,
        points=rod.position_collection.T[1:-1].copy(),
        min_radius=float(1 / bend.max()),
        converged=still,
        seconds=seconds,
        steps=rounds * steps,
    )


def _built(span: Span, elements: int) -> tuple[Any, Any, Any, float]:
    """The rod on a cubic between its clamps, its simulator and stepper, and its frequency, 1/s."""
    import elastica

    class Simulator(
        elastica.BaseSystemCollection, elastica.Constraints, elastica.Forcing, elastica.Damping
    ):
        pass

    ends, size, stiffness = clamped(span), span.length / elements, span.bending_stiffness
    middles = resample(hermite(ends, span.length), 2 * elements + 1)[1::2]
    nodes = np.vstack(
        (
            ends.start - 0.5 * size * ends.start_direction,
            middles,
            ends.end + 0.5 * size * ends.end_direction,
        )
    )
    radius = 0.5 * size
    rod = elastica.CosseratRod.straight_rod(
        elements + 1,
        np.zeros(3),
        np.array([1.0, 0.0, 0.0]),
        np.array([0.0, 1.0, 0.0]),
        span.length + size,
        radius,
        1.0 / (math.pi * radius**2),  # a mass of 1 per mm
        youngs_modulus=1.0,
    )
    rod.bend_matrix[:] = 0.0
    rod.shear_matrix[:] = 0.0
    for axis, share in enumerate((1.0, 1.0, _TWIST)):
        rod.bend_matrix[axis, axis, :] = share * stiffness
        rod.shear_matrix[axis, axis, :] = _STRETCH * stiffness / size**2
    rod.position_collection[:] = nodes.T
    rod.director_collection[:] = _frames(nodes)
    simulator = Simulator()
    simulator.append(rod)
    simulator.constrain(rod).using(
        elastica.FixedConstraint,
        constrained_position_idx=(0, -1),
        constrained_director_idx=(0, -1),
    )
    if span.weight:
        down = np.array([0.0, 0.0, -span.weight])
        simulator.add_forcing_to(rod).using(elastica.GravityForces, acc_gravity=down)
    rate = 22.37 * math.sqrt(stiffness) / span.length**2  # clamped beam, first mode
    wave = math.sqrt(_STRETCH * stiffness) / size**2
    simulator.dampen(rod).using(
        elastica.AnalyticalLinearDamper, uniform_damping_constant=rate, time_step=_STEP / (2 * wave)
    )
    simulator.finalize()
    return rod, simulator, elastica.PositionVerlet(), rate


def _frames(nodes: np.ndarray) -> np.ndarray:
    """Directors (3, 3, N-1) of the elements, the last along each, without twist between them."""
    tangents = np.diff(nodes, axis=0)
    tangents /= np.linalg.norm(tangents, axis=1)[:, None]
    out = np.empty((3, 3, len(tangents)))
    normal = np.eye(3)[np.abs(tangents[0]).argmin()]
    for k, tangent in enumerate(tangents):
        normal = normal - (normal @ tangent) * tangent
        normal /= np.linalg.norm(normal)
        out[0, :, k], out[1, :, k], out[2, :, k] = normal, np.cross(tangent, normal), tangent
    return out


def _off(points: np.ndarray, arc: np.ndarray, exact: Reference) -> float:
    return float(np.linalg.norm(points - exact.at(arc), axis=1).max())


def peers_at_rest(cases: tuple[str, ...] = CASES) -> tuple[list[Check], Table]:
    """Ours against the library's, and all three solvers side by side: how right and how fast.

    Worst points are against solve_bvp at a tolerance of 1e-8; times are from nothing.
    """
    table = Table(title="Rods from nothing to rest: how right, how fast")
    for name in ("span", "solver", "worst point, mm", "smallest radius, mm", "ms"):
        table.add_column(name, justify="left" if name in ("span", "solver") else "right")
    checks = []
    for case in cases:
        span = SPANS[case]
        exact = settle_bvp(clamped(span), span.length)
        shape = settle(span)
        times = []
        for _ in range(5):
            began = perf_counter()
            settle(span)
            times.append(perf_counter() - began)
        arc = np.linspace(0, span.length, span.nodes)
        free = relax(span)
        library = _off(free.points, free.arc, exact) if free.converged else math.nan
        rows = (
            ("ours, 41 nodes", _off(shape.points, arc, exact), shape.min_radius, median(times)),
            ("solve_bvp, tolerance 1e-8", None, exact.min_radius, exact.seconds),
            (
                f"PyElastica, {_ELEMENTS} elements, {free.steps} steps of time",
                library,
                free.min_radius,
                free.seconds,
            ),
        )
        for number, (solver, off, radius, seconds) in enumerate(rows):
            table.add_row(
                case if number == 0 else "",
                solver,
                "0 (the measure)" if off is None else f"{off:.3f}",
                f"{radius:.2f}",
                f"{1e3 * seconds:.3g}",
            )
        table.add_section()
        ours = CubicSpline(arc, shape.points)(free.arc)
        apart = float(np.linalg.norm(free.points - ours, axis=1).max())
        apart = apart if free.converged and shape.converged else math.nan
        source = "PyElastica, damped to rest"
        checks += [
            Check(case, "worst point, mm", source, 0.5, apart, rule=Rule.AT_MOST),
            Check(case, "smallest radius, mm", source, free.min_radius, shape.min_radius, 0.01),
        ]
    return checks, table
