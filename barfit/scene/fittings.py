"""What holds a line: end fittings by the kind of line, guides as rings, clips as bands."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import numpy as np

from barfit.analysis.banjos import ends_bolt
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
from barfit.scene.forms import Place, along, axes_at, brick, lathe, pole, torus
from barfit.scene.machine import slider_top
from barfit.scene.mesh import Surface, unit
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
        run = runs.get(line.name)
        if run is None:
            run = _chords(layout)
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
        bolt = ends_bolt(setup, barset, line, k > 0)
        return [
            Part(form, paint, body, where)
            for form, where, paint in _fitting(
                line, point, leaving, float(layout.stubs[k]), on_control, bolt
            )
        ]
    r = 0.5 * line.diameter
    here = along(point, run)
    if layout.inside is not None and k == 1:
        return [Part(torus(r + 1.0, 2.0), Paint.RUBBER, body, here)]  # the hole's grommet
    if layout.holds[k] is Hold.GUIDE:
        parts = [Part(torus(r + 3.2, 1.7), Paint.STEEL, body, here)]
    else:
        band = [(-6.0, r + 1.2), (-5.0, r + 2.2), (5.0, r + 2.2), (6.0, r + 1.2)]
        parts = [Part(lathe(band, 12), Paint.RUBBER, body, here)]
    if isinstance(place, BarPlace):
        return parts + _strap(setup.machine, barset, place)
    return parts + _bracket(setup.machine, point, body, r)


_Painted = tuple[Surface, Place, Paint]


def _fitting(
    line: Line,
    point: np.ndarray,
    leaving: np.ndarray,
    stub: float,
    on_control: bool,
    bolt: np.ndarray | None,
) -> list[_Painted]:
    r = 0.5 * line.diameter
    if line.kind.endswith("_hose"):
        return _banjo(point, leaving, max(stub, 18.0), r, bolt)
    if line.kind.endswith(("_harness", "_lead")):
        return _plug(point, leaving, max(stub, 8.0), r, on_control)
    return _ferrule(point, leaving, max(stub, 10.0), r)


def _banjo(
    point: np.ndarray, leaving: np.ndarray, stub: float, r: float, bolt: np.ndarray | None
) -> list[_Painted]:
    """An eye held by a hollow bolt, a neck, and the crimp over the hose; where it is not known how
    the bolt points, it is drawn square to the hose.
    """
    if bolt is None:
        aside = LEFT if abs(leaving[1]) < 0.8 else np.array([0.0, 0.0, 1.0])
        _, _, bolt = aligned_axes(leaving, aside)
    eye = [(-5.5, 8.0), (-5.0, 9.5), (5.0, 9.5), (5.5, 8.0)]
    head = [(-11.0, 7.5), (-5.5, 7.5), (5.5, 7.5), (12.0, 7.5), (13.0, 6.0)]
    neck = [(0.0, 4.2), (0.45 * stub, 4.2), (0.45 * stub, r + 1.2)]
    crimp = [(stub - 4.0, r + 1.9), (stub, r + 1.4), (stub + 1.0, r)]
    across = along(point, bolt)
    return [
        (lathe(eye, 16), across, Paint.STEEL),
        (lathe(head, 6), across, Paint.STEEL),
        (
            lathe([*neck, (0.45 * stub + 2.0, r + 1.9), *crimp], 12),
            along(point, leaving),
            Paint.STEEL,
        ),
    ]


def _ferrule(point: np.ndarray, leaving: np.ndarray, stub: float, r: float) -> list[_Painted]:
    """A bright metal end with a collar where it seats."""
    profile = [
        (-2.0, r + 0.6),
        (-1.0, r + 2.2),
        (4.0, r + 2.2),
        (5.0, r + 0.9),
        (stub - 1.0, r + 0.9),
        (stub + 1.0, r),
    ]
    return [(lathe(profile, 11), along(point, leaving), Paint.STEEL)]


def _plug(
    point: np.ndarray, leaving: np.ndarray, stub: float, r: float, on_control: bool
) -> list[_Painted]:
    """A sleeve that tapers onto the line; away from the bars also the plug it ends in."""
    sleeve = [(0.0, r + 2.4), (0.5 * stub, r + 1.8), (stub + 4.0, r + 0.2)]
    out: list[_Painted] = [(lathe(sleeve, 10), along(point, leaving), Paint.RUBBER)]
    if not on_control:
        _, across, upright = aligned_axes(leaving, np.array([0.13, 0.31, 1.0]))
        width = 2.0 * r + 8.0
        body = brick((width, 0.72 * width, 24.0), 2.5)
        where = axes_at(point - 9.0 * leaving, (across, upright, leaving))
        out.append((body, where, Paint.BLACK))
    return out


def _strap(machine: Machine, barset: BarSet, place: BarPlace) -> list[Part]:
    """The strap of a clip round the bar itself."""
    shape = bar_shape(machine, barset)
    point, outward, _, _ = shape.at(place.side, place.distance, place.from_centre)
    r = 0.5 * shape.tube_diameter
    band = [(-4.0, r + 0.4), (-3.5, r + 1.6), (3.5, r + 1.6), (4.0, r + 0.4)]
    return [Part(lathe(band, 16), Paint.RUBBER, Body.STEERING, along(point, outward))]


def _bracket(machine: Machine, point: np.ndarray, body: Body, r: float) -> list[Part]:
    """A wire from the ring or clip to the nearest tube of its body."""
    starts, ends = _tubes(machine, body)
    if not len(starts):
        return []
    way = ends - starts
    share = np.sum((point - starts) * way, axis=1) / np.sum(way**2, axis=1)
    feet = starts + np.clip(share, 0.0, 1.0)[:, None] * way
    gaps = np.linalg.norm(point - feet, axis=1)
    nearest = int(gaps.argmin())
    if not r + 8.0 <= gaps[nearest] < _LONGEST_BRACKET:
        return []
    off = feet[nearest] - point
    edge = (r + 3.2) / gaps[nearest]
    where = along(point + edge * off, off, float((1.0 - edge) * gaps[nearest]))
    return [Part(pole(2.2, 6), Paint.STEEL, body, where)]


@lru_cache(maxsize=12)
def _tubes(machine: Machine, body: Body) -> tuple[np.ndarray, np.ndarray]:
    """The tubes of a body, as the two ends of their axes, (N, 3) each."""
    at = steering_point(machine)
    top = slider_top(machine)
    half = 0.5 * machine.fork_spread
    reach = (0.0, -top) if body is Body.STEERING else (-top, -machine.fork_length)
    if body is not Body.FRAME:
        upper, lower = (
            np.array([at(machine.fork_offset, y, up) for y in (half, -half)]) for up in reach
        )
        return upper, lower
    tubes = [(at(0.0, 0.0, -machine.head_tube_top), at(0.0, 0.0, -machine.head_tube_bottom))]
    for solid in machine.solids:
        if solid.role is Role.FRAME_TUBE and isinstance(solid.shape, Capsule):
            tubes.append((np.array(solid.shape.start), np.array(solid.shape.end)))
    tubes = [(start, end) for start, end in tubes if not np.allclose(start, end)]
    return np.array([start for start, _ in tubes]), np.array([end for _, end in tubes])
