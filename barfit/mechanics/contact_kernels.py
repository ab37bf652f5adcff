"""Compiled contact: a rod pressed against solids it may not pass through, without friction.

The rod is looked at in four places to an edge, on the Catmull-Rom curve through its nodes. Where
one of them is nearer to a solid than the rod's clearance, a force presses it out, as a spring of
stiffness `STIFFNESS` would. That force is an unknown of its own with the compliance of the spring,
as tensions and the pulls on guides are, and for the same reason: taken from the positions alone a
small step would look like a large force. The places that press are found as Newton goes on (a
primal-dual active set: Hintermüller, Ito and Kunisch 2002): one that presses stays while its force
is positive, one that does not joins in once it is too deep.

With f the force at a place, n the gradient of the solid's distance and H its second derivative, w
the weights of the four nodes around it, and g the distance less the clearance, the Lagrangian
-f g - f f / 2k gives w w' (k n n' - f H) for the Hessian and -k g w n for the right-hand side,
the force eliminated; then f becomes -k (g + n.step).

Near a place where the rod is held closer to a solid than its clearance (a plug inside a lamp, a
tie on the bar) it may be as close: the clearance grows from there along the rod by `SLOPE`. The
first bit out of a clamp cannot be moved aside: it is left alone, and where it ends, `STRAIGHT` from
the clamp, counts as held. What lies against it lies against the fitting, not the line.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from barfit.compiled import compiled, inlined
from barfit.mechanics.kernels import Array, Rod, catmull_rom
from barfit.mechanics.solid_kernels import Around, at_least, distance

STIFFNESS = 500.0  # N/mm of a place: 20 N press it 0.04 mm into a solid
DEPTH = 0.05  # mm: deeper than this in a solid a rod is not left
PLACES = 4  # to an edge
SLOPE = 0.3  # clearance gained per length of rod away from a hold inside a solid
STRAIGHT = 12.0  # mm
_BESIDE = 0.1  # mm more freedom at such a hold, so that it does not press for nothing
_HESSIAN_STEP = 0.02  # mm
_SWAY = 1.3  # a place moves at most this much further than the nodes beside it
_CURVED = 1.1  # a curve from a node to a place beside it is at most this much longer than its share


class Places(NamedTuple):
    """Places of one rod near solids, in order of solids and along the rod.

    ``place`` (quarters of an edge) and ``solid`` (Q,) int; ``clearance`` mm, and how much of it is
    ``raised`` for what the spring gives way, ``press`` N, ``gap`` mm (distance less clearance)
    (Q,); ``moved_at`` (Q,) mm, how far the nodes had moved when that was measured; ``normal``
    (Q, 3) away from the solid.
    """

    place: Array
    solid: Array
    clearance: Array
    raised: Array
    press: Array
    gap: Array
    moved_at: Array
    normal: Array


class Memory(NamedTuple):
    """The places that press, as a state remembers them: place, solid, force; 0 N for no more."""

    place: Array
    solid: Array
    force: Array


@inlined
def place_of(nodes: Array, place: int, w: Array, w1: Array, w2: Array, point: Array) -> int:
    """The first of the four nodes that carry a place, their weights, and the point (3,).

    In the first and the last edge the curve is the parabola through the three outer nodes.
    """
    last = nodes.shape[0] - 1
    if place < PLACES or place > PLACES * (last - 1):
        t = place / PLACES if place < PLACES else last - place / PLACES
        outer, middle, inner = 0.5 * (1.0 - t) * (2.0 - t), t * (2.0 - t), 0.5 * t * (t - 1.0)
        if place < PLACES:
            i = 0
            w[0], w[1], w[2], w[3] = outer, middle, inner, 0.0
        else:
            i = last - 3
            w[0], w[1], w[2], w[3] = 0.0, inner, middle, outer
    else:
        i = min(place // PLACES, last - 2)
        catmull_rom(place / PLACES - i, w, w1, w2)
        i -= 1
    for c in range(3):
        point[c] = (
            w[0] * nodes[i, c]
            + w[1] * nodes[i + 1, c]
            + w[2] * nodes[i + 2, c]
            + w[3] * nodes[i + 3, c]
        )
    return i


@inlined
def into_mover(turn: Array, shift: Array, point: Array, local: Array) -> None:
    """A point in the axes of a mover that has turned and shifted: turn' (point - shift)."""
    dx, dy, dz = point[0] - shift[0], point[1] - shift[1], point[2] - shift[2]
    for c in range(3):
        local[c] = turn[0, c] * dx + turn[1, c] * dy + turn[2, c] * dz


@inlined
def signed_distance(around: Around, s: int, point: Array, local: Array, normal: Array) -> float:
    """Distance of a point in space from a solid where it is now; fills the normal (3,)."""
    mover = around.solids.mover[s]
    turn = around.turns[mover]
    into_mover(turn, around.shifts[mover], point, local)
    found = distance(around.solids, s, local[0], local[1], local[2], normal)
    for c in range(3):
        local[c] = turn[c, 0] * normal[0] + turn[c, 1] * normal[1] + turn[c, 2] * normal[2]
    for c in range(3):
        normal[c] = local[c]
    return found


@compiled
def near_places(
    nodes: Array,
    edge: float,
    guide_at: Array,
    rod: Rod,
    around: Around,
    reach: float,
    places: Places,
) -> int:
    """List the places of a rod that are within ``reach`` of being too near a solid.

    Fills place, solid, clearance and gap, which is what it is at least given the distance of the
    nearest node; returns how many they are.
    """
    solids, radius = around.solids, around.radius
    guides, stiffness = rod.guides, rod.guide_stiffness
    way_out, way_in = rod.start_direction, rod.end_direction
    count, last = 0, nodes.shape[0] - 1
    stiff = int(np.ceil(PLACES * STRAIGHT / edge))
    straight_out, straight_in = STRAIGHT * rod.clamp_start, STRAIGHT * rod.clamp_end
    begin = stiff if rod.clamp_start > 0.0 else 1
    end = PLACES * last - stiff + 1 if rod.clamp_end > 0.0 else PLACES * last
    rings = guides.shape[0]
    local, spare, out = np.empty(3), np.empty(3), np.empty(3)
    held_at, held_depth = np.empty(rings + 4), np.empty(rings + 4)
    for s in range(solids.kind.shape[0]):
        if around.blind[s]:
            continue
        mover = solids.mover[s]
        turn, shift = around.turns[mover], around.shifts[mover]
        held = -1
        i = 0
        while i <= last:
            into_mover(turn, shift, nodes[i], local)
            far = at_least(solids, s, local[0], local[1], local[2], spare) - radius
            if far > reach + 0.6 * edge:
                # edges are as good as inextensible, so the next nodes cannot be nearer
                i += max(1, int((far - reach) / (1.05 * edge)))
                continue
            if held < 0:  # the solid is near: see which holds are inside the clearance
                held = 0
                for k in range(rings + 4):
                    if k < rings:
                        if stiffness[k] == 0.0:
                            continue
                        at = guide_at[k]
                        into_mover(turn, shift, guides[k], local)
                    else:
                        at = 0.0 if k < rings + 2 else float(last)
                        for c in range(3):
                            if k < rings + 2:
                                out[c] = nodes[0, c] + (k - rings) * straight_out * way_out[c]
                            else:
                                out[c] = nodes[last, c] - (k - rings - 2) * straight_in * way_in[c]
                        if k == rings + 1:
                            at = STRAIGHT / edge
                        elif k == rings + 3:
                            at = last - STRAIGHT / edge
                        into_mover(turn, shift, out, local)
                    depth = distance(solids, s, local[0], local[1], local[2], spare)
                    if depth < radius:
                        held_at[held], held_depth[held] = at, depth - _BESIDE
                        held += 1
            for q in range(max(PLACES * i - 1, begin), min(PLACES * i + 3, end)):
                kept = radius
                for k in range(held):
                    away = SLOPE * edge * abs(q / PLACES - held_at[k])
                    kept = min(kept, held_depth[k] + away)
                places.place[count], places.solid[count] = q, s
                places.clearance[count], places.raised[count] = kept, 0.0
                places.gap[count] = far + radius - kept - _CURVED * edge * abs(q / PLACES - i)
                count += 1
            i += 1
    return count


@compiled
def measure_gaps(nodes: Array, around: Around, count: int, places: Places, moved: float) -> None:
    """Bring the gaps of the listed places up to date, with their normals.

    ``moved`` is how far the nodes have moved at most since the list was made; a place that does
    not press and cannot have closed its gap since it was last measured is left alone.
    """
    gap, moved_at = places.gap, places.moved_at
    w, w1, w2, point, local = np.empty(4), np.empty(4), np.empty(4), np.empty(3), np.empty(3)
    for k in range(count):
        if places.press[k] == 0.0 and gap[k] > _SWAY * (moved - moved_at[k]):
            continue
        place_of(nodes, places.place[k], w, w1, w2, point)
        found = signed_distance(around, places.solid[k], point, local, places.normal[k])
        gap[k] = found - places.clearance[k]
        moved_at[k] = moved


@inlined
def _add_to_band(band: Array, first: int, w: Array, block: Array) -> None:
    """Add a symmetric block (3, 3), shared out among four nodes by their weights, to a band."""
    top = band.shape[2] - 1
    for a in range(4):
        if w[a] == 0.0:
            continue
        for e in range(a, 4):
            both = w[a] * w[e]
            for c in range(3):
                for d in range(c if a == e else 0, 3):
                    band[first + e, d, top - 3 * (e - a) + c - d] += both * block[c, d]


@inlined
def _add_roundness(
    around: Around, solid: int, point: Array, n: Array, push: float, spare: Array, block: Array
) -> None:
    """Add what a solid's roundness does at a place that is pressed with ``push`` to a block (3, 3).

    The second derivative of a distance is how its gradient ``n`` changes to either side. ``spare``
    is (4, 3).
    """
    along, aside, local, other = spare[0], spare[1], spare[2], spare[3]
    # two directions square to the normal, the first from the axis it is least along
    least = 0 if abs(n[0]) <= abs(n[1]) else 1
    if abs(n[2]) < abs(n[least]):
        least = 2
    length = np.sqrt(1.0 - n[least] ** 2)
    for c in range(3):
        along[c] = ((1.0 if c == least else 0.0) - n[least] * n[c]) / length
    for side in range(2):
        if side == 1:
            x, y, z = along[0], along[1], along[2]
            along[0], along[1], along[2] = (
                n[1] * z - n[2] * y,
                n[2] * x - n[0] * z,
                n[0] * y - n[1] * x,
            )
        for c in range(3):
            aside[c] = point[c] + _HESSIAN_STEP * along[c]
        signed_distance(around, solid, aside, local, other)
        for c in range(3):
            for d in range(3):
                turned = (other[c] - n[c]) * along[d] + (other[d] - n[d]) * along[c]
                block[c, d] -= 0.5 * push / _HESSIAN_STEP * turned


@compiled
def add_contacts(
    nodes: Array,
    around: Around,
    count: int,
    places: Places,
    force: Array,
    right: Array,
    band: Array,
) -> None:
    """Add the forces and stiffness of all places that press, or are too deep.

    Part of the stiffness is what the solids' roundness does: it lets a rod slip off.
    """
    press, gap = places.press, places.gap
    w, w1, w2, point = np.empty(4), np.empty(4), np.empty(4), np.empty(3)
    block, spare = np.empty((3, 3)), np.empty((4, 3))
    for k in range(count):
        if press[k] == 0.0 and gap[k] >= 0.0:
            continue
        i = place_of(nodes, places.place[k], w, w1, w2, point)
        n = places.normal[k]
        for a in range(4):
            for c in range(3):
                force[i + a, c] -= w[a] * press[k] * n[c]
                right[i + a, c] -= w[a] * STIFFNESS * gap[k] * n[c]
        for c in range(3):
            for d in range(3):
                block[c, d] = STIFFNESS * n[c] * n[d]
        if press[k] > 0.0:
            _add_roundness(around, places.solid[k], point, n, press[k], spare, block)
        _add_to_band(band, i, w, block)


@compiled
def leave_out_roundness(
    nodes: Array, around: Around, count: int, places: Places, band: Array
) -> None:
    """Take what the solids' roundness does out of a band again."""
    w, w1, w2, point = np.empty(4), np.empty(4), np.empty(4), np.empty(3)
    block, spare = np.empty((3, 3)), np.empty((4, 3))
    for k in range(count):
        if places.press[k] > 0.0:
            i = place_of(nodes, places.place[k], w, w1, w2, point)
            block[:] = 0.0
            push = -places.press[k]
            _add_roundness(around, places.solid[k], point, places.normal[k], push, spare, block)
            _add_to_band(band, i, w, block)


@compiled
def step_contacts(
    nodes: Array, count: int, places: Places, step: Array, part: float
) -> tuple[int, float, float]:
    """Change the forces by their share of a step of the nodes (N, 3), measured before it.

    Returns how many places changed between pressing and not, and the greatest change and the
    greatest force, N.
    """
    press, gap, normal = places.press, places.gap, places.normal
    w, w1, w2, spare = np.empty(4), np.empty(4), np.empty(4), np.empty(3)
    switched = 0
    change = greatest = 0.0
    for k in range(count):
        if press[k] == 0.0 and gap[k] >= 0.0:
            continue
        i = place_of(nodes, places.place[k], w, w1, w2, spare)
        closer = gap[k]
        for a in range(4):
            for c in range(3):
                closer += w[a] * normal[k, c] * step[i + a, c]
        wanted = -STIFFNESS * closer
        before = press[k]
        press[k] = max(before + part * (wanted - before), 0.0)
        if (press[k] > 0.0) != (before > 0.0):
            switched += 1
        change = max(change, abs(press[k] - before))
        greatest = max(greatest, press[k])
    return switched, change, greatest


@compiled
def raise_pressed(count: int, places: Places) -> bool:
    """Where places press hard, ask for so much more clearance as their springs give way.

    One step of the method of multipliers (Hestenes 1969, Powell 1969): settled once more, the rod
    is out of the solids but for what the forces still change. False where no place is too deep.
    """
    press, raised = places.press, places.raised
    deepest = 0.0
    for k in range(count):
        deepest = max(deepest, press[k] / STIFFNESS - raised[k])
    if deepest < DEPTH:
        return False
    for k in range(count):
        if press[k] > 0.0:
            more = press[k] / STIFFNESS - raised[k]
            places.clearance[k] += more
            places.gap[k] -= more
            raised[k] += more
    return True


@compiled
def remembered(nodes: Array, around: Around, memory: Memory, point: Array, normal: Array) -> None:
    """Where the places are that a state remembers, and which way out: point, normal (Q, 3)."""
    w, w1, w2, local = np.empty(4), np.empty(4), np.empty(4), np.empty(3)
    for k in range(point.shape[0]):
        place_of(nodes, memory.place[k], w, w1, w2, point[k])
        signed_distance(around, memory.solid[k], point[k], local, normal[k])


@compiled
def recall(count: int, places: Places, memory: Memory) -> None:
    """Give the listed places the forces that a state remembers; both are in the same order."""
    place, solid, press = places.place, places.solid, places.press
    press[:count] = 0.0
    k = 0
    for t in range(memory.force.shape[0]):
        if memory.force[t] <= 0.0:
            return
        at, on = memory.place[t], memory.solid[t]
        while k < count and (solid[k] < on or (solid[k] == on and place[k] < at)):
            k += 1
        if k < count and solid[k] == on and place[k] == at:
            press[k] = memory.force[t]


@compiled
def remember(count: int, places: Places, memory: Memory) -> bool:
    """Keep the forces of the places that press in a state; False where it has no room for all."""
    t = 0
    memory.force[:] = 0.0
    for k in range(count):
        if places.press[k] > 0.0:
            if t == memory.force.shape[0]:
                return False
            memory.place[t], memory.solid[t] = places.place[k], places.solid[k]
            memory.force[t] = places.press[k]
            t += 1
    return True


@compiled
def list_places(
    nodes: Array,
    edge: float,
    guide_at: Array,
    rod: Rod,
    around: Around,
    reach: float,
    measured: float,
    memory: Memory,
    places: Places,
) -> int:
    """List the places near solids, with the forces that a state remembers, and measure those whose
    gap may be less than ``measured``; of the others it is at least what it says.
    """
    count = near_places(nodes, edge, guide_at, rod, around, reach, places)
    recall(count, places, memory)
    places.moved_at[:count] = 0.0
    measure_gaps(nodes, around, count, places, measured / _SWAY)
    places.moved_at[:count] = 0.0  # all is as of now
    return count


@compiled
def place_buffers(nodes: int, solids: int) -> Places:
    """Room for all places of a rod that may be near a solid."""
    most = PLACES * nodes * solids
    return Places(
        np.empty(most, np.int64),
        np.empty(most, np.int64),
        np.empty(most),
        np.empty(most),
        np.empty(most),
        np.empty(most),
        np.empty(most),
        np.empty((most, 3)),
    )
