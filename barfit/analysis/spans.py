"""From a setup to batches of rods: lines cut at their clips, held as the poses hold them."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from barfit.analysis.moved import moving, on_bar
from barfit.analysis.obstacles import MOVERS, Obstacles, obstacles
from barfit.catalogue import line_kinds, line_property, swivels, twisting_stiffness
from barfit.geometry.pose import Layout, layout, motions, travels
from barfit.mechanics.rod import Rods
from barfit.mechanics.settle import GUIDE_STIFFNESS
from barfit.mechanics.solid_kernels import GRID, NO_SOLIDS, SAMPLES_AT, Solids
from barfit.mechanics.track import Holds
from barfit.model import Body, Hold, Line, Setup

EDGE = 12.0  # mm, about the longest edge of the mesh in a sweep
_EDGES_PER_RADIUS = 4.0  # at the smallest radius allowed: then shapes are good to about 0.3 mm
_NODE_COUNTS = (31, 61, 91)  # few counts make few, large batches

BodyMotions = dict[Body, tuple[np.ndarray, np.ndarray]]
Held = tuple[np.ndarray, ...]


@dataclass(frozen=True, eq=False)
class SpanCase:
    """One stretch of a line between two stations that fix it, to be solved on its own.

    ``first`` and ``last`` are station numbers; ``start_at`` and ``end_at`` where along the line
    the flexible part begins and ends (mm from the first fitting, stubs left out), so that
    ``length`` is what can bend. ``least`` is the slack it should keep: none where nothing about
    it moves, neither with the steering nor with other bars. ``twisting`` N·mm² is its twisting
    stiffness where both ends hold it against turning about itself and something moves it, else 0.
    """

    line: Line
    layout: Layout
    first: int
    last: int
    start_at: float
    end_at: float
    nodes: int
    min_radius: float
    ei: float
    ea: float
    weight: float
    least: float
    twisting: float
    around: Obstacles | None = None

    @property
    def length(self) -> float:
        """Length of the flexible part, mm."""
        return self.end_at - self.start_at

    @property
    def guides(self) -> range:
        """Station numbers of the guides."""
        return range(self.first + 1, self.last)


def span_cases(setup: Setup, stock: bool, contact: bool = True) -> list[SpanCase]:
    """Every span of every line with these bars, in order; without ``contact`` nothing is in the
    way of any.

    Raises LayoutError (geometry) where lines cannot be laid out, and ValueError where a line is
    too short for its own rigid ends and clips.
    """
    layouts = layout(setup, setup.bars(stock))
    around = obstacles(setup, stock, layouts) if contact else None
    return [case for line in setup.lines for case in _cases(line, layouts[line.name], around)]


def _cases(line: Line, places: Layout, around: Obstacles | None) -> list[SpanCase]:
    fixed = [i for i, hold in enumerate(places.holds) if hold is not Hold.GUIDE]
    kind = line_kinds()[line.kind]
    cases = []
    for first, last in itertools.pairwise(fixed):
        if places.inside is not None and first == 0:
            continue  # it does not move in there, and its length is known
        start = (0.0 if first == 0 else places.at_length[first]) + places.stubs[first]
        whole = line.length if last == len(places.holds) - 1 else places.at_length[last]
        end = whole - places.stubs[last]
        if end - start < 1.0 and places.inside is not None and first == 1:
            hidden = places.inside.length
            raise ValueError(
                f"line '{line.name}': of its {line.length:.0f} mm, {hidden:.0f} mm lie inside the "
                f"bar; too little comes out to reach '{places.names[last]}'"
            )
        if end - start < 1.0:
            raise ValueError(
                f"line '{line.name}': between '{places.names[first]}' and '{places.names[last]}' "
                f"the rigid ends leave {end - start:.0f} mm that can bend; it must be 1 mm or more"
            )
        moves = moving(places, first, last)
        # a clip grips any line; a fitting holds those that do not turn in theirs
        clipped = first > 0 and last < len(places.holds) - 1
        held_ends = clipped or not swivels(line)
        radius = line_property(line, "min_radius")
        edge = min(EDGE, radius / _EDGES_PER_RADIUS)
        count = next((n for n in _NODE_COUNTS if (end - start) / (n - 1) <= edge), _NODE_COUNTS[-1])
        cases.append(
            SpanCase(
                line=line,
                layout=places,
                first=first,
                last=last,
                start_at=start,
                end_at=end,
                nodes=count,
                min_radius=radius,
                ei=line_property(line, "bending_stiffness"),
                ea=line_property(line, "axial_stiffness"),
                weight=line_property(line, "weight"),
                least=kind.least_slack if moves or on_bar(places, first, last) else 0.0,
                twisting=twisting_stiffness(line) if held_ends and moves else 0.0,
                around=around,
            )
        )
    return cases


def line_travels(setup: Setup, places: Layout) -> np.ndarray:
    """Suspension positions (T,) a line is to be swept at: one where none of it rides the fork."""
    if Body.LOWER_FORK in places.bodies:
        return travels(setup.machine)
    return np.zeros(1)


def body_motions(setup: Setup, turns: np.ndarray, travel: np.ndarray) -> BodyMotions:
    """Rotation (P, 3, 3) and shift (P, 3) of every body at P poses."""
    return {body: _motion(setup, body, turns, travel) for body in MOVERS}


def held(
    setup: Setup,
    case: SpanCase,
    turns: np.ndarray,
    travel: np.ndarray,
    moved_bodies: BodyMotions | None = None,
) -> Held:
    """Where a span is held at P poses: ``turns`` (P,) rad, ``travel`` (P,) mm, where the bodies
    have moved as `body_motions` has it (which may be given, for many spans at the same poses).

    Returns start, start direction, end, end direction (P, 3) and guides (P, K, 3), the stubs
    taken off; then the rotations (P, M, 3, 3) and shifts (P, M, 3) of the bodies solids ride on.
    """
    places = case.layout
    numbers = range(case.first, case.last + 1)
    points = np.empty((len(turns), len(numbers), 3))
    directions = np.empty_like(points)
    ways = np.nan_to_num(places.directions)
    moved_bodies = moved_bodies or body_motions(setup, turns, travel)
    for body in set(places.bodies[case.first : case.last + 1]):
        turned, moved = moved_bodies[body]
        for row, number in enumerate(numbers):
            if places.bodies[number] is body:
                points[:, row] = turned @ places.points[number] + moved
                directions[:, row] = turned @ ways[number]
    start = points[:, 0] + places.stubs[case.first] * directions[:, 0]
    end = points[:, -1] - places.stubs[case.last] * directions[:, -1]
    rotations = np.stack([moved_bodies[body][0] for body in MOVERS], 1)
    shifts = np.stack([moved_bodies[body][1] for body in MOVERS], 1)
    return start, directions[:, 0], end, directions[:, -1], points[:, 1:-1], rotations, shifts


def _motion(
    setup: Setup, body: Body, turns: np.ndarray, travel: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Rotation (P, 3, 3) and shift (P, 3) of a body at P poses."""
    slides, which = np.unique(travel, return_inverse=True)
    rotations, shifts = motions(setup.machine, body, turns, slides)
    pose = np.arange(len(turns))
    return rotations[which, pose], shifts[which, pose]


def batch(cases: list[SpanCase], holds: list[Held], room: int = 0) -> tuple[Rods, Holds]:
    """Rods of one node count and their holds over P poses; rods are held as at the first pose.

    There is ``room`` for at least as many guides to a rod: rods whose states come from another
    batch have as many places as that one.
    """
    most = max(room, *(len(case.guides) for case in cases))
    size, poses = len(cases), len(holds[0][0])
    guides = np.zeros((poses, size, most, 3))
    stiffness = np.zeros((size, most))
    for row, (case, hold) in enumerate(zip(cases, holds, strict=True)):
        count = len(case.guides)
        guides[:, row, :count] = hold[4]
        guides[:, row, count:] = hold[0][:, None, :]
        stiffness[row, :count] = GUIDE_STIFFNESS
    start, start_direction, end, end_direction = (
        np.stack([hold[k] for hold in holds], 1) for k in range(4)
    )
    turns, shifts = (np.stack([hold[k] for hold in holds], 1) for k in (5, 6))
    solids, blind = _in_the_way(cases)
    ones = np.ones(size)
    rods = Rods(
        ei=np.array([case.ei for case in cases]),
        ea=np.array([case.ea for case in cases]),
        weight=np.array([case.weight for case in cases]),
        start=start[0],
        end=end[0],
        start_direction=start_direction[0],
        end_direction=end_direction[0],
        clamp_start=ones,
        clamp_end=ones,
        free_end=np.zeros(size, bool),
        end_load=np.zeros((size, 3)),
        guides=guides[0],
        guide_stiffness=stiffness,
        solids=solids,
        radius=np.array([0.5 * case.line.diameter for case in cases]),
        turns=turns[0],
        shifts=shifts[0],
        blind=blind,
    )
    return rods, Holds(start, start_direction, end, end_direction, guides, turns, shifts)


def riding_frames(
    case: SpanCase, start_frame: np.ndarray, end_frame: np.ndarray, moving: Holds, rod: int
) -> tuple[np.ndarray, np.ndarray]:
    """The frames (3,) of a span's ends at P poses, (P, 3) each, as they ride on what holds them.

    The span is rod number ``rod`` of a `batch`.
    """
    assert moving.turns is not None
    turns = moving.turns[:, rod]
    first, last = (MOVERS.index(case.layout.bodies[station]) for station in (case.first, case.last))
    return turns[:, first] @ start_frame, turns[:, last] @ end_frame


def _in_the_way(cases: list[SpanCase]) -> tuple[Solids, np.ndarray]:
    """The solids of all cases, and which of them (B, S) each case does not feel."""
    every = list({id(case.around): case.around for case in cases if case.around}.values())
    if not every:
        return NO_SOLIDS, np.zeros((len(cases), 0), bool)
    tables, first = [], 0
    for around in every:
        size = around.solids.size.copy()
        # the samples of each come after those of the ones before
        size[around.solids.kind == GRID, SAMPLES_AT] += first
        tables.append(around.solids._replace(size=size))
        first += len(around.solids.samples)
    blind = [
        [around.blind(case.line.name) | (around is not case.around) for around in every]
        for case in cases
    ]
    together = Solids(*map(np.concatenate, zip(*tables, strict=True)))
    return together, np.array([np.concatenate(row) for row in blind])
