"""One pose alone, at once: what the window shows while a hand moves something.

A glance is solved as a sweep is, taut first and then settled at the longer of its own and its taut
length, only at one turn angle and one suspension position. Each span starts from how it lay in the
glance before. One that has no glance before it, or other guides than it had, or that was lost on
the way, starts from nothing, straight ahead, and is turned to the pose as in a sweep.

Spans that are as they were keep the twist they have in the sweep. One that was edited is taken as
free to twist: how it is fitted anew is not known before it has been laid straight ahead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from barfit.analysis.drawn import mesh_error
from barfit.analysis.lying import Changed, Lying, alike, as_it_was, kept_frames, own, together
from barfit.analysis.rest import at_rest
from barfit.analysis.spans import (
    BodyMotions,
    Held,
    SpanCase,
    batch,
    body_motions,
    held,
    riding_frames,
    span_cases,
)
from barfit.analysis.sweep import LineSweep, Sweep, line_sweep
from barfit.analysis.table import (
    Row,
    Table,
    empty_table,
    note_settled,
    note_taut,
    note_tips,
)
from barfit.analysis.tables import PULL, STIFF, unjam
from barfit.mechanics.newton import Outcome
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.start import let_out, pulled
from barfit.mechanics.track import Holds, follow
from barfit.model import Body, Setup

_TURN_STEP = math.radians(2.5)  # a longer way between poses is gone in steps
_TRAVEL_STEP = 15.0  # mm
Key = tuple[str, int]  # a line and the number of a span along it


@dataclass(frozen=True, eq=False)
class Glance:
    """A ``sweep`` of one turn angle (rad) and one suspension position (mm); lines with no point on
    the lower fork are at ride height in it, as in any sweep. ``spans`` are how it lies, by line
    and number along it, where that is known.
    """

    sweep: Sweep
    turn: float
    travel: float
    contact: bool
    spans: dict[Key, Lying]


def from_sweep(sweep: Sweep, turn: float, travel: float, contact: bool = True) -> Glance:
    """A finished sweep's lines at one pose, solved from the nearest pose that it holds.

    ``contact`` as in the sweep. Raises as `barfit.analysis.sweep.sweep` does.
    """
    at = int(np.abs(sweep.angles - turn).argmin())
    before = {}
    for line in sweep.lines:
        row = int(np.abs(line.travels - travel).argmin())
        pose = (slice(row, row + 1), slice(at, at + 1))
        here = replace(
            line,
            travels=line.travels[pose[0]],
            converged=line.converged[pose],
            shapes=line.shapes[pose],
            stations_at=line.stations_at[pose],
        )
        for number, span in enumerate(line.spans):
            if not (line.converged[row, at] and np.isfinite(span.taut_edge[row, at])):
                continue
            cut: dict[str, Any] = {
                name: value[pose]
                for name, value in vars(span).items()
                if isinstance(value, np.ndarray) and value.ndim > 1
            }
            one = replace(span, **cut)
            drawn = State(
                one.taut_nodes[0],
                one.taut_tensions[0],
                one.taut_edge[0],
                one.taut_guides[0],
                one.taut_pulls[0],
            )
            _, lying, good = at_rest(sweep.setup, sweep.angles[pose[1]], here, one)
            if not good[0]:
                lying = drawn.copy()  # too short: it lies along its taut path
            angle, way = float(sweep.angles[at]), float(line.travels[row])
            frames = np.stack((span.start_frame, span.end_frame))
            before[line.name, number] = Lying(
                span.case,
                angle,
                way,
                held(sweep.setup, span.case, np.array([angle]), np.array([way])),
                drawn,
                lying,
                frames if np.isfinite(frames).all() else None,
            )
    return _glance(sweep.setup, sweep.stock, turn, travel, contact, before)


def from_nothing(
    setup: Setup, stock: bool, turn: float, travel: float, contact: bool = True
) -> Glance:
    """The lines of a setup at one pose, solved from nothing. Raises as a sweep does."""
    return _glance(setup, stock, turn, travel, contact, {})


def again(
    glance: Glance, setup: Setup, turn: float | None = None, travel: float | None = None
) -> Glance:
    """The lines of an edited setup, at the same pose or another. Raises as a sweep does."""
    return _glance(
        setup,
        glance.sweep.stock,
        glance.turn if turn is None else turn,
        glance.travel if travel is None else travel,
        glance.contact,
        glance.spans,
        glance.sweep,
    )


def _glance(
    setup: Setup,
    stock: bool,
    turn: float,
    travel: float,
    contact: bool,
    before: dict[Key, Lying],
    old: Sweep | None = None,
) -> Glance:
    work = _Work(setup, turn, travel)
    cases = _numbered(span_cases(setup, stock, contact))
    lines = _as_they_were(work, cases, before, old)
    tables: dict[Key, Table] = {}
    warm, cold = [], []
    for key, case in cases:
        if key[0] in lines:
            continue
        tables[key] = empty_table(case, np.array([work.travel_of(case)]), 1)
        start = before.get(key)
        if start is None or not alike(start.case, case):
            cold.append((key, case))
        else:
            warm.append((key, case, start))
    lost = work.go(warm, tables)
    cold += [(key, case) for key, case, _ in lost]
    work.go(work.laid_ahead(cold), tables)
    for line in setup.lines:
        mine = [table for (name, _), table in tables.items() if name == line.name]
        if mine:
            lines[line.name] = line_sweep(setup, np.array([turn]), mine)
    found = tuple(lines[line.name] for line in setup.lines)
    return Glance(Sweep(setup, stock, np.array([turn]), found), turn, travel, contact, work.spans)


def _as_they_were(
    work: _Work, cases: list[tuple[Key, SpanCase]], before: dict[Key, Lying], old: Sweep | None
) -> dict[str, LineSweep]:
    """The lines that nothing has changed for, by name; the others' spans are to be solved."""
    if old is None:
        return {}
    changed = Changed()
    moved = set()
    for key, case in cases:
        start = before.get(key)
        if start is None or not work.same(start, case) or changed.near(start, case):
            moved.add(key[0])
    kept = {key: before[key] for key, _ in cases if key[0] not in moved}
    work.spans.update(kept)
    return {name: old.line(name) for name, _ in kept}


Numbered = tuple[Key, SpanCase, Lying]


class _Work:
    """Solving the spans of one setup at one pose."""

    def __init__(self, setup: Setup, turn: float, travel: float) -> None:
        self.setup, self.turn, self.travel = setup, turn, travel
        self.spans: dict[Key, Lying] = {}
        self._moved: dict[bytes, BodyMotions] = {}

    def travel_of(self, case: SpanCase) -> float:
        """A line with no point on the lower fork is at ride height."""
        return self.travel if Body.LOWER_FORK in case.layout.bodies else 0.0

    def same(self, start: Lying, case: SpanCase) -> bool:
        """Whether a span is as it was, apart from what may be around it."""
        travel = self.travel_of(case)
        now = self.held(case, np.array([self.turn]), np.array([travel]))
        return as_it_was(start, case, self.turn, travel, now)

    def held(self, case: SpanCase, turns: np.ndarray, travels: np.ndarray) -> Held:
        """As `barfit.analysis.spans.held`; the moving of bodies is looked up."""
        key = turns.tobytes() + travels.tobytes()
        if key not in self._moved:
            self._moved[key] = body_motions(self.setup, turns, travels)
        return held(self.setup, case, turns, travels, self._moved[key])

    def laid_ahead(self, cases: list[tuple[Key, SpanCase]]) -> list[Numbered]:
        """Spans laid out from nothing, straight ahead; those for which that fails are left out."""
        found: list[Numbered] = []
        for nodes in sorted({case.nodes for _, case in cases}):
            mine = [(key, case) for key, case in cases if case.nodes == nodes]
            holds = [
                self.held(case, np.zeros(1), np.array([self.travel_of(case)])) for _, case in mine
            ]
            rods, _ = batch([case for _, case in mine], holds)
            drawn, outcome = pulled(_stiff(rods), np.full(rods.size, PULL), nodes)
            edges = np.where(outcome.converged, drawn.edge, np.nan)
            length = np.array([case.length for _, case in mine])
            lying = drawn.copy()
            settled = let_out(rods, lying, np.fmax(length, edges * (nodes - 1)))
            for k, (key, case) in enumerate(mine):
                if outcome.converged[k] and settled.converged[k]:
                    states = own(drawn, k, case), own(lying, k, case)
                    start = Lying(case, 0.0, self.travel_of(case), holds[k], *states, None)
                    found.append((key, case, start))
        return found

    def go(self, spans: list[Numbered], tables: dict[Key, Table]) -> list[Numbered]:
        """Solve spans from how they lay, fill in their tables, and give those that were lost."""
        lost = []
        groups: dict[tuple[int, int], list[Numbered]] = {}
        for one in spans:
            _, case, start = one
            groups.setdefault((case.nodes, self._steps(case, start)), []).append(one)
        for (_, steps), group in groups.items():
            lost += self._group(group, steps, tables)
        return lost

    def _steps(self, case: SpanCase, start: Lying) -> int:
        far = abs(self.turn - start.turn) / _TURN_STEP
        up = abs(self.travel_of(case) - start.travel) / _TRAVEL_STEP
        return math.ceil(max(far, up) - 1e-9)

    def _group(self, group: list[Numbered], steps: int, tables: dict[Key, Table]) -> list[Numbered]:
        """Spans of one node count with as long a way to go: the edit first, then the turn."""
        cases = [case for _, case, _ in group]
        starts = [start for _, _, start in group]
        share = np.arange(steps + 1) / max(steps, 1)
        holds = []
        for case, start in zip(cases, starts, strict=True):
            turns = start.turn + share * (self.turn - start.turn)
            travels = start.travel + share * (self.travel_of(case) - start.travel)
            turns[-1], travels[-1] = self.turn, self.travel_of(case)
            holds.append(self.held(case, turns, travels))
        rods, moving = batch(cases, holds)
        kept = [kept_frames(case, start) for case, start in zip(cases, starts, strict=True)]
        rods, moving = _fitted(cases, kept, rods, moving)
        last, _ = batch(cases, [start.held for start in starts])
        last = replace(
            last,
            twisting=rods.twisting,
            start_frame=rods.start_frame,
            end_frame=rods.end_frame,
        )
        rows = [Row(tables[key], 0, np.zeros(1, int)) for key, _, _ in group]
        held_now = {name: part[-1:] for name, part in vars(moving).items() if part is not None}
        ends = replace(moving, **held_now)
        for k, row in enumerate(rows):
            note_tips(row, ends, k)
        pull = np.full(rods.size, PULL)
        here = moving.at(rods, steps)

        drawn = together([start.drawn for start in starts], starts, cases)
        edges, drawn, outcome = _followed(_stiff(last), moving, drawn, steps, pull=pull)
        note_taut(rows, 0, drawn, edges[-1])
        error = mesh_error(_stiff(here), drawn, pull)
        for k, row in enumerate(rows):
            row.table.taut_error[0, 0] = error[k]

        lying = together([start.lying for start in starts], starts, cases)
        length = np.array([case.length for case in cases])
        edge = np.fmax(length / (cases[0].nodes - 1), edges)
        _, lying, settled = _followed(last, moving, lying, steps, edge=edge)
        unjam(here, rows, 0, lying, settled)
        note_settled(here, rows, 0, lying, settled)
        good = outcome.converged & settled.converged
        at_last = [tuple(part[-1:] for part in hold) for hold in holds]
        for k, (key, case, _) in enumerate(group):
            if good[k]:
                pose = self.turn, self.travel_of(case)
                states = own(drawn, k, case), own(lying, k, case)
                self.spans[key] = Lying(case, *pose, at_last[k], *states, kept[k])
            frames = kept[k]
            if frames is not None:
                rows[k].table.start_frame, rows[k].table.end_frame = frames
        return [one for k, one in enumerate(group) if not good[k]]


def _numbered(cases: list[SpanCase]) -> list[tuple[Key, SpanCase]]:
    """Every span with its line's name and its number along it."""
    out: list[tuple[Key, SpanCase]] = []
    for case in cases:
        name = case.line.name
        along = out[-1][0][1] + 1 if out and out[-1][0][0] == name else 0
        out.append(((name, along), case))
    return out


def _fitted(
    cases: list[SpanCase], kept: list[np.ndarray | None], rods: Rods, moving: Holds
) -> tuple[Rods, Holds]:
    """The rods and their holds with what holds some against turning about themselves."""
    twisting = np.zeros(rods.size)
    frames = np.zeros((2, *moving.start.shape))
    for k, (case, ends) in enumerate(zip(cases, kept, strict=True)):
        if ends is not None:
            twisting[k] = case.twisting
            frames[:, :, k] = riding_frames(case, ends[0], ends[1], moving, k)
    held_ends = replace(rods, twisting=twisting, start_frame=frames[0, 0], end_frame=frames[1, 0])
    return held_ends, replace(moving, start_frame=frames[0], end_frame=frames[1])


def _followed(
    last: Rods,
    moving: Holds,
    first: State,
    steps: int,
    pull: np.ndarray | None = None,
    edge: np.ndarray | None = None,
) -> tuple[np.ndarray, State, Outcome]:
    """From how rods lay to the last of the poses: edges (P, B) mm, nan where lost, and the end."""
    edges = np.full((steps + 1, last.size), np.nan)
    rods, state = last, first
    # apart, because a guess drawn on from the edit would go astray on the way
    for order in ([0], list(range(1, steps + 1))):
        for pose, now, found in follow(rods, moving, order, state, pull, edge):
            edges[pose] = np.where(found.converged, now.edge, np.nan)
            rods, state, outcome = moving.at(last, pose), now, found
    return edges, state, outcome


def _stiff(rods: Rods) -> Rods:
    return replace(rods, ea=np.full(rods.size, STIFF))
