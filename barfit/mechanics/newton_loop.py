"""The Newton iteration itself, compiled: one rod after the other, each until it is done."""

from __future__ import annotations

import numpy as np

from barfit.compiled import compiled
from barfit.mechanics.band import factorise, substitute
from barfit.mechanics.contact_kernels import (
    Memory,
    add_contacts,
    leave_out_roundness,
    list_places,
    measure_gaps,
    place_buffers,
    raise_pressed,
    remember,
    step_contacts,
)
from barfit.mechanics.kernels import (
    Array,
    Rings,
    Rod,
    add_bending,
    add_edges,
    add_guides,
    add_loads,
    nearest_points,
    ring_buffers,
    step_guides,
)
from barfit.mechanics.solid_kernels import Around, Solids
from barfit.mechanics.twist_kernels import add_twist, steadied, total_twist

_REACH = 16.0  # mm: solids nearer than this are kept an eye on
_KINK = 0.07  # cosine of the turn within an edge, beyond which the mesh is too coarse to tell
_SHIFTS = 12  # how often a band that is not positive is shifted, ten times more each time


@compiled
def solve_shifted(band: Array, free_end: bool, right: Array, upper: Array, found: Array) -> bool:
    """Factorise one rod's band and solve for M right-hand sides (M, N, 3).

    A band that is not positive definite gets the first of a growing row of shifts that makes it
    so (nan where none does). Returns whether it was positive as it stood.
    """
    stable = factorise(band, free_end, 0.0, upper)
    good = stable
    if not stable:
        shift = 0.0
        for i in range(1, band.shape[0]):
            for c in range(3):
                shift = max(shift, 1e-7 * abs(band[i, c, -1]))
        for _ in range(_SHIFTS):
            good = factorise(band, free_end, shift, upper)
            if good:
                break
            shift *= 10.0
    for m in range(right.shape[0]):
        if good:
            substitute(upper, free_end, right[m], found[m])
        else:
            found[m] = np.nan
    return stable


@compiled
def by_edge(
    nodes: Array, tensions: Array, edge: float, rod: Rod, tangent: Array, column: Array
) -> tuple[float, float]:
    """Derivatives by the rest length of an edge: of the forces, tensions eliminated, into
    ``column`` (N, 3), N/mm; and the first and second one of bending and weight energy.

    Weight is measured from the height halfway between the ends: line that is drawn through is
    drawn from there, and there the pull is felt.
    """
    count = nodes.shape[0]
    s = rod.ei / edge**3
    column[:] = 0.0
    square = height = 0.0
    for i in range(1, count - 1):
        for c in range(3):
            d2 = nodes[i + 1, c] - 2.0 * nodes[i, c] + nodes[i - 1, c]
            square += 0.5 * d2 * d2
            f = -3.0 * s / edge * d2
            column[i, c] -= 2.0 * f
            column[i - 1, c] += f
            column[i + 1, c] += f
        height += nodes[i, 2]
        column[i, 2] += rod.weight
    ends = 0.5 * (nodes[0, 2] + nodes[count - 1, 2])
    column[count - 1, 2] += 0.5 * rod.weight
    first = -3.0 * s / edge * square + rod.weight * (height - (count - 2) * ends)
    second = 12.0 * s / edge**2 * square
    for end in range(2):
        clamp = rod.clamp_start if end == 0 else rod.clamp_end
        a, b = (0, 1) if end == 0 else (count - 2, count - 1)
        along = gap = 0.0
        for c in range(3):
            direction = rod.start_direction[c] if end == 0 else rod.end_direction[c]
            q = clamp * (nodes[b, c] - nodes[a, c] - edge * direction)
            along += q * direction
            gap += q * q
            f = 2.0 * s * (3.0 / edge * q + clamp * direction)
            column[b, c] -= f
            column[a, c] += f
        first += s * (-2.0 * along - 3.0 / edge * gap)
        second += s * (2.0 * clamp + 12.0 * (along / edge + gap / edge**2))
    stiff = rod.ea / edge
    for i in range(count - 1):
        grown = 1.0 + tensions[i] / rod.ea
        for c in range(3):
            column[i, c] += stiff * grown * tangent[i, c]
            column[i + 1, c] -= stiff * grown * tangent[i, c]
    return first, second


@compiled
def sharpest_turn(tangent: Array, rod: Rod) -> float:
    """Cosine of the sharpest turn from one edge (N-1, 3) to the next, or from a clamp.

    The discrete rod can be caught in a kink: the energy of a vertex has a maximum, where the edges
    double back, and beyond about a right angle it no longer stands for a bend of the real one.
    """
    least = 1.0
    edges = tangent.shape[0]
    for i in range(edges - 1):
        turn = 0.0
        for c in range(3):
            turn += tangent[i, c] * tangent[i + 1, c]
        least = min(least, turn)
    first = last = 0.0
    for c in range(3):
        first += tangent[0, c] * rod.start_direction[c]
        last += tangent[edges - 1, c] * rod.end_direction[c]
    if rod.clamp_start > 0.0:
        least = min(least, first)
    if rod.clamp_end > 0.0:
        least = min(least, last)
    return least


@compiled
def assemble_rod(
    nodes: Array,
    tensions: Array,
    edge: float,
    guide_at: Array,
    guide_pull: Array,
    rod: Rod,
    force: Array,
    right: Array,
    gap: Array,
    tangent: Array,
    band: Array,
    rings: Rings,
) -> None:
    """The Newton system of one rod: fills everything from ``force`` on."""
    force[:] = 0.0
    band[:] = 0.0
    add_loads(edge, rod.weight, rod.free_end, rod.end_load, force)
    add_bending(
        nodes,
        edge,
        rod.ei,
        rod.clamp_start,
        rod.clamp_end,
        rod.start_direction,
        rod.end_direction,
        force,
        band,
    )
    right[:] = -force
    add_edges(nodes, tensions, edge, rod.ea, force, right, gap, tangent, band)
    if rod.guides.shape[0]:
        nearest_points(nodes, rod.guides, rod.guide_stiffness, guide_at, rings)
        add_guides(rod.guide_stiffness, guide_pull, rings, force, right, band)


@compiled
def newton_rods(
    nodes: Array,
    tensions: Array,
    edges: Array,
    guide_at: Array,
    guide_pull: Array,
    touch_place: Array,
    touch_solid: Array,
    touch_force: Array,
    twist: Array,
    twist_moment: Array,
    ei: Array,
    ea: Array,
    weight: Array,
    start_direction: Array,
    end_direction: Array,
    clamp_start: Array,
    clamp_end: Array,
    free_end: Array,
    end_load: Array,
    guides: Array,
    stiffness: Array,
    solids: Solids,
    radius: Array,
    turns: Array,
    shifts: Array,
    blind: Array,
    warm: bool,
    twisting: Array,
    start_frame: Array,
    end_frame: Array,
    pull: Array,
    draw: bool,
    most_steps: int,
    tolerance: float,
    tension_tolerance: float,
    step_cap: float,
    converged: Array,
    stable: Array,
    stuck: Array,
    residual: Array,
    steps: Array,
) -> None:
    """Settle every rod of a batch in place, or with ``draw`` pull each taut; see `newton`.

    ``warm``: a rod begins raised by what it presses with already, so that the first rest it comes
    to is mostly the last one too.
    Fills converged, stable, residual and steps, and stuck: at rest at a point that is not stable.
    """
    size, count = nodes.shape[0], nodes.shape[1]
    many_rings = guides.shape[1]
    force, right = np.empty((count, 3)), np.empty((2, count, 3))
    gap, tangent = np.empty(count - 1), np.empty((count - 1, 3))
    crowded = solids.kind.shape[0] > 0
    width = 12 if many_rings or crowded else 9
    band, upper = np.empty((count, 3, width)), np.empty((count, width // 3, 3, 3))
    found = np.empty((2, count, 3))
    kept, kept_tensions = np.empty((count, 3)), np.empty(count - 1)
    kept_pull, kept_at = np.empty((many_rings, 3)), np.empty(many_rings)
    factor, pivots = np.empty((3 * count, width)), np.empty(3 * count)
    places, rings = place_buffers(count, solids.kind.shape[0]), ring_buffers(many_rings)
    for b in range(size):
        x, t = nodes[b], tensions[b]
        rod = Rod(
            ei[b],
            ea[b],
            weight[b],
            start_direction[b],
            end_direction[b],
            clamp_start[b],
            clamp_end[b],
            free_end[b],
            end_load[b],
            guides[b],
            stiffness[b],
        )
        around = Around(solids, turns[b], shifts[b], blind[b], radius[b])
        memory = Memory(touch_place[b], touch_solid[b], touch_force[b])
        converged[b] = stable[b] = stuck[b] = False
        residual[b] = np.inf
        near = 0
        moved_since = np.inf
        raised, warmed = False, not warm
        kept_edge = kept_moment = 0.0
        twists = twisting[b] > 0.0 and not draw
        many = 2 if draw or twists else 1
        for _ in range(most_steps):
            edge = edges[b]
            touches = False
            if crowded:
                if moved_since > 0.7 * _REACH:
                    if near > 0:
                        remember(near, places, memory)
                    near = list_places(
                        x, edge, guide_at[b], rod, around, _REACH, 0.0, memory, places
                    )
                    if not warmed:
                        raise_pressed(near, places)
                        warmed = True
                    moved_since = 0.0
                else:
                    measure_gaps(x, around, near, places, moved_since)
                for k in range(near):
                    if places.press[k] > 0.0 or places.gap[k] < 0.0:
                        touches = True
                        break
            assemble_rod(
                x,
                t,
                edge,
                guide_at[b],
                guide_pull[b],
                rod,
                force,
                right[0],
                gap,
                tangent,
                band,
                rings,
            )
            if touches:
                add_contacts(x, around, near, places, force, right[0], band)
            energy_slope = corner = compliance = 0.0
            if twists:
                compliance = edge * (count - 1) / twisting[b]
                twist[b] = total_twist(
                    x, start_direction[b], end_direction[b], start_frame[b], end_frame[b], twist[b]
                )
                add_twist(x, start_direction[b], end_direction[b], twist_moment[b], right[1], band)
                force += twist_moment[b] * right[1]
                right[0] -= twist_moment[b] * right[1]
            if draw:
                energy_slope, corner = by_edge(x, t, edge, rod, tangent, right[1])
                energy_slope += pull[b] * (count - 1)
            good = factorise(band, free_end[b], 0.0, upper)
            if good:
                for m in range(many):
                    substitute(upper, free_end[b], right[m], found[m])
            elif twists and steadied(band, compliance, right, factor, pivots, found):
                good = True
            else:
                if touches:
                    # far from rest the forces are too large, and so is what roundness makes of
                    # them; without it the step still goes downhill
                    leave_out_roundness(x, around, near, places, band)
                solve_shifted(band, free_end[b], right[:many], upper, found[:many])
            edge_step = moment_step = 0.0
            if twists:
                corner = compliance
                moment_step = twist[b] - compliance * twist_moment[b]
                for i in range(count):
                    for c in range(3):
                        corner += right[1, i, c] * found[1, i, c]
                        moment_step += right[1, i, c] * found[0, i, c]
                moment_step /= corner
                found[0] -= moment_step * found[1]
            if draw:
                stiff = ea[b] / edge
                edge_right = 0.0
                for i in range(count - 1):
                    grown = 1.0 + t[i] / ea[b]
                    energy_slope -= t[i] * (0.5 + 0.5 * grown)
                    corner += stiff * grown * grown
                    edge_right += stiff * grown * gap[i]
                edge_right -= energy_slope
                for i in range(count):
                    for c in range(3):
                        corner -= right[1, i, c] * found[1, i, c]
                        edge_right -= right[1, i, c] * found[0, i, c]
                if corner > 0.0:
                    edge_step = edge_right / corner
                else:
                    # no minimum of the energy along the length here: go downhill instead
                    edge_step = -0.05 * edge * np.sign(energy_slope)
                    good = False
                found[0] -= edge_step * found[1]
            step = found[0]
            moved = left = 0.0
            for i in range(count):
                s = step[i, 0] ** 2 + step[i, 1] ** 2 + step[i, 2] ** 2
                moved = max(moved, s) if s == s else s  # a nan must not be lost
                if s != s:
                    break
                if 0 < i < count - 1 or (free_end[b] and i > 0):
                    left = max(left, force[i, 0] ** 2 + force[i, 1] ** 2 + force[i, 2] ** 2)
            steps[b] += 1
            stable[b] = good
            residual[b] = np.sqrt(left)
            if not np.isfinite(moved):
                break
            moved = np.sqrt(moved)
            part = min(1.0, step_cap * edge / max(moved, 1e-300))
            part = min(part, 0.2 * edge / max(abs(edge_step), 1e-300))
            small = moved < tolerance * edge
            greatest = change = 0.0
            for i in range(count - 1):
                stretch = gap[i] - (1.0 + t[i] / ea[b]) * edge_step
                for c in range(3):
                    stretch += tangent[i, c] * (step[i + 1, c] - step[i, c])
                tension_step = ea[b] / edge * stretch
                t[i] += part * tension_step
                greatest = max(greatest, abs(t[i]))
                change = max(change, abs(tension_step))
            settled = True
            if touches:
                switched, press_change, hardest = step_contacts(x, near, places, step, part)
                settled = switched == 0
                change = max(change, press_change)
                greatest = max(greatest, hardest)
            if twists:
                twist_moment[b] += part * moment_step
                change = max(change, abs(moment_step) / (edge * (count - 1)))
            x += part * step
            moved_since += part * moved
            edges[b] += part * edge_step
            if many_rings:
                step_guides(stiffness[b], rings, step, part, guide_pull[b])
            length = edges[b] * (count - 1)
            calm = change < tension_tolerance * (greatest + 40.0 * ei[b] / length**2)
            if small and calm and part == 1.0 and good and settled:
                if touches and not raised and sharpest_turn(tangent, rod) > _KINK:
                    raised = raise_pressed(near, places)
                    if raised:
                        kept[:], kept_tensions[:], kept_edge = x, t, edges[b]
                        kept_moment = twist_moment[b]
                        kept_pull[:], kept_at[:] = guide_pull[b], guide_at[b]
                        remember(near, places, memory)
                        continue
                converged[b] = sharpest_turn(tangent, rod) > _KINK
                break
            if small and not good and settled:
                stuck[b] = True
                break
        if raised and not converged[b]:
            # it was at rest, if a little deeper than it should be
            x[:], t[:], edges[b] = kept, kept_tensions, kept_edge
            twist_moment[b] = kept_moment
            guide_pull[b], guide_at[b] = kept_pull, kept_at
            converged[b] = stable[b] = True
            stuck[b] = False
        elif crowded and not remember(near, places, memory):
            converged[b] = False
