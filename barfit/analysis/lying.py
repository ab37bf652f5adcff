"""How spans lie at one pose: what the next solve of them starts from, and whether it needs one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.analysis.obstacles import Obstacles
from barfit.analysis.spans import Held, SpanCase
from barfit.mechanics.rod import State
from barfit.mechanics.solid_kernels import CAPSULE

_NEAR = 30.0  # mm from a line: what changes further off does not concern it


@dataclass(frozen=True, eq=False)
class Lying:
    """How one span lies at a turn (rad) and travel (mm): what the next solve of it starts from.

    ``held`` as `barfit.analysis.spans.held` has it, of this one pose; ``drawn`` and ``lying`` are
    the taut and the settled rod, batches of one. ``frames`` (2, 3) are the end frames straight
    ahead of a span held against turning, None for one that is free to twist or taken as such.
    """

    case: SpanCase
    turn: float
    travel: float
    held: Held
    drawn: State
    lying: State
    frames: np.ndarray | None


def alike(before: SpanCase, now: SpanCase) -> bool:
    """Whether the state of one is a state of the other."""
    return before.nodes == now.nodes and len(before.guides) == len(now.guides)


def kept_frames(case: SpanCase, start: Lying) -> np.ndarray | None:
    """The end frames of a span that lies straight ahead as it did, and so is fitted as it was."""
    before = start.case
    if start.frames is None or case.twisting != before.twisting or case.length != before.length:
        return None
    mine, other = (slice(one.first, one.last + 1) for one in (case, before))
    same = all(
        np.array_equal(getattr(case.layout, name)[mine], getattr(before.layout, name)[other], True)
        for name in ("points", "directions", "stubs")
    )
    on_same = case.layout.bodies[mine] == before.layout.bodies[other]
    return start.frames if same and on_same else None


def own(state: State, k: int, case: SpanCase) -> State:
    """The state of one rod of a batch, without the guides that are there for others."""
    out = state.take(np.array([k]))
    out.guide_at = out.guide_at[:, : len(case.guides)]
    out.guide_pull = out.guide_pull[:, : len(case.guides)]
    return out


def together(states: list[State], starts: list[Lying], cases: list[SpanCase]) -> State:
    """One batch of states, each touching what it touched, as the solids are now numbered."""
    most = max(len(case.guides) for case in cases)
    full = []
    for state, start, case in zip(states, starts, cases, strict=True):
        out = state.copy()
        spare = most - len(case.guides)
        if spare:
            out.guide_at = np.concatenate((out.guide_at, np.zeros((1, spare))), 1)
            out.guide_pull = np.concatenate((out.guide_pull, np.zeros((1, spare, 3))), 1)
        _renumber(out, start.case.around, case.around)
        full.append(out)
    names = vars(full[0])
    return State(**{name: np.concatenate([vars(one)[name] for one in full]) for name in names})


def _renumber(state: State, before: Obstacles | None, now: Obstacles | None) -> None:
    """Give the touches of one rod the numbers that solids have now; what is gone is let go of."""
    if before is None or now is None:
        state.touch_force[:] = 0.0
        return
    if before.names == now.names and np.array_equal(before.part, now.part):
        return
    known = {which: number for number, which in enumerate(_which(now))}
    old = _which(before)
    touches = [
        (place, known[old[solid]], force)
        for place, solid, force in zip(
            state.touch_place[0], state.touch_solid[0], state.touch_force[0], strict=True
        )
        if force > 0.0 and old[solid] in known
    ]
    state.touch_force[:] = 0.0
    for k, (place, solid, force) in enumerate(touches):
        state.touch_place[0, k], state.touch_solid[0, k] = place, solid
        state.touch_force[0, k] = force


def _which(around: Obstacles) -> list[tuple[str, int]]:
    """Of each solid the name of its part and its number within that."""
    first = {part: int(np.argmax(around.part == part)) for part in set(around.part.tolist())}
    return [(around.names[part], k - first[part]) for k, part in enumerate(around.part.tolist())]


class Changed:
    """Which solids are not as they were, worked out once for each two states of them."""

    def __init__(self) -> None:
        self._found: dict[tuple[int, int], tuple[np.ndarray, np.ndarray]] = {}

    def near(self, start: Lying, case: SpanCase) -> bool:
        """Whether a solid that a span feels, or felt, has changed close to where it lies."""
        before, now = start.case.around, case.around
        if before is None or now is None:
            return before is not now
        key = id(before), id(now)
        if key not in self._found:
            self._found[key] = _changed(before, now)
        sides = zip((before, now), self._found[key], strict=True)
        return any(_close(start, around, rows) for around, rows in sides)


def _changed(before: Obstacles, now: Obstacles) -> tuple[np.ndarray, np.ndarray]:
    """The numbers of the solids of each that the other has not."""
    if len(before.solids.samples) or len(now.solids.samples):
        same = np.array_equal(before.solids.samples, now.solids.samples)
    else:
        same = True
    sides = [
        {
            (which, int(kind), int(mover), size.tobytes(), unfelt): row
            for row, (which, kind, mover, size, unfelt) in enumerate(
                zip(
                    _which(around),
                    around.solids.kind,
                    around.solids.mover,
                    around.solids.size,
                    around.unfelt,
                    strict=True,
                )
            )
        }
        for around in (before, now)
    ]
    old, new = (
        np.array([row for what, row in mine.items() if not same or what not in other], int)
        for mine, other in (sides, sides[::-1])
    )
    return old, new


def _close(start: Lying, around: Obstacles, rows: np.ndarray) -> bool:
    """Whether any of these solids comes near a span, drawn taut or as it lies."""
    rows = rows[~around.blind(start.case.line.name)[rows]]
    if not len(rows):
        return False
    solids = around.solids
    if (solids.kind[rows] != CAPSULE).any():
        return True
    turns, shifts = start.held[5][0], start.held[6][0]
    nodes = np.concatenate((start.drawn.nodes[0], start.lying.nodes[0]))
    for row in rows:
        mover, size = solids.mover[row], solids.size[row]
        first, last = (turns[mover] @ size[k : k + 3] + shifts[mover] for k in (0, 3))
        along = last - first
        part = np.clip((nodes - first) @ along / max(float(along @ along), 1e-12), 0.0, 1.0)
        away = np.linalg.norm(nodes - first - part[:, None] * along, axis=1).min()
        if away < size[6] + 0.5 * start.case.line.diameter + _NEAR:
            return True
    return False


def as_it_was(start: Lying, case: SpanCase, turn: float, travel: float, now: Held) -> bool:
    """Whether a span is the same, in the same pose and held alike, whatever may be around it."""
    mine, other = case.layout.inside, start.case.layout.inside
    inside = mine is other or (
        mine is not None and other is not None and np.array_equal(mine.path, other.path)
    )
    return (
        (start.turn, start.travel) == (turn, travel)
        and case.line == start.case.line
        and inside
        and all(map(np.array_equal, now, start.held))
    )
