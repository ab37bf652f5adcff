"""A setup turned from lock to lock: one immutable table per line."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from barfit.analysis.drawn import Drawn, Lent
from barfit.analysis.spans import SpanCase, span_cases
from barfit.analysis.table import Table
from barfit.analysis.tables import sweep_all
from barfit.analysis.work import Cancel, Progress
from barfit.geometry.curve import curvature_radius
from barfit.geometry.pose import motions, sweep_angles
from barfit.model import Body, Setup


@dataclass(frozen=True, eq=False)
class SpanSweep(Drawn):
    """One span of a line over T suspension positions and A turn angles; a start for more solves.

    ``slack`` (T, A) mm. ``touch_*``, ``twist`` and ``twist_moment`` are those of the settled rods,
    as many places as any of them presses; ``start_frame`` and ``end_frame`` as in `Table`.
    """

    case: SpanCase
    slack: np.ndarray
    min_radius: np.ndarray
    touch_place: np.ndarray
    touch_solid: np.ndarray
    touch_force: np.ndarray
    twist: np.ndarray
    twist_moment: np.ndarray
    start_frame: np.ndarray
    end_frame: np.ndarray


@dataclass(frozen=True, eq=False)
class Pressing:
    """How one span of a line presses on one part of the machine over the sweep.

    ``force`` (T, A, 3) N on the line, 0 where it does not touch; there ``at`` (T, A), mm from the
    first fitting, and ``point`` (T, A, 3), mm, are nan.
    """

    part: str
    body: Body
    force: np.ndarray
    at: np.ndarray
    point: np.ndarray


@dataclass(frozen=True, eq=False)
class LineSweep:
    """One line over T suspension positions and A turn angles. Arrays are read-only.

    ``travels`` (T,) mm, compression positive; one 0 for a line with no point on the lower fork.
    ``slack``, ``taut``, ``min_radius`` (mm), ``tension`` (N), ``converged`` and ``same_way_back``
    (bool) are (T, A). ``tension`` is the greatest along the line; where that is too short, what
    stretching it by all it lacks would take. ``slack`` is installed minus taut length (of the span
    with least to spare, where clips divide the line); negative is stretch.
    ``shapes`` (T, A, M, 3) mm are centrelines from fitting to fitting with their rigid stubs, M
    points at the arc lengths ``arc`` (M,) mm, for the body positions of that pose.
    ``stations_at`` (T, A, S) mm is where along the settled line each station holds it;
    ``segment_slack`` (T, A, S-1) mm is what each stretch between two stations has to spare (inf
    inside the bar, where nothing goes tight).
    ``radii`` (T, A, M) mm is the radius of curvature along the line (inf where straight).
    ``pressing`` has an entry for each part that the line touches anywhere in the sweep.
    Where a pose did not converge its numbers are NaN and its shape is not to be trusted.
    """

    name: str
    travels: np.ndarray
    taut: np.ndarray
    slack: np.ndarray
    min_radius: np.ndarray
    tension: np.ndarray
    converged: np.ndarray
    same_way_back: np.ndarray
    shapes: np.ndarray
    arc: np.ndarray
    stations_at: np.ndarray
    segment_slack: np.ndarray
    radii: np.ndarray
    spans: tuple[SpanSweep, ...] = ()
    pressing: tuple[Pressing, ...] = ()


@dataclass(frozen=True, eq=False)
class Sweep:
    """All lines, or those that were asked for, over the turn ``angles`` (A,) rad, from right lock
    (negative) to left lock.
    """

    setup: Setup
    stock: bool
    angles: np.ndarray
    lines: tuple[LineSweep, ...]

    def stretches(self, on: np.ndarray) -> tuple[tuple[float, float], ...]:
        """First and last turn angle (rad) of every unbroken row of poses that is ``on`` (A,)."""
        steps = np.diff(np.concatenate(([0], on.astype(int), [0])))
        rows = zip(np.flatnonzero(steps > 0), np.flatnonzero(steps < 0) - 1, strict=True)
        return tuple((float(self.angles[a]), float(self.angles[b])) for a, b in rows)

    def line(self, name: str) -> LineSweep:
        """The sweep of the line of that name. Raises KeyError."""
        for line in self.lines:
            if line.name == name:
                return line
        raise KeyError(name)


def sweep(
    setup: Setup,
    *,
    stock: bool = False,
    step: float = math.radians(1.0),
    contact: bool = True,
    only: Collection[str] | None = None,
    settle: bool = True,
    both_ways: bool = True,
    lent: Lent | None = None,
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
) -> Sweep:
    """Turn the setup from straight ahead to each lock and back, with its new or stock bars.

    Without ``contact`` lines pass through the machine as if it were not there. Of the lines those
    named in ``only`` are solved, the others just hold what they hold; None solves all. Unless they
    are to ``settle`` they lie drawn taut, which says how much line is needed and nothing else.
    Unless they are to be turned ``both_ways`` the way back is not tried, and nothing snaps. How
    spans lie drawn taut may be ``lent``.
    Raises LayoutError or ValueError for a setup that cannot be laid out (see
    `barfit.analysis.problems`), and Cancelled once ``cancelled()`` is true.
    """
    angles = sweep_angles(setup.machine, step)
    mine = [line for line in setup.lines if only is None or line.name in only]
    names = {line.name for line in mine}
    cases = [case for case in span_cases(setup, stock, contact) if case.line.name in names]
    tables = sweep_all(setup, cases, angles, settle, progress, cancelled, both_ways, lent)
    lines = []
    for line in mine:
        spans = [table for table in tables if table.case.line is line]
        lines.append(line_sweep(setup, angles, spans))
    return Sweep(setup, stock, angles, tuple(lines))


def line_sweep(setup: Setup, angles: np.ndarray, tables: list[Table]) -> LineSweep:
    """Join the spans of one line, behind what of it lies inside the bar."""
    line, places = tables[0].case.line, tables[0].case.layout
    spans = [_span_sweep(table) for table in tables]
    good = np.all([t.converged & np.isfinite(t.taut_edge) for t in tables], axis=0)
    slack = _line_slack(spans)
    arc, shapes, radii = [], [], []
    stations, spare = [], []
    straight = np.full((*tables[0].converged.shape, 1), np.inf)
    if places.inside is not None:
        arc.append(places.inside.arc)
        shapes.append(_turned(setup, angles, tables[0].travels, places.inside.path))
        bends = curvature_radius(places.inside.path)
        radii.append(np.broadcast_to(bends, (*good.shape, len(bends))))
        stations.append(np.zeros((*good.shape, 1)))
        spare.append(straight)
    for table, span in zip(tables, spans, strict=True):
        case = table.case
        front = table.converged.shape
        at = np.linspace(case.start_at, case.end_at, case.nodes)
        points, radius = table.nodes, table.radii
        if places.stubs[case.first] > 0.0:
            at = np.concatenate(([case.start_at - places.stubs[case.first]], at))
            points = np.concatenate((table.tips[:, :, :1], points), axis=2)
            radius = np.concatenate((straight, radius), axis=2)
        if places.stubs[case.last] > 0.0:
            at = np.concatenate((at, [case.end_at + places.stubs[case.last]]))
            points = np.concatenate((points, table.tips[:, :, 1:]), axis=2)
            radius = np.concatenate((radius, straight), axis=2)
        skip = 0 if case.first == 0 else 1
        arc.append(at[skip:])
        shapes.append(points[:, :, skip:])
        radii.append(radius[:, :, skip:])
        edge = case.length / (case.nodes - 1)
        taut_at = case.start_at + table.taut_guides * table.taut_edge[..., None]
        here_at = case.start_at + table.guides * edge
        begin = np.zeros((*front, 1)) if case.first == 0 else np.full((*front, 1), case.start_at)
        stations += [begin, here_at]
        final = np.full((*front, 1), case.end_at)
        taut_end = (case.start_at + case.length - span.slack)[..., None]
        settled = np.concatenate((begin, here_at, final), -1)
        pulled_in = np.concatenate((begin, taut_at, taut_end), -1)
        spare.append(np.diff(settled, axis=-1) - np.diff(pulled_in, axis=-1))
    stations.append(np.full((*good.shape, 1), line.length))
    nan = np.where(good, 0.0, np.nan)
    out = LineSweep(
        name=line.name,
        travels=tables[0].travels,
        taut=line.length - slack + nan,
        slack=slack + nan,
        min_radius=np.min([span.min_radius for span in spans], axis=0) + nan,
        tension=np.max([table.tension for table in tables], axis=0) + nan,
        converged=good,
        same_way_back=np.all([table.same for table in tables], axis=0),
        shapes=np.concatenate(shapes, axis=2),
        arc=np.concatenate(arc),
        stations_at=np.concatenate(stations, axis=-1) + nan[..., None],
        segment_slack=np.concatenate(spare, axis=-1) + nan[..., None],
        radii=np.concatenate(radii, axis=2) + nan[..., None],
        spans=tuple(spans),
        pressing=tuple(pressing for table in tables for pressing in _pressing(table)),
    )
    within = [value for part in (*spans, *out.pressing) for value in vars(part).values()]
    for value in (*vars(out).values(), *within):
        if isinstance(value, np.ndarray):
            value.setflags(write=False)
    return out


def _turned(setup: Setup, angles: np.ndarray, travels: np.ndarray, path: np.ndarray) -> np.ndarray:
    """Points (K, 3) that turn with the bar, at every pose (T, A, K, 3)."""
    turns, shifts = motions(setup.machine, Body.STEERING, angles, travels)
    return np.asarray(path @ turns.swapaxes(-1, -2) + shifts[:, :, None, :])


def _line_slack(spans: list[SpanSweep]) -> np.ndarray:
    """Slack (T, A) of the span with least to spare.

    Spans that neither steering nor bars can move may be cut as snugly as one likes: they count
    only where they are too short.
    """
    moving = [span.slack for span in spans if span.case.least > 0.0]
    still = [np.where(span.slack < 0.0, span.slack, np.inf) for span in spans]
    return np.min(moving + still if moving else [span.slack for span in spans], axis=0)


def _span_sweep(table: Table) -> SpanSweep:
    edges = table.case.nodes - 1
    taut_length = table.taut_edge * edges + table.taut_error
    most = int((table.touch_force > 0.0).sum(-1).max(initial=0))
    return SpanSweep(
        case=table.case,
        slack=table.case.length - taut_length,
        min_radius=table.radii.min(-1),
        taut_length=taut_length,
        taut_nodes=table.taut_nodes,
        taut_tensions=table.taut_tensions,
        taut_edge=table.taut_edge,
        taut_guides=table.taut_guides,
        taut_pulls=table.taut_pulls,
        ahead=table.ahead,
        touch_place=table.touch_place[..., :most],
        touch_solid=table.touch_solid[..., :most],
        touch_force=table.touch_force[..., :most],
        twist=table.twist,
        twist_moment=table.twist_moment,
        start_frame=table.start_frame,
        end_frame=table.end_frame,
    )


def _pressing(table: Table) -> list[Pressing]:
    """What a span presses on, one entry for each part."""
    around = table.case.around
    if around is None:
        return []
    touched = np.flatnonzero(np.isfinite(table.press_at).any((0, 1)))
    return [
        Pressing(
            part=around.names[part],
            body=around.bodies[part],
            force=table.press[:, :, part],
            at=table.press_at[:, :, part],
            point=table.press_point[:, :, part],
        )
        for part in touched
    ]
