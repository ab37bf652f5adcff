"""What holds a line: end fittings by the kind of line, guides as rings, clips as bands."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from barfit.geometry.pose import Layout, bar_shape
from barfit.model import (
    BarPlace,
    BarSet,
    Body,
    Capsule,
    Hold,
    Line,
    Machine,
    OutletPlace,
    Role,
    Setup,
)
from barfit.scene.colours import Paint
from barfit.scene.machine import slider_top
from barfit.scene.mesh import Surface, block, ring_angles, rod, skin, square_to, turned, unit
from barfit.scene.parts import LEFT, Part, aligned_axes, steering_point

# A guide further than this from anything it could be fixed to is drawn without a bracket, mm.
_LONGEST_BRACKET = 130.0


def holder_parts(
    setup: Setup,
    barset: BarSet,
    layouts: dict[str, Layout],
    runs: dict[str, np.ndarray],
    names: Iterable[str],
) -> list[Part]:
    """The holders of the lines of these ``names``, straight ahead at ride height.

    ``runs`` gives, for the lines whose shape is known, the way (S, 3) each runs through its
    stations; the others' guides point along the chord between their neighbours.
    """
    parts: list[Part] = []
    wanted = set(names)
    for line in setup.lines:
        if line.name not in wanted:
            continue
        layout = layouts[line.name]
        run = runs.get(line.name, _chords(layout))
        for k in range(len(layout.points)):
            parts += _holder(setup, barset, line, layout, k, run[k])
    return parts


def _chords(layout: Layout) -> np.ndarray:
    """The directions (S, 3) from each station's predecessor to its successor."""
    ahead = np.vstack((layout.points[1:], layout.points[-1:]))
    behind = np.vstack((layout.points[:1], layout.points[:-1]))
    chords = unit(ahead - behind)
    return np.where(np.isnan(layout.directions), chords, layout.directions)


def _holder(
    setup: Setup, barset: BarSet, line: Line, layout: Layout, k: int, run: np.ndarray
) -> list[Part]:
    point, body = layout.points[k], layout.bodies[k]
    place = layout.stations[k].place
    if layout.holds[k] is Hold.FITTING:
        leaving = run if k == 0 else -run
        on_control = isinstance(place, OutletPlace)
        return [
            Part(surface, paint, body)
            for surface, paint in _fitting(line, point, leaving, float(layout.stubs[k]), on_control)
        ]
    r = 0.5 * line.diameter
    if layout.inside is not None and k == 1:
        return [Part(ring(point, run, r + 1.0, 2.0), Paint.RUBBER, body)]  # the hole's grommet
    if layout.holds[k] is Hold.GUIDE:
        parts = [Part(ring(point, run, r + 3.2, 1.7), Paint.STEEL, body)]
    else:
        band = [(-6.0, r + 1.2), (-5.0, r + 2.2), (5.0, r + 2.2), (6.0, r + 1.2)]
        parts = [Part(turned(point, run, band, sides=12), Paint.RUBBER, body)]
    if isinstance(place, BarPlace):
        return parts + _strap(setup.machine, barset, place)
    return parts + _bracket(setup.machine, point, body, r)


def _fitting(
    line: Line, point: np.ndarray, leaving: np.ndarray, stub: float, on_control: bool
) -> Iterable[tuple[Surface, Paint]]:
    r = 0.5 * line.diameter
    if line.kind.endswith("_hose"):
        return _banjo(point, leaving, max(stub, 18.0), r)
    if line.kind.endswith(("_harness", "_lead")):
        return _plug(point, leaving, max(stub, 8.0), r, on_control)
    return _ferrule(point, leaving, max(stub, 10.0), r)


def _banjo(
    point: np.ndarray, leaving: np.ndarray, stub: float, r: float
) -> list[tuple[Surface, Paint]]:
    """An eye held by a hollow bolt, a neck, and the crimp over the hose."""
    aside = LEFT if abs(leaving[1]) < 0.8 else np.array([0.0, 0.0, 1.0])
    _, _, bolt = aligned_axes(leaving, aside)
    eye = [(-5.5, 8.0), (-5.0, 9.5), (5.0, 9.5), (5.5, 8.0)]
    head = [(-11.0, 7.5), (-5.5, 7.5), (5.5, 7.5), (12.0, 7.5), (13.0, 6.0)]
    neck = [(0.0, 4.2), (0.45 * stub, 4.2), (0.45 * stub, r + 1.2)]
    crimp = [(stub - 4.0, r + 1.9), (stub, r + 1.4), (stub + 1.0, r)]
    return [
        (turned(point, bolt, eye, sides=16), Paint.STEEL),
        (turned(point, bolt, head, sides=6), Paint.STEEL),
        (turned(point, leaving, [*neck, (0.45 * stub + 2.0, r + 1.9), *crimp], 12), Paint.STEEL),
    ]


def _ferrule(
    point: np.ndarray, leaving: np.ndarray, stub: float, r: float
) -> list[tuple[Surface, Paint]]:
    """A bright metal end with a collar where it seats."""
    profile = [
        (-2.0, r + 0.6),
        (-1.0, r + 2.2),
        (4.0, r + 2.2),
        (5.0, r + 0.9),
        (stub - 1.0, r + 0.9),
        (stub + 1.0, r),
    ]
    return [(turned(point, leaving, profile, sides=11), Paint.STEEL)]


def _plug(
    point: np.ndarray, leaving: np.ndarray, stub: float, r: float, on_control: bool
) -> list[tuple[Surface, Paint]]:
    """A sleeve that tapers onto the line; away from the bars also the plug it ends in."""
    sleeve = [(0.0, r + 2.4), (0.5 * stub, r + 1.8), (stub + 4.0, r + 0.2)]
    out = [(turned(point, leaving, sleeve, sides=10), Paint.RUBBER)]
    if not on_control:
        _, across, upright = aligned_axes(leaving, np.array([0.13, 0.31, 1.0]))
        width = 2.0 * r + 8.0
        size = (width, 0.72 * width, 24.0)
        out.append(
            (block(point - 9.0 * leaving, (across, upright, leaving), size, 2.5), Paint.BLACK)
        )
    return out


def ring(centre: np.ndarray, axis: np.ndarray, radius: float, wire: float) -> Surface:
    """A ring of round wire about an axis."""
    axis = unit(axis)
    u, v = square_to(axis)
    around = ring_angles(14)[:, None]
    turn = ring_angles(5)[None, :]
    spoke = np.cos(around)[..., None] * u + np.sin(around)[..., None] * v
    section = (radius + wire * np.cos(turn))[..., None] * spoke + (
        wire * np.sin(turn) * np.ones_like(around)
    )[..., None] * axis
    closed = np.concatenate((section, section[:1]))
    return skin(centre + closed, caps=False)


def _strap(machine: Machine, barset: BarSet, place: BarPlace) -> list[Part]:
    """The strap of a clip round the bar itself."""
    shape = bar_shape(machine, barset)
    point, outward, _, _ = shape.at(place.side, place.distance, place.from_centre)
    r = 0.5 * shape.tube_diameter
    band = [(-4.0, r + 0.4), (-3.5, r + 1.6), (3.5, r + 1.6), (4.0, r + 0.4)]
    return [Part(turned(point, outward, band, sides=16), Paint.RUBBER, Body.STEERING)]


def _bracket(machine: Machine, point: np.ndarray, body: Body, r: float) -> list[Part]:
    """A wire from the ring or clip to the nearest tube of its body."""
    foot, gap = None, _LONGEST_BRACKET
    for start, end in _tubes(machine, body):
        along = end - start
        part = np.clip(np.dot(point - start, along) / np.dot(along, along), 0.0, 1.0)
        nearest = start + part * along
        distance = float(np.linalg.norm(point - nearest))
        if distance < gap:
            foot, gap = nearest, distance
    if foot is None or gap < r + 8.0:
        return []
    edge = point + (r + 3.2) * unit(foot - point)
    return [Part(rod(edge, foot, 2.2, sides=6), Paint.STEEL, body)]


def _tubes(machine: Machine, body: Body) -> list[tuple[np.ndarray, np.ndarray]]:
    """The tubes of a body, as the ends of their axes."""
    at = steering_point(machine)
    top = slider_top(machine)
    half = 0.5 * machine.fork_spread
    reach = (0.0, -top) if body is Body.STEERING else (-top, -machine.fork_length)
    if body is not Body.FRAME:
        return [
            (at(machine.fork_offset, y, reach[0]), at(machine.fork_offset, y, reach[1]))
            for y in (half, -half)
        ]
    tubes = [(at(0.0, 0.0, -machine.head_tube_top), at(0.0, 0.0, -machine.head_tube_bottom))]
    for solid in machine.solids:
        if solid.role is Role.FRAME_TUBE and isinstance(solid.shape, Capsule):
            tubes.append((np.array(solid.shape.start), np.array(solid.shape.end)))
    return [(start, end) for start, end in tubes if not np.allclose(start, end)]
