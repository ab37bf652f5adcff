"""How much the curvature along a line changes as the steering turns, fixed to the line itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.analysis import LineSweep, Sweep
from barfit.analysis.spans import batch, held, riding_frames
from barfit.analysis.sweep import SpanSweep

_SAME = 1e-6  # mm, by which two places along a line may differ and be the same


@dataclass(frozen=True, eq=False)
class Flex:
    """The change of curvature along a line over one turn from lock to lock and back.

    ``arc`` (M,) mm from the first fitting, ascending; ``change`` (M,) 1/mm the range of the
    curvature there, the greatest over the suspension positions; nan where no two poses are known.
    The rigid ends of the line do not bend.
    """

    arc: np.ndarray
    change: np.ndarray

    @property
    def known(self) -> bool:
        """Whether every place of it is known."""
        return bool(np.isfinite(self.change).all())


def line_flex(swept: Sweep, line: LineSweep) -> Flex:
    """The change of curvature along one line of a sweep.

    Curvature is taken as a vector across the line in a frame that rides with its material: the
    frame of the first fitting, which turns with what that sits on, is carried along the line
    without turning about it (Bishop 1975, by the double reflection of each vertex) and then turned
    by its even share of the twist (see `barfit.mechanics.twist`). So a bend that keeps its radius
    but goes round the line, which in space may look at rest, counts, and one that merely turns with
    the handlebar does not. The range over a turn is the greatest distance between any two of these
    vectors: the strain range of a strand at radius r on the worst side is r times that.

    At a clamp the turning of the vertex belongs to half an edge. Poses at which the line is not at
    rest, or laid along its taut path, are as the sweep has them; those not converged are left out.
    """
    arcs, changes = [], []
    for span in line.spans:
        inside = (line.arc > span.case.start_at - _SAME) & (line.arc < span.case.end_at + _SAME)
        arcs.append(line.arc[inside])
        changes.append(_span_change(swept, line, span, line.shapes[:, :, inside]))
    arc, change = np.concatenate(arcs), np.concatenate(changes)
    first = np.concatenate(([0.0], change[:1] * 0.0)), np.concatenate((change[-1:] * 0.0, [0.0]))
    stub, length = float(arc[0]), float(line.arc[-1])
    if stub > _SAME:  # a rigid end bends nowhere
        arc, change = np.concatenate(([0.0, stub], arc)), np.concatenate((first[0], change))
    if length - arc[-1] > _SAME:
        arc, change = np.concatenate((arc, [arc[-1], length])), np.concatenate((change, first[1]))
    return Flex(arc, change)


def material_curvature(
    nodes: np.ndarray,
    start_direction: np.ndarray,
    end_direction: np.ndarray,
    start_frame: np.ndarray,
    twist: np.ndarray,
) -> np.ndarray:
    """Curvature (P, N, 2), 1/mm, of P polylines in the frame of their material.

    ``nodes`` (P, N, 3) mm at equal distances, clamped along the unit vectors ``start_direction``
    and ``end_direction`` (P, 3); ``start_frame`` (P, 3) is a unit vector across the start, fixed to
    what holds it; ``twist`` (P,) rad, right-handed, is spread evenly. A vertex that turns by the
    angle a has the curvature 2 tan(a/2) over the length that belongs to it.
    """
    poses, count = nodes.shape[:2]
    edges = np.diff(nodes, axis=1)
    lengths = np.linalg.norm(edges, axis=-1)
    along = np.concatenate(
        (start_direction[:, None], edges / lengths[..., None], end_direction[:, None]), axis=1
    )
    share = np.zeros((poses, count))
    share[:, :-1] += 0.5 * lengths
    share[:, 1:] += 0.5 * lengths
    out = np.empty((poses, count, 2))
    frame = start_frame
    for node in range(count):
        before, after = along[:, node], along[:, node + 1]
        grown = 1.0 + _dot(before, after)
        binormal = 2.0 * np.cross(before, after) / grown[:, None]
        middle = before + after
        middle /= np.linalg.norm(middle, axis=-1, keepdims=True)
        halfway = _reflected(frame, before, middle)
        angle = twist * node / (count - 1)
        other = np.cross(middle, halfway)
        own = np.cos(angle)[:, None] * halfway + np.sin(angle)[:, None] * other
        second = np.cross(middle, own)
        bend = np.cross(binormal, middle) / share[:, node, None]
        out[:, node, 0], out[:, node, 1] = _dot(bend, own), _dot(bend, second)
        frame = _reflected(frame, before, after)
    return out


def widest(vectors: np.ndarray) -> np.ndarray:
    """The greatest distance (M,) between any two of the vectors (A, M, 2); nan where fewer than
    two are known.
    """
    apart = np.linalg.norm(vectors[:, None] - vectors[None], axis=-1)
    known = np.isfinite(vectors).all(-1).sum(0) >= 2
    found: np.ndarray = np.where(known, np.fmax.reduce(apart, axis=(0, 1)), np.nan)
    return found


def _span_change(swept: Sweep, line: LineSweep, span: SpanSweep, nodes: np.ndarray) -> np.ndarray:
    travels, angles, count = nodes.shape[:3]
    turns, travel = (grid.ravel() for grid in np.meshgrid(swept.angles, line.travels))
    _, moving = batch([span.case], [held(swept.setup, span.case, turns, travel)])
    frame = span.start_frame
    straight = np.argmin(np.abs(travel) + np.abs(turns))
    if not np.isfinite(frame).all():  # free to twist: any frame that rides with its start does
        frame = _across(moving.start_direction[straight, 0])
    frames, _ = riding_frames(span.case, frame, frame, moving, 0)
    curvature = material_curvature(
        nodes.reshape(-1, count, 3),
        moving.start_direction[:, 0],
        moving.end_direction[:, 0],
        frames,
        span.twist.ravel(),
    ).reshape(travels, angles, count, 2)
    curvature = np.where(line.converged[..., None, None], curvature, np.nan)
    found: np.ndarray = np.fmax.reduce([widest(row) for row in curvature])
    return found


def _reflected(frame: np.ndarray, before: np.ndarray, after: np.ndarray) -> np.ndarray:
    """Vectors (P, 3) across ``before`` carried to across ``after`` by the least rotation."""
    share = _dot(frame, after) / (1.0 + _dot(before, after))
    carried: np.ndarray = frame - share[:, None] * (before + after)
    return carried


def _across(direction: np.ndarray) -> np.ndarray:
    axis = np.eye(3)[np.abs(direction).argmin()]
    out = np.cross(direction, axis)
    return np.asarray(out / np.linalg.norm(out))


def _dot(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    product: np.ndarray = np.sum(a * b, axis=-1)
    return product
