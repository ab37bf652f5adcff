"""Engine and frame behind the steering: quiet shapes that make the machine whole.

The engine fills its solid and no more. The rails and posts that join seat, engine and frame tubes
are decoration: they run where those already are, and take no part in any result.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from barfit.model import Body, Box, Capsule, Machine, PointPlace, Role, Setup, Solid
from barfit.scene.colours import Paint
from barfit.scene.mesh import Surface, block, loft, rounded_rectangle, tube, turned
from barfit.scene.parts import Axes, Part, box_mesh, capsule_mesh, pitched_axes, solid_mesh

_FIN_PITCH = 19.0


def engine(solids: list[Solid], body: Body) -> list[Part]:
    """Boxes as a crankcase with a finned barrel and a head; anything else as it is."""
    parts: list[Part] = []
    for solid in solids:
        if isinstance(solid.shape, Box):
            parts += _engine_in(solid.shape, body)
        else:
            parts.append(Part(solid_mesh(solid.shape), Paint.SHADOW, body))
    return parts


def _engine_in(box: Box, body: Body) -> list[Part]:
    axes = pitched_axes(box.pitch)
    forward, left, up = axes
    length, width, height = box.size
    centre = np.array(box.centre)
    case_height = 0.5 * height
    case = Box(
        centre=tuple(centre - 0.25 * height * up),
        size=(length, 0.8 * width, case_height),
        pitch=box.pitch,
        rounding=0.42 * case_height,
    )
    barrel_at = centre + 0.12 * length * forward
    parts = [
        Part(box_mesh(case), Paint.ALLOY, body),
        Part(_barrel(box, barrel_at, (forward, left, up)), Paint.SHADOW, body),
    ]
    for side in (1.0, -1.0):
        for along, radius in ((-0.20, 0.40), (0.22, 0.33)):
            hub = centre - 0.25 * height * up + along * length * forward
            r = radius * case_height
            reach = 0.5 * width
            cover = [(0.3 * width, r), (reach - 8.0, r), (reach - 2.0, r - 7.0), (reach, 0.5 * r)]
            parts.append(Part(turned(hub, side * left, cover, sides=28), Paint.STEEL, body))
    return parts


def _barrel(box: Box, at: np.ndarray, axes: Axes) -> Surface:
    """Cooling fins one above the other, with a plain head on top."""
    length, width, height = box.size
    outline = rounded_rectangle(0.5 * length, 0.78 * width, 26.0)
    low, high = -0.02 * height, 0.38 * height
    count = max(int((high - low) / _FIN_PITCH), 2)
    z = np.linspace(low, high, 4 * count)
    levels = [(float(h), 1.0 if k % 4 in (0, 1) else 0.88) for k, h in enumerate(z)]
    levels += [(0.39 * height, 0.84), (0.46 * height, 0.84), (0.5 * height, 0.72)]
    return loft(at, axes, outline, levels)


def rails(machine: Machine) -> list[Part]:
    """Seat rails, rear posts and, under an engine that stands on a down tube, a cradle."""
    seat, block = first_box(machine, Role.SEAT), first_box(machine, Role.ENGINE)
    tubes = [
        s.shape
        for s in machine.solids
        if s.role is Role.FRAME_TUBE and s.body is Body.FRAME and isinstance(s.shape, Capsule)
    ]
    if seat is None or block is None or not tubes:
        return []
    ends = np.array([end for tube in tubes for end in (tube.start, tube.end)])
    rear = ends[ends[:, 0].argmin()]
    foot = ends[ends[:, 2].argmin()]
    seat_low = seat.centre[2] - 0.5 * seat.size[2]
    behind = block.centre[0] - 0.5 * block.size[0] - 18.0
    under = block.centre[2] - 0.5 * block.size[2] - 12.0
    parts = []
    for side in (1.0, -1.0):
        spine = np.array([rear[0], side * abs(rear[1]), rear[2]])
        wide = side * min(0.3 * seat.size[1], 0.4 * block.size[1])
        runs = [
            [
                spine,
                (seat.centre[0] + 0.35 * seat.size[0], wide, seat_low - 2.0),
                (seat.centre[0] - 0.46 * seat.size[0], wide, seat_low - 2.0),
            ],
            [spine, (behind, wide, block.centre[2] + 0.2 * block.size[2]), (behind, wide, under)],
        ]
        if foot[2] < block.centre[2]:
            front = block.centre[0] + 0.5 * block.size[0]
            runs.append([foot, (min(front, foot[0]) - 25.0, wide, under), (behind, wide, under)])
        else:
            runs.append([(behind, wide, under), (behind + 60.0, wide, under + 40.0)])
        for run in runs:
            corners = [np.asarray(corner, dtype=float) for corner in run]
            for start, end in pairwise(corners):
                parts.append(Part(capsule_mesh(start, end, 11.0, 12), Paint.SHADOW, Body.FRAME))
    return parts


def first_box(machine: Machine, role: Role) -> Box | None:
    """The first box of a role on the frame."""
    for solid in machine.solids:
        if solid.role is role and solid.body is Body.FRAME and isinstance(solid.shape, Box):
            return solid.shape
    return None


def intakes(setup: Setup) -> list[Part]:
    """A throttle body where throttle cables end on the frame, lest they end in the air."""
    ends = [
        line.stations[-1].place.position
        for line in setup.lines
        if line.kind.startswith("throttle") and isinstance(line.stations[-1].place, PointPlace)
    ]
    if not ends:
        return []
    forward, left, up = pitched_axes(0.0)
    seat = np.mean(ends, axis=0)
    middle = seat - 44.0 * up
    bore = [(-38.0, 27.0), (-36.0, 30.0), (-24.0, 25.0), (26.0, 25.0), (30.0, 29.0), (38.0, 29.0)]
    parts = [
        Part(turned(middle, forward, bore, sides=22), Paint.ALLOY, Body.FRAME),
        Part(
            block(seat - 14.0 * up, (forward, left, up), (44.0, 42.0, 26.0), 8.0),
            Paint.SHADOW,
            Body.FRAME,
        ),
    ]
    engine_box = first_box(setup.machine, Role.ENGINE)
    if engine_box is not None:
        length, _, height = engine_box.size
        port = np.array(engine_box.centre) + 0.25 * height * up
        pipe = np.array([middle, middle + 55.0 * forward, port - 0.1 * length * forward, port])
        pipe[1:, 1] = pipe[0, 1]
        parts.append(Part(tube(pipe, 17.0, sides=16), Paint.RUBBER, Body.FRAME))
    return parts
